//! The report as JSON: a versioned, documented schema.
//!
//! `report.schema.json` beside this file describes it; a test validates reports
//! against it. Keys end in their unit. Points are panel millimetres from the
//! lower-left corner. Adding a key keeps the version; changing or removing one
//! raises it.

use kurbo::Point;
use serde_json::{Value, json};

use crate::check::{Bank, BladeVerdict, Bridge, Island, Slot, Turn};
use crate::diag::{Finding, round3};
use crate::entry::EntryHole;
use crate::face::CutOut;
use crate::order::Step;
use crate::outcome::{MendFacts, Outcome};

/// Name and version of the report's schema.
pub const SCHEMA: &str = "fretgrin-report-1";
/// The JSON Schema (draft 2020-12) of the report.
pub const REPORT_SCHEMA: &str = include_str!("report.schema.json");

/// Accuracy of outline lengths in the report, mm.
const LENGTH_ACCURACY: f64 = 0.001;

/// The report of one face.
#[must_use]
pub fn report(outcome: &Outcome) -> Value {
    let checks = &outcome.checks;
    let throat = checks.throat.map(|t| {
        json!({
            "reach_mm": round3(t.reach), "depth_mm": round3(t.depth), "rotates": t.rotates,
            "from": xy(t.from), "corner": xy(t.corner),
        })
    });
    let blade = |b: &BladeVerdict| {
        json!({
            "blade": b.blade, "tight_turns": b.tight_turns, "narrow_slots": b.narrow_slots, "does_it": b.does_it,
        })
    };
    // Put together by hand: `json!` would copy every part.
    let parts = [
        ("schema", SCHEMA.into()),
        ("generator", "fretgrin".into()),
        ("art", art(outcome)),
        ("setup", setup(outcome)),
        ("panel", panel(outcome)),
        ("window", window(outcome)),
        ("fit", fit(outcome)),
        ("cutouts", outcome.face.cutouts.iter().map(|c| cutout(c, outcome)).collect()),
        ("islands", checks.islands.iter().map(island).collect()),
        ("bridges", checks.bridges.iter().map(bridge).collect()),
        ("turns", checks.turns.iter().map(turn).collect()),
        ("slots", checks.slots.iter().map(slot).collect()),
        ("throat", throat.into()),
        ("blades", checks.blades.iter().map(blade).collect()),
        ("order", outcome.order.steps.iter().map(step).collect()),
        ("findings", outcome.findings.iter().map(finding).collect()),
        ("totals", totals(outcome)),
    ];
    let mended = outcome.mended.as_ref().map(|facts| ("mended", mended(facts)));
    Value::Object(parts.into_iter().chain(mended).map(|(key, value): (&str, Value)| (key.to_owned(), value)).collect())
}

/// The report as text, indented, with a final newline.
#[must_use]
pub fn text(value: &Value) -> String {
    serde_json::to_string_pretty(value).map_or_else(|_| value.to_string(), |text| text + "\n")
}

fn xy(p: Point) -> Value {
    json!({ "x_mm": round3(p.x), "y_mm": round3(p.y) })
}

fn art(outcome: &Outcome) -> Value {
    let art = &outcome.art;
    json!({
        "file": art.file,
        "width_mm": round3(art.width),
        "height_mm": round3(art.height),
        "reading": art.reading,
        "why": art.why,
        "other_readings": art.others.iter().map(|(reading, why)| json!({ "reading": reading, "why_not": why })).collect::<Vec<_>>(),
    })
}

fn mended(facts: &MendFacts) -> Value {
    json!({
        "edits": facts.edits,
        "area_changed_share": round3(facts.area_changed_share),
        "left": facts.left,
    })
}

fn setup(outcome: &Outcome) -> Value {
    let setup = &outcome.setup;
    json!({
        "wood": setup.wood,
        "blade": setup.blade,
        "kerf_mm": round3(setup.kerf),
        "line_tolerance_mm": round3(setup.tolerance),
        "recommended_blade": setup.recommended,
    })
}

fn panel(outcome: &Outcome) -> Value {
    let panel = &outcome.face.panel;
    json!({
        "width_mm": round3(panel.width.get()),
        "height_mm": round3(panel.height.get()),
        "thickness_mm": round3(panel.thickness.get()),
        "grain_deg": round3(panel.grain_deg),
    })
}

fn window(outcome: &Outcome) -> Value {
    let (window, clear) = (outcome.face.window(), &outcome.face.clear);
    json!({
        "x_mm": round3(window.x0),
        "y_mm": round3(window.y0),
        "width_mm": round3(window.width()),
        "height_mm": round3(window.height()),
        "clear_mm": {
            "left": round3(clear.left.get()), "right": round3(clear.right.get()),
            "top": round3(clear.top.get()), "bottom": round3(clear.bottom.get()),
        },
        "made_by": outcome.clearances.iter().map(|(edge, why)| json!({ "edge": edge, "why": why })).collect::<Vec<_>>(),
    })
}

