//! One face on the contact sheet.

use kurbo::{Affine, Point, Rect, RoundedRect, Shape as _};

use super::sign::{ink, sign};
use super::{CUT, PANEL};
use crate::diag::Severity;
use crate::font::{self, Weight};
use crate::sheet::flow::{shortened, wrap, wrapped_to};
use crate::sheet::{Ink, Layer, Path, Sheet, Stroke, Text, style};
use crate::survey::words;
use crate::survey::{Difficulty, Found, Measured, Row, Survey};
use crate::units::{Mm, minutes_text, size_text};

/// Inside the card's border, mm.
const PAD: f64 = 2.0;
/// Points at which the difficulty's bar is full.
pub(super) const SCALE: f64 = 40.0;
/// Inks of the difficulty's parts, apart in grey, too.
pub(super) const PARTS: [Ink; 5] = [
    Ink::rgb(222, 204, 172),
    Ink::rgb(52, 38, 28),
    Ink::rgb(206, 138, 62),
    Ink::rgb(190, 60, 48),
    Ink::rgb(165, 192, 212),
];

/// Draws `row` into `place`.
pub(super) fn draw(sheet: &mut Sheet, row: &Row, survey: &Survey, place: Rect) {
    let border = RoundedRect::from_rect(place, 1.6).to_path(1e-2);
    sheet.push(Layer::Notes, Path::stroke(border, Stroke::new(style::FINE, Ink::rgb(205, 189, 159))));
    let inside = place.inset(-PAD);
    let (width, height) = (survey.setup.width.get(), survey.setup.height.get());
    let scale = (inside.height() / height.max(1e-9)).min(inside.width() * 0.4 / width.max(1e-9));
    let panel = Rect::new(inside.x0, inside.y1 - height * scale, inside.x0 + width * scale, inside.y1);
    thumbnail(sheet, row, panel, scale);
    let mut column = Column { sheet, room: Rect { x0: panel.x1 + 3.0, ..inside }, y: inside.y1 };
    column.name(row);
    column.verdict(row);
    match &row.found {
        Found::Face(face) => column.figures(row, face.judged(), survey),
        Found::Refused(refused) => {
            column.lines(&refused.what, 6, style::INK);
            column.lines(&refused.advice, 4, style::QUIET);
        }
    }
}

fn thumbnail(sheet: &mut Sheet, row: &Row, panel: Rect, scale: f64) {
    let edge = Stroke::new(style::FINE, Ink::rgb(143, 122, 92));
    let Some(face) = row.judged() else {
        let dashed = Stroke::new(style::FINE, style::RULE).dashed(&[1.2, 1.0]);
        sheet.push(Layer::Panel, Path::stroke(panel.to_path(1e-3), dashed));
        let mark = Text::new("?", panel.center(), 9.0).bold().ink(style::RULE).centred();
        sheet.push(Layer::Panel, mark);
        return;
    };
    sheet.push(Layer::Panel, Path::fill(panel.to_path(1e-3), PANEL));
    let lay = Affine::translate((panel.x0, panel.y0)) * Affine::scale(scale);
    sheet.push(Layer::CutLines, Path::fill(lay * face.outline.path(), CUT));
    sheet.push(Layer::Panel, Path::stroke(panel.to_path(1e-3), edge));
}

/// Text down the card's right side.
struct Column<'a> {
    sheet: &'a mut Sheet,
    room: Rect,
    y: f64,
}

