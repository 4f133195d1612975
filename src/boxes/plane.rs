//! Distances in the panel's plane, for nails against cut-outs.

use kurbo::{BezPath, PathEl, Point, Rect, Vec2};

/// Chord error of the flattened outline, millimetres: far below any nail
/// clearance.
const FLATTEN: f64 = 0.02;

/// A closed outline as straight edges.
#[derive(Clone, Debug)]
pub(crate) struct FlatOutline {
    rings: Vec<Vec<Point>>,
    bounds: Rect,
}

impl FlatOutline {
    pub(crate) fn new(path: &BezPath) -> Self {
        let mut rings: Vec<Vec<Point>> = Vec::new();
        kurbo::flatten(path, FLATTEN, |element| match element {
            PathEl::MoveTo(p) => rings.push(vec![p]),
            PathEl::LineTo(p) => {
                if let Some(ring) = rings.last_mut() {
                    ring.push(p);
                }
            }
            // Flattening leaves only lines; a close is implied for every ring.
            PathEl::QuadTo(..) | PathEl::CurveTo(..) | PathEl::ClosePath => {}
        });
        let all = rings.iter().flatten();
        let empty = Rect::new(f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);
        let bounds =
            all.fold(empty, |r, p| Rect { x0: r.x0.min(p.x), y0: r.y0.min(p.y), x1: r.x1.max(p.x), y1: r.y1.max(p.y) });
        Self { rings, bounds }
    }

    /// Distance from the outline's inside to a segment; zero when they meet.
    pub(crate) fn distance(&self, a: Point, b: Point) -> f64 {
        if self.contains(a) || self.contains(b) {
            return 0.0;
        }
        let edges = self.edges().map(|(p, q)| segment_distance(a, b, p, q));
        edges.fold(f64::INFINITY, f64::min)
    }

    /// A lower bound of [`Self::distance`], cheap.
    pub(crate) fn at_least(&self, a: Point, b: Point) -> f64 {
        let gap = |lo: f64, hi: f64, from: f64, to: f64| (lo - to.max(from)).max(from.min(to) - hi).max(0.0);
        let dx = gap(self.bounds.x0, self.bounds.x1, a.x, b.x);
        let dy = gap(self.bounds.y0, self.bounds.y1, a.y, b.y);
        dx.hypot(dy)
    }

    fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings.iter().flat_map(|ring| {
            let next = ring.iter().cycle().skip(1);
            ring.iter().copied().zip(next.copied())
        })
    }

    /// Even-odd rule over all rings.
    fn contains(&self, point: Point) -> bool {
        let crossings = self.edges().filter(|(p, q)| {
            (p.y > point.y) != (q.y > point.y) && point.x < p.x + (point.y - p.y) / (q.y - p.y) * (q.x - p.x)
        });
        crossings.count() % 2 == 1
    }
}

/// Distance between two segments in the plane.
fn segment_distance(a: Point, b: Point, c: Point, d: Point) -> f64 {
    if cross_each_other(a, b, c, d) {
        return 0.0;
    }
    let ends = [point_to(a, c, d), point_to(b, c, d), point_to(c, a, b), point_to(d, a, b)];
    ends.into_iter().fold(f64::INFINITY, f64::min)
}

fn point_to(p: Point, a: Point, b: Point) -> f64 {
    let along: Vec2 = b - a;
    let length2 = along.hypot2();
    let t = if length2 > 0.0 { ((p - a).dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(a + along * t)
}

fn cross_each_other(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape};

    #[test]
    fn distances_to_a_circle_are_those_of_the_circle() {
        let outline = FlatOutline::new(&Circle::new((50.0, 50.0), 10.0).to_path(0.001));
        let cases = [
            (Point::new(30.0, 50.0), Point::new(30.0, 50.0), 10.0),
            (Point::new(0.0, 70.0), Point::new(100.0, 70.0), 10.0),
            (Point::new(0.0, 50.0), Point::new(100.0, 50.0), 0.0),
            (Point::new(50.0, 50.0), Point::new(50.0, 50.0), 0.0),
        ];
        for (a, b, expected) in cases {
            let found = outline.distance(a, b);
            assert!((found - expected).abs() < 0.03, "{a} to {b}: {found}, not {expected}");
            assert!(outline.at_least(a, b) <= found + 1e-9, "the bound is a lower bound");
        }
    }
}
