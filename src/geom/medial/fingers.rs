//! Fingers: tongues that taper, so slowly that they are bars to whoever breaks
//! them, and have no least width of their own but at the tip.

use kurbo::{Point, Vec2};

use super::{FACES, Medial, Neck};
use crate::geom::boundary::{Boundary, Spot};
use crate::geom::closest::Span;
use crate::geom::tolerance::REPORT;

/// A finger grows by at most this share of its length. Ours: 8.6° between its
/// sides; what opens wider is a tooth, stout where it is rooted.
const TAPER: f64 = 0.15;
/// A walk down a finger begins where the way round its tip is at most this many
/// times its width …
const TIP: f64 = 2.0;
/// … and this much, mm: near a sharp tip the way round is long for the width, and
/// stations lie 1.5 mm apart.
const TIP_MARGIN: f64 = 4.0;
/// Shorter than this many times its width it is a stub. Common practice, no
/// source: a bridge across the grain is at most so long for its width.
const STUB: f64 = 1.5;
/// Shorter than this it is a nub, mm: less than half a fingertip. Ours.
const NUB: f64 = 5.0;
/// A tongue somewhere this many times as wide as its neck has a head that the neck
/// bears, however short it is. As for a bar's roots; ours.
const HEAD: f64 = 1.25;

/// A finger being walked down, from its tip to its root.
struct Walk {
    /// Width it would have at the tip were its sides [`TAPER`] apart: what a
    /// blunt tip has more.
    blunt: f64,
    /// The way round the tip so far, mm.
    way: f64,
    /// The last station that is part of it.
    root: u32,
}

/// What a station tells of a finger.
enum Seen {
    /// Looks into a corner: nothing.
    Aside,
    /// Faces the same ring, this far back along it round a tip, mm.
    Across(f64),
    /// Faces something else, or nothing.
    Else,
}

/// A finger of the side's area.
#[derive(Clone, Copy, Debug)]
pub struct Finger {
    /// The line across it at its root; aslant where one of its sides begins farther out.
    pub root: Neck,
    /// Which way it grows from there: its own direction, whatever the line's.
    pub along: Vec2,
    /// From there to its tip, mm.
    pub length: f64,
}

impl Medial {
    /// The fingers of the side's area, each measured at its root, where a push at
    /// the tip bears most. A finger along which one of `minima` lies is left out:
    /// that tells of it.
    #[must_use]
    pub fn fingers(&self, all: &Boundary, minima: &[Neck]) -> Vec<Finger> {
        let rings = 0..all.rings().len() as u32;
        let fingers = rings.flat_map(|ring| self.fingers_of(all, ring));
        fingers.filter(|finger| !minima.iter().any(|neck| lies_along(all, neck, &finger.root))).collect()
    }

    /// Whether `neck` lies across a stub: a tongue no longer than a finger must be,
    /// and without a head. Whether its sides taper by a hair one way or the other
    /// makes no difference.
    #[must_use]
    pub fn is_stub(&self, all: &Boundary, neck: &Neck) -> bool {
        let [a, b] = neck.span.spots;
        if a.ring != b.ring {
            return false;
        }
        let (from, way) = match (behind(all, a, b), behind(all, b, a)) {
            (on, back) if on <= back => (a, on),
            (_, back) => (b, back),
        };
        is_short(length(way, neck.span.width), neck.span.width) && !self.has_head(all, from, way, neck.span.width)
    }

    /// Whether somewhere within `way` after `from`, with nothing but the tongue round
    /// it, the area is thicker than a stub `width` wide may be.
    fn has_head(&self, all: &Boundary, from: Spot, way: f64, width: f64) -> bool {
        // At the very ends lie the corners of the root, whose discs look into the wood
        // beyond it.
        let inner = REPORT..way - REPORT;
        let within = |spot: Spot| spot.ring == from.ring && inner.contains(&behind(all, from, spot));
        self.of_ring(from.ring).map(|i| self.station(i)).filter(|station| within(all.spot(station.sample))).any(
            |station| {
                let foot = station.foot.map(|foot| all.along(foot.edge, foot.fraction));
                foot.is_some_and(within) && station.thickness() > HEAD * width
            },
        )
    }

    fn fingers_of(&self, all: &Boundary, ring: u32) -> Vec<Finger> {
        let stations = self.of_ring(ring);
        let mut found: Vec<(u32, Finger)> = Vec::new();
        let mut walk: Option<Walk> = None;
        // Farther round a tip than half the ring it is no tongue, but the rest.
        let most = all.girth(ring) / 2.0;
        // A finger may lie across the ring's first station: twice round.
        for i in stations.clone().chain(stations) {
            let way = match self.seen(all, i) {
                Seen::Aside => continue,
                Seen::Across(way) if way < most => way,
                Seen::Across(_) | Seen::Else => f64::INFINITY,
            };
            let width = self.station(i).thickness();
            if walk.as_ref().is_some_and(|walk| !walk.goes_on(way, width)) {
                found.extend(walk.take().and_then(|walk| Some((walk.root, self.finger(all, &walk)?))));
            }
            walk = match walk {
                Some(walk) => Some(Walk { way, root: i, ..walk }),
                None => Walk::begin(way, width, i),
            };
        }
        found.sort_by_key(|(root, _)| *root);
        found.dedup_by_key(|(root, _)| *root);
        found.into_iter().map(|(_, finger)| finger).collect()
    }

    fn seen(&self, all: &Boundary, i: u32) -> Seen {
        let station = self.station(i);
        let Some(foot) = station.foot else { return Seen::Else };
        if station.facing >= FACES {
            return Seen::Aside;
        }
        let (here, there) = (all.spot(station.sample), all.along(foot.edge, foot.fraction));
        if here.ring == there.ring { Seen::Across(behind(all, there, here)) } else { Seen::Else }
    }

