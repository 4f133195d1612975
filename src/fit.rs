//! Laying the face on the panel.

use kurbo::{Affine, Point, Rect, Vec2};

use crate::diag::{Error, Finding, FindingKind, Noted, Severity};
use crate::face::{Clearances, Face, Fit, Panel, number_cutouts};
use crate::interpret::{Cutting, Laying, Opening};
use crate::units::Mm;

/// Where the face stands in the window across or up and down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Align {
    /// Against the left or the bottom edge of the window.
    Start,
    /// In the middle.
    #[default]
    Center,
    /// Against the right or the top edge of the window.
    End,
}

impl Align {
    /// The part of the spare room that goes before the face.
    const fn before(self) -> f64 {
        match self {
            Self::Start => 0.0,
            Self::Center => 0.5,
            Self::End => 1.0,
        }
    }
}

/// How to lay the face on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Options {
    /// Width the cut-outs are to have together; overrides the window.
    pub width: Option<Mm>,
    /// Height the cut-outs are to have together; overrides the window.
    pub height: Option<Mm>,
    /// Scale, 1 for the drawing's own size; overrides the window.
    pub scale: Option<f64>,
    /// Where the middle of the cut-outs, as drawn, comes to lie from the
    /// panel's left edge; overrides `across`.
    pub middle_x: Option<Mm>,
    /// The same from the panel's bottom edge; overrides `up`.
    pub middle_y: Option<Mm>,
    /// Keep the drawing's own size, as a finished template does.
    pub true_size: bool,
    /// Across.
    pub across: Align,
    /// Up and down.
    pub up: Align,
    /// Turn, degrees anticlockwise.
    pub turn_deg: f64,
    /// Mirror left to right.
    pub mirror: bool,
    /// How much more one direction may be scaled than the other to fill the
    /// window: 0 keeps the shape, 0.1 allows a tenth.
    pub stretch: f64,
}

/// A band of the window this large and empty is remarked on: a third of the
/// window's width or height. Ours: less than that is what a face in a frame
/// looks like.
const EMPTY_BAND: f64 = 1.0 / 3.0;
/// Overlaps smaller than a report can state are rounding, not a fault, mm.
const TOUCH: f64 = crate::geom::tolerance::REPORT;

/// Lays `cutting` on `panel`: turned, mirrored, scaled alike in both directions
/// into the window the clearances leave, y up from the panel's lower edge.
///
/// # Errors
/// [`Error::Sizes`] when the panel or the window has no size, or a forced size
/// is not a positive length.
pub fn fit(cutting: &Cutting, panel: &Panel, clear: &Clearances, options: &Options) -> Result<Noted<Face>, Error> {
    let laid = lay(cutting, panel, clear, options)?;
    let place = |o: &Opening| (o.piece.transformed(laid.to_panel), o.place.clone());
    let cutouts = number_cutouts(cutting.openings.iter().map(place).collect());
    let face = Face { panel: *panel, clear: *clear, cutouts, fit: laid.fit };
    let mut findings = over_clearances(&face);
    findings.extend(empty_bands(&face));
    Ok(Noted { value: face, findings })
}

/// How a drawing comes to lie on the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lay {
    /// Takes points of the drawing (y down, the art's units) to the panel.
    pub to_panel: Affine,
    /// The same in the words of the report.
    pub fit: Fit,
}

impl Lay {
    /// Moves what earlier stages said about the drawing to its place on the
    /// panel.
    pub fn place(&self, findings: &mut [Finding]) {
        for at in findings.iter_mut().filter_map(|f| f.at.as_mut()) {
            *at = self.to_panel * *at;
        }
    }
}

/// Works out how `cutting` is to lie on `panel`, as [`fit`] lays it.
///
/// # Errors
/// As [`fit`].
pub fn lay(cutting: &Cutting, panel: &Panel, clear: &Clearances, options: &Options) -> Result<Lay, Error> {
    let window = checked_window(panel, clear)?;
    // Mirrored or not, the drawing's y down becomes the panel's y up.
    let upright = options.laying(window).upright();
    let turned = cutting.openings.iter().map(|o| o.piece.outer.transformed(upright).bounds());
    let art = turned.reduce(|a, b| a.union(b)).unwrap_or_default();
    let (scale, stretch) = scales(art, window, cutting.unit_mm, options)?;
    let per_unit = Vec2::new(scale * stretch.x, scale * stretch.y);
    let size = kurbo::Size::new(art.width() * per_unit.x, art.height() * per_unit.y);
    let drawn = cutting.openings.iter().map(|o| o.piece.bounds()).reduce(|a, b| a.union(b)).unwrap_or_default();
    let middle = upright * drawn.center() - art.origin();
    let corner = Point::new(
        options.middle_x.map_or(window.x0 + (window.width() - size.width) * options.across.before(), |x| {
            x.get() - middle.x * per_unit.x
        }),
        options.middle_y.map_or(window.y0 + (window.height() - size.height) * options.up.before(), |y| {
            y.get() - middle.y * per_unit.y
        }),
    );
    let to_panel = Affine::translate(corner.to_vec2())
        * Affine::scale_non_uniform(per_unit.x, per_unit.y)
        * Affine::translate(-art.origin().to_vec2())
        * upright;
    let fit = Fit {
        scale: scale / cutting.unit_mm,
        stretch_x: stretch.x,
        stretch_y: stretch.y,
        turn_deg: options.turn_deg,
        mirrored: options.mirror,
        width_mm: size.width,
        height_mm: size.height,
        left_mm: corner.x,
        bottom_mm: corner.y,
    };
    Ok(Lay { to_panel, fit })
}

