//! One drawing for every way a board is cut, with the cuts in order.

use kurbo::{Point, Rect, Shape as _};

use super::draw::{label, part};
use super::{Request, flow};
use crate::boxes::boards::{BoardLayout, CutRow, Order, Step};
use crate::boxes::job::Batch;
use crate::sheet::flow::{Flow, line};
use crate::sheet::hatch::hatch;
use crate::sheet::{Layer, Mark, Path, Sheet, Stroke, Text, style};
use crate::units::{Mm, Unit};

/// Least height of the widest board on paper, mm: widths of long boards are
/// drawn larger than lengths, or a strip's name would not fit in it.
const HEIGHT: f64 = 34.0;
/// Most of a sheet's height one board takes, so that its first cuts stand under
/// it.
const MOST_OF_SHEET: f64 = 0.7;
/// Pieces drawn narrower than this, mm, have a fine outline: with the usual one
/// narrow strips side by side would run into each other.
const NARROW: f64 = 3.0;

pub(super) fn sheets(batch: &Batch, request: &Request<'_>) -> Vec<Sheet> {
    let mut flow = flow(request, "boards", 1);
    let plan = &batch.boards;
    let unit = request.unit;
    let money = |cents: crate::units::Cents| cents.with_sign(&batch.money.currency);
    let proof = if plan.proved() {
        "No cheaper boards exist for this cut list, cut in two stages (proved).".to_owned()
    } else {
        let gap = 100.0 * (plan.cost.0 - plan.bound.0) as f64 / plan.cost.0.max(1) as f64;
        format!(
            "No boards for this cut list, cut in two stages, cost less than {} ({gap:.1} % below these).",
            money(plan.bound)
        )
    };
    let waste = 100.0 * plan.waste();
    flow.paragraph(&format!(
        "{} boards for {} boxes, {}; {waste:.0} % of the wood ends in offcuts, kerf and ends. {proof}",
        plan.boards(),
        batch.boxes,
        money(plan.cost)
    ));
    let scale = Scale::of(&plan.layouts, flow.rect());
    let drawn =
        if scale.across > scale.along { "Widths are drawn larger than lengths" } else { "All are to one scale" };
    flow.remark(&format!(
        "Each drawing is one board, its first end at the left. {drawn}. Hatched: offcut; named ones are worth keeping. \
         Lay the boards out before cutting: the clearest wood makes fronts."
    ));
    for (index, layout) in plan.layouts.iter().enumerate() {
        board(&mut flow, layout, index, &plan.cut_list, scale, unit);
    }
    flow.finish()
}

/// Millimetres on paper for one of a board.
#[derive(Clone, Copy, Debug)]
struct Scale {
    along: f64,
    across: f64,
}

impl Scale {
    /// One scale for all boards, the longest as long as the frame is wide.
    fn of(layouts: &[BoardLayout], frame: Rect) -> Self {
        let longest = layouts.iter().map(|l| l.length.get()).fold(1.0, f64::max);
        let widest = layouts.iter().map(|l| l.width.get()).fold(1.0, f64::max);
        let along = (frame.width() / longest).min(frame.height() * MOST_OF_SHEET / widest);
        Self { along, across: along.max(HEIGHT / widest) }
    }
}

/// One board: its heading, its drawing, its cuts.
fn board(flow: &mut Flow, layout: &BoardLayout, index: usize, rows: &[CutRow], scale: Scale, unit: Unit) {
    let steps = steps(layout, unit);
    let height = layout.width.get() * scale.across;
    let columns = in_columns(&steps, flow.rect().width());
    let lines = if columns { steps.len().div_ceil(2) } else { steps.len().min(3) };
    flow.need(height + 20.0 + lines as f64 * style::BODY * 1.5);
    let heading = heading(layout, index, unit);
    let named = format!("{heading}: {}", layout.name);
    if Text::new(&named, Point::ZERO, style::HEADING).bold().width() <= flow.rect().width() {
        flow.heading(&named);
    } else {
        flow.heading(&heading);
        flow.paragraph(&layout.name);
    }
    flow.figure(height + 1.0, |area| drawing(layout, rows, area, scale, unit));
    if columns {
        two_columns(flow, &steps);
    } else {
        steps.iter().for_each(|(number, text)| flow.item(number, text, ""));
    }
}

/// What has to be known at the saw comes first: a board's name may be long.
fn heading(layout: &BoardLayout, index: usize, unit: Unit) -> String {
    let order = match layout.order {
        Order::RipFirst => "rip first",
        Order::CrosscutFirst => "crosscut first",
    };
    let copies = if layout.copies == 1 { "1 board".to_owned() } else { format!("{} boards", layout.copies) };
    let size = format!("{} × {}", layout.length.text(unit), layout.width.text(unit));
    format!("Board {}: {copies} {size}, {order}", index + 1)
}

