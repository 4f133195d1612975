//! Many rings together, sampled and indexed, for asking how far apart they are.
//!
//! The rings bound one area: say waste on their left and wood on their right.
//! Samples are the vertices of a polyline within a stated tolerance, closer
//! where asked; each knows the spot on the true curve it came from.

use kurbo::{ParamCurve, ParamCurveDeriv, PathSeg, Point, Vec2};

use super::flat::{Mark, chords, nearest_fraction};
use super::grid::{Disc, Grid};
use super::ring::Ring;

/// Bends of less than this, radians, at the joint of two segments count as
/// smooth: about 3°, well above what `f32` art leaves between two curves that
/// were drawn to meet smoothly.
pub const SMOOTH_JOINT: f64 = 0.05;

/// Bends of more than this, radians, are cusps.
const CUSP: f64 = 3.0;

/// How finely to sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sampling {
    /// Largest distance between curve and polyline, mm.
    pub tolerance: f64,
    /// Largest distance between samples, mm.
    pub spacing: f64,
}

/// A spot on a ring of a [`Boundary`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Which ring.
    pub ring: u32,
    /// Where on it.
    pub mark: Mark,
}

/// Rings sampled and indexed.
#[derive(Clone, Debug)]
pub struct Boundary {
    rings: Vec<Ring>,
    /// First sample of each ring, and the end of the last.
    first: Vec<u32>,
    ring_of: Vec<u32>,
    marks: Vec<Mark>,
    edges: Vec<(Point, Point)>,
    /// Length along the ring's chords from its first sample.
    arc: Vec<f64>,
    tangents: Vec<[Vec2; 2]>,
    grid: Grid,
}

impl Boundary {
    /// Samples and indexes `rings`, each with its own sampling.
    #[must_use]
    pub fn new(rings: Vec<(Ring, Sampling)>) -> Self {
        let mut samples = Samples::default();
        let mut first = vec![0];
        for (index, (ring, sampling)) in (0_u32..).zip(&rings) {
            samples.add(index, ring, sampling);
            first.push(samples.marks.len() as u32);
        }
        let edges = edges(&samples.points, &first);
        let grid = Grid::new(&edges, cell_size(&edges));
        Self {
            rings: rings.into_iter().map(|(ring, _)| ring).collect(),
            ring_of: samples.ring_of,
            marks: samples.marks,
            arc: arcs(&edges, &first),
            first,
            edges,
            tangents: samples.tangents,
            grid,
        }
    }

    /// The rings, as given.
    #[must_use]
    pub fn rings(&self) -> &[Ring] {
        &self.rings
    }

    /// The samples of ring `ring`, in order along it.
    #[must_use]
    pub fn samples(&self, ring: u32) -> std::ops::Range<u32> {
        self.first[ring as usize]..self.first[ring as usize + 1]
    }

    /// Number of samples of all rings; edge `i` starts at sample `i`.
    #[must_use]
    pub fn len(&self) -> u32 {
        self.marks.len() as u32
    }

