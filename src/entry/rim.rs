//! Entry holes along the rim of the room: the places whose distance from the
//! line is just what the hole needs.
//!
//! The largest empty discs beside an outline tell where that rim runs: where a
//! disc as large as asked fits, its centre lies on the rim; where discs stop
//! fitting, the rim turns away along whatever stopped them, and has a corner.
//! This serves every cut-out that no place narrower than the kerf parts; the
//! others are left to areas grown and shrunk whole.

use std::ops::Range;

use kurbo::{Point, Vec2};

use super::{ARM, Bend, CORNER, TOLERANCE, best};
use crate::face::Face;
use crate::geom::Boundary;
use crate::geom::ball::{Side, Station};
use crate::geom::boundary::Sampling;
use crate::geom::medial::{FACES, Medial};

/// Samples of a straight line at most this far apart, mm: near enough to find
/// the lowest place of a line, and any place narrower than the kerf. As the checks.
const SPACING: f64 = 1.5;
/// An opening nowhere as wide as this part of the kerf lets the blade in nowhere:
/// under the kerf by more than the largest disc may be missed. Ours.
const BELOW: f64 = 0.98;
/// Room above half a kerf, so that a place as wide as the kerf shows as one. Ours.
const ABOVE: f64 = 1.02;
/// Sine of the angle between two lines below which they count as parallel (3°). Ours.
const PARALLEL: f64 = 0.05;

/// What the rims of a cut-out tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Told {
    /// The best centre for a hole.
    At(Point),
    /// A hole has no room at any of the samples: the largest disc there, its centre
    /// and diameter.
    NoRoom(Point, f64),
    /// A place narrower than the kerf parts it: it wants more than one hole.
    Parted,
}

/// The openings of a face, sampled.
pub(super) struct Openings {
    all: Boundary,
    /// First ring of each cut-out, and the end of the last.
    first: Vec<u32>,
    kerf: f64,
}

impl Openings {
    pub(super) fn new(face: &Face, kerf: f64) -> Self {
        let sampling = Sampling { tolerance: TOLERANCE, spacing: SPACING };
        let (mut rings, mut first) = (Vec::new(), vec![0]);
        for cutout in &face.cutouts {
            rings.extend(cutout.piece.rings().map(|ring| (ring.clone(), sampling)));
            first.push(rings.len() as u32);
        }
        Self { all: Boundary::new(rings), first, kerf }
    }

    /// The best centre for a hole in the cut-out at `index` of the face's list,
    /// on the first of the rims so many mm from its lines that has any room.
    /// `is_in` tells whether a place lies in the cut-out.
    pub(super) fn tell(&self, index: usize, distances: &[f64], is_in: impl Fn(Point) -> bool) -> Told {
        let rings = self.first[index]..self.first[index + 1];
        let mut largest = (self.all.point(self.all.samples(rings.start).start), 0.0);
        for &distance in distances {
            let discs = Medial::new(&self.all, Side::Left, distance, |ring| rings.contains(&ring));
            let rim = Rim { all: &self.all, discs, rings: rings.clone() };
            largest = rim.largest().unwrap_or(largest);
            if 2.0 * largest.1 < BELOW * self.kerf {
                break;
            }
            if rim.is_narrow(self.half()) && self.is_parted(&rings) {
                return Told::Parted;
            }
            if let Some(at) = rim.spot(&is_in) {
                return Told::At(at);
            }
        }
        Told::NoRoom(largest.0, 2.0 * largest.1)
    }

    /// A little more than half a kerf.
    fn half(&self) -> f64 {
        ABOVE * self.kerf / 2.0
    }

    /// Whether a place of these rings' opening is narrower than the kerf.
    fn is_parted(&self, rings: &Range<u32>) -> bool {
        let discs = Medial::new(&self.all, Side::Left, self.half(), |ring| rings.contains(&ring));
        discs.minima(&self.all).iter().any(|neck| neck.span.width < self.kerf)
    }
}

/// The discs of one size in one cut-out.
struct Rim<'a> {
    all: &'a Boundary,
    discs: Medial,
    rings: Range<u32>,
}

