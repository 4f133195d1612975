//! Sheets as PNG, rasterised from the SVG writer's own output, so the picture
//! cannot drift from the drawing.

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder as _};
use resvg::{tiny_skia, usvg};

use super::svg::{Letters, svg_with};
use crate::diag::Error;
use crate::sheet::Sheet;
use crate::units::MM_PER_INCH;

/// Most pixels a picture may have: 100 million, 400 MB while it is drawn.
const MOST_PIXELS: f64 = 1e8;

/// The sheet as a PNG on white, `dpi` pixels to the inch; fewer where the
/// picture would have more than [`MOST_PIXELS`].
///
/// # Errors
/// [`Error::Sizes`] when the picture would have no pixels; [`Error::Internal`]
/// when the rasteriser refuses our own SVG.
pub fn png(sheet: &Sheet, dpi: f64) -> Result<Vec<u8>, Error> {
    let (width, height) = pixels(sheet, dpi);
    if !(width >= 1.0 && height >= 1.0 && width * height <= MOST_PIXELS) {
        let what = format!("a picture of {width} by {height} pixels cannot be drawn");
        return Err(Error::sizes(what, "give a panel of less extreme proportions"));
    }
    let pixels = draw(sheet, width, height)?;
    encode(&pixels)
}

/// Width and height in pixels.
fn pixels(sheet: &Sheet, dpi: f64) -> (f64, f64) {
    let (width, height) = (sheet.width.get(), sheet.height.get());
    let most = (MOST_PIXELS / (width * height)).sqrt();
    let scale = if dpi.is_finite() { dpi / MM_PER_INCH } else { 0.0 };
    if scale < most {
        return ((width * scale).round(), (height * scale).round());
    }
    ((width * most).floor(), (height * most).floor())
}

fn draw(sheet: &Sheet, width: f64, height: f64) -> Result<tiny_skia::Pixmap, Error> {
    let internal = |what: String| Error::Internal { what };
    let svg = svg_with(sheet, Letters::Outlines);
    let tree = usvg::Tree::from_str(&svg, &usvg::Options::default())
        .map_err(|error| internal(format!("the picture's own SVG was refused: {error}")))?;
    let mut pixels = tiny_skia::Pixmap::new(width as u32, height as u32)
        .ok_or_else(|| internal(format!("no room for a picture of {width} by {height} pixels")))?;
    pixels.fill(tiny_skia::Color::WHITE);
    let size = tree.size();
    let fit = tiny_skia::Transform::from_scale(width as f32 / size.width(), height as f32 / size.height());
    resvg::render(&tree, fit, &mut pixels.as_mut());
    Ok(pixels)
}

/// Opaque RGB, quick compression: these pictures are flat colour and pack well
/// whatever the effort.
fn encode(pixels: &tiny_skia::Pixmap) -> Result<Vec<u8>, Error> {
    let rgb: Vec<u8> = pixels.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
    let mut bytes = Vec::new();
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Fast, FilterType::Adaptive)
        .write_image(&rgb, pixels.width(), pixels.height(), ExtendedColorType::Rgb8)
        .map_err(|error| Error::Internal { what: format!("the picture could not be packed: {error}") })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::font::{CAP_HEIGHT, Weight, width};
    use crate::sheet::{Ink, Layer, Path, Text};
    use crate::units::Mm;
    use kurbo::{Rect, Shape as _};

    #[test]
    fn ink_lands_on_the_right_pixels() {
        let mut sheet = Sheet::new("square", Mm::new(25.4), Mm::new(50.8));
        sheet.push(Layer::Wood, Path::fill(Rect::new(2.54, 2.54, 12.7, 12.7).to_path(1e-3), Ink::rgb(200, 100, 0)));
        sheet.push(Layer::Title, Text::new("H", (2.54, 40.0), 6.0).bold());
        let picture = image::load_from_memory(&png(&sheet, 100.0).unwrap()).unwrap().to_rgb8();
        assert_eq!(picture.dimensions(), (100, 200), "one inch by two");
        assert_eq!(picture.get_pixel(30, 170).0, [200, 100, 0], "square near the lower-left corner");
        assert_eq!(picture.get_pixel(70, 170).0, [255, 255, 255], "paper beside it");
        let black = picture.enumerate_pixels().filter(|(_, _, p)| p.0[0] < 60 && p.0[2] < 60);
        let (left, right, top, bottom) =
            black.fold((999, 0, 999, 0), |(l, r, t, b), (x, y, _)| (l.min(x), r.max(x), t.min(y), b.max(y)));
        let letter = (width("H", 6.0, Weight::Bold) / 0.254, 6.0 * CAP_HEIGHT / 0.254);
        assert!(
            f64::from(right - left) < letter.0 && (f64::from(bottom - top + 1) - letter.1).abs() < 2.0,
            "an H stands there"
        );
    }

    #[test]
    fn too_large_a_picture_is_drawn_coarser() {
        let sheet = Sheet::new("big", Mm::new(5800.0), Mm::new(2900.0));
        let (width, height) = pixels(&sheet, 96.0);
        assert!(width * height <= MOST_PIXELS && width * height > 0.99 * MOST_PIXELS, "{width} by {height}");
        assert!((width / height - 2.0).abs() < 1e-3, "of the same shape");
        assert_eq!(pixels(&Sheet::new("usual", Mm::new(254.0), Mm::new(127.0)), 96.0), (960.0, 480.0), "as asked");
    }

    #[test]
    fn impossible_pictures_are_refused() {
        let sheet = Sheet::new("big", Mm::new(1000.0), Mm::new(1000.0));
        for dpi in [0.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(png(&sheet, dpi), Err(Error::Sizes { .. })), "{dpi}");
        }
    }
}
