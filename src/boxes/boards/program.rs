//! The integer program over lanes and layouts.
//!
//! Lanes of one size are interchangeable between boards of one inner length, so
//! the program does not choose whole patterns: it chooses layouts (which lane
//! sizes lie on a board) and lane fillings, and asks only that there be as many
//! lanes of each size as fillings. A handful of patterns taken apart this way
//! stand for all their recombinations.

use std::collections::{BTreeMap, BTreeSet};

use microlp::{ComparisonOp, OptimizationDirection, Problem as Linear, SolveOptions, Variable};

use super::problem::{Lane, Order, Pattern, Problem};
use super::relax::{Limits, Pool};

/// What makes lanes interchangeable: order of cuts, length of the lane, size
/// across it, and the first board that may be cut into the same items.
type Slot = (Order, i64, i64, usize);

/// Which lane sizes lie on a board, smallest first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Layout {
    board: usize,
    order: Order,
    sizes: Vec<i64>,
}

/// The layouts and fillings to choose from.
pub(crate) struct Program<'a> {
    problem: &'a Problem,
    layouts: Vec<Layout>,
    fillings: Vec<(Slot, Vec<u32>)>,
}

impl<'a> Program<'a> {
    /// Takes the patterns of a pool apart.
    pub(crate) fn new(problem: &'a Problem, pool: &Pool) -> Self {
        let (mut layouts, mut fillings) = (BTreeSet::new(), BTreeSet::new());
        for column in &pool.patterns {
            let pattern = &column.pattern;
            let mut sizes: Vec<_> = pattern.lanes.iter().map(|l| l.size).collect();
            sizes.sort_unstable();
            layouts.insert(Layout { board: pattern.board, order: pattern.order, sizes });
            for lane in &pattern.lanes {
                let mut counts = vec![0; problem.items.len()];
                for &piece in &lane.pieces {
                    counts[piece] += 1;
                }
                fillings.insert((slot(problem, pattern.board, pattern.order, lane.size), counts));
            }
        }
        Self { problem, layouts: layouts.into_iter().collect(), fillings: fillings.into_iter().collect() }
    }

    /// Number of columns.
    pub(crate) fn size(&self) -> usize {
        self.layouts.len() + self.fillings.len()
    }

    /// The boards of the best choice found within `nodes` nodes; nothing when
    /// none was found.
    pub(crate) fn solve(&self, demand: &[u32], limits: &Limits, nodes: u64) -> Option<Vec<Pattern>> {
        let mut linear = Linear::new(OptimizationDirection::Minimize);
        let top = i32::try_from(demand.iter().sum::<u32>()).unwrap_or(i32::MAX);
        let dearest = self.problem.boards.iter().map(|b| b.cost).max().unwrap_or(1).max(1) as f64;
        let cost = |l: &Layout| self.problem.boards[l.board].cost as f64 / dearest;
        let layouts: Vec<_> = self.layouts.iter().map(|l| linear.add_integer_var(cost(l), (0, top))).collect();
        let fillings: Vec<_> = self.fillings.iter().map(|_| linear.add_integer_var(0.0, (0, top))).collect();
        self.wanted(demand, &fillings, &mut linear);
        self.lanes(&layouts, &fillings, &mut linear);
        self.limited(limits, &layouts, &mut linear);
        let mut options = SolveOptions::default();
        options.node_limit = Some(nodes);
        let outcome = linear.solve_with(options).ok()?;
        let solution = outcome.solution()?;
        let whole = |v: &Variable| solution.var_value(*v).round().max(0.0) as usize;
        Some(self.assemble(layouts.iter().map(whole).collect(), fillings.iter().map(whole).collect()))
    }

    fn wanted(&self, demand: &[u32], fillings: &[Variable], linear: &mut Linear) {
        for (i, &n) in demand.iter().enumerate().filter(|(_, n)| **n > 0) {
            let yields = self.fillings.iter().zip(fillings).filter(|((_, counts), _)| counts[i] > 0);
            let row: Vec<_> = yields.map(|((_, counts), v)| (*v, f64::from(counts[i]))).collect();
            linear.add_constraint(row, ComparisonOp::Ge, f64::from(n));
        }
    }

    /// As many lanes of each kind as fillings for it.
    fn lanes(&self, layouts: &[Variable], fillings: &[Variable], linear: &mut Linear) {
        let mut rows: BTreeMap<Slot, Vec<(Variable, f64)>> = BTreeMap::new();
        for (layout, v) in self.layouts.iter().zip(layouts) {
            let mut sizes: BTreeMap<i64, f64> = BTreeMap::new();
            for &size in &layout.sizes {
                *sizes.entry(size).or_default() += 1.0;
            }
            for (size, count) in sizes {
                rows.entry(slot(self.problem, layout.board, layout.order, size)).or_default().push((*v, count));
            }
        }
        for ((slot, _), v) in self.fillings.iter().zip(fillings) {
            rows.entry(*slot).or_default().push((*v, -1.0));
        }
        for row in rows.into_values() {
            linear.add_constraint(row, ComparisonOp::Ge, 0.0);
        }
    }

    fn limited(&self, limits: &Limits, layouts: &[Variable], linear: &mut Linear) {
        for (board, most) in limits.most.iter().enumerate() {
            let of_board = self.layouts.iter().zip(layouts).filter(|(l, _)| l.board == board);
            let row: Vec<_> = of_board.map(|(_, v)| (*v, 1.0)).collect();
            if let (Some(most), false) = (most, row.is_empty()) {
                linear.add_constraint(row, ComparisonOp::Le, f64::from(*most));
            }
        }
    }

    /// Puts fillings into lanes: equal boards get equal fillings as far as
    /// they go, which keeps the number of different layouts small.
    fn assemble(&self, layouts: Vec<usize>, fillings: Vec<usize>) -> Vec<Pattern> {
        let mut store: BTreeMap<Slot, Vec<&Vec<u32>>> = BTreeMap::new();
        for ((slot, counts), n) in self.fillings.iter().zip(fillings).rev() {
            store.entry(*slot).or_default().extend(std::iter::repeat_n(counts, n));
        }
        let mut boards = Vec::new();
        for (layout, copies) in self.layouts.iter().zip(layouts) {
            let mut patterns: Vec<Pattern> =
                (0..copies).map(|_| Pattern { board: layout.board, order: layout.order, lanes: Vec::new() }).collect();
            for &size in &layout.sizes {
                let stack = store.entry(slot(self.problem, layout.board, layout.order, size)).or_default();
                for pattern in &mut patterns {
                    if let Some(counts) = stack.pop() {
                        pattern.lanes.push(Lane { size, pieces: pieces(counts) });
                    }
                }
            }
            boards.extend(patterns.into_iter().filter(|p| !p.lanes.is_empty()));
        }
        boards
    }
}

fn slot(problem: &Problem, board: usize, order: Order, size: i64) -> Slot {
    let (wood, like) = (&problem.boards[board], problem.like(board));
    match order {
        Order::RipFirst => (order, wood.length, size, like),
        Order::CrosscutFirst => (order, wood.width, size, like),
    }
}

fn pieces(counts: &[u32]) -> Vec<usize> {
    counts.iter().enumerate().flat_map(|(i, &n)| std::iter::repeat_n(i, n as usize)).collect()
}
