//! Thickness along every ring on one side, and where it is least.
//!
//! A **neck** is a local minimum of the area's thickness along its medial axis.
//! There the largest empty disc touches the boundary at both ends of a
//! diameter, so a neck is a locally shortest line between two places of the
//! boundary whose disc is empty. Every neck is a local minimum of thickness
//! along both banks, so walking the banks finds them all, so long as one bank is
//! sampled finely enough to tell it from its neighbours; each is then brought
//! to its exact place on the true curves.

mod fingers;

pub use fingers::Finger;

use kurbo::{Point, Vec2};

use super::ball::{ASIDE, Side, Station, turned};
use super::boundary::{Boundary, Spot, tangent};
use super::closest::Span;
use super::tolerance::{FLATTEN, SAME_POINT};

/// The discs along all rings on one side.
#[derive(Clone, Debug)]
pub struct Medial {
    /// The side.
    pub side: Side,
    /// Largest radius looked for, mm.
    pub cap: f64,
    stations: Vec<Station>,
    /// First station of each ring, and the end of the last.
    first: Vec<u32>,
}

/// A narrow place: the line across it and its two stations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neck {
    /// The line across, exact on the true curves.
    pub span: Span,
    /// The station nearest to each end, looking across; `None` on a ring that
    /// has no stations.
    pub stations: [Option<u32>; 2],
}

/// Ends nearer than this to each other along the ring than across are one
/// place: with an empty disc between them the way round is at least π/2 times
/// the width (derived: half the disc's circumference).
const ROUND: f64 = 1.5;

/// Two minima are one neck when between them the area is nowhere thicker than
/// the wider of the two by this factor …
const MERGE_FACTOR: f64 = 1.05;
/// … and this much, mm: a maker would call it one bar.
const MERGE_MARGIN: f64 = 0.05;

/// The thickness up to which discs must be looked for, mm, so that all necks
/// under `width` are found and told apart.
#[must_use]
pub fn seen_up_to(width: f64) -> f64 {
    // A little more: a neck just under the width is to lie under the cap.
    width * MERGE_FACTOR + 1.2 * MERGE_MARGIN
}

impl Medial {
    /// Walks every ring of `all` for which `walk` says so.
    #[must_use]
    pub fn new(all: &Boundary, side: Side, cap: f64, walk: impl Fn(u32) -> bool) -> Self {
        let mut medial = Self { side, cap, stations: Vec::new(), first: vec![0] };
        for ring in 0..all.rings().len() as u32 {
            if walk(ring) {
                medial.stations.extend(all.stations(ring, side, cap));
            }
            medial.first.push(medial.stations.len() as u32);
        }
        medial
    }

    /// Station `i`.
    #[must_use]
    pub fn station(&self, i: u32) -> &Station {
        &self.stations[i as usize]
    }

    /// The stations of a ring, by number.
    #[must_use]
    pub fn of_ring(&self, ring: u32) -> std::ops::Range<u32> {
        self.first[ring as usize]..self.first[ring as usize + 1]
    }

    /// The station after (`true`) or before `i` on its ring.
    #[must_use]
    pub fn beside(&self, i: u32, ring: u32, onward: bool) -> u32 {
        let all = self.of_ring(ring);
        match onward {
            true if i + 1 == all.end => all.start,
            true => i + 1,
            false if i == all.start => all.end - 1,
            false => i - 1,
        }
    }

    /// Every local minimum of thickness below the cap, exact on the true
    /// curves, each once, before any are put together.
    #[must_use]
    pub fn minima(&self, all: &Boundary) -> Vec<Neck> {
        let mut found: Vec<Neck> = Vec::new();
        for ring in 0..all.rings().len() as u32 {
            for i in self.of_ring(ring) {
                if self.is_least(i, ring) {
                    found.extend(self.refine(all, i));
                }
            }
        }
        let key = |neck: &Neck| neck.span.spots.map(|s| (s.ring, s.mark.seg, s.mark.t));
        found.sort_by(|a, b| {
            let (a, b) = (key(a), key(b));
            a.partial_cmp(&b).unwrap_or(std::cmp::Ordering::Equal)
        });
        found.dedup_by(|b, a| (0..2).all(|i| a.span.feet[i].distance(b.span.feet[i]) < SAME_POINT));
        found
    }

