//! Curves cut into monotone arcs, nearly straight ones that run one way along
//! their chord, and exact answers to whether two of them meet.
//!
//! A curve lies within the hull of its control points. Where a line parts two
//! hulls the curves are apart; where none does, the larger is halved and the
//! halves are asked. So every answer "apart" is proved, however near the curves.

use kurbo::{CubicBez, ParamCurve, PathSeg, Point, Rect, Vec2};

use super::tolerance::BOOLEAN;

/// A curve that runs one way along its chord, and so does not cross itself.
#[derive(Clone, Debug)]
pub(super) struct Arc {
    /// Control points; of a straight line only the ends count.
    points: [Point; 4],
    straight: bool,
    /// Box round the control points.
    pub(super) frame: Rect,
}

/// A segment is halved this often at most; one that runs one way at no scale
/// has a cusp. Ours: a 4,096th of a line round the face is a tenth of a millimetre.
const HALVINGS: u32 = 12;
/// Questions asked about one pair of arcs; what is still open then is left to the
/// engine. Ours.
const QUESTIONS: u32 = 64;

/// The arcs of `seg`, added to `arcs` in order, none straying more than
/// `tolerance` from its chord; `false` when it has a cusp or a loop.
pub(super) fn cut(seg: &PathSeg, tolerance: f64, arcs: &mut Vec<Arc>) -> bool {
    match seg {
        PathSeg::Line(line) => {
            arcs.push(Arc::new([line.p0, line.p0, line.p1, line.p1], true));
            true
        }
        curve => cut_cubic(curve.to_cubic(), tolerance, HALVINGS, arcs),
    }
}

fn cut_cubic(curve: CubicBez, tolerance: f64, halvings: u32, arcs: &mut Vec<Arc>) -> bool {
    let points = [curve.p0, curve.p1, curve.p2, curve.p3];
    if strays_less_than(&points, tolerance) && runs_one_way(&points) {
        arcs.push(Arc::new(points, false));
        return true;
    }
    let Some(halvings) = halvings.checked_sub(1) else { return false };
    let (a, b) = curve.subdivide();
    cut_cubic(a, tolerance, halvings, arcs) && cut_cubic(b, tolerance, halvings, arcs)
}

/// Whether no leg of the control points turns back against the chord by more
/// than the boolean engine's own accuracy.
fn runs_one_way(&[a, b, c, d]: &[Point; 4]) -> bool {
    let chord = d - a;
    let slack = -BOOLEAN * chord.hypot();
    chord.hypot2() > 0.0 && [b - a, c - b, d - c].iter().all(|leg| leg.dot(chord) >= slack)
}

fn strays_less_than(&[a, b, c, d]: &[Point; 4], most: f64) -> bool {
    let chord = d - a;
    let most = most * most * chord.hypot2();
    let off = |p: Point| chord.cross(p - a);
    off(b) * off(b) <= most && off(c) * off(c) <= most
}

impl Arc {
    fn new(points: [Point; 4], straight: bool) -> Self {
        let [a, b, c, d] = points;
        let frame = Rect::from_points(a, d).union(Rect::from_points(b, c));
        Self { points, straight, frame }
    }

    pub(super) const fn start(&self) -> Point {
        self.points[0]
    }

    pub(super) const fn end(&self) -> Point {
        self.points[3]
    }

    pub(super) fn halves(&self) -> [Self; 2] {
        let [a, b, c, d] = self.points;
        if self.straight {
            let middle = a.midpoint(d);
            return [Self::new([a, a, middle, middle], true), Self::new([middle, middle, d, d], true)];
        }
        let (first, second) = CubicBez::new(a, b, c, d).subdivide();
        [first, second].map(|half| Self::new([half.p0, half.p1, half.p2, half.p3], false))
    }

    /// Least and greatest place of the control points along `direction`.
    fn reach(&self, direction: Vec2) -> (f64, f64) {
        let places = self.points.map(|p| p.to_vec2().dot(direction));
        places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &at| (low.min(at), high.max(at)))
    }

    /// Whether the arc crosses the ray from `p` to the right an odd number of
    /// times. `p` must not lie on it.
    pub(super) fn crosses_right_of(&self, p: Point) -> bool {
        let frame = self.frame;
        if p.y < frame.y0 || p.y > frame.y1 || p.x > frame.x1 {
            return false;
        }
        let (a, d) = (self.start(), self.end());
        let straddles = (a.y > p.y) != (d.y > p.y);
        if p.x < frame.x0 {
            return straddles;
        }
        if self.straight || frame.width().max(frame.height()) < BOOLEAN {
            return straddles && p.x < (d.x - a.x) * (p.y - a.y) / (d.y - a.y) + a.x;
        }
        let [first, second] = self.halves();
        first.crosses_right_of(p) != second.crosses_right_of(p)
    }
}

/// Whether `a` and `b` keep more than `gap` apart, as far as a few questions tell.
pub(super) fn are_apart(a: &Arc, b: &Arc, gap: f64) -> bool {
    let mut questions = QUESTIONS;
    apart(a, b, gap, &mut questions)
}

fn apart(a: &Arc, b: &Arc, gap: f64, questions: &mut u32) -> bool {
    if !a.frame.inflate(gap, gap).overlaps(b.frame) || parted(a, b, gap) || parted(b, a, gap) {
        return true;
    }
    *questions = questions.saturating_sub(1);
    // Of two straight lines the hulls are the lines themselves.
    if *questions == 0 || (a.straight && b.straight) {
        return false;
    }
    let size = |arc: &Arc| arc.frame.width().max(arc.frame.height());
    let (large, small) = if !a.straight && (b.straight || size(a) >= size(b)) { (a, b) } else { (b, a) };
    large.halves().iter().all(|half| apart(half, small, gap, questions))
}

