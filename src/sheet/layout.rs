//! How a panel goes on paper: which way the sheet lies, how deep the flaps are,
//! where the title stands, and how a large panel is cut into sheets.
//!
//! All lengths here are true lengths on the sheet as it should come out of the
//! printer; [`Layout::scale`] is applied to the finished drawing.

use kurbo::{Point, Rect, Vec2};

use super::cuts::{Crossings, Cut, LEAST_FLAP};
use super::edges::Flaps;
use super::ruler::{self, Ruler};
use crate::diag::Error;
use crate::trade::papers::Paper;
use crate::units::Mm;

/// Narrowest column for title and legend, mm; and the width it likes.
const COLUMN: (f64, f64) = (36.0, 46.0);
/// Lowest band for title and legend below the panel, mm.
const BAND: f64 = 46.0;
/// Space between the panel's block and what stands beside it, mm.
const GAP: f64 = 1.5;
/// Height of all the words a strip may hold, mm: name, warning, sizes, two notes.
const WORDS: f64 = 17.5;
/// Height of the strip under the tiles of a large panel, mm.
const STRIP: f64 = 14.0;
/// Most sheets one panel may take: beyond this somebody mistyped a size.
const MOST_SHEETS: usize = 64;

/// Which way the paper may lie.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Turn {
    /// Whichever needs fewest sheets.
    #[default]
    Auto,
    /// As it is, upright.
    Upright,
    /// Turned a quarter.
    Turned,
}

/// The paper and what is known about the printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    /// The sheet, with the margin the printer leaves white.
    pub paper: Paper,
    /// Which way it may lie.
    pub turn: Turn,
    /// Overlap of neighbouring sheets, 10 to 15 mm: common practice, no source.
    pub overlap: Mm,
    /// True length divided by printed length, across the upright sheet.
    pub scale_x: f64,
    /// True length divided by printed length, along the upright sheet.
    pub scale_y: f64,
}

impl Printer {
    /// A printer that prints true.
    #[must_use]
    pub const fn true_to_size(paper: Paper) -> Self {
        Self { paper, turn: Turn::Auto, overlap: Mm::new(12.0), scale_x: 1.0, scale_y: 1.0 }
    }
}

/// Where title and legend stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Info {
    /// In a column right of the panel; title and legend.
    Column(Rect),
    /// In a band below the panel; title and legend.
    Band(Rect),
    /// In a strip of a line or two; title only.
    Strip(Rect),
}

/// One sheet's part of the panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Tile {
    /// Column letter and row number from the top: `A1`.
    pub name: String,
    /// Column, from 0 at the left.
    pub column: usize,
    /// Row, from 0 at the top.
    pub row: usize,
    /// What it shows, panel space.
    pub window: Rect,
    /// Panel space to sheet space.
    pub shift: Vec2,
}

/// A panel laid on paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Paper width as it lies.
    pub width: Mm,
    /// Paper height as it lies.
    pub height: Mm,
    /// Correction across and along the sheet as it lies.
    pub scale: (f64, f64),
    /// Whether the paper is turned from upright.
    pub turned: bool,
    /// What the printer reaches, true lengths.
    pub printable: Rect,
    /// Flap depths.
    pub flaps: Flaps,
    /// The sheets, row by row from the top left.
    pub tiles: Vec<Tile>,
    /// Number of columns and rows of sheets.
    pub grid: (usize, usize),
    /// Overlap of neighbouring tiles, mm.
    pub overlap: f64,
    /// Title and legend.
    pub info: Info,
    /// The check ruler's length.
    pub ruler: Ruler,
    /// Zero of the ruler across.
    pub across: Point,
    /// Zero of the upright ruler.
    pub upright: Point,
}

impl Layout {
    /// Lays a panel of this size and thickness on the printer's paper.
    ///
    /// # Errors
    /// [`Error::Sizes`] when the margins leave no room to print on, or the
    /// panel would take more than 64 sheets.
    pub fn of(width: Mm, height: Mm, thickness: Mm, printer: &Printer) -> Result<Self, Error> {
        Self::joined(width, height, thickness, printer, &Crossings::default())
    }

