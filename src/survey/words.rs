//! The same words for the table, the sheets and the page.

use super::{Double, Fault, Hardest, How, Measured, Row, Setup};
use crate::check::{Technique, TurnKind};
use crate::diag::{FindingKind, Severity};
use crate::units::{Mm, Unit, size_text};

/// `2 islands, 1 weak bridge`: faults of any severity, by kind.
#[must_use]
pub fn counted_kinds(faults: &[Fault]) -> String {
    let mut kinds: Vec<(FindingKind, u32)> = Vec::new();
    for fault in faults {
        match kinds.iter_mut().find(|(kind, _)| *kind == fault.kind) {
            Some((_, count)) => *count = count.saturating_add(fault.count),
            None => kinds.push((fault.kind, fault.count)),
        }
    }
    kinds.iter().map(|(kind, n)| counted(*n, kind_words(*kind))).collect::<Vec<_>>().join(", ")
}

/// The faults of one severity, by kind; empty when there are none.
#[must_use]
pub fn faults_of(face: &Measured, severity: Severity) -> String {
    let some: Vec<Fault> = face.faults.iter().filter(|fault| fault.severity == severity).copied().collect();
    counted_kinds(&some)
}

/// `1 hole`, `3 holes`.
#[must_use]
pub fn counted(count: u32, what: &str) -> String {
    format!(
        "{}{}{what}{}",
        grouped(count as usize),
        if what.is_empty() { "" } else { " " },
        if count == 1 { "" } else { "s" }
    )
}

/// A number with commas between its thousands.
#[must_use]
pub fn grouped(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// The kind in words, one of it.
#[must_use]
pub const fn kind_words(kind: FindingKind) -> &'static str {
    match kind {
        FindingKind::LeftOut => "left-out part",
        FindingKind::OpenOutline => "open outline",
        FindingKind::ClosedGap => "closed gap",
        FindingKind::Stray => "stray piece",
        FindingKind::Speck => "speck",
        FindingKind::Reading => "doubtful reading",
        FindingKind::OverClearance => "clearance overstep",
        FindingKind::EmptyBand => "empty band",
        FindingKind::Island => "island",
        FindingKind::WeakBridge => "weak bridge",
        FindingKind::TightTurn => "tight turn",
        FindingKind::NarrowSlot => "narrow slot",
        FindingKind::NoEntry => "missing entry hole",
        FindingKind::Throat => "too short throat",
        FindingKind::Mending => "face lost in mending",
        FindingKind::Nail => "met nail",
        FindingKind::Splitting => "likely split",
        FindingKind::Plan => "remark",
    }
}

/// The hardest turn: `inside corner of 92°, come in twice`.
#[must_use]
pub fn hardest(turn: Option<&Hardest>) -> String {
    let Some(turn) = turn else { return "the blade follows every turn".to_owned() };
    let kind = match turn.kind {
        TurnKind::Curve => "curve",
        TurnKind::InsideCorner => "inside corner",
        TurnKind::OutsideCorner => "tip",
    };
    let way = match turn.technique {
        Technique::Slow => "turn slowly",
        Technique::SwingInWaste => "swing in the waste",
        Technique::ComeInTwice => "come in twice",
        Technique::Spin => "spin on the spot",
        Technique::CornerHole => "drill the corner",
        Technique::None => "comes out rounded",
    };
    if turn.kind == TurnKind::Curve {
        return format!("{kind}, radius {:.1} of {:.1} mm: {way}", turn.radius_mm, turn.limit_mm);
    }
    format!("{kind} of {:.0}°: {way}", turn.angle_deg)
}

/// The best blade: `flat-3`, or that none does it.
#[must_use]
pub fn blade(face: &Measured) -> String {
    match &face.blade {
        Some(blade) if face.blade_does_it => blade.clone(),
        Some(blade) => format!("none does it all; {blade} most"),
        None => "no drawer listed".to_owned(),
    }
}

/// A length of line: `41-3/8 in` or `1.05 m`.
#[must_use]
pub fn line(length_mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{:.0} in", Mm::new(length_mm).inches()),
        Unit::Mm => format!("{:.2} m", length_mm / 1000.0),
    }
}

/// How a face repeats another: `same as owl.svg`, `owl.svg mirrored`.
#[must_use]
pub fn double(double: &Double) -> String {
    let of = &double.of;
    match double.how {
        How::Same => format!("the same as {of}"),
        How::Turned => format!("{of} turned {:.0}°", double.turned_deg),
        How::Mirrored => format!("{of} mirrored"),
        How::MirroredAndTurned => format!("{of} mirrored and turned {:.0}°", double.turned_deg),
    }
}

/// The line under the title: panel, wood, blade.
#[must_use]
pub fn setup(setup: &Setup) -> String {
    let grain = match setup.grain_deg {
        g if (g - 90.0).abs() < 0.5 => "grain upright".to_owned(),
        g if g.abs() < 0.5 => "grain level".to_owned(),
        g => format!("grain at {g:.0}°"),
    };
    let size = size_text(setup.width, setup.height, setup.unit);
    format!("panel {size}, {} {}, {grain}, blade {}", setup.thickness.text(setup.unit), setup.wood, setup.blade)
}

/// The difficulty's parts that count: `line 1.1, starts 2.0, turns 3.4`.
#[must_use]
pub fn parts(face: &Measured) -> String {
    let named = super::PART_NAMES.into_iter().zip(face.difficulty.parts()).filter(|(_, points)| *points > 0.0);
    named.map(|(name, points)| format!("{name} {points:.1}")).collect::<Vec<_>>().join(", ")
}

/// Said where figures and drawing are those of the mended face.
pub const AFTER_MENDING: &str = "figures and drawing: after mending";

/// What to do next with a row, in a few words; what is wrong for a file that is
/// no face.
#[must_use]
pub fn advice(row: &Row) -> String {
    match &row.found {
        super::Found::Refused(refused) => refused.advice.clone(),
        super::Found::Face(_) => row.copy.as_ref().map_or_else(String::new, |copy| format!("mended copy: {copy}")),
    }
}
