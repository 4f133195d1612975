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
use super::grid::Disc;
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

/// What stops a disc along one arm.
#[derive(Clone, Copy)]
struct Stop {
    radius: f64,
    /// Whether it is stopped from beyond its middle: the arm wraps round it.
    wraps: bool,
}

/// Times the tilt is halved, from 30° at first: down to 1°.
const HALVINGS: u32 = 5;
const FIRST_TILT: f64 = std::f64::consts::PI / 6.0;
/// Arms that stop the disc at radii within this factor of each other stop it
/// at once; a better tilt would gain less.
const BALANCED: f64 = 1.02;
/// Where the ring wraps round the disc, pushing it in makes it smaller; there
/// it is tried at this part of the tolerance too.
const PART: f64 = 0.25;
/// A peak of turning this much wider than the cap may have a place under the
/// cap beside it.
const NEARLY: f64 = 1.25;
/// Samples walked to the tightest place beside a peak, at most.
const LONGEST_WALK: u32 = 16;
/// Distances from a disc's centre that differ by less than this part of its
/// radius are even: the disc may sit a little aside in an arc.
const EVEN: f64 = 0.05;
/// Half the length over which turning is gathered, as a part of half the chord
/// of an arc of radius `cap` that sinks by the tolerance.
const GATHER: f64 = 0.5;
/// An arc of radius `cap` gathers `length / cap`; under this part of it there
/// is nothing to look at.
const FAINT: f64 = 0.3;

impl Boundary {
    /// Every bend of ring `ring` on `side` with an effective radius under `cap`
    /// mm, in order along the ring. Places that one disc goes round at once are
    /// one bend, named by the tightest.
    ///
    /// Looks where the ring turns most: at the peaks of its turning gathered
    /// over a short length either way. The place of a bend farthest from a disc
    /// that goes round it is such a peak.
    #[must_use]
    pub fn bends(&self, ring: u32, side: Side, tolerance: f64, cap: f64) -> Vec<Bend> {
        let reach = GATHER * (2.0 * tolerance * cap).sqrt();
        let gathered = self.gathered(ring, side, reach);
        let first = self.samples(ring).start;
        let count = gathered.len();
        let is_peak = |i: usize| {
            let (here, before, after) = (gathered[i], gathered[(i + count - 1) % count], gathered[(i + 1) % count]);
            here > FAINT * reach / cap && here >= before && here >= after
        };
        let bend = |i: usize| self.tightest_near(first + i as u32, side, tolerance, cap * NEARLY);
        let found = (0..count).filter(|&i| is_peak(i)).filter_map(bend).filter(|bend| bend.radius < cap).collect();
        self.put_together(found)
    }

    /// The tightest place reached from `sample` by going along the ring while
    /// it gets tighter.
    fn tightest_near(&self, sample: u32, side: Side, tolerance: f64, cap: f64) -> Option<Bend> {
        let mut best = self.bend_at(sample, side, tolerance, cap)?;
        for ahead in [true, false] {
            for _ in 0..LONGEST_WALK {
                let next = if ahead { self.next(best.sample) } else { self.previous(best.sample) };
                match self.bend_at(next, side, tolerance, best.radius) {
                    Some(tighter) => best = tighter,
                    None => break,
                }
            }
        }
        Some(best)
    }

    /// Turning to `side` round every sample, weighted less the farther off, to
    /// nothing at `reach` mm along the ring.
    fn gathered(&self, ring: u32, side: Side, reach: f64) -> Vec<f64> {
        let samples = self.samples(ring);
        let turns: Vec<f64> =
            samples.clone().map(|i| -side.opening(turn(self.chord(self.previous(i)), self.chord(i)))).collect();
        let (count, girth) = (turns.len(), self.girth(ring));
        let gather = |i: usize| {
            let at = self.arc(samples.start + i as u32);
            let weighed = |j: usize, way: f64| turns[j] * (1.0 - way / reach);
            let mut sum = turns[i];
            for ahead in [true, false] {
                for step in 1..count.div_ceil(2) {
                    let j = if ahead { (i + step) % count } else { (i + count - step) % count };
                    let arc = self.arc(samples.start + j as u32);
                    let way = (if ahead { arc - at } else { at - arc }).rem_euclid(girth);
                    if way >= reach {
                        break;
                    }
                    sum += weighed(j, way);
                }
            }
            sum
        };
        (0..count).map(gather).collect()
    }

