//! The nail story: where every nail goes, measured from edges a person can put
//! a rule on.

use kurbo::{Circle, Point, Rect, Shape as _};

use super::Request;
use super::draw::{View, across, cutouts, dashed, part, upright};
use crate::boxes::design::Design;
use crate::boxes::job::Lantern;
use crate::boxes::nails::{CAUTION, Driving, NailRow, RowKind};
use crate::settings::boxes::Joint;
use crate::sheet::flow::{Align, Flow, Table, line};
use crate::sheet::{Layer, Mark, Path, Text, style};
use crate::trade::woods::WoodKind;
use crate::units::{Mm, Unit};

pub(super) fn fill(flow: &mut Flow, lantern: &Lantern, request: &Request<'_>) {
    let (plan, unit) = (&lantern.nails, request.unit);
    let corners = match lantern.design.joint {
        Joint::FrontLapsSides => "its corner nails (dots)",
        Joint::SidesLapFront => "the corner nails that come in from the sides (lines)",
    };
    let caption = format!(
        "Left: the front wall with {corners} and the base nails that come up from below (lines); the dashes are the \
         window for the face. Right: the base from below with its nail line."
    );
    let height = figure_height(lantern, unit, flow.rect().width(), HIGHEST.min(flow.highest(&caption)));
    flow.heading("Nails");
    flow.captioned(height, &caption, |area| figure(lantern, unit, area));
    let size = format!("{} long, {:.2} thick", plan.length.both(unit), plan.diameter);
    flow.fact("Brads", &format!("{size}; {} in one box", plan.count()));
    flow.fact("Driven", driving(plan.driving));
    match plan.driving {
        Driving::Predrilled => flow.fact("Holes", &format!("{:.1} wide", plan.predrill)),
        Driving::Light | Driving::Heavy => flow.fact("If it splits", &format!("drill {:.1} first", plan.predrill)),
    }
    flow.heading("Every nail");
    flow.table(&table(lantern, unit));
    flow.remark("Positions are measured along the joint from the end named; base nails from the base's own edge.");
    flow.heading("What the nails hold");
    if request.wood.kind == WoodKind::Plywood {
        flow.paragraph(IN_PLYWOOD);
        return;
    }
    flow.paragraph(&withdrawal(lantern));
    flow.remark(&format!("{}{}.", CAUTION[..1].to_uppercase(), &CAUTION[1..]));
}

/// Goes where a withdrawal load would be shown for solid wood.
const IN_PLYWOOD: &str = "The brads sit in the edges of plywood, where no figure for solid wood holds: none is given. \
                          Let the glue hold the box, and the brads only until it has set.";

const fn driving(driving: Driving) -> &'static str {
    match driving {
        Driving::Light => "undrilled; distances by Eurocode 5 Table 8.2 for wood up to 420 kg/m³",
        Driving::Heavy => "undrilled; distances by Eurocode 5 Table 8.2 for wood over 420 kg/m³",
        Driving::Predrilled => "into drilled holes; distances by Eurocode 5 Table 8.2",
    }
}

/// Highest that the figure gets where the sheet has room, mm.
const HIGHEST: f64 = 96.0;
/// Room under and over the panel, and under and over the base, mm: the base stands a
/// little higher, above its dimension.
const ROUND: (f64, f64) = (10.0, 14.0);

/// The base's width and depth.
fn base_size(design: &Design) -> (Mm, Mm) {
    (design.width + design.base_overhang * 2.0, design.depth + design.base_overhang * 2.0)
}

/// What the figure of the base's nail line, which stands at its right, takes beyond
/// the room usually left for it.
fn beyond(lantern: &Lantern, unit: Unit) -> f64 {
    let label = line_label(lantern, unit).map_or(0.0, |text| Text::new(text, Point::ZERO, style::SMALL).width());
    (label - 12.0).max(0.0)
}

/// The scale at which panel and base fit into such a room.
fn figure_scale(lantern: &Lantern, unit: Unit, width: f64, height: f64) -> f64 {
    let ((panel_width, panel_height), base) = (lantern.design.panel(), base_size(&lantern.design));
    let heights = ((height - ROUND.0) / panel_height.get()).min((height - ROUND.1) / base.1.get());
    ((width - 68.0 - beyond(lantern, unit)) / (panel_width + base.0).get()).min(heights)
}

/// How high the figure gets in a frame of this width, where it may be this high.
fn figure_height(lantern: &Lantern, unit: Unit, width: f64, highest: f64) -> f64 {
    let scale = figure_scale(lantern, unit, width, highest);
    let (panel, base) = (lantern.design.panel().1, base_size(&lantern.design).1);
    (scale * panel.get() + ROUND.0).max(scale * base.get() + ROUND.1)
}

