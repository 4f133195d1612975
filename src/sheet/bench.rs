//! The bench sheet: what to have at hand beside the saw.

use kurbo::{Point, Rect};

use super::flow::{Align, Flow, Frames, Table, line, split};
use super::layout::Layout;
use super::panel::Drawing;
use super::picture::{self, short_name};
use super::template::{self, Request};
use super::{Layer, Path, Sheet, Text, legend, style};
use crate::diag::{Finding, Severity};
use crate::font::{self, Weight};
use crate::units::{Mm, Unit};

/// How much is told: height of the picture, mm, and entries about findings (the
/// report has them all). The first that fits on one sheet is taken.
const TOLD: [(f64, usize); 4] = [(96.0, 14), (72.0, 14), (60.0, 11), (60.0, 8)];
/// Findings looked at for grouping; far more than a sheet can list.
const SORTED: usize = 400;
/// Height of the head with the name, mm.
const HEAD: f64 = 13.0;

/// The bench sheets, on the same paper, upright.
#[must_use]
pub(super) fn sheets(request: &Request<'_>, layout: &Layout, drawing: &Drawing) -> Vec<Sheet> {
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
    let mut sheets = told_as(TOLD[0], &frames, request, layout, drawing);
    for told in &TOLD[1..] {
        if sheets.len() == 1 {
            break;
        }
        let shorter = told_as(*told, &frames, request, layout, drawing);
        if shorter.len() < sheets.len() {
            sheets = shorter;
        }
    }
    let total = layout.tiles.len() + sheets.len();
    for (index, sheet) in sheets.iter_mut().enumerate() {
        head(sheet, request, area, layout.tiles.len() + index + 1, total);
    }
    sheets
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
    let name = super::flow::shortened(request.name, style::TITLE, Weight::Bold, area.width() * 0.5);
    let title = Text::new(name, (area.x0, area.y1 - style::TITLE * 0.8), style::TITLE).bold().ink(style::INK);
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
    flow.remark("Numbers are the order of sawing, as on the template; its table gives each cut-out’s own number.");
}

