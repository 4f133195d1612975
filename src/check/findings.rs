//! What the checks found, in words.

use super::options::Options;
use super::{Bank, Bridge, Checks, Island, Slot, Technique, Throat, Turn, TurnKind};
use crate::diag::{Finding, FindingKind, Severity};
use crate::face::Face;
use crate::units::{Mm, Unit};

/// The findings of `checks`, worst first. Each island, bridge and slot has its
/// own; turns are put together by kind and by how they are done, each group at
/// the place of its hardest.
#[must_use]
pub fn findings(checks: &Checks, face: &Face, options: &Options) -> Vec<Finding> {
    let unit = options.unit;
    let mut findings: Vec<Finding> = checks.islands.iter().map(|i| island(i, face, options)).collect();
    findings.extend(checks.bridges.iter().map(|b| bridge(b, face, unit)));
    findings.extend(checks.slots.iter().map(|s| slot(s, face, options)));
    findings.extend(turns(checks, face, options));
    findings.extend(checks.throat.as_ref().and_then(|t| throat(t, unit)));
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    findings
}

/// The finding, placed in the art when the cut-out came from one element of it.
fn placed(finding: Finding, face: &Face, cutout: u32) -> Finding {
    let place = face.cutouts.iter().find(|c| c.id == cutout).and_then(|c| c.place.clone());
    match place {
        Some(place) => finding.place(place),
        None => finding,
    }
}

/// `cut-out 3`, `cut-outs 1 and 2`, `cut-outs 1, 2 and 5`.
fn cutouts(ids: &[u32]) -> String {
    let names: Vec<String> = ids.iter().map(u32::to_string).collect();
    match names.split_last() {
        None => "a cut-out".to_owned(),
        Some((only, [])) => format!("cut-out {only}"),
        Some((last, rest)) => format!("cut-outs {} and {last}", rest.join(", ")),
    }
}

fn island(island: &Island, face: &Face, options: &Options) -> Finding {
    let around = cutouts(&island.within);
    let kerf = options.blade.kerf.get();
    if island.area < kerf * kerf {
        return crumb(island, face, &around);
    }
    let message = format!("{:.0} mm² of wood falls out of {around}", island.area);
    let advice = match island.inside_island {
        Some(outer) => format!("bridge it to island {outer} around it, or let it go"),
        None => "bridge it to the wood around it, two bridges or more, or let it go".to_owned(),
    };
    let id = format!("island-{}", island.id);
    let finding = Finding::new(id, FindingKind::Island, Severity::Stop, message, advice).at(island.at);
    let finding = Finding { measured: Some(island.area), ..finding };
    placed(finding, face, island.within.first().copied().unwrap_or(0))
}

/// Wood so small that the kerf takes it.
fn crumb(island: &Island, face: &Face, around: &str) -> Finding {
    let message = format!("a crumb of wood smaller than the kerf falls out of {around}");
    let id = format!("island-{}", island.id);
    let finding = Finding::new(id, FindingKind::Island, Severity::Note, message, "let it go with the dust");
    let finding = Finding { measured: Some(island.area), ..finding.at(island.at) };
    placed(finding, face, island.within.first().copied().unwrap_or(0))
}

fn between(banks: [Bank; 2]) -> String {
    let name = |bank| match bank {
        Bank::Edge => "the panel's edge".to_owned(),
        Bank::CutOut(id) => format!("cut-out {id}"),
        Bank::Island(id) => format!("the edge of island {id}"),
    };
    match banks {
        [Bank::CutOut(a), Bank::CutOut(b)] if a == b => format!("two arms of cut-out {a}"),
        [Bank::CutOut(a), Bank::CutOut(b)] => format!("cut-outs {} and {}", a.min(b), a.max(b)),
        [a, b] if a == b => format!("two sides of {}", name(a)),
        [a, b] => format!("{} and {}", name(a.max(b)), name(a.min(b))),
    }
}

fn bridge(bridge: &Bridge, face: &Face, unit: Unit) -> Finding {
    let places = between(bridge.between);
    let (width, needed) = (Mm::new(bridge.width), Mm::new(bridge.needed));
    let grain = match bridge.grain_deg {
        angle if angle < 20.0 => "along the grain".to_owned(),
        angle if angle > 70.0 => "across the grain".to_owned(),
        angle => format!("at {angle:.0}° to the grain"),
    };
    let message = if bridge.width == 0.0 {
        format!("{places} touch: no wood between them")
    } else {
        format!("{width:.2} of wood {grain} between {places}, {} needed", needed.tenths_at_least())
    };
    // Where the lever is what makes it weak, it is told.
    let out = if bridge.reach() > bridge.free_length + bridge.width {
        format!(", reaching {} from it", Mm::new(bridge.reach()).both(unit))
    } else {
        String::new()
    };
    let hangs = if bridge.loose_area > 0.0 {
        format!("; {:.0} mm² hang on it alone{out}", bridge.loose_area)
    } else {
        String::new()
    };
    let advice = format!("widen it to {}{}", needed.both_at_least(unit), hangs);
    let id = format!("bridge-{}", bridge.id);
    let middle = bridge.feet[0].midpoint(bridge.feet[1]);
    let finding = Finding::new(id, FindingKind::WeakBridge, bridge.severity, message, advice);
    let finding = finding.at(middle).measured(bridge.width, bridge.needed);
    match bridge.between.iter().find_map(|bank| if let Bank::CutOut(id) = bank { Some(*id) } else { None }) {
        Some(cutout) => placed(finding, face, cutout),
        None => finding,
    }
}