fn drawing(layout: &BoardLayout, rows: &[CutRow], area: Rect, scale: Scale, unit: Unit) -> Vec<Mark> {
    let (sx, sy) = (scale.along, scale.across);
    let place = |x: Mm, y: Mm, length: Mm, width: Mm| {
        let (x, y) = (area.x0 + x.get() * sx, area.y0 + 0.5 + y.get() * sy);
        Rect::new(x, y, x + length.get() * sx, y + width.get() * sy)
    };
    let whole = place(Mm::ZERO, Mm::ZERO, layout.length, layout.width);
    let mut marks = vec![Mark::new(Layer::Wood, Path::fill(whole.to_path(0.01), style::GROUND))];
    for offcut in &layout.offcuts {
        let rect = place(offcut.x, offcut.y, offcut.length, offcut.width);
        let ground = Path::fill(rect.to_path(0.01), crate::sheet::Ink::WHITE);
        marks.push(Mark::new(Layer::Waste, ground));
        let lines = hatch(&rect.to_path(0.01), 1.8, 45.0);
        marks.push(Mark::new(Layer::Waste, Path::stroke(lines, Stroke::new(style::HAIR, style::HATCH))));
        if offcut.keep {
            let size = format!("{} × {}", offcut.length.text(unit), offcut.width.text(unit));
            marks.extend(label_on_white(rect, &[format!("keep {size}"), size, "keep".to_owned()]));
        }
    }
    for piece in &layout.pieces {
        let rect = place(piece.x, piece.y, piece.length, piece.width);
        let row = &rows[piece.row];
        let ground = Path::fill(rect.to_path(0.01), crate::sheet::Ink::WHITE);
        marks.push(Mark::new(Layer::Wood, ground));
        marks.push(if rect.width().min(rect.height()) < NARROW { narrow(rect) } else { part(rect) });
        let size = format!("{} × {}", row.length.text(unit), row.width.text(unit));
        let length = format!("{} {}", row.mark, row.length.text(unit));
        let texts = [format!("{} {}", row.mark, size), length, row.mark.to_string()];
        marks.extend(label(rect, Layer::Parts, &texts));
    }
    marks.push(Mark::new(Layer::Parts, Path::stroke(whole.to_path(0.01), style::outline())));
    for x in [layout.end_loss, layout.length - layout.end_loss] {
        let x = area.x0 + x.get() * sx;
        let ends = line((x, whole.y0), (x, whole.y1));
        marks.push(Mark::new(Layer::Dimensions, Path::stroke(ends, style::dimension().dashed(&[1.0, 0.8]))));
    }
    marks
}

/// The outline of a piece that is narrow on paper.
fn narrow(rect: Rect) -> Mark {
    Mark::new(Layer::Parts, Path::stroke(rect.to_path(0.01), Stroke::new(style::FINE, style::INK)))
}

/// A label with white behind it, so that hatching does not cross it.
fn label_on_white(rect: Rect, texts: &[String]) -> Vec<Mark> {
    let Some(mark) = label(rect, Layer::Notes, texts) else { return Vec::new() };
    let bounds = match &mark.shape {
        crate::sheet::Shape::Text(text) => text.bounds().inset(0.6),
        _ => return vec![mark],
    };
    vec![Mark::new(Layer::Waste, Path::fill(bounds.to_path(0.01), crate::sheet::Ink::WHITE)), mark]
}

/// The cuts with their numbers.
fn steps(layout: &BoardLayout, unit: Unit) -> Vec<(String, String)> {
    let text = |(i, step): (usize, &Step)| {
        let cut = match step.cut {
            crate::boxes::boards::Cut::Crosscut => "crosscut",
            crate::boxes::boards::Cut::Rip => "rip",
        };
        let times = if step.times == 1 { String::new() } else { format!(", {} times", step.times) };
        ((i + 1).to_string(), format!("{cut} at {}{times}: {}", step.setting.text(unit), step.yields))
    };
    layout.steps.iter().enumerate().map(text).collect()
}

/// White between the columns of steps, mm.
const GAP: f64 = 4.0;

fn numbered(step: &(String, String)) -> String {
    format!("{}  {}", step.0, step.1)
}

/// Whether every step fits one line of a column.
fn in_columns(steps: &[(String, String)], width: f64) -> bool {
    let line = |step| Text::new(numbered(step), Point::ZERO, style::SMALL).width();
    steps.iter().all(|step| line(step) <= width / 2.0 - GAP)
}

/// The steps in two columns, read down the first and then the second.
fn two_columns(flow: &mut Flow, steps: &[(String, String)]) {
    let rows = steps.len().div_ceil(2);
    let leading = style::BODY * style::LEADING;
    flow.figure(rows as f64 * leading + 1.0, |area| {
        let column = area.width() / 2.0;
        let place = |(i, step): (usize, &(String, String))| {
            let (row, side) = (i % rows, i / rows);
            let at = Point::new(area.x0 + column * side as f64, area.y1 - style::BODY - row as f64 * leading);
            Mark::new(Layer::Notes, Text::new(numbered(step), at, style::SMALL).ink(style::INK))
        };
        steps.iter().enumerate().map(place).collect()
    });
}