fn set_up(flow: &mut Flow, request: &Request<'_>) {
    let outcome = request.outcome;
    let (setup, panel) = (&outcome.setup, &outcome.face.panel);
    flow.heading("Set up");
    flow.fact("Wood", &format!("{}, {} thick", template::plain(&setup.wood), panel.thickness.both(request.unit)));
    let kerf = Mm::new(setup.kerf);
    let better = setup.recommended.as_ref().filter(|blade| **blade != setup.blade);
    let advice = better.map_or(String::new(), |blade| format!("; better for this face: {}", template::plain(blade)));
    flow.fact("Blade", &format!("{}, cut {kerf:.2}{advice}", template::plain(&setup.blade)));
    flow.fact("Drill", &drills(request));
    flow.fact(
        "Sawing",
        &format!("{}, {} of line", minutes(outcome.order.minutes), long(outcome.order.length, request.unit)),
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

/// Minutes as people say them.
fn minutes(minutes: f64) -> String {
    let whole = minutes.round().max(0.0) as u64;
    if whole < 90 { format!("about {whole} min") } else { format!("about {} h {:02} min", whole / 60, whole % 60) }
}

/// A long length: metres, or feet for a shop in inches.
fn long(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{:.1} m", mm / 1000.0),
        Unit::Inch => format!("{:.1} ft", Mm::new(mm).inches() / 12.0),
    }
}

fn signs(flow: &mut Flow, request: &Request<'_>, layout: &Layout, drawing: &Drawing) {
    flow.heading("Signs on the template");
    let grain = request.outcome.face.panel.grain_deg;
    let height = (drawing.shown.len() as f64 / 2.0).ceil() * 6.2;
    flow.figure(height, |area| legend::lay(area, drawing, 2, grain).0);
    flow.remark(legend::WEIGHT_NOTE);
    if layout.tiles.len() > 1 {
        flow.heading("Putting the sheets together");
        let height = 46.0;
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
    let groups = grouped(&all[..all.len().min(SORTED)]);
    for group in groups.iter().take(listed_at_most) {
        let first = group[0];
        let sign = if first.severity == Severity::Stop { "STOP  " } else { "" };
        if let [one] = group.as_slice() {
            let place = one.at.map_or(String::new(), |at| format!(", at {:.0} right, {:.0} up", at.x, at.y));
            flow.item(&short_name(one), &format!("{sign}{}{place}", one.message), &one.advice);
        } else {
            let names: Vec<String> = group.iter().skip(1).map(|finding| short_name(finding)).collect();
            let text = format!("{sign}{}; the same: {}", first.message, listed(&names));
            flow.item(&short_name(first), &text, &first.advice);
        }
    }
    let told: usize = groups.iter().take(listed_at_most).map(Vec::len).sum();
    if all.len() > told {
        flow.remark(&format!("and {} more in the report", all.len() - told));
    }
}

/// Names one after another, the long tail counted.
fn listed(names: &[String]) -> String {
    const SHOWN: usize = 16;
    match names.len().checked_sub(SHOWN) {
        Some(rest) if rest > 1 => format!("{} and {rest} more", names[..SHOWN].join(", ")),
        _ => names.join(", "),
    }
}

/// Findings in order, those of one kind, severity and advice together once
/// there are more than three of them.
fn grouped(all: &[Finding]) -> Vec<Vec<&Finding>> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    let alike = |a: &Finding, b: &Finding| (a.kind, a.severity, &a.advice) == (b.kind, b.severity, &b.advice);
    for finding in all {
        let many = all.iter().filter(|other| alike(other, finding)).count() > 3;
        match groups.iter_mut().find(|group| many && alike(group[0], finding)) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

fn order(flow: &mut Flow, request: &Request<'_>) {
    let steps = &request.outcome.order.steps;
    if steps.is_empty() {
        return;
    }
    flow.heading("Order of sawing");
    let columns = [
        ("no.", Align::Right),
        ("cut-out", Align::Right),
        ("holes", Align::Left),
        ("line", Align::Right),
        ("min", Align::Right),
        ("why", Align::Left),
    ];
    let mut table = Table::new(&columns).stretching(5);
    for step in steps {
        let holes = request.outcome.holes.iter().filter(|hole| hole.cutout == step.cutout);
        let holes: Vec<String> = holes.map(|hole| format!("h{}", hole.id)).collect();
        let line = along(step.length, request.unit);
        table.row([
            step.turn.to_string(),
            step.cutout.to_string(),
            holes.join(" "),
            line,
            format!("{:.1}", step.minutes),
            step.why.clone(),
        ]);
    }
    let total = &request.outcome.order;
    table.total = Some(vec![
        String::new(),
        String::new(),
        String::new(),
        long(total.length, request.unit),
        format!("{:.0}", total.minutes),
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
    let columns = [
        ("hole", Align::Left),
        ("drill", Align::Left),
        ("across, in", Align::Right),
        ("up, in", Align::Right),
        ("across, mm", Align::Right),
        ("up, mm", Align::Right),
    ];
    let mut table = Table::new(&columns);
    for hole in holes {
        let inch = |mm: f64| Mm::new(mm).fraction(32).trim_end_matches(" in").to_owned();
        table.row([
            format!("h{}", hole.id),
            hole.drill.clone(),
            inch(hole.at.x),
            inch(hole.at.y),
            format!("{:.1}", hole.at.x),
            format!("{:.1}", hole.at.y),
        ]);
    }
    flow.table(&table);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_and_lengths_read_as_people_say_them() {
        assert_eq!(minutes(41.6), "about 42 min", "minutes");
        assert_eq!(minutes(125.0), "about 2 h 05 min", "hours");
        assert_eq!(
            (long(2540.0, Unit::Mm), long(3048.0, Unit::Inch)),
            ("2.5 m".to_owned(), "10.0 ft".to_owned()),
            "long"
        );
    }
}
