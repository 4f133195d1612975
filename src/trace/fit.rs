//! Curves through a contour: as few cubics as stay within the tolerance,
//! smooth where the contour is, sharp at its corners.
//!
//! Each cubic is fitted by least squares with the parameters improved between
//! rounds (Schneider, "An Algorithm for Automatically Fitting Digitized Curves",
//! Graphics Gems, 1990); the longest stretch that fits is taken each time.

use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveDeriv, Point, Vec2};

use super::corner::{Corner, LEFT_OUT, corners};

/// Rounds of improving the parameters.
const ROUNDS: usize = 4;
/// Contour either side of a join used for its direction, pixels.
const TANGENT_ARM: f64 = 3.5;

/// A closed path through `ring`, nowhere farther than about `tolerance` from
/// it, corners kept.
#[must_use]
pub fn curve(ring: &[Point], tolerance: f64) -> BezPath {
    let corners = corners(ring);
    let mut path = BezPath::new();
    if ring.len() < 4 {
        return path;
    }
    for run in runs(ring, &corners) {
        if path.is_empty() {
            path.move_to(run.points[0]);
        }
        lay(&run, tolerance, &mut path);
    }
    path.close_path();
    path
}

/// A stretch between corners (or the whole of a smooth ring).
struct Run {
    points: Vec<Point>,
    /// Whether both ends are the same smooth spot, whose direction they share.
    smooth: bool,
}

fn runs(ring: &[Point], corners: &[Corner]) -> Vec<Run> {
    if corners.is_empty() {
        let mut points = ring.to_vec();
        points.push(ring[0]);
        return vec![Run { points, smooth: true }];
    }
    (0..corners.len()).map(|i| between(ring, corners[i], corners[(i + 1) % corners.len()])).collect()
}

/// The contour from one corner to the next, without the vertices that the grid
/// rounded.
fn between(ring: &[Point], from: Corner, to: Corner) -> Run {
    let n = ring.len();
    let count = match (to.index + n - from.index) % n {
        0 => n,
        count => count,
    };
    let inner = (1..count).map(|k| ring[(from.index + k) % n]);
    let clear = |p: &Point| p.distance(from.at) > LEFT_OUT && p.distance(to.at) > LEFT_OUT;
    let mut points = vec![from.at];
    points.extend(inner.filter(clear));
    points.push(to.at);
    Run { points, smooth: false }
}

/// Lays cubics along the run, the longest that fits each time.
fn lay(run: &Run, tolerance: f64, path: &mut BezPath) {
    let points = &run.points;
    let last = points.len() - 1;
    let seam = run.smooth.then(|| direction(points, 0, true));
    let (mut start, mut tangent) = (0, seam);
    while start < last {
        let (end, curve) = longest(run, start, tangent, seam, tolerance);
        match curve {
            Some(c) => path.curve_to(c.p1, c.p2, c.p3),
            None => path.line_to(points[end]),
        }
        tangent = Some(direction(points, end, run.smooth));
        start = end;
    }
}

/// The farthest end that one cubic (or a line: `None`) from `start` reaches
/// within the tolerance. Doubles the reach while it fits, then halves the step.
fn longest(
    run: &Run,
    start: usize,
    tangent: Option<Vec2>,
    seam: Option<Vec2>,
    tolerance: f64,
) -> (usize, Option<CubicBez>) {
    let last = run.points.len() - 1;
    let fit = |end: usize| {
        let out = if end == last { seam } else { Some(direction(&run.points, end, run.smooth)) };
        stretch(&run.points[start..=end], tangent, out.map(|t| -t), tolerance)
    };
    if let Some(whole) = fit(last) {
        return (last, whole);
    }
    let (mut good, mut best, mut step) = (start + 1, None, 2);
    while start + step < last {
        match fit(start + step) {
            Some(curve) => (good, best) = (start + step, curve),
            None => break,
        }
        step *= 2;
    }
    let mut bad = (start + step).min(last);
    while bad - good > 1 {
        let middle = good.midpoint(bad);
        match fit(middle) {
            Some(curve) => (good, best) = (middle, curve),
            None => bad = middle,
        }
    }
    (good, best)
}

