//! Where each piece lies on its board, what is left over, and the cuts in
//! order.

use serde::Serialize;

use super::problem::{Lane, Order, Pattern};
use super::{CutRow, Shop, Stock};
use crate::units::{Mm, Unit};

/// One way of cutting a board, and how many boards are cut so. Lengths from
/// the board's lower-left corner, x along the board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardLayout {
    /// The board, by index in the stock list.
    pub stock: usize,
    /// Its name.
    pub name: String,
    /// How many boards are cut so.
    pub copies: u32,
    /// Length of the board.
    pub length: Mm,
    /// Width of the board.
    pub width: Mm,
    /// Length lost at each end.
    pub end_loss: Mm,
    /// Which cut comes first.
    pub order: Order,
    /// The pieces.
    pub pieces: Vec<Placed>,
    /// What is left over.
    pub offcuts: Vec<Offcut>,
    /// The cuts, in order.
    pub steps: Vec<Step>,
    /// Crosscuts on one board.
    pub crosscuts: u32,
    /// Rip cuts on one board.
    pub rips: u32,
}

/// A piece on a board.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Placed {
    /// Its line of the cut list, by index.
    pub row: usize,
    /// Left edge.
    pub x: Mm,
    /// Lower edge.
    pub y: Mm,
    /// Length along the board.
    pub length: Mm,
    /// Width.
    pub width: Mm,
}

/// A rectangle left over.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Offcut {
    /// Left edge.
    pub x: Mm,
    /// Lower edge.
    pub y: Mm,
    /// Length along the board.
    pub length: Mm,
    /// Width.
    pub width: Mm,
    /// Whether it is worth keeping.
    pub keep: bool,
}

/// One step at the saw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// The kind of cut.
    pub cut: Cut,
    /// What to set the stop or the fence to.
    pub setting: Mm,
    /// How many cuts with that setting.
    pub times: u32,
    /// What it yields, in words.
    pub yields: String,
}

/// The kind of cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Cut {
    /// Across the grain.
    Crosscut,
    /// Along the grain.
    Rip,
}

/// Leftovers narrower than this in either direction are dust and splinters,
/// millimetres.
const SLIVER: f64 = 3.0;

pub(crate) struct Sizes<'a> {
    pub(crate) rows: &'a [CutRow],
    /// The cut-list row of each item of the pattern.
    pub(crate) items: &'a [usize],
    pub(crate) shop: &'a Shop,
    pub(crate) stock: usize,
    pub(crate) unit: Unit,
}

/// Lays a pattern out on its board.
pub(crate) fn lay_out(sizes: &Sizes<'_>, pattern: &Pattern, copies: u32) -> BoardLayout {
    let stock = &sizes.shop.stock[sizes.stock];
    let mut layout = BoardLayout {
        stock: sizes.stock,
        name: stock.name.clone(),
        copies,
        length: stock.length,
        width: stock.width,
        end_loss: stock.end_loss,
        order: pattern.order,
        pieces: Vec::new(),
        offcuts: Vec::new(),
        steps: Vec::new(),
        crosscuts: 0,
        rips: 0,
    };
    let trim = format!("trims the first end; {} is lost at the other", stock.end_loss.text(sizes.unit));
    // A board whose ends are sound is not trimmed.
    layout.step(Cut::Crosscut, stock.end_loss, u32::from(stock.end_loss > Mm::ZERO), trim);
    match pattern.order {
        Order::RipFirst => strips(sizes, stock, &pattern.lanes, &mut layout),
        Order::CrosscutFirst => sections(sizes, stock, &pattern.lanes, &mut layout),
    }
    layout
}

impl Sizes<'_> {
    fn of(&self, item: usize) -> (usize, Mm, Mm) {
        let row = self.items[item];
        (row, self.rows[row].length, self.rows[row].width)
    }

    fn name(&self, row: usize) -> String {
        self.rows[row].piece()
    }

    fn largest(&self, lane: &Lane, side: fn(&CutRow) -> Mm) -> Mm {
        lane.pieces.iter().map(|&i| side(&self.rows[self.items[i]])).fold(Mm::ZERO, Mm::max)
    }

    fn keep(&self, length: Mm, width: Mm) -> bool {
        length >= self.shop.keep_length && width >= self.shop.keep_width
    }
}

impl BoardLayout {
    fn step(&mut self, cut: Cut, setting: Mm, times: u32, yields: String) {
        if times == 0 {
            return;
        }
        match cut {
            Cut::Crosscut => self.crosscuts += times,
            Cut::Rip => self.rips += times,
        }
        self.steps.push(Step { cut, setting, times, yields });
    }

    fn leave(&mut self, sizes: &Sizes<'_>, (x, y): (Mm, Mm), (length, width): (Mm, Mm)) {
        if length.get() > SLIVER && width.get() > SLIVER {
            let keep = sizes.keep(length, width);
            self.offcuts.push(Offcut { x, y, length, width, keep });
        }
    }
}