    /// [`Self::of`], with the joins of several sheets where `crossings` has
    /// fewest saw lines, as far as the paper's spare room lets them move.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub fn joined(
        width: Mm,
        height: Mm,
        thickness: Mm,
        printer: &Printer,
        crossings: &Crossings,
    ) -> Result<Self, Error> {
        let ways: &[bool] = match printer.turn {
            Turn::Auto => &[false, true],
            Turn::Upright => &[false],
            Turn::Turned => &[true],
        };
        let sides = Sides { w: width.get(), h: height.get(), t: thickness.get() };
        let mut laid = Vec::new();
        let mut refused = None;
        for &turned in ways {
            match Sheet::new(printer, turned)?.lay(&sides, printer.overlap.get(), crossings) {
                Ok(layout) => laid.push(layout),
                Err(error) => refused = Some(error),
            }
        }
        let best =
            laid.into_iter().min_by(|a, b| a.rank().cmp(&b.rank()).then(b.flap_depth().total_cmp(&a.flap_depth())));
        best.ok_or_else(|| refused.unwrap_or_else(|| Error::Internal { what: "no way to lay the paper".to_owned() }))
    }

    /// Fewer sheets first, then more room for words.
    fn rank(&self) -> (usize, u8) {
        (self.tiles.len(), u8::from(matches!(self.info, Info::Strip(_))))
    }

    fn flap_depth(&self) -> f64 {
        let f = &self.flaps;
        // A whole millimetre counts; less is no reason to turn the paper.
        [f.left, f.right, f.top, f.bottom].iter().map(|d| d.min(8.0).floor()).sum()
    }
}

/// The panel's sides, mm.
struct Sides {
    w: f64,
    h: f64,
    t: f64,
}

/// A sheet of paper lying one way, true lengths.
struct Sheet {
    width: Mm,
    height: Mm,
    scale: (f64, f64),
    turned: bool,
    printable: Rect,
    ruler: Ruler,
}

impl Sheet {
    fn new(printer: &Printer, turned: bool) -> Result<Self, Error> {
        let paper = &printer.paper;
        // Turned paper goes through the printer as before: its long side is
        // still the one along the feed.
        let (width, height, scale) = if turned {
            (paper.height, paper.width, (printer.scale_y, printer.scale_x))
        } else {
            (paper.width, paper.height, (printer.scale_x, printer.scale_y))
        };
        let margin = paper.margin;
        let printable = Rect {
            x0: margin.get() / scale.0,
            y0: margin.get() / scale.1,
            x1: (width - margin).get() / scale.0,
            y1: (height - margin).get() / scale.1,
        };
        if printable.width() <= 0.0 || printable.height() <= 0.0 {
            let what = format!("{} paper is smaller than its margins of {margin:.1} on every side", paper.name);
            return Err(Error::sizes(what, "choose larger paper or a smaller printer.margin"));
        }
        let least = printable.width().min(printable.height());
        let fits = |ruler: Ruler| ruler.length() + 2.0 * ruler::HEIGHT <= least;
        let ruler = [Ruler::FULL, Ruler::SHORT].into_iter().find(|ruler| fits(*ruler));
        let ruler = ruler.ok_or_else(|| {
            let what = format!("{} paper leaves {least:.0} mm to print on, too little for a check ruler", paper.name);
            Error::sizes(what, "choose larger paper: A5 or half Letter is the least that helps")
        })?;
        Ok(Self { width, height, scale, turned, printable, ruler })
    }

    fn lay(&self, panel: &Sides, overlap: f64, crossings: &Crossings) -> Result<Layout, Error> {
        match self.column(panel).or_else(|| self.band(panel)).or_else(|| self.strip(panel)) {
            Some(layout) => Ok(layout),
            None => self.tiled(panel, overlap, crossings),
        }
    }

