//! The box in the pipeline: its window for the face, its nails on the template,
//! its papers and the batch's.

use std::borrow::Cow;

use super::{Made, PICTURE_DPI};
use crate::boxes::job::{self, Batch, Lantern};
use crate::boxes::window::{self, Edge, EdgeClearance};
use crate::boxes::{Design, FaceFacts, face, papers, report};
use crate::diag::{Error, Finding, FindingKind, Noted, Severity};
use crate::face::Clearances;
use crate::outcome::Outcome;
use crate::settings::boxes::BoxSettings;
use crate::settings::{Length, Settings};
use crate::sheet::Sheet;
use crate::sheet::panel::Nail;
use crate::trade::papers::Paper;
use crate::units::{Mm, Unit};
use crate::write::json;
use crate::write::pdf::{Meta, pdf};
use crate::write::png::png;

/// Edges of the panel and what made their clearance.
pub(super) type Reasons = Vec<(String, String)>;

/// The settings with the panel, its stock and the window that the box decides,
/// and what made each clearance; as they are when the shop plans no box.
///
/// # Errors
/// Whatever makes the box impossible.
pub(super) fn boxed(settings: &Settings) -> Result<(Cow<'_, Settings>, Reasons), Error> {
    let Some(asked) = &settings.lantern else { return Ok((Cow::Borrowed(settings), Vec::new())) };
    let design = Design::new(asked, &settings.stated.nails, settings.panel.thickness, settings.unit)?;
    let window = window::derive(&design, settings.saw.blade.kerf, &settings.own_clear, settings.unit)?;
    let mut settings = settings.clone();
    (settings.panel.width, settings.panel.height) = design.panel();
    settings.panel.thickness = design.thickness;
    settings.clear = Clearances {
        left: window.clear(Edge::Left),
        right: window.clear(Edge::Right),
        top: window.clear(Edge::Top),
        bottom: window.clear(Edge::Bottom),
    };
    let reasons = window.edges.iter().map(|edge| (edge.edge.word().to_owned(), itemised(edge, settings.unit)));
    let reasons = reasons.collect();
    Ok((Cow::Owned(settings), reasons))
}

/// `the side board behind the panel: 5/8 in stock + 1/16 in play …`.
fn itemised(edge: &EdgeClearance, unit: Unit) -> String {
    let Some(reason) = edge.reasons.first() else { return edge.clear.text_at_least(unit) };
    let terms: Vec<String> = reason.terms.iter().map(|(name, mm)| format!("{} {name}", mm.text(unit))).collect();
    format!("{}: {}", reason.cause.words(), terms.join(" + "))
}

/// Adds what the box says of the face: nails met, nails moved or dropped.
///
/// # Errors
/// Whatever makes the box impossible.
pub(super) fn meet(outcome: &mut Outcome, settings: &Settings) -> Result<(), Error> {
    let Some(asked) = &settings.lantern else { return Ok(()) };
    let alone = job::lantern(settings, asked, None)?.findings;
    let mut said = job::lantern(settings, asked, Some(&facts(outcome)))?.findings;
    said.retain(|finding| !alone.contains(finding));
    if said.iter().any(|finding| finding.kind == FindingKind::OverClearance) {
        // The box names the nail; the fit only knows the length.
        outcome.findings.retain(|finding| finding.kind != FindingKind::OverClearance);
    }
    outcome.findings.extend(said.into_iter().filter(is_of_the_face));
    super::rank(&mut outcome.findings);
    Ok(())
}

/// Remarks on the box alone, whatever its face, belong to its own papers.
fn is_of_the_face(finding: &Finding) -> bool {
    matches!(finding.kind, FindingKind::OverClearance | FindingKind::Nail)
}

/// The nails to mark on the template.
pub(super) fn nails(outcome: &Outcome, settings: &Settings) -> Result<Vec<Nail>, Error> {
    let Some(asked) = &settings.lantern else { return Ok(Vec::new()) };
    let plan = job::lantern(settings, asked, Some(&facts(outcome)))?.value.nails;
    Ok(plan.on_panel().into_iter().map(|nail| Nail { at: nail.from, to: nail.to }).collect())
}

/// What the box planner needs to know of a checked face.
#[must_use]
pub fn facts(outcome: &Outcome) -> FaceFacts {
    let cutout = |c: &crate::face::CutOut| face::FaceCutout {
        id: format!("cut-out {}", c.id),
        outline: c.piece.outer.to_path(),
    };
    FaceFacts {
        name: outcome.art.name.clone(),
        cut_length_mm: outcome.order.length,
        corners: outcome.checks.turns.len() as u32,
        holes: outcome.holes.len() as u32,
        open_area_mm2: outcome.face.cutouts.iter().map(|c| c.piece.area()).sum(),
        cutouts: outcome.face.cutouts.iter().map(cutout).collect(),
        entries: outcome.holes.iter().map(|h| face::EntryHole { at: h.at, diameter: h.diameter }).collect(),
    }
}

/// The box the shop plans, or the built-in one round the shop's own panel.
#[must_use]
pub fn asked(settings: &Settings) -> BoxSettings {
    let length = |mm: Mm| Some(Length::text(&format!("{}mm", mm.get())));
    settings.lantern.clone().unwrap_or_else(|| BoxSettings {
        panel_width: length(settings.panel.width),
        panel_height: length(settings.panel.height),
        ..BoxSettings::default()
    })
}

