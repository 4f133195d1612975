//! Walking along the middle of a narrow strip: of wood for thin bridges, of
//! opening for slots.

use kurbo::{Point, Vec2};

use super::grid::{Grid, Hit};
use crate::geom::flat::nearest_fraction;

/// A stop on the walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// The middle of the strip.
    pub at: Point,
    /// Its thickness there, mm; `most` where nothing stood near.
    pub thickness: f64,
    /// The nearest boundary on the left and on the right, where within reach.
    pub banks: [Option<Hit>; 2],
}

/// How to walk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct March {
    /// Thickness at which the strip has opened out and the walk ends, mm.
    pub most: f64,
    /// Longest walk each way, mm.
    pub longest: f64,
}

/// Longest step, mm: about half the finest bridge anybody saws. Ours.
pub(super) const LONGEST_STEP: f64 = 0.8;

/// Walks from `from` along `dir` and back along `-dir`; the stops in order from
/// the far end behind to the far end ahead.
#[must_use]
pub fn both_ways(grid: &Grid, from: Point, dir: Vec2, march: &March) -> Vec<Stop> {
    let start = centred(grid, from, dir, march);
    let mut stops = one_way(grid, &start, -dir, march);
    stops.reverse();
    // Walking back, left is right.
    for stop in &mut stops {
        stop.banks.reverse();
    }
    stops.push(start);
    stops.extend(one_way(grid, &start, dir, march));
    stops
}

fn one_way(grid: &Grid, start: &Stop, dir: Vec2, march: &March) -> Vec<Stop> {
    let step = (0.12 * march.most).clamp(0.15, LONGEST_STEP);
    let (mut at, mut dir, mut walked) = (start.at, dir, 0.0);
    let mut stops: Vec<Stop> = Vec::new();
    while walked < march.longest {
        let ahead = at + dir * step;
        // Something straight ahead within the step: a dead end.
        if grid.cast(at, dir, step * 1.2).is_some() {
            break;
        }
        let stop = centred(grid, ahead, dir, march);
        let moved = stop.at - at;
        if joins(start, &stop) {
            break;
        }
        // Round a ring and back: the walk has met its own start.
        if walked > 3.0 * step && stop.at.distance(start.at) < step {
            break;
        }
        if moved.dot(dir) < 0.2 * step || moved.hypot() > 3.0 * step {
            break;
        }
        walked += moved.hypot();
        dir = (dir * 0.6 + moved.normalize() * 0.4).normalize();
        at = stop.at;
        stops.push(stop);
        if stop.thickness >= march.most {
            break;
        }
    }
    stops
}

/// Whether other wood joins between `start` and `stop`: a ring came between
/// that bounds neither side at the start. Wood between two rings is held at
/// both its ends.
fn joins(start: &Stop, stop: &Stop) -> bool {
    let rings = |stop: &Stop| stop.banks.map(|bank| bank.map(|hit| hit.ring));
    let ([Some(a), Some(b)], now) = (rings(start), rings(stop)) else { return false };
    a != b && now.iter().flatten().any(|ring| ![a, b].contains(ring))
}

/// The middle between the banks left and right of `p`, walking along `dir`.
fn centred(grid: &Grid, p: Point, dir: Vec2, march: &March) -> Stop {
    let left = Vec2::new(-dir.y, dir.x);
    let reach = 0.75 * march.most + 0.1;
    let mut at = p;
    let mut banks = [None, None];
    for _ in 0..4 {
        banks = [bank(grid, at, left, reach), bank(grid, at, -left, reach)];
        let [Some(a), Some(b)] = banks else { break };
        let shift = (a.distance - b.distance) / 2.0;
        at += left * shift;
        if shift.abs() < 1e-4 {
            break;
        }
    }
    let distance = |bank: &Option<Hit>| bank.map_or(f64::INFINITY, |hit| hit.at.distance(at));
    let radius = distance(&banks[0]).min(distance(&banks[1]));
    Stop { at, thickness: (2.0 * radius).min(march.most), banks }
}

/// The nearest boundary on one side.
fn bank(grid: &Grid, p: Point, side: Vec2, reach: f64) -> Option<Hit> {
    grid.nearest(p, reach, |edge| {
        let at = edge.a.lerp(edge.b, nearest_fraction(edge.a, edge.b, p));
        (at - p).dot(side) > 0.2 * (at - p).hypot()
    })
}

/// The direction a strip of wood takes through a place of no width: the middle
/// of the widest span of directions that stay inside on both sides of `p`.
#[must_use]
pub fn through_contact(p: Point, inside: impl Fn(Point) -> bool) -> Option<Vec2> {
    const TURNS: usize = 72;
    const RADII: [f64; 4] = [0.15, 0.4, 0.8, 1.3];
    let direction = |i: usize| Vec2::from_angle(std::f64::consts::PI * (i as f64 + 0.5) / TURNS as f64);
    let clear = |v: Vec2| RADII.iter().filter(|&&r| inside(p + v * r) && inside(p - v * r)).count();
    let scores: Vec<usize> = (0..TURNS).map(|i| clear(direction(i))).collect();
    let best = *scores.iter().max()?;
    if best == 0 {
        return None;
    }
    // The longest run of best directions, going round.
    let mut run = (0, 0);
    for start in 0..TURNS {
        let length = (0..TURNS).take_while(|k| scores[(start + k) % TURNS] == best).count();
        if length > run.1 {
            run = (start, length);
        }
    }
    Some(direction(run.0 + (run.1.saturating_sub(1)) / 2))
}
