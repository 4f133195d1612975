//! How well a set of supports holds an island: how far its wood stands out
//! beyond the area between its feet.

use kurbo::{Point, Vec2};

use crate::geom::flat;
use crate::geom::hull::hull;

/// Area of the triangle with its neighbours below which a point of the outline is
/// left out, mm². Ours.
const SLACK: f64 = 0.5;

/// The outline of an island as far as its stance goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Stance {
    /// Convex hull, anticlockwise.
    hull: Vec<Point>,
    /// Half its least width: what any pair of supports leaves standing out at
    /// the sides.
    pub half_width: f64,
}

impl Stance {
    /// The stance of the island bounded by `points`.
    #[must_use]
    pub fn of(points: &[Point]) -> Self {
        let hull = hull(points, SLACK);
        let half_width = half_width(&hull);
        Self { hull, half_width }
    }

    /// How far the island reaches beyond the area between `feet`, mm. With one
    /// foot: how far it reaches from it.
    #[must_use]
    pub fn overhang(&self, feet: &[Point]) -> f64 {
        self.hull.iter().map(|&p| distance(feet, p)).fold(0.0, f64::max)
    }
}

/// Distance of `p` from the convex area between `feet`: the distance to the
/// nearest line between two feet, or 0 inside a triangle of them.
fn distance(feet: &[Point], p: Point) -> f64 {
    if let [one] = feet {
        return one.distance(p);
    }
    let mut least = f64::INFINITY;
    for (i, &a) in feet.iter().enumerate() {
        for (j, &b) in feet.iter().enumerate().skip(i + 1) {
            least = least.min(flat::distance(a, b, p));
            if feet[j + 1..].iter().any(|&c| within(a, b, c, p)) {
                return 0.0;
            }
        }
    }
    least
}

fn within(a: Point, b: Point, c: Point, p: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| Vec2::cross(q - p, r - p) > 0.0;
    let turn = side(a, b, c);
    side(a, b, p) == turn && side(b, c, p) == turn && side(c, a, p) == turn
}

fn half_width(hull: &[Point]) -> f64 {
    let width = |i: usize| {
        let edge = (hull[(i + 1) % hull.len()] - hull[i]).normalize();
        hull.iter().map(|p| edge.cross(*p - hull[i])).fold(0.0, f64::max)
    };
    if hull.len() < 3 { 0.0 } else { (0..hull.len()).map(width).fold(f64::INFINITY, f64::min) / 2.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(r: f64) -> Vec<Point> {
        (0..72).map(|i| Point::ORIGIN + Vec2::from_angle(f64::from(i) * 5.0_f64.to_radians()) * r).collect()
    }

    #[test]
    fn opposite_feet_leave_half_the_width_standing_out() {
        let stance = Stance::of(&circle(10.0));
        assert!((stance.half_width - 10.0).abs() < 0.3, "half width {}", stance.half_width);
        let at = |deg: f64| Point::ORIGIN + Vec2::from_angle(deg.to_radians()) * 10.0;
        let cases = [(&[at(90.0), at(270.0)][..], 10.0), (&[at(0.0), at(90.0)], 10.0 + 50.0_f64.sqrt())];
        for (feet, want) in cases {
            let got = stance.overhang(feet);
            assert!((got - want).abs() < 0.1, "{feet:?}: {got} against {want}");
        }
        assert!((stance.overhang(&[at(0.0)]) - 20.0).abs() < 0.1, "one foot");
        let three = stance.overhang(&[at(90.0), at(210.0), at(330.0)]);
        assert!((three - 5.0).abs() < 0.3, "three feet: the segment beyond a side, {three}");
    }
}
