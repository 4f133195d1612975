//! The cheapest way to mend a weak bridge.
//!
//! Widening is one way. A long bar is often better propped: a short bridge
//! across the opening beside it halves its free length, and a tongue of wood
//! held at one end only is held at both once its far end is propped. A small
//! opening beside it may cost less to leave out than either.

use super::candidates::{Candidate, Foot, Ground, props};
use super::lean::leant;
use super::march::Stop;
use super::strip::strip;
use super::thicken::{Bar, bar, draft as widened, hold, middle, needs_of, open, patched, shortfall};
use super::work::{Draft, MARGIN, Props, Work};
use super::{Change, EditKind};
use crate::check::{Bank, Bridge};
use crate::geom::boolean::{Rule, resolve};
use crate::geom::{Piece, Region};
use crate::trade::strength::Hold;
use crate::units::Mm;

/// Distance between the places a prop is tried at, mm; most of them.
const STEP: f64 = 1.5;
const MOST_PLACES: usize = 60;
/// Penalty for each mm of tongue beyond its prop, in widths, past a free part.
const OVERHANG: f64 = 0.4;
const FREE_OVERHANG: f64 = 6.0;
/// A prop shows where the drawing had none, and parts an opening, which takes one more
/// hole to drill and thread; widening only moves a line. Judgement: on silhouettes a
/// fifth of the props went at 2 for 1.3 with as little changed, at 3 more was.
const SHOWS: f64 = 2.0;
/// No prop is looked for where mending costs less than this anyway, mm²: the
/// smallest bridge over the smallest gap.
const WORTH_A_PROP: f64 = 6.0;
/// A tongue sawn off costs more than its area, mm² a mm², and again as much for every
/// so many mm² of it: a tip is not missed, a mouth's corner is. Judgement, looked at on
/// silhouettes.
const SAWN_OFF: f64 = 2.0;
const MISSED: f64 = 10.0;
/// None larger is sawn off, mm².
const LARGEST_SAWN_OFF: f64 = 60.0;
/// A detail left out costs more than its area, and never more than this, mm².
const LOST: f64 = 2.5;
pub(super) const LARGEST_LOST: f64 = 30.0;

/// Reach of wood sawn off into the waste round it, mm.
pub(super) const PAST: f64 = 0.15;

/// What is being built in this round, so that props keep apart.
pub(super) type Busy = Vec<Candidate>;

/// The edit that mends `bridge`; `None` when it was refused, cannot be mended,
/// or should wait for a later round.
pub(super) fn mend(work: &Work<'_>, bridge: &Bridge, busy: &mut Busy) -> Option<Draft> {
    let finding = Some(format!("bridge-{}", bridge.id));
    if let Some(draft) = open(work, bridge, finding.clone()) {
        return Some(draft);
    }
    let at = middle(bridge);
    let ruling = work.ruling(EditKind::Widen, at);
    if let Some(asked) = ruling.map(|r| r.width) {
        let wide = asked.and_then(|width| bar(work, bridge, hold(bridge), Some(width)));
        return wide.map(|wide| widened(work, bridge, &leant(work, bridge, wide), finding));
    }
    let Some(wide) = bar(work, bridge, hold(bridge), None) else {
        return patched(work, bridge, finding);
    };
    // What lacks a hair after a strip to one side is finished on both.
    let wide = if lacks_much(work, bridge) { leant(work, bridge, wide) } else { wide };
    let mut least = wide.cost;
    let mut cheapest = None;
    for (draft, cost) in [lost(work, bridge), trimmed(work, bridge)].into_iter().flatten() {
        if cost < least {
            (least, cheapest) = (cost, Some(draft));
        }
    }
    let prop = if lacks_much(work, bridge) && may_prop(work, &wide) {
        propped(work, bridge, &wide, least, busy)
    } else {
        None
    };
    match prop {
        Some(prop) => {
            let draft = prop_draft(work, bridge, &prop, finding)?;
            busy.push(prop);
            Some(draft)
        }
        None => cheapest.or_else(|| Some(widened(work, bridge, &wide, finding))),
    }
}

/// Whether a bar is so narrow that a prop may be worth it. Widening one that lacks less
/// moves its lines by what nobody sees; a prop cuts what is drawn beside it in two.
fn lacks_much(work: &Work<'_>, bridge: &Bridge) -> bool {
    /// Part of the width needed. Ours.
    const NEARLY: f64 = 0.93;
    bridge.width < NEARLY * work.asked(bridge)
}

/// Whether this bar may be propped.
fn may_prop(work: &Work<'_>, wide: &Bar) -> bool {
    /// A bar comes this near to the middle of a prop that stands against it, mm.
    /// Judgement, no source; tried on silhouettes.
    const STANDS: f64 = 6.0;
    let near = |p: &kurbo::Point| wide.stops.iter().any(|s| s.at.distance(*p) < s.thickness / 2.0 + STANDS);
    match work.props {
        Props::Free => true,
        Props::Once => !work.stood.iter().any(near),
        Props::Never => false,
    }
}

