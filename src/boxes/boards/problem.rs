//! The cutting problem in whole numbers.

use std::collections::BTreeSet;

use crate::units::Mm;

/// Nanometres in a millimetre: with them every 1/64 in is a whole number.
const NM: f64 = 1_000_000.0;
/// Slack given to boards, nanometres, so that sums of rounded sizes that come
/// out even still fit (ours: a thousandth of a millimetre, far below any saw).
const SLACK: i64 = 1_000;

/// A piece's size in whole nanometres.
pub(crate) fn piece(size: Mm) -> i64 {
    (size.get() * NM).round() as i64
}

/// A board's size in whole nanometres, with the slack that lets a piece of
/// exactly its size fit.
pub(crate) fn room(size: Mm) -> i64 {
    piece(size) + SLACK
}

/// A size of piece and how many are wanted. Lengths and widths in any whole
/// unit (the planner uses nanometres, so that every 1/64 in is exact).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Item {
    /// Along the grain.
    pub length: i64,
    /// Across the grain.
    pub width: i64,
    /// Number wanted.
    pub demand: u32,
}

/// A size of board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Board {
    /// Usable length, end losses taken off.
    pub length: i64,
    /// Width.
    pub width: i64,
    /// Cost of one, greater than zero.
    pub cost: i64,
    /// How many there are, if not any number.
    pub limit: Option<u32>,
}

/// What to cut, from what, with which saws.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The pieces; no two of the same size, unless different boards are barred
    /// to them.
    pub items: Vec<Item>,
    /// The boards.
    pub boards: Vec<Board>,
    /// Items, and boards they may not be cut from whatever their size, by
    /// index: the board is not as thick as the part.
    pub barred: BTreeSet<(usize, usize)>,
    /// Kerf of a crosscut.
    pub crosscut: i64,
    /// Kerf of a rip cut.
    pub rip: i64,
}

/// Which cut comes first on a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Order {
    /// The board is ripped into strips, the strips are cut to length.
    RipFirst,
    /// The board is cut into sections, the sections are ripped to width.
    CrosscutFirst,
}

/// A strip (ripped first) or a section (crosscut first) of a board.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lane {
    /// Width of the strip or length of the section.
    pub size: i64,
    /// The items in it, by index, in order.
    pub pieces: Vec<usize>,
}

/// How one board is cut. A piece narrower than its strip or shorter than its
/// section is trimmed by one more cut.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pattern {
    /// Index of the board.
    pub board: usize,
    /// Which cut comes first.
    pub order: Order,
    /// Strips or sections, in order.
    pub lanes: Vec<Lane>,
}

impl Pattern {
    /// How many of each item it yields.
    pub fn counts(&self, items: usize) -> Vec<u32> {
        let mut counts = vec![0; items];
        for &piece in self.lanes.iter().flat_map(|lane| &lane.pieces) {
            counts[piece] += 1;
        }
        counts
    }
}

impl Problem {
    /// Number of each item wanted.
    pub fn demand(&self) -> Vec<u32> {
        self.items.iter().map(|item| item.demand).collect()
    }

    /// Whether a piece may be cut from a board, its size left aside.
    pub fn allowed(&self, item: usize, board: usize) -> bool {
        self.barred.is_empty() || !self.barred.contains(&(item, board))
    }

    /// Whether a piece fits on a board at all.
    pub fn fits(&self, item: usize, board: usize) -> bool {
        let (piece, wood) = (&self.items[item], &self.boards[board]);
        self.allowed(item, board) && piece.length <= wood.length && piece.width <= wood.width
    }

    /// The first board that may be cut into the same items as this one: what
    /// is laid out on either may be cut from the other, where it has room.
    pub fn like(&self, board: usize) -> usize {
        let same = |other: usize| (0..self.items.len()).all(|i| self.allowed(i, other) == self.allowed(i, board));
        if self.barred.is_empty() { 0 } else { (0..board).find(|&other| same(other)).unwrap_or(board) }
    }

    /// Whether a pattern can be cut: every piece within its lane, every lane
    /// within its board, kerfs between. The last cut's kerf may fall off the
    /// board's end.
    pub fn sound(&self, pattern: &Pattern) -> bool {
        let board = &self.boards[pattern.board];
        let (along, across) = ((board.length, self.crosscut), (board.width, self.rip));
        let ((outer, outer_kerf), (inner, inner_kerf)) = match pattern.order {
            Order::RipFirst => (across, along),
            Order::CrosscutFirst => (along, across),
        };
        let lanes: i64 = pattern.lanes.iter().map(|lane| lane.size + outer_kerf).sum();
        lanes <= outer + outer_kerf
            && pattern.lanes.iter().all(|lane| {
                let sizes = |i: &usize| match pattern.order {
                    Order::RipFirst => (self.items[*i].width, self.items[*i].length),
                    Order::CrosscutFirst => (self.items[*i].length, self.items[*i].width),
                };
                let pieces: i64 = lane.pieces.iter().map(|i| sizes(i).1 + inner_kerf).sum();
                let goes = |i: &usize| sizes(i).0 <= lane.size && self.allowed(*i, pattern.board);
                pieces <= inner + inner_kerf && lane.pieces.iter().all(goes)
            })
    }
}
