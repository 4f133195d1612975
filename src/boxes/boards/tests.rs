use super::problem::{Board, Item, Order, Problem};
use super::search::solve;

const NM: f64 = 25_400_000.0;

fn inch(value: f64) -> i64 {
    (value * NM).round() as i64
}

/// The lantern's parts from 5/8 in stock.
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
        crosscut: inch(0.125),
        rip: inch(0.125),
    }
}

#[test]
fn lanterns() {
    for n in [1, 6, 24, 100, 500] {
        let problem = lantern(n);
        let start = std::time::Instant::now();
        let cut = solve(&problem).unwrap();
        println!("{n}: cost {} bound {} boards {} patterns {} in {:?}", cut.cost, cut.bound, cut.boards(), cut.patterns.len(), start.elapsed());
        for (p, c) in &cut.patterns { println!("   {c} x board {} {:?} {:?}", p.board, p.order, p.lanes.iter().map(|l| l.pieces.clone()).collect::<Vec<_>>()); }
        let mut made = vec![0; problem.items.len()];
        for (pattern, copies) in &cut.patterns {
            assert!(problem.sound(pattern));
            for (m, n) in made.iter_mut().zip(pattern.counts(problem.items.len())) { *m += n * copies; }
        }
        assert_eq!(made, problem.demand());
        assert!(cut.bound <= cut.cost);
    }
    let _ = Order::RipFirst;
}
