//! How far points, lengths of line and boxes are from each other, and which cross.

use kurbo::{Point, Rect};

/// The point of `rect` nearest to `at`.
pub(super) fn foot(at: Point, rect: Rect) -> Point {
    Point::new(at.x.clamp(rect.x0, rect.x1), at.y.clamp(rect.y0, rect.y1))
}

/// Distance from a point to a length of line.
pub(super) fn to_segment(p: Point, a: Point, b: Point) -> f64 {
    crate::geom::flat::distance(a, b, p)
}

/// Distance from a point to a box, 0 within it.
pub(super) fn to_rect(p: Point, rect: Rect) -> f64 {
    p.distance(foot(p, rect))
}

/// Whether two leaders cross, or lie on each other.
pub(super) fn meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    let beside = [to_segment(b, c, d), to_segment(d, a, b)].into_iter().fold(f64::INFINITY, f64::min) < 0.5;
    let boxes = Rect::from_points(a, b).inflate(0.5, 0.5).intersect(Rect::from_points(c, d).inflate(0.5, 0.5));
    let near = boxes.width() > 0.0 && boxes.height() > 0.0;
    near && (crosses(a, b, c, d) || beside)
}

/// Whether two lengths of line cross, or touch.
pub(super) fn crosses(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    let apart = |p: Point, q: Point, r: Point, s: Point| side(p, q, r) * side(p, q, s) > 0.0;
    !apart(a, b, c, d) && !apart(c, d, a, b)
}

/// Distance between a length of line and a box, 0 where they meet.
pub(super) fn segment_to_rect(a: Point, b: Point, rect: Rect) -> f64 {
    if inside(a, b, rect) > 0.0 {
        return 0.0;
    }
    let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
    let corners = corners.into_iter().map(|corner| to_segment(corner.into(), a, b));
    corners.chain([to_rect(a, rect), to_rect(b, rect)]).fold(f64::INFINITY, f64::min)
}

/// Length of the segment inside `rect` (Liang and Barsky 1984).
pub(super) fn inside(a: Point, b: Point, rect: Rect) -> f64 {
    let along = b - a;
    let sides =
        [(-along.x, a.x - rect.x0), (along.x, rect.x1 - a.x), (-along.y, a.y - rect.y0), (along.y, rect.y1 - a.y)];
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (speed, room) in sides {
        if speed == 0.0 {
            if room < 0.0 {
                return 0.0;
            }
        } else if speed < 0.0 {
            from = from.max(room / speed);
        } else {
            to = to.min(room / speed);
        }
    }
    if from < to { along.hypot() * (to - from) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaders_that_cross_or_lie_on_each_other_meet() {
        let p = |x: f64, y: f64| Point::new(x, y);
        assert!(meet(p(0.0, 0.0), p(10.0, 10.0), p(0.0, 10.0), p(10.0, 0.0)), "cross");
        assert!(meet(p(0.0, 0.0), p(10.0, 0.0), p(4.0, 0.1), p(20.0, 0.1)), "on each other");
        assert!(!meet(p(0.0, 0.0), p(10.0, 0.0), p(0.0, 3.0), p(10.0, 3.0)), "side by side");
    }

    #[test]
    fn a_box_is_as_far_from_a_line_as_their_nearest_points() {
        let rect = Rect::new(0.0, 0.0, 10.0, 4.0);
        let far = |a: (f64, f64), b: (f64, f64)| segment_to_rect(a.into(), b.into(), rect);
        assert!((far((-3.0, -5.0), (-3.0, 5.0)) - 3.0).abs() < 1e-9, "a line beside a side");
        assert!((far((13.0, 8.0), (20.0, 8.0)) - 5.0).abs() < 1e-9, "an end off a corner");
        assert_eq!(far((-1.0, 2.0), (20.0, 2.0)), 0.0, "through it");
    }

    #[test]
    fn clipped_lengths_are_right() {
        let rect = Rect::new(0.0, 0.0, 10.0, 10.0);
        let cases = [
            ((-5.0, 5.0), (15.0, 5.0), 10.0),
            ((2.0, 2.0), (4.0, 2.0), 2.0),
            ((-5.0, -1.0), (15.0, -1.0), 0.0),
            ((0.0, 0.0), (10.0, 10.0), 200f64.sqrt()),
        ];
        for (a, b, want) in cases {
            assert!((inside(a.into(), b.into(), rect) - want).abs() < 1e-9, "{a:?} {b:?}");
        }
    }
}