fn checked_window(panel: &Panel, clear: &Clearances) -> Result<Rect, Error> {
    let (width, height) = (panel.width.get(), panel.height.get());
    if !(width > 0.0 && height > 0.0 && width.is_finite() && height.is_finite()) {
        let what =
            format!("the panel is {:.1} × {:.1}; both sides must be more than nothing", panel.width, panel.height);
        return Err(Error::sizes(what, "give the panel's width and height"));
    }
    let edges = [clear.left, clear.right, clear.top, clear.bottom];
    if edges.iter().any(|c| !(c.get() >= 0.0 && c.get().is_finite())) {
        return Err(Error::sizes("a clearance is less than nothing", "give clearances of 0 or more"));
    }
    let window = clear.window(panel);
    for (side, sum, whole) in [
        ("left and right", clear.left + clear.right, panel.width),
        ("top and bottom", clear.top + clear.bottom, panel.height),
    ] {
        if sum >= whole {
            return Err(Error::Sizes {
                what: format!("the clearances {side} together are {sum:.1}, the panel is {whole:.1}; no room is left"),
                advice: "make the clearances smaller or the panel larger".to_owned(),
                measured: Some(sum),
            });
        }
    }
    Ok(window)
}

/// Panel millimetres per art unit, and the stretch on top of it.
fn scales(art: Rect, window: Rect, unit_mm: f64, options: &Options) -> Result<(f64, Vec2), Error> {
    for length in [options.width, options.height].into_iter().flatten() {
        if !(length.get() > 0.0 && length.get().is_finite()) {
            let what = format!("the face cannot be made {length:.1} wide or high");
            return Err(Error::sizes(what, "give a length of more than nothing"));
        }
    }
    let (width, height) = (art.width().max(f64::MIN_POSITIVE), art.height().max(f64::MIN_POSITIVE));
    let laying = options.laying(window);
    let scale = laying.panel_mm(art, unit_mm);
    let wanted = match (options.width, options.height) {
        (Some(w), Some(h)) => Some((w.get(), h.get())),
        (None, None) if laying.scale.is_none() => Some(laying.window),
        _ => None,
    };
    let Some((across, up)) = wanted.filter(|_| !options.true_size) else { return Ok((scale, Vec2::new(1.0, 1.0))) };
    // As much of the other direction as is allowed and wanted.
    if !(0.0..=1.0).contains(&options.stretch) {
        return Err(Error::sizes("the stretch must be from 0 to 1 (0.1 is a tenth)", "leave the stretch out"));
    }
    let more = |wanted: f64| (wanted / scale).min(1.0 + options.stretch);
    Ok((scale, Vec2::new(more(across / width), more(up / height))))
}

impl Options {
    /// What of this decides the scale, in a window of this size.
    #[must_use]
    pub fn laying(&self, window: Rect) -> Laying {
        Laying {
            window: (window.width(), window.height()),
            turn_deg: self.turn_deg,
            mirror: self.mirror,
            width: self.width.map(Mm::get),
            height: self.height.map(Mm::get),
            scale: self.scale.filter(|scale| *scale > 0.0 && scale.is_finite()),
            true_size: self.true_size,
        }
    }
}

