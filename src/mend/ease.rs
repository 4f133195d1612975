//! Turns eased, slots opened, room made for entry holes.

use kurbo::{BezPath, Circle, Point, Rect, Shape, Vec2};

use super::march::{March, Stop, both_ways};
use super::prop::LARGEST_LOST;
use super::sweep::{Knot, sweep};
use super::wood::Bound;
use super::work::{Draft, Work};
use super::{Change, Ease, EditKind};
use crate::check::{self, Slot, Technique, Turn, TurnKind};
use crate::diag::{Finding, Severity};
use crate::face::CutOut;
use crate::geom::Region;
use crate::geom::boolean::{Rule, resolve};
use crate::units::Mm;

/// Room beside the blade in a slot, mm: the sawn edges do not meet.
const SLOT_ROOM: f64 = 0.1;
/// Margin of an entry hole's room, mm.
const HOLE_ROOM: f64 = 0.06;
/// A cut-out with less than this part of the area its entry hole takes is left
/// out instead of enlarged: most of it would be hole.
const SPECK: f64 = 0.6;

/// The edit that eases `turn`, where it is to be eased.
pub(super) fn turn(work: &Work<'_>, turn: &Turn) -> Option<Draft> {
    let wanted = match work.options.turns {
        Ease::Leave => false,
        Ease::Impossible => turn.technique == Technique::None && turn.severity == Severity::Stop,
        Ease::All => turn.technique != Technique::Slow,
    };
    if !wanted || turn.limit <= 0.0 || work.refused(EditKind::Round, turn.at) {
        return None;
    }
    let hit = work.wood.grid.nearest(turn.at, 0.5, |_| true)?;
    let bound = &work.wood.rings[hit.ring];
    let place = bound.place(hit.index, hit.at);
    let half = work.options.checks.blade.kerf.get() / 2.0;
    // The wood's own tips round outward into the waste the blade runs in.
    let is_tip = turn.kind == TurnKind::OutsideCorner || bound.turn(place, 0.5) > 0.0;
    let radius = if is_tip { turn.limit - half } else { turn.limit + half } * 1.02;
    let shape = rounding(bound, place, radius.max(0.05), is_tip)?;
    let unit = work.options.checks.unit;
    let what = if is_tip { "a tip of wood" } else { "a corner of the opening" };
    let why = format!("{what} rounded to {}, the least the blade follows", Mm::new(radius).text(unit));
    let change = if is_tip { Change::OpenUp(shape) } else { Change::GiveBack(shape) };
    Some(Draft {
        kind: EditKind::Round,
        finding: Some(format!("turn-{}", turn.id)),
        at: turn.at,
        change,
        width: None,
        length: None,
        why,
        paired: false,
    })
}

/// The area between the outline near `place` and an arc of `radius` tangent to
/// it on both sides.
fn rounding(bound: &Bound, place: f64, radius: f64, is_tip: bool) -> Option<Region> {
    /// Arm for directions, mm.
    const ARM: f64 = 0.08;
    /// How far the shape reaches past the outline, mm.
    const PAST: f64 = 0.2;
    let most = (bound.length() / 6.0).min(6.0 * radius);
    let turned = |reach: f64| {
        let (a, b) = (bound.tangent(place - reach, ARM), bound.tangent(place + reach, ARM));
        a.cross(b).atan2(a.dot(b)).abs()
    };
    let fits = |reach: f64| reach >= radius * (turned(reach) / 2.0).min(1.5).tan();
    let reach = (1..=60).map(|i| most * f64::from(i) / 60.0).find(|&reach| fits(reach))?;
    let (from, to) = (place - reach, place + reach);
    let (a, b) = (bound.at(from), bound.at(to));
    let angle = turned(reach);
    let handle = reach * (4.0 / 3.0) * (angle / 4.0).tan() / (angle / 2.0).tan().max(1e-6);
    let (ta, tb) = (bound.tangent(from, ARM), bound.tangent(to, ARM));
    // The part past the outline: into the wood when wood is given back, into
    // the waste when it is opened.
    let past = |s: f64| bound.at(s) + bound.outward(s, ARM) * if is_tip { PAST } else { -PAST };
    let mut path = BezPath::new();
    path.move_to(a);
    path.curve_to(a + ta * handle, b - tb * handle, b);
    path.line_to(past(to));
    for s in bound.between(from, to).into_iter().rev() {
        path.line_to(past(s));
    }
    path.line_to(past(from));
    path.close_path();
    Some(resolve(&path, Rule::NonZero))
}

