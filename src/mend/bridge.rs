//! Bridges to islands, as edits.

use super::candidates::Ground;
use super::network::{Chosen, plan};
use super::prop::Busy;
use super::strip::strip;
use super::work::{Draft, MARGIN, Work, image_of};
use super::{Change, EditKind};
use crate::check::Checks;
use crate::units::Mm;

/// How often the plan is made anew when a bridge turns out not to be drawable.
const RETRIES: usize = 3;

/// The bridges to build, and whether they are proven the cheapest.
pub(super) fn drafts(work: &Work<'_>, checks: &Checks, busy: &mut Busy) -> (Vec<Draft>, bool) {
    if work.wood.islands().next().is_none() {
        return (Vec::new(), true);
    }
    let needed = |span| work.needed_span(span);
    let refused = |candidate: &super::candidates::Candidate| {
        let middle = candidate.feet[0].at.midpoint(candidate.feet[1].at);
        work.refused(EditKind::Bridge, middle)
    };
    let mut failed: Vec<super::candidates::Candidate> = Vec::new();
    for _ in 0..RETRIES {
        let barred = |c: &super::candidates::Candidate| failed.iter().any(|f| f.feet == c.feet);
        let ground =
            Ground { wood: &work.wood, grain: work.grain(), needed: &needed, mirror: work.mirror, barred: &barred };
        let plan = plan(&ground, &[]);
        let mut drafts: Vec<Draft> = Vec::new();
        let mut undrawn = Vec::new();
        for chosen in &plan.bridges {
            if refused(&chosen.candidate) {
                continue;
            }
            if let (true, Some(mirror), Some(before)) = (chosen.mirrored, work.mirror, drafts.last_mut()) {
                before.paired = true;
                let image = image_of(&Draft { finding: island(work, checks, chosen), ..before.clone() }, mirror);
                drafts.push(image);
                continue;
            }
            match draft(work, checks, chosen) {
                Some(draft) => drafts.push(draft),
                None => undrawn.push(chosen.candidate.clone()),
            }
        }
        if undrawn.is_empty() {
            busy.extend(plan.bridges.into_iter().map(|chosen| chosen.candidate));
            return (drafts, plan.proven);
        }
        failed.extend(undrawn);
    }
    (Vec::new(), false)
}

/// The finding of the island a bridge holds.
fn island(work: &Work<'_>, checks: &Checks, chosen: &Chosen) -> Option<String> {
    let node = chosen.candidate.nodes.iter().find(|&&node| !work.wood.nodes[node].ground)?;
    let piece = &work.wood.nodes[*node].piece;
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
    let unit = work.options.checks.unit;
    let grain = match candidate.grain_deg {
        a if a < 20.0 => "along the grain".to_owned(),
        a if a > 70.0 => "across the grain".to_owned(),
        a => format!("at {a:.0}° to the grain"),
    };
    let with = if chosen.alone { "alone" } else { "with the others" };
    let finding = island(work, checks, chosen);
    let held = finding.as_ref().map_or_else(|| "the island".to_owned(), |id| id.replace('-', " "));
    let why = format!(
        "a bridge {} wide and {} long {grain} holds {held} {with}",
        Mm::new(width).text(unit),
        Mm::new(candidate.length).text(unit),
    );
    Some(Draft {
        kind: EditKind::Bridge,
        finding,
        at,
        change: Change::GiveBack(shape),
        width: Some(width),
        length: Some(candidate.length),
        why,
        paired: false,
    })
}
