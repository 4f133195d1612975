//! The bench sheet: what to have at hand beside the saw.

use std::collections::BTreeSet;

use kurbo::{Point, Rect};

use super::flow::{Align, Flow, Frames, Table, line, split};
use super::layout::Layout;
use super::panel::Drawing;
use super::picture::{self, short_name};
use super::template::{self, Request};
use super::{Layer, Path, Sheet, Text, legend, style};
use crate::diag::{Finding, FindingKind, Severity};
use crate::font::{self, Weight};
use crate::units::{Mm, Unit, long_text, minutes_text, whole_minutes};

/// How much is told: height of the picture, mm, and entries about findings (the
/// report has them all). The first that fits on one sheet is taken.
const TOLD: [(f64, usize); 4] = [(96.0, 14), (72.0, 14), (60.0, 11), (60.0, 8)];
/// Findings looked at for grouping; far more than a sheet can list.
const SORTED: usize = 400;
/// Height of the head with the name, mm.
const HEAD: f64 = 13.0;

/// The bench sheets, on the same paper, upright, and the names of the findings they
/// tell.
#[must_use]
pub(super) fn sheets(request: &Request<'_>, layout: &Layout, drawing: &Drawing) -> (Vec<Sheet>, BTreeSet<String>) {
    let paper = &request.printer.paper;
    let (w, h, margin) = (paper.width.get(), paper.height.get(), paper.margin.get());
    let area = Rect::new(margin, margin, w - margin, h - margin).inset(-2.0);
    let body = Rect::new(area.x0, area.y0, area.x1, area.y1 - HEAD);
    let columns = if area.width() >= 150.0 { 2 } else { 1 };
    let frames = Frames {
        name: "bench sheet".to_owned(),
        width: w,
        height: h,
        first: split(body, columns),
        later: split(body, columns),
    };
    let (mut sheets, mut told_now) = (told_as(TOLD[0], &frames, request, layout, drawing), TOLD[0]);
    for told in &TOLD[1..] {
        if sheets.len() == 1 {
            break;
        }
        let shorter = told_as(*told, &frames, request, layout, drawing);
        if shorter.len() < sheets.len() {
            (sheets, told_now) = (shorter, *told);
        }
    }
    // Where the paper has room for more, all is told.
    let everything = (told_now.0, usize::MAX);
    let all = told_as(everything, &frames, request, layout, drawing);
    if all.len() == sheets.len() {
        (sheets, told_now) = (all, everything);
    }
    let total = layout.tiles.len() + sheets.len();
    for (index, sheet) in sheets.iter_mut().enumerate() {
        head(sheet, request, area, layout.tiles.len() + index + 1, total);
    }
    (sheets, names_told(&request.outcome.findings, told_now.1))
}

fn told_as(
    (height, listed): (f64, usize),
    frames: &Frames,
    request: &Request<'_>,
    layout: &Layout,
    drawing: &Drawing,
) -> Vec<Sheet> {
    let mut flow = Flow::new(frames.clone());
    figure(&mut flow, request, height);
    set_up(&mut flow, request);
    if template::legend_elsewhere(layout) {
        signs(&mut flow, request, layout, drawing);
    }
    cautions(&mut flow, request);
    findings(&mut flow, request, listed);
    order(&mut flow, request);
    holes(&mut flow, request);
    flow.finish()
}