    /// Drops every bend that the disc of a tighter one goes round, or that was
    /// found from two sides.
    fn put_together(&self, mut found: Vec<Bend>) -> Vec<Bend> {
        found.sort_by_key(|bend| bend.sample);
        found.dedup_by_key(|bend| bend.sample);
        let order = found.clone();
        let covers = |tight: &Bend, other: &Bend| {
            [true, false].iter().any(|&ahead| self.arm(tight, ahead).any(|i| i == other.sample))
        };
        found.retain(|bend| {
            let rank = |b: &Bend| (b.radius, b.sample);
            !order.iter().any(|other| rank(other) < rank(bend) && covers(other, bend))
        });
        found
    }

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
        let (pushed, wraps) = self.tilted(sample, [square, along], tolerance, cap)?;
        if !wraps {
            return Some(pushed);
        }
        let (less, _) = self.tilted(sample, [square, along], tolerance * PART, cap)?;
        Some(if less.radius > pushed.radius { less } else { pushed })
    }

    /// The largest disc over all tilts of its direction, and whether the ring
    /// wraps round it; `None` from the cap up.
    fn tilted(&self, sample: u32, [square, along]: [Vec2; 2], shift: f64, cap: f64) -> Option<(Bend, bool)> {
        let p = self.point(sample);
        let (mut tilt, mut step) = (0.0, FIRST_TILT);
        let mut best: Option<(Bend, bool)> = None;
        for _ in 0..=HALVINGS {
            let (sin, cos) = libm::sincos(tilt);
            let normal = square * cos + along * sin;
            let foot = p + normal * shift;
            let [ahead, behind] = [true, false].map(|ahead| self.first_stop(sample, foot, normal, cap, ahead));
            let radius = ahead.radius.min(behind.radius);
            if radius >= cap {
                return None;
            }
            if best.is_none_or(|(b, _)| radius > b.radius) {
                let bend = Bend { sample, radius, center: foot + normal * radius, normal };
                best = Some((bend, ahead.wraps || behind.wraps));
            }
            let both = ahead.radius.max(behind.radius);
            if both < cap && both < radius * BALANCED {
                break;
            }
            // Lean away from the arm that stopped it.
            tilt += if ahead.radius < behind.radius { -step } else { step };
            step /= 2.0;
        }
        best
    }

    /// What stops a disc that grows from `foot` towards `normal`, looking along
    /// one arm from `sample` as far as a disc's half circumference, or half the
    /// ring; the cap if nothing does.
    fn first_stop(&self, sample: u32, foot: Point, normal: Vec2, cap: f64, ahead: bool) -> Stop {
        let mut found = Stop { radius: cap, wraps: false };
        let ring = self.ring_of(sample);
        let (samples, girth) = (self.samples(ring), self.girth(ring));
        let (mut i, at) = (sample, self.arc(sample));
        for _ in 0..(samples.end - samples.start).div_ceil(2) {
            let edge = match ahead {
                true => i,
                false if i == samples.start => samples.end - 1,
                false => i - 1,
            };
            let (a, b) = self.edge(edge);
            let disc = Disc { center: foot + normal * found.radius, radius: found.radius };
            if disc.is_met_by((a, b)) {
                let (radius, fraction) = reach_of_edge((a, b), foot, normal);
                if radius < found.radius {
                    found = Stop { radius, wraps: (a.lerp(b, fraction) - foot).dot(normal) > radius };
                }
            }
            i = match ahead {
                true if i + 1 == samples.end => samples.start,
                true => i + 1,
                false => edge,
            };
            let way = if ahead { self.arc(i) - at } else { at - self.arc(i) };
            let length = if way > 0.0 { way } else { way + girth };
            if length > std::f64::consts::PI * found.radius {
                break;
            }
        }
        found
    }

    /// The samples from a bend along one arm to where it comes nearest to the
    /// disc, the bend's own left out.
    fn arm<'a>(&'a self, bend: &'a Bend, ahead: bool) -> impl Iterator<Item = u32> + 'a {
        let samples = self.samples(self.ring_of(bend.sample));
        let mut least = f64::INFINITY;
        let mut i = bend.sample;
        (0..(samples.end - samples.start) / 2).map_while(move |_| {
            i = if ahead { self.next(i) } else { self.previous(i) };
            let distance = self.point(i).distance(bend.center);
            // On an arc round the disc's own centre the distance stays even.
            let nears = distance <= least + EVEN * bend.radius + 2.0 * FLATTEN;
            least = least.min(distance);
            nears.then_some(i)
        })
    }

    /// The angle the ring turns through at a bend, radians, positive to the
    /// bend's own side: between where it comes nearest to the disc on either arm.
    #[must_use]
    pub fn turned_at(&self, bend: &Bend, side: Side) -> f64 {
        let at = |i: u32| turn(self.chord(self.previous(i)), self.chord(i));
        // Where an arm comes nearest it has turned all it turns before.
        let along = |ahead: bool| {
            let arm: Vec<u32> = self.arm(bend, ahead).collect();
            arm[..arm.len().saturating_sub(1)].iter().map(|&i| at(i)).sum::<f64>()
        };
        -side.opening(along(true) + along(false) + at(bend.sample))
    }

    fn chord(&self, i: u32) -> Vec2 {
        let (a, b) = self.edge(i);
        b - a
    }
}

/// Angle from `a` to `b`, positive to the left.
fn turn(a: Vec2, b: Vec2) -> f64 {
    let (cross, dot) = (a.cross(b), a.dot(b));
    // Most turns between chords are slight; the series errs by 1e-7 there.
    let slight = cross / dot;
    if dot > 0.0 && slight.abs() < 0.05 { slight - slight * slight * slight / 3.0 } else { libm::atan2(cross, dot) }
}

#[cfg(test)]
mod tests;