/// One finding for each edge whose clearance the cut-outs reach into.
fn over_clearances(face: &Face) -> Vec<Finding> {
    let window = face.window();
    let all = face.cutouts.iter().map(|c| c.piece.bounds()).reduce(|a, b| a.union(b)).unwrap_or_default();
    let mid = all.center();
    let edges = [
        ("left", window.x0 - all.x0, face.clear.left, Point::new(all.x0, mid.y)),
        ("right", all.x1 - window.x1, face.clear.right, Point::new(all.x1, mid.y)),
        ("top", all.y1 - window.y1, face.clear.top, Point::new(mid.x, all.y1)),
        ("bottom", window.y0 - all.y0, face.clear.bottom, Point::new(mid.x, all.y0)),
    ];
    let over = edges.into_iter().filter(|(_, over, ..)| *over > TOUCH);
    over.zip(1..)
        .map(|((side, over, clear, at), number)| {
            let (over, off_panel) = (Mm::new(over), over > clear.get());
            let (severity, beyond) =
                if off_panel { (Severity::Stop, " and off the panel") } else { (Severity::Care, "") };
            let message = format!("the face reaches {over:.1} into the {side} clearance of {clear:.1}{beyond}");
            let advice = "make the face smaller, or move the nails and lid out of its way";
            Finding::new(format!("over-clearance-{number}"), FindingKind::OverClearance, severity, message, advice)
                .at(at)
                .measured(over.get(), 0.0)
        })
        .collect()
}

