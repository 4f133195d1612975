//! The head of the first sheet: how the faces came out, and how to read a card.

use kurbo::{Point, Rect, Shape as _};

use super::card::{PARTS, SCALE};
use super::sign::{ink, sign};
use crate::font::Weight;
use crate::sheet::flow::wrap;
use crate::sheet::{Layer, Path, Sheet, Text, style};
use crate::survey::words::{self, grouped};
use crate::survey::{EXPLAINED, PART_NAMES, Survey, Verdict};

/// Draws the head into the top of `body` and returns where the cards begin.
pub(super) fn first(sheet: &mut Sheet, survey: &Survey, body: Rect) -> f64 {
    let wide = body.width() >= 150.0;
    let split = if wide { body.x0 + body.width() * 0.42 } else { body.x1 };
    let left = Rect::new(body.x0, body.y0, split - 4.0, body.y1);
    let after = tally(sheet, survey, left);
    let right = if wide { Rect { x0: split, ..body } } else { Rect { y1: after, ..body } };
    let end = explained(sheet, right);
    after.min(end) - 3.5
}

/// The setup and the count of each verdict.
fn tally(sheet: &mut Sheet, survey: &Survey, room: Rect) -> f64 {
    let mut y = paragraph(sheet, &words::setup(&survey.setup), Rect { y1: room.y1 - 0.5, ..room }, style::BODY);
    y -= 2.6;
    for (verdict, count) in survey.tally() {
        let middle = Point::new(room.x0 + 1.9, y - 0.2);
        sheet.marks.extend(sign(verdict, middle, 1.6));
        let number = Text::new(grouped(count), (room.x0 + 14.5, y - 1.3), 3.4).bold().ink(ink(verdict));
        sheet.push(Layer::Notes, number.anchor(crate::sheet::Anchor::End));
        let said = Text::new(meaning(verdict), (room.x0 + 16.5, y - 1.3), style::BODY).ink(style::INK);
        sheet.push(Layer::Notes, said);
        y -= 5.0;
    }
    let doubles = survey.doubles();
    if doubles > 0 {
        let text =
            format!("{} {} another of the drawer", grouped(doubles), if doubles == 1 { "repeats" } else { "repeat" });
        y = paragraph(sheet, &text, Rect { y1: y + 1.0, x0: room.x0 + 16.5, ..room }, style::BODY);
    }
    y
}

/// What a verdict means, for the legend.
const fn meaning(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::SawAsIs => "saw as is: nothing stops them",
        Verdict::SoundAfterMending => "sound after mending: tried",
        Verdict::NeedsMending => "need mending: not tried",
        Verdict::NotForThisPanel => "not for this panel",
        Verdict::NotRead => "could not be read",
    }
}

/// The difficulty's make-up, with the inks of its bar.
fn explained(sheet: &mut Sheet, room: Rect) -> f64 {
    let heading = Text::new("How to read a card", (room.x0, room.y1 - 3.4), style::BODY).bold().ink(style::INK);
    sheet.push(Layer::Notes, heading);
    let mut y = paragraph(sheet, EXPLAINED, Rect { y1: room.y1 - 4.6, ..room }, style::SMALL) - 1.6;
    let mut x = room.x0;
    for (name, ink) in PART_NAMES.into_iter().zip(PARTS) {
        let label = Text::new(name, (x + 4.4, y - 2.0), style::SMALL).ink(style::INK);
        sheet.push(Layer::Notes, Path::fill(Rect::new(x, y - 2.2, x + 3.4, y - 0.2).to_path(1e-3), ink));
        x += 4.4 + label.width() + 4.0;
        sheet.push(Layer::Notes, label);
    }
    y -= 3.4;
    let bar = format!("The bar ends at {SCALE:.0} points. Times are reckoned from the shop's own pace.");
    paragraph(sheet, &bar, Rect { y1: y, ..room }, style::SMALL)
}

/// Wrapped text from the top of `room`; returns where it ends.
fn paragraph(sheet: &mut Sheet, text: &str, room: Rect, size: f64) -> f64 {
    let mut y = room.y1;
    for content in wrap(text, size, Weight::Regular, room.width()) {
        y -= size * style::LEADING;
        let ink = if size < style::BODY { style::QUIET } else { style::INK };
        sheet.push(Layer::Notes, Text::new(content, (room.x0, y + size * 0.3), size).ink(ink));
    }
    y
}
