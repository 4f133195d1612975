//! Arcs, ellipses and bulged polylines as Bézier curves.

use std::f64::consts::{FRAC_PI_4, TAU};

use kurbo::{Affine, BezPath, Point, Vec2};

/// Largest bulge drawn with one cubic: tan(45°/4), an eighth of a circle, where
/// a cubic leaves the arc by 4e-6 of its radius (the error goes with the sixth
/// power of the angle and is 2.7e-4 for a quarter: Goldapp 1991).
const ONE_CUBIC: f64 = 0.198_912_367_379_658;

/// Appends the arc from the path's last point `from` to `to` whose bulge is
/// `bulge`: the tangent of a quarter of the angle it turns, positive
/// anticlockwise (DXF reference, LWPOLYLINE, group code 42).
pub(super) fn arc_to(path: &mut BezPath, from: Point, to: Point, bulge: f64) {
    let chord = to - from;
    // Beyond, the arc leaves its chord by nothing that could be seen.
    if bulge.abs() < 1e-9 || chord.hypot2() == 0.0 {
        path.line_to(to);
        return;
    }
    if bulge.abs() > ONE_CUBIC {
        let middle = from.midpoint(to) + bulge / 2.0 * Vec2::new(chord.y, -chord.x);
        let half = bulge / (1.0 + (1.0 + bulge * bulge).sqrt());
        arc_to(path, from, middle, half);
        arc_to(path, middle, to, half);
        return;
    }
    // The tangent stands half the angle off the chord; a handle is 4/3 of the
    // bulge times the radius, and the radius follows from chord and bulge.
    let square = bulge * bulge;
    let (cos, sin) = ((1.0 - square) / (1.0 + square), 2.0 * bulge / (1.0 + square));
    let along = chord * ((1.0 + square) / 3.0);
    let turned = |sin: f64| Vec2::new(along.x * cos - along.y * sin, along.x * sin + along.y * cos);
    path.curve_to(from + turned(-sin), to - turned(sin), to);
}

/// A polyline of vertices with bulges; each bulge leads to the next vertex.
pub(super) fn polyline(vertices: &[(Point, f64)], closed: bool) -> BezPath {
    let mut path = BezPath::new();
    let Some(&(first, _)) = vertices.first() else { return path };
    path.move_to(first);
    for pair in vertices.windows(2) {
        arc_to(&mut path, pair[0].0, pair[1].0, pair[0].1);
    }
    if closed {
        if let Some(&(last, bulge)) = vertices.last() {
            arc_to(&mut path, last, first, bulge);
        }
        path.close_path();
    }
    path
}

/// The arc of the unit circle from angle `start` over `sweep` radians, laid by
/// `affine`; closed when it goes all the way round.
pub(super) fn arc(start: f64, sweep: f64, affine: Affine) -> BezPath {
    let count = (sweep.abs() / FRAC_PI_4).ceil().max(1.0);
    let step = sweep / count;
    let bulge = libm::tan(step / 4.0);
    let at = |i: f64| Point::new(libm::cos(start + step * i), libm::sin(start + step * i));
    let mut path = BezPath::new();
    path.move_to(at(0.0));
    for i in 0..count as u32 {
        arc_to(&mut path, at(f64::from(i)), at(f64::from(i) + 1.0), bulge);
    }
    if sweep.abs() > TAU - 1e-9 {
        path.close_path();
    }
    affine * path
}

/// How far an arc turns from `start` anticlockwise to `end`, radians; a whole
/// turn when they are the same.
pub(super) fn sweep(start: f64, end: f64) -> f64 {
    let sweep = libm::fmod(end - start, TAU);
    let sweep = if sweep < 0.0 { sweep + TAU } else { sweep };
    if sweep < 1e-12 { TAU } else { sweep }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{ParamCurve, Shape};
    use std::f64::consts::{FRAC_PI_2, PI};

    /// Largest difference of the path's distance from `center` to `radius`.
    fn off(path: &BezPath, center: Point, radius: f64) -> f64 {
        let at = |seg: kurbo::PathSeg| (0..=16).map(move |i| seg.eval(f64::from(i) / 16.0));
        path.segments().flat_map(at).map(|p| (p.distance(center) - radius).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn a_bulge_is_an_arc_on_the_right_side() {
        // From (1, 0) anticlockwise round the origin: a quarter, a half, three quarters.
        for turn in [FRAC_PI_2, PI, 1.5 * PI, 0.3, -FRAC_PI_2] {
            let mut path = BezPath::new();
            path.move_to((1.0, 0.0));
            arc_to(&mut path, Point::new(1.0, 0.0), Point::new(turn.cos(), turn.sin()), (turn / 4.0).tan());
            assert!(off(&path, Point::ORIGIN, 1.0) < 5e-6, "turned {turn}: {}", off(&path, Point::ORIGIN, 1.0));
        }
    }

    #[test]
    fn two_half_circles_enclose_a_circle() {
        let path = polyline(&[(Point::new(-5.0, 0.0), 1.0), (Point::new(5.0, 0.0), 1.0)], true);
        assert!((path.area() - PI * 25.0).abs() < 1e-3, "{}", path.area());
    }

    #[test]
    fn whole_turns_close_and_parts_do_not() {
        let whole = arc(0.0, sweep(0.0, TAU), Affine::IDENTITY);
        assert!((whole.area() - PI).abs() < 1e-4, "{}", whole.area());
        let part = arc(0.0, sweep(PI, FRAC_PI_2), Affine::IDENTITY);
        assert!(!part.elements().contains(&kurbo::PathEl::ClosePath), "three quarters stay open");
        assert!(part.segments().count() == 6, "an eighth each");
    }
}
