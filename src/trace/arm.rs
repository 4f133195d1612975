//! The contour on one side of a spot, as a line or parabola of least squares.

use kurbo::{Point, Vec2};

use super::samples::Samples;
use super::smooth::Edges;

/// Lengths an arm is tried with beyond that, pixels, and whether it is a
/// parabola: the longest that fits is least noisy.
const LENGTHS: [(f64, bool); 4] = [(11.0, true), (7.5, true), (5.0, true), (2.8, false)];
/// An arm fits when no sample is farther off than this, pixels.
const OFF: f64 = 0.2;

/// One side of a spot: a point for every distance from it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Arm {
    start: Point,
    first: Vec2,
    second: Vec2,
}

impl Arm {
    /// The point `u` pixels along.
    pub(super) fn at(&self, u: f64) -> Point {
        self.start + self.first * u + self.second * (u * u)
    }

    /// The direction there, away from the spot.
    pub(super) fn slope(&self, u: f64) -> Vec2 {
        self.first + self.second * (2.0 * u)
    }
}

/// The least squares of every arm length, worked out once: samples are even, so
/// each coefficient is a fixed sum of samples.
#[derive(Clone, Debug)]
pub(super) struct Arms {
    windows: Vec<Window>,
    off: f64,
}

#[derive(Clone, Debug)]
struct Window {
    /// Number of samples the first one stands from the spot.
    skip: isize,
    /// Distance along and the weights for start, first and second coefficient.
    rows: Vec<(f64, [f64; 3])>,
}

impl Arms {
    /// Arms for samples `step` pixels apart that begin `skip` samples off.
    pub(super) fn new(step: f64, skip: isize, edges: Edges) -> Self {
        // Steps take a longer look.
        let longer = if edges == Edges::Hard { 1.6 } else { 1.0 };
        let windows = LENGTHS.iter().map(|&(length, bent)| Window::new(step, skip, longer * length, bent)).collect();
        Self { windows, off: OFF + edges.step() }
    }

    /// The arm from sample `i`; `None` on a contour too short for any.
    pub(super) fn fit(&self, samples: &Samples, i: usize, ahead: bool) -> Option<Arm> {
        let fits = |w: &&Window| (w.skip as usize + w.rows.len()) * 2 <= samples.len();
        let mut last = None;
        for window in self.windows.iter().filter(fits) {
            let (arm, off) = window.fit(samples, i, ahead);
            last = Some(arm);
            if off < self.off {
                break;
            }
        }
        last
    }
}

impl Window {
    fn new(step: f64, skip: isize, length: f64, bent: bool) -> Self {
        let count = ((length / step).round() as usize + 1).max(if bent { 5 } else { 3 });
        let us: Vec<f64> = (0..count).map(|k| (skip as f64 + k as f64) * step).collect();
        let rows = us.iter().map(|&u| (u, weights(&us, u, bent))).collect();
        Self { skip, rows }
    }

    fn fit(&self, samples: &Samples, i: usize, ahead: bool) -> (Arm, f64) {
        let sample = |k: usize| {
            let offset = self.skip + k as isize;
            samples.at(i, if ahead { offset } else { -offset })
        };
        let mut sums = [Vec2::ZERO; 3];
        for (k, (_, weights)) in self.rows.iter().enumerate() {
            let p = sample(k).to_vec2();
            sums.iter_mut().zip(weights).for_each(|(sum, w)| *sum += p * *w);
        }
        let arm = Arm { start: sums[0].to_point(), first: sums[1], second: sums[2] };
        let off = self.rows.iter().enumerate().map(|(k, (u, _))| arm.at(*u).distance(sample(k)));
        (arm, off.fold(0.0, f64::max))
    }
}

/// What a sample at `u` adds to each coefficient of the polynomial of least
/// squares over `us`: the row of (XᵀX)⁻¹Xᵀ.
fn weights(us: &[f64], u: f64, bent: bool) -> [f64; 3] {
    let moment = |power: i32| us.iter().map(|u| u.powi(power)).sum::<f64>();
    let [n, s1, s2] = [0, 1, 2].map(moment);
    if !bent {
        let whole = n * s2 - s1 * s1;
        return [(s2 - s1 * u) / whole, (n * u - s1) / whole, 0.0];
    }
    let (s3, s4) = (moment(3), moment(4));
    // The inverse of the symmetric matrix of moments, by its cofactors.
    let cofactors = [
        [s2 * s4 - s3 * s3, s2 * s3 - s1 * s4, s1 * s3 - s2 * s2],
        [s2 * s3 - s1 * s4, n * s4 - s2 * s2, s1 * s2 - n * s3],
        [s1 * s3 - s2 * s2, s1 * s2 - n * s3, n * s2 - s1 * s1],
    ];
    let whole = n * cofactors[0][0] + s1 * cofactors[0][1] + s2 * cofactors[0][2];
    cofactors.map(|row| (row[0] + row[1] * u + row[2] * u * u) / whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_is_found_exactly() {
        let points = (0..60).map(|i| f64::from(i) * 0.8).map(|u| Point::new(3.0 + u, 0.02 * u * u)).collect();
        let samples = Samples { points, step: 0.8 };
        let arm = Arms::new(0.8, 2, Edges::Blended).fit(&samples, 20, true).unwrap();
        let want = samples.points[20];
        assert!(arm.at(0.0).distance(want) < 1e-9, "{:?} against {want:?}", arm.at(0.0));
        assert!((arm.slope(0.0).y - 0.04 * 16.0).abs() < 1e-9, "{:?}", arm.slope(0.0));
    }
}