impl Column<'_> {
    fn name(&mut self, row: &Row) {
        let number = Text::new(row.number.to_string(), (self.room.x1, self.y - 2.6), style::SMALL).ink(style::QUIET);
        let number = number.anchor(crate::sheet::Anchor::End);
        let room = self.room.width() - number.width() - 2.0;
        self.sheet.push(Layer::Notes, number);
        if shortened(&row.name, 3.4, Weight::Bold, room) == font::printable(&row.name) {
            self.sheet
                .push(Layer::Notes, Text::new(&row.name, (self.room.x0, self.y - 2.8), 3.4).bold().ink(style::INK));
            self.y -= 4.6;
            return;
        }
        for line in wrapped_to(&row.name, style::BODY, Weight::Bold, room, 2) {
            self.sheet
                .push(Layer::Notes, Text::new(line, (self.room.x0, self.y - 2.6), style::BODY).bold().ink(style::INK));
            self.y -= 3.5;
        }
        self.y -= 0.8;
    }

    fn verdict(&mut self, row: &Row) {
        let verdict = row.verdict();
        let middle = Point::new(self.room.x0 + 1.35, self.y - 1.55);
        self.sheet.marks.extend(sign(verdict, middle, 1.3));
        let at = (self.room.x0 + 3.9, self.y - 2.5);
        self.sheet.push(Layer::Notes, Text::new(verdict.words(), at, style::BODY).bold().ink(ink(verdict)));
        self.y -= 4.4;
    }

    fn figures(&mut self, row: &Row, face: &Measured, survey: &Survey) {
        let unit = survey.setup.unit;
        if row.says_why() {
            self.lines(row.reason(), 2, style::INK);
        }
        if row.is_mended() {
            self.lines(words::AFTER_MENDING, 1, style::QUIET);
        }
        for (severity, word) in [(Severity::Stop, "stop"), (Severity::Care, "care")] {
            let faults = words::faults_of(face, severity);
            if !faults.is_empty() {
                self.fact(word, &faults, 2);
            }
        }
        // The worst crowded card loses what stands last.
        let saw = format!(
            "{} of line, {}, {}",
            words::line(face.length_mm, unit),
            words::counted(face.holes, "hole"),
            minutes_text(face.minutes)
        );
        self.fact("saw", &saw, 2);
        self.fact("blade", &words::blade(face), 1);
        if let Some(double) = &row.double {
            self.fact("twice", &words::double(double), 1);
        }
        self.fact("turn", &words::hardest(face.hardest.as_ref()), 1);
        self.fact("size", &size_text(Mm::new(face.width_mm), Mm::new(face.height_mm), unit), 1);
        self.difficulty(&face.difficulty);
    }

    /// A quiet label and a text of at most `most` lines beside it.
    fn fact(&mut self, label: &str, text: &str, most: usize) {
        let indent = 9.5;
        if self.left() {
            let at = (self.room.x0, self.y - style::SMALL);
            self.sheet.push(Layer::Notes, Text::new(label, at, style::SMALL).ink(style::QUIET));
        }
        self.indented(text, indent, most, style::INK);
    }

    fn lines(&mut self, text: &str, most: usize, ink: Ink) {
        self.indented(text, 0.0, most, ink);
    }

    fn indented(&mut self, text: &str, indent: f64, most: usize, ink: Ink) {
        let width = self.room.width() - indent;
        let mut lines = wrap(text, style::SMALL, Weight::Regular, width);
        if lines.len() > most {
            let rest = lines.split_off(most - 1).join(" ");
            lines.push(shortened(&format!("{rest}…"), style::SMALL, Weight::Regular, width));
        }
        for content in lines {
            if !self.left() {
                return;
            }
            let at = (self.room.x0 + indent, self.y - style::SMALL);
            self.sheet.push(Layer::Notes, Text::new(content, at, style::SMALL).ink(ink));
            self.y -= style::SMALL * style::LEADING;
        }
    }

    /// Whether a line is left above the difficulty, which stands at the foot.
    fn left(&self) -> bool {
        self.y - style::SMALL * style::LEADING >= self.room.y0 + 6.4
    }

    /// The figure, its word and the bar of its parts, at the foot of the card.
    fn difficulty(&mut self, difficulty: &Difficulty) {
        let (x, y, width) = (self.room.x0, self.room.y0, self.room.width());
        let said = format!("difficulty {:.1}, {}", difficulty.total(), difficulty.word());
        self.sheet.push(Layer::Notes, Text::new(said, (x, y + 3.1), style::SMALL).bold().ink(style::INK));
        let bar = |from: f64, to: f64| Rect::new(x + from * width, y, x + to * width, y + 1.9).to_path(1e-3);
        self.sheet.push(Layer::Notes, Path::fill(bar(0.0, 1.0), Ink::rgb(241, 232, 214)));
        let mut from = 0.0;
        for (points, ink) in difficulty.parts().into_iter().zip(PARTS) {
            let to = (from + points / SCALE).min(1.0);
            if to > from {
                self.sheet.push(Layer::Notes, Path::fill(bar(from, to), ink));
            }
            from = to;
        }
    }
}