impl Rim<'_> {
    /// The best place on the rim; `None` when there is none. Two lines may meet far
    /// from where they end, even beyond the opening.
    fn spot(&self, is_in: impl Fn(Point) -> bool) -> Option<Point> {
        let corners = self.rings.clone().flat_map(|ring| self.corners(ring)).filter(|corner| corner.0 >= CORNER);
        let along = self.rings.clone().flat_map(|ring| self.bends(ring));
        best(corners.chain(along).collect(), |at| self.is_clear(at) && is_in(at))
    }

    /// The largest disc at a sample: its centre and radius.
    fn largest(&self) -> Option<(Point, f64)> {
        let discs = self.rings.clone().flat_map(|ring| self.discs.of_ring(ring)).map(|i| self.discs.station(i));
        let largest = discs.reduce(|a, b| if b.radius > a.radius { b } else { a })?;
        Some((self.all.center(largest), largest.radius))
    }

    /// Whether an opening may be narrower than twice `half` somewhere.
    fn is_narrow(&self, half: f64) -> bool {
        let narrow = |i: u32| {
            let station = self.discs.station(i);
            station.radius < half && station.facing < FACES
        };
        self.rings.clone().any(|ring| self.discs.of_ring(ring).any(narrow))
    }

    fn is_clear(&self, at: Point) -> bool {
        self.all.is_clear(at, self.discs.cap - 2.0 * TOLERANCE)
    }

    /// Whether the disc of station `i` is as large as asked: its centre lies on the rim.
    fn is_free(&self, i: u32) -> bool {
        self.discs.station(i).foot.is_none()
    }

    /// The corners of the rim along ring `ring`: where a disc fits and the next does not.
    fn corners(&self, ring: u32) -> impl Iterator<Item = Bend> + '_ {
        let ends = self.discs.of_ring(ring).map(move |i| (i, self.discs.beside(i, ring, true)));
        ends.filter(|&(i, next)| self.is_free(i) && !self.is_free(next)).filter_map(|(i, next)| self.corner(i, next))
    }

    /// The corner between station `i`, whose disc fits, and `next`, whose does not.
    fn corner(&self, i: u32, next: u32) -> Option<Bend> {
        let (free, stopped) = (self.discs.station(i), self.discs.station(next));
        let foot = stopped.foot?;
        let away = self.all.center(stopped) - self.all.foot_point(foot);
        let turn = angle(along(free.normal), along(away));
        Some((turn, self.meeting(free, foot.edge)))
    }

    /// The point as far from the chord at `free` as from chord `other`, both as asked.
    fn meeting(&self, free: &Station, other: u32) -> Point {
        let d = self.discs.cap;
        let line = |edge: u32| {
            let (a, b) = self.all.edge(edge);
            let normal = Side::Left.normal((b - a) / a.distance(b).max(1e-12));
            (normal, normal.dot(a.to_vec2()) + d)
        };
        let ((m, h), (n, k)) = (line(free.sample), line(other));
        let sine = m.cross(n);
        let crossing = Point::new((h * n.y - k * m.y) / sine, (k * m.x - h * n.x) / sine);
        let center = self.all.center(free);
        let near = sine.abs() > PARALLEL && crossing.distance(center) < 2.0 * SPACING + d;
        if near && self.is_clear(crossing) { crossing } else { center }
    }

    /// Every place of the rim along ring `ring`, and how the rim turns there
    /// over arms of [`ARM`].
    fn bends(&self, ring: u32) -> impl Iterator<Item = Bend> + '_ {
        self.discs.of_ring(ring).filter(|&i| self.is_free(i)).map(move |i| {
            let [back, on] = [false, true].map(|onward| along(self.discs.station(self.arm(i, ring, onward)).normal));
            (angle(back, on), self.all.center(self.discs.station(i)))
        })
    }

    /// The station at least [`ARM`] along the rim from `i`, or the last before a corner.
    fn arm(&self, i: u32, ring: u32, onward: bool) -> u32 {
        let (mut at, mut length) = (i, 0.0);
        while length < ARM {
            let next = self.discs.beside(at, ring, onward);
            if next == i || !self.is_free(next) {
                break;
            }
            let center = |i: u32| self.all.center(self.discs.station(i));
            length += center(at).distance(center(next));
            at = next;
        }
        at
    }
}

/// The way the rim runs where `normal` points to it, waste on its left.
fn along(normal: Vec2) -> Vec2 {
    Vec2::new(normal.y, -normal.x)
}

/// How far `b` lies to the left of `a`, radians.
fn angle(a: Vec2, b: Vec2) -> f64 {
    libm::atan2(a.cross(b), a.dot(b))
}