    /// Whether no neighbour of station `i` has a smaller disc. Of a run of
    /// equal ones only the ends count, or every station of a straight bar would.
    /// A neighbour that looks into a notch tells nothing of the wood across.
    fn is_least(&self, i: u32, ring: u32) -> bool {
        let here = self.station(i);
        let rises = [false, true].map(|onward| {
            let beside = self.station(self.beside(i, ring, onward));
            let notch = here.facing < ACROSS && beside.facing > ASIDE;
            if notch { f64::INFINITY } else { beside.radius - here.radius }
        });
        let ends = rises.iter().any(|&r| r > EVEN) || i == self.of_ring(ring).start;
        here.radius < self.cap && rises.iter().all(|&r| r >= -EVEN) && ends
    }

    /// The neck near station `i`, unless it slides into a corner or something
    /// else stands nearer.
    fn refine(&self, all: &Boundary, i: u32) -> Option<Neck> {
        let station = self.station(i);
        let foot = station.foot?;
        let (from, to) = (all.spot(station.sample), all.along(foot.edge, foot.fraction));
        let span = ordered(all.shortest(from, to));
        self.is_neck(all, &span).then(|| Neck { span, stations: self.stations_of(all, &span) })
    }

    fn is_neck(&self, all: &Boundary, span: &Span) -> bool {
        let [a, b] = span.spots;
        if a.ring == b.ring && all.way(a, b) < ROUND * span.width + 5.0 * FLATTEN {
            return false;
        }
        let slack = 1.5 * FLATTEN + 1e-3 * span.width;
        span.width < 2.0 * self.cap
            && (span.width < slack || self.looks_across(all, span))
            && all.is_clear(span.feet[0].midpoint(span.feet[1]), span.width / 2.0 - slack)
    }

    /// Whether the line leaves its first end into the right side.
    fn looks_across(&self, all: &Boundary, span: &Span) -> bool {
        let across = span.feet[1] - span.feet[0];
        let spot = span.spots[0];
        let sample = all.sample_before(spot);
        let bend = if all.spot(sample) == spot { all.bend(sample) } else { 0.0 };
        if self.side.opening(bend) > 0.0 {
            let middle = turned(self.side.normal(all.tangents(sample)[0]), bend / 2.0);
            return across.dot(middle) >= (libm::cos(bend / 2.0) - 1e-3) * across.hypot();
        }
        let seg = &all.rings()[spot.ring as usize].segs()[spot.mark.seg as usize];
        self.side.normal(tangent(seg, spot.mark.t)).dot(across) > 0.0
    }

    fn stations_of(&self, all: &Boundary, span: &Span) -> [Option<u32>; 2] {
        let across = span.feet[1] - span.feet[0];
        [self.station_at(all, span.spots[0], across), self.station_at(all, span.spots[1], -across)]
    }

    /// The station at the sample at or before `spot` that looks most along
    /// `direction`.
    #[must_use]
    pub fn station_at(&self, all: &Boundary, spot: Spot, direction: Vec2) -> Option<u32> {
        let range = self.of_ring(spot.ring);
        let stations = &self.stations[range.start as usize..range.end as usize];
        let sample = all.sample_before(spot);
        let end = stations.partition_point(|s| s.sample <= sample);
        // Before the ring's first station comes its last.
        let end = if end == 0 { stations.len() } else { end };
        let sample = stations.get(end.checked_sub(1)?)?.sample;
        let start = stations.partition_point(|s| s.sample < sample);
        let best = (start..end).max_by(|&a, &b| {
            stations[a].normal.dot(direction).total_cmp(&stations[b].normal.dot(direction)).then(b.cmp(&a))
        })?;
        Some(range.start + best as u32)
    }

