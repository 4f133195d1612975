//! Text and tables that flow down columns and on to further sheets.
//!
//! Everything is measured before it is placed, so nothing runs over an edge or
//! over its neighbour: lines wrap, rows grow, columns and sheets follow on.

use kurbo::{BezPath, Point, Rect, Shape as _};

use super::style;
pub use super::table::{Align, Table};
use super::table::{Grid, Row};
use super::{Ink, Layer, Mark, Path, Sheet, Text};
use crate::font::{self, Weight};
use crate::units::Mm;
pub(super) use wrap::titled;
pub use wrap::{shortened, wrap, wrapped_to};

mod wrap;

/// Where sheets' text goes: frames filled one after another, the first sheet's
/// and then every later sheet's.
#[derive(Clone, Debug, PartialEq)]
pub struct Frames {
    /// Name of the sheets; later ones get a number.
    pub name: String,
    /// Paper width, mm.
    pub width: f64,
    /// Paper height, mm.
    pub height: f64,
    /// Frames of the first sheet.
    pub first: Vec<Rect>,
    /// Frames of every later sheet.
    pub later: Vec<Rect>,
}

impl Frames {
    /// `columns` equal columns inside `area`, on every sheet.
    #[must_use]
    pub fn columns(name: &str, width: f64, height: f64, area: Rect, columns: u32) -> Self {
        let frames = split(area, columns);
        Self { name: name.to_owned(), width, height, first: frames.clone(), later: frames }
    }
}

/// `area` cut into equal columns 7 mm apart.
#[must_use]
pub fn split(area: Rect, columns: u32) -> Vec<Rect> {
    let gap = 7.0;
    let width = (area.width() - gap * f64::from(columns - 1)) / f64::from(columns);
    let column = |i| {
        let x = area.x0 + f64::from(i) * (width + gap);
        Rect::new(x, area.y0, x + width, area.y1)
    };
    (0..columns).map(column).collect()
}

/// Fills frames with headings, paragraphs, tables and figures, top down.
#[derive(Clone, Debug)]
pub struct Flow {
    frames: Frames,
    sheets: Vec<Sheet>,
    frame: usize,
    y: f64,
    /// A heading that waits for what it stands over.
    waiting: Option<Waiting>,
}

/// A heading, and the few words right under it that lead to what follows.
#[derive(Clone, Debug)]
struct Waiting {
    heading: String,
    lead: Option<Said>,
}

/// A paragraph: its text and voice, and the room behind it.
#[derive(Clone, Debug)]
struct Said {
    text: String,
    size: f64,
    ink: Ink,
    after: f64,
}

impl Said {
    fn remark(text: &str) -> Self {
        Self { text: text.to_owned(), size: style::SMALL, ink: style::QUIET, after: 0.8 }
    }

    fn lines(&self, width: f64) -> usize {
        wrap(&self.text, self.size, Weight::Regular, width).len()
    }

    fn height(&self, width: f64) -> f64 {
        self.lines(width) as f64 * self.size * style::LEADING + self.after
    }
}

/// What a heading takes, its rule and the room under it, mm.
const HEADED: f64 = style::HEADING * 1.45 + 1.6;
/// Room behind a figure, mm.
const BEHIND: f64 = 2.0;
/// A text of more lines than this stands for itself: it does not wait with its heading
/// for what follows it.
const LEAD: usize = 4;

impl Flow {
    /// An empty flow on its first sheet.
    #[must_use]
    pub fn new(frames: Frames) -> Self {
        let mut flow = Self { frames, sheets: Vec::new(), frame: 0, y: 0.0, waiting: None };
        flow.new_sheet();
        flow
    }

    fn new_sheet(&mut self) {
        let name = match self.sheets.len() {
            0 => self.frames.name.clone(),
            n => format!("{} {}", self.frames.name, n + 1),
        };
        self.sheets.push(Sheet::new(name, Mm::new(self.frames.width), Mm::new(self.frames.height)));
        self.frame = 0;
        self.y = self.rect().y1;
    }

    /// The frame being filled.
    #[must_use]
    pub fn rect(&self) -> Rect {
        let frames = if self.sheets.len() <= 1 { &self.frames.first } else { &self.frames.later };
        frames.get(self.frame).copied().unwrap_or_default()
    }

    fn frame_count(&self) -> usize {
        if self.sheets.len() <= 1 { self.frames.first.len() } else { self.frames.later.len() }
    }

    /// Goes on in the next frame, on a new sheet after the last.
    pub fn next_frame(&mut self) {
        if self.frame + 1 < self.frame_count() {
            self.frame += 1;
            self.y = self.rect().y1;
        } else {
            self.new_sheet();
        }
    }

