use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::problem::{Board, Item, Order, Problem};
use super::search::{Cutting, solve};

fn inch(value: f64) -> i64 {
    (value * 25_400_000.0).round() as i64
}

/// The lantern's parts from 5/8 in stock, and two sizes of board.
fn lantern(boxes: u32) -> Problem {
    let part = |length, width, count: u32| Item { length: inch(length), width: inch(width), demand: count * boxes };
    Problem {
        items: vec![
            part(10.0, 5.25, 2),
            part(10.0, 3.5, 2),
            part(6.25, 5.75, 1),
            part(5.3125, 4.8125, 1),
            part(6.5625, 0.875, 2),
            part(4.8125, 0.875, 2),
        ],
        boards: vec![
            Board { length: inch(71.0), width: inch(5.5), cost: 350, limit: None },
            Board { length: inch(95.0), width: inch(7.25), cost: 799, limit: None },
        ],
        barred: BTreeSet::new(),
        crosscut: inch(0.125),
        rip: inch(0.125),
    }
}

/// What holds for every cutting: patterns can be cut, every piece is there and
/// none too many, the cost is that of the boards, the bound is not beaten, no
/// board is used more often than there is.
fn assert_sound(problem: &Problem, cut: &Cutting) {
    let mut made = vec![0; problem.items.len()];
    let mut used = vec![0; problem.boards.len()];
    for (pattern, copies) in &cut.patterns {
        assert!(problem.sound(pattern), "cannot be cut: {pattern:?}");
        used[pattern.board] += copies;
        for (m, n) in made.iter_mut().zip(pattern.counts(problem.items.len())) {
            *m += n * copies;
        }
    }
    assert_eq!(made, problem.demand(), "every piece once");
    let cost: i64 = used.iter().zip(&problem.boards).map(|(n, b)| i64::from(*n) * b.cost).sum();
    assert_eq!(cost, cut.cost, "cost of the boards");
    assert!(cut.bound <= cut.cost, "the bound is not beaten");
    assert!(used.iter().zip(&problem.boards).all(|(n, b)| b.limit.is_none_or(|l| *n <= l)), "boards there are");
}

#[test]
fn lanterns_are_cut_close_to_the_bound() {
    // The widest gap in the sweep: for two boxes, whose bound is one board.
    for (boxes, gap) in [(1, 0.0), (2, 0.44), (3, 0.0), (9, 0.0), (24, 0.04), (100, 0.01), (500, 0.001)] {
        let problem = lantern(boxes);
        let cut = solve(&problem).unwrap();
        assert_sound(&problem, &cut);
        let found = (cut.cost - cut.bound) as f64 / cut.bound as f64;
        assert!(found <= gap, "{boxes} boxes: {found:.4} over the bound, {cut:?}");
    }
}

#[test]
fn the_same_problem_is_cut_the_same_way() {
    let problem = lantern(24);
    assert_eq!(solve(&problem), solve(&problem), "no clock, no chance");
}

#[test]
fn limited_boards_are_kept_to_and_too_few_are_refused() {
    let mut problem = lantern(6);
    problem.boards[0].limit = Some(2);
    let cut = solve(&problem).unwrap();
    assert_sound(&problem, &cut);
    problem.boards[1].limit = Some(1);
    assert!(solve(&problem).is_err(), "three boards are not enough for six boxes");
    let long = Problem { items: vec![Item { length: inch(200.0), width: 1, demand: 1 }], ..lantern(1) };
    assert!(solve(&long).is_err(), "longer than any board");
}

/// Published bin-packing sets with their best known numbers of bins; see
/// `fixtures/boards/PROVENANCE.md`.
fn published(text: &str) -> Vec<(String, i64, Problem)> {
    let mut all = Vec::new();
    for line in text.lines().filter(|l| !l.starts_with('#')) {
        let (head, sizes) = line.split_once(" : ").unwrap();
        let [name, capacity, bins] = head.split(' ').collect::<Vec<_>>()[..] else { panic!("{head}") };
        let mut demand = BTreeMap::<i64, u32>::new();
        for size in sizes.split(' ') {
            *demand.entry(size.parse().unwrap()).or_default() += 1;
        }
        let items = demand.into_iter().map(|(length, demand)| Item { length, width: 1, demand }).collect();
        let board = Board { length: capacity.parse().unwrap(), width: 1, cost: 1, limit: None };
        let problem = Problem { items, boards: vec![board], barred: BTreeSet::new(), crosscut: 0, rip: 0 };
        all.push((name.to_owned(), bins.parse().unwrap(), problem));
    }
    all
}

fn assert_published(text: &str, count: usize) {
    let all = published(text);
    assert_eq!(all.len(), count, "every instance is read");
    for (name, bins, problem) in all {
        let cut = solve(&problem).unwrap();
        assert_sound(&problem, &cut);
        assert_eq!(cut.cost, bins, "{name}: bins");
        assert_eq!(cut.bound, bins, "{name}: proved");
    }
}

#[test]
fn twenty_published_uniform_instances_are_solved_to_the_known_optimum() {
    assert_published(include_str!("../../../fixtures/boards/u120.txt"), 20);
}

