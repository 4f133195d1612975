//! Bars widened to one side.
//!
//! A bar between the tip of one opening and the flank of another is not widened on both:
//! that would dent the flank, or close the opening behind it, where the tip alone need
//! draw back. Which is better shows in how much is changed.

use super::march::Stop;
use super::sweep::{Knot, sweep};
use super::thicken::{Bar, knot, knots, middle};
use super::work::{SAME_PLACE, Work};
use super::{Change, apply};
use crate::check::{Bridge, TOUCH};

/// The bar, or one as wide that takes all it lacks from one side where that changes
/// much less: the tip of an opening draws back rather than that the outline before it
/// is dented.
pub(super) fn leant(work: &Work<'_>, bridge: &Bridge, bar: Bar) -> Bar {
    /// Part of the change of a bar widened on both sides that one to a side may make.
    /// Judgement, looked at on silhouettes.
    const MUCH_LESS: f64 = 0.65;
    let on_axis = work.mirror.is_some_and(|m| (middle(bridge).x - m.axis).abs() < SAME_PLACE);
    // A tongue widened to one side would bulge where nothing holds it.
    if on_axis || bridge.width < TOUCH || bridge.loose_area > 0.0 {
        return bar;
    }
    let change = |knots: &[Knot]| apply::area(work.face, &Change::GiveBack(sweep(knots)));
    let both = change(&bar.knots);
    let sides =
        [0, 1].map(|side| knots(&bar.stops, &bar.needs, bar.here, |stop, width| leaning(work, stop, width, side)));
    let least = sides.into_iter().map(|knots| (change(&knots), knots)).min_by(|a, b| a.0.total_cmp(&b.0));
    match least {
        Some((area, knots)) if area < MUCH_LESS * both => {
            let (cost, inside) = (bar.cost * area / both, kept(&bar.stops[bar.here]));
            Bar { cost, inside, knots, ..bar }
        }
        _ => bar,
    }
}

/// Wood left between the strip and the outline it leans to, mm: well inside the wood,
/// and the outline stays free of the boolean engine. Ours.
fn kept(stop: &Stop) -> f64 {
    (0.3 * stop.thickness).min(0.5)
}

/// The strip's middle and half width at a stop where all that is lacking is taken from
/// the other side than `side`. It keeps inside the wood on that side, whose outline
/// stays the curve it is.
fn leaning(work: &Work<'_>, stop: &Stop, width: f64, side: usize) -> Knot {
    let Some(hit) = stop.banks[side].filter(|hit| hit.distance > 1e-6) else { return knot(work, stop, width) };
    let inside = kept(stop);
    let half = (width - inside) / 2.0;
    (hit.at + (stop.at - hit.at).normalize() * (inside + half), half)
}

#[cfg(test)]
mod tests {
    use kurbo::BezPath;

    use super::super::tests::{mended, of, sound};

    #[test]
    fn a_tip_draws_back_from_an_outline_that_stays_as_it_is() {
        // A long upright opening 6 wide, and the tip of a wedge 1.4 from it.
        let face = of(&BezPath::from_svg("M30 80h6v90h-6z M37.4 120L90 105V150Z").unwrap());
        let mended = mended(&face);
        assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
        let flank =
            |face: &crate::face::Face| face.cutouts.iter().find(|c| c.piece.bounds().x1 < 36.5).unwrap().piece.clone();
        assert_eq!(flank(&mended.face), flank(&face), "the flank is the curve it was");
        let tip = mended.face.cutouts.iter().map(|c| c.piece.bounds().x0).fold(0.0, f64::max);
        assert!((39.0..46.0).contains(&tip), "the tip draws back to {tip}");
    }
}
