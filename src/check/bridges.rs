//! Narrow places in the wood.
//!
//! # Which places count
//!
//! Every local minimum of the wood's thickness, minima put together where no
//! clearly thicker wood lies between (see [`crate::geom::medial`]); of those
//! put together, the one weakest for its direction to the grain is reported.
//! A finger that tapers slowly to its tip has no least width; it is judged at its
//! root, where a push at the tip bears most (derived: held at one end the moment
//! is push times distance). A stub is no bridge, be its sides even or not. Those at
//! least as wide as the rule of [`crate::trade::strength`] asks are left out.
//!
//! # Free length
//!
//! The length over which the wood is thinner than 1.25 times its least width,
//! measured along the middle of the wood. A bar of even width counts from root
//! to root; a waist between two round openings counts as the short bar it is
//! like. Assumption: at 1.25 times the width a bar has 1.56 times the section
//! modulus in the panel's plane, beyond which it is root rather than bridge.
//!
//! It also ends at a joint, where a third outline comes between the two beside
//! the bar: wood between two different outlines is held at both its ends, since
//! cutting it across parts nothing from the board (derived), and members of a
//! frame are reckoned from joint to joint (usual in statics, from memory,
//! believed in any textbook on frames). A tongue that the bar alone carries has
//! one outline on both sides and is no joint.
//!
//! # How it is held
//!
//! All narrow places together part the wood. A place that is the only hold of
//! what lies beyond it is held at one end; any other at both. What hangs on it may be
//! pushed at its far end: that far the lever of the push reaches, be the narrow
//! stretch as short as it will.
//!
//! # Severity
//!
//! `stop` when the wood has no width (outlines touch), when the width is under what
//! the rule calls failing ([`Needed::stop_width`]: an average board breaks there, or
//! too little is left of what practice asks), or under [`CRUMBLES`]. `care` otherwise.

use kurbo::{Point, Vec2};

use super::held::Hangs;
use super::islands::Islands;
use super::options::Options;
use super::site::{EDGE, Owner, Site, TOUCH, middle, wood};
use super::{Bank, Bridge, held};
use crate::diag::Severity;
use crate::geom::Spot;
use crate::geom::boundary::tangent;
use crate::geom::cells::{Cells, Cut};
use crate::geom::hull::hull;
use crate::geom::medial::{self, Finger, Medial, Neck, Thin, Walk};
use crate::geom::tolerance::REPORT;
use crate::trade::strength::{CAP, Governor, Hold, Limit, Needed, Span, floor_width};
use crate::units::Mm;

/// Wood narrower than this, mm, crumbles at the saw whatever the rule says: a
/// little more than a blade's own kerf. Assumption.
const CRUMBLES: f64 = 1.0;
/// Wood up to this many times its least width thick is bridge, not root. Assumption;
/// see the module's text.
pub(crate) const ROOT: f64 = 1.25;
/// No free length or stretch is followed farther, mm: longer than any panel's
/// bar needs to be for the rule to have reached its cap.
pub(crate) const LONGEST: f64 = 250.0;

/// What was measured of the wood.
pub(crate) struct Wood {
    /// The discs along all outlines in the wood.
    pub(crate) medial: Medial,
    minima: Vec<Neck>,
    /// Fingers without a least width, at their roots.
    fingers: Vec<Finger>,
    contacts: Vec<Cut>,
    /// The wood's connected parts.
    pub(crate) parts: Cells,
}

impl Wood {
    pub(crate) fn new(site: &Site<'_>, options: &Options) -> Self {
        let medial = wood(site, widest(site, options) / 2.0);
        let mut minima = medial.minima(&site.all);
        let contacts = site.contacts(&minima);
        minima.retain(|neck| neck.span.width < TOUCH || !medial.is_stub(&site.all, neck));
        let fingers = medial.fingers(&site.all, &minima);
        let parts = Cells::new(&site.all, &contacts);
        Self { medial, minima, fingers, contacts, parts }
    }
}

