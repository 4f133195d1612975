//! Line art: outlines as the saw's path.
//!
//! Lines are joined end to end where they meet or nearly meet, closed where the
//! gap is small, and reported where it is not. Closed outlines that cross are
//! one outline together; nested ones alternate between opening and wood.

use kurbo::{BezPath, Line, ParamCurve, ParamCurveArclen, PathEl, PathSeg, Point, Rect, Shape};

use super::nest::probes;
use crate::art::Inked;
use crate::diag::{Finding, FindingKind, Place, Severity};
use crate::geom::boolean::{self, Rule};
use crate::geom::ring::subpaths;
use crate::geom::{Region, Ring};

/// Outlines found among lines.
#[derive(Clone, Debug, Default)]
pub(super) struct Outlines {
    /// The closed ones.
    pub(super) rings: Vec<Ring>,
    /// Remarks on gaps closed and left open.
    pub(super) findings: Vec<Finding>,
}

/// An open run of segments.
#[derive(Clone, Debug)]
struct Run {
    segs: Vec<PathSeg>,
    place: Place,
    /// Gaps closed on the way.
    gaps: Vec<(Point, f64)>,
}

impl Run {
    fn ends(&self) -> [Point; 2] {
        // Runs are never empty.
        let (first, last) = (self.segs.first(), self.segs.last());
        [first.map(PathSeg::start).unwrap_or_default(), last.map(PathSeg::end).unwrap_or_default()]
    }

    fn reverse(&mut self) {
        self.segs = self.segs.iter().rev().map(PathSeg::reverse).collect();
    }

    fn length(&self) -> f64 {
        self.segs.iter().map(|s| s.arclen(1e-2)).sum()
    }
}

/// How close counts as closed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Closing {
    /// Ends closer than this meet, art units.
    pub(super) meet: f64,
    /// Gaps up to this are closed with a remark, art units.
    pub(super) gap: f64,
    /// Panel millimetres of one art unit, for the words.
    pub(super) mm: f64,
}

/// The closed outlines among the centre lines of `shapes`.
pub(super) fn outlines(shapes: &[&Inked], closing: Closing) -> Outlines {
    let mut found = Outlines::default();
    let mut runs = Vec::new();
    for shape in shapes {
        let path = shape.line.as_ref().map_or(&shape.path, |line| &line.centre);
        for sub in subpaths(path) {
            let closed = matches!(sub.elements().last(), Some(PathEl::ClosePath)) || shape.line.is_none();
            let segs: Vec<PathSeg> = sub.segments().filter(|s| !is_point(s)).collect();
            if closed {
                found.rings.extend(Ring::new(segs));
            } else if !segs.is_empty() {
                runs.push(Run { segs, place: shape.place.clone(), gaps: Vec::new() });
            }
        }
    }
    for run in joined(runs, closing) {
        found.take(run, closing);
    }
    found.number();
    found
}

fn is_point(seg: &PathSeg) -> bool {
    let bounds = seg.bounding_box();
    bounds.width() <= 0.0 && bounds.height() <= 0.0
}

impl Outlines {
    /// Takes a finished run as a ring or as an open outline.
    fn take(&mut self, run: Run, closing: Closing) {
        let [start, end] = run.ends();
        let (gap, at) = (start.distance(end), start.midpoint(end));
        for &(at, gap) in &run.gaps {
            self.findings.push(closed_gap(at, gap, &run, closing));
        }
        if gap > closing.gap {
            self.findings.push(open_outline(at, gap, &run, closing));
            return;
        }
        if gap > closing.meet {
            self.findings.push(closed_gap(at, gap, &run, closing));
        }
        let mut segs = run.segs;
        if gap > 0.0 {
            segs.push(PathSeg::Line(Line::new(end, start)));
        }
        self.rings.extend(Ring::new(segs));
    }

    fn number(&mut self) {
        let (mut closed, mut open) = (0, 0);
        for finding in &mut self.findings {
            let (name, count) = match finding.kind {
                FindingKind::ClosedGap => ("closed-gap", &mut closed),
                _ => ("open-outline", &mut open),
            };
            *count += 1;
            finding.id = format!("{name}-{count}");
        }
    }
}

fn closed_gap(at: Point, gap: f64, run: &Run, closing: Closing) -> Finding {
    let (size, limit) = (gap * closing.mm, closing.gap * closing.mm);
    let message = format!("an outline had a gap of {size:.2} mm, which was closed with a straight line");
    Finding::new("", FindingKind::ClosedGap, Severity::Note, message, "nothing, if the picture is right")
        .at(at)
        .measured(size, limit)
        .place(run.place.clone())
}

fn open_outline(at: Point, gap: f64, run: &Run, closing: Closing) -> Finding {
    let (size, limit) = (gap * closing.mm, closing.gap * closing.mm);
    let message = format!("an outline does not close: its ends are {size:.1} mm apart; it was left out");
    Finding::new(
        "",
        FindingKind::OpenOutline,
        Severity::Care,
        message,
        "join the ends in the drawing, or allow a larger gap",
    )
    .at(at)
    .measured(size, limit)
    .place(run.place.clone())
}

