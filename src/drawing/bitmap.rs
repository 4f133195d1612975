//! A traced bitmap as art.

use kurbo::{Affine, BezPath, Rect, Shape as _};

use super::pen;
use crate::art::{self, Art, Inked, Stroked};
use crate::diag::{Error, Noted, Place};
use crate::geom::boolean::{self, Rule};
use crate::geom::{Piece, Region};
use crate::trace::{self, Options, Traced};
use crate::units::{MM_PER_INCH, PX_PER_INCH};

/// Ink round fields is a drawn line when at least this part of what it encloses
/// is open: an eye of ink with a glint in it is no line. Ours.
const LINE_OPEN: f64 = 0.5;
/// An open line is drawn with the pen of the closed ones: it is at most this many
/// times as wide. Ours: a hand presses harder or lighter.
const SAME_PEN: f64 = 1.5;

/// Traces a picture: its ink is one black shape, drawn lines shapes of their own,
/// its sheet the page. Without dots in an inch a pixel counts as a CSS pixel, as in a drawing.
pub(super) fn read(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    let Noted { value: traced, findings } = trace::trace(bytes, name, options)?;
    Ok(Noted { value: art(&traced, name), findings })
}

fn art(traced: &Traced, name: &str) -> Art {
    let (across, down) = traced.dpi.unwrap_or((PX_PER_INCH, PX_PER_INCH));
    let (width, height) =
        (f64::from(traced.width) * MM_PER_INCH / across, f64::from(traced.height) * MM_PER_INCH / down);
    let unit_mm = art::unit_for(width.max(height));
    let size = Affine::scale_non_uniform(MM_PER_INCH / across / unit_mm, MM_PER_INCH / down / unit_mm);
    let page = Some(Rect::new(0.0, 0.0, width / unit_mm, height / unit_mm));
    Art { name: name.to_owned(), page, unit_mm, placed: false, shapes: shapes(size * traced.path.clone(), name) }
}

/// The ink as shapes. Which lines are thin enough to be the saw's path is for
/// the reading to say: it knows the panel.
fn shapes(ink: BezPath, name: &str) -> Vec<Inked> {
    let region = boolean::resolve(&ink, Rule::EvenOdd);
    let (closed, rest): (Vec<Piece>, Vec<Piece>) = region.pieces.into_iter().partition(is_line);
    let mut lines: Vec<(Piece, Stroked)> = closed.into_iter().map(|piece| (piece.clone(), line(&piece))).collect();
    let areas = without_open(rest, &mut lines);
    if lines.is_empty() {
        return vec![inked(ink, None, name)];
    }
    let mut shapes: Vec<Inked> =
        lines.into_iter().map(|(piece, line)| inked(piece.to_path(), Some(line), name)).collect();
    if !areas.is_empty() {
        shapes.push(inked(Region { pieces: areas }.to_path(), None, name));
    }
    shapes
}

/// Moves the open lines of `pieces` to the closed `lines`: those of the same pen,
/// and where nothing closes those that all but do. A thin opening by itself looks
/// like a line, too.
fn without_open(pieces: Vec<Piece>, lines: &mut Vec<(Piece, Stroked)>) -> Vec<Piece> {
    let pen = lines.iter().map(|(_, line)| line.width).reduce(f64::max);
    let is_drawn = |line: &Stroked| pen.map_or_else(|| pen::nearly_closes(line), |pen| line.width <= SAME_PEN * pen);
    let mut areas = Vec::new();
    for piece in pieces {
        match pen::open_line(&piece).filter(is_drawn) {
            Some(line) => lines.push((piece, line)),
            None => areas.push(piece),
        }
    }
    areas
}

fn is_line(piece: &Piece) -> bool {
    let whole = piece.outer.signed_area().abs();
    !piece.holes.is_empty() && whole - piece.area() >= LINE_OPEN * whole
}

/// The line a piece of ink was drawn as: its path is the rims of the fields it
/// encloses, so that lines which touch still give an outline each.
fn line(piece: &Piece) -> Stroked {
    let centre = piece.holes.iter().flat_map(|hole| hole.to_path()).collect();
    // A band's area is its width times half its two sides.
    let width = 2.0 * piece.area() / piece.length(1e-2);
    Stroked { centre, width, dashed: false, filled: false }
}

fn inked(path: BezPath, line: Option<Stroked>, name: &str) -> Inked {
    Inked {
        bounds: path.bounding_box(),
        path,
        rule: Rule::EvenOdd,
        darkness: 1.0,
        opacity: 1.0,
        line,
        place: Place { file: Some(name.to_owned()), ..Place::default() },
        ids: [].into(),
    }
}

#[cfg(test)]
mod tests {
    use crate::drawing::{Kind, Options, read};
    use image::{GrayImage, ImageFormat, Luma};
    use std::io::Cursor;

    /// A black square of 100 pixels on white, with the sheet's size stated.
    fn square(format: ImageFormat) -> Vec<u8> {
        let inside = |x: u32, y: u32| (50..150).contains(&x) && (70..170).contains(&y);
        let picture = GrayImage::from_fn(200, 240, |x, y| Luma([if inside(x, y) { 0 } else { 255 }]));
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn every_kind_of_bitmap_is_told_by_its_bytes() {
        for format in [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::Gif, ImageFormat::Bmp, ImageFormat::WebP] {
            let bytes = match format {
                // The encoders of these want colour.
                ImageFormat::Gif | ImageFormat::WebP => {
                    let colour = image::load_from_memory(&square(ImageFormat::Png)).unwrap().to_rgba8();
                    let mut bytes = Cursor::new(Vec::new());
                    colour.write_to(&mut bytes, format).unwrap();
                    bytes.into_inner()
                }
                _ => square(format),
            };
            assert_eq!(Kind::of(&bytes), Kind::Bitmap, "{format:?}");
            let art = read(&bytes, "square", &Options::default()).unwrap().value;
            let side = art.bounds().width() * art.unit_mm;
            assert!((side - 100.0 * 25.4 / 96.0).abs() < 0.03, "{format:?}: {side} mm at 96 dots in an inch");
            assert_eq!(art.shapes[0].path.segments().count(), 4, "{format:?}: four sides");
        }
        assert_eq!(Kind::of(b"<svg/>"), Kind::Svg, "svg");
    }

    #[test]
    fn dots_in_an_inch_give_the_true_size() {
        let mut options = Options::default();
        options.trace.dpi = Some(254.0);
        let art = read(&square(ImageFormat::Png), "square.png", &options).unwrap().value;
        assert!((art.bounds().width() * art.unit_mm - 10.0).abs() < 0.01, "{:?} × {}", art.bounds(), art.unit_mm);
        assert!((art.page.unwrap().height() * art.unit_mm - 24.0).abs() < 1e-9, "{:?}", art.page);
    }
}
