//! Dives: the relaxation rounded a few boards at a time.

use super::{EXACT_REST, Node, Plan, Search};
use crate::boxes::boards::exact::exact;
use crate::boxes::boards::pricing::trimmed;
use crate::boxes::boards::problem::Pattern;
use crate::boxes::boards::relax::{Limits, Relaxed, Start, relax};

impl Search<'_> {
    /// Takes the whole part of the relaxation, solves it again for the rest,
    /// and so on; where nothing is whole, takes one board of the most used
    /// pattern. Dive `n` takes other patterns first and leaves more to the
    /// later rounds.
    pub(super) fn dive(&mut self, node: &Node, number: usize) {
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
    pub(super) fn use_board(
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
}
