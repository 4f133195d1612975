//! Whether two outlines are the same but for size, place, turn and mirror.
//!
//! Each outline is first made comparable: its length-weighted middle at the
//! origin, the mean square of its distance from there 1. Then a few figures that
//! no turn or mirror changes sort out nearly every pair; for the rest the turn is
//! found from the phases of the moments Σ w r² eⁱⁿᵃ, and the outlines are laid on
//! each other: they are the same when no point of either lies farther than
//! [`APART`] from the other.

use kurbo::{Line, Point, Vec2};

use super::Outline;
use crate::geom::flat::distance;

/// Farthest that two outlines of one face may part, in mean radii. A face 200 mm
/// high has a mean radius of about 70 mm: 0.8 mm there, what a scan or another
/// program's curves move an outline. Our own rule, no source.
const APART: f64 = 0.012;
/// Most that the figures of two outlines of one face differ: twice what
/// [`APART`] can make of them, and more, because it sorts out only.
const FIGURES_APART: f64 = 0.06;
/// Moments looked at: one for each fold of symmetry.
const FOLDS: usize = 8;
/// Turns tried, evenly round.
const TURNS: u32 = 360;
/// Turns whose moments agree at least this well, of the best, are laid on.
const NEAR_BEST: f64 = 0.97;
/// Most turns laid on for one pair.
const MOST_LAID: usize = 12;
/// Longest stretch of outline between two points compared, mean radii.
const STRIDE: f64 = 0.05;

/// What no turn, mirror, size or place changes of an outline.
pub(super) type Figures = [f64; 4 + FOLDS];

/// Whether figures may be those of one face.
pub(super) fn alike(one: &Figures, other: &Figures) -> bool {
    one.iter().zip(other).all(|(a, b)| (a - b).abs() <= FIGURES_APART * (1.0 + a.abs()))
}

/// An outline made comparable.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    edges: Vec<Line>,
    /// Points of the outline no farther than [`STRIDE`] apart.
    points: Vec<Point>,
    /// What no turn or mirror changes.
    pub(super) figures: Figures,
    /// Σ w r² eⁱⁿᵃ for n from 1.
    moments: [Vec2; FOLDS],
}

/// How one outline is laid on another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Laid {
    pub(super) mirrored: bool,
    /// Degrees anticlockwise, after mirroring left to right; in `-180.0..=180.0`.
    pub(super) turned_deg: f64,
}

impl Shape {
    /// `None` for an outline without length.
    pub(super) fn of(outline: &Outline) -> Option<Self> {
        let raw: Vec<Line> = outline.loops().flat_map(|ring| closed(&ring)).collect();
        let total: f64 = raw.iter().map(|e| e.p0.distance(e.p1)).sum();
        if total <= 0.0 {
            return None;
        }
        let middle = weighed(&raw, |p| p.to_vec2()) / total;
        let square = raw.iter().map(|e| stretch_square(e, middle.to_point())).sum::<f64>() / total;
        let radius = square.sqrt();
        if radius.is_nan() || radius <= 0.0 {
            return None;
        }
        let norm = |p: Point| ((p.to_vec2() - middle) / radius).to_point();
        let edges: Vec<Line> = raw.iter().map(|e| Line::new(norm(e.p0), norm(e.p1))).collect();
        let pieces: Vec<Line> = edges.iter().flat_map(strides).collect();
        let length = total / radius;
        let moments = moments(&pieces, length);
        let figures = figures(&edges, &pieces, length, &moments);
        Some(Self { points: pieces.iter().map(|e| e.p0).collect(), edges, figures, moments })
    }

    /// How `self` is to be laid to be `other`; `None` when it is another face.
    pub(super) fn laid_on(&self, other: &Self) -> Option<Laid> {
        if !alike(&self.figures, &other.figures) {
            return None;
        }
        let straight = [false, true].map(|mirrored| Laid { mirrored, turned_deg: 0.0 });
        let turned = [false, true].into_iter().flat_map(|mirrored| self.turns(other, mirrored));
        straight.into_iter().chain(turned).find(|laid| self.fits(other, *laid))
    }

    fn fits(&self, other: &Self, laid: Laid) -> bool {
        let angle = laid.turned_deg.to_radians();
        let (sin, cos) = (libm::sin(angle), libm::cos(angle));
        let there = |p: &Point| {
            let x = if laid.mirrored { -p.x } else { p.x };
            Point::new(x * cos - p.y * sin, x * sin + p.y * cos)
        };
        let back = |p: &Point| {
            let (x, y) = (p.x * cos + p.y * sin, p.y * cos - p.x * sin);
            Point::new(if laid.mirrored { -x } else { x }, y)
        };
        self.points.iter().all(|p| near(there(p), &other.edges))
            && other.points.iter().all(|p| near(back(p), &self.edges))
    }

