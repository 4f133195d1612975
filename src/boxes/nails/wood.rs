//! What the wood says to the nails of each row: whether it splits, whether a
//! line keeps from the wood's edges, whether the points reach far enough.

use super::rows::Row;
use super::rules::{self, Driving, NailWood};
use crate::boxes::design::Design;
use crate::diag::{Finding, FindingKind, Severity};
use crate::units::{Mm, Unit};

/// Remarks on the rows there are; each remark names the joints it is about.
pub(super) fn findings(design: &Design, wood: &NailWood, driving: Driving, rows: &[Row], unit: Unit) -> Vec<Finding> {
    let mut findings = Vec::new();
    if driving != Driving::Predrilled {
        findings.extend(split(design, wood, rows, unit));
    } else if !design.nail.predrilled {
        findings.push(dense(wood));
    }
    findings.extend(edge(design, driving, rows, unit));
    findings.extend(end(design, driving, rows, unit));
    findings.extend(reach(design, rows, unit));
    findings
}

/// Joints where a size falls short of `needed`, with the least there, `9.5 mm
/// at the wall corners and the base, 6.3 mm at the lid strips`; and the least
/// of all.
fn short(rows: &[Row], needed: f64, unit: Unit, size: impl Fn(&Row) -> f64) -> Option<(String, f64)> {
    let mut joints: Vec<(&str, f64)> = Vec::new();
    for (words, have) in rows.iter().map(|row| (row.kind.words(), size(row))).filter(|(_, have)| *have < needed) {
        match joints.iter_mut().find(|(known, _)| *known == words) {
            Some((_, least)) => *least = least.min(have),
            None => joints.push((words, have)),
        }
    }
    let least = joints.iter().map(|(_, have)| *have).reduce(f64::min)?;
    let mut alike: Vec<(String, Vec<&str>)> = Vec::new();
    for (words, have) in joints {
        let (figure, _) = Mm::new(have).short_of(Mm::new(needed), unit);
        match alike.iter_mut().find(|(known, _)| *known == figure) {
            Some((_, joints)) => joints.push(words),
            None => alike.push((figure, vec![words])),
        }
    }
    let text: Vec<String> = alike.iter().map(|(figure, joints)| format!("{figure} at {}", listed(joints))).collect();
    Some((text.join(", "), least))
}

/// `the wall corners, the base and the lid strips`.
fn listed(words: &[&str]) -> String {
    match words {
        [most @ .., last] if !most.is_empty() => format!("{} and {last}", most.join(", ")),
        _ => words.concat(),
    }
}

fn dense(wood: &NailWood) -> Finding {
    let density = wood.characteristic_density();
    let text = format!("wood of {density:.0} kg/m3 is too dense to nail undrilled");
    let advice = "pre-drill every nail";
    Finding::new("nail-dense", FindingKind::Splitting, Severity::Care, text, advice).measured(density, 500.0)
}

/// The pieces nails are driven through, against the least thickness undrilled.
fn split(design: &Design, wood: &NailWood, rows: &[Row], unit: Unit) -> Option<Finding> {
    let (diameter, density) = (design.nail.diameter.get(), wood.characteristic_density());
    let plain = rules::least_thickness(diameter, density, false);
    let needed = rules::least_thickness(diameter, density, wood.prone);
    let thinnest = rows.iter().map(|row| row.head_thickness).reduce(f64::min).filter(|t| *t < needed.max(plain))?;
    let severity = if thinnest < plain { Severity::Care } else { Severity::Note };
    let (have, least) = Mm::new(thinnest).short_of(Mm::new(needed), unit);
    let text = format!("{have} wood may split at undrilled nails: the published least is {least}");
    let hole = Mm::new(rules::predrill(diameter, wood.specific_gravity));
    let advice = format!("pre-drill {hole} near the ends, blunt the points, or take thinner brads");
    Some(Finding::new("nail-split", FindingKind::Splitting, severity, text, advice).measured(thinnest, needed))
}

/// Distance of the lines from the edges of both pieces.
fn edge(design: &Design, driving: Driving, rows: &[Row], unit: Unit) -> Option<Finding> {
    let needed = rules::worst_spacings(design.nail.diameter.get(), driving).free_edge;
    let (joints, least) = short(rows, needed, unit, |row| row.beside.min(row.line))?;
    let needed_text = Mm::new(needed).both_at_least(unit);
    let text = format!("nails sit too near the edge of the wood, {joints}; the published least is {needed_text}");
    let advice = match driving {
        Driving::Predrilled => "take thinner brads or thicker wood",
        Driving::Light | Driving::Heavy => "pre-drill (set nails.predrilled), or take thinner brads",
    };
    Some(Finding::new("nail-edge", FindingKind::Splitting, Severity::Care, text, advice).measured(least, needed))
}

/// Distance of the base's nail lines from the ends of its grain.
fn end(design: &Design, driving: Driving, rows: &[Row], unit: Unit) -> Option<Finding> {
    let needed = rules::worst_spacings(design.nail.diameter.get(), driving).free_end;
    let row = rows.iter().find(|row| row.line_at_end && row.line < needed - 1e-6)?;
    let (have, least) = Mm::new(row.line).short_of(Mm::new(needed), unit);
    let text = format!(
        "the nails into the {}s sit {have} from the {}'s end grain; the published least is {least}",
        row.point, row.head
    );
    let out = design.base_overhang + Mm::new(needed - row.line);
    let advice = format!("pre-drill them, or let the base stand out {} (box.base_overhang)", out.both_at_least(unit));
    Some(Finding::new("nail-end", FindingKind::Splitting, Severity::Care, text, advice).measured(row.line, needed))
}

/// How deep the points go into the second piece.
fn reach(design: &Design, rows: &[Row], unit: Unit) -> Option<Finding> {
    let needed = rules::least_reach(design.nail.diameter.get());
    let (joints, least) = short(rows, needed, unit, |row| design.nail_reach(Mm::new(row.head_thickness)).get())?;
    let text = format!(
        "brads reach into the second piece {joints}; the published least for smooth nails is {}",
        Mm::new(needed).both_at_least(unit)
    );
    let advice = "count on the glue alone, or take longer brads";
    Some(Finding::new("nail-reach", FindingKind::Nail, Severity::Note, text, advice).measured(least, needed))
}
