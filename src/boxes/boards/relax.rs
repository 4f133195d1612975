//! The linear relaxation by column generation (Gilmore and Gomory, A linear
//! programming approach to the cutting-stock problem, Operations Research 9,
//! 1961; from memory).
//!
//! The solver works on the dual: what is each piece worth? Every pattern is a
//! constraint there (its pieces may not be worth more than its board costs), so
//! a new pattern is a new constraint and the solve goes on from where it stood.

use std::collections::{BTreeMap, BTreeSet};

use microlp::{ComparisonOp, OptimizationDirection, Problem as Linear, Solution, Variable};

use super::pricing::{orders, price};
use super::problem::{Pattern, Problem};

/// Every pattern found so far.
#[derive(Clone, Debug, Default)]
pub(crate) struct Pool {
    pub(crate) patterns: Vec<Column>,
    seen: BTreeMap<(usize, Vec<u32>), usize>,
}

/// A pattern and how many of each item it yields.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) pattern: Pattern,
    pub(crate) counts: Vec<u32>,
}

impl Pool {
    /// The place of a pattern in the pool; one that yields the same is the same.
    pub(crate) fn add(&mut self, pattern: Pattern, items: usize) -> usize {
        let counts = pattern.counts(items);
        let next = self.patterns.len();
        let place = *self.seen.entry((pattern.board, counts.clone())).or_insert(next);
        if place == next {
            self.patterns.push(Column { pattern, counts });
        }
        place
    }

    /// Fills whole boards with one item each, so that every item can be cut.
    pub(crate) fn seed(&mut self, problem: &Problem) {
        let items = problem.items.len();
        for item in 0..items {
            for board in (0..problem.boards.len()).filter(|&b| problem.fits(item, b)) {
                let mut worth = vec![0; items];
                worth[item] = 1;
                for &order in orders(problem, board) {
                    self.add(price(problem, board, order, &worth, &problem.demand()).pattern, items);
                }
            }
        }
    }
}

/// How many of each board may (and must) be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Limits {
    pub(crate) least: Vec<u32>,
    pub(crate) most: Vec<Option<u32>>,
}

impl Limits {
    pub(crate) fn of(problem: &Problem) -> Self {
        let most = problem.boards.iter().map(|b| b.limit).collect();
        Self { least: vec![0; problem.boards.len()], most }
    }
}

/// The relaxation solved.
#[derive(Clone, Debug)]
pub(crate) struct Relaxed {
    /// No cutting costs less than this; proved from the pieces' worths whatever
    /// the solver's rounding.
    pub(crate) bound: f64,
    /// Patterns used, by index in the pool, and how often (not whole numbers).
    pub(crate) used: Vec<(usize, f64)>,
    /// Worth of each piece, in cost.
    pub(crate) worth: Vec<f64>,
}

/// Why there is no relaxation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoRelaxation {
    /// The limits on boards leave no way to cut everything.
    TooFewBoards,
    /// The solver failed on rounding; its answer is not to be trusted.
    Solver,
}

/// Whole units the worth of the dearest board is divided into when patterns
/// are priced exactly.
const SCALE: f64 = 1e9;
/// Stands for "cannot be cut": more than any piece is worth.
const DEAR: f64 = 1e3;
/// Share of a board's cost that a pattern's pieces must be worth for it to be
/// taken over from a relaxation close by.
const NEAR: f64 = 0.9;
/// Rounds of pricing before the relaxation is taken as it is; its bound is
/// true after any round.
const ROUNDS: usize = 2_000;

