//! The cut list: every piece of a batch, sizes grouped.

use serde::Serialize;

use crate::boxes::parts::{Part, PartKind};
use crate::diag::{Error, Noted};
use crate::units::{Mm, Unit};

use super::glue::{self, Split};
use super::problem::{piece, room};
use super::{Shop, Stock};

/// One line of the cut list.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutRow {
    /// Letter on the board drawings.
    pub mark: char,
    /// The part.
    pub part: PartKind,
    /// Number wanted for the batch.
    pub count: u32,
    /// Length along the grain.
    pub length: Mm,
    /// Width across the grain.
    pub width: Mm,
    /// Thickness.
    pub thickness: Mm,
    /// For a part glued up from strips: how many strips make one part. One
    /// otherwise; `width` is then the strip's.
    pub strips: u32,
    /// How many of this line's pieces go into one part.
    pub each: u32,
    /// Whether this is the narrow strip that fills a part up; the others are on
    /// a line of their own.
    pub filler: bool,
}

impl CutRow {
    /// What one piece is called at the saw: the part, or a strip of it.
    #[must_use]
    pub fn piece(&self) -> String {
        let name = self.part.name();
        match (self.strips > 1, self.filler) {
            (_, true) => format!("{name} filler strip"),
            (true, false) => format!("{name} strip"),
            (false, false) => name.to_owned(),
        }
    }

    /// Parts glued up from its strips; none where a part is one piece, or counted
    /// with its wider strips.
    #[must_use]
    pub const fn glued_parts(&self) -> u32 {
        if self.strips > 1 && !self.filler { self.count / self.each } else { 0 }
    }

    /// Joints in those parts, two edges each.
    #[must_use]
    pub const fn glue_lines(&self) -> u32 {
        self.glued_parts() * (self.strips - 1)
    }
}

/// Boards and parts within this of each other count as equally thick,
/// millimetres (common practice, no source).
const SAME_THICKNESS: Mm = Mm::new(0.5);

/// Most cut lists planned for one batch (ours: each takes a search of its own,
/// and boards come in few widths; three of them, two ways to split each).
const MOST_LISTS: usize = 6;

/// Whether a piece fits into a board's length or width, as the search has it.
pub(super) fn fits(size: Mm, of_board: Mm) -> bool {
    piece(size) <= room(of_board)
}

/// Whether a part can be cut from a board as far as thickness goes.
pub(crate) fn same_thickness(part: Mm, board: Mm) -> bool {
    (part - board).abs() <= SAME_THICKNESS
}

/// A cut list, and what is to be said of it.
type List = Noted<Vec<CutRow>>;

/// The cut lists of a batch that are worth planning, parts in the box's order,
/// each list once: the first glues up only what is wider than every board; the
/// others also what is wider than the narrower boards, as whole parts from a
/// dear or scarce wide board may cost more. What is glued up is split evenly or
/// with a filler: which of them wastes less is for the boards to say. The front
/// stays whole where a board is wide enough, as no joint may run through a face
/// (ours). The stem is cut from dowel and is on none.
///
/// # Errors
/// [`Error::Sizes`] for a part longer than any board of its thickness, wider
/// when it may not be glued up, or of a thickness no board has.
pub fn cut_lists(parts: &[Part], boxes: u32, shop: &Shop, unit: Unit) -> Result<Vec<List>, Error> {
    let mut lists = vec![list(parts, boxes, shop, (None, Split::Even), unit)?];
    let mut widths: Vec<Mm> = shop.stock.iter().map(|board| board.width).collect();
    widths.sort_by(|a, b| b.get().total_cmp(&a.get()));
    let limits = std::iter::once(None).chain(widths.into_iter().map(Some));
    let ways = limits.flat_map(|widest| [(widest, Split::Even), (widest, Split::Filler)]);
    for way in ways.filter(|_| shop.glue_up) {
        let next = list(parts, boxes, shop, way, unit)?;
        if lists.len() < MOST_LISTS && lists.iter().all(|known| known.value != next.value) {
            lists.push(next);
        }
    }
    Ok(lists)
}

/// From boards up to which width, where they are limited, and how a part wider
/// than they are is split.
type Way = (Option<Mm>, Split);

