//! Polylines that remember the curve they stand for.

use std::ops::RangeInclusive;

use kurbo::{ParamCurve, PathSeg, Point, Rect, Vec2};

use super::ring::Ring;

/// A closed polyline within a stated tolerance of a [`Ring`]. Point `i` lies
/// exactly on the ring at `mark(i)`; the last point joins the first.
#[derive(Clone, Debug, PartialEq)]
pub struct FlatRing {
    /// The vertices, none repeated at the end.
    pub points: Vec<Point>,
    /// For each vertex, the segment it starts or lies on and the parameter there.
    pub marks: Vec<Mark>,
}

/// A spot on a ring: a segment's index and the curve parameter in `0..1`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Index into [`Ring::segs`].
    pub seg: u32,
    /// Parameter in `0.0..1.0`; `0.0` is the segment's start.
    pub t: f64,
}

impl FlatRing {
    /// Flattens `ring`; chords stay within `tolerance` mm of the curve.
    #[must_use]
    pub fn of(ring: &Ring, tolerance: f64) -> Self {
        let mut flat = Self { points: Vec::new(), marks: Vec::new() };
        for (index, seg) in ring.segs().iter().enumerate() {
            let steps = chords(seg, tolerance);
            for step in 0..steps {
                let t = f64::from(step) / f64::from(steps);
                flat.points.push(seg.eval(t));
                flat.marks.push(Mark { seg: index as u32, t });
            }
        }
        flat
    }

    /// Number of vertices.
    #[must_use]
    pub fn len(&self) -> usize {
        self.points.len()
    }

    /// Whether there are no vertices; never so for a ring's polyline.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// Edges as (start, end), the closing one last.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        (0..self.points.len()).map(|i| (self.points[i], self.points[(i + 1) % self.points.len()]))
    }

    /// Enclosed area in mm², positive anticlockwise.
    #[must_use]
    pub fn signed_area(&self) -> f64 {
        let origin = self.points.first().copied().unwrap_or_default();
        self.edges().map(|(a, b)| (a - origin).cross(b - origin)).sum::<f64>() / 2.0
    }

    /// Bounding box of the vertices.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        bounds(&self.points)
    }

    /// Whether `p` lies inside (even-odd); undefined on the boundary itself.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.edges().filter(|&(a, b)| crosses_right_of(a, b, p)).count() % 2 == 1
    }
}

/// Bounding box of a set of points; zero for none.
#[must_use]
pub fn bounds(points: &[Point]) -> Rect {
    let mut points = points.iter();
    let Some(&first) = points.next() else { return Rect::ZERO };
    points.fold(Rect::from_points(first, first), |r, &p| r.union_pt(p))
}

fn crosses_right_of(a: Point, b: Point, p: Point) -> bool {
    (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x
}

/// How many equal parameter steps keep every chord within `tolerance`.
///
/// For a polynomial curve the chord error over a step `h` is at most
/// `h² max|B″| / 8`; a cubic's second derivative is bounded by its second
/// differences of control points, `6 max|P(i+2) − 2P(i+1) + P(i)|` (Wang's
/// bound; Wang 1984, as used throughout curve flattening).
pub(crate) fn chords(seg: &PathSeg, tolerance: f64) -> u32 {
    let second = |a: Point, b: Point, c: Point| (a.to_vec2() - 2.0 * b.to_vec2() + c.to_vec2()).hypot();
    let bend = match seg {
        PathSeg::Line(_) => return 1,
        PathSeg::Quad(q) => 2.0 * second(q.p0, q.p1, q.p2),
        PathSeg::Cubic(c) => 6.0 * second(c.p0, c.p1, c.p2).max(second(c.p1, c.p2, c.p3)),
    };
    let steps = (bend / (8.0 * tolerance)).sqrt().ceil();
    // A bend so large that it would need more is far outside any panel.
    steps.clamp(1.0, 100_000.0) as u32
}

/// Of places in order, those that tell the line: the ends, and every place the
/// line without it `strays` from by more than `most`. `strays(a, b, i)` says how
/// far place `i` is from what `a` and `b` alone would say of it (Douglas and
/// Peucker, "Algorithms for the reduction of the number of points", 1973).
#[must_use]
pub fn telling(places: RangeInclusive<usize>, most: f64, strays: impl Fn(usize, usize, usize) -> f64) -> Vec<usize> {
    let (first, last) = places.into_inner();
    let mut told = vec![first, last];
    let mut open = vec![(first, last)];
    while let Some((a, b)) = open.pop() {
        let farthest = (a + 1..b).map(|i| (strays(a, b, i), i)).max_by(|x, y| x.0.total_cmp(&y.0));
        if let Some((_, middle)) = farthest.filter(|(stray, _)| *stray > most) {
            told.push(middle);
            open.extend([(a, middle), (middle, b)]);
        }
    }
    told.sort_unstable();
    told.dedup();
    told
}

/// The nearest point to `p` on the segment from `a` to `b`, as a fraction of the way.
#[must_use]
pub fn nearest_fraction(a: Point, b: Point, p: Point) -> f64 {
    let along: Vec2 = b - a;
    let length_squared = along.hypot2();
    if length_squared == 0.0 { 0.0 } else { ((p - a).dot(along) / length_squared).clamp(0.0, 1.0) }
}

/// Distance of `p` from the segment `a`–`b`.
#[must_use]
pub fn distance(a: Point, b: Point, p: Point) -> f64 {
    a.lerp(b, nearest_fraction(a, b, p)).distance(p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Circle, Shape};

    #[test]
    fn chords_stay_within_tolerance_of_a_circle() {
        for tolerance in [0.1, 0.01, 0.001] {
            let ring = Ring::all_of(&Circle::new((0.0, 0.0), 20.0).to_path(1e-6)).remove(0);
            let flat = ring.flatten(tolerance);
            let worst = flat.edges().map(|(a, b)| 20.0 - a.midpoint(b).to_vec2().hypot()).fold(0.0, f64::max);
            assert!(worst <= tolerance + 1e-6, "sagitta {worst} over {tolerance}");
            assert!(worst > tolerance / 10.0, "not needlessly fine: {worst} for {tolerance}");
        }
    }

    #[test]
    fn vertices_lie_on_their_marks() {
        let ring = Ring::all_of(&Circle::new((5.0, 1.0), 3.0).to_path(1e-6)).remove(0);
        let flat = ring.flatten(0.01);
        for (p, m) in flat.points.iter().zip(&flat.marks) {
            assert_eq!(*p, ring.eval(m.seg as usize, m.t), "point and mark agree");
        }
        assert!(flat.contains(Point::new(5.0, 1.0)) && !flat.contains(Point::new(9.0, 1.0)), "inside and outside");
    }

    #[test]
    fn ends_and_bends_tell_a_line() {
        let points = [(0.0, 0.0), (1.0, 0.001), (2.0, 0.0), (3.0, 1.0), (4.0, 2.0)].map(Point::from);
        let strays = |a: usize, b: usize, i: usize| distance(points[a], points[b], points[i]);
        assert_eq!(telling(0..=4, 0.01, strays), [0, 2, 4], "the bend stays, the wobble goes");
        assert_eq!(telling(0..=4, 0.0005, strays), [0, 1, 2, 4], "the wobble stays under a finer measure");
        assert_eq!(telling(3..=3, 0.01, strays), [3], "one place tells itself");
    }
}
