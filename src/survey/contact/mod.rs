//! The contact sheet: every face of a survey on paper, with its figures.

mod card;
mod head;
pub mod sign;

use kurbo::{Point, Rect};

use super::Survey;
use super::words::grouped;
use crate::font::Weight;
use crate::sheet::flow::{line, shortened};
use crate::sheet::{Anchor, Ink, Layer, Path, Sheet, Stroke, Text, style};
use crate::units::Mm;

/// The paper, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Page {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// What the printer cannot print.
    pub margin: f64,
}

/// Height of the head on every sheet, mm.
const HEAD: f64 = 12.0;
/// Least height and width of a card, mm.
const CARD: (f64, f64) = (86.0, 47.0);
/// Between cards, mm.
const GAP: f64 = 3.0;

/// Cut-outs: dark as the inside of a lantern.
pub(super) const CUT: Ink = Ink::rgb(58, 39, 23);
/// The panel: pale, to spare the printer.
pub(super) const PANEL: Ink = Ink::rgb(246, 237, 220);

/// The sheets, in order, each drawn as it is asked for.
pub fn sheets<'a>(survey: &'a Survey, page: &'a Page) -> impl Iterator<Item = Sheet> + 'a {
    let area = Rect::new(page.margin, page.margin, page.width - page.margin, page.height - page.margin).inset(-2.0);
    let body = Rect::new(area.x0, area.y0, area.x1, area.y1 - HEAD);
    let blank = move |i: usize| Sheet::new(format!("faces {}", i + 1), Mm::new(page.width), Mm::new(page.height));
    let mut first = blank(0);
    let top = head::first(&mut first, survey, body);
    let (beside, alone) = (places(Rect { y1: top, ..body }, body), places(body, body));
    let rest = survey.rows.len().saturating_sub(beside.len());
    let total = 1 + rest.div_ceil(alone.len().max(1));
    let mut first = Some(first);
    (0..total).map(move |i| {
        let mut sheet = first.take().unwrap_or_else(|| blank(i));
        let (places, before) = if i == 0 { (&beside, 0) } else { (&alone, beside.len() + (i - 1) * alone.len()) };
        for (place, row) in places.iter().zip(survey.rows.iter().skip(before)) {
            card::draw(&mut sheet, row, survey, *place);
        }
        number(&mut sheet, area, survey, (i + 1, total));
        sheet
    })
}

/// Where cards go in `room`, row by row; all cards of a survey are as high as on
/// a sheet with nothing but cards.
fn places(room: Rect, body: Rect) -> Vec<Rect> {
    let fit = |length: f64, least: f64| (((length + GAP) / (least + GAP) + 1e-9).floor() as u32).max(1);
    let (columns, rows) = (fit(body.width(), CARD.0), fit(body.height(), CARD.1));
    let side = |length: f64, count: u32| (length - GAP * f64::from(count - 1)) / f64::from(count);
    let (width, height) = (side(body.width(), columns), side(body.height(), rows));
    // Nothing is left for a card only on a sheet smaller than the head.
    let rows =
        if room.height() < body.height() { ((room.height() + GAP) / (height + GAP)).floor() as u32 } else { rows };
    let place = |row: u32, column: u32| {
        let (x, y) = (room.x0 + f64::from(column) * (width + GAP), room.y1 - f64::from(row) * (height + GAP));
        Rect::new(x, y - height, x + width, y)
    };
    (0..rows).flat_map(|row| (0..columns).map(move |column| place(row, column))).collect()
}

/// The title, what it is for, and the sheet's number of how many.
fn number(sheet: &mut Sheet, area: Rect, survey: &Survey, (number, total): (usize, usize)) {
    let baseline = area.y1 - style::TITLE * 0.8;
    let count = format!("sheet {} of {}", grouped(number), grouped(total));
    let count = Text::new(count, (area.x1, baseline), style::SMALL).ink(style::QUIET).anchor(Anchor::End);
    let title = Text::new("The drawer", (area.x0, baseline), style::TITLE).bold().ink(style::INK);
    let after = Point::new(area.x0 + title.width() + 3.0, baseline);
    let room = count.start().x - after.x - 4.0;
    let faces = shortened(&shown(survey), style::BODY, Weight::Regular, room);
    sheet.push(Layer::Title, Text::new(faces, after, style::BODY).ink(style::QUIET));
    sheet.push(Layer::Title, title);
    sheet.push(Layer::Title, count);
    let y = area.y1 - HEAD + 4.5;
    sheet.push(Layer::Title, Path::stroke(line((area.x0, y), (area.x1, y)), Stroke::new(0.6, style::INK)));
}

/// `6 faces`, `12 of 1,000 faces: minutes<60`.
fn shown(survey: &Survey) -> String {
    let (shown, of) = (survey.rows.len(), survey.of);
    let faces = if of == 1 { "face" } else { "faces" };
    if survey.chosen.is_empty() {
        return format!("{} {faces}", grouped(of));
    }
    format!("{} of {} {faces}: {}", grouped(shown), grouped(of), survey.chosen)
}
