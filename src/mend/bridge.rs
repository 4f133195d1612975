//! Bridges to islands, as edits.

use super::candidates::{Candidate, Ground, Span};
use super::network::{Chosen, plan};
use super::prop::{Busy, PAST};
use super::rescue::{Rescue, rescues};
use super::strip::strip;
use super::work::{Draft, MARGIN, Work, image_of, in_pairs};
use super::{Change, EditKind};
use crate::check::Checks;
use crate::geom::Region;
use crate::geom::boolean::{Rule, resolve};
use crate::units::Mm;

/// How often the plan is made anew when a bridge turns out not to be drawable.
const RETRIES: usize = 3;

/// The bridges to build, the islands let fall, and whether the bridges are
/// proven the cheapest.
pub(super) fn drafts(work: &Work<'_>, checks: &Checks, busy: &mut Busy) -> (Vec<Draft>, bool) {
    if work.wood.islands().next().is_none() {
        return (Vec::new(), true);
    }
    let needed = |span| work.needed(span);
    let (crumbs, fallen) = crumbs(work, checks);
    let crumbs = in_pairs(crumbs, work.mirror);
    let mut failed: Vec<Candidate> = Vec::new();
    let mut last = None;
    for _ in 0..RETRIES {
        let barred = |c: &Candidate| failed.iter().any(|f| f.feet == c.feet);
        let ground =
            Ground { wood: &work.wood, grain: work.grain(), needed: &needed, mirror: work.mirror, barred: &barred };
        let plan = plan(&ground, &fallen);
        let planned = planned(work, checks, &plan.bridges);
        let undrawn = planned.undrawn.clone();
        last = Some((planned, plan.proven));
        if undrawn.is_empty() {
            break;
        }
        failed.extend(undrawn);
    }
    let Some((planned, proven)) = last else { return (crumbs, true) };
    let refused = |c: &Candidate| refused(work, c);
    let ground =
        Ground { wood: &work.wood, grain: work.grain(), needed: &needed, mirror: work.mirror, barred: &refused };
    // An island a bridge was refused for is the maker's to let fall.
    let left: Vec<usize> =
        work.wood.islands().filter(|n| !fallen.contains(n) && !planned.refused.contains(n)).collect();
    let rescues = rescues(work, &ground, &left, &planned.built);
    let mut drafts = planned.drafts;
    drafts.extend(in_pairs(rescues.iter().map(|r| rescue(work, checks, r)).collect(), work.mirror));
    drafts.extend(crumbs);
    busy.extend(planned.built);
    busy.extend(rescues.into_iter().map(|rescue| rescue.candidate));
    (drafts, proven)
}

/// A plan as edits.
struct Planned {
    drafts: Vec<Draft>,
    built: Vec<Candidate>,
    /// Bridges whose shape cannot be drawn.
    undrawn: Vec<Candidate>,
    /// Islands a bridge was refused for.
    refused: Vec<usize>,
}

fn planned(work: &Work<'_>, checks: &Checks, bridges: &[Chosen]) -> Planned {
    let mut planned = Planned { drafts: Vec::new(), built: Vec::new(), undrawn: Vec::new(), refused: Vec::new() };
    let mut drawn = false;
    for chosen in bridges {
        if refused(work, &chosen.candidate) {
            planned.refused.extend(chosen.candidate.nodes);
            drawn = false;
            continue;
        }
        if chosen.mirrored && !drawn {
            planned.undrawn.push(chosen.candidate.clone());
            continue;
        }
        if let (true, Some(mirror), Some(before)) = (chosen.mirrored, work.mirror, planned.drafts.last_mut()) {
            before.paired = true;
            let finding = island(work, checks, &chosen.candidate);
            let image = image_of(&Draft { finding, ..before.clone() }, mirror);
            planned.drafts.push(image);
            planned.built.push(chosen.candidate.clone());
            continue;
        }
        let shaped = draft(work, checks, chosen);
        drawn = shaped.is_some();
        match shaped {
            Some(draft) => {
                planned.drafts.push(draft);
                planned.built.push(chosen.candidate.clone());
            }
            None => planned.undrawn.push(chosen.candidate.clone()),
        }
    }
    planned
}

