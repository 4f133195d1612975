//! Entry holes: where the blade is threaded.
//!
//! One hole for each cut-out, more where a place narrower than the kerf parts
//! it. A hole lies in the waste, near the line but clear of it, by a corner of
//! the opening where there is one: the mark a blade leaves on starting hides
//! in a corner (common practice, no source).

mod opening;
mod rim;

use std::cell::LazyCell;

use kurbo::{Point, Shape, Vec2};

use self::opening::{Opening, widest};
use self::rim::{Openings, Told};
use crate::diag::{Finding, FindingKind, Severity};
use crate::face::{CutOut, Face, Numbers};
use crate::geom::offset::Patch;
use crate::units::{Mm, Unit};

/// A hole to drill in the waste so that the blade can be threaded.
#[derive(Clone, Debug, PartialEq)]
pub struct EntryHole {
    /// Number shown to the maker, from 1.
    pub id: u32,
    /// The cut-out it serves, by number.
    pub cutout: u32,
    /// Centre, panel millimetres.
    pub at: Point,
    /// Diameter, mm.
    pub diameter: f64,
    /// The drill's own name: `1/16 in`, `#52`, `1.6 mm`.
    pub drill: String,
}

/// A cut-out, or a part of one, that no drill of the shop can start.
#[derive(Clone, Debug, PartialEq)]
pub struct Unreached {
    /// The cut-out, by number.
    pub cutout: u32,
    /// Its roomiest spot, panel millimetres.
    pub at: Point,
    /// Diameter of the disc that fits there, mm.
    pub widest: f64,
    /// The drill that would be taken, diameter in mm and name; none passes the
    /// blade when there is none.
    pub drill: Option<(f64, String)>,
}

/// Where the blade is threaded, and where it cannot be.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Entries {
    /// The holes, numbered from 1 in the order of the cut-outs.
    pub holes: Vec<EntryHole>,
    /// What has none.
    pub unreached: Vec<Unreached>,
}

impl Entries {
    /// The same, cut-outs called by their new numbers and taken in their order.
    #[must_use]
    pub fn renumbered(mut self, numbers: &Numbers) -> Self {
        self.holes.iter_mut().for_each(|hole| hole.cutout = numbers.of(hole.cutout));
        self.holes.sort_by_key(|hole| hole.cutout);
        (1..).zip(&mut self.holes).for_each(|(id, hole)| hole.id = id);
        self.unreached.iter_mut().for_each(|part| part.cutout = numbers.of(part.cutout));
        self.unreached.sort_by_key(|part| part.cutout);
        self
    }
}

/// What the holes must suit.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Least hole the blade passes through, mm.
    pub needed: f64,
    /// Width of the saw's cut, mm.
    pub kerf: f64,
    /// Drills in the shop: diameter in mm and name, any order.
    pub drills: Vec<(f64, String)>,
    /// The shop's unit, for the words.
    pub unit: Unit,
}

/// Clear wood-free rim wanted between a hole and the line, mm: room for a bit
/// that wanders (common practice, no source).
const RIM: f64 = 0.5;
/// Least rim accepted where the opening is small, mm: half the wander of a
/// sharp bit started in a pricked mark (common practice, no source).
const LEAST_RIM: f64 = 0.1;
/// Analysis tolerance of the outlines here, mm; a tenth of the least rim.
const TOLERANCE: f64 = 0.01;
/// Room that may lack, mm: what flattening takes off an opening on both sides, and
/// what outlines exported as arcs and read back lose.
const HAIR: f64 = 2.0 * TOLERANCE;
/// An opening of this part of the room a hole needs is looked at closely: between
/// samples it may be wider. Derived: half way between samples 1.5 mm apart a bulge of
/// 2 mm radius is 0.14 mm wider on each side, a fifth of the least room.
const NEAR: f64 = 0.8;
/// A bend of the outline sharper than this is a corner worth starting in, radians.
const CORNER: f64 = 0.6;
/// Length of the arms over which a bend is measured, mm.
const ARM: f64 = 0.6;