/// Solves the relaxation for what is still wanted.
pub(crate) fn relax(
    problem: &Problem,
    demand: &[u32],
    limits: &Limits,
    pool: &mut Pool,
    start: Start,
) -> Result<Relaxed, NoRelaxation> {
    let scale = problem.boards.iter().map(|b| b.cost).max().unwrap_or(1).max(1) as f64;
    let mut dual = Dual::new(problem, demand, limits, scale);
    let mut solution = dual.solve(pool, start.worth)?;
    let mut bound = 0.0f64;
    for _ in 0..ROUNDS {
        let worth: Vec<i64> = dual.worth(&solution).iter().map(|w| (w * SCALE) as i64).collect();
        let priced = dual.price_all(&worth);
        bound = bound.max(dual.safe_bound(&solution, &worth, &priced) * scale);
        let steps = |cost: f64, slack: f64| (cost / start.step - slack).ceil();
        let fresh = dual.violated(&solution, priced, pool);
        if fresh.is_empty() || steps(bound, 1e-9) >= steps(solution.objective() * scale, 1e-6) {
            break;
        }
        solution = dual.add(solution, pool, &fresh)?;
    }
    let used = dual.primal(pool, &solution)?;
    let worth = dual.worth(&solution).iter().map(|w| w * scale).collect();
    Ok(Relaxed { bound, used, worth })
}

/// Where a relaxation starts from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Start<'a> {
    /// What costs are multiples of: once the bound rounds up to the solver's
    /// value there is nothing more to gain.
    pub(crate) step: f64,
    /// Worth of each piece in a relaxation close to this one: patterns far
    /// from paying by it are left out until they are priced again.
    pub(crate) worth: Option<&'a [f64]>,
}

/// The dual problem; costs are divided by `scale` so that the dearest board
/// costs one.
struct Dual<'a> {
    problem: &'a Problem,
    demand: &'a [u32],
    limits: &'a Limits,
    costs: Vec<f64>,
    /// Worth of each item still wanted.
    items: Vec<Option<Variable>>,
    /// Rent of a board that is limited, reward for one that must be used.
    rent: Vec<Option<Variable>>,
    reward: Vec<Option<Variable>>,
    linear: Linear,
    scale: f64,
    /// Patterns of the pool that are constraints here.
    present: BTreeSet<usize>,
}

/// A priced pattern, before it is known to be useful.
struct Candidate {
    worth: i64,
    at_most: i64,
    pattern: Pattern,
}

impl<'a> Dual<'a> {
    fn new(problem: &'a Problem, demand: &'a [u32], limits: &'a Limits, scale: f64) -> Self {
        let costs: Vec<f64> = problem.boards.iter().map(|b| b.cost as f64 / scale).collect();
        let mut linear = Linear::new(OptimizationDirection::Maximize);
        let item = |(i, &n): (usize, &u32), linear: &mut Linear| {
            let cheapest = (0..costs.len()).filter(|&b| problem.fits(i, b)).map(|b| costs[b]).fold(DEAR, f64::min);
            let unlimited = limits.most.iter().all(Option::is_none);
            let top = if unlimited { cheapest } else { DEAR };
            (n > 0).then(|| linear.add_var(f64::from(n), (0.0, top)))
        };
        let items = demand.iter().enumerate().map(|d| item(d, &mut linear)).collect();
        let rent = limits.most.iter().map(|m| m.map(|m| linear.add_var(-f64::from(m), (0.0, f64::INFINITY)))).collect();
        let reward = limits.least.iter();
        let reward = reward.map(|&l| (l > 0).then(|| linear.add_var(f64::from(l), (0.0, f64::INFINITY)))).collect();
        Self { problem, demand, limits, costs, items, rent, reward, linear, scale, present: BTreeSet::new() }
    }

    /// The constraint a pattern makes: worth of its pieces, less the board's
    /// rent, plus its reward, is at most its cost.
    fn row(&self, board: usize, counts: &[u32]) -> Vec<(Variable, f64)> {
        let pieces = self.items.iter().zip(counts).filter(|(_, n)| **n > 0);
        let mut row: Vec<_> = pieces.filter_map(|(v, &n)| v.map(|v| (v, f64::from(n)))).collect();
        row.extend(self.rent[board].map(|v| (v, -1.0)));
        row.extend(self.reward[board].map(|v| (v, 1.0)));
        row
    }