    /// One sheet, words in a column at the right, the ruler across below.
    fn column(&self, panel: &Sides) -> Option<Layout> {
        let (room_x, room_y) =
            (self.printable.width() - panel.w - GAP, self.printable.height() - panel.h - GAP - ruler::HEIGHT);
        if room_x < COLUMN.0 || room_y < 0.0 || self.printable.height() < self.ruler.length() + ruler::HEIGHT + 4.0 {
            return None;
        }
        let roomy = pair((room_x - COLUMN.1).max(0.0), panel.t);
        let (left, right) = if roomy.1 >= 8.0 { roomy } else { pair(room_x - COLUMN.0, panel.t) };
        let (bottom, top) = pair(room_y, panel.t);
        let flaps = Flaps { left, right, top, bottom };
        let p = self.printable;
        let x = p.x0 + left + panel.w + right + GAP + 2.0;
        let info = Info::Column(Rect::new(x, p.y0, p.x1, p.y1));
        Some(self.single(panel, flaps, info, Point::new(p.x0, p.y0 + ruler::HEIGHT / 2.0), p.y0))
    }

    /// One sheet, words in a band below.
    fn band(&self, panel: &Sides) -> Option<Layout> {
        let (room_x, room_y) =
            (self.printable.width() - panel.w - GAP - ruler::HEIGHT, self.printable.height() - panel.h - GAP);
        if room_x < 0.0 || room_y < BAND || self.printable.width() < self.ruler.length() + 8.0 {
            return None;
        }
        let (left, right) = pair(room_x, panel.t);
        let (bottom, top) = pair(room_y - BAND, panel.t);
        let flaps = Flaps { left, right, top, bottom };
        let p = self.printable;
        let y = p.y1 - top - panel.h - bottom - GAP - 1.0;
        let info = Info::Band(Rect::new(p.x0, p.y0 + ruler::HEIGHT + 2.0, p.x1 - ruler::HEIGHT - 2.0, y));
        let upright = (p.y1 - self.ruler.length()).max(p.y0);
        Some(self.single(panel, flaps, info, Point::new(p.x0, p.y0 + ruler::HEIGHT / 2.0), upright))
    }

    /// One sheet, a line of words beside the ruler below.
    fn strip(&self, panel: &Sides) -> Option<Layout> {
        let beside = self.printable.width() - self.ruler.length() - 4.0 >= 60.0;
        let least = if beside { ruler::HEIGHT } else { ruler::HEIGHT + 5.0 };
        let (room_x, spare) =
            (self.printable.width() - panel.w - GAP - ruler::HEIGHT, self.printable.height() - panel.h - GAP - least);
        if room_x < 0.0 || spare < 0.0 {
            return None;
        }
        // The words that keep a print true come before flaps.
        let tall = least + spare.min(WORDS - if beside { least } else { 5.0 });
        let room_y = spare - (tall - least);
        let (left, right) = pair(room_x, panel.t);
        let (bottom, top) = pair(room_y, panel.t);
        let flaps = Flaps { left, right, top, bottom };
        let p = self.printable;
        let words = if beside {
            Rect::new(p.x0 + self.ruler.length() + 4.0, p.y0, p.x1 - ruler::HEIGHT - 1.0, p.y0 + tall)
        } else {
            Rect::new(p.x0, p.y0 + ruler::HEIGHT, p.x1 - ruler::HEIGHT - 1.0, p.y0 + tall)
        };
        Some(self.single(
            panel,
            flaps,
            Info::Strip(words),
            Point::new(p.x0, p.y0 + ruler::HEIGHT / 2.0),
            p.y0 + tall + 1.0,
        ))
    }

    fn single(&self, panel: &Sides, flaps: Flaps, info: Info, across: Point, upright_from: f64) -> Layout {
        let p = self.printable;
        let shift = Vec2::new(p.x0 + flaps.left, p.y1 - flaps.top - panel.h);
        let window = Rect::new(-flaps.left, -flaps.bottom, panel.w + flaps.right, panel.h + flaps.top);
        let tile = Tile { name: "A1".to_owned(), column: 0, row: 0, window, shift };
        // The upright ruler stands at the right edge, its inch side outward.
        let upright = Point::new(p.x1 - ruler::HEIGHT / 2.0, upright_from.min(p.y1 - self.ruler.length()));
        self.layout(flaps, vec![tile], (1, 1), 0.0, info, across, upright)
    }

