//! Strokes as inked areas.

use kurbo::{
    Affine, BezPath, Cap, Circle, Join, ParamCurveArclen, PathEl, Point, Rect, Shape as _, Stroke, StrokeOpts,
};
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
    let fineness = ACCURACY / scale;
    let mut outline = kurbo::stroke(centre.elements().iter().copied(), &style, &StrokeOpts::default(), fineness);
    for at in dots(centre) {
        outline.extend(dot(at, &style, fineness));
    }
    (without_dust(&(to_art * outline)), solid)
}

/// Where subpaths of no length stand: segments are drawn, but lead nowhere. The
/// stroke has nothing to run along there, yet its caps are painted.
fn dots(centre: &BezPath) -> Vec<Point> {
    let mut found = Vec::new();
    // Where the subpath starts, and whether it has segments, all of no length.
    let (mut start, mut still) = (Point::ORIGIN, false);
    let mut moved = false;
    for &el in centre.elements() {
        if let PathEl::MoveTo(to) = el {
            found.extend(still.then_some(start));
            (start, still, moved) = (to, false, false);
            continue;
        }
        moved |= match el {
            PathEl::MoveTo(_) | PathEl::ClosePath => false,
            PathEl::LineTo(to) => to != start,
            PathEl::QuadTo(a, to) => a != start || to != start,
            PathEl::CurveTo(a, b, to) => a != start || b != start || to != start,
        };
        still = !moved;
    }
    found.extend(still.then_some(start));
    found
}

/// The caps of a subpath of no length (SVG 2, 13.5.7): a disc, an upright
/// square, or nothing.
fn dot(at: Point, style: &Stroke, fineness: f64) -> BezPath {
    match style.start_cap {
        Cap::Butt => BezPath::new(),
        Cap::Round => Circle::new(at, style.width / 2.0).to_path(fineness),
        Cap::Square => Rect::from_center_size(at, (style.width, style.width)).to_path(fineness),
    }
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
        Some(pattern) => {
            let pattern = dashes(pattern, style.width, cap);
            style.with_dashes(stroke.dashoffset().into(), pattern)
        }
        None => style,
    }
}

/// A dash of no length is made this part of the stroke's width long.
const DOT: f64 = 1e-3;

/// The dash pattern, dots in it as very short dashes: dashes of no length are
/// painted as their caps (SVG 2, 13.5.6), but a stroke has nothing to run along
/// there. What a dot gains the gap after it loses, so that no dot is shifted.
fn dashes(pattern: &[f32], width: f64, cap: Cap) -> Vec<f64> {
    let mut lengths: Vec<f64> = pattern.iter().map(|&d| f64::from(d)).collect();
    if lengths.len() % 2 == 1 {
        lengths.extend_from_within(..);
    }
    if cap != Cap::Butt {
        for dash in lengths.chunks_exact_mut(2).filter(|dash| dash[0] <= 0.0) {
            let dot = (DOT * width).min(dash[1] / 2.0);
            (dash[0], dash[1]) = (dot, dash[1] - dot);
        }
    }
    lengths
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

#[cfg(test)]
mod tests {
    use super::*;

    /// SVG 2, 13.5.7: a subpath of no length is painted where the caps are round
    /// or square, whichever segments it is made of; a lone move is not.
    #[test]
    fn subpaths_that_lead_nowhere_are_dots() {
        let at = |data: &str| dots(&BezPath::from_svg(data).unwrap());
        for data in ["M2 3h0", "M2 3z", "M2 3L2 3", "M2 3h0z", "M2 3C2 3 2 3 2 3", "M9 9h1M2 3zM5 5v2z"] {
            assert_eq!(at(data), [Point::new(2.0, 3.0)], "{data}");
        }
        for data in ["M2 3", "M2 3h1h-1", "M2 3C3 3 2 3 2 3", "M2 3h4v4z"] {
            assert_eq!(at(data), [], "{data}");
        }
    }

    /// SVG 2, 13.5.6: dashes of no length; an odd pattern is written twice.
    #[test]
    fn dots_in_a_dash_pattern_keep_their_distance() {
        let near = |got: &[f64], want: &[f64]| {
            got.len() == want.len() && got.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-6)
        };
        assert!(near(&dashes(&[0.0, 10.0], 6.0, Cap::Round), &[0.006, 9.994]), "dots 10 apart");
        assert!(near(&dashes(&[0.0, 10.0], 6.0, Cap::Butt), &[0.0, 10.0]), "nothing is painted without caps");
        let got = dashes(&[0.0, 4.0, 2.0], 1.0, Cap::Square);
        assert!(near(&got, &[0.001, 3.999, 2.0, 0.0, 4.0, 2.0]), "{got:?}");
    }
}