    fn solve(&mut self, pool: &Pool, worth: Option<&[f64]>) -> Result<Solution, NoRelaxation> {
        for board in 0..self.costs.len() {
            if self.reward[board].is_some() {
                // A board that must be used may also stay uncut.
                let row = self.row(board, &vec![0; self.demand.len()]);
                self.linear.add_constraint(row, ComparisonOp::Le, self.costs[board]);
            }
        }
        for (place, column) in pool.patterns.iter().enumerate() {
            let cost = self.costs[column.pattern.board];
            let near = worth.is_none_or(|worth| {
                let pieces = worth.iter().zip(&column.counts).map(|(w, n)| w * f64::from(*n));
                pieces.sum::<f64>() / self.scale >= cost * NEAR
            });
            let row = self.row(column.pattern.board, &column.counts);
            if near && !row.is_empty() {
                self.present.insert(place);
                self.linear.add_constraint(row, ComparisonOp::Le, cost);
            }
        }
        let outcome = self.linear.solve().map_err(|_| NoRelaxation::Solver)?;
        outcome.into_solution().map_err(|_| NoRelaxation::Solver)
    }

    fn value(solution: &Solution, variable: Option<Variable>) -> f64 {
        variable.map_or(0.0, |v| solution.var_value(v).max(0.0))
    }

    fn worth(&self, solution: &Solution) -> Vec<f64> {
        self.items.iter().map(|v| Self::value(solution, *v)).collect()
    }

    fn price_all(&self, worth: &[i64]) -> Vec<Candidate> {
        let boards = 0..self.problem.boards.len();
        let pairs = boards.flat_map(|b| orders(self.problem, b).iter().map(move |&o| (b, o)));
        pairs
            .map(|(board, order)| {
                let priced = price(self.problem, board, order, worth, self.demand);
                Candidate { worth: priced.worth, at_most: priced.at_most, pattern: priced.pattern }
            })
            .collect()
    }

    /// Farley's bound (A note on bounding a class of linear programming
    /// problems, Operations Research 38, 1990; from memory): worths divided by
    /// how far the best pattern exceeds its board's cost are feasible.
    fn safe_bound(&self, solution: &Solution, worth: &[i64], priced: &[Candidate]) -> f64 {
        let extra = |b: usize| Self::value(solution, self.reward[b]) - Self::value(solution, self.rent[b]);
        let over = priced.iter().map(|c| {
            let b = c.pattern.board;
            (c.at_most as f64 / SCALE + extra(b)) / self.costs[b]
        });
        let uncut = (0..self.costs.len()).map(|b| extra(b) / self.costs[b]);
        let factor = over.chain(uncut).fold(1.0, f64::max) * (1.0 + 1e-12);
        let pieces: f64 = worth.iter().zip(self.demand).map(|(&w, &n)| w as f64 / SCALE * f64::from(n)).sum();
        let rent: f64 = (0..self.costs.len())
            .map(|b| {
                let most = self.limits.most[b].map_or(0.0, f64::from);
                f64::from(self.limits.least[b]) * Self::value(solution, self.reward[b])
                    - most * Self::value(solution, self.rent[b])
            })
            .sum();
        (pieces + rent) / factor * (1.0 - 1e-12)
    }

    /// Patterns worth more than their board that are no constraints yet; new
    /// ones go to the pool.
    fn violated(&mut self, solution: &Solution, priced: Vec<Candidate>, pool: &mut Pool) -> Vec<usize> {
        let mut fresh = Vec::new();
        for candidate in priced {
            let b = candidate.pattern.board;
            let extra = Self::value(solution, self.reward[b]) - Self::value(solution, self.rent[b]);
            let worth = candidate.worth as f64 / SCALE + extra;
            if worth > self.costs[b] * (1.0 + 1e-7) {
                let place = pool.add(candidate.pattern, self.demand.len());
                if self.present.insert(place) {
                    fresh.push(place);
                }
            }
        }
        fresh
    }