/// The prop that costs less, with what widening it leaves, than `least`, the
/// cheapest way without one.
fn propped(work: &Work<'_>, bridge: &Bridge, wide: &Bar, least: f64, busy: &Busy) -> Option<Candidate> {
    if least < WORTH_A_PROP {
        return None;
    }
    let needed = |span| work.needed(span);
    let barred = |c: &Candidate| {
        let at = c.feet[0].at.midpoint(c.feet[1].at);
        work.refused(EditKind::Prop, at) || busy.iter().any(|b| super::links::collide(b, c))
    };
    let ground =
        Ground { wood: &work.wood, grain: work.grain(), needed: &needed, mirror: work.mirror, barred: &barred };
    let mut best: Option<(f64, Candidate)> = None;
    let mut offer = |cost: f64, candidate: Candidate| {
        if cost < best.as_ref().map_or(least, |b| b.0) {
            best = Some((cost, candidate));
        }
    };
    match hold(bridge) {
        Hold::OneEnd => tongue(work, bridge, &ground, &mut offer),
        Hold::BothEnds => mid_span(work, wide, &ground, &mut offer),
    }
    best.map(|(_, candidate)| candidate)
}

/// Props of a tongue: from anywhere on the loose part's outline to wood beyond
/// it. The root is then held at both ends.
fn tongue(work: &Work<'_>, bridge: &Bridge, ground: &Ground<'_>, offer: &mut dyn FnMut(f64, Candidate)) {
    let Some(loose) = Loose::of(work, bridge) else { return };
    let Some(after) = bar(work, bridge, Hold::BothEnds, None) else { return };
    let bound = &work.wood.rings[loose.ring];
    let span = loose.span(bound.length());
    let count = ((span / STEP) as usize).clamp(6, MOST_PLACES);
    let outline: Vec<kurbo::Point> = (0..48).map(|i| bound.at(loose.from + span * f64::from(i) / 47.0)).collect();
    for i in 0..count {
        let place = (loose.from + span * (i as f64 + 0.5) / count as f64).rem_euclid(bound.length());
        let foot = Foot { at: bound.at(place), ring: loose.ring, place };
        let beyond = |far: &Foot| far.ring != loose.ring || !loose.holds(far.place, bound.length());
        for candidate in props(ground, foot, beyond) {
            let over = outline.iter().map(|p| p.distance(foot.at)).fold(0.0, f64::max) - FREE_OVERHANG;
            let hangs = OVERHANG * candidate.width * over.max(0.0);
            offer(after.cost + SHOWS * candidate.cost + hangs, candidate);
        }
    }
}

/// The part of a ring that bounds what hangs on a bridge.
struct Loose {
    ring: usize,
    from: f64,
    to: f64,
}

impl Loose {
    /// Cuts the ring at the bridge's feet; of the two parts the one whose area
    /// is nearer to what comes loose.
    fn of(work: &Work<'_>, bridge: &Bridge) -> Option<Self> {
        let find = |p| work.wood.grid.nearest(p, 0.1, |_| true);
        let (a, b) = (find(bridge.feet[0])?, find(bridge.feet[1])?);
        if a.ring != b.ring {
            return None;
        }
        let bound = &work.wood.rings[a.ring];
        let places = [bound.place(a.index, a.at), bound.place(b.index, b.at)];
        let area = |from: f64, to: f64| {
            let mut points = vec![bound.at(from)];
            points.extend(bound.between(from, to).into_iter().map(|s| bound.at(s)));
            points.push(bound.at(to));
            let origin = points[0];
            (1..points.len()).map(|i| (points[i - 1] - origin).cross(points[i] - origin)).sum::<f64>() / 2.0
        };
        let off = |from: f64, to: f64| (area(from, to).abs() - bridge.loose_area).abs();
        let (one, other) = (off(places[0], places[1]), off(places[1], places[0]));
        let [from, to] = if one <= other { places } else { [places[1], places[0]] };
        Some(Self { ring: a.ring, from, to })
    }

    /// The tongue's wood, reaching a little into the waste round it.
    fn shape(&self, work: &Work<'_>) -> Region {
        let bound = &work.wood.rings[self.ring];
        let mut path = kurbo::BezPath::new();
        path.move_to(bound.at(self.from));
        for s in bound.between(self.from + PAST, self.to - PAST) {
            path.line_to(bound.beyond(s, PAST));
        }
        path.line_to(bound.at(self.to));
        path.close_path();
        resolve(&path, Rule::NonZero)
    }

    fn span(&self, length: f64) -> f64 {
        (self.to - self.from).rem_euclid(length)
    }

    fn holds(&self, place: f64, length: f64) -> bool {
        (place - self.from).rem_euclid(length) < self.span(length)
    }
}