/// The cut list with parts wider than the way's boards glued up, where that can
/// be done.
fn list(parts: &[Part], boxes: u32, shop: &Shop, (widest, split): Way, unit: Unit) -> Result<List, Error> {
    let mut list = Noted { value: Vec::new(), findings: Vec::new() };
    for part in parts.iter().filter(|p| p.kind != PartKind::Stem) {
        let whole = rows(part, boxes, shop, split, unit)?;
        let glued = widest.and_then(|widest| narrower(part, boxes, shop, (widest, split), unit));
        let Noted { value, findings } = glued.unwrap_or(whole);
        list.findings.extend(findings);
        list.value.extend(value);
    }
    Ok(list)
}

/// The rows of a part glued up though a board is wide enough, for boards up to
/// `widest`; nothing where that cannot be or need not be.
fn narrower(part: &Part, boxes: u32, shop: &Shop, (widest, split): (Mm, Split), unit: Unit) -> Option<List> {
    if part.kind == PartKind::Front || fits(part.width, widest) {
        return None;
    }
    let mut narrow = shop.clone();
    narrow.stock.retain(|board| board.width <= widest);
    let mut list = rows(part, boxes, &narrow, split, unit).ok()?;
    if shop.stock.iter().any(|board| fits(part.width, board.width)) {
        let why = "and the wider boards on offer cost more or are too few";
        list.findings = vec![glue::finding(part, &list.value, widest, why, unit)];
    }
    Some(list)
}

/// The rows of one part: one, or two where a filler strip is cut beside others.
fn rows(part: &Part, boxes: u32, shop: &Shop, split: Split, unit: Unit) -> Result<List, Error> {
    let whole = CutRow {
        mark: part.kind.letter(),
        part: part.kind,
        count: part.count * boxes,
        length: part.length,
        width: part.width,
        thickness: part.thickness,
        strips: 1,
        each: 1,
        filler: false,
    };
    let widest = boards_for(part, shop, unit)?.iter().map(|s| s.width).fold(Mm::ZERO, Mm::max);
    if fits(part.width, widest) {
        return Ok(Noted { value: vec![whole], findings: Vec::new() });
    }
    if !shop.glue_up {
        let text = format!("the {} is {} wide, wider than any board", part.kind.name(), part.width.fine(unit));
        let advice = "add a wider board under boards.stock, or allow boards.glue_up";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(part.width) });
    }
    let strips = glue::strips(part, widest, unit)?;
    let value = glue::rows(&whole, strips, widest, split);
    let findings = vec![glue::finding(part, &value, widest, "wider than any board", unit)];
    Ok(Noted { value, findings })
}

/// The boards that are as thick as a part and long enough for it.
fn boards_for<'a>(part: &Part, shop: &'a Shop, unit: Unit) -> Result<Vec<&'a Stock>, Error> {
    let name = part.kind.name();
    let to_be_had = shop.stock.iter().filter(|board| board.available != Some(0));
    let thick: Vec<&Stock> = to_be_had.filter(|s| same_thickness(part.thickness, s.thickness)).collect();
    let Some(longest) = thick.iter().max_by(|a, b| a.usable().get().total_cmp(&b.usable().get())) else {
        let mut listed: Vec<Mm> = shop.stock.iter().map(|board| board.thickness).collect();
        listed.sort_by(|a, b| a.get().total_cmp(&b.get()));
        listed.dedup();
        let listed: Vec<String> = listed.into_iter().map(|thickness| thickness.fine(unit)).collect();
        let text = format!(
            "no board is {} thick, as the {name} has to be; those listed are {}",
            part.thickness.fine(unit),
            listed.join(", ")
        );
        return Err(Error::sizes(text, "add a board of that thickness under boards.stock"));
    };
    if !fits(part.length, longest.usable()) {
        let text = format!(
            "the {name} is {} long, longer than any board: the longest leaves {} between its lost ends ({} at each)",
            part.length.fine(unit),
            longest.usable().fine(unit),
            longest.end_loss.fine(unit)
        );
        let advice = "add a longer board under boards.stock, lower end_loss, or make the box smaller";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(part.length) });
    }
    Ok(thick.into_iter().filter(|s| fits(part.length, s.usable())).collect())
}