    /// Whether there are no rings.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.marks.is_empty()
    }

    /// Where sample `i` stands.
    #[must_use]
    pub fn point(&self, i: u32) -> Point {
        self.edges[i as usize].0
    }

    /// The chord from sample `i` to the next.
    #[must_use]
    pub fn edge(&self, i: u32) -> (Point, Point) {
        self.edges[i as usize]
    }

    /// The spot on the true curve of sample `i`.
    #[must_use]
    pub fn spot(&self, i: u32) -> Spot {
        Spot { ring: self.ring_of[i as usize], mark: self.marks[i as usize] }
    }

    /// The ring sample `i` belongs to.
    #[must_use]
    pub fn ring_of(&self, i: u32) -> u32 {
        self.ring_of[i as usize]
    }

    /// Unit tangents of arriving at and leaving sample `i`; the same where the
    /// ring is smooth.
    #[must_use]
    pub fn tangents(&self, i: u32) -> [Vec2; 2] {
        self.tangents[i as usize]
    }

    /// Signed bend at sample `i`, radians, positive to the left; 0 where smooth.
    #[must_use]
    pub fn bend(&self, i: u32) -> f64 {
        let [arrive, leave] = self.tangents(i);
        if arrive == leave {
            return 0.0;
        }
        let bend = libm::atan2(arrive.cross(leave), arrive.dot(leave));
        // In a cusp the tangents do not tell a half turn left from one right;
        // the chords do, since the arms part.
        if bend.abs() > CUSP { bend.abs() * self.cusp_side(i) } else { bend }
    }

    fn cusp_side(&self, i: u32) -> f64 {
        let p = self.point(i);
        let (back, on) = (self.point(self.previous(i)) - p, self.point(self.next(i)) - p);
        if back.cross(on) > 0.0 { -1.0 } else { 1.0 }
    }

    /// The sample after `i` on its ring.
    #[must_use]
    pub fn next(&self, i: u32) -> u32 {
        let samples = self.samples(self.ring_of(i));
        if i + 1 == samples.end { samples.start } else { i + 1 }
    }

    /// The sample before `i` on its ring.
    #[must_use]
    pub fn previous(&self, i: u32) -> u32 {
        let samples = self.samples(self.ring_of(i));
        if i == samples.start { samples.end - 1 } else { i - 1 }
    }

    /// The index over the chords.
    #[must_use]
    pub const fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Whether chord `i` stands for a piece of curve, not of a straight line.
    #[must_use]
    pub fn is_curved(&self, i: u32) -> bool {
        let Spot { ring, mark } = self.spot(i);
        !matches!(self.rings[ring as usize].segs()[mark.seg as usize], PathSeg::Line(_))
    }

    /// Whether chord `i` is one of the `steps` before or after sample `sample`.
    #[must_use]
    pub fn is_beside(&self, i: u32, sample: u32, steps: u32) -> bool {
        self.ahead(i, sample).is_some_and(|(ahead, count)| ahead < steps || count - ahead <= steps)
    }

    /// Whether chord `i` of the same ring is sooner come to on from `sample` than
    /// back.
    pub(super) fn is_ahead(&self, i: u32, sample: u32) -> bool {
        self.ahead(i, sample).is_some_and(|(ahead, count)| 2 * ahead < count)
    }

    /// How many chords on from `sample` chord `i` of the same ring comes, of how many.
    fn ahead(&self, i: u32, sample: u32) -> Option<(u32, u32)> {
        let ring = self.samples(self.ring_of(sample));
        let count = ring.end - ring.start;
        ring.contains(&i).then(|| (if i >= sample { i - sample } else { i + count - sample }, count))
    }

    /// The spot on the true curve a `fraction` of the way along chord `i`.
    #[must_use]
    pub fn along(&self, i: u32, fraction: f64) -> Spot {
        let Spot { ring, mark } = self.spot(i);
        let after = self.marks[self.next(i) as usize];
        // A chord never spans a joint, so the next mark is on the same segment
        // or is the start of the next one.
        let end = if after.seg == mark.seg && after.t > mark.t { after.t } else { 1.0 };
        Spot { ring, mark: Mark { seg: mark.seg, t: mark.t + (end - mark.t) * fraction } }
    }

    /// The sample at or before `spot` on its ring.
    #[must_use]
    pub fn sample_before(&self, spot: Spot) -> u32 {
        let samples = self.samples(spot.ring);
        let marks = &self.marks[samples.start as usize..samples.end as usize];
        let after = marks.partition_point(|m| (m.seg, m.t) <= (spot.mark.seg, spot.mark.t));
        samples.start + after.saturating_sub(1) as u32
    }

    /// Length along the chords of its ring from the first sample to `i`, mm.
    #[must_use]
    pub fn arc(&self, i: u32) -> f64 {
        self.arc[i as usize]
    }

    /// Length of ring `ring` along its chords, mm.
    #[must_use]
    pub fn girth(&self, ring: u32) -> f64 {
        let last = self.samples(ring).end - 1;
        let (a, b) = self.edge(last);
        self.arc(last) + a.distance(b)
    }

    /// Length along the ring from its first sample to `spot`, within a chord's
    /// sagitta, mm.
    #[must_use]
    pub fn arc_at(&self, spot: Spot) -> f64 {
        let sample = self.sample_before(spot);
        self.arc(sample) + self.point(sample).distance(self.at(spot))
    }

    /// The shorter way along the ring between two spots of one ring, mm.
    #[must_use]
    pub fn way(&self, a: Spot, b: Spot) -> f64 {
        let ahead = (self.arc_at(a) - self.arc_at(b)).abs();
        ahead.min(self.girth(a.ring) - ahead)
    }

    /// The point at `spot`.
    #[must_use]
    pub fn at(&self, spot: Spot) -> Point {
        self.rings[spot.ring as usize].eval(spot.mark.seg as usize, spot.mark.t)
    }

    /// The chord nearest to `p` within `reach` mm: its number, the fraction
    /// along it and the distance. `skip` leaves chords out.
    #[must_use]
    pub fn nearest(&self, p: Point, reach: f64, skip: impl Fn(u32) -> bool) -> Option<(u32, f64, f64)> {
        let mut best = None;
        let mut disc = Disc { center: p, radius: reach };
        self.grid.shrink(p, &mut disc, |item, disc| {
            let (a, b) = self.edge(item);
            let fraction = nearest_fraction(a, b, p);
            let distance = a.lerp(b, fraction).distance(p);
            if distance < disc.radius && !skip(item) {
                disc.radius = distance;
                best = Some((item, fraction, distance));
            }
        });
        best
    }

    /// Whether no chord comes nearer to `center` than `radius`.
    #[must_use]
    pub fn is_clear(&self, center: Point, radius: f64) -> bool {
        radius <= 0.0 || self.nearest(center, radius, |_| false).is_none()
    }
}

#[derive(Default)]
struct Samples {
    points: Vec<Point>,
    marks: Vec<Mark>,
    ring_of: Vec<u32>,
    tangents: Vec<[Vec2; 2]>,
}

