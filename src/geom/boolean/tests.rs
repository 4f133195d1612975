use super::*;
use kurbo::Circle;
use std::f64::consts::PI;

fn circle(x: f64, y: f64, r: f64) -> Region {
    resolve(&Circle::new((x, y), r).to_path(1e-6), Rule::NonZero)
}

fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
    resolve(&Rect::new(x0, y0, x1, y1).to_path(1e-6), Rule::NonZero)
}

#[test]
fn areas_match_closed_forms() {
    let lens = |d: f64| 2.0 * (100.0 * (d / 20.0).acos() - d / 4.0 * (400.0 - d * d).sqrt());
    let (a, b) = (circle(0.0, 0.0, 10.0), circle(8.0, 0.0, 10.0));
    let cases = [
        (union(&a, &b), 200.0 * PI - lens(8.0)),
        (intersect(&a, &b), lens(8.0)),
        (subtract(&a, &b), 100.0 * PI - lens(8.0)),
        (subtract(&rect(-20.0, -20.0, 20.0, 20.0), &a), 1600.0 - 100.0 * PI),
    ];
    for (got, want) in cases {
        assert!((got.area() - want).abs() < 1e-3, "{} against {want}", got.area());
    }
}

#[test]
fn curves_stay_curves() {
    let both = union(&circle(0.0, 0.0, 10.0), &circle(8.0, 0.0, 10.0));
    assert_eq!(both.pieces.len(), 1, "one outline");
    assert!(both.pieces[0].outer.segs().len() < 40, "curves, not facets: {}", both.pieces[0].outer.segs().len());
}

#[test]
fn even_odd_makes_a_hole_and_nesting_makes_a_second_piece() {
    let path = BezPath::from_svg("M0 0h40v40h-40z M10 10h20v20h-20z M15 15h10v10h-10z").unwrap();
    let region = resolve(&path, Rule::EvenOdd);
    assert_eq!(region.pieces.len(), 2, "frame and core");
    assert_eq!(region.pieces.iter().map(|p| p.holes.len()).sum::<usize>(), 1, "one hole");
    assert!((region.area() - (1600.0 - 400.0 + 100.0)).abs() < 1e-6, "area");
}

#[test]
fn touching_at_a_point_does_not_join() {
    let touching = union(&rect(0.0, 0.0, 10.0, 10.0), &rect(10.0, 10.0, 20.0, 20.0));
    assert_eq!(touching.pieces.len(), 2, "two squares that share a corner stay two");
    let island = subtract(
        &rect(0.0, 0.0, 20.0, 20.0),
        &resolve(&BezPath::from_svg("M10 0 L15 10 L10 15 L5 10 Z").unwrap(), Rule::NonZero),
    );
    assert!((island.area() - 325.0).abs() < 1e-3, "area kept: {}", island.area());
}

#[test]
fn holes_that_touch_at_a_point_are_all_holes() {
    let bow = resolve(&BezPath::from_svg("M20 50 L30 20 L40 50 Z M30 20 L20 5 L40 5 Z").unwrap(), Rule::NonZero);
    let board = subtract(&rect(0.0, 0.0, 100.0, 100.0), &bow);
    assert_eq!((board.pieces.len(), board.pieces[0].holes.len()), (1, 2), "one board with two holes");
    assert!((board.area() - (10_000.0 - 450.0)).abs() < 1e-6, "area {}", board.area());
}

#[test]
fn the_fallback_agrees_with_the_engine() {
    let (a, b) = (circle(0.0, 0.0, 10.0).to_path(), circle(8.0, 0.0, 10.0).to_path());
    for op in [BinaryOp::Union, BinaryOp::Intersection, BinaryOp::Difference] {
        let (curves, lines) = (operate(&a, &b, Rule::NonZero, op), on_polylines(&a, &b, Rule::NonZero, op));
        assert!((curves.area() - lines.area()).abs() < 0.02, "{op:?}: {} {}", curves.area(), lines.area());
    }
}

/// A pseudo-random scribble of straight strokes.
fn scribble(seed: u32, strokes: u32) -> BezPath {
    let mut state = seed;
    let mut next = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 20) / 20.0
    };
    let mut path = BezPath::new();
    path.move_to((next(), next()));
    for _ in 0..strokes {
        path.line_to((next(), next()));
    }
    path.close_path();
    path
}

#[test]
fn scribbles_are_the_same_to_both_engines() {
    for seed in 0..20 {
        let path = scribble(seed, 40);
        for (rule, engine_rule) in [(Rule::NonZero, FillRule::NonZero), (Rule::EvenOdd, FillRule::EvenOdd)] {
            let curves = engine(&path, &BezPath::new(), engine_rule, BinaryOp::Union).unwrap();
            let lines = on_polylines(&path, &BezPath::new(), rule, BinaryOp::Union);
            assert!((curves.area() - lines.area()).abs() < 0.02, "{seed} {rule:?}: {} {}", curves.area(), lines.area());
            let whole = lines.to_path();
            for piece in &lines.pieces {
                assert!(
                    piece.area() > 0.0 && piece.rings().all(|r| r.segs().len() > 2),
                    "{seed} {rule:?}: a ring is a ring"
                );
                let holes_inside =
                    piece.holes.iter().all(|h| piece.outer.to_path().winding(h.segs()[0].eval(0.5)) != 0);
                assert!(holes_inside, "{seed} {rule:?}: holes lie in their piece");
            }
            assert!((whole.area() - lines.area()).abs() < 1e-9, "{seed}: rings wound as a region asks");
        }
    }
}

#[test]
fn numbers_that_are_not_finite_bound_nothing() {
    let mut path = Circle::new((0.0, 0.0), 10.0).to_path(1e-3);
    path.line_to((f64::NAN, 0.0));
    assert!(resolve(&path, Rule::NonZero).is_empty(), "no panic, no region");
}
