//! Bitmap art becomes outlines: photographed, scanned or drawn in pixels.
//!
//! decode → grey levels → even lighting → threshold → sub-pixel contours →
//! corners → curves. Pixel space: x right, y down, the centre of the first
//! pixel at (0.5, 0.5).

mod arm;
pub mod contour;
pub mod corner;
mod cubic;
pub mod decode;
mod exif;
pub mod fit;
pub mod grey;
mod header;
pub mod light;
pub mod samples;
pub mod smooth;
pub mod tip;

use kurbo::BezPath;

use crate::diag::{Error, Finding, FindingKind, Noted, Place, Severity};
use smooth::Edges;
use tip::Scene;

/// How a bitmap is traced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Grey level that parts ink from paper, `0.0` black to `1.0` white; `None`
    /// finds it (Otsu).
    pub threshold: Option<f64>,
    /// Patches smaller than this many pixels are specks of dirt.
    pub speck: f64,
    /// Farthest a fitted curve may stand from the contour, pixels.
    pub tolerance: f64,
    /// Dots in an inch where the file does not say.
    pub dpi: Option<f64>,
}

impl Default for Options {
    /// Otsu's threshold, specks under 12 pixels (3.5 × 3.5, common practice, no
    /// source), curves within 0.35 pixel: under half a pixel, so that a fit never
    /// crosses to the next one, over the 0.14 pixel noise of the contours.
    fn default() -> Self {
        Self { threshold: None, speck: 12.0, tolerance: 0.35, dpi: None }
    }
}

/// A traced bitmap.
#[derive(Clone, Debug, PartialEq)]
pub struct Traced {
    /// Outlines of the ink, in pixels, y down; even-odd.
    pub path: BezPath,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// Dots in an inch, across and down, as the file or the options say.
    pub dpi: Option<(f64, f64)>,
    /// Share of the picture that is ink, `0.0..=1.0`.
    pub ink: f64,
    /// The grey level used.
    pub threshold: f64,
    /// Specks left out.
    pub specks: usize,
}

/// Reads PNG, JPEG, WebP, GIF or BMP bytes and traces the ink.
///
/// # Errors
/// [`Error::Art`] when the bytes are no picture, the picture is too large, or
/// nothing in it stands out from the rest.
pub fn trace(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Traced>, Error> {
    let place = Place { file: Some(name.to_owned()), ..Place::default() };
    let picture =
        decode::decode(bytes).map_err(|decode::Unread { what, advice }| Error::art(place.clone(), what, advice))?;
    let (picture, lit) = light::even_lighting(picture);
    let tones = grey::tones(&picture, options.threshold);
    let threshold = options.threshold.unwrap_or_else(|| tones.middle());
    if !tones.stand_out() {
        return Err(Error::art(
            place.clone(),
            "the picture has no ink that stands out from its paper",
            "use a picture with more contrast, or give the grey level with --threshold",
        ));
    }
    let (width, height, dpi) = (picture.width as u32, picture.height as u32, picture.dpi);
    let ink = picture.levels.iter().filter(|&&level| f64::from(level) < threshold).count();
    let ink = ink as f64 / picture.levels.len() as f64;
    let rimmed = has_dark_rim(&picture, threshold);
    let edges = Edges::of(&picture, tones);
    let smooth = smooth::blurred(picture, edges.blur());
    let (rings, specks) = contour::rings(&smooth, threshold, options.speck).ok_or_else(|| {
        let what = "the picture has far more edges than a drawn face";
        Error::art(place.clone(), what, "use a drawing in two tones, not a photograph of a scene")
    })?;
    let scene = Scene { picture: &smooth, ink: tones.ink, paper: tones.paper, edges };
    let path = rings.iter().flat_map(|ring| fit::curve(ring, &scene, options.tolerance)).collect();
    let dpi = dpi.or(options.dpi.map(|d| (d, d)));
    let findings = notes(lit, rimmed, specks, dpi);
    let traced = Traced { path, width, height, dpi, ink, threshold, specks };
    Ok(Noted { value: traced, findings })
}

/// A side of the picture is dark when at least this part of it is. Ours.
const RIM: f64 = 0.8;

/// Whether one side of the picture is dark along its edge.
fn has_dark_rim(picture: &decode::Picture, threshold: f64) -> bool {
    let (width, height) = (picture.width as i64, picture.height as i64);
    let is_dark = |&(x, y): &(i64, i64)| f64::from(picture.at(x, y)) < threshold;
    let level = |y| (0..width).map(move |x| (x, y)).filter(is_dark).count() as f64 >= RIM * width as f64;
    let upright = |x| (0..height).map(move |y| (x, y)).filter(is_dark).count() as f64 >= RIM * height as f64;
    level(0) || level(height - 1) || upright(0) || upright(width - 1)
}

fn notes(lit: bool, rimmed: bool, specks: usize, dpi: Option<(f64, f64)>) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut note = |id: &str, kind, message: String, advice: &str| {
        findings.push(Finding::new(id, kind, Severity::Note, message, advice));
    };
    if lit {
        let message = "the picture is lit unevenly; the paper's brightness was evened out".to_owned();
        note("lighting", FindingKind::Reading, message, "look whether faint lines were kept");
    }
    if rimmed {
        let message = "dark runs along the picture's edge".to_owned();
        let advice = "if it is the table or the scanner's lid, crop the picture to the paper; else nothing";
        note("dark-edge", FindingKind::Reading, message, advice);
    }
    if specks > 0 {
        let specks = if specks == 1 { "one speck".to_owned() } else { format!("{specks} specks") };
        note("specks", FindingKind::Speck, format!("{specks} of dirt left out"), "none, unless one was art");
    }
    if dpi.is_none() {
        let message =
            "the picture does not say its size; sawn at its own size, a pixel is taken for 1/96 inch".to_owned();
        note("size", FindingKind::Reading, message, "none, if it is scaled to the panel; else give the face's width");
    }
    findings
}
