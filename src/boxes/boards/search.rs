//! Whole boards from the relaxation: rounding, diving, an integer program over
//! the patterns found, and branching on how many of each board are bought.

mod dive;
mod sequence;
mod sums;

use std::collections::BTreeMap;

use super::exact::exact;
use super::pricing::{orders, price};
use super::problem::{Pattern, Problem};
use super::program::Program;
use super::relax::{Limits, NoRelaxation, Pool, Relaxed, Start, relax};
use crate::units::gcd;
use sums::next_sum;

/// A cutting of everything wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cutting {
    /// Each pattern and how many boards are cut so.
    pub patterns: Vec<(Pattern, u32)>,
    /// Cost of all boards.
    pub cost: i64,
    /// No cutting in these orders of cuts costs less.
    pub bound: i64,
}

impl Cutting {
    /// Whether the cost is proved to be the least.
    #[must_use]
    pub const fn proved(&self) -> bool {
        self.cost == self.bound
    }

    /// Number of boards.
    #[must_use]
    pub fn boards(&self) -> u32 {
        self.patterns.iter().map(|(_, n)| n).sum()
    }
}

/// Boards-bought nodes explored before the gap is left as it is. Each costs a
/// relaxation and some dives.
const NODES: usize = 12;
/// Dives from each node, each taking another choice first.
const DIVES: usize = 6;
/// Different counts up to which the whole problem is solved exactly, and up to
/// which the rest of a dive is. The work grows with their square.
const EXACT_WHOLE: usize = 3_000;
const EXACT_REST: usize = 300;
/// Nodes of the integer program over the pool (ours: 300 found no cheaper boards
/// in 28 lantern batches of 1 to 500 boxes, and took most of the time).
const PROGRAM_NODES: u64 = 60;
/// Patterns beyond which the integer program is left out: it would take longer
/// than it is worth.
const PROGRAM_COLUMNS: usize = 400;

/// Cuts everything at the least cost found.
///
/// # Errors
/// The limits on boards leave no way to cut everything.
pub fn solve(problem: &Problem) -> Result<Cutting, NoWay> {
    let mut search = Search::new(problem);
    if !search.settle() {
        search.greedy();
        search.run();
    }
    search.finish()
}

/// A cutting by the first plan alone: quick, close, without a bound worth
/// showing. For tables of many batch sizes.
///
/// # Errors
/// The limits on boards leave no way to cut everything.
pub fn solve_quickly(problem: &Problem) -> Result<Cutting, NoWay> {
    let mut search = Search::new(problem);
    if !search.settle() {
        search.greedy();
    }
    search.finish()
}

/// There is no way to cut everything from the boards on offer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoWay;

struct Search<'a> {
    problem: &'a Problem,
    pool: Pool,
    /// What every cost is a multiple of.
    step: i64,
    best: Option<Plan>,
    bound: f64,
    no_way: bool,
}

/// Boards in use.
#[derive(Clone, Debug, Default)]
struct Plan {
    boards: Vec<Pattern>,
    cost: i64,
    area: i128,
}

/// A range of boards bought, and its relaxation.
struct Node {
    limits: Limits,
    relaxed: Relaxed,
}

impl<'a> Search<'a> {
    fn new(problem: &'a Problem) -> Self {
        let mut pool = Pool::default();
        pool.seed(problem);
        let costs = problem.boards.iter().map(|b| b.cost.unsigned_abs()).filter(|cost| *cost > 0);
        let step = costs.fold(0, gcd).max(1) as i64;
        Self { problem, pool, step, best: None, bound: 0.0, no_way: false }
    }