/// Plans one box, with a face on its front or none.
///
/// # Errors
/// Whatever makes the box impossible.
pub fn plan_box(settings: &Settings, outcome: Option<&Outcome>) -> Result<Noted<Lantern>, Error> {
    let mut plan = job::lantern(settings, &asked(settings), outcome.map(facts).as_ref())?;
    plan.findings.extend(unsawable(outcome));
    Ok(plan)
}

/// Plans a batch of faces that are checked already, each on how many boxes.
///
/// # Errors
/// As [`plan_box`]; boards or counts that do not do.
pub fn plan_season(settings: &Settings, faces: &[(&Outcome, u32)]) -> Result<Noted<Batch>, Error> {
    let shares: Vec<(FaceFacts, u32)> = faces.iter().map(|(outcome, boxes)| (facts(outcome), *boxes)).collect();
    let mut plan = job::batch(&for_box(settings), &asked(settings), &shares)?;
    // A face on no box is not sawn.
    let sawn = faces.iter().filter(|(_, boxes)| *boxes > 0);
    plan.findings.extend(unsawable(sawn.map(|(outcome, _)| *outcome)));
    Ok(plan)
}

/// What is said of the faces that cannot be sawn as they are: line, holes and
/// price are reckoned from them, and wood would fall out. Faults the plan itself
/// tells of are not counted again.
fn unsawable<'a>(faces: impl IntoIterator<Item = &'a Outcome>) -> Option<Finding> {
    let stops = |outcome: &Outcome| {
        let others = outcome.findings.iter().filter(|finding| !is_of_the_face(finding));
        others.filter(|finding| finding.severity == Severity::Stop).count()
    };
    let tell = |outcome: &Outcome| {
        let count = stops(outcome);
        let things = if count == 1 { "thing stops" } else { "things stop" };
        (count > 0).then(|| format!("{} ({count} {things} it)", outcome.art.name))
    };
    // A face listed twice is told once.
    let mut told: Vec<String> = Vec::new();
    for one in faces.into_iter().filter_map(tell) {
        if !told.contains(&one) {
            told.push(one);
        }
    }
    let message = match told.as_slice() {
        [] => return None,
        [one] => format!("{one} cannot be sawn as it is"),
        [most @ .., last] => format!("{} and {last} cannot be sawn as they are", most.join(", ")),
    };
    let advice = "give --mend to plan with them mended; fretgrin check lists what is in the way";
    Some(Finding::new("faces-unsawable", FindingKind::Plan, Severity::Stop, message, advice))
}

/// The settings with a box in them, as the shop plans it or the built-in one:
/// those by which the faces of its boxes are to be checked.
#[must_use]
pub fn for_box(settings: &Settings) -> Settings {
    Settings { lantern: Some(asked(settings)), ..settings.clone() }
}

/// The papers of one box: PDF, a picture of each sheet, and the plan as JSON.
///
/// # Errors
/// A sheet too small for them.
pub fn box_documents(plan: &Noted<Lantern>, settings: &Settings) -> Result<Vec<Made>, Error> {
    let paper = papers::sheet(&settings.print.paper, settings.unit)?;
    let sheets = papers::lantern(&plan.value, &request(settings, &paper, &plan.findings, "box"));
    let plan = report::lantern(&plan.value, &plan.findings);
    documents("box", &sheets, &json::text(&plan))
}

/// The papers of a batch: PDF, a picture of each sheet, the plan as JSON and the
/// cut list as CSV.
///
/// # Errors
/// As [`box_documents`].
pub fn batch_documents(plan: &Noted<Batch>, settings: &Settings) -> Result<Vec<Made>, Error> {
    let paper = papers::sheet(&settings.print.paper, settings.unit)?;
    let sheets = papers::batch(&plan.value, &request(settings, &paper, &plan.findings, "batch"));
    let mut made = documents("batch", &sheets, &json::text(&report::batch(&plan.value, &plan.findings)))?;
    let list = report::cut_list_csv(&plan.value.boards).into_bytes();
    made.push(Made { name: "batch-cut-list.csv".to_owned(), bytes: list });
    Ok(made)
}

fn request<'a>(
    settings: &'a Settings,
    paper: &'a Paper,
    findings: &'a [Finding],
    name: &'a str,
) -> papers::Request<'a> {
    papers::Request { paper, ..papers::Request::of(settings, findings, name) }
}

fn documents(name: &str, sheets: &[Sheet], plan: &str) -> Result<Vec<Made>, Error> {
    let meta = Meta { title: format!("{name}: shop papers"), subject: "Drawings and lists to work from".to_owned() };
    let mut made = vec![
        Made { name: format!("{name}-papers.pdf"), bytes: pdf(sheets, &meta)? },
        Made { name: format!("{name}-plan.json"), bytes: plan.as_bytes().to_vec() },
    ];
    for (number, sheet) in (1..).zip(sheets) {
        made.push(Made { name: format!("{name}-papers-{number}.png"), bytes: png(sheet, PICTURE_DPI)? });
    }
    Ok(made)
}
