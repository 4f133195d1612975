//! What must not depend on how a face happens to be drawn.

use kurbo::{Affine, BezPath, Point, Vec2};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::f64::consts::TAU;

use super::tests::{circles, face_of, widths, with_limit};
use super::{Checks, run};
use crate::units::Mm;

/// A rough round outline: place in a loose grid, size, roughness, waves, turn.
type Blob = (f64, f64, u32, f64);

const PITCH: f64 = 20.0;
const LIMIT: f64 = 3.0;

fn blobs() -> impl Strategy<Value = Vec<Blob>> {
    prop::collection::vec((5.0..9.8f64, 0.0..0.5f64, 2..6u32, 0.0..TAU), 2..7)
}

/// Corners of a blob's outline, anticlockwise.
fn corners(index: usize, &(size, rough, waves, turn): &Blob) -> Vec<Point> {
    let center = Point::new(30.0 + PITCH * (index % 3) as f64, 60.0 + PITCH * (index / 3) as f64);
    let corner = |k: i32| {
        let angle = TAU * f64::from(k) / 28.0;
        let radius = size * (1.0 - rough * (0.5 + 0.5 * (angle * f64::from(waves) + turn).sin()));
        center + Vec2::from_angle(angle + turn) * radius
    };
    (0..28).map(corner).collect()
}

/// A closed smooth curve through the corners (Catmull and Rom).
fn curve(points: &[Point]) -> BezPath {
    let n = points.len();
    let slope = |i: usize| (points[(i + 1) % n] - points[(i + n - 1) % n]) / 6.0;
    let mut path = BezPath::new();
    path.move_to(points[0]);
    for i in 0..n {
        let j = (i + 1) % n;
        path.curve_to(points[i] + slope(i), points[j] - slope(j), points[j]);
    }
    path.close_path();
    path
}

/// The drawing, each outline changed by `change` first.
fn drawing(blobs: &[Blob], change: impl Fn(&mut Vec<Point>)) -> BezPath {
    let outline = |(index, blob): (usize, &Blob)| {
        let mut points = corners(index, blob);
        change(&mut points);
        curve(&points)
    };
    blobs.iter().enumerate().flat_map(outline).collect()
}

fn check(path: &BezPath) -> Checks {
    run(&face_of(path), &with_limit(LIMIT))
}

/// Every turn of `a` that is clearly too tight is one of `b`, at the place `lies`
/// makes of its own. Those about as wide as the limit may fall on either side of
/// it: outlines are sampled from where they start.
fn assert_turns(a: &Checks, b: &Checks, lies: impl Fn(Point) -> Point) -> Result<(), TestCaseError> {
    for turn in a.turns.iter().filter(|turn| turn.radius < 0.95 * turn.limit && turn.angle_deg > 15.0) {
        let at = lies(turn.at);
        let known = b.turns.iter().any(|other| other.at.distance(at) < 1.0);
        prop_assert!(known, "no turn at {at:?} for {turn:?}");
    }
    Ok(())
}

/// Same bridges, islands and slots; widths to `slack` mm.
fn assert_same(a: &Checks, b: &Checks, slack: f64) -> Result<(), TestCaseError> {
    prop_assert_eq!(a.islands.len(), b.islands.len(), "islands");
    prop_assert_eq!(a.slots.len(), b.slots.len(), "slots");
    let (one, other) = (widths(a), widths(b));
    prop_assert_eq!(one.len(), other.len(), "{:?} {:?}", one, other);
    for (x, y) in one.iter().zip(&other) {
        prop_assert!((x - y).abs() < slack, "{x} against {y}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { rng_seed: RngSeed::Fixed(2), failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn where_an_outline_starts_and_which_way_it_runs_do_not_matter(seed in blobs(), start in 1..28usize) {
        let base = check(&drawing(&seed, |_| ()));
        let begun = check(&drawing(&seed, |points| points.rotate_left(start)));
        let turned = check(&drawing(&seed, |points| points.reverse()));
        for other in [begun, turned] {
            assert_same(&base, &other, 1e-5)?;
            assert_turns(&base, &other, |at| at)?;
            assert_turns(&other, &base, |at| at)?;
        }
    }

    #[test]
    fn a_mirrored_face_has_the_same_faults(seed in blobs()) {
        let path = drawing(&seed, |_| ());
        let mirrored = Affine::new([-1.0, 0.0, 0.0, 1.0, 133.35, 0.0]) * path.clone();
        let (one, other) = (check(&path), check(&mirrored));
        let lies = |at: Point| Point::new(133.35 - at.x, at.y);
        assert_same(&one, &other, 1e-5)?;
        assert_turns(&one, &other, lies)?;
        assert_turns(&other, &one, lies)?;
    }

    #[test]
    fn a_face_and_its_limit_scaled_alike_keep_their_bridges(seed in blobs(), scale in 0.6..1.2f64) {
        let path = drawing(&seed, |_| ());
        let base = check(&path);
        let face = face_of(&(Affine::scale(scale) * path));
        let scaled = run(&face, &with_limit(LIMIT * scale));
        let back: Vec<f64> = widths(&scaled).iter().map(|width| width / scale).collect();
        let plain = widths(&base);
        prop_assert_eq!(plain.len(), back.len(), "{:?} {:?}", &plain, &back);
        for (x, y) in plain.iter().zip(&back) {
            prop_assert!((x - y).abs() < 1e-4, "{x} against {y}");
        }
    }

    #[test]
    fn a_planted_neck_is_found_to_the_hundredth(
        gap in 0.05..2.9f64, turn in 0.0..TAU, a in 3.0..14.0f64, b in 3.0..14.0f64,
    ) {
        let far = Vec2::from_angle(turn) * (a + b + gap);
        let checks = check(&circles(&[(66.0, 120.0, a), (66.0 + far.x, 120.0 + far.y, b)]));
        prop_assert_eq!(checks.bridges.len(), 1, "{:?}", widths(&checks));
        let bridge = &checks.bridges[0];
        prop_assert!((bridge.width - gap).abs() < 0.01, "{} against {gap}", bridge.width);
        // The bridge runs square to the line between the centres.
        let across = (turn.to_degrees() % 180.0).abs();
        let grain = across.min(180.0 - across);
        prop_assert!((bridge.grain_deg - grain).abs() < 0.1, "{} against {grain}", bridge.grain_deg);
        prop_assert!(Mm::new(bridge.needed) == Mm::new(LIMIT), "as asked");
    }
}