#[test]
#[ignore = "minutes in a debug build: 200 different sizes each"]
fn ten_published_hard_instances_are_solved_to_the_known_optimum() {
    assert_published(include_str!("../../../fixtures/boards/hard10.txt"), 10);
}

/// Least cost by brute force: every way to share the pieces out to boards,
/// every way to lay a board's pieces in lanes.
fn brute_force(problem: &Problem) -> Option<i64> {
    let numbered = problem.items.iter().enumerate();
    let pieces: Vec<(usize, i64, i64)> =
        numbered.flat_map(|(n, i)| std::iter::repeat_n((n, i.length, i.width), i.demand as usize)).collect();
    let full = (1usize << pieces.len()) - 1;
    let mut on_one = vec![None; full + 1];
    for (set, cost) in on_one.iter_mut().enumerate().skip(1) {
        let chosen: Vec<_> = (0..pieces.len()).filter(|i| set >> i & 1 == 1).map(|i| pieces[i]).collect();
        let sizes: Vec<_> = chosen.iter().map(|&(_, l, w)| (l, w)).collect();
        let fits = |(n, b): &(usize, &Board)| {
            chosen.iter().all(|&(i, ..)| problem.allowed(i, *n))
                && [Order::RipFirst, Order::CrosscutFirst].iter().any(|&o| in_lanes(problem, b, o, &sizes))
        };
        *cost = problem.boards.iter().enumerate().filter(fits).map(|(_, b)| b.cost).min();
    }
    let mut best: Vec<Option<i64>> = vec![Some(0)];
    for set in 1..=full {
        let lowest = set & set.wrapping_neg();
        let mut least: Option<i64> = None;
        let mut part = set;
        while part > 0 {
            if part & lowest > 0
                && let (Some(one), Some(rest)) = (on_one[part], best[set & !part])
            {
                least = Some(least.map_or(one + rest, |l| l.min(one + rest)));
            }
            part = (part - 1) & set;
        }
        best.push(least);
    }
    best[full]
}

fn in_lanes(problem: &Problem, board: &Board, order: Order, pieces: &[(i64, i64)]) -> bool {
    let (outer, outer_kerf, inner, inner_kerf) = match order {
        Order::RipFirst => (board.width, problem.rip, board.length, problem.crosscut),
        Order::CrosscutFirst => (board.length, problem.crosscut, board.width, problem.rip),
    };
    let turned: Vec<(i64, i64)> =
        pieces.iter().map(|&(l, w)| if order == Order::RipFirst { (w, l) } else { (l, w) }).collect();
    // Each piece joins an earlier lane or opens a new one.
    fn place(lanes: &mut Vec<(i64, i64)>, rest: &[(i64, i64)], room: (i64, i64, i64, i64)) -> bool {
        let (outer, outer_kerf, inner, inner_kerf) = room;
        let Some((&(cross, run), rest)) = rest.split_first() else {
            return lanes.iter().map(|l| l.0 + outer_kerf).sum::<i64>() <= outer + outer_kerf
                && lanes.iter().all(|l| l.1 <= inner + inner_kerf);
        };
        for i in 0..lanes.len() {
            let before = lanes[i];
            lanes[i] = (before.0.max(cross), before.1 + run + inner_kerf);
            if place(lanes, rest, room) {
                return true;
            }
            lanes[i] = before;
        }
        lanes.push((cross, run + inner_kerf));
        let done = place(lanes, rest, room);
        lanes.pop();
        done
    }
    place(&mut Vec::new(), &turned, (outer, outer_kerf, inner, inner_kerf))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]
    #[test]
    fn small_cases_cost_what_brute_force_finds(
        sizes in proptest::collection::btree_map((2i64..12, 1i64..6), 1u32..3, 1..5),
        lengths in proptest::collection::vec((8i64..24, 4i64..9, 3i64..12), 1..3),
        kerf in 0i64..2,
        barred in proptest::collection::btree_set((0usize..4, 0usize..2), 0..3),
    ) {
        let mut left = 7;
        let mut items = Vec::new();
        for ((length, width), demand) in sizes {
            let demand = demand.min(left);
            left -= demand;
            if demand > 0 { items.push(Item { length, width, demand }); }
        }
        let boards: Vec<_> = lengths.into_iter().map(|(length, width, cost)| Board { length, width, cost, limit: None }).collect();
        let barred: BTreeSet<_> = barred.into_iter().filter(|(i, b)| *i < items.len() && *b < boards.len()).collect();
        let problem = Problem { items, boards, barred, crosscut: kerf, rip: kerf };
        match (solve(&problem), brute_force(&problem)) {
            (Ok(cut), Some(least)) => {
                assert_sound(&problem, &cut);
                prop_assert!(cut.bound <= least, "bound {} over the optimum {least}: {problem:?}", cut.bound);
                prop_assert_eq!(cut.cost, least, "not the optimum: {:?}", problem);
            }
            (found, least) => prop_assert!(found.is_err() && least.is_none(), "{found:?} {least:?}"),
        }
    }
}