fn head(sheet: &mut Sheet, request: &Request<'_>, area: Rect, number: usize, total: usize) {
    let panel = &request.outcome.face.panel;
    let [first, second] = template::sizes_in(request.unit, panel.width, panel.height);
    // A long name takes smaller letters, and the room of the words at the right.
    let room = area.width() * 0.5;
    let fits = |size: &f64| font::width(&font::printable(request.name), *size, Weight::Bold) <= room;
    let size = [style::TITLE, 4.4].into_iter().find(fits);
    let room = if size.is_some() { room } else { area.width() - 52.0 };
    let size = size.unwrap_or(style::HEADING);
    let name = super::flow::shortened(request.name, size, Weight::Bold, room);
    let title = Text::new(name, (area.x0, area.y1 - style::TITLE * 0.8), size).bold().ink(style::INK);
    let after = title.start().x + title.width() + 3.0;
    let kind = Text::new("bench sheet", (after, title.at.y), style::HEADING).ink(style::QUIET);
    sheet.push(Layer::Title, title);
    sheet.push(Layer::Title, kind);
    let kind_end = after + font::width("bench sheet", style::HEADING, Weight::Regular) + 3.0;
    let words = [format!("{first} ({second})     sheet {number} of {total}"), format!("sheet {number} of {total}")];
    let room =
        |words: &&String| font::width(&font::printable(words), style::BODY, Weight::Regular) <= area.x1 - kind_end;
    if let Some(words) = words.iter().find(room) {
        sheet.marks.push(template::quiet_right(words, Point::new(area.x1, area.y1 - style::TITLE * 0.8)));
    }
    let y = area.y1 - HEAD + 5.0;
    sheet.push(Layer::Title, Path::stroke(line((area.x0, y), (area.x1, y)), super::Stroke::new(0.6, style::INK)));
}

fn figure(flow: &mut Flow, request: &Request<'_>, most: f64) {
    let panel = request.outcome.face.panel.rect();
    let width = flow.rect().width();
    let height = (width * 0.9 * panel.height() / panel.width()).min(most);
    flow.figure(height, |area| picture::small(request.outcome, area));
    flow.remark("Cut-outs are numbered in the order of sawing, here, on the template and in the report.");
}

fn set_up(flow: &mut Flow, request: &Request<'_>) {
    let outcome = request.outcome;
    let (setup, panel) = (&outcome.setup, &outcome.face.panel);
    flow.heading("Set up");
    flow.fact("Wood", &format!("{}, {} thick", template::plain(&setup.wood), panel.thickness.fine(request.unit)));
    let kerf = Mm::new(setup.kerf);
    let better = setup.recommended.as_ref().filter(|blade| **blade != setup.blade);
    let advice = better.map_or(String::new(), |blade| format!("; better for this face: {}", template::plain(blade)));
    flow.fact("Blade", &format!("{}, cut {kerf:.2}{advice}", template::plain(&setup.blade)));
    flow.fact("Drill", &drills(request));
    flow.fact(
        "Sawing",
        &format!(
            "about {}, {} of line",
            minutes_text(outcome.order.minutes),
            long_text(outcome.order.length, request.unit)
        ),
    );
}

/// The drills needed, each with how many holes.
fn drills(request: &Request<'_>) -> String {
    let mut kinds: Vec<(String, usize)> = Vec::new();
    for hole in &request.outcome.holes {
        match kinds.iter_mut().find(|(drill, _)| *drill == hole.drill) {
            Some((_, count)) => *count += 1,
            None => kinds.push((hole.drill.clone(), 1)),
        }
    }
    let kinds: Vec<String> = kinds.into_iter().map(|(drill, count)| format!("{count} × {drill}")).collect();
    if kinds.is_empty() { "no holes".to_owned() } else { kinds.join(", ") }
}

fn signs(flow: &mut Flow, request: &Request<'_>, layout: &Layout, drawing: &Drawing) {
    flow.heading("Signs on the template");
    let grain = request.outcome.face.panel.grain_deg;
    let height = (drawing.shown.len() as f64 / 2.0).ceil() * 6.2;
    flow.figure(height, |area| legend::lay(area, drawing, 2, grain).0);
    flow.remark(legend::WEIGHT_NOTE);
    if layout.tiles.len() > 1 {
        let height = 46.0;
        flow.heading("Putting the sheets together");
        flow.figure(height, |area| template::plan_of_sheets(request, layout, area, None).0);
        flow.item("1", "Check both rulers on every sheet.", "");
        flow.item("2", "Trim each sheet on its dash-dot line along one side of every join.", "");
        flow.item("3", "Lay it on its neighbour, line on line and cross on cross: crosses with the same letter are the same point.", "Go by the crosses, never by the paper's edges.");
    }
}

fn cautions(flow: &mut Flow, request: &Request<'_>) {
    if request.cautions.is_empty() {
        return;
    }
    flow.heading("Take care");
    for caution in request.cautions {
        flow.item("•", caution, "");
    }
}