fn slot(slot: &Slot, face: &Face, options: &Options) -> Finding {
    let (width, kerf) = (Mm::new(slot.width), Mm::new(slot.needed));
    let message = format!("cut-out {} is {width:.2} wide here, the kerf {kerf:.2}", slot.cutout);
    let finer = options.drawer.iter().filter(|b| b.kerf.get() <= slot.width).map(|b| b.name.as_str()).next();
    let advice = match (finer, slot.severity) {
        (Some(blade), _) => format!("take {blade}, or widen it"),
        (None, Severity::Stop) => format!("widen it to {}", kerf.both_at_least(options.unit)),
        (None, _) => "saw once down the middle; it comes out as wide as the kerf".to_owned(),
    };
    let id = format!("slot-{}", slot.id);
    let finding = Finding::new(id, FindingKind::NarrowSlot, slot.severity, message, advice);
    placed(finding.at(slot.at).measured(slot.width, slot.needed), face, slot.cutout)
}

/// One finding for each kind of turn and way to do it, hardest group first.
fn turns(checks: &Checks, face: &Face, options: &Options) -> Vec<Finding> {
    let key = |turn: &Turn| (std::cmp::Reverse(turn.severity), turn.technique, turn.kind);
    let mut sorted: Vec<&Turn> = checks.turns.iter().collect();
    sorted.sort_by_key(|turn| (key(turn), turn.id));
    sorted.chunk_by(|a, b| key(a) == key(b)).filter_map(|group| turn_group(group, checks, face, options)).collect()
}

fn turn_group(group: &[&Turn], checks: &Checks, face: &Face, options: &Options) -> Option<Finding> {
    let hardest = group.first()?;
    let tightest = group.iter().map(|turn| turn.radius).fold(f64::INFINITY, f64::min);
    let blade = &options.blade.name;
    let what = kind_words(hardest.kind, group.len());
    let message = if hardest.limit > 0.0 {
        let limit = Mm::new(hardest.limit);
        format!("{what} tighter than {blade} follows: radius {:.1} against {limit:.1}", Mm::new(tightest))
    } else {
        format!("{what} narrower than the kerf of {blade}")
    };
    let advice = advice(hardest, better(checks, options));
    let id = format!("turn-{}", hardest.id);
    let finding = Finding::new(id, FindingKind::TightTurn, hardest.severity, message, advice);
    let finding = finding.at(hardest.at).measured(tightest, hardest.limit);
    Some(if group.len() == 1 { placed(finding, face, hardest.cutout) } else { finding })
}

fn kind_words(kind: TurnKind, count: usize) -> String {
    let (one, many) = match kind {
        TurnKind::Curve => ("a curve", "curves"),
        TurnKind::InsideCorner => ("an inside corner", "inside corners"),
        TurnKind::OutsideCorner => ("a tip of wood", "tips of wood"),
    };
    if count == 1 { one.to_owned() } else { format!("{count} {many}") }
}

/// The best blade of the drawer, when it is another than the one in the saw and
/// does the whole face.
fn better<'a>(checks: &'a Checks, options: &Options) -> Option<&'a str> {
    let best = checks.blades.first().filter(|verdict| verdict.does_it)?;
    (best.blade != options.blade.name).then_some(best.blade.as_str())
}

fn advice(turn: &Turn, better: Option<&str>) -> String {
    let or = |text: &str| better.map_or(text.to_owned(), |blade| format!("{text}, or take {blade}"));
    match turn.technique {
        Technique::Slow => "turn slowly; the back of the blade scrapes a little".to_owned(),
        Technique::SwingInWaste => "saw past the tip, swing round in the waste and come back on the line".to_owned(),
        Technique::ComeInTwice => "saw to the point, back out, and come in from the other side".to_owned(),
        Technique::Spin => "nibble the waste free and spin the work round the blade".to_owned(),
        Technique::CornerHole => or("drill a small hole in it first"),
        Technique::None if turn.severity == Severity::Stop => or("open the bend out; the waste has no room to turn"),
        Technique::None => or("leave it a little round, or finish it with a file"),
    }
}

fn throat(throat: &Throat, unit: Unit) -> Option<Finding> {
    if throat.reach <= throat.depth {
        return None;
    }
    let (reach, depth) = (Mm::new(throat.reach), Mm::new(throat.depth));
    let message = format!(
        "the panel reaches {} past the blade, the throat {}",
        reach.both_at_least(unit),
        depth.both_at_most(unit)
    );
    let advice = match throat.rotates {
        true => "saw these cuts from the other end, or take a spiral blade and hold the panel one way",
        false => "hold the panel the other way round, or saw a smaller panel",
    };
    let finding = Finding::new("throat", FindingKind::Throat, Severity::Care, message, advice);
    Some(finding.at(throat.from).measured(throat.reach, throat.depth))
}