/// Finds the entry holes of every cut-out, and every part that has none.
#[must_use]
pub fn entries(face: &Face, options: &Options) -> Entries {
    let mut found = Entries::default();
    let Some(drill) = smallest(options) else {
        found.unreached = face.cutouts.iter().map(|cutout| undrilled(cutout, options)).collect();
        return found;
    };
    let openings = Openings::new(face, options.kerf);
    let rims = [RIM, RIM / 2.0, LEAST_RIM].map(|rim| drill.0 / 2.0 + rim);
    for (index, cutout) in face.cutouts.iter().enumerate() {
        match openings.tell(index, &rims, |at| cutout.piece.to_path().winding(at) != 0) {
            Told::At(at) => found.hole(cutout, at, drill),
            Told::NoRoom(at, widest) if widest < NEAR * least_room(drill) => found.at_most(cutout, (at, widest), drill),
            // The rim knows discs at its samples only; the roomiest may lie between.
            Told::NoRoom(..) => found.at_most(cutout, widest(&Patch::of(&cutout.piece, TOLERANCE)), drill),
            Told::Parted => {
                let opening = Opening::of(cutout, options.kerf);
                let opening = &opening;
                let rooms = rims.map(|distance| LazyCell::new(move || opening.room(distance)));
                for part in opening.parts() {
                    match rooms.iter().find_map(|room| best_on(&part.own(room))) {
                        Some(at) => found.hole(cutout, at, drill),
                        None => found.at_most(cutout, part.widest(), drill),
                    }
                }
            }
        }
    }
    found
}

impl Entries {
    fn hole(&mut self, cutout: &CutOut, at: Point, (diameter, name): &(f64, String)) {
        let id = self.holes.len() as u32 + 1;
        self.holes.push(EntryHole { id, cutout: cutout.id, at, diameter: *diameter, drill: name.clone() });
    }

    /// A hole where there is most room, `widest` mm, when that is enough.
    fn at_most(&mut self, cutout: &CutOut, (at, widest): (Point, f64), drill: &(f64, String)) {
        if widest >= least_room(drill) - HAIR {
            return self.hole(cutout, at, drill);
        }
        self.unreached.push(Unreached { cutout: cutout.id, at, widest, drill: Some(drill.clone()) });
    }
}

/// The least width of an opening for a drill's hole, mm.
fn least_room(drill: &(f64, String)) -> f64 {
    drill.0 + 2.0 * LEAST_RIM
}

/// A cut-out no drill of the shop is large enough for.
fn undrilled(cutout: &CutOut, options: &Options) -> Unreached {
    let (at, widest) = Opening::of(cutout, options.kerf).parts()[0].widest();
    Unreached { cutout: cutout.id, at, widest, drill: None }
}