fn findings(flow: &mut Flow, request: &Request<'_>, listed_at_most: usize) {
    let all = &request.outcome.findings;
    flow.heading("What was found");
    if all.is_empty() {
        flow.paragraph("Nothing: every cut-out can be sawn and every bridge holds.");
        return;
    }
    let count = |severity: Severity| all.iter().filter(|finding| finding.severity == severity).count();
    let words = [Severity::Stop, Severity::Care, Severity::Note]
        .map(|severity| format!("{} {}", count(severity), severity.word()));
    flow.remark(&format!("{}. Stop: will fail or cannot be sawn. Care: can be done as said.", words.join(", ")));
    flow.remark("Places are from the panel's lower-left corner, seen from the front.");
    let groups = groups_told(all, listed_at_most);
    for group in &groups {
        let (name, text) = told(group, request);
        flow.item(&name, &text, &group[0].advice);
    }
    let told: usize = groups.iter().map(Vec::len).sum();
    if all.len() > told {
        flow.remark(&format!("and {} more in the report", all.len() - told));
    }
}

/// The groups of findings that are told, `at_most` of them but for those that stop the
/// work, which are told in full.
fn groups_told(all: &[Finding], at_most: usize) -> Vec<Vec<&Finding>> {
    let mut groups = grouped(&all[..all.len().min(SORTED)]);
    // Findings come worst first.
    let stops = groups.iter().take_while(|group| group[0].severity == Severity::Stop).count();
    groups.truncate(at_most.max(stops));
    groups
}

/// The short names of all findings told with their place.
fn names_told(all: &[Finding], at_most: usize) -> BTreeSet<String> {
    let groups = groups_told(all, at_most);
    // The first of a group stands apart from the list of the others.
    let named = |group: &Vec<&Finding>| 1 + named_of(group.len() - 1);
    groups.iter().flat_map(|group| group.iter().take(named(group)).map(|finding| short_name(finding))).collect()
}

/// How many of a list of names are written out; the long tail is counted.
const fn named_of(count: usize) -> usize {
    const SHOWN: usize = 16;
    if count > SHOWN + 1 { SHOWN } else { count }
}

/// Names one after another, the long tail counted.
fn listed(names: &[String]) -> String {
    let shown = named_of(names.len());
    match names.len() - shown {
        0 => names.join(", "),
        rest => format!("{} and {rest} more", names[..shown].join(", ")),
    }
}

/// Name and words of findings told together, each with its place.
fn told(group: &[&Finding], request: &Request<'_>) -> (String, String) {
    let first = group[0];
    let sign = if first.severity == Severity::Stop { "STOP  " } else { "" };
    let at = |finding: &Finding| finding.place_text(request.unit).map_or(String::new(), |at| format!(" at {at}"));
    let message = &first.message;
    let own = at(first);
    let comma = if own.is_empty() { "" } else { "," };
    let other = |other: &&Finding| format!("{}{}{}", short_name(other), of_what(other), at(other));
    let others: Vec<String> = group.iter().skip(1).map(other).collect();
    let same = if others.is_empty() { String::new() } else { format!("; the same figures: {}", listed(&others)) };
    (short_name(first), format!("{sign}{message}{comma}{own}{same}"))
}

/// Which cut-out a place without a hole or a loose piece of wood is of: ` (cut-out 4)`.
/// Its sign may stand beside it.
fn of_what(finding: &Finding) -> String {
    if !matches!(finding.kind, FindingKind::NoEntry | FindingKind::Island) {
        return String::new();
    }
    let naming: Vec<&str> = words(&finding.message).filter(|(_, naming)| *naming).map(|(word, _)| word).collect();
    if naming.is_empty() { String::new() } else { format!(" ({})", naming.join(" ").trim_end_matches(',')) }
}

