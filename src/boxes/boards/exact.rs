//! Exact cutting of a few pieces: dynamic programming over how many of each
//! item are cut.
//!
//! A handful of pieces has few such counts, and for each the least room they
//! take on a board, and the least cost they have on several, follow from
//! smaller counts. It finishes the search's dives and settles single boxes.

use super::pricing::orders;
use super::problem::{Lane, Order, Pattern, Problem};

/// Items told apart; one byte each in a packed count.
const ITEMS: usize = 16;
/// The top bit of every byte, free because counts stay below 128.
const TOPS: u128 = 0x8080_8080_8080_8080_8080_8080_8080_8080;

/// The cheapest boards for `demand`, proved; nothing when there are more than
/// `states` different counts, boards are limited, or pieces do not fit.
pub(crate) fn exact(problem: &Problem, demand: &[u32], states: usize) -> Option<Vec<Pattern>> {
    let space = Space::new(demand, states)?;
    if problem.boards.iter().any(|b| b.limit.is_some()) {
        return None;
    }
    let ways: Vec<Way> = (0..problem.boards.len())
        .flat_map(|b| orders(problem, b).iter().map(move |&o| (b, o)))
        .map(|(board, order)| Way::new(problem, &space, board, order))
        .collect();
    cheapest(problem, &space, &ways)
}

/// All counts up to the demand, as packed bytes, smaller indices first.
struct Space {
    items: Vec<usize>,
    counts: Vec<u128>,
    strides: Vec<usize>,
}

impl Space {
    fn new(demand: &[u32], states: usize) -> Option<Self> {
        let items: Vec<usize> = (0..demand.len()).filter(|&i| demand[i] > 0).collect();
        let sizes = items.iter().map(|&i| demand[i] as usize + 1);
        let total = sizes.clone().try_fold(1usize, |n, size| n.checked_mul(size).filter(|n| *n <= states))?;
        if items.len() > ITEMS || items.iter().any(|&i| demand[i] > 127) {
            return None;
        }
        let strides: Vec<usize> = sizes
            .scan(1, |stride, size| {
                let this = *stride;
                *stride *= size;
                Some(this)
            })
            .collect();
        let digit = |index: usize, place: usize| index / strides[place] % (demand[items[place]] as usize + 1);
        let pack = |index| (0..items.len()).map(|p| (digit(index, p) as u128) << (8 * p)).sum();
        let counts = (0..total).map(pack).collect();
        Some(Self { items, counts, strides })
    }

    fn count(&self, index: usize, place: usize) -> u32 {
        (self.counts[index] >> (8 * place) & 0xff) as u32
    }

    /// Whether every count of `part` is within that of `whole`.
    fn within(&self, part: usize, whole: usize) -> bool {
        ((self.counts[whole] | TOPS) - self.counts[part]) & TOPS == TOPS
    }

    /// The smallest count that holds one of the first item of `index`: parts
    /// that are to be looked at all hold it.
    fn first(&self, index: usize) -> usize {
        (0..self.items.len()).find(|&p| self.count(index, p) > 0).map_or(0, |p| self.strides[p])
    }

    fn pieces(&self, index: usize) -> Vec<usize> {
        let of = |p: usize| std::iter::repeat_n(self.items[p], self.count(index, p) as usize);
        (0..self.items.len()).flat_map(of).collect()
    }
}

/// Least room for every count on one board in one order of cuts.
struct Way {
    board: usize,
    order: Order,
    /// Room taken across the lanes, and the first lane's pieces, by index.
    room: Vec<Option<(i64, usize)>>,
    sizes: Vec<i64>,
    outer: i64,
}

impl Way {
    fn new(problem: &Problem, space: &Space, board: usize, order: Order) -> Self {
        let b = &problem.boards[board];
        let (outer, outer_kerf, inner, inner_kerf) = match order {
            Order::RipFirst => (b.width, problem.rip, b.length, problem.crosscut),
            Order::CrosscutFirst => (b.length, problem.crosscut, b.width, problem.rip),
        };
        let side = |i: usize| {
            let item = &problem.items[i];
            if order == Order::RipFirst { (item.width, item.length) } else { (item.length, item.width) }
        };
        let lane = |index: usize| {
            let pieces = space.pieces(index);
            let run: i64 = pieces.iter().map(|&i| side(i).1 + inner_kerf).sum();
            let size = pieces.iter().map(|&i| side(i).0).max().unwrap_or(0);
            let allowed = pieces.iter().all(|&i| problem.allowed(i, board));
            (run <= inner + inner_kerf && size <= outer && allowed).then_some(size)
        };
        let sizes: Vec<i64> = (0..space.counts.len()).map(|i| lane(i).unwrap_or(-1)).collect();
        let mut way = Self { board, order, room: vec![Some((0, 0))], sizes, outer: outer + outer_kerf };
        let lanes: Vec<usize> = (1..space.counts.len()).filter(|&i| way.sizes[i] >= 0).collect();
        for index in 1..space.counts.len() {
            let first = space.first(index);
            let parts = lanes.iter().take_while(|&&p| p <= index);
            let options = parts.filter(|&&p| space.within(p, index) && space.within(first, p)).filter_map(|&p| {
                let (rest, _) = way.room[index - p]?;
                let room = rest + way.sizes[p] + outer_kerf;
                (room <= way.outer).then_some((room, p))
            });
            let least = options.min();
            way.room.push(least);
        }
        way
    }

    fn pattern(&self, space: &Space, mut index: usize) -> Pattern {
        let mut lanes = Vec::new();
        while let (true, Some((_, part))) = (index > 0, self.room[index]) {
            lanes.push(Lane { size: self.sizes[part], pieces: space.pieces(part) });
            index -= part;
        }
        Pattern { board: self.board, order: self.order, lanes }
    }
}

fn cheapest(problem: &Problem, space: &Space, ways: &[Way]) -> Option<Vec<Pattern>> {
    let cost = |w: &Way| problem.boards[w.board].cost;
    let one_board: Vec<Option<(i64, usize)>> = (0..space.counts.len())
        .map(|i| ways.iter().enumerate().filter(|(_, w)| w.room[i].is_some()).map(|(n, w)| (cost(w), n)).min())
        .collect();
    let parts: Vec<usize> = (1..space.counts.len()).filter(|&i| one_board[i].is_some()).collect();
    let mut best: Vec<Option<(i64, usize)>> = vec![Some((0, 0))];
    for index in 1..space.counts.len() {
        let first = space.first(index);
        let options = parts.iter().take_while(|&&p| p <= index).filter(|&&p| space.within(p, index));
        let least = options.filter(|&&p| space.within(first, p)).filter_map(|&p| {
            let (board, _) = one_board[p]?;
            Some((best[index - p]?.0 + board, p))
        });
        let least = least.min();
        best.push(least);
    }
    let mut index = space.counts.len() - 1;
    let mut boards = Vec::new();
    while index > 0 {
        let (_, part) = best[index]?;
        let (_, way) = one_board[part]?;
        boards.push(ways[way].pattern(space, part));
        index -= part;
    }
    Some(boards)
}
