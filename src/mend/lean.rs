//! Bars widened to one side.
//!
//! A bar between the tip of one opening and the flank of another is not widened on both:
//! that would dent the flank, or close the opening behind it, where the tip alone need
//! draw back. Which is better shows in how much is changed.

use super::march::Stop;
use super::sweep::{Knot, sweep};
use super::thicken::{Bar, knot, knots, middle};
use super::work::{SAME_PLACE, Work};
use crate::check::{Bridge, TOUCH};
use crate::face::{CutOut, Face};
use crate::geom::Region;
use crate::geom::boolean::subtract;

/// The bar, or one as wide that takes all it lacks from one side where that costs much
/// less: the tip of an opening draws back rather than that the outline before it is
/// dented, and a fine line stays where there is a large opening on its other side.
pub(super) fn leant(work: &Work<'_>, bridge: &Bridge, bar: Bar) -> Bar {
    /// Part of the cost of a bar widened on both sides that one to a side may have.
    /// Judgement, looked at on silhouettes.
    const MUCH_LESS: f64 = 0.65;
    let on_axis = work.mirror.is_some_and(|m| (middle(bridge).x - m.axis).abs() < SAME_PLACE);
    // Beside the panel's edge there is one side only.
    let at_edge = bar.stops.iter().flat_map(|stop| stop.banks).flatten().any(|hit| work.on_panel(hit.at));
    let both = bitten(work, &bar.knots);
    // A tongue widened to one side would bulge where nothing holds it.
    if on_axis || at_edge || bridge.width < TOUCH || bridge.loose_area > 0.0 {
        return Bar { bites: both.1, ..bar };
    }
    let sides =
        [0, 1].map(|side| knots(&bar.stops, &bar.needs, bar.here, |stop, width| leaning(work, stop, width, side)));
    let least = sides.into_iter().map(|knots| (bitten(work, &knots), knots)).min_by(|a, b| a.0.0.total_cmp(&b.0.0));
    match least {
        Some(((one, bites), knots)) if one < MUCH_LESS * both.0 => {
            // In the measure that props and tongues sawn off are weighed by.
            let cost = bar.cost * one / both.0;
            Bar { cost, bites, knots, inside: kept(&bar.stops[bar.here]), ..bar }
        }
        _ => Bar { bites: both.1, ..bar },
    }
}

/// What a strip takes and what that costs, mm²: the opening taken, more where it spoils one, and the more
/// the larger that was: a whisker's end is not missed, a brow is.
fn bitten(work: &Work<'_>, knots: &[Knot]) -> (f64, Vec<Bite>) {
    /// Times as much costs what is taken of an opening that is spoilt, and again as much
    /// for every so many mm² of it, up to a most. Judgement, looked at on silhouettes.
    const DEAR: (f64, f64, f64) = (1.5, 100.0, 4.0);
    let times = |bite: &Bite| if bite.how == Spoils::Nothing { 1.0 } else { (DEAR.0 + bite.of / DEAR.1).min(DEAR.2) };
    let bites = bites(work.face, &sweep(knots));
    (bites.iter().map(|bite| times(bite) * bite.area).sum(), bites)
}

/// What becomes of an opening that a strip of wood takes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Spoils {
    /// It stays, smaller.
    Nothing,
    /// Less than half of it is left.
    Fills,
    /// It is two.
    Parts,
}

/// What a strip takes of one opening.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bite {
    /// Area of the opening before, mm².
    pub(super) of: f64,
    /// Area taken, mm².
    pub(super) area: f64,
    /// What becomes of the opening.
    pub(super) how: Spoils,
}