    /// The finger walked down, unless it is a stub.
    fn finger(&self, all: &Boundary, walk: &Walk) -> Option<Finger> {
        let station = self.station(walk.root);
        let foot = station.foot?;
        let spots = [all.along(foot.edge, foot.fraction), all.spot(station.sample)];
        let feet = spots.map(|spot| all.at(spot));
        let width = feet[0].distance(feet[1]);
        let span = Span { spots, feet, width };
        let length = length(walk.way, width);
        // The middles of lines across alike lie on its axis, aslant as they may be.
        let [left, right] = [(spots[0], 1.0), (spots[1], -1.0)].map(|(spot, way)| on(all, spot, way * width));
        let along = left.midpoint(right) - feet[0].midpoint(feet[1]);
        let root = Neck { span, stations: self.stations_of(all, &span) };
        (!is_short(length, width)).then_some(Finger { root, along, length })
    }
}

impl Walk {
    /// A walk begun at station `root`, if that is at a tip.
    fn begin(way: f64, width: f64, root: u32) -> Option<Self> {
        let blunt = (width - TAPER * length(way, width)).max(0.0);
        (way <= TIP * width + TIP_MARGIN).then_some(Self { blunt, way, root })
    }

    /// Whether a place `way` round the tip and `width` wide is still part of it.
    fn goes_on(&self, way: f64, width: f64) -> bool {
        way.is_finite() && way >= self.way && width <= self.blunt + TAPER * length(way, width)
    }
}

/// Length of a finger of even width, the way round whose tip is known, mm; of a
/// pointed one half its width too little.
fn length(way: f64, width: f64) -> f64 {
    ((way - width) / 2.0).max(0.0)
}

/// Whether a tongue of this length and width is a stub or a nub.
fn is_short(length: f64, width: f64) -> bool {
    length <= NUB.max(STUB * width)
}

/// The place `way` mm onward along the ring from `spot`, or back from it.
fn on(all: &Boundary, spot: Spot, way: f64) -> Point {
    let samples = all.samples(spot.ring);
    let arc = (all.arc_at(spot) + way).rem_euclid(all.girth(spot.ring));
    let (mut low, mut high) = (samples.start, samples.end);
    while high - low > 1 {
        let middle = low.midpoint(high);
        if all.arc(middle) <= arc { low = middle } else { high = middle }
    }
    let (a, b) = all.edge(low);
    a.lerp(b, ((arc - all.arc(low)) / a.distance(b).max(1e-12)).clamp(0.0, 1.0))
}

/// The way from `from` onward along its ring to `to`, mm.
fn behind(all: &Boundary, from: Spot, to: Spot) -> f64 {
    (all.arc_at(to) - all.arc_at(from)).rem_euclid(all.girth(from.ring))
}

/// Whether both ends of `neck` lie on the way round the tip of `finger`, or no farther
/// beyond its root than that is wide.
fn lies_along(all: &Boundary, neck: &Neck, finger: &Neck) -> bool {
    let [from, to] = finger.span.spots;
    let (whole, beyond) = (behind(all, from, to), finger.span.width);
    let along = |spot: Spot| behind(all, from, spot) <= whole + beyond || behind(all, spot, from) <= beyond;
    let within = |spot: Spot| spot.ring == from.ring && along(spot);
    neck.span.spots.into_iter().all(within)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;
    use crate::geom::ball::Side;
    use crate::geom::boundary::Sampling;
    use crate::geom::tolerance::FLATTEN;
    use kurbo::BezPath;

    /// Roots of the fingers of wood that reach into one opening.
    fn roots(opening: &str) -> Vec<f64> {
        let path = BezPath::from_svg(opening).unwrap();
        let ring = Ring::all_of(&path).remove(0).wound(true);
        let all = Boundary::new(vec![(ring, Sampling { tolerance: FLATTEN, spacing: 1.5 })]);
        let medial = Medial::new(&all, Side::Right, 12.0, |_| true);
        medial.fingers(&all, &medial.minima(&all)).iter().map(|finger| finger.root.span.width).collect()
    }

    /// An opening 100 by 60 with a finger from its left side at half its height.
    fn with_finger(root: f64, tip: f64, length: f64) -> String {
        let (r, t) = (root / 2.0, tip / 2.0);
        format!(
            "M0 0 L100 0 L100 60 L0 60 L0 {} L{length} {} L{length} {} L0 {} Z",
            30.0 + r,
            30.0 + t,
            30.0 - t,
            30.0 - r
        )
    }

    #[test]
    fn a_finger_is_measured_at_its_root() {
        for (root, tip) in [(2.0, 1.9), (3.0, 1.0), (3.0, 0.0), (4.0, 2.0)] {
            let found = roots(&with_finger(root, tip, 40.0));
            assert_eq!(found.len(), 1, "{root} to {tip}: {found:?}");
            // The last station before the root lies up to one spacing out.
            let most = root - (root - tip) * 3.0 / 40.0;
            assert!(found[0] <= root + 1e-6 && found[0] >= most - 0.02, "{root} to {tip}: {found:?}");
        }
    }

    #[test]
    fn bars_of_even_width_teeth_and_stubs_are_no_fingers() {
        let even = roots(&with_finger(2.0, 2.0, 40.0));
        assert!(even.is_empty(), "its least width tells of it: {even:?}");
        assert!(roots(&with_finger(12.0, 0.0, 40.0)).is_empty(), "a tooth");
        assert!(roots(&with_finger(6.0, 5.8, 6.0)).is_empty(), "a stub");
    }
}
