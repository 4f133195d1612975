//! How tight a bend is to something that must go round it.
//!
//! The **effective radius** of a ring at a place, seen from one side, is that
//! of the largest disc which comes within a tolerance of the place and has no
//! nearby part of the ring inside it. A path of that radius, rolling round the
//! inside of the bend, leaves the ring by no more than the tolerance. So a
//! gentle kink, or a joint between two curves, has a large effective radius, and
//! a sharp corner a small one: between straight arms that turn by `φ` it is
//! `τ / (1/cos(φ/2) − 1)` for the tolerance `τ`; on an arc of radius `ρ` between
//! straight arms `ρ` more (derived).
//!
//! At a place `b` with the disc's centre in direction `n` this is the largest
//! empty disc that touches not `b` but the point `b + τ n` (see
//! [`crate::geom::ball`]); the direction is then tilted until both arms stop
//! the disc at once.

use kurbo::{Point, Vec2};

use super::ball::{Side, reach_of_edge};
use super::boundary::{Boundary, unit};
use super::tolerance::FLATTEN;

/// The disc at one sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// The sample.
    pub sample: u32,
    /// Radius of the disc: the effective radius, mm.
    pub radius: f64,
    /// Its centre.
    pub center: Point,
    /// Unit direction from the sample to the centre.
    pub normal: Vec2,
}

/// What the walk along both arms found.
#[derive(Clone, Copy)]
struct Stop {
    radius: f64,
    /// Stopped by the arm ahead (`true`) or behind.
    ahead: bool,
}

/// Times the tilt is halved, from 60°: down to 2°.
const HALVINGS: u32 = 5;
const WIDEST_TILT: f64 = std::f64::consts::PI / 3.0;
/// The disc is tried at the whole tolerance, and at this part of it for bends
/// of more than a half turn, where pushing it in makes it smaller.
const PART: f64 = 0.25;

impl Boundary {
    /// The effective radius at `sample` on `side`, if it is under `cap` mm.
    #[must_use]
    pub fn bend_at(&self, sample: u32, side: Side, tolerance: f64, cap: f64) -> Option<Bend> {
        let [arrive, leave] = self.tangents(sample);
        let square = if arrive == leave { side.normal(leave) } else { unit(leave - arrive) };
        // Corners that turn away from this side bend no path here.
        if arrive != leave && side.opening(arrive.cross(leave)) > 0.0 {
            return None;
        }
        let along = match side {
            Side::Left => Vec2::new(square.y, -square.x),
            Side::Right => Vec2::new(-square.y, square.x),
        };
        let mut best: Option<Bend> = None;
        for shift in [tolerance, tolerance * PART] {
            let bend = self.tilted(sample, [square, along], shift, cap)?;
            if best.is_none_or(|b| bend.radius > b.radius) {
                best = Some(bend);
            }
        }
        best
    }

    /// The largest disc over all tilts of its direction; `None` from the cap up.
    fn tilted(&self, sample: u32, [square, along]: [Vec2; 2], shift: f64, cap: f64) -> Option<Bend> {
        let p = self.point(sample);
        let (mut tilt, mut step) = (0.0, WIDEST_TILT / 2.0);
        let mut best: Option<Bend> = None;
        for _ in 0..=HALVINGS {
            let (sin, cos) = libm::sincos(tilt);
            let normal = square * cos + along * sin;
            let stop = self.first_stop(sample, p + normal * shift, normal, cap);
            let Some(Stop { radius, ahead }) = stop else { return None };
            if best.is_none_or(|b| radius > b.radius) {
                best = Some(Bend { sample, radius, center: p + normal * (shift + radius), normal });
            }
            // Lean away from the arm that stopped it.
            tilt += if ahead { -step } else { step };
            step /= 2.0;
        }
        best
    }

    /// What stops a disc that grows from `foot` towards `normal`, looking along
    /// the ring both ways from `sample` as far as a disc's half circumference;
    /// `None` when it reaches the cap.
    fn first_stop(&self, sample: u32, foot: Point, normal: Vec2, cap: f64) -> Option<Stop> {
        let mut found = Stop { radius: cap, ahead: true };
        let samples = self.samples(self.ring_of(sample));
        let half = (samples.end - samples.start).div_ceil(2);
        for ahead in [true, false] {
            let (mut i, mut length) = (sample, 0.0);
            for _ in 0..half {
                let edge = if ahead { i } else { self.previous(i) };
                let (a, b) = self.edge(edge);
                let (radius, _) = reach_of_edge((a, b), foot, normal);
                if radius < found.radius {
                    found = Stop { radius, ahead };
                }
                length += a.distance(b);
                if length > std::f64::consts::PI * found.radius {
                    break;
                }
                i = if ahead { self.next(i) } else { edge };
            }
        }
        (found.radius < cap).then_some(found)
    }

    /// The angle the ring turns through at a bend, radians, positive to the
    /// bend's own side: between where it comes nearest to the disc on either arm.
    #[must_use]
    pub fn turned_at(&self, bend: &Bend, side: Side) -> f64 {
        let at = bend.sample;
        let turned = self.turned_along(bend, true) + self.turned_along(bend, false);
        -side.opening(turned + turn(self.chord(self.previous(at)), self.chord(at)))
    }

