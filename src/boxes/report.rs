//! The plan as JSON, a versioned schema, and the cut list as CSV.
//!
//! `plan.schema.json` beside this file describes both reports; a test validates
//! them against it. Keys end in their unit: lengths in millimetres, money in
//! cents. Adding a key keeps the version; changing or removing one raises it.

use serde_json::{Value, json};

use super::boards::{BoardLayout, BoardPlan};
use super::job::{Batch, Lantern};
use super::nails::NailRow;
use super::window::{EdgeClearance, Reason};
use crate::diag::{Finding, round3};
use crate::units::{Cents, Mm};

/// Name and version of the schema.
pub const SCHEMA: &str = "fretgrin-plan-1";
/// The JSON Schema (draft 2020-12) of both reports.
pub const PLAN_SCHEMA: &str = include_str!("plan.schema.json");

/// The report of one box.
#[must_use]
pub fn lantern(lantern: &Lantern, findings: &[Finding]) -> Value {
    json!({
        "schema": SCHEMA,
        "generator": "fretgrin",
        "box": the_box(lantern),
        "findings": findings,
    })
}

/// The report of a batch.
#[must_use]
pub fn batch(batch: &Batch, findings: &[Finding]) -> Value {
    json!({
        "schema": SCHEMA,
        "generator": "fretgrin",
        "box": the_box(&batch.lantern),
        "batch": the_batch(batch),
        "findings": findings,
    })
}

fn mm(length: Mm) -> f64 {
    round3(length.get())
}