/// The widest bridge any rule asks for on this panel, mm: nothing wider needs
/// looking at.
fn widest(site: &Site<'_>, options: &Options) -> f64 {
    match options.bridge {
        Limit::Fixed(width) => medial::seen_up_to(width.get()),
        Limit::Derived(_) => {
            let longest = Mm::new(LONGEST);
            let span = |grain_deg| Span {
                thickness: site.face.panel.thickness,
                free_length: longest,
                reach: longest,
                grain_deg,
                hold: Hold::OneEnd,
            };
            let floor = |grain_deg| floor_width(options.wood.kind, &span(grain_deg)).get();
            CAP * floor(0.0).max(floor(90.0))
        }
    }
}

/// A narrow place with its measures, before it is known what hangs on it.
#[derive(Clone, Copy)]
struct Candidate {
    neck: Neck,
    grain_deg: f64,
    free_length: f64,
}

impl Candidate {
    /// What is needed here for what hangs on it.
    fn needed(&self, site: &Site<'_>, Hanging { area, tip }: Hanging, options: &Options) -> Needed {
        let reach = tip.map_or(0.0, |tip| tip.distance(middle(self.neck.span.feet)));
        needed(site, self.grain_deg, self.free_length, (area > 0.0).then_some(reach), options)
    }
}

/// The bridges narrower than needed, worst first.
pub(crate) fn bridges(site: &Site<'_>, wood: &Wood, islands: &Islands, options: &Options) -> Vec<Bridge> {
    let bars = bars(site, wood);
    let candidates: Vec<Candidate> = bars.iter().flatten().copied().collect();
    let mut hangs = what_hangs(site, wood, &candidates).into_iter();
    // Of the narrow places of one bar the weakest is told, by what hangs on each.
    let mut bridges: Vec<Bridge> = bars
        .iter()
        .filter_map(|bar| {
            let all = bar.iter().zip(hangs.by_ref().take(bar.len()));
            let ratio =
                |c: &Candidate, h: Hanging| c.neck.span.width / c.needed(site, h, options).width.get().max(1e-9);
            let worst = all.map(|(c, h)| (ratio(c, h), c, h)).reduce(|a, b| if b.0 < a.0 { b } else { a });
            worst.and_then(|(_, candidate, hanging)| judge(site, wood, islands, candidate, hanging, options))
        })
        .collect();
    bridges.extend(touching(site, wood, islands, options));
    bridges.sort_by(|a, b| {
        let ratio = |x: &Bridge| x.width / x.needed.max(1e-9);
        let at = |x: &Bridge| middle(x.feet);
        let worst = b.severity.cmp(&a.severity).then(ratio(a).total_cmp(&ratio(b)));
        worst.then(at(b).y.total_cmp(&at(a).y)).then(at(a).x.total_cmp(&at(b).x))
    });
    for (id, bridge) in (1..).zip(&mut bridges) {
        bridge.id = id;
    }
    bridges
}

/// The narrow places of each bar; a finger is a bar of its own.
fn bars(site: &Site<'_>, wood: &Wood) -> Vec<Vec<Candidate>> {
    let of_group = |group: Vec<u32>| group.iter().map(|&i| candidate(site, wood, &wood.minima[i as usize])).collect();
    let groups = wood.medial.group(&wood.minima).into_iter().map(of_group);
    groups.chain(wood.fingers.iter().map(|finger| vec![of_finger(site, wood, finger)])).collect()
}

fn candidate(site: &Site<'_>, wood: &Wood, neck: &Neck) -> Candidate {
    let free_length = thin_length(site, wood, neck, ROOT * neck.span.width);
    Candidate { neck: *neck, grain_deg: grain_deg(site, neck.span.spots[0], neck.span.feet), free_length }
}

/// A finger stands free over all its length at least, in its own direction, and is as
/// wide as square to that.
fn of_finger(site: &Site<'_>, wood: &Wood, finger: &Finger) -> Candidate {
    let mut root = finger.root;
    root.span.width = finger.along.normalize().cross(root.span.feet[1] - root.span.feet[0]).abs();
    let at_root = candidate(site, wood, &root);
    let grain_deg = to_grain(site, finger.along);
    Candidate { free_length: at_root.free_length.max(finger.length), grain_deg, ..at_root }
}