    /// Walks from the bend along one arm to where it comes nearest to the disc;
    /// the angle turned through on the way, positive to the left going onward.
    fn turned_along(&self, bend: &Bend, ahead: bool) -> f64 {
        let (mut i, mut least, mut turned) = (bend.sample, f64::INFINITY, 0.0);
        let samples = self.samples(self.ring_of(i));
        for _ in 0..(samples.end - samples.start - 1) / 2 {
            let next = if ahead { self.next(i) } else { self.previous(i) };
            let distance = self.point(next).distance(bend.center);
            // On an arc round the disc's own centre the distance stays even.
            if distance > least + 2.0 * FLATTEN {
                break;
            }
            least = least.min(distance);
            if i != bend.sample {
                turned += turn(self.chord(self.previous(i)), self.chord(i));
            }
            i = next;
        }
        turned
    }

    fn chord(&self, i: u32) -> Vec2 {
        let (a, b) = self.edge(i);
        b - a
    }
}

/// Angle from `a` to `b`, positive to the left.
fn turn(a: Vec2, b: Vec2) -> f64 {
    libm::atan2(a.cross(b), a.dot(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;
    use crate::geom::boundary::Sampling;
    use kurbo::{BezPath, Circle, Shape};

    const TOLERANCE: f64 = 0.25;

    fn boundary(path: &BezPath) -> Boundary {
        let sampling = Sampling { tolerance: 0.005, spacing: 0.5 };
        Boundary::new(vec![(Ring::all_of(path).remove(0).wound(true), sampling)])
    }

    fn least(all: &Boundary, side: Side, cap: f64) -> Option<Bend> {
        let bends = (0..all.len()).filter_map(|i| all.bend_at(i, side, TOLERANCE, cap));
        bends.min_by(|a, b| a.radius.total_cmp(&b.radius))
    }

    #[test]
    fn corners_have_the_radius_of_the_closed_form() {
        for turn in [60f64, 90.0, 120.0] {
            let half = (turn / 2.0).to_radians();
            // Two long arms that meet at the origin and turn by `turn`.
            let (x, y) = (40.0 * half.cos(), 40.0 * half.sin());
            let path = BezPath::from_svg(&format!("M{} {y} L0 0 L{x} {y} Z", -x)).unwrap();
            let all = boundary(&path);
            let corner = (0..all.len()).min_by(|&a, &b| all.point(a).y.total_cmp(&all.point(b).y)).unwrap();
            let bend = all.bend_at(corner, Side::Left, TOLERANCE, 30.0).unwrap();
            let exact = TOLERANCE / (1.0 / half.cos() - 1.0);
            assert!((bend.radius - exact).abs() < 0.01 * exact, "{turn}°: {} against {exact}", bend.radius);
            let turned = all.turned_at(&bend, Side::Left).to_degrees();
            assert!((turned - turn).abs() < 1.0, "{turned}° against {turn}°");
        }
    }

    #[test]
    fn the_corner_is_the_tightest_place_near_it() {
        let all = boundary(&BezPath::from_svg("M0 0 H40 V40 H0 Z").unwrap());
        let tightest = least(&all, Side::Left, 5.0).unwrap();
        assert!(all.bend(tightest.sample) != 0.0, "in a corner, not beside it");
        let exact = TOLERANCE / (std::f64::consts::SQRT_2 - 1.0);
        assert!((tightest.radius - exact).abs() < 0.02, "{}", tightest.radius);
        assert!(least(&all, Side::Right, 5.0).is_none(), "nothing bends the other way");
    }

    #[test]
    fn circles_keep_their_radius_and_joints_raise_nothing() {
        let all = boundary(&Circle::new((0.0, 0.0), 3.0).to_path(1e-6));
        for i in 0..all.len() {
            let bend = all.bend_at(i, Side::Left, TOLERANCE, 10.0).unwrap();
            assert!((bend.radius - 3.0).abs() < 0.1, "{}", bend.radius);
            assert!(all.bend_at(i, Side::Left, TOLERANCE, 2.8).is_none(), "not under 2.8");
        }
    }

    #[test]
    fn a_rounded_corner_has_its_radius_and_more() {
        // Radius 2 turning by 90°: 2 + τ/(√2 − 1) = 2.60.
        let path = kurbo::RoundedRect::new(0.0, 0.0, 40.0, 40.0, 2.0).to_path(1e-4);
        let all = boundary(&path);
        let tightest = least(&all, Side::Left, 5.0).unwrap();
        let exact = 2.0 + TOLERANCE / (std::f64::consts::SQRT_2 - 1.0);
        assert!((tightest.radius - exact).abs() < 0.05, "{} against {exact}", tightest.radius);
    }

    #[test]
    fn a_gentle_kink_is_no_tight_turn() {
        // 10° between straight arms: radius 65 mm.
        let all = boundary(&BezPath::from_svg("M0 0 L40 0 L80 7.05 L80 40 L0 40 Z").unwrap());
        let kink = (0..all.len()).find(|&i| all.point(i).distance(Point::new(40.0, 0.0)) < 1e-9).unwrap();
        assert!(all.bend_at(kink, Side::Left, TOLERANCE, 20.0).is_none(), "over 20 mm");
    }
}