    /// The minima put together into necks. A minimum belongs to a narrower one
    /// when some walk along the banks from it to the other never comes where the
    /// area is clearly thicker than the minimum itself; two that are both clearly
    /// narrower than what lies between stay apart, whatever shallow minima that
    /// holds (persistence by the elder rule: Edelsbrunner, Letscher, Zomorodian,
    /// "Topological Persistence and Simplification", 2002). Groups come in order
    /// of their first member; members too.
    #[must_use]
    pub fn group(&self, minima: &[Neck]) -> Vec<Vec<u32>> {
        let width = |i: u32| minima[i as usize].span.width;
        let mut reached = Sets::new(minima.len());
        let mut groups = Sets::new(minima.len());
        // The narrowest minimum of each reached set, by the set's first member.
        let mut elder: Vec<u32> = (0..minima.len() as u32).collect();
        for (barrier, a, b) in self.barriers(minima) {
            let (x, y) = (reached.find(a), reached.find(b));
            if x == y {
                continue;
            }
            let (old, young) = match (elder[x as usize], elder[y as usize]) {
                (p, q) if (width(p), p) <= (width(q), q) => (p, q),
                (p, q) => (q, p),
            };
            if barrier <= width(young) * MERGE_FACTOR + MERGE_MARGIN {
                groups.join(old, young);
            }
            reached.join(x, y);
            elder[reached.find(x) as usize] = old;
        }
        groups.groups()
    }

    /// Between minima that follow each other on a ring, the greatest thickness
    /// on the way; least first.
    fn barriers(&self, minima: &[Neck]) -> Vec<(f64, u32, u32)> {
        let mut on_ring: Vec<(u32, u32, u32)> = Vec::new();
        for (number, neck) in (0_u32..).zip(minima) {
            for (spot, station) in neck.span.spots.iter().zip(neck.stations) {
                on_ring.extend(station.map(|station| (spot.ring, station, number)));
            }
        }
        on_ring.sort_unstable();
        let mut barriers = Vec::new();
        for run in on_ring.chunk_by(|a, b| a.0 == b.0) {
            for (a, b) in run.iter().zip(run.iter().cycle().skip(1)).filter(|(a, b)| a.2 != b.2) {
                barriers.push((self.thickest_between(a.0, a.1, b.1), a.2, b.2));
            }
        }
        barriers.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        barriers
    }

    /// The greatest thickness at the stations after `a` up to `b`; 0 for none,
    /// infinite where a disc reached the cap: how thick it is there is not known.
    fn thickest_between(&self, ring: u32, a: u32, b: u32) -> f64 {
        let (mut i, mut most) = (a, 0.0_f64);
        while i != b {
            i = self.beside(i, ring, true);
            let station = self.station(i);
            most = most.max(if station.foot.is_none() { f64::INFINITY } else { station.thickness() });
        }
        most
    }

    /// How far from `start` (on the medial axis, seen from station `station`)
    /// the area stays thinner than `most`, walking along the ring, mm; and
    /// where that ends. Never past station `stop`, nor farther than `longest`,
    /// nor on where the walk doubles back: what lies behind a corner is no part
    /// of the same bar; nor past a joint (see [`Walk::across`]).
    #[must_use]
    pub fn thin_length(&self, all: &Boundary, walk: &Walk) -> Thin {
        let (mut length, mut at, mut i) = (0.0, walk.start, walk.station);
        let mut before = walk.thickness;
        let mut farthest = (0.0, length, at);
        while Some(i) != walk.stop && length < walk.longest {
            let station = self.station(i);
            let faces = station.facing < FACES;
            if station.thickness() > walk.most {
                // The crossing lies between the last thin station and this one.
                let part = ((walk.most - before) / (station.thickness() - before)).clamp(0.0, 1.0);
                let end = at.lerp(all.center(station), part);
                return Thin::to(length + if faces { at.distance(end) } else { 0.0 }, end);
            }
            if faces && walk.joins(all, station) {
                let end = at.midpoint(all.center(station));
                return Thin::to(length + at.distance(end), end);
            }
            if faces {
                length += at.distance(all.center(station));
                at = all.center(station);
                before = station.thickness();
                let away = at.distance(walk.start);
                if away > farthest.0 {
                    farthest = (away, length, at);
                } else if away < farthest.0 - walk.thickness / 2.0 {
                    return Thin { round_tongue: walk.across.is_some(), ..Thin::to(farthest.1, farthest.2) };
                }
            }
            i = self.beside(i, walk.ring, walk.onward);
            if i == walk.station {
                break;
            }
        }
        Thin::to(length.min(walk.longest), at)
    }
}