/// Whether a line along or across the chord of `a` parts the two by `gap`.
fn parted(a: &Arc, b: &Arc, gap: f64) -> bool {
    let chord = a.end() - a.start();
    let length = chord.hypot();
    if length == 0.0 {
        return false;
    }
    let along = chord / length;
    [along, Vec2::new(-along.y, along.x)].iter().any(|&direction| {
        let ((low_a, high_a), (low_b, high_b)) = (a.reach(direction), b.reach(direction));
        low_b - high_a > gap || low_a - high_b > gap
    })
}

/// Whether `b`, which starts where `a` ends, meets it nowhere else, as far as a
/// few questions tell.
pub(super) fn meet_at_joint_only(a: &Arc, b: &Arc) -> bool {
    let mut questions = QUESTIONS;
    at_joint_only(a, b, &mut questions)
}

fn at_joint_only(a: &Arc, b: &Arc, questions: &mut u32) -> bool {
    if lie_on_two_sides(a, b) {
        return true;
    }
    *questions = questions.saturating_sub(1);
    if *questions == 0 || (a.straight && b.straight) {
        return false;
    }
    let ([far_a, near_a], [near_b, far_b]) = (a.halves(), b.halves());
    at_joint_only(&near_a, &near_b, questions)
        && apart(&far_a, &near_b, 0.0, questions)
        && apart(&near_a, &far_b, 0.0, questions)
        && apart(&far_a, &far_b, 0.0, questions)
}

/// Squared sine under which two arms lie on each other. Derived: the square of what
/// rounding leaves of the difference of two unit vectors, with room to spare.
const ALIKE: f64 = 1e-16;

/// Whether a line through the joint has all of `a` on one side and all of `b` on
/// the other.
fn lie_on_two_sides(a: &Arc, b: &Arc) -> bool {
    let joint = b.start();
    let (back, on) = (a.start() - joint, b.end() - joint);
    let across = on / on.hypot() - back / back.hypot();
    if across.hypot2() <= ALIKE {
        return false;
    }
    let side = |p: &Point| (*p - joint).dot(across);
    a.points[..3].iter().all(|p| *p == joint || side(p) < 0.0)
        && b.points[1..].iter().all(|p| *p == joint || side(p) > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{BezPath, Line};

    fn arcs(svg: &str, tolerance: f64) -> Vec<Arc> {
        let mut arcs = Vec::new();
        assert!(BezPath::from_svg(svg).unwrap().segments().all(|seg| cut(&seg, tolerance, &mut arcs)), "{svg}");
        arcs
    }

    fn one(svg: &str) -> Arc {
        let mut arcs = arcs(svg, 1.0);
        assert_eq!(arcs.len(), 1, "{svg}");
        arcs.remove(0)
    }

    #[test]
    fn an_arc_is_cut_into_bits_end_to_end() {
        let round = arcs("M0 0C0 5.5 4.5 10 10 10", 0.1);
        assert!(round.len() > 2, "{}", round.len());
        for pair in round.windows(2) {
            assert!(pair[0].end() == pair[1].start() && meet_at_joint_only(&pair[0], &pair[1]), "end to end");
        }
    }

    #[test]
    fn curves_a_hair_apart_are_apart_and_those_that_cross_are_not() {
        let low = one("M0 0C3 0.1 6 0.1 9 0");
        let above = |by: f64| {
            let [a, b, c, d] = low.points.map(|p| p + Vec2::new(0.0, by));
            Arc::new([a, b, c, d], false)
        };
        assert!(are_apart(&low, &above(1e-3), 1e-4), "a thousandth above");
        assert!(!are_apart(&low, &above(1e-3), 1e-2), "nearer than asked");
        assert!(!are_apart(&low, &one("M4 -1L5 1"), 0.0), "crossed by a line");
        assert!(!are_apart(&one("M0 0L4 4"), &one("M2 2L6 6"), 0.0), "on the same line");
        assert!(are_apart(&one("M0 0L4 4"), &one("M5 5L6 6"), 0.1), "one after the other");
    }

    #[test]
    fn a_sharp_tip_is_clean_and_a_line_there_and_back_is_not() {
        assert!(meet_at_joint_only(&one("M0 0L10 0"), &one("M10 0L0 0.5")), "a tip of three degrees");
        assert!(!meet_at_joint_only(&one("M0 0L10 0"), &one("M10 0L3 0")), "there and back");
        // The second arm starts above the first and curves through it.
        assert!(!meet_at_joint_only(&one("M0 0L10 0"), &one("M10 0C8 0.2 5 0.2 0 -0.2")), "through the first arm");
        // Both arms curve the same way: only closer to the tip a line parts them.
        assert!(meet_at_joint_only(&one("M0 0C3 0.2 7 0.2 10 0"), &one("M10 0C7 0.3 3 0.35 0 0.1")), "a curved horn");
    }

    #[test]
    fn a_ray_is_crossed_as_the_curve_itself_says() {
        let curve = PathSeg::Cubic(CubicBez::new((0.0, 0.0), (4.0, 3.0), (4.0, 6.0), (1.0, 9.0)));
        let arc = Arc::new([(0.0, 0.0), (4.0, 3.0), (4.0, 6.0), (1.0, 9.0)].map(Point::from), false);
        for (x, y) in [(0.5, 1.0), (2.5, 4.0), (3.0, 5.0), (2.9, 4.5), (-1.0, 8.0), (3.9, 4.0)] {
            let (p, far) = (Point::new(x, y), Point::new(100.0, y));
            let hits = curve.intersect_line(Line::new(p, far)).len();
            assert_eq!(arc.crosses_right_of(p), hits % 2 == 1, "{p:?}");
        }
    }
}