/// Remarks on bands of the window the face leaves empty.
fn empty_bands(face: &Face) -> Vec<Finding> {
    let window = face.window();
    let spare = [
        ("beside", "across", window.width() - face.fit.width_mm, window.width()),
        ("above and below", "up and down", window.height() - face.fit.height_mm, window.height()),
    ];
    let large = spare.into_iter().filter(|(_, _, spare, whole)| *spare > EMPTY_BAND * whole);
    large
        .zip(1..)
        .map(|((place, way, spare, whole), number)| {
            let message = format!("the face leaves {spare:.0} mm of {whole:.0} mm empty {place} it");
            let advice =
                format!("a face of another shape, a turn, or a little stretch {way} would fill the panel better");
            Finding::new(format!("empty-band-{number}"), FindingKind::EmptyBand, Severity::Note, message, advice)
                .measured(spare, EMPTY_BAND * whole)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{Rule, resolve};
    use crate::interpret::Reading;
    use kurbo::{ParamCurve, Shape};

    const PANEL: Panel =
        Panel { width: Mm::new(120.0), height: Mm::new(220.0), thickness: Mm::new(16.0), grain_deg: 90.0 };

    /// An L of 40 × 20, y down, whose foot points right at the bottom.
    fn cutting() -> Cutting {
        let path = kurbo::BezPath::from_svg("M10 10 h10 v10 h30 v10 h-40 z").unwrap();
        let region = resolve(&path, Rule::NonZero);
        let extent = region.bounds();
        let openings = region.pieces.into_iter().map(|piece| Opening { piece, place: None }).collect();
        Cutting { openings, reading: Reading::Dark, why: String::new(), alternatives: Vec::new(), extent, unit_mm: 1.0 }
    }

    fn fitted(options: &Options) -> Noted<Face> {
        fit(&cutting(), &PANEL, &Clearances::all(Mm::new(10.0)), options).unwrap()
    }

    fn bounds(face: &Face) -> Rect {
        face.cutouts[0].piece.bounds()
    }

    fn close(a: Rect, b: Rect) -> bool {
        [(a.x0, b.x0), (a.y0, b.y0), (a.x1, b.x1), (a.y1, b.y1)].iter().all(|(a, b)| (a - b).abs() < 1e-6)
    }

    /// Which corner of its box the L leaves empty.
    fn empty_corner(face: &Face) -> (bool, bool) {
        let b = bounds(face);
        let path = face.cutouts[0].piece.to_path();
        let inside = |right: bool, top: bool| {
            let x = if right { b.x1 - b.width() * 0.1 } else { b.x0 + b.width() * 0.1 };
            let y = if top { b.y1 - b.height() * 0.1 } else { b.y0 + b.height() * 0.1 };
            path.contains(Point::new(x, y))
        };
        let empty: Vec<_> = [(false, false), (false, true), (true, false), (true, true)]
            .into_iter()
            .filter(|&(r, t)| !inside(r, t))
            .collect();
        assert_eq!(empty.len(), 1, "an L has one empty corner");
        empty[0]
    }

    #[test]
    fn fills_the_window_and_turns_y_up() {
        let face = fitted(&Options::default()).value;
        assert!(close(bounds(&face), Rect::new(10.0, 85.0, 110.0, 135.0)), "centred: {:?}", bounds(&face));
        assert!((face.fit.scale - 2.5).abs() < 1e-9 && (face.fit.width_mm - 100.0).abs() < 1e-9, "{:?}", face.fit);
        assert!((face.cutouts[0].piece.area() - 500.0 * 6.25).abs() < 1e-6, "area scales by the square");
        assert_eq!(empty_corner(&face), (true, true), "the foot points right, the empty corner is upper right");
    }

    #[test]
    fn mirror_and_turn() {
        let mirrored = fitted(&Options { mirror: true, ..Options::default() }).value;
        assert_eq!(empty_corner(&mirrored), (false, true), "mirrored left to right");
        let turned = fitted(&Options { turn_deg: 90.0, ..Options::default() }).value;
        assert!(close(bounds(&turned), Rect::new(10.0, 10.0, 110.0, 210.0)), "turned: {:?}", bounds(&turned));
        assert_eq!(empty_corner(&turned), (false, true), "anticlockwise: upper right goes to upper left");
    }

    #[test]
    fn alignment() {
        let face = fitted(&Options { up: Align::Start, ..Options::default() }).value;
        assert!(close(bounds(&face), Rect::new(10.0, 10.0, 110.0, 60.0)), "at the bottom: {:?}", bounds(&face));
        let face = fitted(&Options { up: Align::End, ..Options::default() }).value;
        assert!(close(bounds(&face), Rect::new(10.0, 160.0, 110.0, 210.0)), "at the top: {:?}", bounds(&face));
    }

    #[test]
    fn forced_sizes_report_each_edge() {
        let noted = fitted(&Options { width: Some(Mm::new(110.0)), ..Options::default() });
        let over: Vec<_> = noted.findings.iter().filter(|f| f.kind == FindingKind::OverClearance).collect();
        assert_eq!(over.len(), 2, "left and right");
        assert!(over.iter().all(|f| (f.measured.unwrap() - 5.0).abs() < 1e-6 && f.severity == Severity::Care));
        let noted = fitted(&Options { width: Some(Mm::new(130.0)), ..Options::default() });
        assert!(noted.findings.iter().any(|f| f.severity == Severity::Stop), "off the panel");
    }

    #[test]
    fn a_placed_middle_stays_while_the_face_turns_and_grows() {
        for (turn_deg, scale, mirror) in [(0.0, 2.0, false), (90.0, 2.0, false), (33.0, 1.5, true), (180.0, 0.5, false)]
        {
            let (x, y) = (Mm::new(50.0), Mm::new(70.0));
            let options = Options {
                turn_deg,
                mirror,
                scale: Some(scale),
                middle_x: Some(x),
                middle_y: Some(y),
                ..Options::default()
            };
            let face = fitted(&options).value;
            assert!((face.fit.scale - scale).abs() < 1e-12, "{:?}", face.fit);
            // The L's inner corner, at (10, 0) from the middle of its box as drawn.
            let side = if mirror { -1.0 } else { 1.0 };
            let want = Point::new(50.0, 70.0) + Vec2::from_angle(turn_deg.to_radians()) * (-10.0 * side * scale);
            let path = face.cutouts[0].piece.to_path();
            let near = path.segments().map(|s| s.start().distance(want));
            assert!(near.fold(f64::MAX, f64::min) < 1e-9, "turned {turn_deg}: corner at {want:?}");
        }
    }

    #[test]
    fn stretch_is_limited() {
        let face = fitted(&Options { stretch: 0.2, ..Options::default() }).value;
        assert!(close(bounds(&face), Rect::new(10.0, 80.0, 110.0, 140.0)), "a fifth higher: {:?}", bounds(&face));
        let both =
            Options { width: Some(Mm::new(60.0)), height: Some(Mm::new(33.0)), stretch: 0.2, ..Options::default() };
        let fit = fitted(&both).value.fit;
        assert!((fit.width_mm - 60.0).abs() < 1e-6 && (fit.height_mm - 33.0).abs() < 1e-6, "{fit:?}");
    }

    #[test]
    fn true_size_keeps_every_millimetre() {
        let face = fitted(&Options { true_size: true, ..Options::default() }).value;
        assert!((face.fit.scale - 1.0).abs() < 1e-12 && (bounds(&face).width() - 40.0).abs() < 1e-9, "{:?}", face.fit);
    }

    #[test]
    fn empty_bands_are_remarked_on() {
        let findings = fitted(&Options::default()).findings;
        assert_eq!(findings.iter().filter(|f| f.kind == FindingKind::EmptyBand).count(), 1, "{findings:?}");
    }

    #[test]
    fn impossible_sizes_are_errors() {
        let cases = [(60.0, 0.0), (0.0, 110.0), (-1.0, 0.0), (f64::NAN, 0.0)];
        for (across, up) in cases {
            let clear =
                Clearances { left: Mm::new(across), right: Mm::new(60.0), top: Mm::new(up), bottom: Mm::new(110.0) };
            let got = fit(&cutting(), &PANEL, &clear, &Options::default());
            assert!(matches!(got, Err(Error::Sizes { .. })), "{across} {up}: {got:?}");
        }
        let forced = Options { width: Some(Mm::new(0.0)), ..Options::default() };
        let got = fit(&cutting(), &PANEL, &Clearances::all(Mm::ZERO), &forced);
        assert!(matches!(got, Err(Error::Sizes { .. })), "{got:?}");
    }
}
