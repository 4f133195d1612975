//! Corners of a contour. A pixel grid rounds every corner over about a pixel;
//! the curves on either side, fitted a little away from it, meet where the
//! corner was drawn.

use kurbo::{Point, Vec2};

use super::arm::{Arm, Arms};
use super::samples::Samples;
use super::smooth::Edges;
use super::tip::{Scene, Tip, tip};

/// Contour this near a corner is rounded by the grid, pixels.
const ROUNDED: f64 = 1.25;
/// Where a tip is thinner than this, pixels, its sides look nearer than they are.
const THIN: f64 = 1.4;
/// Bend over this many pixels either side that is worth a closer look, radians.
const HINT: f64 = 0.2;
const HINT_REACH: f64 = 3.2;
/// Corners are at least this far apart along the contour, pixels.
const APART: f64 = 2.4;
/// How far the contour may stand from a corner's point beyond what the grid
/// explains, pixels.
const OFF: f64 = 0.46;
/// A rounding with a radius under this counts as a corner, pixels.
const RADIUS: f64 = 2.1;
/// Bends over this, radians (100°), have a tip worth placing by its ink.
const TIP: f64 = 1.75;
/// Bends over this, radians (155°), have sides too level to meet for sure.
const SHARP: f64 = 2.7;
/// Farthest a corner's point may lie from the contour however sharp, pixels.
const REACH: f64 = 7.0;
/// A ring whose radii differ by less is a circle, pixels.
const ROUND: f64 = 0.6;
/// Longest thin tip that is measured beyond, in samples.
const LONGEST_TIP: isize = 16;

/// A corner: the contour's sample there and the point the arms meet in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Index of the sample.
    pub index: usize,
    /// Where the corner was drawn.
    pub at: Point,
    /// Samples either side that the grid has moved.
    pub skip: usize,
}

/// The corners of a closed contour, in order along it.
#[must_use]
pub fn corners(samples: &Samples, scene: &Scene) -> Vec<Corner> {
    if is_round(samples) {
        return Vec::new();
    }
    let skip = ((ROUNDED + 0.9 * scene.edges.blur()) / samples.step).ceil() as isize;
    let arms = Arms::new(samples.step, skip, scene.edges);
    let bends: Vec<Option<Bend>> = (0..samples.len()).map(|i| hinted(samples, &arms, i)).collect();
    let reach = (APART / samples.step).round() as isize;
    let mut found: Vec<Corner> = (0..samples.len())
        .filter(|&i| strongest(&bends, i, reach))
        .filter_map(|i| sharpened(samples, i, bends[i]?, skip, scene))
        .collect();
    found.sort_by_key(|corner| corner.index);
    found.dedup_by(|a, b| a.index - b.index <= 2);
    if found.len() > 1 && found[0].index + samples.len() - found[found.len() - 1].index <= 2 {
        found.pop();
    }
    found
}

/// Whether the contour is a circle as far as pixels tell: small ones bend like
/// corners.
fn is_round(samples: &Samples) -> bool {
    let sum = samples.points.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2());
    let centre = (sum / samples.len() as f64).to_point();
    let radii = samples.points.iter().map(|p| p.distance(centre));
    let (least, most) = radii.fold((f64::MAX, 0.0_f64), |(l, m), r| (l.min(r), m.max(r)));
    most - least < ROUND
}

/// The corner at sample `i`, if the grid explains how far the contour stays off
/// it. A tip is measured again from the sample at its very end and, where it is
/// thin, from where it no longer is.
fn sharpened(samples: &Samples, i: usize, mut bend: Bend, least: isize, scene: &Scene) -> Option<Corner> {
    let (mut skip, mut index) = (least, i);
    for _ in 0..3 {
        let thin = (THIN + scene.edges.blur()) / 2.0 / half_angle(bend.angle).tan() - bend.off;
        let wanted = ((thin / samples.step).ceil() as isize).clamp(least, LONGEST_TIP);
        let end = if bend.angle > TIP { end_of_tip(samples, index, &bend) } else { index };
        if (wanted, end) == (skip, index) {
            break;
        }
        let Some(again) = self::bend(samples, &Arms::new(samples.step, wanted, scene.edges), end) else { break };
        (bend, skip, index) = (again, wanted, end);
    }
    bend.off = (-2..=2).map(|k| samples.at(index, k).distance(bend.at)).fold(bend.off, f64::min);
    if bend.angle < least_bend(scene.edges) || bend.off > explained(bend.angle, scene.edges).min(REACH) {
        return None;
    }
    let at = if bend.angle > TIP { tip_of(&bend, skip as f64 * samples.step, scene)? } else { bend.at };
    Some(Corner { index, at, skip: skip as usize })
}

