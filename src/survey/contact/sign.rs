//! The sign of each verdict: told by shape, so that a grey print says the same.

use kurbo::{BezPath, Point};

use crate::sheet::{Ink, Layer, Mark, Path, Stroke, Text, symbols};
use crate::survey::Verdict;

/// The ink of a verdict.
#[must_use]
pub const fn ink(verdict: Verdict) -> Ink {
    match verdict {
        Verdict::SawAsIs | Verdict::SoundAfterMending => Ink::rgb(44, 99, 52),
        Verdict::NeedsMending => Ink::rgb(138, 83, 0),
        Verdict::NotForThisPanel => Ink::rgb(160, 28, 22),
        Verdict::NotRead => Ink::rgb(53, 86, 111),
    }
}

/// The sign about `at`, `radius` mm: a disc with a tick, a disc with a plus, a
/// half disc, a square with a cross, a ring with a question mark.
#[must_use]
pub fn sign(verdict: Verdict, at: Point, radius: f64) -> Vec<Mark> {
    let ink = ink(verdict);
    let white = Stroke::new(radius * 0.32, Ink::WHITE).round();
    let to = |x: f64, y: f64| Point::new(at.x + x * radius, at.y + y * radius);
    let strokes = |lines: &[&[(f64, f64)]]| -> BezPath {
        let mut path = BezPath::new();
        for line in lines {
            for (i, &(x, y)) in line.iter().enumerate() {
                if i == 0 { path.move_to(to(x, y)) } else { path.line_to(to(x, y)) }
            }
        }
        path
    };
    let disc = || Path::fill(symbols::circle(at, radius), ink);
    let ring = || Path::stroke(symbols::circle(at, radius * 0.9), Stroke::new(radius * 0.2, ink));
    let mark = |path: Path| Mark::new(Layer::Notes, path);
    match verdict {
        Verdict::SawAsIs => {
            let tick = strokes(&[&[(-0.5, 0.0), (-0.12, -0.42), (0.52, 0.42)]]);
            vec![mark(disc()), mark(Path::stroke(tick, white))]
        }
        Verdict::SoundAfterMending => {
            let plus = strokes(&[&[(-0.55, 0.0), (0.55, 0.0)], &[(0.0, -0.55), (0.0, 0.55)]]);
            vec![mark(disc()), mark(Path::stroke(plus, white))]
        }
        Verdict::NeedsMending => {
            let mut half = BezPath::new();
            half.move_to(to(0.0, -0.9));
            half.curve_to(to(-1.2, -0.9), to(-1.2, 0.9), to(0.0, 0.9));
            half.close_path();
            vec![mark(ring()), mark(Path::fill(half, ink))]
        }
        Verdict::NotForThisPanel => {
            let square = symbols::polygon(&[to(-0.92, -0.92), to(0.92, -0.92), to(0.92, 0.92), to(-0.92, 0.92)]);
            let cross = strokes(&[&[(-0.45, -0.45), (0.45, 0.45)], &[(-0.45, 0.45), (0.45, -0.45)]]);
            vec![mark(Path::fill(square, ink)), mark(Path::stroke(cross, white))]
        }
        Verdict::NotRead => {
            let what = Text::new("?", at, radius * 1.5).bold().ink(ink).centred();
            vec![mark(ring()), Mark::new(Layer::Notes, what)]
        }
    }
}
