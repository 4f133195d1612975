//! A contour sampled evenly along its length, so that windows on it are plain
//! runs of samples.

use kurbo::{Point, Vec2};

/// Distance between samples aimed at, pixels. About the spacing of the
/// contour's own vertices.
const STEP: f64 = 0.8;

/// A closed contour as points the same distance apart along it.
#[derive(Clone, Debug, PartialEq)]
pub struct Samples {
    /// The points, none repeated at the end.
    pub points: Vec<Point>,
    /// Distance along the contour from one to the next, pixels.
    pub step: f64,
}

impl Samples {
    /// Samples the closed polyline `ring`; `None` when it is too short for four.
    #[must_use]
    pub fn of(ring: &[Point]) -> Option<Self> {
        let length: f64 = edges(ring).map(|(a, b)| a.distance(b)).sum();
        let count = (length / STEP).round() as usize;
        if count < 4 {
            return None;
        }
        let step = length / count as f64;
        let (mut points, mut along) = (Vec::with_capacity(count), 0.0);
        for (a, b) in edges(ring) {
            let edge = a.distance(b);
            while points.len() < count && points.len() as f64 * step < along + edge {
                points.push(a.lerp(b, (points.len() as f64 * step - along) / edge));
            }
            along += edge;
        }
        // Rounding may leave the very last sample at the start again.
        (points.len() == count).then_some(Self { points, step })
    }

    /// Number of samples.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.points.len()
    }

    /// Whether there are none; never so.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// The sample `offset` after sample `i`, round and round.
    #[must_use]
    pub fn at(&self, i: usize, offset: isize) -> Point {
        let n = self.points.len() as isize;
        self.points[(i as isize + offset).rem_euclid(n) as usize]
    }
}

fn edges(ring: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    ring.iter().copied().zip(ring.iter().copied().cycle().skip(1))
}

/// The middle of a parabola fitted to samples `-half..=half` round one given by
/// `at`: noise shrinks, curves stay (Savitzky & Golay, Analytical Chemistry 36
/// (1964) 1627–1639, quadratic smoothing).
pub(super) fn smoothed(half: isize, at: impl Fn(isize) -> Point) -> Point {
    if half < 1 {
        return at(0);
    }
    let m = half as f64;
    // Weights 1 − 5(k² − s)/(…) in closed form, scaled to sum to one.
    let (count, squares) = (2.0 * m + 1.0, m * (m + 1.0) * (2.0 * m + 1.0) / 3.0);
    let fourths = squares * (3.0 * m * m + 3.0 * m - 1.0) / 5.0;
    let whole = count * fourths - squares * squares;
    let weight = |k: f64| (fourths - k * k * squares) / whole;
    (-half..=half).fold(Vec2::ZERO, |sum, k| sum + at(k).to_vec2() * weight(k as f64)).to_point()
}

/// The direction at the middle of the same parabola; not of unit length.
pub(super) fn slope(half: isize, at: impl Fn(isize) -> Point) -> Vec2 {
    (1..=half).fold(Vec2::ZERO, |sum, k| sum + (at(k) - at(-k)) * k as f64)
}