/// The edit that opens `slot` to the kerf, or leaves a speck out.
pub(super) fn slot(work: &Work<'_>, slot: &Slot) -> Option<Draft> {
    if work.refused(EditKind::Slot, slot.at) {
        return None;
    }
    let finding = Some(format!("slot-{}", slot.id));
    let cutout = work.face.cutouts.iter().find(|c| c.id == slot.cutout)?;
    let width = slot.needed + SLOT_ROOM;
    if cutout.piece.area() < SPECK * width * width {
        return left_out(work, cutout, slot.at, finding, TOO_SMALL);
    }
    let asked = work.ruling(EditKind::Slot, slot.at).and_then(|ruling| ruling.width);
    let width = asked.unwrap_or(width);
    let bank = work.wood.grid.nearest(slot.at, slot.needed, |_| true)?;
    let across = bank.at - slot.at;
    let dir = if across.hypot() > 1e-6 { Vec2::new(-across.y, across.x).normalize() } else { Vec2::new(0.0, 1.0) };
    let stops = both_ways(&work.wood.grid, slot.at, dir, &March { most: width, longest: check::LONGEST });
    let (room, half) = (work.room(), width / 2.0);
    let knots: Vec<Knot> =
        narrow(&stops, slot, width).iter().map(|stop| (kept_in(room, stop.at, half), half)).collect();
    let length: f64 = knots.windows(2).map(|k| k[0].0.distance(k[1].0)).sum();
    let why = format!(
        "a slot {:.2} wide opened to {:.2} over {:.1}: the kerf is {:.2}",
        Mm::new(slot.width),
        Mm::new(width),
        Mm::new(length),
        Mm::new(slot.needed)
    );
    Some(Draft {
        kind: EditKind::Slot,
        finding,
        at: slot.at,
        change: Change::OpenUp(sweep(&knots)),
        width: Some(width),
        length: Some(length),
        why,
        paired: false,
    })
}

/// The middle of a round of waste opened at `at`, moved from the clearance as little as
/// keeps the whole of it in `room`.
fn kept_in(room: Rect, at: Point, radius: f64) -> Point {
    let kept = |at: f64, low: f64, high: f64| at.min(high - radius).max(low + radius);
    Point::new(kept(at.x, room.x0, room.x1), kept(at.y, room.y0, room.y1))
}

/// The stops to widen: all that are narrow round the slot, but not the way down
/// into a pointed end, which narrows without end and is no slot.
fn narrow<'a>(stops: &'a [Stop], slot: &Slot, width: f64) -> &'a [Stop] {
    let near = |i: &usize| stops[*i].at.distance(slot.at);
    let here = (0..stops.len()).min_by(|a, b| near(a).total_cmp(&near(b))).unwrap_or(0);
    let whole = stops.iter().all(|stop| stop.thickness < width);
    let end = |order: &mut dyn Iterator<Item = usize>| {
        let way: Vec<usize> = order.collect();
        let opens = way.last().is_some_and(|&i| stops[i].thickness >= width);
        let widest = way.iter().copied().max_by(|&a, &b| stops[a].thickness.total_cmp(&stops[b].thickness));
        if opens || whole { way.last().copied() } else { widest }.unwrap_or(here)
    };
    let (first, last) = (end(&mut (0..=here).rev()), end(&mut (here..stops.len())));
    &stops[first..=last]
}

/// The edit that makes room for an entry hole where `finding` says there is
/// none, or leaves a speck out.
pub(super) fn entry(work: &Work<'_>, finding: &Finding) -> Option<Draft> {
    let (at, limit, widest) = (finding.at?, finding.limit?, finding.measured?);
    let cutout = work.face.cutouts.iter().find(|c| holds(c, at))?;
    if work.refused(EditKind::EntryRoom, at) || widest >= limit {
        return None;
    }
    let radius = limit / 2.0 + HOLE_ROOM;
    let id = Some(finding.id.clone());
    if cutout.piece.area() < SPECK * std::f64::consts::PI * radius * radius {
        return left_out(work, cutout, at, id, TOO_SMALL);
    }
    let shape = resolve(&Circle::new(kept_in(work.room(), at, radius), radius).to_path(1e-4), Rule::NonZero);
    let why = format!("room for an entry hole: {} across where there was {}", Mm::new(2.0 * radius), Mm::new(widest));
    Some(Draft {
        kind: EditKind::EntryRoom,
        finding: id,
        at,
        change: Change::OpenUp(shape),
        width: Some(2.0 * radius),
        length: None,
        why,
        paired: false,
    })
}

/// The edit that leaves out the small cut-out of which `finding` says that no
/// entry hole finds room, where room was not to be made either.
pub(super) fn unreachable(work: &Work<'_>, finding: &Finding) -> Option<Draft> {
    let at = finding.at?;
    let cutout = work.face.cutouts.iter().find(|c| holds(c, at))?;
    let small = cutout.piece.area() <= LARGEST_LOST;
    let because = "with no place to thread the blade";
    if small { left_out(work, cutout, at, Some(finding.id.clone()), because) } else { None }
}

const TOO_SMALL: &str = "too small to saw";

fn holds(cutout: &CutOut, at: Point) -> bool {
    let rings: Vec<_> = cutout.piece.rings().map(|ring| ring.flatten(0.02)).collect();
    cutout.piece.bounds().contains(at) && rings.iter().filter(|ring| ring.contains(at)).count() % 2 == 1
}

/// Gives the whole of a cut-out back.
fn left_out(work: &Work<'_>, cutout: &CutOut, at: Point, finding: Option<String>, because: &str) -> Option<Draft> {
    if work.refused(EditKind::LeaveOut, at) {
        return None;
    }
    let why = format!("a cut-out of {:.1} mm², {because}, left out", cutout.piece.area());
    let outer = crate::geom::Piece { outer: cutout.piece.outer.clone(), holes: Vec::new() };
    let shape = Region { pieces: vec![outer] };
    Some(Draft {
        kind: EditKind::LeaveOut,
        finding,
        at,
        change: Change::GiveBack(shape),
        width: None,
        length: None,
        why,
        paired: false,
    })
}