    fn run(&mut self) {
        let limits = Limits::of(self.problem);
        let demand = self.problem.demand();
        let start = Start { step: self.step as f64, worth: None };
        let relaxed = match relax(self.problem, &demand, &limits, &mut self.pool, start) {
            Ok(relaxed) => relaxed,
            Err(NoRelaxation::TooFewBoards) => {
                self.no_way = true;
                return;
            }
            // The greedy plan stands; the bound stays zero and says so.
            Err(NoRelaxation::Solver) => return,
        };
        self.bound = relaxed.bound;
        let mut open = vec![Node { limits, relaxed }];
        let mut settled = f64::INFINITY;
        for explored in 0..NODES {
            let Some(node) = take_lowest(&mut open) else { break };
            if self.beaten(node.relaxed.bound) {
                open.push(node);
                break;
            }
            self.improve(&node, explored == 0);
            if self.beaten(node.relaxed.bound) {
                open.push(node);
                break;
            }
            match self.branch(&node) {
                Some(children) => open.extend(children),
                None => settled = settled.min(node.relaxed.bound),
            }
        }
        // The pool has grown; its recombinations may close the gap.
        if !self.beaten(open.iter().map(|n| n.relaxed.bound).fold(settled, f64::min)) {
            self.program(&Limits::of(self.problem));
        }
        let lowest = open.iter().map(|n| n.relaxed.bound).fold(settled, f64::min);
        if lowest.is_finite() {
            self.bound = self.bound.max(lowest);
        } else if let Some(best) = &self.best {
            // Every range of boards was closed by a better plan.
            self.bound = best.cost as f64;
        }
    }

    /// The bound rounded up to a sum of board costs.
    fn whole(&self, bound: f64) -> i64 {
        let steps = (bound / self.step as f64 - 1e-9).ceil().max(0.0) as i64;
        next_sum(&self.problem.boards.iter().map(|b| b.cost).collect::<Vec<_>>(), steps * self.step)
    }

    fn beaten(&self, bound: f64) -> bool {
        self.best.as_ref().is_some_and(|best| best.cost <= self.whole(bound))
    }

    fn improve(&mut self, node: &Node, root: bool) {
        let dives = if root { DIVES } else { 1 };
        for dive in 0..dives {
            self.dive(node, dive);
            if root && dive == 0 {
                self.correct_values(node);
            }
            if self.beaten(node.relaxed.bound) {
                return;
            }
        }
        if root {
            self.program(&node.limits);
        }
    }

    /// Splits a node where the number of some board is not whole.
    fn branch(&mut self, node: &Node) -> Option<Vec<Node>> {
        let mut sums = vec![0.0; self.problem.boards.len()];
        for &(column, x) in &node.relaxed.used {
            sums[self.pool.patterns[column].pattern.board] += x;
        }
        let off = |x: f64| (x - x.round()).abs();
        let board = (0..sums.len()).max_by(|&a, &b| off(sums[a]).total_cmp(&off(sums[b])).then(b.cmp(&a)))?;
        if off(sums[board]) < 1e-6 {
            return None;
        }
        let mut fewer = node.limits.clone();
        fewer.most[board] = Some(sums[board].floor() as u32);
        let mut more = node.limits.clone();
        more.least[board] = sums[board].ceil() as u32;
        let demand = self.problem.demand();
        let mut children = Vec::new();
        for limits in [fewer, more] {
            let start = Start { step: self.step as f64, worth: Some(&node.relaxed.worth) };
            match relax(self.problem, &demand, &limits, &mut self.pool, start) {
                Ok(mut relaxed) => {
                    relaxed.bound = relaxed.bound.max(node.relaxed.bound);
                    children.push(Node { limits, relaxed });
                }
                Err(NoRelaxation::TooFewBoards) => {}
                Err(NoRelaxation::Solver) => return None,
            }
        }
        Some(children)
    }

    /// Worth for filling room: what the relaxation says, and a trifle by area
    /// so that every piece is worth something.
    fn fill_worth(&self, worth: &[f64]) -> Vec<i64> {
        let largest = worth.iter().copied().fold(1.0, f64::max);
        let area = self.areas();
        worth.iter().zip(&area).map(|(w, a)| (w / largest * 1e8) as i64 + a / 1000 + 1).collect()
    }

    /// Areas, the largest scaled to 10^9.
    fn areas(&self) -> Vec<i64> {
        let area: Vec<_> = self.problem.items.iter().map(|i| i.length as f64 * i.width as f64).collect();
        let largest = area.iter().copied().fold(1.0, f64::max);
        area.iter().map(|a| ((a / largest * 1e9) as i64).max(1)).collect()
    }