/// Joins runs whose ends meet or nearly meet, nearest ends first.
fn joined(runs: Vec<Run>, closing: Closing) -> Vec<Run> {
    let near = near_ends(&runs, closing.gap);
    let mut slots: Vec<Option<Run>> = runs.into_iter().map(Some).collect();
    // Where run `i` has gone, and which original ends are still free.
    let mut home: Vec<usize> = (0..slots.len()).collect();
    let mut used = vec![[false; 2]; slots.len()];
    for Near { gap, ends: [(a, end_a), (b, end_b)], points: [from_point, to_point] } in near {
        if used[a][end_a] || used[b][end_b] {
            continue;
        }
        let (into, from) = (find(&mut home, a), find(&mut home, b));
        if into == from {
            // The two ends of one run: closed when it is taken.
            (used[a][end_a], used[b][end_b]) = (true, true);
            continue;
        }
        let (Some(mut first), Some(mut second)) = (slots[into].take(), slots[from].take()) else { continue };
        if first.ends()[1] != from_point {
            first.reverse();
        }
        if second.ends()[0] != to_point {
            second.reverse();
        }
        if gap > 0.0 {
            first.segs.push(PathSeg::Line(Line::new(from_point, to_point)));
        }
        if gap > closing.meet {
            first.gaps.push((from_point.midpoint(to_point), gap));
        }
        first.segs.append(&mut second.segs);
        first.gaps.append(&mut second.gaps);
        slots[into] = Some(first);
        home[from] = into;
        (used[a][end_a], used[b][end_b]) = (true, true);
    }
    slots.into_iter().flatten().collect()
}

fn find(home: &mut [usize], mut i: usize) -> usize {
    while home[i] != i {
        home[i] = home[home[i]];
        i = home[i];
    }
    i
}

/// A run, by index, and which of its ends.
type End = (usize, usize);

/// Two ends that lie near each other.
struct Near {
    gap: f64,
    ends: [End; 2],
    points: [Point; 2],
}

/// Pairs of ends closer than `reach`, nearest first; ties in file order.
fn near_ends(runs: &[Run], reach: f64) -> Vec<Near> {
    let mut ends: Vec<(Point, End)> = Vec::new();
    for (i, run) in runs.iter().enumerate() {
        let [start, end] = run.ends();
        ends.extend([(start, (i, 0)), (end, (i, 1))]);
    }
    ends.sort_by(|a, b| a.0.x.total_cmp(&b.0.x).then(a.1.cmp(&b.1)));
    let mut pairs = Vec::new();
    for (i, &(p, a)) in ends.iter().enumerate() {
        let within = ends[i + 1..].iter().take_while(|(q, _)| q.x - p.x <= reach);
        for &(q, b) in within.filter(|(q, _)| q.distance(p) <= reach).take(MOST_NEAR) {
            // A run shorter than the gap would otherwise close upon itself.
            if a.0 != b.0 || runs[a.0].length() > 2.0 * reach {
                pairs.push(Near { gap: p.distance(q), ends: [a, b], points: [p, q] });
            }
        }
    }
    pairs.sort_by(|a, b| a.gap.total_cmp(&b.gap).then(a.ends.cmp(&b.ends)));
    pairs
}

/// Ends considered for joining to one end; a crowd of more is not an outline.
const MOST_NEAR: usize = 16;

/// Closed outlines as a region: crossing ones are one outline, nested ones
/// alternate.
pub(super) fn alternating(rings: Vec<Ring>) -> Region {
    let boxes: Vec<Rect> = rings.iter().map(Ring::bounds).collect();
    let paths: Vec<BezPath> = rings.iter().map(Ring::to_path).collect();
    let mut home: Vec<usize> = (0..rings.len()).collect();
    for a in 0..rings.len() {
        for b in a + 1..rings.len() {
            if boxes[a].overlaps(boxes[b]) && cross(&rings[a], &paths[a], &rings[b], &paths[b]) {
                let (a, b) = (find(&mut home, a), find(&mut home, b));
                home[a.max(b)] = a.min(b);
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); rings.len()];
    for i in 0..rings.len() {
        groups[find(&mut home, i)].push(i);
    }
    let mut all = BezPath::new();
    for group in groups.iter().filter(|g| !g.is_empty()) {
        let members: Vec<Region> = group.iter().map(|&i| boolean::resolve(&paths[i], Rule::NonZero)).collect();
        // The outline of the group: holes between crossing outlines are inside.
        let joint = boolean::union_all(&members);
        all.extend(joint.pieces.iter().flat_map(|piece| piece.outer.to_path()));
    }
    boolean::resolve(&all, Rule::EvenOdd)
}

/// Whether two outlines cross: some of one is inside the other and some is not.
fn cross(a: &Ring, path_a: &BezPath, b: &Ring, path_b: &BezPath) -> bool {
    let mixed = |ring: &Ring, path: &BezPath| {
        let points: Vec<Point> = many_probes(ring);
        let inside = points.iter().filter(|&&p| path.winding(p) != 0).count();
        inside != 0 && inside != points.len()
    };
    mixed(a, path_b) || mixed(b, path_a)
}

fn many_probes(ring: &Ring) -> Vec<Point> {
    let segs = ring.segs();
    if segs.len() > 64 {
        return probes(ring).into_iter().chain(segs.iter().step_by(segs.len() / 32).map(|s| s.eval(0.5))).collect();
    }
    segs.iter().flat_map(|seg| [0.15, 0.5, 0.85].map(|t| seg.eval(t))).collect()
}