/// Differences of radius below this, mm, are rounding.
const EVEN: f64 = 1e-9;

/// [`Station::facing`] below which a disc stands straight across (155°).
const ACROSS: f64 = -0.9;
/// [`Station::facing`] below which a station counts as lying across a strip, not in a corner (100°).
pub(crate) const FACES: f64 = -0.17;

/// A walk along one bank of a neck.
#[derive(Clone, Copy, Debug)]
pub struct Walk {
    /// The ring to walk along.
    pub ring: u32,
    /// The first station.
    pub station: u32,
    /// Onward along the ring, or back.
    pub onward: bool,
    /// Where it starts on the medial axis: the middle of the neck.
    pub start: Point,
    /// Thickness at the start, mm.
    pub thickness: f64,
    /// Where the area is thicker than this the walk ends, mm.
    pub most: f64,
    /// The ring across, where it is another one: where a third ring comes
    /// between, other wood joins, held beyond itself, and the walk ends.
    pub across: Option<u32>,
    /// A station never to pass: the neck's other foot on the same ring.
    pub stop: Option<u32>,
    /// No walk is longer, mm.
    pub longest: f64,
}

/// What a walk along a bank came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thin {
    /// How long the area stays thin, mm.
    pub length: f64,
    /// Where that ends, on the medial axis.
    pub end: Point,
    /// Whether it ends because the walk doubled back round a tongue of wood on
    /// this bank: with another ring across there is nothing else to go round.
    pub round_tongue: bool,
}

impl Thin {
    const fn to(length: f64, end: Point) -> Self {
        Self { length, end, round_tongue: false }
    }

    /// Of the walks along both banks the one that tells: a bank may make a
    /// detour into a pocket, which is longer, or stop at a tongue the other
    /// bank does not see.
    #[must_use]
    pub fn of_both(self, other: Self) -> Self {
        match (self.round_tongue, other.round_tongue) {
            (true, false) => other,
            (false, true) => self,
            _ if self.length <= other.length => self,
            _ => other,
        }
    }
}

impl Walk {
    fn joins(&self, all: &Boundary, station: &Station) -> bool {
        let third = |across: u32, faced: u32| faced != across && faced != self.ring;
        let faced = station.foot.map(|foot| all.ring_of(foot.edge));
        self.across.zip(faced).is_some_and(|(across, faced)| third(across, faced))
    }
}

/// The same line, its ends in the order of the rings.
fn ordered(mut span: Span) -> Span {
    let key = |s: &Spot| (s.ring, s.mark.seg, s.mark.t);
    if key(&span.spots[1]) < key(&span.spots[0]) {
        span.spots.reverse();
        span.feet.reverse();
    }
    span
}

/// Disjoint sets of numbers (union by the smaller number, path halving).
#[derive(Clone, Debug)]
pub struct Sets {
    parent: Vec<u32>,
}

impl Sets {
    /// `count` sets of one number each.
    #[must_use]
    pub fn new(count: usize) -> Self {
        Self { parent: (0..count as u32).collect() }
    }

    /// The smallest number of the set of `i`.
    pub fn find(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            self.parent[i as usize] = self.parent[self.parent[i as usize] as usize];
            i = self.parent[i as usize];
        }
        i
    }

    /// Puts the sets of `a` and `b` together.
    pub fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// The sets, by their smallest number, members in order.
    #[must_use]
    pub fn groups(mut self) -> Vec<Vec<u32>> {
        let mut groups: Vec<Vec<u32>> = Vec::new();
        let mut place = vec![u32::MAX; self.parent.len()];
        for i in 0..self.parent.len() as u32 {
            let root = self.find(i) as usize;
            if place[root] == u32::MAX {
                place[root] = groups.len() as u32;
                groups.push(Vec::new());
            }
            groups[place[root] as usize].push(i);
        }
        groups
    }
}

#[cfg(test)]
mod tests;