/// A line (`Some(None)`) or cubic (`Some(Some)`) through all of `points` within
/// the tolerance, or `None`.
#[expect(clippy::option_option, reason = "no fit, a line, a curve: three answers")]
fn stretch(points: &[Point], start: Option<Vec2>, end: Option<Vec2>, tolerance: f64) -> Option<Option<CubicBez>> {
    let (a, b) = (points[0], points[points.len() - 1]);
    let free = start.is_none() && end.is_none();
    if points.len() == 2 || (free && points.iter().all(|p| off_line(a, b, *p) < 0.8 * tolerance)) {
        return Some(None);
    }
    let curve = least_squares(points, start, end)?;
    (farthest(points, &curve) <= tolerance).then_some(Some(curve))
}

fn off_line(a: Point, b: Point, p: Point) -> f64 {
    let along = b - a;
    (along.cross(p - a) / along.hypot().max(1e-9)).abs()
}

/// Direction of the contour at vertex `i`, from the vertices [`TANGENT_ARM`]
/// either way; `wraps` when the run is a closed ring.
fn direction(points: &[Point], i: usize, wraps: bool) -> Vec2 {
    let last = points.len() - 1;
    let walk = |forward: bool| {
        let mut j = i;
        while points[j].distance(points[i]) < TANGENT_ARM {
            j = match (forward, wraps) {
                (true, true) => (j + 1) % last,
                (false, true) => (j + last - 1) % last,
                (true, false) if j < last => j + 1,
                (false, false) if j > 0 => j - 1,
                _ => break,
            };
            if j == i {
                break;
            }
        }
        points[j]
    };
    let along = walk(true) - walk(false);
    if along.hypot() > 1e-9 { along.normalize() } else { Vec2::new(1.0, 0.0) }
}

/// The cubic of least squares from the first to the last point; an end with a
/// direction keeps it, one without is free.
fn least_squares(points: &[Point], start: Option<Vec2>, end: Option<Vec2>) -> Option<CubicBez> {
    let mut ts = chord_parameters(points);
    let mut curve = solve(points, &ts, start, end)?;
    for _ in 0..ROUNDS {
        improve(points, &curve, &mut ts);
        curve = solve(points, &ts, start, end)?;
    }
    Some(curve)
}

fn chord_parameters(points: &[Point]) -> Vec<f64> {
    let mut along = vec![0.0];
    for pair in points.windows(2) {
        along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
    }
    let whole = along[along.len() - 1].max(1e-9);
    along.iter().map(|a| a / whole).collect()
}

/// One Newton step towards the nearest parameter, for every point.
fn improve(points: &[Point], curve: &CubicBez, ts: &mut [f64]) {
    let (first, second) = (curve.deriv(), curve.deriv().deriv());
    for (t, p) in ts.iter_mut().zip(points) {
        let off = curve.eval(*t) - *p;
        let (d1, d2) = (first.eval(*t).to_vec2(), second.eval(*t).to_vec2());
        let slope = d1.hypot2() + off.dot(d2);
        if slope > 1e-12 {
            *t = (*t - off.dot(d1) / slope).clamp(0.0, 1.0);
        }
    }
}

