//! Smooth strips: the area swept by a disc of changing size along a line.

use kurbo::{BezPath, Point, Vec2};

use crate::geom::Region;
use crate::geom::boolean::{Rule, resolve};

/// A place on the line and the strip's half width there.
pub type Knot = (Point, f64);

/// Distance between the knots the outline is drawn through, mm.
const SPACING: f64 = 0.8;

/// The strip along `knots`, round at both ends. One knot makes a disc, none
/// nothing.
#[must_use]
pub fn sweep(knots: &[Knot]) -> Region {
    let knots = thinned(knots);
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

fn outline(knots: &[Knot]) -> BezPath {
    let tangent = |i: usize| {
        let (a, b) = (knots[i.saturating_sub(1)].0, knots[(i + 1).min(knots.len() - 1)].0);
        (b - a).normalize()
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

/// A smooth curve on through the points (Catmull and Rom's spline: the tangent
/// at each point runs along the line between its neighbours).
fn through(path: &mut BezPath, points: &[Point]) {
    let slope = |i: usize| (points[(i + 1).min(points.len() - 1)] - points[i.saturating_sub(1)]) / 2.0;
    for i in 0..points.len() - 1 {
        let ends = if i == 0 { 2.0 } else { 1.0 };
        let on = if i + 2 == points.len() { 2.0 } else { 1.0 };
        let (a, b) = (slope(i) * ends / 3.0, slope(i + 1) * on / 3.0);
        path.curve_to(points[i] + a, points[i + 1] - b, points[i + 1]);
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
    fn a_strip_round_a_bend_keeps_its_width() {
        let knot = |i: i32| (Point::ORIGIN + Vec2::from_angle(f64::from(i) * 0.05) * 20.0, 1.5);
        let knots: Vec<Knot> = (0..=30).map(knot).collect();
        let area = sweep(&knots).area();
        let want = 1.5 * 20.0 * 3.0 + PI * 2.25;
        assert!((area - want).abs() < 0.1, "{area} against {want}");
    }
}
