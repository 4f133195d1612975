//! The openings as the blade really leaves them.

use crate::face::Face;
use crate::geom::offset::{Patch, offset};

/// Tolerance of the outlines, mm: a tenth of what a kerf rounds off.
const TOLERANCE: f64 = 0.005;

/// What a blade of `kerf` opens: every spot a disc as wide as the kerf reaches
/// without crossing a line. Inside corners are rounded to half the kerf, slots
/// narrower than the kerf stay closed. Drawn over the openings with the even-odd
/// rule, the outlines shade what the blade leaves standing.
#[must_use]
pub fn as_sawn(face: &Face, kerf: f64) -> Vec<Patch> {
    let drawn: Vec<Patch> = face.cutouts.iter().map(|cutout| Patch::of(&cutout.piece, TOLERANCE)).collect();
    // Cut-outs that touch are still sawn one by one.
    let reached = drawn.iter().flat_map(|patch| offset(std::slice::from_ref(patch), -kerf / 2.0));
    reached.flat_map(|centres| offset(&[centres], kerf / 2.0)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mend::tests::face;
    use std::f64::consts::PI;

    #[test]
    fn inside_corners_are_rounded_and_tips_kept() {
        let kerf = 1.2;
        let sawn = as_sawn(&face("M20 20h30v40h-30z"), kerf);
        let lost = 1200.0 - sawn.iter().map(Patch::area).sum::<f64>();
        let want = (4.0 - PI) * 0.6 * 0.6;
        assert!((lost - want).abs() < 0.02, "four corners of half the kerf: {lost} against {want}");
        let notched = as_sawn(&face("M20 20h30v40h-30v-15h10v-10h-10z"), kerf);
        let lost = 1100.0 - notched.iter().map(Patch::area).sum::<f64>();
        assert!((lost - 1.5 * want).abs() < 0.02, "six inside corners; the two tips of wood stay: {lost}");
    }

    #[test]
    fn a_slot_narrower_than_the_kerf_stays_closed() {
        let sawn = as_sawn(&face("M20 20h10v4.6h10v-4.6h10v10h-10v-4.6h-10v4.6h-10z"), 0.9);
        assert_eq!(sawn.len(), 2, "the two lobes, not the slot of 0.8 between them");
    }
}