/// Where a tip is: sides and ink err opposite ways, and the sharper it is the
/// less its sides say. The shares are from experiment on the demo faces. A tip
/// whose sides run nearly level is one only if its ink says so.
fn tip_of(bend: &Bend, start: f64, scene: &Scene) -> Option<Point> {
    match tip(scene, &bend.back, &bend.ahead, start, bend.at) {
        Tip::At(by_ink) => Some(bend.at.lerp(by_ink, if bend.angle > SHARP { 0.65 } else { 0.5 })),
        Tip::Unclear if bend.angle < SHARP => Some(bend.at),
        Tip::Unclear | Tip::Round => None,
    }
}

/// The sample near `i` that lies farthest the way the tip points.
fn end_of_tip(samples: &Samples, i: usize, bend: &Bend) -> usize {
    let side = |arm: &Arm| arm.slope(0.0).normalize();
    let along = -(side(&bend.back) + side(&bend.ahead));
    let reach = ((2.0 * APART / samples.step).round() as isize).min(samples.len() as isize / 4);
    let far = |k: &isize| samples.at(i, *k).to_vec2().dot(along);
    let best = (-reach..=reach).max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
    (i as isize + best).rem_euclid(samples.len() as isize) as usize
}

/// What the arms at a sample say.
#[derive(Clone, Copy, Debug)]
struct Bend {
    /// Angle between them, radians.
    angle: f64,
    /// Where they meet.
    at: Point,
    /// How far that is from the sample, pixels.
    off: f64,
    back: Arm,
    ahead: Arm,
}

impl Bend {
    /// The corner is where the bend is most, and of spots that see the same
    /// bend the nearest: a tenth of a radian (6°) is worth half a pixel.
    fn weight(&self) -> f64 {
        self.angle - 0.2 * self.off
    }
}

/// The bend at sample `i`; `None` on a gentle stretch.
fn hinted(samples: &Samples, arms: &Arms, i: usize) -> Option<Bend> {
    let k = ((HINT_REACH / samples.step).round() as isize).min(samples.len() as isize / 3);
    let here = samples.at(i, 0);
    if turn(samples.at(i, -k) - here, samples.at(i, k) - here) < HINT {
        return None;
    }
    bend(samples, arms, i)
}

fn bend(samples: &Samples, arms: &Arms, i: usize) -> Option<Bend> {
    let here = samples.at(i, 0);
    let (back, ahead) = (arms.fit(samples, i, false)?, arms.fit(samples, i, true)?);
    let at = meet(&back, &ahead)?;
    Some(Bend { angle: turn(back.slope(0.0), ahead.slope(0.0)), at, off: at.distance(here), back, ahead })
}

/// Whether no sample within `reach` weighs more; of equals the first counts.
fn strongest(bends: &[Option<Bend>], i: usize, reach: isize) -> bool {
    let n = bends.len() as isize;
    let weight = |offset: isize| bends[(i as isize + offset).rem_euclid(n) as usize].map_or(0.0, |b| b.weight());
    let own = weight(0);
    (1..=reach.min(n / 2)).all(|k| weight(k) <= own && weight(-k) < own)
}

/// Least bend of a corner, radians (26°, or 46° where edges are steps): under it
/// a smooth curve serves.
const fn least_bend(edges: Edges) -> f64 {
    if matches!(edges, Edges::Hard) { 0.8 } else { 0.45 }
}

