//! A checked face in figures, and its verdict.

use super::words::counted_kinds;
use super::{Difficulty, Fault, Hardest, Measured, Mended, Outline, Verdict};
use crate::check::Turn;
use crate::diag::{FindingKind, Severity, round3};
use crate::outcome::{ANOTHER_FACE, Outcome};

/// The figures of a checked face, not mended. The verdict is [`judged`]'s.
#[must_use]
pub fn measured(outcome: &Outcome) -> Measured {
    let (verdict, reason) = judged(outcome);
    let (fit, checks, order) = (&outcome.face.fit, &outcome.checks, &outcome.order);
    let best = checks.blades.first();
    Measured {
        width_mm: round3(fit.width_mm),
        height_mm: round3(fit.height_mm),
        scale: (fit.scale * 1e7).round() / 1e7,
        reading: outcome.art.reading.clone(),
        cutouts: outcome.face.cutouts.len() as u32,
        holes: outcome.holes.len() as u32,
        length_mm: round3(order.length),
        minutes: round3(order.minutes),
        faults: faults(outcome),
        stop: outcome.count(Severity::Stop) as u32,
        care: outcome.count(Severity::Care) as u32,
        note: outcome.count(Severity::Note) as u32,
        hardest: checks.turns.first().map(hardest),
        blade: outcome.setup.recommended.clone().or_else(|| best.map(|b| b.blade.clone())),
        blade_does_it: outcome.setup.recommended.is_some(),
        difficulty: Difficulty::of(order.length, outcome.holes.len(), checks),
        verdict,
        reason,
        mended: None,
        outline: Outline::of(&outcome.face),
    }
}

/// The same figures with what mending made of the face: `edits` of them, a part
/// `changed` of the open area, and `after` checked again.
#[must_use]
pub fn mended(before: Measured, after: &Outcome, edits: usize, changed: f64) -> Measured {
    let mended = Mended { edits: edits as u32, changed: round3(changed), after: Box::new(measured(after)) };
    let percent = mended.changed * 100.0;
    let edits = if mended.edits == 1 { "1 edit".to_owned() } else { format!("{} edits", mended.edits) };
    let done = format!("{edits}, {percent:.1} % of the openings changed");
    let left = stops(&mended.after.faults);
    let (verdict, reason) = match (left.is_empty(), other_blade(after, &left)) {
        _ if mended.changed > ANOTHER_FACE => {
            let reason = format!("mending would change {percent:.0} % of the openings: another face");
            (Verdict::NotForThisPanel, reason)
        }
        (true, _) => (Verdict::SoundAfterMending, done),
        (false, Some(blade)) => (Verdict::SoundAfterMending, format!("{blade}; {done}")),
        (false, None) => {
            let left = counted_kinds(&left);
            (Verdict::NotForThisPanel, format!("mending leaves {left}"))
        }
    };
    Measured { verdict, reason, mended: Some(mended), ..before }
}

/// What becomes of a face as it was drawn, and why. Mending is not tried here:
/// what it is for is said to need it.
#[must_use]
pub fn judged(outcome: &Outcome) -> (Verdict, String) {
    let all = faults(outcome);
    let stops = stops(&all);
    let beyond: Vec<Fault> = stops.iter().copied().filter(|fault| !is_mendable(fault.kind)).collect();
    if !beyond.is_empty() {
        let first = outcome.findings.iter().find(|f| f.severity == Severity::Stop && !is_mendable(f.kind));
        return (Verdict::NotForThisPanel, first.map_or_else(|| counted_kinds(&beyond), |f| f.message.clone()));
    }
    if let Some(blade) = other_blade(outcome, &stops) {
        return (Verdict::SawAsIs, blade);
    }
    if !stops.is_empty() {
        return (Verdict::NeedsMending, counted_kinds(&stops));
    }
    match all.iter().filter(|fault| fault.severity == Severity::Care).copied().collect::<Vec<_>>() {
        cares if cares.is_empty() => (Verdict::SawAsIs, "nothing in the way".to_owned()),
        cares => (Verdict::SawAsIs, format!("to mind: {}", counted_kinds(&cares))),
    }
}

/// `with spiral-2: flat-5 stops at 1 tight turn`, when all that stops the work
/// is the blade set up, and another of the drawer does the whole face.
fn other_blade(outcome: &Outcome, stops: &[Fault]) -> Option<String> {
    let setup = &outcome.setup;
    let of_the_blade = |fault: &Fault| matches!(fault.kind, FindingKind::TightTurn | FindingKind::NarrowSlot);
    let best = setup.recommended.as_ref().filter(|best| **best != setup.blade)?;
    let only = !stops.is_empty() && stops.iter().all(of_the_blade);
    only.then(|| format!("with {best}: {} stops at {}", setup.blade, counted_kinds(stops)))
}

/// Whether mending is for faults of `kind`.
const fn is_mendable(kind: FindingKind) -> bool {
    matches!(
        kind,
        FindingKind::Island
            | FindingKind::WeakBridge
            | FindingKind::TightTurn
            | FindingKind::NarrowSlot
            | FindingKind::NoEntry
    )
}

fn stops(faults: &[Fault]) -> Vec<Fault> {
    faults.iter().copied().filter(|fault| fault.severity == Severity::Stop).collect()
}

/// Faults by severity, worst first, and kind. Findings put turns together;
/// here each counts.
fn faults(outcome: &Outcome) -> Vec<Fault> {
    let mut all: Vec<Fault> = Vec::new();
    let mut count = |kind, severity| match all.iter_mut().find(|f| f.kind == kind && f.severity == severity) {
        Some(fault) => fault.count += 1,
        None => all.push(Fault { kind, severity, count: 1 }),
    };
    for finding in outcome.findings.iter().filter(|f| f.kind != FindingKind::TightTurn) {
        count(finding.kind, finding.severity);
    }
    for turn in &outcome.checks.turns {
        count(FindingKind::TightTurn, turn.severity);
    }
    all.sort_by(|a, b| b.severity.cmp(&a.severity).then(a.kind.cmp(&b.kind)));
    all
}

fn hardest(turn: &Turn) -> Hardest {
    Hardest {
        kind: turn.kind,
        technique: turn.technique,
        radius_mm: round3(turn.radius),
        limit_mm: round3(turn.limit),
        angle_deg: round3(turn.angle_deg),
        x_mm: round3(turn.at.x),
        y_mm: round3(turn.at.y),
    }
}