/// Props of a bar held at both ends: from either bank to wood that is not the
/// bar. Both halves are then bars of their own.
fn mid_span(work: &Work<'_>, wide: &Bar, ground: &Ground<'_>, offer: &mut dyn FnMut(f64, Candidate)) {
    let stops = &wide.stops;
    let count = stops.len();
    let every = (count / MOST_PLACES).max(1);
    for i in (0..count).step_by(every) {
        let halves = halves(work, stops, i);
        if halves >= wide.cost {
            continue;
        }
        for hit in stops[i].banks.iter().flatten().filter(|hit| !work.on_panel(hit.at)) {
            let place = work.wood.rings[hit.ring].place(hit.index, hit.at);
            let foot = Foot { at: hit.at, ring: hit.ring, place };
            let beyond = |far: &Foot| !work.on_panel(far.at) && !along(stops, far);
            for candidate in props(ground, foot, beyond) {
                offer(halves + SHOWS * candidate.cost, candidate);
            }
        }
    }
}

/// Whether a spot stands on the bar's own banks.
fn along(stops: &[Stop], far: &Foot) -> bool {
    stops.iter().any(|stop| stop.at.distance(far.at) < 0.5 * stop.thickness + 0.5)
}

/// Wood that widening the two parts left and right of stop `i` gives back, mm².
fn halves(work: &Work<'_>, stops: &[Stop], i: usize) -> f64 {
    let part = |stops: &[Stop]| shortfall(stops, &needs_of(work, stops, Hold::BothEnds, None));
    part(&stops[..=i]) + part(&stops[i..])
}

fn prop_draft(work: &Work<'_>, bridge: &Bridge, prop: &Candidate, finding: Option<String>) -> Option<Draft> {
    let at = prop.feet[0].at.midpoint(prop.feet[1].at);
    let asked = work.ruling(EditKind::Prop, at).and_then(|ruling| ruling.width);
    let width = asked.unwrap_or(prop.width + MARGIN);
    let shape = strip(&work.wood, prop, width, work.fillet())?;
    let unit = work.options.checks.unit;
    let what = if bridge.loose_area > 0.0 { "a tongue of wood held at one end" } else { "a long thin bar" };
    let why = format!(
        "a bridge {} wide and {} long props {what}, {:.2} wide where {:.2} would be needed",
        Mm::new(width).text(unit),
        Mm::new(prop.length).text(unit),
        Mm::new(bridge.width),
        Mm::new(bridge.needed)
    );
    Some(Draft {
        kind: EditKind::Prop,
        finding,
        at,
        change: Change::GiveBack(shape),
        width: Some(width),
        length: Some(prop.length),
        why,
        paired: false,
    })
}

/// Sawing a small tongue of wood off at its root, and what that costs.
fn trimmed(work: &Work<'_>, bridge: &Bridge) -> Option<(Draft, f64)> {
    let area = bridge.loose_area;
    let at = middle(bridge);
    if area <= 0.0 || area > LARGEST_SAWN_OFF || work.refused(EditKind::Trim, at) {
        return None;
    }
    let loose = Loose::of(work, bridge)?;
    let why = format!(
        "a tongue of {area:.0} mm² sawn off: {:.2} of wood holds it where {:.2} would be needed",
        Mm::new(bridge.width),
        Mm::new(bridge.needed)
    );
    let draft = Draft {
        kind: EditKind::Trim,
        finding: Some(format!("bridge-{}", bridge.id)),
        at,
        change: Change::OpenUp(loose.shape(work)),
        width: None,
        length: None,
        why,
        paired: false,
    };
    Some((draft, SAWN_OFF * area * (1.0 + area / MISSED)))
}

/// Leaving out a small opening beside the bridge, and what that costs.
fn lost(work: &Work<'_>, bridge: &Bridge) -> Option<(Draft, f64)> {
    let ids = bridge.between.iter().filter_map(|bank| if let Bank::CutOut(id) = bank { Some(*id) } else { None });
    let cutouts = ids.filter_map(|id| work.face.cutouts.iter().find(|c| c.id == id));
    let smallest = cutouts.min_by(|a, b| a.piece.area().total_cmp(&b.piece.area()))?;
    let area = smallest.piece.area();
    let at = smallest.piece.bounds().center();
    if area > LARGEST_LOST || work.refused(EditKind::LeaveOut, at) {
        return None;
    }
    let why = format!("a cut-out of {area:.1} mm² left out: the wood beside it would have to be widened by more");
    let outer = Piece { outer: smallest.piece.outer.clone(), holes: Vec::new() };
    let draft = Draft {
        kind: EditKind::LeaveOut,
        finding: Some(format!("bridge-{}", bridge.id)),
        at,
        change: Change::GiveBack(Region { pieces: vec![outer] }),
        width: None,
        length: None,
        why,
        paired: false,
    };
    Some((draft, LOST * area))
}