fn fit(outcome: &Outcome) -> Value {
    let fit = &outcome.face.fit;
    // A ten-millionth of a scale is under a micrometre on any panel.
    let ratio = |value: f64| (value * 1e7).round() / 1e7;
    json!({
        "scale": ratio(fit.scale),
        "stretch_x": ratio(fit.stretch_x),
        "stretch_y": ratio(fit.stretch_y),
        "turn_deg": round3(fit.turn_deg),
        "mirrored": fit.mirrored,
        "width_mm": round3(fit.width_mm),
        "height_mm": round3(fit.height_mm),
        "left_mm": round3(fit.left_mm),
        "bottom_mm": round3(fit.bottom_mm),
    })
}

fn cutout(cutout: &CutOut, outcome: &Outcome) -> Value {
    let bounds = cutout.piece.bounds();
    let entries: Vec<Value> = outcome.holes.iter().filter(|h| h.cutout == cutout.id).map(entry).collect();
    json!({
        "id": cutout.id,
        "area_mm2": round3(cutout.piece.area()),
        "outline_mm": round3(cutout.piece.length(LENGTH_ACCURACY)),
        "x_mm": round3(bounds.x0),
        "y_mm": round3(bounds.y0),
        "width_mm": round3(bounds.width()),
        "height_mm": round3(bounds.height()),
        "islands": cutout.piece.holes.len(),
        "element": cutout.place.as_ref().and_then(|place| place.element.clone()),
        "entry": entries.first(),
        "entries": entries,
    })
}

fn entry(hole: &EntryHole) -> Value {
    json!({
        "hole": hole.id,
        "x_mm": round3(hole.at.x),
        "y_mm": round3(hole.at.y),
        "drill_mm": round3(hole.diameter),
        "drill": hole.drill,
    })
}

fn island(island: &Island) -> Value {
    json!({
        "id": island.id,
        "area_mm2": round3(island.area),
        "x_mm": round3(island.at.x),
        "y_mm": round3(island.at.y),
        "within": island.within,
        "inside_island": island.inside_island,
    })
}

/// A bank in words: `edge`, `cutout-3`, `island-1`.
#[must_use]
pub fn bank(bank: Bank) -> String {
    match bank {
        Bank::Edge => "edge".to_owned(),
        Bank::CutOut(id) => format!("cutout-{id}"),
        Bank::Island(id) => format!("island-{id}"),
    }
}

fn bridge(bridge: &Bridge) -> Value {
    let middle = bridge.feet[0].midpoint(bridge.feet[1]);
    json!({
        "id": bridge.id,
        "width_mm": round3(bridge.width),
        "x_mm": round3(middle.x),
        "y_mm": round3(middle.y),
        "feet": bridge.feet.map(xy),
        "between": bridge.between.map(bank),
        "grain_deg": round3(bridge.grain_deg),
        "stretch_mm": round3(bridge.stretch),
        "free_length_mm": round3(bridge.free_length),
        "needed_mm": round3(bridge.needed),
        "ratio": round3(bridge.width / bridge.needed.max(1e-9)),
        "loose_area_mm2": round3(bridge.loose_area),
        "reach_mm": round3(bridge.reach()),
        "severity": bridge.severity,
        "derivation": bridge.derivation,
    })
}

fn turn(turn: &Turn) -> Value {
    json!({
        "id": turn.id,
        "cutout": turn.cutout,
        "x_mm": round3(turn.at.x),
        "y_mm": round3(turn.at.y),
        "kind": turn.kind,
        "radius_mm": round3(turn.radius),
        "limit_mm": round3(turn.limit),
        "angle_deg": round3(turn.angle_deg),
        "technique": turn.technique,
        "severity": turn.severity,
    })
}

fn slot(slot: &Slot) -> Value {
    json!({
        "id": slot.id,
        "cutout": slot.cutout,
        "x_mm": round3(slot.at.x),
        "y_mm": round3(slot.at.y),
        "width_mm": round3(slot.width),
        "needed_mm": round3(slot.needed),
        "severity": slot.severity,
    })
}

fn step(step: &Step) -> Value {
    json!({
        "turn": step.cutout,
        "cutout": step.cutout,
        "length_mm": round3(step.length),
        "minutes": round3(step.minutes),
        "why": step.why,
    })
}

fn finding(finding: &Finding) -> Value {
    json!({
        "id": finding.id,
        "kind": finding.kind.name(),
        "severity": finding.severity,
        "x_mm": finding.at.map(|p| round3(p.x)),
        "y_mm": finding.at.map(|p| round3(p.y)),
        "measured": finding.measured.map(round3),
        "limit": finding.limit.map(round3),
        "message": finding.message,
        "advice": finding.advice,
        "place": finding.place,
    })
}

fn totals(outcome: &Outcome) -> Value {
    use crate::diag::Severity::{Care, Note, Stop};
    let open: f64 = outcome.face.cutouts.iter().map(|c| c.piece.area()).sum();
    json!({
        "cutouts": outcome.face.cutouts.len(),
        "open_area_mm2": round3(open),
        "cut_length_mm": round3(outcome.order.length),
        "minutes": round3(outcome.order.minutes),
        "entry_holes": outcome.holes.len(),
        "stop": outcome.count(Stop),
        "care": outcome.count(Care),
        "note": outcome.count(Note),
        "sound": outcome.count(Stop) == 0,
    })
}
