//! The shop papers: drawings and lists a person can work from.

mod boards;
mod draw;
mod job;
mod nails;
mod parts;

use std::borrow::Cow;

use kurbo::{Point, Rect};

use super::design::setting;
use super::job::{Batch, Lantern};
use crate::diag::{Error, Finding, Severity};
use crate::settings::Settings;
use crate::sheet::flow::{Flow, Frames, line, split};
use crate::sheet::{Anchor, Layer, Path, Sheet, Stroke, Text, style};
use crate::trade::cautions;
use crate::trade::papers::Paper;
use crate::trade::woods::Wood;
use crate::units::{Mm, Unit};

/// What every paper needs to know.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// The paper printed on.
    pub paper: &'a Paper,
    /// The unit shown first.
    pub unit: Unit,
    /// Name of the job.
    pub name: &'a str,
    /// The wood.
    pub wood: &'a Wood,
    /// What was noticed.
    pub findings: &'a [Finding],
}

impl<'a> Request<'a> {
    /// What the shop's settings say, for a job called `name`.
    #[must_use]
    pub fn of(settings: &'a Settings, findings: &'a [Finding], name: &'a str) -> Self {
        Self { paper: &settings.print.paper, unit: settings.unit, name, wood: &settings.wood, findings }
    }
}

/// Least width and height of a sheet for these papers, mm: on less the drawn parts
/// shrink to specks under their figures, or a drawing is higher than the sheet. Ours,
/// by trying.
const LEAST: (f64, f64) = (135.0, 130.0);

/// The sheet these papers are laid on: the shop's, turned where they fit on it only so.
///
/// # Errors
/// [`Error::Setting`] for a sheet too small.
pub fn sheet(paper: &Paper, unit: Unit) -> Result<Cow<'_, Paper>, Error> {
    let takes = |paper: &Paper| paper.width.get() >= LEAST.0 && paper.height.get() >= LEAST.1;
    if takes(paper) {
        return Ok(Cow::Borrowed(paper));
    }
    let turned = paper.turned();
    if takes(&turned) {
        return Ok(Cow::Owned(turned));
    }
    let (width, height) = (paper.width.both(unit), paper.height.both(unit));
    let text = format!("a sheet of {width} by {height} is too small for drawings and lists to work from");
    let (width, height) = (Mm::new(LEAST.0).both_at_least(unit), Mm::new(LEAST.1).both_at_least(unit));
    let advice = format!("take paper of at least {width} by {height} for these, like A5");
    Err(setting("paper.size", text, advice))
}

/// The papers of one box: its parts and its nails, what was noticed, and what to
/// mind.
#[must_use]
pub fn lantern(lantern: &Lantern, request: &Request<'_>) -> Vec<Sheet> {
    let mut flow = flow(request, PARTS_AND_NAILS, 1);
    stopped(&mut flow, request);
    parts::fill(&mut flow, lantern, request);
    nails::fill(&mut flow, lantern, request);
    noticed(&mut flow, request);
    minding(&mut flow, request);
    numbered(flow.finish(), request)
}

const PARTS_AND_NAILS: &str = "parts and nails";

/// Said at the very top where something stops the job.
fn stopped(flow: &mut Flow, request: &Request<'_>) {
    let things = match request.findings.iter().filter(|f| f.severity == Severity::Stop).count() {
        0 => return,
        1 => "1 thing stops".to_owned(),
        n => format!("{n} things stop"),
    };
    flow.strong(&format!("{things} this box as it is: see “Noticed” on a later sheet."));
}

/// The papers of a batch: job sheet, board layouts, parts, nails.
#[must_use]
pub fn batch(batch: &Batch, request: &Request<'_>) -> Vec<Sheet> {
    let mut sheets = job::sheets(batch, request);
    sheets.extend(boards::sheets(batch, request));
    let mut flow = flow(request, PARTS_AND_NAILS, 1);
    parts::fill(&mut flow, &batch.lantern, request);
    nails::fill(&mut flow, &batch.lantern, request);
    sheets.extend(flow.finish());
    numbered(sheets, request)
}

/// Height of the head with the name, mm.
const HEAD: f64 = 13.0;

fn area(paper: &Paper) -> Rect {
    let (w, h, margin) = (paper.width.get(), paper.height.get(), paper.margin.get());
    Rect::new(margin, margin, w - margin, h - margin).inset(-2.0)
}

/// A flow of so many columns under the head.
fn flow(request: &Request<'_>, name: &str, columns: u32) -> Flow {
    let area = area(request.paper);
    let body = Rect::new(area.x0, area.y0, area.x1, area.y1 - HEAD);
    let columns = if area.width() >= 150.0 { columns } else { 1 };
    Flow::new(Frames {
        name: name.to_owned(),
        width: request.paper.width.get(),
        height: request.paper.height.get(),
        first: split(body, columns),
        later: split(body, columns),
    })
}

/// What was noticed, worst first.
fn noticed(flow: &mut Flow, request: &Request<'_>) {
    if request.findings.is_empty() {
        return;
    }
    flow.heading("Noticed");
    let mut sorted: Vec<_> = request.findings.iter().collect();
    // Those alike stay in their order: by their numbers, clearance-10 is the last.
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    for finding in sorted {
        let mark = match finding.severity {
            Severity::Stop => "stop",
            Severity::Care => "care",
            Severity::Note => "note",
        };
        flow.item(mark, &finding.message, &finding.advice);
    }
}

/// What to mind at the machines, where the tools' manuals come first.
fn minding(flow: &mut Flow, request: &Request<'_>) {
    flow.heading("Mind");
    for caution in cautions::for_the_job(request.wood) {
        flow.item(caution.topic.word(), caution.text, "");
    }
    flow.remark(cautions::DEFER);
}

/// Puts the job's name, the sheet's kind and its number on every sheet.
fn numbered(mut sheets: Vec<Sheet>, request: &Request<'_>) -> Vec<Sheet> {
    let total = sheets.len();
    let area = area(request.paper);
    for (index, sheet) in sheets.iter_mut().enumerate() {
        let baseline = area.y1 - style::TITLE * 0.8;
        let count = format!("sheet {} of {total}", index + 1);
        let count = Text::new(count, (area.x1, baseline), style::SMALL).ink(style::QUIET).anchor(Anchor::End);
        let kind = Text::new(&sheet.name, (area.x0, baseline), style::HEADING).ink(style::QUIET);
        let room = area.width() - count.width() - kind.width() - 8.0;
        let title = fitted(request.name, Point::new(area.x0, baseline), room);
        let after = title.start().x + title.width() + 3.0;
        sheet.push(Layer::Title, Text { at: Point::new(after, baseline), ..kind });
        sheet.push(Layer::Title, title);
        sheet.push(Layer::Title, count);
        let y = area.y1 - HEAD + 5.0;
        sheet.push(Layer::Title, Path::stroke(line((area.x0, y), (area.x1, y)), Stroke::new(0.6, style::INK)));
    }
    sheets
}

/// A title no wider than `room`, cut with an ellipsis where it must be.
fn fitted(name: &str, at: Point, room: f64) -> Text {
    let title = |text: &str| Text::new(text, at, style::TITLE).bold().ink(style::INK);
    let mut kept: Vec<char> = name.chars().collect();
    let mut text = title(name);
    while text.width() > room && kept.pop().is_some() {
        text = title(&format!("{}…", kept.iter().collect::<String>().trim_end()));
    }
    text
}

#[cfg(test)]
mod tests;