/// Findings in order; those told in the same figures and put right in the same
/// way together.
fn grouped(all: &[Finding]) -> Vec<Vec<&Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in all {
        match groups.iter_mut().find(|group| alike(group[0], finding)) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

/// Whether two findings read the same but for the cut-outs and islands they name.
fn alike(a: &Finding, b: &Finding) -> bool {
    let same_kind = (a.kind, a.severity, &a.advice) == (b.kind, b.severity, &b.advice);
    same_kind && a.at.is_some() && unnumbered(&a.message) == unnumbered(&b.message)
}

/// The words of a message without the numbers of cut-outs and islands.
fn unnumbered(message: &str) -> Vec<&str> {
    let is_number = |word: &str| word.trim_end_matches(',').bytes().all(|c| c.is_ascii_digit());
    let kept = words(message).filter(|(word, naming)| !(*naming && (is_number(word) || *word == "and")));
    kept.map(|(word, _)| word).collect()
}

/// The words of a message, each with whether it names cut-outs or islands:
/// `cut-outs 3 and 4`.
fn words(message: &str) -> impl Iterator<Item = (&str, bool)> {
    let is_number = |word: &str| word.trim_end_matches(',').bytes().all(|c| c.is_ascii_digit());
    let mut naming = false;
    message.split(' ').map(move |word| {
        let is_noun = matches!(word, "cut-out" | "cut-outs" | "island" | "islands");
        naming = is_noun || (naming && (is_number(word) || word == "and"));
        (word, naming)
    })
}

fn order(flow: &mut Flow, request: &Request<'_>) {
    let steps = &request.outcome.order.steps;
    if steps.is_empty() {
        return;
    }
    flow.heading("Order of sawing");
    if let Some(words) = template::not_ready(request.outcome) {
        flow.item("STOP", &format!("{words}: put right what was found first"), "");
    }
    let columns = [
        ("no.", Align::Right),
        ("holes", Align::Left),
        ("line", Align::Right),
        ("min", Align::Right),
        ("why", Align::Left),
    ];
    let mut table = Table::new(&columns).stretching(4);
    for step in steps {
        let holes = request.outcome.holes.iter().filter(|hole| hole.cutout == step.cutout);
        let holes: Vec<String> = holes.map(|hole| format!("h{}", hole.id)).collect();
        let line = along(step.length, request.unit);
        table.row([
            step.cutout.to_string(),
            if holes.is_empty() { "none".to_owned() } else { holes.join(" ") },
            line,
            format!("{:.1}", step.minutes),
            if holes.is_empty() { "cannot be sawn yet: no entry hole".to_owned() } else { step.why.clone() },
        ]);
    }
    let total = &request.outcome.order;
    table.total = Some(vec![
        String::new(),
        String::new(),
        long_text(total.length, request.unit),
        whole_minutes(total.minutes).to_string(),
        String::new(),
    ]);
    flow.table(&table);
}

/// A length of line: whole millimetres, or tenths of an inch.
fn along(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{mm:.0} mm"),
        Unit::Inch => format!("{:.1} in", Mm::new(mm).inches()),
    }
}

fn holes(flow: &mut Flow, request: &Request<'_>) {
    let holes = &request.outcome.holes;
    if holes.is_empty() {
        return;
    }
    flow.heading("Entry holes");
    flow.remark("From the panel's lower-left corner, seen from the front.");
    let columns = |first: [&'static str; 2], second: [&'static str; 2]| {
        let right = |title| (title, Align::Right);
        let left = [("hole", Align::Left), ("drill", Align::Left)];
        left.into_iter().chain(first.into_iter().chain(second).map(right)).collect::<Vec<_>>()
    };
    let (inches, metric) = (["across, in", "up, in"], ["across, mm", "up, mm"]);
    let in_inches = request.unit == Unit::Inch;
    let mut table = Table::new(&if in_inches { columns(inches, metric) } else { columns(metric, inches) });
    for hole in holes {
        let inch = |mm: f64| Mm::new(mm).fraction(32).trim_end_matches(" in").to_owned();
        let mm = |mm: f64| format!("{mm:.1}");
        let (x, y) = (hole.at.x, hole.at.y);
        let places = if in_inches { [inch(x), inch(y), mm(x), mm(y)] } else { [mm(x), mm(y), inch(x), inch(y)] };
        table.row([format!("h{}", hole.id), hole.drill.clone()].into_iter().chain(places));
    }
    flow.table(&table);
}

#[cfg(test)]
mod tests;
