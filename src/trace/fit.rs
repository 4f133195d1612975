//! Curves through a contour: as few cubics as stay within the tolerance,
//! smooth where the contour is, sharp at its corners.

use kurbo::{BezPath, CubicBez, Point, Vec2};

use super::corner::{Corner, corners};
use super::cubic;
use super::samples::{Samples, slope, smoothed};
use super::tip::Scene;

/// Samples either side used to smooth a sample, and for the direction of a join.
const SMOOTH: isize = 3;
const TANGENT: isize = 6;
/// Fewest samples from a join to the end of its run.
const END: usize = 4;
/// Share of the tolerance a straight line may use up: a line is preferred to a
/// curve but should not flatten a gentle one.
const LINE: f64 = 0.7;

/// A closed path through the closed polyline `ring`, nowhere farther than about
/// `tolerance` pixels from it, corners kept. `scene` is what the ring was found
/// in.
#[must_use]
pub fn curve(ring: &[Point], scene: &Scene, tolerance: f64) -> BezPath {
    let mut path = BezPath::new();
    let Some(samples) = Samples::of(ring) else { return path };
    let corners = corners(&samples, scene);
    for run in runs(&samples, &corners) {
        if path.is_empty() {
            path.move_to(run.points[0]);
        }
        lay(&run, tolerance + scene.edges.step(), &mut path);
    }
    path.close_path();
    path
}

/// A stretch between corners, or the whole of a smooth ring.
#[derive(Debug)]
struct Run {
    points: Vec<Point>,
    /// Direction at each point; a corner's own is not used.
    tangents: Vec<Vec2>,
    /// Whether both ends are the same smooth spot, whose direction they share.
    smooth: bool,
}

fn runs(samples: &Samples, corners: &[Corner]) -> Vec<Run> {
    if corners.is_empty() {
        return vec![whole(samples)];
    }
    (0..corners.len()).map(|i| between(samples, corners[i], corners[(i + 1) % corners.len()])).collect()
}

/// A ring without corners, from sample 0 round to it again.
fn whole(samples: &Samples) -> Run {
    let n = samples.len();
    let half = |most: isize| most.min((n as isize - 1) / 4);
    let around = |i: usize| move |k: isize| samples.at(i, k);
    let points = (0..=n).map(|i| smoothed(half(SMOOTH), around(i % n))).collect();
    let tangents = (0..=n).map(|i| unit(slope(half(TANGENT).max(1), around(i % n)))).collect();
    Run { points, tangents, smooth: true }
}

/// The contour from one corner to the next, without the samples the grid
/// rounded.
fn between(samples: &Samples, from: Corner, to: Corner) -> Run {
    let n = samples.len();
    let count = match (to.index + n - from.index) % n {
        0 => n,
        count => count,
    };
    let clear: Vec<Point> =
        (from.skip..(count + 1).saturating_sub(to.skip)).map(|k| samples.at(from.index, k as isize)).collect();
    // Windows shrink towards the ends.
    let half = |i: usize, most: isize| most.min(i as isize).min((clear.len() - 1 - i) as isize);
    let around = |i: usize| {
        let clear = &clear;
        move |k: isize| clear[(i as isize + k) as usize]
    };
    let (mut points, mut tangents) = (vec![from.at], vec![Vec2::ZERO]);
    points.extend((0..clear.len()).map(|i| smoothed(half(i, SMOOTH), around(i))));
    tangents.extend((0..clear.len()).map(|i| unit(slope(half(i, TANGENT), around(i)))));
    points.push(to.at);
    tangents.push(Vec2::ZERO);
    Run { points, tangents, smooth: false }
}

fn unit(v: Vec2) -> Vec2 {
    if v.hypot() > 1e-9 { v.normalize() } else { Vec2::ZERO }
}

/// One piece of the fitted outline: up to which point of the run, and the cubic
/// unless it is a line.
type Laid = (usize, Option<CubicBez>);

/// Lays cubics and lines along the run, then again within less tolerance for as
/// long as no more pieces are needed: the same count, spread more evenly.
fn lay(run: &Run, tolerance: f64, path: &mut BezPath) {
    let mut best = laid(run, tolerance);
    for share in [0.5, 0.75] {
        if best.len() < 2 {
            break;
        }
        let closer = laid(run, share * tolerance);
        if closer.len() <= best.len() {
            best = closer;
            break;
        }
    }
    for (end, curve) in best {
        match curve {
            Some(c) => path.curve_to(c.p1, c.p2, c.p3),
            None => path.line_to(run.points[end]),
        }
    }
}

/// The longest piece that fits each time.
fn laid(run: &Run, tolerance: f64) -> Vec<Laid> {
    let last = run.points.len() - 1;
    let (mut pieces, mut start) = (Vec::new(), 0);
    while start < last {
        let piece = longest(run, start, tolerance);
        start = piece.0;
        pieces.push(piece);
    }
    pieces
}

