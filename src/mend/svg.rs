//! The mended face as a drawing that reads back as it was written.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath, PathEl, Point};

use crate::entry::EntryHole;
use crate::face::{Face, layer};

/// Decimals of coordinates: a tenth of a micrometre, under the noise of the
/// `f32` numbers drawings are read with.
const DECIMALS: usize = 4;

/// `face` as SVG at true size: the page is the panel, one path for each cut-out,
/// `cut-1` on. The root's `data-fretgrin-panel` says that the drawing is placed
/// already and is not to be fitted again.
#[must_use]
pub fn svg(face: &Face) -> String {
    let mut out = head(face);
    paths(&mut out, face, " fill=\"#000\"");
    out.push_str("</svg>\n");
    out
}

/// `face` and its entry `holes` as lines at true size, for other machines: a
/// group for the panel's edge, one for the cut-outs (`cut-1` on), one for the
/// holes (`hole-1` on), under the names of the DXF's layers.
#[must_use]
pub fn layered_svg(face: &Face, holes: &[EntryHole]) -> String {
    let h = face.panel.height.get();
    let mut out = head(face);
    let group = |name: &str| format!("<g id=\"{name}\" fill=\"none\" stroke=\"#000\" stroke-width=\"{LINE}\">\n");
    out.push_str(&group(layer::PANEL));
    let (width, height) = (number(face.panel.width.get()), number(h));
    let _ = writeln!(out, "  <rect id=\"panel-edge\" width=\"{width}\" height=\"{height}\"/>\n</g>");
    out.push_str(&group(layer::CUT));
    paths(&mut out, face, "");
    out.push_str("</g>\n");
    out.push_str(&group(layer::HOLES));
    for hole in holes {
        let (x, y, r) = (number(hole.at.x), number(h - hole.at.y), number(hole.diameter / 2.0));
        let _ = writeln!(out, "  <circle id=\"hole-{}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>", hole.id);
    }
    out.push_str("</g>\n</svg>\n");
    out
}

/// Width of drawn lines, mm: seen on the screen, not in the way.
const LINE: f64 = 0.1;

fn head(face: &Face) -> String {
    let (w, h) = (number(face.panel.width.get()), number(face.panel.height.get()));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\" \
         data-fretgrin-panel=\"{w} {h}\">\n"
    )
}

/// One path for each cut-out, with `paint` as further attributes.
fn paths(out: &mut String, face: &Face, paint: &str) {
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, face.panel.height.get()]);
    for cutout in &face.cutouts {
        let data = data(&(down * cutout.piece.to_path()));
        let _ = writeln!(out, "  <path id=\"cut-{}\"{paint} fill-rule=\"evenodd\" d=\"{data}\"/>", cutout.id);
    }
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