/// The smallest drill of the shop that passes the blade.
fn smallest(options: &Options) -> Option<&(f64, String)> {
    // A size named in inches and a limit worked in millimetres may differ in the last bit.
    const SAME: f64 = 1e-9;
    let enough = options.drills.iter().filter(|(d, _)| *d >= options.needed - SAME);
    enough.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// A place on a boundary: how sharply that turns left there, radians, and where.
type Bend = (f64, Point);

/// The best place in a room, on its boundary.
fn best_on(room: &[&Patch]) -> Option<Point> {
    best(room.iter().flat_map(|patch| patch.rings.iter().flat_map(|r| bends(r))).collect(), |_| true)
}

/// The sharpest corner that `fits`; where none does, the straightest, lowest
/// place that does.
fn best(bends: Vec<Bend>, fits: impl Fn(Point) -> bool) -> Option<Point> {
    let (mut corners, mut along): (Vec<Bend>, Vec<Bend>) = bends.into_iter().partition(|bend| bend.0 >= CORNER);
    corners.sort_by(|a, b| rank(b).total_cmp(&rank(a)).then(lower(b, a)));
    let first = |of: &[Bend]| of.iter().map(|bend| bend.1).find(|&at| fits(at));
    first(&corners).or_else(|| {
        let straight = |bend: &Bend| rank(&(-bend.0.abs(), bend.1));
        along.sort_by(|a, b| straight(b).total_cmp(&straight(a)).then(lower(b, a)));
        first(&along)
    })
}

/// Bends within three degrees count as equal, so that noise does not choose.
fn rank(bend: &Bend) -> f64 {
    (bend.0 * 20.0).round()
}

fn lower(a: &Bend, b: &Bend) -> std::cmp::Ordering {
    let key = |p: Point| (-(p.y * 100.0).round(), -(p.x * 100.0).round());
    let (a, b) = (key(a.1), key(b.1));
    a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
}

/// For every vertex how far the ring turns left there, radians, over arms of [`ARM`].
fn bends(ring: &[Point]) -> Vec<Bend> {
    (0..ring.len())
        .map(|i| {
            let (back, ahead) = (arm(ring, i, false), arm(ring, i, true));
            let turn = (-back).cross(ahead).atan2((-back).dot(ahead));
            (turn, ring[i])
        })
        .collect()
}

/// From vertex `i` to the vertex at least [`ARM`] away along the ring.
fn arm(ring: &[Point], i: usize, forward: bool) -> Vec2 {
    let n = ring.len();
    let step = if forward { 1 } else { n - 1 };
    let mut j = (i + step) % n;
    while (ring[j] - ring[i]).hypot() < ARM && j != i {
        j = (j + step) % n;
    }
    ring[j] - ring[i]
}

/// A `no-entry` finding for every part that has no hole.
#[must_use]
pub fn findings(unreached: &[Unreached], options: &Options) -> Vec<Finding> {
    (1..).zip(unreached).map(|(number, part)| no_entry(part, number, options)).collect()
}

fn no_entry(part: &Unreached, number: usize, options: &Options) -> Finding {
    let (measured, limit, message, advice) = match &part.drill {
        Some(drill) => {
            let limit = least_room(drill);
            let (widest, needed) = (Mm::new(part.widest), Mm::new(limit));
            let room = format!("{widest} wide at most, the {} drill needs {needed}", drill.1);
            let message = format!("cut-out {} has no room for an entry hole: {room}", part.cutout);
            (part.widest, limit, message, "widen it, use a finer blade and drill, or leave it out")
        }
        None => {
            let largest = options.drills.iter().map(|drill| drill.0).fold(0.0, f64::max);
            let needed = Mm::new(options.needed).text_at_least(options.unit);
            let message = format!("no drill in the shop passes the blade, which needs {needed}");
            (largest, options.needed, message, "add a larger drill to the shop, or choose a finer blade")
        }
    };
    let finding = Finding::new(format!("no-entry-{number}"), FindingKind::NoEntry, Severity::Stop, message, advice);
    finding.at(part.at).measured(measured, limit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::{Clearances, Fit, Panel, number_cutouts};
    use crate::geom::boolean::{Rule, resolve};
    use crate::geom::flat::distance as distance_to;
    use kurbo::BezPath;

    fn face(svg: &str) -> Face {
        let region = resolve(&BezPath::from_svg(svg).unwrap(), Rule::EvenOdd);
        let mm = Mm::new;
        Face {
            panel: Panel { width: mm(100.0), height: mm(200.0), thickness: mm(16.0), grain_deg: 90.0 },
            clear: Clearances::all(mm(12.0)),
            cutouts: number_cutouts(region.pieces.into_iter().map(|p| (p, None)).collect()),
            fit: Fit::AS_DRAWN,
        }
    }

    fn options() -> Options {
        let drills = vec![(3.0, "3 mm".to_owned()), (1.6, "1/16 in".to_owned()), (0.8, "1/32 in".to_owned())];
        Options { needed: 1.2, kerf: 0.9, drills, unit: Unit::Mm }
    }

    /// The holes of a face and the findings of what has none.
    fn holes(face: &Face, options: &Options) -> (Vec<EntryHole>, Vec<Finding>) {
        let Entries { holes, unreached } = entries(face, options);
        (holes, findings(&unreached, options))
    }

    fn distance(face: &Face, hole: &EntryHole) -> f64 {
        let piece = &face.cutouts[hole.cutout as usize - 1].piece;
        let edges = Patch::of(piece, 0.001);
        edges.edges().map(|(a, b)| distance_to(a, b, hole.at)).fold(f64::MAX, f64::min)
    }

    #[test]
    fn what_has_no_room_is_told_at_a_spot_of_its_own() {
        // Half a ring 1 mm wide: the middle of its box lies outside it.
        let face = face("M20 100a30 30 0 0 1 60 0h-1a29 29 0 0 0 -58 0z");
        let (holes, findings) = holes(&face, &options());
        assert!(holes.is_empty() && findings.len() == 1, "{holes:?} {findings:?}");
        let at = findings[0].at.unwrap();
        let radius = at.distance(Point::new(50.0, 100.0));
        assert!((29.0..=30.0).contains(&radius), "in the slot: {radius}");
    }

    #[test]
    fn a_hole_lies_in_a_corner_near_the_line_but_not_on_it() {
        let face = face("M20 20h30v40h-30z");
        let (holes, findings) = holes(&face, &options());
        assert!(findings.is_empty() && holes.len() == 1, "one hole: {findings:?}");
        assert_eq!(holes[0].drill, "1/16 in", "the smallest drill that passes the blade");
        let gap = distance(&face, &holes[0]) - 0.8;
        assert!((gap - RIM).abs() < 0.02, "rim of {gap}");
        assert!(holes[0].at.y < 22.0, "by a low corner {:?}", holes[0].at);
    }

    #[test]
    fn the_smallest_drill_that_passes_the_blade_is_chosen() {
        let sixteenths = [1.0, 2.0, 3.0].map(|n| (Mm::from_inches(n / 16.0).get(), format!("{n}/16 in")));
        let pick = |needed: f64| {
            let options = Options { needed, drills: sixteenths.to_vec(), ..options() };
            smallest(&options).map(|(_, name)| name.clone())
        };
        assert_eq!(pick(Mm::from_inches(0.0625).get()).as_deref(), Some("1/16 in"), "exactly the size");
        assert_eq!(pick(Mm::from_inches(0.0626).get()).as_deref(), Some("2/16 in"), "just over");
        assert_eq!(pick(5.0), None, "none is large enough");
    }

    #[test]
    fn a_place_narrower_than_the_kerf_asks_for_two_holes() {
        let face = face("M20 20h20v9.7h20v-9.7h20v20h-20v-9.7h-20v9.7h-20z");
        let (holes, findings) = holes(&face, &options());
        assert_eq!((holes.len(), findings.len()), (2, 0), "one in each lobe: {holes:?}");
        assert!((holes[0].at.x < 50.0) != (holes[1].at.x < 50.0), "on both sides of the narrow place");
    }

    #[test]
    fn a_small_opening_gets_a_smaller_rim_and_a_tiny_one_a_finding() {
        let fits = face("M20 20h1.9v1.9h-1.9z");
        let (found, none) = holes(&fits, &options());
        assert!(found.len() == 1 && none.is_empty(), "a least rim is enough: {none:?}");
        assert!(distance(&fits, &found[0]) >= 0.8 + LEAST_RIM - 0.01, "still clear of the line");
        let (found, none) = holes(&face("M20 20h1.5v1.5h-1.5z"), &options());
        assert!(found.is_empty(), "no room");
        assert!((none[0].measured.unwrap() - 1.5).abs() < 0.01, "measured {:?}", none[0].measured);
        assert!((none[0].limit.unwrap() - 1.8).abs() < 1e-9, "limit {:?}", none[0].limit);
    }

    #[test]
    fn room_for_a_hole_is_found_wherever_it_is() {
        // A leaf 30 mm long, widest in its middle.
        let leaf = |wide: f64| {
            let d = format!("M20.4 50q15 {wide} 30 0q-15 -{wide} -30 0z");
            holes(&face(&d), &options())
        };
        for wide in [1.81, 1.8, 1.785] {
            let (found, none) = leaf(wide);
            assert!(found.len() == 1 && none.is_empty(), "{wide}: {none:?}");
            assert!((found[0].at.x - 35.4).abs() < 2.0, "in the middle: {found:?}");
        }
        let (found, none) = leaf(1.75);
        assert!(found.is_empty() && (none[0].measured.unwrap() - 1.75).abs() < 0.01, "{none:?}");
    }

    #[test]
    fn a_hole_lies_in_its_opening_or_there_is_none() {
        // 0.69 mm wide at most (shapely's maximum_inscribed_circle), with sharp tips.
        let leaf = "M53.5544 148.6153C53.5875 148.5886 53.6219 148.5603 53.6569 148.5314C53.2689 149.3371 52.8494 \
            150.1424 52.399 150.9457L52.395 150.9434C52.267 150.7948 52.139 150.6461 52.0109 150.4974C52.0382 150.2585 \
            52.1101 150.0268 52.2237 149.8168C52.2574 149.7862 52.2906 149.7547 52.3232 149.7221C52.5178 149.5273 \
            52.7026 149.3216 52.907 149.1377C53.1114 148.9538 53.3789 148.757 53.5544 148.6153Z";
        let (found, none) = holes(&face(leaf), &options());
        assert!(found.is_empty(), "{found:?}");
        assert!((none[0].measured.unwrap() - 0.695).abs() < 0.01, "{:?}", none[0].measured);
    }

    #[test]
    fn without_a_drill_large_enough_every_cutout_is_told() {
        let mut options = options();
        options.needed = 5.0;
        let (found, none) = holes(&face("M20 20h30v40h-30z"), &options);
        assert!(found.is_empty() && none.len() == 1, "no drill");
        assert!(none[0].message.contains("no drill"), "{}", none[0].message);
    }
}