    /// Several sheets, each with a strip below and a ruler at the right.
    fn tiled(&self, panel: &Sides, overlap: f64, crossings: &Crossings) -> Result<Layout, Error> {
        let p = self.printable;
        let region = Rect::new(p.x0, p.y0 + STRIP + GAP, p.x1 - ruler::HEIGHT - GAP, p.y1);
        let (cut_x, cut_y) =
            (Cut::of(panel.w, panel.t, region.width(), overlap), Cut::of(panel.h, panel.t, region.height(), overlap));
        let (Some(cut_x), Some(cut_y)) = (cut_x, cut_y) else {
            let what = format!(
                "a sheet leaves {:.0} by {:.0} mm for the panel, too little to join sheets",
                region.width(),
                region.height()
            );
            return Err(Error::sizes(what, "choose larger paper or a smaller overlap"));
        };
        if cut_x.count * cut_y.count > MOST_SHEETS {
            let what = format!("the panel would take {} sheets", cut_x.count * cut_y.count);
            return Err(Error::sizes(what, format!("choose larger paper; {MOST_SHEETS} sheets is the most")));
        }
        let flaps = Flaps { left: cut_x.flap, right: cut_x.flap, top: cut_y.flap, bottom: cut_y.flap };
        let (across, mut up) = (cut_x.windows(&crossings.across), cut_y.windows(&crossings.up));
        // Rows are counted from the top, lengths from the bottom.
        up.reverse();
        let mut tiles = Vec::new();
        for (row, &(y0, y1)) in up.iter().enumerate() {
            for (column, &(x0, x1)) in across.iter().enumerate() {
                let shift = Vec2::new(region.x0 - x0, region.y1 - y1);
                let window = Rect::new(x0, y0, x1, y1);
                tiles.push(Tile { name: tile_name(column, row), column, row, window, shift });
            }
        }
        let across = Point::new(p.x0, p.y0 + ruler::HEIGHT / 2.0);
        let beside = p.width() - self.ruler.length() - 4.0 >= 70.0;
        let words = if beside {
            Rect::new(p.x0 + self.ruler.length() + 4.0, p.y0, p.x1, p.y0 + STRIP)
        } else {
            Rect::new(p.x0, p.y0 + ruler::HEIGHT + 0.5, p.x1, p.y0 + STRIP)
        };
        let upright = Point::new(p.x1 - ruler::HEIGHT / 2.0, (p.y0 + STRIP + GAP).min(p.y1 - self.ruler.length()));
        Ok(self.layout(flaps, tiles, (cut_x.count, cut_y.count), overlap, Info::Strip(words), across, upright))
    }

    #[expect(clippy::too_many_arguments, reason = "the one place that fills in a Layout")]
    fn layout(
        &self,
        flaps: Flaps,
        tiles: Vec<Tile>,
        grid: (usize, usize),
        overlap: f64,
        info: Info,
        across: Point,
        upright: Point,
    ) -> Layout {
        Layout {
            width: self.width,
            height: self.height,
            scale: self.scale,
            turned: self.turned,
            printable: self.printable,
            flaps,
            tiles,
            grid,
            overlap,
            info,
            ruler: self.ruler,
            across,
            upright,
        }
    }
}

/// Column letters and row number: `A1`, `B1`, … `Z1`, `AA1`.
fn tile_name(column: usize, row: usize) -> String {
    let letter = |i: usize| char::from(b'A' + (i % 26) as u8);
    let letters =
        if column < 26 { letter(column).to_string() } else { format!("{}{}", letter(column / 26 - 1), letter(column)) };
    format!("{letters}{}", row + 1)
}

/// Depths of two opposite flaps in `room` mm, the first the nearer to the
/// origin; one alone when there is room for one.
fn pair(room: f64, thickness: f64) -> (f64, f64) {
    let most = thickness.max(LEAST_FLAP);
    if room >= 2.0 * LEAST_FLAP {
        let depth = (room / 2.0).min(most);
        (depth, depth)
    } else if room >= LEAST_FLAP {
        (room.min(most), 0.0)
    } else {
        (0.0, 0.0)
    }
}

#[cfg(test)]
mod tests;