    /// The turns at which the moments agree best, best first.
    fn turns(&self, other: &Self, mirrored: bool) -> Vec<Laid> {
        let agreement = |turned: f64| -> f64 {
            let pairs = self.moments.iter().zip(&other.moments).zip(1..);
            pairs
                .map(|((a, b), n)| {
                    a.hypot() * b.hypot() * libm::cos(phase(*a, n, mirrored) + f64::from(n) * turned - angle(*b))
                })
                .sum()
        };
        let step = std::f64::consts::TAU / f64::from(TURNS);
        let all: Vec<f64> = (0..TURNS).map(|i| agreement(f64::from(i) * step)).collect();
        let best = all.iter().copied().fold(0.0, f64::max);
        if best <= 1e-6 {
            return Vec::new();
        }
        let at = |i: usize| all[i % all.len()];
        let mut peaks: Vec<(f64, f64)> = (0..all.len())
            .filter(|&i| at(i) >= NEAR_BEST * best && at(i) >= at(i + all.len() - 1) && at(i) > at(i + 1))
            .map(|i| finer(&agreement, i as f64 * step, step))
            .collect();
        peaks.sort_by(|a, b| b.1.total_cmp(&a.1));
        let degrees =
            |turned: f64| if turned > std::f64::consts::PI { turned.to_degrees() - 360.0 } else { turned.to_degrees() };
        peaks.into_iter().take(MOST_LAID).map(|(turned, _)| Laid { mirrored, turned_deg: degrees(turned) }).collect()
    }
}

fn angle(v: Vec2) -> f64 {
    libm::atan2(v.y, v.x)
}

/// Phase of moment `n`, of the outline mirrored left to right when asked: its
/// angles `a` become `π − a`.
fn phase(moment: Vec2, n: i32, mirrored: bool) -> f64 {
    if mirrored { f64::from(n) * std::f64::consts::PI - angle(moment) } else { angle(moment) }
}

/// The top of the parabola through three neighbouring turns, and its height.
fn finer(agreement: &impl Fn(f64) -> f64, turned: f64, step: f64) -> (f64, f64) {
    let (before, here, after) = (agreement(turned - step), agreement(turned), agreement(turned + step));
    let bend = before - 2.0 * here + after;
    let shift = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
    (turned + shift.clamp(-1.0, 1.0) * step, here)
}

fn near(p: Point, edges: &[Line]) -> bool {
    edges.iter().any(|edge| distance(edge.p0, edge.p1, p) <= APART)
}

fn closed(ring: &[Point]) -> Vec<Line> {
    (0..ring.len()).map(|i| Line::new(ring[i], ring[(i + 1) % ring.len()])).collect()
}

/// An edge in equal parts no longer than [`STRIDE`].
fn strides(edge: &Line) -> Vec<Line> {
    let parts = (edge.p0.distance(edge.p1) / STRIDE).ceil().clamp(1.0, 1000.0) as u32;
    let at = |i: u32| edge.p0.lerp(edge.p1, f64::from(i) / f64::from(parts));
    (0..parts).map(|i| Line::new(at(i), at(i + 1))).collect()
}

/// Σ over the edges of length × value at the middle.
fn weighed(edges: &[Line], value: impl Fn(Point) -> Vec2) -> Vec2 {
    edges.iter().map(|e| value(e.p0.midpoint(e.p1)) * e.p0.distance(e.p1)).fold(Vec2::ZERO, |a, b| a + b)
}

/// ∫ r² along an edge, r from `middle`: exact, so that it does not depend on how
/// an outline is cut into edges.
fn stretch_square(edge: &Line, middle: Point) -> f64 {
    let (a, b) = (edge.p0 - middle, edge.p1 - middle);
    edge.p0.distance(edge.p1) * (a.hypot2() + a.dot(b) + b.hypot2()) / 3.0
}

fn moments(pieces: &[Line], length: f64) -> [Vec2; FOLDS] {
    let mut moments = [Vec2::ZERO; FOLDS];
    for piece in pieces {
        let middle = piece.p0.midpoint(piece.p1).to_vec2();
        let radius = middle.hypot();
        if radius <= 0.0 {
            continue;
        }
        // Powers of eⁱᵃ by multiplying on: a sine for each fold would take longer
        // than all the rest.
        let once = middle / radius;
        let mut power = once * (piece.p0.distance(piece.p1) / length * radius * radius);
        for moment in &mut moments {
            *moment += power;
            power = Vec2::new(power.x * once.x - power.y * once.y, power.x * once.y + power.y * once.x);
        }
    }
    moments
}

/// Length, enclosed area, mean radius, mean radius to the fourth, and how strong
/// each fold is.
fn figures(edges: &[Line], pieces: &[Line], length: f64, moments: &[Vec2; FOLDS]) -> Figures {
    let area: f64 = edges.iter().map(|e| e.p0.to_vec2().cross(e.p1.to_vec2())).sum::<f64>() / 2.0;
    let mean = |power: fn(f64) -> f64| {
        let value = |e: &Line| e.p0.distance(e.p1) * power(e.p0.midpoint(e.p1).to_vec2().hypot2());
        pieces.iter().map(value).sum::<f64>() / length
    };
    // A length in tens of mean radii, so that it weighs like the rest.
    let mut all = [
        length / 10.0,
        area,
        mean(f64::sqrt),
        mean(|square| square * square) / 2.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
    ];
    for (figure, moment) in all[4..].iter_mut().zip(moments) {
        *figure = moment.hypot();
    }
    all
}