/// How far the contour may stand off a corner of this bend, pixels. A wedge of
/// half-angle α is half a pixel wide, the level of the contour, at 0.25 / tan α
/// from its tip; an arc of radius r stays r (1 / sin α − 1) off it (derived).
fn explained(angle: f64, edges: Edges) -> f64 {
    let half = half_angle(angle);
    (0.3 / half.tan() + OFF).max(RADIUS * (1.0 / half.sin() - 1.0)) + edges.blur()
}

/// Half the angle between the sides of a corner that bends by `bend`.
fn half_angle(bend: f64) -> f64 {
    ((std::f64::consts::PI - bend) / 2.0).max(0.01)
}

/// Where two arms meet near their starts: tangents meet, then again from there.
fn meet(back: &Arm, ahead: &Arm) -> Option<Point> {
    let (mut u, mut v) = (0.0, 0.0);
    for _ in 0..4 {
        let ((p, d), (q, e)) = ((back.at(u), back.slope(u)), (ahead.at(v), ahead.slope(v)));
        let cross = d.cross(e);
        if cross.abs() < 0.03 * d.hypot() * e.hypot() {
            return None;
        }
        u = (u + (q - p).cross(e) / cross).clamp(-REACH, REACH);
        v = (v + (q - p).cross(d) / cross).clamp(-REACH, REACH);
    }
    Some(back.at(u).midpoint(ahead.at(v)))
}

/// Angle between coming in along `-back` and going out along `ahead`, radians.
fn turn(back: Vec2, ahead: Vec2) -> f64 {
    let inward = -back;
    libm::atan2(inward.cross(ahead), inward.dot(ahead)).abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::contour::rings;
    use crate::trace::decode::Picture;

    /// A shape drawn with 8 × 8 samples a pixel.
    fn drawn(size: usize, inside: impl Fn(Point) -> bool) -> Picture {
        let level = |i: usize| {
            let (x, y) = ((i % size) as f64, (i / size) as f64);
            let samples =
                (0..64).map(|s| Point::new(x + (s % 8) as f64 / 8.0 + 0.0625, y + (s / 8) as f64 / 8.0 + 0.0625));
            1.0 - samples.filter(|&p| inside(p)).count() as f32 / 64.0
        };
        Picture { width: size, height: size, levels: (0..size * size).map(level).collect(), dpi: None }
    }

    fn found(picture: &Picture) -> Vec<Corner> {
        let scene = Scene { picture, ink: 0.0, paper: 1.0, edges: Edges::Blended };
        corners(&Samples::of(&rings(picture, 0.5, 1.0).unwrap().0[0]).unwrap(), &scene)
    }

    #[test]
    fn a_turned_square_has_four_corners_where_they_were_drawn() {
        let angle: f64 = 0.3;
        let local = |p: Point| {
            let d = p - Point::new(50.2, 49.7);
            Vec2::new(d.x * angle.cos() + d.y * angle.sin(), d.y * angle.cos() - d.x * angle.sin())
        };
        let found = found(&drawn(100, |p| local(p).x.abs() < 25.0 && local(p).y.abs() < 25.0));
        assert_eq!(found.len(), 4, "{found:?}");
        for corner in found {
            let at = local(corner.at);
            let off = (at.x.abs() - 25.0).hypot(at.y.abs() - 25.0);
            assert!(off < 0.25, "{off} px off");
        }
    }

    #[test]
    fn a_thin_wedge_ends_where_it_was_drawn() {
        // 20° at the tip, which lies at (12.3, 50.4).
        let tip = Point::new(12.3, 50.4);
        let found = found(&drawn(100, |p| {
            let d = p - tip;
            d.x < 60.0 && d.y.abs() < d.x * 10f64.to_radians().tan()
        }));
        assert_eq!(found.len(), 3, "{found:?}");
        let off = found.iter().map(|c| c.at.distance(tip)).fold(f64::MAX, f64::min);
        assert!(off < 0.6, "{off} px off");
    }

    #[test]
    fn a_circle_has_none_even_a_small_one() {
        for radius in [5.0, 8.0, 20.0, 60.0] {
            let found = found(&drawn(140, |p| p.distance(Point::new(70.3, 69.8)) < radius));
            assert!(found.is_empty(), "radius {radius}: {found:?}");
        }
    }
}
