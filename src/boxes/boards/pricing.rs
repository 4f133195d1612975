//! The most valuable pattern on a board, given what each piece is worth: two
//! nested knapsacks (Gilmore and Gomory, Multistage cutting stock problems of
//! two and more dimensions, Operations Research 13, 1965; from memory).

use super::knapsack::{Thing, pack};
use super::problem::{Lane, Order, Pattern, Problem};

/// The best pattern found for a board.
#[derive(Clone, Debug)]
pub(crate) struct Priced {
    /// What its pieces are worth together.
    pub(crate) worth: i64,
    /// No pattern of this board is worth more.
    pub(crate) at_most: i64,
    /// The pattern.
    pub(crate) pattern: Pattern,
}

/// The most valuable pattern for a board in one order of cuts. `worth` is what
/// one of each item is worth, `limit` how many can be used.
pub(crate) fn price(problem: &Problem, board: usize, order: Order, worth: &[i64], limit: &[u32]) -> Priced {
    let view = View::new(problem, board, order);
    let sizes = view.lane_sizes(worth, limit);
    let lanes: Vec<_> = sizes.iter().map(|&size| view.fill(size, worth, limit)).collect();
    let things: Vec<_> = sizes
        .iter()
        .zip(&lanes)
        .map(|(&size, lane)| Thing { size: size + view.outer_kerf, worth: lane.0, limit: u32::MAX })
        .collect();
    let packed = pack(view.outer + view.outer_kerf, &things);
    let bounds: Vec<_> = things.iter().zip(&lanes).map(|(t, lane)| Thing { worth: lane.1, ..*t }).collect();
    let exact = lanes.iter().all(|lane| lane.0 == lane.1);
    let at_most = if exact { packed.at_most } else { pack(view.outer + view.outer_kerf, &bounds).at_most };
    let chosen = packed.counts.iter().enumerate().flat_map(|(i, &n)| std::iter::repeat_n(i, n as usize));
    let lanes = chosen.map(|i| Lane { size: sizes[i], pieces: pieces(&lanes[i].2) }).collect();
    Priced { worth: packed.worth, at_most, pattern: Pattern { board, order, lanes } }
}

/// The orders worth trying on a board: one where both come to the same because
/// all pieces are equally wide and only one fits across.
pub(crate) fn orders(problem: &Problem, board: usize) -> &'static [Order] {
    let width = problem.items.first().map_or(0, |item| item.width);
    let same = problem.items.iter().all(|item| item.width == width);
    if same && 2 * width + problem.rip > problem.boards[board].width {
        &[Order::RipFirst]
    } else {
        &[Order::RipFirst, Order::CrosscutFirst]
    }
}

/// Takes from a pattern what goes beyond `limit`, then fills the freed room
/// with other pieces still wanted. Lanes left empty disappear.
pub(crate) fn trimmed(problem: &Problem, pattern: &Pattern, worth: &[i64], limit: &[u32]) -> Pattern {
    let view = View::new(problem, pattern.board, pattern.order);
    let mut left = limit.to_vec();
    let mut lanes = Vec::new();
    for lane in &pattern.lanes {
        let (_, _, counts) = view.fill(lane.size, worth, &left);
        let pieces = pieces(&counts);
        for &piece in &pieces {
            left[piece] -= 1;
        }
        if let Some(size) = pieces.iter().map(|&i| view.cross(i)).max() {
            lanes.push(Lane { size, pieces });
        }
    }
    Pattern { board: pattern.board, order: pattern.order, lanes }
}

fn pieces(counts: &[u32]) -> Vec<usize> {
    counts.iter().enumerate().flat_map(|(i, &n)| std::iter::repeat_n(i, n as usize)).collect()
}

/// A board seen in one order of cuts: lanes lie side by side in its outer
/// direction, pieces one after the other in its inner direction.
struct View<'a> {
    problem: &'a Problem,
    board: usize,
    order: Order,
    outer: i64,
    outer_kerf: i64,
    inner: i64,
    inner_kerf: i64,
}

impl<'a> View<'a> {
    fn new(problem: &'a Problem, board: usize, order: Order) -> Self {
        let b = &problem.boards[board];
        let (outer, outer_kerf, inner, inner_kerf) = match order {
            Order::RipFirst => (b.width, problem.rip, b.length, problem.crosscut),
            Order::CrosscutFirst => (b.length, problem.crosscut, b.width, problem.rip),
        };
        Self { problem, board, order, outer, outer_kerf, inner, inner_kerf }
    }

    fn allowed(&self, item: usize) -> bool {
        self.problem.allowed(item, self.board)
    }

    /// Size of an item across its lane.
    fn cross(&self, item: usize) -> i64 {
        match self.order {
            Order::RipFirst => self.problem.items[item].width,
            Order::CrosscutFirst => self.problem.items[item].length,
        }
    }

    /// Size of an item along its lane.
    fn run(&self, item: usize) -> i64 {
        match self.order {
            Order::RipFirst => self.problem.items[item].length,
            Order::CrosscutFirst => self.problem.items[item].width,
        }
    }

    /// The lane sizes worth trying: those of the items themselves.
    fn lane_sizes(&self, worth: &[i64], limit: &[u32]) -> Vec<i64> {
        let fits = |i: usize| self.cross(i) <= self.outer && self.run(i) <= self.inner && self.allowed(i);
        let useful = (0..self.problem.items.len()).filter(|&i| worth[i] > 0 && limit[i] > 0 && fits(i));
        let mut sizes: Vec<_> = useful.map(|i| self.cross(i)).collect();
        sizes.sort_unstable();
        sizes.dedup();
        sizes
    }

    /// Worth, upper bound and counts of the best filling of a lane.
    fn fill(&self, size: i64, worth: &[i64], limit: &[u32]) -> (i64, i64, Vec<u32>) {
        let things: Vec<_> = (0..self.problem.items.len())
            .map(|i| {
                let fits = self.cross(i) <= size && self.allowed(i);
                Thing { size: self.run(i) + self.inner_kerf, worth: if fits { worth[i] } else { 0 }, limit: limit[i] }
            })
            .collect();
        let packed = pack(self.inner + self.inner_kerf, &things);
        (packed.worth, packed.at_most, packed.counts)
    }
}
