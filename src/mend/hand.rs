//! Bridges the maker places by hand.
//!
//! A spot in an opening is enough: the bridge runs through it the way that
//! needs least wood, as wide as the rule asks, unless another direction or
//! width is given.

use kurbo::{Point, Vec2};

use super::candidates::{Candidate, Foot, Span};
use super::strip::strip;
use super::wood::Wood;
use super::work::{MARGIN, Props, Work};
use super::{Change, Options, apply};
use crate::face::Face;
use crate::units::Mm;

/// A bridge asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// A spot in an opening that it runs through.
    pub at: Point,
    /// Its width; the needed one when left out.
    pub width: Option<Mm>,
    /// Its direction, degrees anticlockwise from the x axis; the one that needs
    /// least wood when left out.
    pub direction_deg: Option<f64>,
}

/// A bridge built.
#[derive(Clone, Debug, PartialEq)]
pub struct Built {
    /// Which of those asked for, from 0.
    pub index: usize,
    /// The two ends of its middle line.
    pub feet: [Point; 2],
    /// Width made, mm.
    pub width: f64,
    /// Width the strength rule asks for, mm.
    pub needed: f64,
    /// The wood given back.
    pub change: Change,
}

impl Built {
    /// The middle of the bridge.
    #[must_use]
    pub fn middle(&self) -> Point {
        self.feet[0].midpoint(self.feet[1])
    }

    /// Its length between its feet, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.feet[0].distance(self.feet[1])
    }
}

/// Steps in which directions are tried, degrees.
const STEP: usize = 3;
/// Longest bridge tried, mm: beyond any panel's width nothing is held.
const REACH: f64 = 400.0;
/// A bridge that joins an outline to itself costs so much more than one between
/// two: it seldom is what was meant.
const SAME_RING: f64 = 4.0;

/// Builds the bridges asked for, one after the other. One whose spot lies in
/// wood, or that cannot be drawn, is left out.
#[must_use]
pub fn by_hand(face: &Face, asked: &[Hand], options: &Options) -> (Face, Vec<Built>) {
    let (mut face, mut built) = (face.clone(), Vec::new());
    for (index, hand) in asked.iter().enumerate() {
        let next = build(&face, hand, options).map(|b| Built { index, ..b });
        if let Some(bridge) = next {
            face = apply::apply(&face, std::iter::once(&bridge.change));
            built.push(bridge);
        }
    }
    (face, built)
}

fn build(face: &Face, hand: &Hand, options: &Options) -> Option<Built> {
    let wood = Wood::of(face);
    if wood.contains(hand.at) || !face.panel.rect().contains(hand.at) {
        return None;
    }
    let work =
        Work { face, wood, mirror: None, options, rulings: &[], props: Props::Never, stood: Vec::new(), round: 0 };
    let mut ways: Vec<Candidate> = directions(hand).filter_map(|deg| way(&work, hand.at, deg)).collect();
    ways.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    ways.iter().find_map(|way| {
        let width = hand.width.map_or(way.width + MARGIN, Mm::get);
        let shape = strip(&work.wood, way, width, work.fillet())?;
        let feet = way.feet.map(|foot| foot.at);
        Some(Built { index: 0, feet, width, needed: way.width, change: Change::GiveBack(shape) })
    })
}

fn directions(hand: &Hand) -> impl Iterator<Item = f64> {
    let (own, all) = match hand.direction_deg {
        Some(deg) => (Some(deg), 0..0),
        None => (None, 0..180 / STEP),
    };
    own.into_iter().chain(all.map(|i| (i * STEP) as f64))
}

/// The bridge through `at` in one direction.
fn way(work: &Work<'_>, at: Point, direction_deg: f64) -> Option<Candidate> {
    let along = Vec2::from_angle(direction_deg.to_radians());
    let ends = [work.wood.cast(at, -along, REACH)?, work.wood.cast(at, along, REACH)?];
    let length = ends[0].at.distance(ends[1].at);
    let grain_deg = work.grain_deg(along);
    let needed = work.needed(Span::held(length, grain_deg));
    let same = if ends[0].ring == ends[1].ring { SAME_RING } else { 1.0 };
    let foot = |i: usize| {
        let hit = &ends[i];
        Foot { at: hit.at, ring: hit.ring, place: work.wood.rings[hit.ring].place(hit.index, hit.at) }
    };
    Some(Candidate {
        nodes: [work.wood.node_of(&ends[0]), work.wood.node_of(&ends[1])],
        feet: [foot(0), foot(1)],
        width: needed,
        alone: None,
        length,
        grain_deg,
        area: length * needed,
        cost: length * needed * same,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mend::tests::{face, options};

    /// A ring 6 wide round an island; the grain is upright.
    const RING: &str = "M20 60a30 30 0 1 0 60 0a30 30 0 1 0 -60 0zM26 60a24 24 0 1 0 48 0a24 24 0 1 0 -48 0z";

    fn at(x: f64, y: f64) -> Hand {
        Hand { at: Point::new(x, y), width: None, direction_deg: None }
    }

    #[test]
    fn a_bridge_through_a_spot_joins_the_island_to_the_panel() {
        let (held, built) = by_hand(&face(RING), &[at(50.0, 87.0)], &options());
        let [bridge] = built.as_slice() else { panic!("one bridge: {built:?}") };
        let length = bridge.feet[0].distance(bridge.feet[1]);
        assert!((length - 6.0).abs() < 0.1, "straight across the ring: {length}");
        assert!(bridge.width >= bridge.needed && bridge.needed > 1.0, "{bridge:?}");
        assert!(held.cutouts.iter().all(|c| c.piece.holes.is_empty()), "the island hangs on the panel now");
    }

    #[test]
    fn width_and_direction_can_be_given() {
        let wanted = Hand { width: Some(Mm::new(9.0)), direction_deg: Some(90.0), ..at(50.0, 87.0) };
        let before = face(RING);
        let (after, built) = by_hand(&before, &[wanted], &options());
        assert_eq!(built[0].width, 9.0, "as asked");
        let area = |f: &Face| f.cutouts.iter().map(|c| c.piece.area()).sum::<f64>();
        let given = area(&before) - area(&after);
        // The strip and its four flares, each less than a square of 2.5 mm.
        assert!((54.0..54.0 + 4.0 * 6.25).contains(&given), "wood given back: {given}");
    }

    #[test]
    fn a_spot_in_wood_builds_nothing() {
        let before = face(RING);
        let (after, built) = by_hand(&before, &[at(50.0, 60.0), at(10.0, 10.0), at(-5.0, 300.0)], &options());
        assert!(built.is_empty() && after == before, "{built:?}");
    }
}