    /// The integer program over everything found so far; see [`Program`].
    fn program(&mut self, limits: &Limits) {
        let program = Program::new(self.problem, &self.pool);
        if program.size() > PROGRAM_COLUMNS {
            return;
        }
        let Some(boards) = program.solve(&self.problem.demand(), limits, PROGRAM_NODES) else { return };
        let (mut plan, mut left, mut limits) = (Plan::default(), self.problem.demand(), limits.clone());
        let worth = self.areas();
        for pattern in &boards {
            self.use_board(pattern, &worth, &mut plan, &mut left, &mut limits);
        }
        if left.iter().all(|n| *n == 0) {
            self.offer(plan);
        }
    }

    /// Solves a few pieces exactly; says whether they were few enough.
    fn settle(&mut self) -> bool {
        let Some(boards) = exact(self.problem, &self.problem.demand(), EXACT_WHOLE) else { return false };
        let mut plan = Plan::default();
        boards.into_iter().for_each(|pattern| plan.push(self.problem, pattern));
        self.bound = plan.cost as f64;
        self.offer(plan);
        true
    }

    /// Keeps a plan if it costs less, or as much and uses less wood.
    fn offer(&mut self, mut plan: Plan) {
        self.downsize(&mut plan);
        for pattern in &plan.boards {
            self.pool.add(pattern.clone(), self.problem.items.len());
        }
        let better = |best: &Plan| (plan.cost, plan.area) < (best.cost, best.area);
        if self.best.as_ref().is_none_or(better) {
            self.best = Some(plan);
        }
    }

    /// Puts the pieces of each board on a cheaper one where they fit.
    fn downsize(&self, plan: &mut Plan) {
        let mut used = vec![0u32; self.problem.boards.len()];
        for pattern in &plan.boards {
            used[pattern.board] += 1;
        }
        let mut known: BTreeMap<Pattern, Option<Pattern>> = BTreeMap::new();
        for pattern in &mut plan.boards {
            let cheaper = known.entry(pattern.clone()).or_insert_with(|| self.cheaper(pattern));
            if let Some(next) = cheaper {
                let room = self.problem.boards[next.board].limit.is_none_or(|most| used[next.board] < most);
                if room {
                    used[pattern.board] -= 1;
                    used[next.board] += 1;
                    *pattern = next.clone();
                }
            }
        }
        let boards = std::mem::take(&mut plan.boards);
        *plan = Plan::default();
        for pattern in boards {
            plan.push(self.problem, pattern);
        }
    }

    fn cheaper(&self, pattern: &Pattern) -> Option<Pattern> {
        let items = self.problem.items.len();
        let wanted = pattern.counts(items);
        let ones: Vec<i64> = wanted.iter().map(|n| i64::from(*n > 0)).collect();
        let total: i64 = wanted.iter().map(|n| i64::from(*n)).sum();
        let value = |b: usize| (self.problem.boards[b].cost, area(self.problem, b));
        let mut boards: Vec<_> = (0..self.problem.boards.len()).filter(|&b| value(b) < value(pattern.board)).collect();
        boards.sort_by_key(|&b| value(b));
        boards.into_iter().find_map(|b| {
            let fits = |order| {
                let priced = price(self.problem, b, order, &ones, &wanted);
                let all = priced.worth == total && priced.pattern.counts(items) == wanted;
                all.then_some(priced.pattern)
            };
            orders(self.problem, b).iter().find_map(|&order| fits(order))
        })
    }

    fn finish(self) -> Result<Cutting, NoWay> {
        let whole = self.whole(self.bound);
        let best = self.best.filter(|_| !self.no_way).ok_or(NoWay)?;
        let mut patterns: BTreeMap<Pattern, u32> = BTreeMap::new();
        for pattern in best.boards {
            *patterns.entry(pattern).or_default() += 1;
        }
        Ok(Cutting { patterns: patterns.into_iter().collect(), cost: best.cost, bound: whole.min(best.cost) })
    }
}

impl Plan {
    fn push(&mut self, problem: &Problem, pattern: Pattern) {
        self.cost += problem.boards[pattern.board].cost;
        self.area += area(problem, pattern.board);
        self.boards.push(pattern);
    }
}

fn area(problem: &Problem, board: usize) -> i128 {
    i128::from(problem.boards[board].length) * i128::from(problem.boards[board].width)
}

fn take_lowest(open: &mut Vec<Node>) -> Option<Node> {
    let lowest = (0..open.len()).min_by(|&a, &b| open[a].relaxed.bound.total_cmp(&open[b].relaxed.bound))?;
    Some(open.swap_remove(lowest))
}
