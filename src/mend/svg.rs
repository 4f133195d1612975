//! The mended face as a drawing that reads back as it was written.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath, PathEl, Point};

use crate::face::Face;

/// Decimals of coordinates: a tenth of a micrometre, under the noise of the
/// `f32` numbers drawings are read with.
const DECIMALS: usize = 4;

/// `face` as SVG at true size: the page is the panel, one path for each cut-out,
/// `cut-1` on. The root's `data-fretgrin-panel` says that the drawing is placed
/// already and is not to be fitted again.
#[must_use]
pub fn svg(face: &Face) -> String {
    let (w, h) = (face.panel.width.get(), face.panel.height.get());
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
         data-fretgrin-panel=\"{w} {h}\">\n"
    );
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, h]);
    for cutout in &face.cutouts {
        let data = data(&(down * cutout.piece.to_path()));
        let _ = writeln!(out, "  <path id=\"cut-{}\" fill=\"#000\" fill-rule=\"evenodd\" d=\"{data}\"/>", cutout.id);
    }
    out.push_str("</svg>\n");
    out
}

fn data(path: &BezPath) -> String {
    let mut out = String::new();
    for el in path.elements() {
        let (letter, points): (char, &[Point]) = match el {
            PathEl::MoveTo(p) => ('M', &[*p]),
            PathEl::LineTo(p) => ('L', &[*p]),
            PathEl::QuadTo(a, p) => ('Q', &[*a, *p]),
            PathEl::CurveTo(a, b, p) => ('C', &[*a, *b, *p]),
            PathEl::ClosePath => ('Z', &[]),
        };
        out.push(letter);
        for (i, p) in points.iter().enumerate() {
            let gap = if i > 0 { " " } else { "" };
            let _ = write!(out, "{gap}{} {}", number(p.x), number(p.y));
        }
    }
    out
}

/// A coordinate without needless zeros.
fn number(value: f64) -> String {
    let text = format!("{value:.DECIMALS$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