    fn add(&self, mut solution: Solution, pool: &Pool, fresh: &[usize]) -> Result<Solution, NoRelaxation> {
        for &index in fresh {
            let column = &pool.patterns[index];
            let row = self.row(column.pattern.board, &column.counts);
            let outcome = solution.add_constraint(row, ComparisonOp::Le, self.costs[column.pattern.board]);
            solution = outcome.map_err(|_| NoRelaxation::Solver)?.into_solution().map_err(|_| NoRelaxation::Solver)?;
        }
        Ok(solution)
    }

    /// How often each pattern is used at the optimum. Only patterns whose
    /// constraint is tight can be (complementary slackness).
    fn primal(&self, pool: &Pool, solution: &Solution) -> Result<Vec<(usize, f64)>, NoRelaxation> {
        let tight = |place: &usize| {
            let column = &pool.patterns[*place];
            let row = self.row(column.pattern.board, &column.counts);
            let worth: f64 = row.iter().map(|(v, n)| solution.var_value(*v) * n).sum();
            worth >= self.costs[column.pattern.board] - 1e-6
        };
        let places: Vec<usize> = self.present.iter().copied().filter(tight).collect();
        self.primal_over(pool, &places).or_else(|_| self.primal_over(pool, &self.all(pool)))
    }

    fn all(&self, pool: &Pool) -> Vec<usize> {
        (0..pool.patterns.len()).collect()
    }

    fn primal_over(&self, pool: &Pool, places: &[usize]) -> Result<Vec<(usize, f64)>, NoRelaxation> {
        let mut linear = Linear::new(OptimizationDirection::Minimize);
        let columns: Vec<&Column> = places.iter().map(|&p| &pool.patterns[p]).collect();
        let variable =
            |c: &&Column, linear: &mut Linear| linear.add_var(self.costs[c.pattern.board], (0.0, f64::INFINITY));
        let uses: Vec<_> = columns.iter().map(|c| variable(c, &mut linear)).collect();
        let missing = self.demand_rows(&columns, &uses, &mut linear);
        self.board_rows(&columns, &uses, &mut linear);
        let outcome = linear.solve().map_err(|_| NoRelaxation::Solver)?;
        let solution = outcome.into_solution().map_err(|_| NoRelaxation::Solver)?;
        if missing.iter().any(|v| solution.var_value(*v) > 1e-6) {
            return Err(NoRelaxation::TooFewBoards);
        }
        let used = places.iter().zip(&uses).map(|(&p, v)| (p, solution.var_value(*v)));
        Ok(used.filter(|(_, x)| *x > 1e-7).collect())
    }

    /// Every piece wanted is cut, or missing at a dear price.
    fn demand_rows(&self, columns: &[&Column], uses: &[Variable], linear: &mut Linear) -> Vec<Variable> {
        let wanted = self.demand.iter().enumerate().filter(|(_, n)| **n > 0);
        wanted
            .map(|(i, &n)| {
                let missing = linear.add_var(DEAR, (0.0, f64::INFINITY));
                let cut = columns.iter().zip(uses).filter(|(c, _)| c.counts[i] > 0);
                let mut row: Vec<_> = cut.map(|(c, v)| (*v, f64::from(c.counts[i]))).collect();
                row.push((missing, 1.0));
                linear.add_constraint(row, ComparisonOp::Ge, f64::from(n));
                missing
            })
            .collect()
    }

    /// Boards stay within their limits.
    fn board_rows(&self, columns: &[&Column], uses: &[Variable], linear: &mut Linear) {
        for board in 0..self.costs.len() {
            let of_board = columns.iter().zip(uses).filter(|(c, _)| c.pattern.board == board);
            let mut row: Vec<_> = of_board.map(|(_, v)| (*v, 1.0)).collect();
            if let (Some(most), false) = (self.limits.most[board], row.is_empty()) {
                linear.add_constraint(row.clone(), ComparisonOp::Le, f64::from(most));
            }
            if self.limits.least[board] > 0 {
                // A board that must be bought may stay uncut.
                row.push((linear.add_var(self.costs[board], (0.0, f64::INFINITY)), 1.0));
                linear.add_constraint(row, ComparisonOp::Ge, f64::from(self.limits.least[board]));
            }
        }
    }
}