/// Solves for the inner control points: an end with a direction has one unknown
/// (how far along it), a free one two (its point). Normal equations, at most
/// four unknowns. `None` when they have no sound answer.
fn solve(points: &[Point], ts: &[f64], start: Option<Vec2>, end: Option<Vec2>) -> Option<CubicBez> {
    let (a, d) = (points[0], points[points.len() - 1]);
    let columns = columns(start, end);
    let n = columns.len();
    let mut system = [[0.0; 5]; 4];
    for (&t, p) in ts.iter().zip(points) {
        let s = 1.0 - t;
        let (b1, b2) = (3.0 * s * s * t, 3.0 * s * t * t);
        let base = (a.to_vec2() * (s * s * s + b1)) + (d.to_vec2() * (t * t * t + b2));
        let rest = p.to_vec2() - base;
        let weight = |column: &(bool, Vec2)| column.1 * if column.0 { b1 } else { b2 };
        for (i, ci) in columns.iter().enumerate() {
            for (j, cj) in columns.iter().enumerate() {
                system[i][j] += weight(ci).dot(weight(cj));
            }
            system[i][4] += weight(ci).dot(rest);
        }
    }
    let x = eliminate(&mut system, n)?;
    let handle =
        |first: bool| columns.iter().zip(x).filter(|(c, _)| c.0 == first).fold(Vec2::ZERO, |sum, (c, x)| sum + c.1 * x);
    let (h1, h2) = (handle(true), handle(false));
    let forward = |h: Vec2, t: Option<Vec2>| t.is_none_or(|t| h.dot(t) > 0.0);
    let long = (d - a).hypot() * 4.0 + 4.0;
    let sound = forward(h1, start) && forward(h2, end) && h1.hypot() < long && h2.hypot() < long;
    sound.then(|| CubicBez::new(a, a + h1, d + h2, d))
}

/// Directions the unknowns move the handles in; `true` for the first handle.
fn columns(start: Option<Vec2>, end: Option<Vec2>) -> Vec<(bool, Vec2)> {
    let axes = |first: bool, along: Option<Vec2>| match along {
        Some(t) => vec![(first, t)],
        None => vec![(first, Vec2::new(1.0, 0.0)), (first, Vec2::new(0.0, 1.0))],
    };
    [axes(true, start), axes(false, end)].concat()
}

/// Gaussian elimination with row exchange on the first `n` unknowns.
fn eliminate(system: &mut [[f64; 5]; 4], n: usize) -> Option<[f64; 4]> {
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| system[a][i].abs().total_cmp(&system[b][i].abs()))?;
        system.swap(i, pivot);
        if system[i][i].abs() < 1e-9 {
            return None;
        }
        for row in i + 1..n {
            let factor = system[row][i] / system[i][i];
            let above = system[i];
            system[row].iter_mut().zip(above).for_each(|(below, above)| *below -= factor * above);
        }
    }
    let mut x = [0.0; 4];
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|j| system[i][j] * x[j]).sum();
        x[i] = (system[i][4] - known) / system[i][i];
    }
    Some(x)
}

/// Farthest any point lies from the curve.
fn farthest(points: &[Point], curve: &CubicBez) -> f64 {
    let mut ts = chord_parameters(points);
    for _ in 0..ROUNDS {
        improve(points, curve, &mut ts);
    }
    ts.iter().zip(points).map(|(&t, p)| curve.eval(t).distance(*p)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;
    use std::f64::consts::{PI, TAU};

    #[test]
    fn a_circle_takes_few_cubics() {
        let ring: Vec<Point> = (0..600)
            .map(|i| {
                Point::new(
                    100.0 + 80.0 * (f64::from(i) / 600.0 * TAU).cos(),
                    100.0 + 80.0 * (f64::from(i) / 600.0 * TAU).sin(),
                )
            })
            .collect();
        let path = curve(&ring, 0.35);
        let count = path.segments().count();
        assert!((2..=6).contains(&count), "{count} cubics");
        assert!((path.area().abs() - PI * 6400.0).abs() < 50.0, "area {}", path.area());
    }

    #[test]
    fn a_square_takes_four_lines() {
        let side = |a: Point, b: Point| (0..50).map(move |i| a.lerp(b, f64::from(i) / 50.0));
        let p = [(10.0, 10.0), (60.0, 10.0), (60.0, 60.0), (10.0, 60.0)].map(Point::from);
        let ring: Vec<Point> = (0..4).flat_map(|i| side(p[i], p[(i + 1) % 4])).collect();
        let path = curve(&ring, 0.35);
        assert_eq!(path.segments().filter(|s| matches!(s, kurbo::PathSeg::Line(_))).count(), 4, "{}", path.to_svg());
        assert!((path.area().abs() - 2500.0).abs() < 1.0, "area {}", path.area());
    }
}