fn the_box(lantern: &Lantern) -> Value {
    let (design, parts) = (&lantern.design, &lantern.parts);
    json!({
        "width_mm": mm(design.width),
        "depth_mm": mm(design.depth),
        "height_mm": mm(design.height),
        "overall_height_mm": mm(parts.overall_height),
        "inside_width_mm": mm(parts.inside_width),
        "inside_depth_mm": mm(parts.inside_depth),
        "thickness_mm": mm(design.thickness),
        "joint": design.joint,
        "lid": design.lid.kind,
        "parts": parts.list.iter().map(|p| json!({
            "part": p.kind, "mark": p.kind.letter().to_string(), "count": p.count,
            "length_mm": mm(p.length), "width_mm": mm(p.width), "thickness_mm": mm(p.thickness),
        })).collect::<Vec<_>>(),
        "sums": parts.sums.iter().map(|s| json!({
            "what": s.what, "whole_mm": mm(s.whole), "terms": s.terms.iter().map(term).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "panel": { "width_mm": mm(lantern.window.panel_width), "height_mm": mm(lantern.window.panel_height) },
        "window": lantern.window.edges.iter().map(edge).collect::<Vec<_>>(),
        "nails": nails(lantern),
    })
}

fn term((what, length): &(&'static str, Mm)) -> Value {
    json!({ "what": what, "mm": mm(*length) })
}

fn edge(edge: &EdgeClearance) -> Value {
    let reason = |r: &Reason| json!({ "cause": r.cause, "mm": mm(r.reach()), "terms": r.terms.iter().map(term).collect::<Vec<_>>() });
    json!({
        "edge": edge.edge, "clear_mm": mm(edge.clear),
        "reasons": edge.reasons.iter().map(reason).collect::<Vec<_>>(),
    })
}

fn nails(lantern: &Lantern) -> Value {
    let plan = &lantern.nails;
    json!({
        "length_mm": mm(plan.length),
        "diameter_mm": mm(plan.diameter),
        "predrill_mm": mm(plan.predrill),
        "driving": plan.driving,
        "count": plan.count(),
        "rows": plan.rows.iter().map(nail_row).collect::<Vec<_>>(),
        "caution": super::nails::CAUTION,
    })
}

fn nail_row(row: &NailRow) -> Value {
    json!({
        "joint": row.name, "through": row.through, "into": row.into, "line_mm": mm(row.line),
        "reach_mm": mm(row.reach), "end_grain": row.end_grain, "from": row.from,
        "at_mm": row.nails.iter().map(|n| mm(n.at)).collect::<Vec<_>>(),
        "from_end_mm": row.nails.iter().map(|n| mm(n.from_end)).collect::<Vec<_>>(),
        "moved_mm": row.nails.iter().map(|n| mm(n.moved)).collect::<Vec<_>>(),
        "dropped": row.dropped, "withdrawal_n": row.withdrawal_n.map(|n| n.round()),
    })
}

fn the_batch(batch: &Batch) -> Value {
    let money = &batch.money;
    json!({
        "boxes": batch.boxes,
        "stack": batch.stack,
        "templates": batch.templates,
        "faces": batch.faces.iter().map(|s| json!({
            "name": s.face.name, "boxes": s.boxes, "cut_length_mm": round3(s.face.cut_length_mm),
            "holes": s.face.holes, "corners": s.face.corners, "open_area_mm2": round3(s.face.open_area_mm2),
        })).collect::<Vec<_>>(),
        "cut_list": cut_list(&batch.boards),
        "boards": boards(&batch.boards),
        "supplies": batch.supplies.iter().map(|s| json!({
            "name": s.name, "used": round3(s.used), "unit": s.unit, "pack": round3(s.pack), "packs": s.packs,
            "cost_cents": s.cost,
        })).collect::<Vec<_>>(),
        "work": batch.work.operations.iter().map(|o| json!({
            "name": o.name, "times": round3(o.times), "unit": o.unit(), "minutes": round3(batch.work.minutes(o)),
            "learns": o.learns,
        })).collect::<Vec<_>>(),
        "minutes": round3(batch.work.total()),
        "costs": batch.costs.lines.iter().map(|l| json!({
            "group": l.group, "name": l.name, "cents": l.amount,
        })).collect::<Vec<_>>(),
        "cost_cents": batch.costs.total(),
        "price": {
            "currency": money.currency, "unit_cost_cents": money.unit_cost, "fair_price_cents": money.fair_price,
            "wished_margin": round3(money.wished_margin), "price_cents": money.price, "fees_cents": money.fees,
            "profit_cents": money.profit, "margin": round3(money.margin),
            "sold_to_pay": money.sold_to_pay, "break_even_boxes": money.break_even,
            "table": money.table.iter().map(|r| json!({
                "boxes": r.boxes, "unit_cost_cents": r.unit_cost, "fair_price_cents": r.fair_price,
            })).collect::<Vec<_>>(),
        },
    })
}

fn cut_list(plan: &BoardPlan) -> Vec<Value> {
    let row = |r: &super::boards::CutRow| {
        json!({
            "mark": r.mark.to_string(), "part": r.part, "count": r.count, "length_mm": mm(r.length),
            "width_mm": mm(r.width), "thickness_mm": mm(r.thickness), "strips": r.strips,
            "each": r.each, "filler": r.filler,
        })
    };
    plan.cut_list.iter().map(row).collect()
}

fn boards(plan: &BoardPlan) -> Value {
    json!({
        "count": plan.boards(),
        "cost_cents": plan.cost,
        "bound_cents": plan.bound,
        "proved": plan.proved(),
        "spare_cost_cents": plan.spare_cost,
        "waste": round3(plan.waste()),
        "buy": plan.buy.iter().map(|b| json!({
            "name": b.name, "length_mm": mm(b.length), "width_mm": mm(b.width), "thickness_mm": mm(b.thickness),
            "cut": b.cut, "spare": b.spare, "price_cents": b.price,
        })).collect::<Vec<_>>(),
        "layouts": plan.layouts.iter().map(layout).collect::<Vec<_>>(),
    })
}

fn layout(layout: &BoardLayout) -> Value {
    json!({
        "board": layout.name, "copies": layout.copies, "length_mm": mm(layout.length), "width_mm": mm(layout.width),
        "end_loss_mm": mm(layout.end_loss), "order": layout.order,
        "pieces": layout.pieces.iter().map(|p| json!({
            "row": p.row, "x_mm": mm(p.x), "y_mm": mm(p.y), "length_mm": mm(p.length), "width_mm": mm(p.width),
        })).collect::<Vec<_>>(),
        "offcuts": layout.offcuts.iter().map(|o| json!({
            "x_mm": mm(o.x), "y_mm": mm(o.y), "length_mm": mm(o.length), "width_mm": mm(o.width), "keep": o.keep,
        })).collect::<Vec<_>>(),
        "steps": layout.steps.iter().map(|s| json!({
            "cut": s.cut, "setting_mm": mm(s.setting), "times": s.times, "yields": s.yields,
        })).collect::<Vec<_>>(),
    })
}

/// The cut list as CSV (RFC 4180), one line a part or a kind of strip, lengths in
/// millimetres; `strips_each` is how many of the line's pieces go into one part. The
/// last column says who wrote it, so that the titles stand first in a spreadsheet.
#[must_use]
pub fn cut_list_csv(plan: &BoardPlan) -> String {
    let mut text = "mark,part,count,length_mm,width_mm,thickness_mm,grain,strips_each,fretgrin\r\n".to_owned();
    for row in &plan.cut_list {
        let (length, width, thickness) = (mm(row.length), mm(row.width), mm(row.thickness));
        let piece = row.piece();
        let line =
            format!("{},{piece},{},{length},{width},{thickness},length,{},cut list\r\n", row.mark, row.count, row.each);
        text.push_str(&line);
    }
    text
}

/// The money of a plan, for terminals: `$12.05`.
#[must_use]
pub fn money(batch: &Batch, cents: Cents) -> String {
    cents.with_sign(&batch.money.currency)
}

/// How many sales pay for the batch, in words: `the first 18 sold pay for this
/// batch`.
#[must_use]
pub fn pays(batch: &Batch) -> String {
    match batch.money.sold_to_pay {
        None => "never: a sale at this price leaves nothing".to_owned(),
        Some(n) if n > batch.boxes => format!("not at this price: {n} sales would pay for this batch"),
        Some(1) => "the first one sold pays for this batch".to_owned(),
        Some(n) => format!("the first {n} sold pay for this batch"),
    }
}

#[cfg(test)]
#[path = "../../tests/support/schema.rs"]
mod schema;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boxes::{FaceFacts, job};
    use crate::settings::Settings;
    use crate::settings::boxes::BoxSettings;
    use crate::settings::sections::Shop;

    fn planned() -> (Batch, Vec<Finding>) {
        let shop = Shop { lantern: Some(BoxSettings::default()), ..Shop::default() };
        let settings = Settings::resolve(&shop).unwrap();
        let face = FaceFacts { name: "owl".into(), cut_length_mm: 800.0, holes: 5, ..FaceFacts::default() };
        let noted = job::batch(&settings, &settings.lantern.clone().unwrap(), &[(face, 6)]).unwrap();
        (noted.value, noted.findings)
    }

    fn wrongs(report: &Value) -> Vec<String> {
        let rules: Value = serde_json::from_str(PLAN_SCHEMA).unwrap();
        let mut wrong = Vec::new();
        schema::check(&rules, report, "report", &mut wrong);
        wrong
    }

    #[test]
    fn both_reports_follow_the_schema() {
        let (plan, findings) = planned();
        let report = batch(&plan, &findings);
        assert_eq!(wrongs(&report), Vec::<String>::new(), "the batch");
        let of = |name: &str| plan.work.operations.iter().position(|o| o.name == name).unwrap();
        let unit = |name: &str| report["batch"]["work"][of(name)]["unit"].clone();
        assert_eq!((unit("saw the faces"), unit("drive brads")), ("mm".into(), "times".into()), "told apart");
        assert_eq!(wrongs(&lantern(&plan.lantern, &findings)), Vec::<String>::new(), "the box");
    }

    #[test]
    fn the_schema_test_can_fail() {
        let (plan, findings) = planned();
        let mut report = batch(&plan, &findings);
        report["batch"]["boxes"] = Value::from("many");
        report["surprise"] = Value::from(1);
        report["batch"]["boards"]["layouts"][0]["pieces"][0]["x_mm"] = Value::from(-1.0);
        assert_eq!(wrongs(&report).len(), 3, "{:?}", wrongs(&report));
    }

    #[test]
    fn the_cut_list_is_plain_csv() {
        let (plan, _) = planned();
        let csv = cut_list_csv(&plan.boards);
        let lines: Vec<_> = csv.split("\r\n").collect();
        assert_eq!(lines[1], "F,front,6,254,133.35,15.875,length,1,cut list", "{csv}");
        let columns = lines[0].split(',').count();
        let whole = |l: &&&str| !l.is_empty();
        assert!(lines.iter().filter(whole).all(|l| l.split(',').count() == columns), "{csv}");
    }
}
