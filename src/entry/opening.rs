//! A cut-out grown and shrunk whole: where the blade can go in it, and where it is
//! roomiest.

use kurbo::Point;

use super::TOLERANCE;
use crate::face::CutOut;
use crate::geom::Boundary;
use crate::geom::boolean::polygon;
use crate::geom::boundary::Sampling;
use crate::geom::inside::deepest;
use crate::geom::offset::{Patch, offset};

/// The roomiest spot of a part may have this many times less room than the best.
/// Ours: a finding states the width to a hundredth of a millimetre.
const ENOUGH: f64 = 1.005;

/// A cut-out whole, and where a blade in it can go.
pub(super) struct Opening {
    whole: Patch,
    /// Where the blade's centre may go without leaving the kerf's room, largest
    /// first; parts smaller than the kerf squared are left to the slot check.
    centres: Vec<Patch>,
    kerf: f64,
}

/// A part of a cut-out that a narrow place keeps the blade from leaving.
pub(super) struct Part<'a> {
    opening: &'a Opening,
    /// Where the blade's centre may go; `None` when it fits nowhere.
    centres: Option<&'a Patch>,
}

impl Opening {
    pub(super) fn of(cutout: &CutOut, kerf: f64) -> Self {
        let whole = Patch::of(&cutout.piece, TOLERANCE);
        let mut centres = offset(std::slice::from_ref(&whole), -kerf / 2.0);
        centres.retain(|patch| patch.area() > kerf * kerf / 4.0);
        centres.sort_by(|a, b| b.area().total_cmp(&a.area()));
        Self { whole, centres, kerf }
    }

    pub(super) fn parts(&self) -> Vec<Part<'_>> {
        match self.centres.as_slice() {
            [] => vec![Part { opening: self, centres: None }],
            all => all.iter().map(|patch| Part { opening: self, centres: Some(patch) }).collect(),
        }
    }

    /// Where the centre of a hole may lie, `distance` mm from the lines. Nowhere
    /// when the blade fits nowhere.
    pub(super) fn room(&self, distance: f64) -> Vec<Patch> {
        if self.centres.is_empty() { Vec::new() } else { offset(std::slice::from_ref(&self.whole), -distance) }
    }
}

impl Part<'_> {
    /// What of `room` lies in this part.
    pub(super) fn own<'a>(&self, room: &'a [Patch]) -> Vec<&'a Patch> {
        let within = |a: &Patch, b: &Patch| a.outer().iter().any(|&p| b.contains(p));
        let here = |patch: &&Patch| self.centres.is_some_and(|own| within(patch, own) || within(own, patch));
        room.iter().filter(here).collect()
    }

    /// The roomiest spot and the diameter of the disc that fits there.
    pub(super) fn widest(&self) -> (Point, f64) {
        let own = |own| (widest(own), self.opening.kerf);
        let ((at, width), beyond) = self.centres.map_or_else(|| (widest(&self.opening.whole), 0.0), own);
        (at, width + beyond)
    }
}

/// The roomiest spot of an area and the diameter of the disc that fits there.
pub(super) fn widest(area: &Patch) -> (Point, f64) {
    let sampling = Sampling { tolerance: TOLERANCE, spacing: f64::INFINITY };
    let rings = area.rings.iter().filter_map(|ring| polygon(ring.iter().copied()));
    let all = Boundary::new(rings.map(|ring| (ring, sampling)).collect());
    let found = deepest(&all, &area.rings, TOLERANCE / 4.0, ENOUGH);
    found.map_or((area.bounds().center(), 0.0), |(at, room)| (at, 2.0 * room))
}
