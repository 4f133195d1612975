//! One cubic through a stretch of samples: least squares, with the parameters
//! improved between rounds (Schneider, "An Algorithm for Automatically Fitting
//! Digitized Curves", Graphics Gems, 1990).

use kurbo::{CubicBez, ParamCurve, ParamCurveDeriv, Point, Vec2};

/// Rounds of improving the parameters.
const ROUNDS: usize = 3;
/// Samples the least squares is worked out on; more say nothing new.
const ENOUGH: usize = 40;

/// The cubic of least squares from the first of `points` to the last, if no
/// point is farther than `tolerance` from it. An end with a direction keeps it,
/// one without is free.
pub(super) fn fit(points: &[Point], start: Option<Vec2>, end: Option<Vec2>, tolerance: f64) -> Option<CubicBez> {
    let thin = points.len().div_ceil(ENOUGH);
    let last = points.len() - 1;
    let mut few: Vec<Point> = points.iter().copied().step_by(thin).collect();
    if !last.is_multiple_of(thin) {
        few.push(points[last]);
    }
    let mut ts = chord_parameters(&few);
    let mut curve = solve(&few, &ts, start, end)?;
    for round in 1..=ROUNDS {
        let off = improve(&few, &curve, &mut ts);
        // Hopeless stretches are given up early, good ones are good enough.
        if round > 1 && off > 4.0 * tolerance || off < 0.3 * tolerance {
            break;
        }
        curve = solve(&few, &ts, start, end)?;
    }
    near(points, &curve, tolerance).then_some(curve)
}

fn chord_parameters(points: &[Point]) -> Vec<f64> {
    let mut along = vec![0.0];
    for pair in points.windows(2) {
        along.push(along[along.len() - 1] + pair[0].distance(pair[1]));
    }
    let whole = along[along.len() - 1].max(1e-9);
    along.iter().map(|a| a / whole).collect()
}

/// One Newton step towards the nearest parameter for every point; the farthest
/// any point was from the curve before it.
fn improve(points: &[Point], curve: &CubicBez, ts: &mut [f64]) -> f64 {
    let first = curve.deriv();
    let second = first.deriv();
    let mut farthest = 0.0_f64;
    for (t, p) in ts.iter_mut().zip(points) {
        let off = curve.eval(*t) - *p;
        let (d1, d2) = (first.eval(*t).to_vec2(), second.eval(*t).to_vec2());
        let slope = d1.hypot2() + off.dot(d2);
        if slope > 1e-12 {
            *t = (*t - off.dot(d1) / slope).clamp(0.0, 1.0);
        }
        farthest = farthest.max(off.hypot());
    }
    farthest
}

/// Whether every point lies within `tolerance` of the curve.
fn near(points: &[Point], curve: &CubicBez, tolerance: f64) -> bool {
    let mut ts = chord_parameters(points);
    // Chord lengths are a fair guess; each round squares what is left of its error.
    improve(points, curve, &mut ts);
    improve(points, curve, &mut ts);
    improve(points, curve, &mut ts);
    let off = |(t, p): (&f64, &Point)| curve.eval(*t).distance(*p);
    ts.iter().zip(points).map(off).all(|off| off <= tolerance)
}

/// Solves for the inner control points: an end with a direction has one unknown
/// (how far along it), a free one two (its point). Normal equations, at most
/// four unknowns. `None` when they have no sound answer.
fn solve(points: &[Point], ts: &[f64], start: Option<Vec2>, end: Option<Vec2>) -> Option<CubicBez> {
    let (a, d) = (points[0], points[points.len() - 1]);
    let columns = columns(start, end);
    let n = columns.len();
    let mut system = [[0.0; 5]; 4];
    for (&t, p) in ts.iter().zip(points) {
        let s = 1.0 - t;
        let (b1, b2) = (3.0 * s * s * t, 3.0 * s * t * t);
        let base = (a.to_vec2() * (s * s * s + b1)) + (d.to_vec2() * (t * t * t + b2));
        let rest = p.to_vec2() - base;
        let weight = |column: &(bool, Vec2)| column.1 * if column.0 { b1 } else { b2 };
        for (i, ci) in columns.iter().enumerate() {
            for (j, cj) in columns.iter().enumerate() {
                system[i][j] += weight(ci).dot(weight(cj));
            }
            system[i][4] += weight(ci).dot(rest);
        }
    }
    let x = eliminate(&mut system, n)?;
    let handle =
        |first: bool| columns.iter().zip(x).filter(|(c, _)| c.0 == first).fold(Vec2::ZERO, |sum, (c, x)| sum + c.1 * x);
    let (h1, h2) = (handle(true), handle(false));
    let forward = |h: Vec2, t: Option<Vec2>| t.is_none_or(|t| h.dot(t) > 0.0);
    let long = (d - a).hypot() * 4.0 + 4.0;
    let sound = forward(h1, start) && forward(h2, end) && h1.hypot() < long && h2.hypot() < long;
    sound.then(|| CubicBez::new(a, a + h1, d + h2, d))
}

/// Directions the unknowns move the handles in; `true` for the first handle.
fn columns(start: Option<Vec2>, end: Option<Vec2>) -> Vec<(bool, Vec2)> {
    let axes = |first: bool, along: Option<Vec2>| match along {
        Some(t) => vec![(first, t)],
        None => vec![(first, Vec2::new(1.0, 0.0)), (first, Vec2::new(0.0, 1.0))],
    };
    [axes(true, start), axes(false, end)].concat()
}

/// Gaussian elimination with row exchange on the first `n` unknowns.
fn eliminate(system: &mut [[f64; 5]; 4], n: usize) -> Option<[f64; 4]> {
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| system[a][i].abs().total_cmp(&system[b][i].abs()))?;
        system.swap(i, pivot);
        if system[i][i].abs() < 1e-9 {
            return None;
        }
        for row in i + 1..n {
            let factor = system[row][i] / system[i][i];
            let above = system[i];
            system[row].iter_mut().zip(above).for_each(|(below, above)| *below -= factor * above);
        }
    }
    let mut x = [0.0; 4];
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|j| system[i][j] * x[j]).sum();
        x[i] = (system[i][4] - known) / system[i][i];
    }
    Some(x)
}
