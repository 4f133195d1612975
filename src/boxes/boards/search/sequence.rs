//! Plans built board by board from what pieces are worth.

use std::collections::BTreeSet;

use super::{Node, Plan, Search};
use crate::boxes::boards::pricing::{orders, price, trimmed};
use crate::boxes::boards::problem::Pattern;
use crate::boxes::boards::relax::Limits;

/// Plans built board by board, each with corrected values (ours: 16 found no
/// cheaper boards in the same batches).
const CORRECTIONS: usize = 8;
/// How much of a board's shortfall is put on its pieces.
const CORRECTION: f64 = 0.4;

impl Search<'_> {
    /// A first plan, by area.
    pub(super) fn greedy(&mut self) {
        let worth = self.areas();
        if let Some(plan) = self.sequence(&worth) {
            self.offer(plan);
        }
    }

    /// Plans built board by board from what pieces are worth; after each, the
    /// pieces of boards that were filled badly are worth more, so that the next
    /// plan cuts them earlier. (Sequential value correction; the idea is Belov
    /// and Scheithauer's, from memory.)
    pub(super) fn correct_values(&mut self, node: &Node) {
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
}