/// Angle between the bridge's direction, square to the line across it, and the
/// grain; 0 to 90. Where outlines touch the bridge runs square to them.
fn grain_deg(site: &Site<'_>, spot: Spot, feet: [Point; 2]) -> f64 {
    let across = feet[1] - feet[0];
    let along = if across.hypot() > TOUCH {
        Vec2::new(-across.y, across.x)
    } else {
        tangent(&site.all.rings()[spot.ring as usize].segs()[spot.mark.seg as usize], spot.mark.t)
    };
    to_grain(site, along)
}

/// Angle between a direction and the grain, 0 to 90.
fn to_grain(site: &Site<'_>, along: Vec2) -> f64 {
    let turn = (along.atan2().to_degrees() - site.face.panel.grain_deg).rem_euclid(180.0);
    turn.min(180.0 - turn)
}

/// What is needed over a free length; `reach` is that of what hangs on it alone.
fn needed(site: &Site<'_>, grain_deg: f64, free_length: f64, reach: Option<f64>, options: &Options) -> Needed {
    let hold = if reach.is_some() { Hold::OneEnd } else { Hold::BothEnds };
    let (free_length, reach) = (Mm::new(free_length), Mm::new(reach.unwrap_or(0.0)));
    let span = Span { thickness: site.face.panel.thickness, free_length, reach, grain_deg, hold };
    options.bridge.needed(&options.wood, &span)
}

/// Length along the middle of the wood, both ways from the neck, over which it
/// is thinner than `most`. Each way is walked along both banks.
fn thin_length(site: &Site<'_>, wood: &Wood, neck: &Neck, most: f64) -> f64 {
    let start = middle(neck.span.feet);
    let walk = |bank: usize, onward: bool| {
        let station = neck.stations[bank]?;
        let same = neck.span.spots[0].ring == neck.span.spots[1].ring;
        let walk = Walk {
            ring: neck.span.spots[bank].ring,
            station,
            onward,
            start,
            thickness: neck.span.width,
            most,
            across: if same { None } else { Some(neck.span.spots[1 - bank].ring) },
            stop: if same { neck.stations[1 - bank] } else { None },
            longest: LONGEST,
        };
        Some(wood.medial.thin_length(&site.all, &walk))
    };
    let of_both = |a: Option<Thin>, b: Option<Thin>| match (a, b) {
        (Some(a), Some(b)) => a.of_both(b).length,
        (a, b) => a.or(b).map_or(0.0, |thin| thin.length),
    };
    of_both(walk(0, true), walk(1, false)) + of_both(walk(0, false), walk(1, true))
}

/// What comes loose if a place breaks.
#[derive(Clone, Copy, Default)]
struct Hanging {
    /// Its area, mm²; 0 when nothing does.
    area: f64,
    /// Its point farthest from the place.
    tip: Option<Point>,
}

/// For every candidate, what comes loose if it breaks.
fn what_hangs(site: &Site<'_>, wood: &Wood, candidates: &[Candidate]) -> Vec<Hanging> {
    let mut cuts = wood.contacts.clone();
    cuts.extend(candidates.iter().map(|c| {
        let across = c.neck.span.feet[1] - c.neck.span.feet[0];
        Cut { spots: c.neck.span.spots, toward: [across, -across] }
    }));
    let mut holds = vec![false; wood.contacts.len()];
    holds.extend(candidates.iter().map(|c| c.neck.span.width >= TOUCH));
    let cells = Cells::new(&site.all, &cuts);
    let anchors = cells.of_ring(EDGE);
    let held = held::hangs(&cells, &holds, &anchors);
    let of_candidates = &held.cuts[wood.contacts.len()..];
    if of_candidates.iter().all(|hangs| hangs.loose <= 0.0) {
        return vec![Hanging::default(); candidates.len()];
    }
    let hulls: Vec<Vec<Point>> = cells.samples(&site.all).iter().map(|samples| hull(samples, 0.0)).collect();
    let hanging = |(candidate, hangs): (&Candidate, &Hangs)| {
        let from = middle(candidate.neck.span.feet);
        let points = held.loose_parts(hangs).iter().flat_map(|&part| &hulls[part as usize]);
        let tip = points.copied().max_by(|a, b| a.distance_squared(from).total_cmp(&b.distance_squared(from)));
        Hanging { area: hangs.loose, tip }
    };
    candidates.iter().zip(of_candidates).map(hanging).collect()
}