/// Shortest stretch tried when looking for the longest that fits, in samples.
const SHORTEST: usize = 6;

/// The farthest point one piece from `start` reaches within the tolerance.
/// Doubles the reach while it fits, then halves the step.
fn longest(run: &Run, start: usize, tolerance: f64) -> Laid {
    let last = run.points.len() - 1;
    if let Some(curve) = piece(run, start, last, tolerance) {
        return (last, curve);
    }
    // The end of a run is reached from well before it or not at all.
    let most = last.saturating_sub(END).max(start + 1);
    let (mut good, mut bad, mut size) = (None, most + 1, SHORTEST);
    while start + size <= most {
        match piece(run, start, start + size, tolerance) {
            Some(curve) => good = Some((start + size, curve)),
            // Short stretches fail by accident, long ones for a reason.
            None if size > 3 * SHORTEST || good.is_some() => {
                bad = start + size;
                break;
            }
            None => {}
        }
        size *= 2;
    }
    let Some(mut found) = good else { return fallback(run, start, most) };
    while bad - found.0 > 1 {
        let middle = found.0.midpoint(bad);
        match piece(run, start, middle, tolerance) {
            Some(curve) => found = (middle, curve),
            None => bad = middle,
        }
    }
    found
}

/// A short line where nothing fits.
fn fallback(run: &Run, start: usize, most: usize) -> Laid {
    let end = (start + 3).min(most);
    (if run.points.len() - 1 - end < 3 { run.points.len() - 1 } else { end }, None)
}

/// A line (`Some(None)`) or cubic (`Some(Some)`) from point `start` to point
/// `end` of the run within the tolerance, or `None`.
#[expect(clippy::option_option, reason = "no fit, a line, a curve: three answers")]
fn piece(run: &Run, start: usize, end: usize, tolerance: f64) -> Option<Option<CubicBez>> {
    let points = &run.points[start..=end];
    let last = run.points.len() - 1;
    let corner = |i: usize| !run.smooth && (i == 0 || i == last);
    let tangent = |i: usize| (!corner(i)).then_some(run.tangents[i]);
    if corner(start) && corner(end) && is_line(points, LINE * tolerance) {
        return Some(None);
    }
    if points.len() < 4 {
        return None;
    }
    cubic::fit(points, tangent(start), tangent(end).map(|t| -t), tolerance).map(Some)
}

/// Whether `points` run straight from the first to the last.
fn is_line(points: &[Point], tolerance: f64) -> bool {
    let (a, b) = (points[0], points[points.len() - 1]);
    let along = b - a;
    let length = along.hypot();
    length > 1e-6
        && points.iter().all(|p| {
            let d = *p - a;
            let (ahead, aside) = (along.dot(d) / length, along.cross(d) / length);
            aside.abs() < tolerance && (-1.0..=length + 1.0).contains(&ahead)
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::decode::Picture;
    use kurbo::Shape;
    use std::f64::consts::{PI, TAU};

    fn blank() -> Scene<'static> {
        static NOTHING: Picture = Picture { width: 0, height: 0, levels: Vec::new(), dpi: None };
        Scene { picture: &NOTHING, ink: 0.0, paper: 1.0, edges: crate::trace::smooth::Edges::Blended }
    }

    #[test]
    fn a_circle_takes_few_cubics() {
        let at = |turn: f64| Point::new(100.0 + 80.0 * turn.cos(), 100.0 + 80.0 * turn.sin());
        let ring: Vec<Point> = (0..600).map(|i| at(f64::from(i) / 600.0 * TAU)).collect();
        let path = curve(&ring, &blank(), 0.35);
        let count = path.segments().count();
        assert!((2..=6).contains(&count), "{count} cubics");
        assert!((path.area().abs() - PI * 6400.0).abs() < 50.0, "area {}", path.area());
    }

    #[test]
    fn a_square_takes_four_lines() {
        let side = |a: Point, b: Point| (0..50).map(move |i| a.lerp(b, f64::from(i) / 50.0));
        let p = [(10.0, 10.0), (60.0, 10.0), (60.0, 60.0), (10.0, 60.0)].map(Point::from);
        let ring: Vec<Point> = (0..4).flat_map(|i| side(p[i], p[(i + 1) % 4])).collect();
        let path = curve(&ring, &blank(), 0.35);
        assert_eq!(path.segments().filter(|s| matches!(s, kurbo::PathSeg::Line(_))).count(), 4, "{}", path.to_svg());
        assert!((path.area().abs() - 2500.0).abs() < 1.0, "area {}", path.area());
    }
}