/// Rip first: strips from the lower edge up, pieces from the left.
fn strips(sizes: &Sizes<'_>, stock: &Stock, lanes: &[Lane], layout: &mut BoardLayout) {
    let rip = sizes.shop.rip;
    let (left, right) = (stock.end_loss, stock.length - stock.end_loss);
    let mut y = Mm::ZERO;
    for (lane, copies) in alike(sizes, lanes) {
        let width = sizes.largest(lane, |r| r.width);
        let top = y + (width + rip) * f64::from(copies) - rip;
        let flush = u32::from((stock.width - top).get() < SLIVER / 10.0);
        layout.step(Cut::Rip, width, copies - flush, several("a strip", "strips", copies, &summary(sizes, lane)));
        for (row, times) in runs(sizes, lane) {
            let (length, narrow, all) = (sizes.rows[row].length, sizes.rows[row].width, times * copies);
            layout.step(Cut::Crosscut, length, all, format!("{all} × {}", sizes.name(row)));
            if width - narrow > Mm::new(SLIVER / 10.0) {
                layout.step(Cut::Rip, narrow, all, format!("trims {all} × {} to width", sizes.name(row)));
            }
        }
        for _ in 0..copies {
            y = strip(sizes, lane, (left, right), (y, width), layout);
        }
    }
    layout.leave(sizes, (left, y), (right - left, stock.width - y));
}

/// The pieces of one strip whose lower edge is at `y`; where the next begins.
fn strip(
    sizes: &Sizes<'_>,
    lane: &Lane,
    (left, right): (Mm, Mm),
    (y, width): (Mm, Mm),
    layout: &mut BoardLayout,
) -> Mm {
    let (crosscut, rip) = (sizes.shop.crosscut, sizes.shop.rip);
    let mut x = left;
    for (row, times) in runs(sizes, lane) {
        let (length, narrow) = (sizes.rows[row].length, sizes.rows[row].width);
        for _ in 0..times {
            layout.pieces.push(Placed { row, x, y, length, width: narrow });
            layout.leave(sizes, (x, y + narrow + rip), (length, width - narrow - rip));
            x = x + length + crosscut;
        }
    }
    layout.leave(sizes, (x, y), (right - x, width));
    y + width + rip
}

/// Crosscut first: sections from the left, pieces from the lower edge up.
fn sections(sizes: &Sizes<'_>, stock: &Stock, lanes: &[Lane], layout: &mut BoardLayout) {
    let right = stock.length - stock.end_loss;
    let mut x = stock.end_loss;
    for (lane, copies) in alike(sizes, lanes) {
        let length = sizes.largest(lane, |r| r.length);
        let yields = several("a section", "sections", copies, &summary(sizes, lane));
        layout.step(Cut::Crosscut, length, copies, yields);
        let mut top = Mm::ZERO;
        for (row, times) in runs(sizes, lane) {
            let (short, width, all) = (sizes.rows[row].length, sizes.rows[row].width, times * copies);
            top = top + (width + sizes.shop.rip) * f64::from(times);
            let flush = u32::from((stock.width + sizes.shop.rip - top).get() < SLIVER / 10.0);
            layout.step(Cut::Rip, width, all - flush * copies, format!("{all} × {}", sizes.name(row)));
            if length - short > Mm::new(SLIVER / 10.0) {
                layout.step(Cut::Crosscut, short, all, format!("trims {all} × {} to length", sizes.name(row)));
            }
        }
        for _ in 0..copies {
            x = section(sizes, lane, stock.width, (x, length), layout);
        }
    }
    layout.leave(sizes, (x, Mm::ZERO), (right - x, stock.width));
}

/// The pieces of one section whose left edge is at `x`; where the next begins.
fn section(sizes: &Sizes<'_>, lane: &Lane, board: Mm, (x, length): (Mm, Mm), layout: &mut BoardLayout) -> Mm {
    let (crosscut, rip) = (sizes.shop.crosscut, sizes.shop.rip);
    let mut y = Mm::ZERO;
    for (row, times) in runs(sizes, lane) {
        let (short, width) = (sizes.rows[row].length, sizes.rows[row].width);
        for _ in 0..times {
            layout.pieces.push(Placed { row, x, y, length: short, width });
            layout.leave(sizes, (x + short + crosscut, y), (length - short - crosscut, width));
            y = y + width + rip;
        }
    }
    layout.leave(sizes, (x, y), (length, board - y));
    x + length + crosscut
}

fn several(one: &str, many: &str, copies: u32, what: &str) -> String {
    if copies == 1 { format!("{one} for {what}") } else { format!("{copies} {many}, each for {what}") }
}

/// Lanes with the same pieces, each once with its number, in order.
fn alike<'a>(sizes: &Sizes<'_>, lanes: &'a [Lane]) -> Vec<(&'a Lane, u32)> {
    let mut groups: Vec<(&Lane, u32)> = Vec::new();
    for lane in lanes {
        match groups.iter_mut().find(|(first, _)| runs(sizes, first) == runs(sizes, lane)) {
            Some((_, copies)) => *copies += 1,
            None => groups.push((lane, 1)),
        }
    }
    groups
}

/// Equal pieces of a lane together, in order.
fn runs(sizes: &Sizes<'_>, lane: &Lane) -> Vec<(usize, u32)> {
    let mut runs: Vec<(usize, u32)> = Vec::new();
    for &item in &lane.pieces {
        let (row, ..) = sizes.of(item);
        match runs.last_mut() {
            Some((last, times)) if *last == row => *times += 1,
            _ => runs.push((row, 1)),
        }
    }
    runs
}

fn summary(sizes: &Sizes<'_>, lane: &Lane) -> String {
    let named: Vec<_> = runs(sizes, lane).iter().map(|(row, n)| format!("{n} × {}", sizes.name(*row))).collect();
    named.join(", ")
}
