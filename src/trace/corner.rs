//! Corners of a contour. A pixel grid rounds every corner over about a pixel;
//! the lines on either side, fitted a little away from it, meet where the
//! corner was drawn.

use kurbo::{Point, Vec2};

/// Contour within this far of a corner is rounded by the grid, pixels.
const ROUNDED: f64 = 1.3;
/// Ends of the short and long arms the direction is measured on, pixels.
const SHORT_ARM: f64 = 5.5;
const LONG_ARM: f64 = 8.0;
/// Least bend of a corner, radians (34°): under it a curve serves.
const LEAST_BEND: f64 = 0.6;
/// A corner keeps its bend when measured closer; a curve's shrinks with the
/// arm. The share that must remain.
const KEPT: f64 = 0.85;
/// Farthest the meeting point of the arms may lie from the contour, pixels.
const REACH: f64 = 3.0;

/// A corner: the contour's vertex there and the point the arms meet in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// Index of the vertex.
    pub index: usize,
    /// Where the corner was drawn.
    pub at: Point,
}

/// The corners of a closed contour, in order along it.
#[must_use]
pub fn corners(ring: &[Point]) -> Vec<Corner> {
    let bends: Vec<Option<(f64, Point)>> = (0..ring.len()).map(|i| bend(ring, i)).collect();
    (0..ring.len())
        .filter_map(|i| {
            let (bend, at) = bends[i]?;
            strongest(ring, &bends, i, bend).then_some(Corner { index: i, at })
        })
        .collect()
}

/// The bend at vertex `i` and the arms' meeting point, if it is a corner's.
fn bend(ring: &[Point], i: usize) -> Option<(f64, Point)> {
    let arms = |reach: f64| Some((arm(ring, i, false, reach)?, arm(ring, i, true, reach)?));
    let (back, ahead) = arms(SHORT_ARM)?;
    let short = turn(back.1, ahead.1);
    let long = arms(LONG_ARM).map_or(short, |(b, a)| turn(b.1, a.1));
    if short < LEAST_BEND || short < KEPT * long {
        return None;
    }
    let at = meet(back, ahead)?;
    (at.distance(ring[i]) < REACH).then_some((short, at))
}

/// Whether no vertex within the rounded stretch bends more.
fn strongest(ring: &[Point], bends: &[Option<(f64, Point)>], i: usize, bend: f64) -> bool {
    let n = ring.len();
    for forward in [false, true] {
        let mut j = i;
        loop {
            j = (j + if forward { 1 } else { n - 1 }) % n;
            if j == i || ring[j].distance(ring[i]) > 2.0 * ROUNDED {
                break;
            }
            let other = bends[j].map_or(0.0, |b| b.0);
            // Equal bends: the first along the ring is the corner.
            if other > bend || (other >= bend && !forward) {
                return false;
            }
        }
    }
    true
}

/// Angle between coming in along `-back` and going out along `ahead`, radians.
fn turn(back: Vec2, ahead: Vec2) -> f64 {
    let inward = -back;
    inward.cross(ahead).atan2(inward.dot(ahead)).abs()
}

/// The line through the vertices from [`ROUNDED`] to `reach` pixels from vertex
/// `i`: a point on it and its direction away from `i`. `None` on a ring too
/// short for an arm.
fn arm(ring: &[Point], i: usize, forward: bool, reach: f64) -> Option<(Point, Vec2)> {
    let n = ring.len();
    let step = if forward { 1 } else { n - 1 };
    let (mut points, mut j, mut along) = (Vec::new(), i, 0.0);
    while along < reach {
        let next = (j + step) % n;
        along += ring[next].distance(ring[j]);
        j = next;
        if j == i {
            return None;
        }
        if along >= ROUNDED {
            points.push(ring[j]);
        }
    }
    (points.len() >= 2).then(|| line(&points, ring[i]))
}

/// The line of least squares (of distances to it) through `points`, pointing
/// away from `from`.
fn line(points: &[Point], from: Point) -> (Point, Vec2) {
    let n = points.len() as f64;
    let mean = points.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2()) / n;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let d = p.to_vec2() - mean;
        (xx, xy, yy) = (xx + d.x * d.x, xy + d.x * d.y, yy + d.y * d.y);
    }
    let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
    let direction = Vec2::new(libm::cos(angle), libm::sin(angle));
    let outward = mean - from.to_vec2();
    (mean.to_point(), if direction.dot(outward) < 0.0 { -direction } else { direction })
}

fn meet(a: (Point, Vec2), b: (Point, Vec2)) -> Option<Point> {
    let cross = a.1.cross(b.1);
    (cross.abs() > 0.05).then(|| a.0 + a.1 * ((b.0 - a.0).cross(b.1) / cross))
}

/// How far along the ring either side of a corner the contour is to be left
/// out, pixels.
pub(super) const LEFT_OUT: f64 = ROUNDED;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::contour::rings;
    use crate::trace::decode::Picture;

    /// A polygon drawn with exact coverage by 8 × 8 samples a pixel.
    fn drawn(size: usize, inside: impl Fn(Point) -> bool) -> Picture {
        let level = |i: usize| {
            let (x, y) = ((i % size) as f64, (i / size) as f64);
            let samples =
                (0..64).map(|s| Point::new(x + (s % 8) as f64 / 8.0 + 0.0625, y + (s / 8) as f64 / 8.0 + 0.0625));
            1.0 - samples.filter(|&p| inside(p)).count() as f32 / 64.0
        };
        Picture { width: size, height: size, levels: (0..size * size).map(level).collect(), dpi: None }
    }

    #[test]
    fn a_turned_square_has_four_corners_where_they_were_drawn() {
        let angle: f64 = 0.3;
        let local = |p: Point| {
            let d = p - Point::new(50.2, 49.7);
            Vec2::new(d.x * angle.cos() + d.y * angle.sin(), d.y * angle.cos() - d.x * angle.sin())
        };
        let picture = drawn(100, |p| local(p).x.abs() < 25.0 && local(p).y.abs() < 25.0);
        let found = corners(&rings(&picture, 0.5, 1.0).0[0]);
        assert_eq!(found.len(), 4, "{found:?}");
        for corner in found {
            let at = local(corner.at);
            let off = (at.x.abs() - 25.0).hypot(at.y.abs() - 25.0);
            assert!(off < 0.25, "{off} px off");
        }
    }

    #[test]
    fn a_circle_has_none_even_a_small_one() {
        for radius in [8.0, 20.0, 60.0] {
            let picture = drawn(140, |p| p.distance(Point::new(70.3, 69.8)) < radius);
            let found = corners(&rings(&picture, 0.5, 1.0).0[0]);
            assert!(found.is_empty(), "radius {radius}: {found:?}");
        }
    }
}
