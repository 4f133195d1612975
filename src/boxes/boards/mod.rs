//! Which boards to buy and how to cut them.
//!
//! Boards are cut in two stages with saws that go right through: ripped into
//! strips that are cut to length, or cut into sections that are ripped to
//! width; the shorter or narrower piece in a lane is trimmed by one more cut.
//! The least cost is searched for with column generation and proved from below
//! by the relaxation's bound; see [`search`].

mod cutlist;
mod exact;
mod glue;
mod knapsack;
mod layout;
mod plan;
mod pricing;
pub mod problem;
mod program;
mod relax;
pub mod search;
mod spare;

#[cfg(test)]
mod tests;

pub use cutlist::{CutRow, cut_lists};
pub use layout::{BoardLayout, Cut, Offcut, Placed, Step};
pub use plan::{BoardPlan, Purchase, plan, plan_quickly};
pub use problem::Order;

use serde::Serialize;

use crate::boxes::design::{Reader, setting};
use crate::diag::{Error, Finding, FindingKind, Severity};
use crate::settings::boxes::{BoardSettings, StockBoard};
use crate::units::{Cents, Mm, Unit};

/// A board on offer, all lengths in millimetres.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stock {
    /// Name, as on the shelf.
    pub name: String,
    /// Full length.
    pub length: Mm,
    /// Width.
    pub width: Mm,
    /// Thickness.
    pub thickness: Mm,
    /// Price of one.
    pub price: Cents,
    /// How many can be had; any number when left out.
    pub available: Option<u32>,
    /// Length lost at each end.
    pub end_loss: Mm,
}

impl Stock {
    /// Length between the lost ends.
    #[must_use]
    pub fn usable(&self) -> Mm {
        self.length - self.end_loss * 2.0
    }
}

/// The boards on offer and the saws that cut them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shop {
    /// The boards.
    pub stock: Vec<Stock>,
    /// Kerf of a crosscut.
    pub crosscut: Mm,
    /// Kerf of a rip cut.
    pub rip: Mm,
    /// Least length of an offcut worth keeping.
    pub keep_length: Mm,
    /// Least width of an offcut worth keeping.
    pub keep_width: Mm,
    /// Whether parts wider than every board may be glued up.
    pub glue_up: bool,
    /// Share of boards bought in addition.
    pub spare: f64,
}

impl Shop {
    /// The boards and saws of the shop file; `thickness` is that of the walls.
    ///
    /// # Errors
    /// [`Error::Setting`] naming the key whose value is wrong.
    pub fn new(asked: &BoardSettings, thickness: Mm, unit: Unit) -> Result<Self, Error> {
        let read = Reader::of_bought(unit);
        let spare = asked.spare_percent / 100.0;
        if !(0.0..=2.0).contains(&spare) {
            let text = format!("{} is not a share of boards", asked.spare_percent);
            return Err(setting("boards.spare_percent", text, "give a number from 0 to 200"));
        }
        if asked.stock.is_empty() {
            return Err(setting(
                "boards.stock",
                "no board is on offer",
                "add a [[boards.stock]] with its size and price",
            ));
        }
        let end_loss = read.not_negative("boards.end_loss", &asked.end_loss)?;
        told_apart(&asked.stock)?;
        let stock = asked.stock.iter().map(|s| board(&read, s, thickness, end_loss));
        Ok(Self {
            stock: stock.collect::<Result<_, _>>()?,
            crosscut: read.not_negative("boards.crosscut_kerf", &asked.crosscut_kerf)?,
            rip: read.not_negative("boards.rip_kerf", &asked.rip_kerf)?,
            keep_length: read.not_negative("boards.keep_length", &asked.keep_length)?,
            keep_width: read.not_negative("boards.keep_width", &asked.keep_width)?,
            glue_up: asked.glue_up,
            spare,
        })
    }

    /// Boards wider than solid wood is sold.
    pub fn too_wide(&self, unit: Unit) -> impl Iterator<Item = Finding> + '_ {
        let wide = self.stock.iter().filter(|board| board.width > WIDEST);
        wide.map(move |board| {
            let text = format!("{} is {} wide, as no board of solid wood is sold", board.name, board.width.both(unit));
            let advice = "check the unit, and whether length and width changed places (boards.stock)";
            let id = format!("board-width-{}", board.name.replace(' ', "-"));
            let finding = Finding::new(id, FindingKind::Plan, Severity::Care, text, advice);
            finding.measured(board.width.get(), WIDEST.get())
        })
    }

    /// The same with as many boards as any batch takes, but for those there are
    /// none of.
    #[must_use]
    pub fn unlimited(&self) -> Self {
        let mut shop = self.clone();
        shop.stock.iter_mut().for_each(|board| board.available = board.available.filter(|&n| n == 0));
        shop
    }
}

/// Widest that solid wood is bought, panels glued up for shelves among it; wider is
/// most likely a slip. Ours.
const WIDEST: Mm = Mm::from_inches(24.0);

/// Every board has a name of its own: shopping list, drawings and costs go by it.
fn told_apart(stock: &[StockBoard]) -> Result<(), Error> {
    let twice = |(i, board): &(usize, &StockBoard)| stock[..*i].iter().any(|other| other.name == board.name);
    let Some((_, board)) = stock.iter().enumerate().find(twice) else { return Ok(()) };
    let text = format!("two boards are called `{}`", board.name);
    Err(setting("boards.stock", text, "give each its own name, for instance with its length"))
}

fn board(read: &Reader, asked: &StockBoard, thickness: Mm, end_loss: Mm) -> Result<Stock, Error> {
    let key = |what: &str| format!("boards.stock ({}).{what}", asked.name);
    let price = asked.price.resolve();
    let price = price.map_err(|what| setting(&key("price"), what, "write a sum such as 3.48"))?;
    if price < Cents(0) {
        return Err(setting(&key("price"), "a board cannot cost less than nothing", "give zero or more"));
    }
    let own_loss = asked.end_loss.as_ref().map(|l| read.not_negative(&key("end_loss"), l)).transpose()?;
    let stock = Stock {
        name: asked.name.clone(),
        length: read.positive(&key("length"), &asked.length)?,
        width: read.positive(&key("width"), &asked.width)?,
        thickness: read.thickness(&key("thickness"), asked.thickness.as_ref(), thickness)?,
        price,
        available: asked.available,
        end_loss: own_loss.unwrap_or(end_loss),
    };
    if stock.usable() <= Mm::ZERO {
        // The key that is in the file: the board's own, or that of all boards.
        let key = if own_loss.is_some() { key("end_loss") } else { "boards.end_loss".to_owned() };
        let text = format!("the lost ends are longer than the board ({})", asked.name);
        return Err(setting(&key, text, "give a smaller end_loss"));
    }
    Ok(stock)
}