fn figure(lantern: &Lantern, unit: Unit, area: Rect) -> Vec<Mark> {
    let design = &lantern.design;
    let ((panel_width, panel_height), base) = (design.panel(), base_size(design));
    let widths = panel_width.get() + base.0.get();
    let more = beyond(lantern, unit);
    let scale = figure_scale(lantern, unit, area.width(), area.height());
    let left = area.x0 + (area.width() - widths * scale - 48.0 - more) / 2.0 + 10.0;
    let front = View { scale, origin: Point::new(left, area.y0 + 8.0) };
    let below = View { scale, origin: Point::new(left + panel_width.get() * scale + 28.0, area.y0 + 12.0) };
    let mut marks = vec![
        part(front.rect(Rect::new(0.0, 0.0, panel_width.get(), panel_height.get()))),
        dashed(Layer::NailZones, front.rect(lantern.window.rect())),
    ];
    marks.extend(cutouts(&lantern.cutouts, &front, 0.0));
    for nail in lantern.nails.on_panel() {
        marks.extend(nail_mark(front.point(nail.from), front.point(nail.to)));
    }
    marks.extend(across(front.x(0.0), front.x(panel_width.get()), area.y0 + 4.0, &panel_width.text(unit)));
    marks.extend(upright(front.y(0.0), front.y(panel_height.get()), front.x(0.0) - 4.0, &panel_height.text(unit)));
    marks.extend(base_view(lantern, unit, &below, (base.0.get(), base.1.get())));
    marks
}

fn nail_mark(from: Point, to: Point) -> Vec<Mark> {
    let dot = Mark::new(Layer::Nails, Path::fill(Circle::new(from, 0.6).to_path(0.01), style::INK));
    if from.distance(to) < 1e-9 {
        return vec![dot];
    }
    vec![Mark::new(Layer::Nails, Path::stroke(line(from, to), crate::sheet::Stroke::new(0.5, style::INK)))]
}

/// The base from below, its left edge at the left: walls dashed, nails as dots.
fn base_view(lantern: &Lantern, unit: Unit, view: &View, (width, depth): (f64, f64)) -> Vec<Mark> {
    let design = &lantern.design;
    let (out, t) = (design.base_overhang.get(), design.thickness.get());
    let walls = Rect::new(out, out, width - out, depth - out);
    let mut marks = vec![
        part(view.rect(Rect::new(0.0, 0.0, width, depth))),
        dashed(Layer::Parts, view.rect(walls)),
        dashed(Layer::Parts, view.rect(walls.inset(-t))),
    ];
    let rows = lantern.nails.rows.iter().filter(|r| r.kind == RowKind::Base);
    for row in rows {
        for nail in &row.nails {
            let (along, line) = (nail.from_end.get(), row.line.get());
            let at = match row.name {
                "base to front" => Point::new(along, line),
                "base to back" => Point::new(along, depth - line),
                "base to left side" => Point::new(line, along),
                _ => Point::new(width - line, along),
            };
            let at = view.point(at);
            marks.extend(nail_mark(at, at));
        }
    }
    if let (Some(row), Some(text)) = (base_row(lantern), line_label(lantern, unit)) {
        marks.extend(upright(view.y(0.0), view.y(row.line.get()), view.x(width) + 6.0, &text));
    }
    marks.extend(across(view.x(0.0), view.x(width), view.y(0.0) - 5.0, &Mm::new(width).text(unit)));
    marks
}

fn base_row(lantern: &Lantern) -> Option<&NailRow> {
    lantern.nails.rows.iter().find(|r| r.kind == RowKind::Base)
}

/// What is written beside the base's nail line.
fn line_label(lantern: &Lantern, unit: Unit) -> Option<String> {
    base_row(lantern).map(|row| format!("line {}", row.line.text(unit)))
}

fn table(lantern: &Lantern, unit: Unit) -> Table {
    let columns = [
        ("Joint", Align::Left),
        ("Through, into", Align::Left),
        ("Line from edge", Align::Right),
        ("Reach", Align::Right),
        ("Nails at", Align::Left),
    ];
    let mut table = Table::new(&columns).stretching(4);
    for row in &lantern.nails.rows {
        table.row([
            row.name.to_owned(),
            format!("{}, {}", row.through, row.into),
            row.line.text(unit),
            row.reach.text(unit),
            places(row, unit),
        ]);
    }
    table
}

fn places(row: &NailRow, unit: Unit) -> String {
    let at = |n: &crate::boxes::nails::NailSpot| if row.kind == RowKind::Base { n.from_end } else { n.at };
    let list: Vec<_> = row.nails.iter().map(|n| at(n).text(unit)).collect();
    let from = if row.kind == RowKind::Base { "the base's edge" } else { row.from };
    match (list.is_empty(), row.dropped) {
        (true, _) => "none: no room; glue and clamp".to_owned(),
        (false, 0) => format!("{} from {from}", list.join(", ")),
        (false, n) => format!("{} from {from}; {n} left out", list.join(", ")),
    }
}

fn withdrawal(lantern: &Lantern) -> String {
    let held = lantern.nails.rows.iter().filter(|r| r.kind == RowKind::Corner).filter_map(|r| r.withdrawal_n);
    let least = held.fold(f64::INFINITY, f64::min);
    let corner = if least.is_finite() {
        format!("Pulling one wall corner straight off takes about {:.0} N ({:.0} lb).", least, least / 4.448)
    } else {
        "The wall corners have no nails.".to_owned()
    };
    let joint = match lantern.design.joint {
        Joint::FrontLapsSides => "front and back pull off the sides",
        Joint::SidesLapFront => "the sides pull off front and back",
    };
    format!("{corner} That is how {joint}. Base nails sit in end grain, which is not counted on at all.")
}
