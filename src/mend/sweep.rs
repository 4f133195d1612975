//! Smooth strips: the area swept by a disc of changing size along a line.

use kurbo::{BezPath, Point, Vec2};

use crate::geom::Region;
use crate::geom::boolean::{Rule, resolve};
use crate::geom::flat::{self, nearest_fraction};

/// A place on the line and the strip's half width there.
pub type Knot = (Point, f64);

/// Least distance between the knots the outline is drawn through, mm.
const SPACING: f64 = 0.8;
/// A knot is left out where the line past it strays no farther from it, and the
/// strip is no wider or narrower by more, mm: a third of the margin widths have.
const STRAY: f64 = 0.008;

/// The strip along `knots`, round at both ends. One knot makes a disc, none
/// nothing.
#[must_use]
pub fn sweep(knots: &[Knot]) -> Region {
    let knots = telling(&thinned(knots));
    let path = match knots.as_slice() {
        [] => return Region::default(),
        [(center, radius)] => kurbo::Shape::to_path(&kurbo::Circle::new(*center, *radius), 1e-4),
        _ => outline(&knots),
    };
    resolve(&path, Rule::NonZero)
}

/// Knots about [`SPACING`] apart, both ends kept.
fn thinned(knots: &[Knot]) -> Vec<Knot> {
    let mut kept: Vec<Knot> = Vec::new();
    for (i, knot) in knots.iter().enumerate() {
        let far = kept.last().is_none_or(|last| last.0.distance(knot.0) >= SPACING);
        let last = i + 1 == knots.len();
        if last && !far && kept.len() > 1 {
            kept.pop();
        }
        if far || last && kept.last().is_none_or(|k| k.0.distance(knot.0) > 0.05) {
            kept.push(*knot);
        }
    }
    kept
}

/// The knots that tell where the strip bends or changes width.
fn telling(knots: &[Knot]) -> Vec<Knot> {
    let Some(last) = knots.len().checked_sub(1) else { return Vec::new() };
    let told = flat::telling(0..=last, STRAY, |a, b, i| strays(knots, a, b, i));
    told.into_iter().map(|i| knots[i]).collect()
}

/// How far knot `i` is from what the knots `first` and `last` alone would say of it.
fn strays(knots: &[Knot], first: usize, last: usize, i: usize) -> f64 {
    let (a, b, knot) = (knots[first], knots[last], knots[i]);
    let part = nearest_fraction(a.0, b.0, knot.0);
    let width = a.1 + (b.1 - a.1) * part;
    a.0.lerp(b.0, part).distance(knot.0).max((width - knot.1).abs())
}

fn outline(knots: &[Knot]) -> BezPath {
    let tangent = |i: usize| {
        let on = |i: usize| (knots[i + 1].0 - knots[i].0).normalize();
        let (back, on) = (on(i.saturating_sub(1)), on(i.min(knots.len() - 2)));
        (back + on).normalize()
    };
    let side = |sign: f64| -> Vec<Point> {
        let at = |i: usize| {
            let t = tangent(i);
            knots[i].0 + Vec2::new(-t.y, t.x) * (sign * knots[i].1)
        };
        (0..knots.len()).map(at).collect()
    };
    let (left, mut right) = (side(1.0), side(-1.0));
    right.reverse();
    let mut path = BezPath::new();
    path.move_to(left[0]);
    through(&mut path, &left);
    let last = knots.len() - 1;
    cap(&mut path, knots[last].0, left[last] - knots[last].0, tangent(last));
    through(&mut path, &right);
    cap(&mut path, knots[0].0, right[last] - knots[0].0, -tangent(0));
    path.close_path();
    path
}

/// A smooth curve on through the points. The tangent at each is that of the
/// parabola through it and its neighbours, by length along the line (Bessel's
/// tangents: de Boor, "A Practical Guide to Splines", ch. IV). Its handles reach
/// a third of the shorter stretch beside it: a long one after a bend would
/// belly out otherwise.
fn through(path: &mut BezPath, points: &[Point]) {
    let length = |i: usize| points[i].distance(points[i + 1]).max(1e-9);
    let chord = |i: usize| (points[i + 1] - points[i]) / length(i);
    let last = points.len() - 1;
    let slope = |i: usize| {
        if i == 0 {
            return chord(0);
        }
        if i == last {
            return chord(last - 1);
        }
        let (back, on) = (length(i - 1), length(i));
        (chord(i - 1) * on + chord(i) * back) / (back + on)
    };
    for i in 0..last {
        let handle = |beside: usize| length(i).min(length(beside)) / 3.0;
        let (out, home) = (handle(i.saturating_sub(1)), handle((i + 1).min(last - 1)));
        path.curve_to(points[i] + slope(i) * out, points[i + 1] - slope(i + 1) * home, points[i + 1]);
    }
}

/// Half a circle about `center` from `center + from`, clockwise past `ahead`.
fn cap(path: &mut BezPath, center: Point, from: Vec2, ahead: Vec2) {
    // Handle of a quarter circle, 4/3 tan(π/8).
    const QUARTER: f64 = 0.552_284_749_830_793_4;
    let top = ahead * from.hypot();
    path.curve_to(center + from + top * QUARTER, center + top + from * QUARTER, center + top);
    path.curve_to(center + top - from * QUARTER, center - from + top * QUARTER, center - from);
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn an_even_strip_has_the_area_of_a_stadium() {
        let knots: Vec<Knot> = (0..=20).map(|i| (Point::new(f64::from(i), 5.0), 2.0)).collect();
        let area = sweep(&knots).area();
        let want = 20.0 * 4.0 + PI * 4.0;
        assert!((area - want).abs() < 0.02, "{area} against {want}");
        let disc = sweep(&[(Point::new(3.0, 3.0), 1.5)]).area();
        assert!((disc - PI * 2.25).abs() < 1e-3, "a disc: {disc}");
    }

    #[test]
    fn a_long_straight_after_a_bend_stays_straight() {
        // A quarter turn of radius 6, then 40 straight on.
        let bend = (0..=9).map(|i| Point::new(6.0, 0.0) - Vec2::from_angle(f64::from(i) * PI / 18.0) * 6.0);
        let straight = (1..=50).map(|i| Point::new(6.0 + f64::from(i) * 0.8, -6.0));
        let knots: Vec<Knot> = bend.chain(straight).map(|p| (p, 2.0)).collect();
        let shape = sweep(&knots);
        let want = 4.0 * (3.0 * PI + 40.0) + PI * 4.0;
        assert!((shape.area() - want).abs() < 0.3, "{} against {want}", shape.area());
        let bounds = shape.bounds();
        assert!((bounds.y0 + 8.0).abs() < 0.05 && (bounds.x1 - 48.0).abs() < 0.01, "bellies out: {bounds:?}");
    }

    #[test]
    fn a_strip_round_a_bend_keeps_its_width() {
        let knot = |i: i32| (Point::ORIGIN + Vec2::from_angle(f64::from(i) * 0.05) * 20.0, 1.5);
        let knots: Vec<Knot> = (0..=30).map(knot).collect();
        let area = sweep(&knots).area();
        let want = 1.5 * 20.0 * 3.0 + PI * 2.25;
        assert!((area - want).abs() < 0.1, "{area} against {want}");
    }
}
