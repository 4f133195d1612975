//! Strokes as inked areas.

use kurbo::{Affine, BezPath, Cap, Join, ParamCurveArclen, PathEl, Point, Stroke, StrokeOpts};
use usvg::{LineCap, LineJoin};

/// Greatest distance, in working units, between a stroke's true edge and the
/// curves that stand for it.
const ACCURACY: f64 = 1e-3;

/// The area `stroke` inks along `centre`, both in the shape's own coordinates;
/// `to_art` takes those to art units. Overlaps itself: fill by non-zero.
///
/// `dashes` is how many dashes may still be drawn; `None` comes back when the
/// stroke has more, and the line is then solid.
pub(super) fn area(centre: &BezPath, stroke: &usvg::Stroke, to_art: Affine, dashes: &mut u64) -> (BezPath, bool) {
    let mut style = style_of(stroke);
    let solid = match stroke.dasharray() {
        Some(pattern) => !take_dashes(centre, pattern, dashes),
        None => false,
    };
    if solid {
        style.dash_pattern.clear();
    }
    let scale = to_art.determinant().abs().sqrt().max(1e-12);
    let outline = kurbo::stroke(centre.elements().iter().copied(), &style, &StrokeOpts::default(), ACCURACY / scale);
    (without_dust(&(to_art * outline)), solid)
}

/// The outline without steps too small to matter. Where a curve is as tight as
/// the stroke is half wide, the inner edge shrinks to a point, and comes out as
/// hundreds of curves of a nanometre that choke the boolean engine.
fn without_dust(outline: &BezPath) -> BezPath {
    let mut kept = BezPath::new();
    let mut at = Point::ORIGIN;
    for &el in outline.elements() {
        let near = |p: Point| p.distance(at) < ACCURACY;
        let dust = match el {
            PathEl::MoveTo(_) | PathEl::ClosePath => false,
            PathEl::LineTo(p) => near(p),
            PathEl::QuadTo(a, p) => near(a) && near(p),
            PathEl::CurveTo(a, b, p) => near(a) && near(b) && near(p),
        };
        if !dust {
            kept.push(el);
            at = el.end_point().unwrap_or(at);
        }
    }
    kept
}

fn style_of(stroke: &usvg::Stroke) -> Stroke {
    let cap = match stroke.linecap() {
        LineCap::Butt => Cap::Butt,
        LineCap::Round => Cap::Round,
        LineCap::Square => Cap::Square,
    };
    let join = match stroke.linejoin() {
        LineJoin::Miter | LineJoin::MiterClip => Join::Miter,
        LineJoin::Round => Join::Round,
        LineJoin::Bevel => Join::Bevel,
    };
    let style = Stroke::new(stroke.width().get().into())
        .with_caps(cap)
        .with_join(join)
        .with_miter_limit(stroke.miterlimit().get().into());
    match stroke.dasharray() {
        Some(pattern) => style.with_dashes(stroke.dashoffset().into(), pattern.iter().map(|&d| f64::from(d))),
        None => style,
    }
}

/// Takes the dashes of a line off the budget; false when there are not enough.
fn take_dashes(centre: &BezPath, pattern: &[f32], left: &mut u64) -> bool {
    let period: f64 = pattern.iter().map(|&d| f64::from(d)).sum();
    let length: f64 = centre.segments().map(|s| s.arclen(1.0)).sum();
    let wanted = (length / period.max(f64::MIN_POSITIVE)).ceil() * pattern.len() as f64;
    // NaN is not enough either.
    let enough = wanted <= *left as f64;
    if enough {
        *left -= wanted as u64;
    }
    enough
}