impl Samples {
    fn add(&mut self, index: u32, ring: &Ring, sampling: &Sampling) {
        let segs = ring.segs();
        let mut arrive = segs.last().map_or(Vec2::ZERO, |seg| tangent(seg, 1.0));
        for (number, seg) in (0_u32..).zip(segs) {
            let steps = steps(seg, sampling);
            for step in 0..steps {
                let t = f64::from(step) / f64::from(steps);
                let leave = tangent(seg, t);
                let both = if step == 0 { joint(arrive, leave) } else { [leave, leave] };
                self.points.push(if step == 0 { seg.start() } else { seg.eval(t) });
                self.marks.push(Mark { seg: number, t });
                self.ring_of.push(index);
                self.tangents.push(both);
            }
            arrive = tangent(seg, 1.0);
        }
    }
}

/// Lines longer than this, mm, get a sample in the middle, so that an edge
/// between two corners is not known by its corners alone.
const LONE_EDGE: f64 = 0.5;

fn steps(seg: &PathSeg, sampling: &Sampling) -> u32 {
    let reach = match seg {
        PathSeg::Line(l) => l.p0.distance(l.p1),
        PathSeg::Quad(q) => q.p0.distance(q.p1) + q.p1.distance(q.p2),
        PathSeg::Cubic(c) => c.p0.distance(c.p1) + c.p1.distance(c.p2) + c.p2.distance(c.p3),
    };
    let spaced = (reach / sampling.spacing).ceil().min(100_000.0) as u32;
    let least = if reach > LONE_EDGE && sampling.spacing.is_finite() { 2 } else { 1 };
    chords(seg, sampling.tolerance).max(spaced).max(least)
}

/// Tangents at a joint: one where it is smooth, both where it is a corner.
fn joint(arrive: Vec2, leave: Vec2) -> [Vec2; 2] {
    let smooth = arrive.dot(leave) > 0.0 && arrive.cross(leave).abs() < SMOOTH_JOINT;
    if smooth {
        let mean = unit(arrive + leave);
        [mean, mean]
    } else {
        [arrive, leave]
    }
}

/// Unit tangent of `seg` at `t`. Where the derivative vanishes (a control point
/// on its end point) the tangent is taken a little way along.
#[must_use]
pub fn tangent(seg: &PathSeg, t: f64) -> Vec2 {
    const ASIDE: f64 = 1e-3;
    let derivative = derivative(seg, t);
    let size = match seg {
        PathSeg::Line(_) => return unit(derivative),
        _ => seg.start().distance(seg.end()).max(1e-6),
    };
    if derivative.hypot() > 1e-6 * size {
        return unit(derivative);
    }
    let inward = if t < 0.5 { t + ASIDE } else { t - ASIDE };
    unit(self::derivative(seg, inward))
}

/// First derivative of `seg` at `t`.
#[must_use]
pub fn derivative(seg: &PathSeg, t: f64) -> Vec2 {
    match seg {
        PathSeg::Line(l) => l.p1 - l.p0,
        PathSeg::Quad(q) => q.deriv().eval(t).to_vec2(),
        PathSeg::Cubic(c) => c.deriv().eval(t).to_vec2(),
    }
}

/// Second derivative of `seg` at `t`.
#[must_use]
pub fn second_derivative(seg: &PathSeg, t: f64) -> Vec2 {
    match seg {
        PathSeg::Line(_) => Vec2::ZERO,
        PathSeg::Quad(q) => q.deriv().deriv().eval(t).to_vec2(),
        PathSeg::Cubic(c) => c.deriv().deriv().eval(t).to_vec2(),
    }
}

/// `v` at length 1; zero stays zero.
#[must_use]
pub fn unit(v: Vec2) -> Vec2 {
    let length = v.hypot();
    if length > 0.0 { v / length } else { Vec2::ZERO }
}

fn edges(points: &[Point], first: &[u32]) -> Vec<(Point, Point)> {
    let mut edges = Vec::with_capacity(points.len());
    for span in first.windows(2) {
        let ring = &points[span[0] as usize..span[1] as usize];
        edges.extend(ring.iter().zip(ring.iter().cycle().skip(1)).map(|(&a, &b)| (a, b)));
    }
    edges
}

fn arcs(edges: &[(Point, Point)], first: &[u32]) -> Vec<f64> {
    let mut arcs = Vec::with_capacity(edges.len());
    for span in first.windows(2) {
        let mut arc = 0.0;
        for (a, b) in &edges[span[0] as usize..span[1] as usize] {
            arcs.push(arc);
            arc += a.distance(*b);
        }
    }
    arcs
}

/// Twice the mean chord: a few chords in a cell that an outline passes.
fn cell_size(edges: &[(Point, Point)]) -> f64 {
    let length: f64 = edges.iter().map(|(a, b)| a.distance(*b)).sum();
    2.0 * length / edges.len().max(1) as f64
}

#[cfg(test)]
mod tests;