fn refused(work: &Work<'_>, candidate: &Candidate) -> bool {
    work.refused(EditKind::Bridge, candidate.feet[0].at.midpoint(candidate.feet[1].at))
}

/// Islands smaller than the bridge that would hold them, let fall: as edits and
/// as node numbers.
fn crumbs(work: &Work<'_>, checks: &Checks) -> (Vec<Draft>, Vec<usize>) {
    let bridge = work.needed(Span::held(0.0, 0.0));
    let small = |&n: &usize| {
        let node = &work.wood.nodes[n];
        node.area < bridge * bridge && !work.refused(EditKind::Trim, node.center)
    };
    let fallen: Vec<usize> = work.wood.islands().filter(small).collect();
    (fallen.iter().map(|&n| crumb(work, checks, n)).collect(), fallen)
}

fn crumb(work: &Work<'_>, checks: &Checks, n: usize) -> Draft {
    let node = &work.wood.nodes[n];
    let why = format!("an island of {:.1} mm², smaller than the bridge that would hold it, is let fall", node.area);
    Draft {
        kind: EditKind::Trim,
        finding: island_of(work, checks, n),
        at: node.center,
        change: Change::OpenUp(filled(work, n)),
        width: None,
        length: None,
        why,
        paired: false,
    }
}

/// The whole of a piece of wood and the openings in it, reaching a little into
/// the waste round it.
fn filled(work: &Work<'_>, n: usize) -> Region {
    let bound = work.wood.outer(n);
    let mut path = kurbo::BezPath::new();
    path.move_to(bound.beyond(0.0, PAST));
    (1..bound.len()).for_each(|i| path.line_to(bound.beyond(bound.along[i], PAST)));
    path.close_path();
    resolve(&path, Rule::NonZero)
}

/// The finding of the island a bridge holds.
fn island(work: &Work<'_>, checks: &Checks, candidate: &Candidate) -> Option<String> {
    let node = candidate.nodes.iter().find(|&&node| !work.wood.nodes[node].ground)?;
    island_of(work, checks, *node)
}

fn island_of(work: &Work<'_>, checks: &Checks, node: usize) -> Option<String> {
    let piece = &work.wood.nodes[node].piece;
    let outer = piece.outer.flatten(super::wood::FLAT);
    let holes: Vec<_> = piece.holes.iter().map(|hole| hole.flatten(super::wood::FLAT)).collect();
    let inside = |at| outer.contains(at) && !holes.iter().any(|hole| hole.contains(at));
    checks.islands.iter().find(|island| inside(island.at)).map(|island| format!("island-{}", island.id))
}

fn draft(work: &Work<'_>, checks: &Checks, chosen: &Chosen) -> Option<Draft> {
    let candidate = &chosen.candidate;
    let at = candidate.feet[0].at.midpoint(candidate.feet[1].at);
    let asked = work.ruling(EditKind::Bridge, at).and_then(|ruling| ruling.width);
    let width = asked.unwrap_or(chosen.width() + MARGIN);
    let shape = strip(&work.wood, candidate, width, work.fillet())?;
    Some(bridge(work, checks, candidate, width, shape, chosen.alone))
}

fn rescue(work: &Work<'_>, checks: &Checks, rescue: &Rescue) -> Draft {
    bridge(work, checks, &rescue.candidate, rescue.width, rescue.shape.clone(), true)
}

fn bridge(work: &Work<'_>, checks: &Checks, candidate: &Candidate, width: f64, shape: Region, alone: bool) -> Draft {
    let unit = work.options.checks.unit;
    let grain = match candidate.grain_deg {
        a if a < 20.0 => "along the grain".to_owned(),
        a if a > 70.0 => "across the grain".to_owned(),
        a => format!("at {a:.0}° to the grain"),
    };
    let with = if alone { "alone" } else { "with the others" };
    let finding = island(work, checks, candidate);
    let why = format!(
        "a bridge {} wide and {} long {grain} holds its island {with}",
        Mm::new(width).text(unit),
        Mm::new(candidate.length).text(unit),
    );
    Draft {
        kind: EditKind::Bridge,
        finding,
        at: candidate.feet[0].at.midpoint(candidate.feet[1].at),
        change: Change::GiveBack(shape),
        width: Some(width),
        length: Some(candidate.length),
        why,
        paired: false,
    }
}
