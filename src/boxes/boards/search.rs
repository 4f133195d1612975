//! Whole boards from the relaxation: rounding, diving, an integer program over
//! the patterns found, and branching on how many of each board are bought.

use std::collections::{BTreeMap, BTreeSet};

use super::exact::exact;
use super::pricing::{orders, price, trimmed};
use super::problem::{Pattern, Problem};
use super::program::Program;
use super::relax::{Limits, NoRelaxation, Pool, Relaxed, Start, relax};

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
/// Plans built board by board, each with corrected values.
const CORRECTIONS: usize = 16;
/// How much of a board's shortfall is put on its pieces.
const CORRECTION: f64 = 0.4;
/// Different counts up to which the whole problem is solved exactly, and up to
/// which the rest of a dive is. The work grows with their square.
const EXACT_WHOLE: usize = 3_000;
const EXACT_REST: usize = 300;
/// Nodes of the integer program over the pool.
const PROGRAM_NODES: u64 = 300;
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
        let step = problem.boards.iter().map(|b| b.cost).fold(0, gcd).max(1);
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

    /// Takes the whole part of the relaxation, solves it again for the rest,
    /// and so on; where nothing is whole, takes one board of the most used
    /// pattern. Dive `n` takes other patterns first and leaves more to the
    /// later rounds.
    fn dive(&mut self, node: &Node, number: usize) {
        let mut left = self.problem.demand();
        let mut plan = Plan::default();
        let mut relaxed = node.relaxed.clone();
        let mut limits = node.limits.clone();
        let mut depth = 0;
        while left.iter().any(|n| *n > 0) {
            let keep = u32::from(depth == 0 && number % 2 == 1);
            let before = plan.boards.len();
            self.take_whole(&relaxed, keep, &mut plan, &mut left, &mut limits);
            if plan.boards.len() == before && left.iter().any(|n| *n > 0) {
                let skip = if depth < 3 { (number / 2 + depth * (number / 4)) % 3 } else { 0 };
                self.take_one(&relaxed, skip, &mut plan, &mut left, &mut limits);
                depth += 1;
            }
            if plan.boards.len() == before {
                return;
            }
            if left.iter().all(|n| *n == 0) {
                break;
            }
            if let Some(boards) = exact(self.problem, &left, EXACT_REST) {
                boards.into_iter().for_each(|pattern| plan.push(self.problem, pattern));
                break;
            }
            let start = Start { step: self.step as f64, worth: Some(&relaxed.worth) };
            match relax(self.problem, &left, &limits, &mut self.pool, start) {
                Ok(next) => relaxed = next,
                Err(_) => return,
            }
            let hope = plan.cost + self.whole(relaxed.bound);
            if self.best.as_ref().is_some_and(|best| hope >= best.cost) {
                return;
            }
        }
        self.offer(plan);
    }

    fn take_whole(&self, relaxed: &Relaxed, keep: u32, plan: &mut Plan, left: &mut [u32], limits: &mut Limits) {
        let worth = self.fill_worth(&relaxed.worth);
        for &(column, x) in &relaxed.used {
            let copies = ((x + 1e-6).floor() as u32).saturating_sub(keep);
            for _ in 0..copies {
                self.use_board(&self.pool.patterns[column].pattern, &worth, plan, left, limits);
            }
        }
    }

    fn take_one(&self, relaxed: &Relaxed, skip: usize, plan: &mut Plan, left: &mut [u32], limits: &mut Limits) {
        let mut by_use: Vec<_> = relaxed.used.iter().collect();
        by_use.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        if let Some(&&(column, _)) = by_use.get(skip.min(by_use.len().saturating_sub(1))) {
            let worth = self.fill_worth(&relaxed.worth);
            self.use_board(&self.pool.patterns[column].pattern, &worth, plan, left, limits);
        }
    }

    /// Cuts one board by a pattern, leaving out what is no longer wanted and
    /// filling the room with what is.
    fn use_board(
        &self,
        pattern: &Pattern,
        worth: &[i64],
        plan: &mut Plan,
        left: &mut [u32],
        limits: &mut Limits,
    ) -> bool {
        let board = pattern.board;
        if limits.most[board] == Some(0) {
            return false;
        }
        let counts = pattern.counts(left.len());
        let exact = counts.iter().zip(&*left).all(|(n, l)| n <= l);
        let pattern = if exact { pattern.clone() } else { trimmed(self.problem, pattern, worth, left) };
        if pattern.lanes.is_empty() {
            return false;
        }
        let items = left.len();
        for (l, n) in left.iter_mut().zip(pattern.counts(items)) {
            *l -= n;
        }
        limits.most[board] = limits.most[board].map(|m| m - 1);
        limits.least[board] = limits.least[board].saturating_sub(1);
        plan.push(self.problem, pattern);
        true
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

    /// A first plan, by area.
    fn greedy(&mut self) {
        let worth = self.areas();
        if let Some(plan) = self.sequence(&worth) {
            self.offer(plan);
        }
    }

    /// Plans built board by board from what pieces are worth; after each, the
    /// pieces of boards that were filled badly are worth more, so that the next
    /// plan cuts them earlier. (Sequential value correction; the idea is Belov
    /// and Scheithauer's, from memory.)
    fn correct_values(&mut self, node: &Node) {
        let mut worth: Vec<f64> = node.relaxed.worth.clone();
        for _ in 0..CORRECTIONS {
            let whole = self.fill_worth(&worth);
            let Some(plan) = self.sequence(&whole) else { return };
            for pattern in &plan.boards {
                let cost = self.problem.boards[pattern.board].cost as f64;
                let pieces = || pattern.lanes.iter().flat_map(|l| l.pieces.iter().copied());
                let total: f64 = pieces().map(|i| worth[i]).sum();
                if total > 0.0 {
                    let share = (cost / total).min(2.0);
                    let seen: BTreeSet<usize> = pieces().collect();
                    for i in seen {
                        worth[i] *= 1.0 + CORRECTION * (share - 1.0);
                    }
                }
            }
            self.offer(plan);
            if self.beaten(node.relaxed.bound) {
                return;
            }
        }
    }

    /// Again and again the board whose pieces are worth most for its cost.
    fn sequence(&self, worth: &[i64]) -> Option<Plan> {
        let (mut left, mut limits) = (self.problem.demand(), Limits::of(self.problem));
        let mut plan = Plan::default();
        while left.iter().any(|n| *n > 0) {
            let boards = (0..self.problem.boards.len()).filter(|&b| limits.most[b] != Some(0));
            let pairs = boards.flat_map(|b| orders(self.problem, b).iter().map(move |&o| (b, o)));
            let gain = |p: &Pattern| {
                let pieces = p.lanes.iter().flat_map(|l| &l.pieces);
                pieces.map(|&i| worth[i] as f64).sum::<f64>() / self.problem.boards[p.board].cost as f64
            };
            let patterns = pairs.map(|(b, o)| {
                let priced = price(self.problem, b, o, worth, &left);
                trimmed(self.problem, &priced.pattern, worth, &left)
            });
            let best = patterns.reduce(|best, next| if gain(&next) > gain(&best) { next } else { best })?;
            if best.lanes.is_empty() {
                return None;
            }
            let counts = best.counts(left.len());
            let copies = counts.iter().zip(&left).filter(|(n, _)| **n > 0).map(|(n, l)| l / n).min().unwrap_or(0);
            for _ in 0..copies.max(1) {
                if !self.use_board(&best, worth, &mut plan, &mut left, &mut limits) {
                    break;
                }
            }
        }
        Some(plan)
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

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Sums looked at before the plain bound is taken.
const SUMS: i64 = 100_000;

/// The least sum of board costs that is at least `least`.
fn next_sum(costs: &[i64], least: i64) -> i64 {
    let mut costs = costs.to_vec();
    costs.sort_unstable();
    costs.dedup();
    let Some((&cheapest, dearer)) = costs.split_first() else { return least };
    let tries: i64 = dearer.iter().map(|c| least / c + 2).product();
    if least <= 0 || tries > SUMS {
        return least.max(0);
    }
    smallest_sum(cheapest, dearer, least)
}

fn smallest_sum(cheapest: i64, dearer: &[i64], least: i64) -> i64 {
    let Some((&cost, rest)) = dearer.split_last() else {
        return (least.max(0) + cheapest - 1) / cheapest * cheapest;
    };
    let most = (least.max(0) + cost - 1) / cost;
    (0..=most).map(|n| n * cost + smallest_sum(cheapest, rest, least - n * cost)).min().unwrap_or(least)
}