fn judge(
    site: &Site<'_>,
    wood: &Wood,
    islands: &Islands,
    candidate: &Candidate,
    hanging: Hanging,
    options: &Options,
) -> Option<Bridge> {
    let Candidate { neck, grain_deg, free_length } = candidate;
    let Hanging { area: loose_area, tip } = hanging;
    let needed = candidate.needed(site, hanging, options);
    let width = neck.span.width;
    // A crumb smaller than the kerf goes with the dust, bridge and all.
    let crumb = loose_area > 0.0 && loose_area < libm::pow(options.blade.kerf.get(), 2.0);
    // What a report cannot tell apart is enough.
    if width + REPORT >= needed.width.get() || width < TOUCH || crumb {
        return None;
    }
    Some(Bridge {
        id: 0,
        width,
        feet: neck.span.feet,
        between: neck.span.spots.map(|spot| bank(site, wood, islands, spot)),
        grain_deg: *grain_deg,
        stretch: thin_length(site, wood, neck, needed.width.get()),
        free_length: *free_length,
        needed: needed.width.get(),
        stop_width: needed.stop_width().get(),
        derivation: derivation(&needed, width, options),
        loose_area,
        tip,
        severity: severity(width, &needed),
    })
}

fn severity(width: f64, needed: &Needed) -> Severity {
    let fixed = needed.governed_by == Governor::Fixed;
    let crumbles = !fixed && width < CRUMBLES;
    if width < needed.stop_width().get() || crumbles { Severity::Stop } else { Severity::Care }
}

fn derivation(needed: &Needed, width: f64, options: &Options) -> Vec<String> {
    let mut steps = needed.steps(options.unit);
    let ratio = needed.ratio(Mm::new(width));
    let (there_is, _) = Mm::new(width).short_of(needed.width, options.unit);
    steps.push(format!("there is {there_is}: {:.0} % of the needed width", ratio * 100.0));
    steps
}

fn bank(site: &Site<'_>, wood: &Wood, islands: &Islands, spot: Spot) -> Bank {
    match site.owners[spot.ring as usize] {
        Owner::Panel => Bank::Edge,
        Owner::CutOut(index) => Bank::CutOut(site.face.cutouts[index].id),
        Owner::Hole(index) => {
            islands.at(&wood.parts, spot).map_or(Bank::CutOut(site.face.cutouts[index].id), Bank::Island)
        }
    }
}

/// Bridges of no width: places where outlines touch.
fn touching(site: &Site<'_>, wood: &Wood, islands: &Islands, options: &Options) -> Vec<Bridge> {
    let bridge = |cut: &Cut| {
        let feet = cut.spots.map(|spot| site.all.at(spot));
        let grain_deg = grain_deg(site, cut.spots[0], feet);
        let needed = needed(site, grain_deg, 0.0, None, options);
        let sides = cut.spots.map(|spot| wood.parts.at(spot));
        let area = |part: Option<u32>| part.map_or(0.0, |part| wood.parts.cells[part as usize].area);
        Bridge {
            id: 0,
            width: 0.0,
            feet,
            between: cut.spots.map(|spot| bank(site, wood, islands, spot)),
            grain_deg,
            stretch: 0.0,
            free_length: 0.0,
            needed: needed.width.get(),
            stop_width: needed.stop_width().get(),
            derivation: derivation(&needed, 0.0, options),
            loose_area: if sides[0] == sides[1] { 0.0 } else { area(sides[0]).min(area(sides[1])) },
            tip: None,
            severity: Severity::Stop,
        }
    };
    wood.contacts.iter().map(bridge).collect()
}