    /// Moves on unless `height` mm are left in this frame.
    pub fn need(&mut self, height: f64) {
        if let Some(Waiting { heading, lead }) = self.waiting.take() {
            let led = lead.as_ref().map_or(0.0, |lead| lead.height(self.rect().width()));
            self.place_heading(&heading, led + height);
            lead.iter().for_each(|lead| self.place(lead));
        }
        let at_top = self.y >= self.rect().y1 - 1e-9;
        if self.y - height < self.rect().y0 - 1e-9 && !at_top {
            self.next_frame();
        }
    }

    /// Leaves `height` mm empty, except at the top of a frame.
    pub fn space(&mut self, height: f64) {
        if self.y < self.rect().y1 {
            self.y -= height;
        }
    }

    fn push(&mut self, mark: Mark) {
        // `new` puts in the first sheet and none is ever taken out.
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.marks.push(mark);
        }
    }

    /// The sheet's title, large.
    pub fn title(&mut self, text: &str) {
        self.need(style::TITLE * 1.6);
        let rect = self.rect();
        let (lines, size) = titled(text, rect.width(), 2);
        // Large, a title has more room round it.
        let (down, step) = match size {
            style::TITLE => (size * font::CAP_HEIGHT + 0.6, size * 1.45),
            _ => (size, size * style::LEADING),
        };
        for line in lines {
            let at = Point::new(rect.x0, self.y - down);
            self.push(Mark::new(Layer::Title, Text::new(line, at, size).bold().ink(style::INK)));
            self.y -= step;
        }
    }

    /// A section heading with a rule under it; it goes where the first of what
    /// follows goes.
    pub fn heading(&mut self, text: &str) {
        if self.waiting.as_ref().is_some_and(|waiting| waiting.lead.is_some()) {
            self.need(0.0);
        }
        self.waiting = Some(Waiting { heading: text.to_owned(), lead: None });
    }

    fn place_heading(&mut self, text: &str, below: f64) {
        self.space(style::HEADING * 1.1);
        self.need(HEADED + below.max(14.0));
        let rect = self.rect();
        let baseline = self.y - style::HEADING;
        let text = shortened(text, style::HEADING, Weight::Bold, rect.width());
        self.push(Mark::new(Layer::Notes, Text::new(text, (rect.x0, baseline), style::HEADING).bold().ink(style::INK)));
        let y = baseline - style::HEADING * 0.45;
        self.push(Mark::new(
            Layer::Notes,
            Path::stroke(line((rect.x0, y), (rect.x1, y)), super::Stroke::new(0.35, style::INK)),
        ));
        self.y = y - 1.6;
    }

    /// A paragraph of body text.
    pub fn paragraph(&mut self, text: &str) {
        self.say(Said { text: text.to_owned(), size: style::BODY, ink: style::INK, after: 1.0 });
    }

    /// A paragraph in the second voice: smaller and grey.
    pub fn remark(&mut self, text: &str) {
        self.say(Said::remark(text));
    }

    /// Right under a heading a few words wait with it.
    fn say(&mut self, said: Said) {
        let width = self.rect().width();
        match &mut self.waiting {
            Some(Waiting { lead: lead @ None, .. }) if said.lines(width) <= LEAD => *lead = Some(said),
            _ => self.place(&said),
        }
    }

    fn place(&mut self, said: &Said) {
        self.lines(&said.text, 0.0, said.size, Weight::Regular, said.ink);
        self.space(said.after);
    }

    /// A line with a bold lead: `Blade  flat no. 5 …`.
    pub fn fact(&mut self, lead: &str, text: &str) {
        let indent = 17.0;
        self.need(style::BODY * style::LEADING);
        let at = Point::new(self.rect().x0, self.y - style::BODY);
        let lead = shortened(lead, style::BODY, Weight::Bold, indent - 1.5);
        self.push(Mark::new(Layer::Notes, Text::new(lead, at, style::BODY).bold().ink(style::INK)));
        self.lines(text, indent, style::BODY, Weight::Regular, style::INK);
        self.space(0.5);
    }

    /// A list item: a bold mark at the margin and text beside it, then a remark.
    pub fn item(&mut self, mark: &str, text: &str, remark: &str) {
        let indent = (font::width(&font::printable(mark), style::BODY, Weight::Bold) + 1.8).max(5.0);
        let width = self.rect().width() - indent;
        let body = wrap(text, style::BODY, Weight::Regular, width).len() as f64;
        let rest = if remark.is_empty() { 0 } else { wrap(remark, style::SMALL, Weight::Regular, width).len() };
        self.need((body * style::BODY + rest as f64 * style::SMALL) * style::LEADING);
        let at = Point::new(self.rect().x0, self.y - style::BODY);
        self.push(Mark::new(Layer::Notes, Text::new(mark, at, style::BODY).bold().ink(style::INK)));
        self.lines(text, indent, style::BODY, Weight::Regular, style::INK);
        if !remark.is_empty() {
            self.lines(remark, indent, style::SMALL, Weight::Regular, style::QUIET);
        }
        self.space(1.1);
    }

    /// Neither the first nor the last line of a paragraph stands alone in a frame.
    fn lines(&mut self, text: &str, indent: f64, size: f64, weight: Weight, ink: Ink) {
        let lines = wrap(text, size, weight, self.rect().width() - indent);
        let (count, leading) = (lines.len(), size * style::LEADING);
        for (index, content) in lines.into_iter().enumerate() {
            let together = match count {
                2 | 3 if index == 0 => count,
                _ if count > 3 && (index == 0 || index == count - 2) => 2,
                _ => 1,
            };
            self.need(together as f64 * leading);
            let at = Point::new(self.rect().x0 + indent, self.y - size);
            let text = Text { weight, ..Text::new(content, at, size).ink(ink) };
            self.push(Mark::new(Layer::Notes, text));
            self.y -= leading;
        }
    }

    /// A line or two in bold.
    pub fn strong(&mut self, text: &str) {
        self.lines(text, 0.0, style::BODY, Weight::Bold, Ink::BLACK);
        self.space(0.8);
    }

    /// A figure `height` mm high across the frame; `draw` gets its rectangle.
    pub fn figure(&mut self, height: f64, draw: impl FnOnce(Rect) -> Vec<Mark>) {
        self.need(height);
        let frame = self.rect();
        for mark in draw(Rect::new(frame.x0, self.y - height, frame.x1, self.y)) {
            self.push(mark);
        }
        self.y -= height;
        self.space(BEHIND);
    }

    /// A figure and the remark that explains it, in one frame.
    pub fn captioned(&mut self, height: f64, caption: &str, draw: impl FnOnce(Rect) -> Vec<Mark>) {
        self.need(height + self.under_figure(caption));
        self.figure(height, draw);
        self.remark(caption);
    }

    /// The highest that a figure with this caption can be, under a heading of its own.
    #[must_use]
    pub fn highest(&self, caption: &str) -> f64 {
        self.rect().height() - HEADED - self.under_figure(caption)
    }

    fn under_figure(&self, caption: &str) -> f64 {
        BEHIND + Said::remark(caption).height(self.rect().width())
    }

    /// A table; its head is repeated where it goes on in another frame, and
    /// neither the last row nor a total goes there alone.
    pub fn table(&mut self, table: &Table) {
        let grid = Grid::of(table, self.rect().width());
        let titles: Vec<String> = table.columns.iter().map(|(title, _)| title.clone()).collect();
        let head = Row::laid(&titles, &grid, table, style::SMALL, Weight::Bold);
        let total = table.total.as_ref().map(|cells| Row::laid(cells, &grid, table, style::BODY, Weight::Bold));
        let first =
            table.rows.first().map_or(0.0, |cells| Row::laid(cells, &grid, table, style::BODY, Weight::Regular).height);
        self.need(head.height + first.max(12.0));
        self.head_row(&head);
        for (index, cells) in table.rows.iter().enumerate() {
            let row = Row::laid(cells, &grid, table, style::BODY, Weight::Regular);
            let below = table.rows.len() - index - 1;
            let kept = total.as_ref().filter(|_| below <= 1).map_or(0.0, |total| total.height);
            let kept = kept + if below == 1 && index > 0 { row.height } else { 0.0 };
            if self.y - row.height - kept < self.rect().y0 {
                self.next_frame();
                self.head_row(&head);
            }
            self.place_row(&row, style::INK);
            self.hairline();
        }
        if let Some(row) = &total {
            self.place_row(row, style::INK);
        }
        self.space(2.0);
    }

    fn head_row(&mut self, head: &Row) {
        let frame = self.rect();
        let ground = Rect::new(frame.x0, self.y - head.height, frame.x1, self.y).to_path(1e-3);
        self.push(Mark::new(Layer::Notes, Path::fill(ground, style::GROUND)));
        self.place_row(head, style::QUIET);
    }

    fn hairline(&mut self) {
        let (frame, y) = (self.rect(), self.y);
        let stroke = super::Stroke::new(style::HAIR, style::RULE);
        self.push(Mark::new(Layer::Notes, Path::stroke(line((frame.x0, y), (frame.x1, y)), stroke)));
    }

    fn place_row(&mut self, row: &Row, ink: Ink) {
        let origin = Point::new(self.rect().x0, self.y).to_vec2();
        for text in &row.texts {
            let text = Text { at: text.at + origin, ink, ..text.clone() };
            self.push(Mark::new(Layer::Notes, text));
        }
        self.y -= row.height;
    }

    /// Height left in this frame, mm.
    #[must_use]
    pub fn left(&self) -> f64 {
        self.y - self.rect().y0
    }

    /// The sheets as filled so far; the flow is done.
    #[must_use]
    pub fn finish(mut self) -> Vec<Sheet> {
        self.need(0.0);
        self.sheets
    }
}

/// A straight line as a path.
#[must_use]
pub fn line(from: impl Into<Point>, to: impl Into<Point>) -> BezPath {
    let mut path = BezPath::new();
    path.move_to(from.into());
    path.line_to(to.into());
    path
}

#[cfg(test)]
mod tests;