/// What a strip takes of each opening it meets.
pub(super) fn bites(face: &Face, strip: &Region) -> Vec<Bite> {
    /// Smaller leftovers are no opening, mm². Ours.
    const OPENING: f64 = 1.0;
    let frame = strip.bounds();
    let near = face.cutouts.iter().filter(|cutout| cutout.piece.outer.control_box().overlaps(frame));
    let bite = |cutout: &CutOut| {
        let of = cutout.piece.area();
        let left = subtract(&Region { pieces: vec![cutout.piece.clone()] }, strip);
        let parts = left.pieces.iter().filter(|piece| piece.area() > OPENING).count();
        let how = match (left.area() < of / 2.0, parts) {
            (true, _) => Spoils::Fills,
            (false, 2..) => Spoils::Parts,
            (false, _) => Spoils::Nothing,
        };
        Bite { of, area: of - left.area(), how }
    };
    near.map(bite).filter(|bite| bite.area > 0.0).collect()
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
    use kurbo::{BezPath, Circle, Shape};

    use super::super::tests::{mended, of, sound};
    use super::*;
    use crate::check;
    use crate::geom::boolean::{Rule, resolve};

    #[test]
    fn a_tip_draws_back_from_an_outline_that_stays_as_it_is() {
        // A long upright opening 6 wide, and the tip of a wedge 1.4 from it.
        let face = of(&BezPath::from_svg("M30 80h6v90h-6z M37.4 120L90 105V150Z").unwrap());
        let mended = mended(&face);
        assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
        let flank = |face: &Face| face.cutouts.iter().find(|c| c.piece.bounds().x1 < 36.5).unwrap().piece.clone();
        assert_eq!(flank(&mended.face), flank(&face), "the flank is the curve it was");
        let tip = mended.face.cutouts.iter().map(|c| c.piece.bounds().x0).fold(0.0, f64::max);
        assert!((39.0..46.0).contains(&tip), "the tip draws back to {tip}");
        let moved = mended.summary.greatest_displacement_mm;
        assert!(moved > 0.9 * (tip - 37.4) / 2.0 && moved < 9.0, "as much as the old tip is off: {moved}");
    }

    #[test]
    fn wood_beside_the_panel_s_edge_is_widened_on_its_only_side() {
        // A round opening 4 mm from the upper edge, off any axis of the face.
        let mut openings = Circle::new((60.0, 176.0), 20.0).to_path(1e-6);
        openings.extend(Circle::new((40.0, 100.0), 9.0).to_path(1e-6));
        let face = of(&openings);
        assert!(!sound(&check::run(&face, &check::Options::default())), "weak as drawn");
        let mended = mended(&face);
        assert!(sound(&mended.checks) && mended.unmended.is_empty(), "{:?}", mended.unmended);
        assert!(mended.edits.iter().all(|edit| edit.area > 0.1), "each changes something");
    }

    #[test]
    fn a_line_that_is_drawn_stays_where_a_large_opening_can_give() {
        // A brow 50 by 4, 2 mm above an opening 60 by 50.
        let face = of(&BezPath::from_svg("M40 152h50v4h-50z M35 100h60v50h-60z").unwrap());
        let mended = mended(&face);
        assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
        let brow = mended.face.cutouts.iter().filter(|c| c.piece.bounds().y0 > 151.0);
        let left: f64 = brow.map(|c| c.piece.area()).sum();
        assert!(left > 170.0, "{left} mm² of 200, a prop across it at most");
    }

    #[test]
    fn what_a_strip_fills_or_parts_is_known() {
        let face = of(&BezPath::from_svg("M20 60h40v4h-40z M20 80h40v30h-40z").unwrap());
        let strip = |x: f64, y: f64, w: f64, h: f64| {
            let path = kurbo::Rect::new(x, y, x + w, y + h).to_path(1e-6);
            bites(&face, &resolve(&path, Rule::NonZero)).into_iter().map(|b| (b.of.round(), b.area.round(), b.how))
        };
        assert!(strip(15.0, 59.0, 50.0, 6.0).eq([(160.0, 160.0, Spoils::Fills)]), "all of the line");
        assert!(strip(38.0, 70.0, 4.0, 45.0).eq([(1200.0, 120.0, Spoils::Parts)]), "right through");
        assert!(strip(15.0, 100.0, 10.0, 15.0).eq([(1200.0, 50.0, Spoils::Nothing)]), "a corner");
    }
}
