use super::*;
use crate::face::{Clearances, Fit, Panel, number_cutouts};
use crate::geom::boolean::{Rule, resolve};
use crate::trade::strength::Limit;
use crate::units::Mm;
use kurbo::{Affine, BezPath, Circle, Shape};
use std::f64::consts::PI;

/// A panel 133.35 × 254 mm, 15.9 mm thick, grain upright.
fn panel() -> Panel {
    Panel { width: Mm::new(133.35), height: Mm::new(254.0), thickness: Mm::new(15.9), grain_deg: 90.0 }
}

pub(super) fn face_of(path: &BezPath) -> Face {
    let region = resolve(path, Rule::EvenOdd);
    let fit = Fit::AS_DRAWN;
    let cutouts = number_cutouts(region.pieces.into_iter().map(|piece| (piece, None)).collect());
    Face { panel: panel(), clear: Clearances::all(Mm::new(12.7)), cutouts, fit }
}

fn face(svg: &str) -> Face {
    face_of(&BezPath::from_svg(svg).unwrap())
}

pub(super) fn circles(all: &[(f64, f64, f64)]) -> BezPath {
    all.iter().flat_map(|&(x, y, r)| Circle::new((x, y), r).to_path(1e-7)).collect()
}

pub(super) fn with_limit(width: f64) -> Options {
    Options { bridge: Limit::Fixed(Mm::new(width)), ..Options::default() }
}

pub(super) fn widths(checks: &Checks) -> Vec<f64> {
    let mut widths: Vec<f64> = checks.bridges.iter().map(|b| b.width).collect();
    widths.sort_by(f64::total_cmp);
    widths
}

fn assert_widths(checks: &Checks, want: &[f64]) {
    let got = widths(checks);
    assert_eq!(got.len(), want.len(), "{got:?} against {want:?}");
    for (got, want) in got.iter().zip(want) {
        assert!((got - want).abs() < 0.01, "{got} against {want}");
    }
}

#[test]
fn planted_bridges_are_measured() {
    assert_widths(&run(&face_of(&circles(&[(50.0, 100.0, 10.0), (72.0, 100.0, 10.0)])), &with_limit(3.0)), &[2.0]);
    // The panel's edge is 4 mm from the circle.
    assert_widths(&run(&face_of(&circles(&[(24.0, 100.0, 20.0)])), &with_limit(5.0)), &[4.0]);
    // Five bars of wood between six openings.
    let comb = "M20 50h10v40h-10z M30.8 50h10v40h-10z M41.8 50h10v40h-10z M53.3 50h10v40h-10z M65.55 50h10v40h-10z M78.55 50h10v40h-10z";
    assert_widths(&run(&face(comb), &with_limit(3.5)), &[0.8, 1.0, 1.5, 2.25, 3.0]);
}

#[test]
fn equal_bridges_either_side_of_wide_wood_are_both_found() {
    // 3 mm, then 18 mm of sound wood, then 3 mm again: the shallow minimum in
    // the middle must not tie the two outer ones together.
    let bars = "M20 50h12v60h-12z M35 50h12v60h-12z M65 50h12v60h-12z M80 50h12v60h-12z";
    for limit in [3.5, 12.0, 19.0] {
        let got = widths(&run(&face(bars), &with_limit(limit)));
        let narrow = got.iter().filter(|w| (**w - 3.0).abs() < 0.01).count();
        assert_eq!(narrow, 2, "limit {limit}: {got:?}");
    }
    let wide = widths(&run(&face(bars), &with_limit(19.0)));
    assert!(wide.iter().any(|w| (w - 18.0).abs() < 0.01), "the middle one, too: {wide:?}");
}

#[test]
fn a_narrow_bar_far_off_hides_none_just_under_a_fixed_limit() {
    // 2.9 and 1.5 mm of wood, 50 mm of thick wood between: both are under 3 mm.
    let far = "M20 50h12v60h-12z M34.9 50h12v60h-12z M96.9 50h12v60h-12z M110.4 50h12v60h-12z";
    assert_widths(&run(&face(far), &with_limit(3.0)), &[1.5, 2.9]);
}

#[test]
fn a_finger_that_tapers_is_as_weak_as_an_even_one() {
    // Level fingers 40 mm long into an opening, across the grain: the push at the
    // tip bears on the root with the whole length, whatever the taper.
    let finger = |root: f64, tip: f64| {
        let (r, t) = (root / 2.0, tip / 2.0);
        let drawn = format!("M20 60h90v80h-90v{}l40 {}v{}l-40 {}z", -(40.0 - r), -(r - t), -2.0 * t, -(r - t));
        run(&face(&drawn), &Options::default()).bridges
    };
    let even = finger(2.0, 2.0);
    assert_eq!(even.len(), 1, "{even:?}");
    for (root, tip) in [(2.0, 1.9), (3.0, 1.0), (3.0, 0.01)] {
        let tapers = finger(root, tip);
        assert_eq!(tapers.len(), 1, "{root} to {tip}: {tapers:?}");
        let bridge = &tapers[0];
        assert!((bridge.free_length - 40.0).abs() < 2.5, "{root} to {tip}: free over {}", bridge.free_length);
        assert!((bridge.needed - even[0].needed).abs() < 0.5, "needs {} as {}", bridge.needed, even[0].needed);
        assert!(bridge.loose_area > 0.8 * 20.0 * (root + tip), "hangs on it alone: {}", bridge.loose_area);
    }
    assert!(finger(14.0, 0.01).is_empty(), "a tooth is stout where it is rooted");
}

#[test]
fn a_stub_is_no_bridge_be_its_sides_even_or_not() {
    // Level tongues into an opening, across the grain, wider or narrower at the tip by
    // a ten thousandth of a millimetre, or by none.
    let tongue = |root: f64, length: f64, wider: f64| {
        let (r, by) = (root / 2.0, wider / 2.0);
        let drawn =
            format!("M20 60h90v80h-90v{}l{length} {by}v{}l{} {by}z", -(40.0 - r), -(2.0 * r + 2.0 * by), -length);
        run(&face(&drawn), &Options::default()).bridges.len()
    };
    for wider in [-1e-3, -1e-4, 0.0, 1e-4, 1e-3] {
        assert_eq!(tongue(4.0, 5.5, wider), 0, "a stub, {wider} wider at its tip");
        assert_eq!(tongue(4.0, 12.0, wider), 1, "a tongue, {wider} wider at its tip");
    }
    assert_eq!(tongue(4.0, 4.0, 4.0), 1, "a head twice as wide as its neck");
}

#[test]
fn a_bar_is_free_between_the_joints_that_hold_it() {
    // A level bar 3 mm wide and 40 mm long; an upright 1 mm wide, too thin to make
    // the bar any thicker, comes to its middle from below, then one to each third,
    // then a tongue held by the bar alone. Members of a frame are reckoned from
    // joint to joint.
    let free = |below: &str| {
        let checks = run(&face(&format!("M30 49h40v20h-40z {below}")), &Options::default());
        let bars = checks.bridges.iter().filter(|b| (b.width - 3.0).abs() < 1e-6 && b.grain_deg > 89.0);
        bars.map(|bar| bar.free_length).collect::<Vec<_>>()
    };
    let near = |got: &[f64], want: f64| !got.is_empty() && got.iter().all(|g| (g - want).abs() < 2.0);
    let whole = free("M30 72h40v20h-40z");
    assert!(near(&whole, 40.0), "no joint: {whole:?}");
    let halves = free("M30 72h19.5v20h-19.5z M50.5 72h19.5v20h-19.5z");
    assert!(near(&halves, 20.0), "a joint in the middle: {halves:?}");
    let thirds = free("M30 72h13v20h-13z M44 72h12v20h-12z M57 72h13v20h-13z");
    assert!(near(&thirds, 13.25), "two joints: {thirds:?}");
    let tongue = free("M30 72h19.5v10h1v-10h19.5v20h-40z");
    assert!(near(&tongue, 40.0), "a tongue holds nothing: {tongue:?}");
}

#[test]
fn a_bar_reports_how_it_lies_and_how_long_it_is() {
    // An upright bar 2 mm wide and 40 mm long between two openings.
    let checks = run(&face("M30 50h20v40h-20z M52 50h20v40h-20z"), &Options::default());
    let bar = &checks.bridges[0];
    assert!((bar.width - 2.0).abs() < 1e-6, "width {}", bar.width);
    assert!(bar.grain_deg < 1e-6, "along the grain: {}", bar.grain_deg);
    assert!((bar.free_length - 40.0).abs() < 1.5, "free length {}", bar.free_length);
    assert!(bar.stretch >= bar.free_length, "stretch {}", bar.stretch);
    assert_eq!(bar.between, [Bank::CutOut(1), Bank::CutOut(2)], "banks");
    assert!(bar.loose_area == 0.0 && bar.needed >= 3.0 && !bar.derivation.is_empty(), "{bar:?}");
}

#[test]
fn a_bridge_across_the_grain_needs_more() {
    let along = run(&face("M30 50h20v20h-20z M52 50h20v20h-20z"), &Options::default());
    let across = run(&face("M30 50h20v20h-20z M30 72h20v20h-20z"), &Options::default());
    assert!(
        across.bridges[0].needed > 1.5 * along.bridges[0].needed,
        "{} {}",
        across.bridges[0].needed,
        along.bridges[0].needed
    );
    assert!((across.bridges[0].grain_deg - 90.0).abs() < 1e-6, "across: {}", across.bridges[0].grain_deg);
}

#[test]
fn what_hangs_on_one_bridge_would_come_loose() {
    // A C-shaped opening round a tongue 20 × 24 held by a neck 2.5 wide and 6 long.
    let svg = "M30 50h60v40h-28.75v-6h8.75v-24h-20v24h8.75v6h-28.75z";
    let checks = run(&face(svg), &Options::default());
    let neck = checks.bridges.iter().find(|b| (b.width - 2.5).abs() < 1e-6).unwrap();
    assert!(neck.loose_area > 479.0 && neck.loose_area < 496.0, "{}", neck.loose_area);
}

#[test]
fn a_short_stem_is_as_weak_as_what_hangs_on_it_is_long() {
    // A disc of radius 25 on a stem 8 wide and 5 long, beside a plain tongue 8 wide that
    // reaches as far: level, across the grain. Held at one end the moment is push times
    // distance, wide or narrow (any handbook of beams).
    let at = |x: f64, y: f64| format!("{:.4} {:.4}", 20.0 + x, 120.0 + y);
    let (rim, disc) = ((30.0_f64 * 30.0 - 16.0).sqrt(), (25.0_f64 * 25.0 - 16.0).sqrt());
    let far = |x: f64| 35.0 + x;
    let stem = format!(
        "M{}A30 30 0 1 0 {}L{}A25 25 0 1 1 {}z",
        at(far(-rim), 4.0),
        at(far(-rim), -4.0),
        at(far(-disc), -4.0),
        at(far(-disc), 4.0)
    );
    let tongue = format!("M{}V90H100V150H{}V124h55v-8h-55z", at(0.0, -4.0), 20.0);
    let [stem, tongue] = [stem, tongue].map(|svg| run(&face(&svg), &Options::default()).bridges);
    let (stem, tongue) = (&stem[0], &tongue[0]);
    assert!((stem.reach() - tongue.reach()).abs() < 3.0, "{} and {}", stem.reach(), tongue.reach());
    assert!(stem.free_length < 12.0 && stem.loose_area > 1900.0, "{stem:?}");
    assert_eq!((stem.severity, tongue.severity), (Severity::Stop, Severity::Stop));
    // Across the grain an average board of redcedar takes 1.52 MPa; b² = 6 F L / (σ T).
    let breaking = (6.0_f64 * 20.0 * (stem.reach() + 6.0) / (1.5168 * 15.9)).sqrt();
    assert!(breaking > 2.0 * stem.width && stem.stop_width >= breaking, "{breaking} to {}", stem.stop_width);
}

#[test]
fn a_body_on_a_slanting_stem_hangs_on_it_mirrored_or_not() {
    // A crossbar on a stem, drawn and mirrored: necks of stem and wings share the
    // corner between them.
    let drawn = "M100 70L30 70L30 140L100 140L100 108.3614L75.7369 103.9541L75.3987 114.193L69.402 113.995\
                 L70.0621 94.0059L76.0589 94.2039L75.9576 97.2714L100 101.6386Z";
    let mut mirrored = BezPath::from_svg(drawn).unwrap();
    mirrored.apply_affine(Affine::new([-1.0, 0.0, 0.0, 1.0, 133.35, 0.0]));
    let stem = |face: &Face| {
        let found = run(face, &Options::default()).bridges;
        found.into_iter().max_by(|a, b| a.loose_area.total_cmp(&b.loose_area)).unwrap()
    };
    let (drawn, mirrored) = (stem(&face(drawn)), stem(&face_of(&mirrored)));
    for one in [&drawn, &mirrored] {
        assert_eq!(one.severity, Severity::Stop, "{one:?}");
        // The crossbar is 6 by 20.
        assert!(one.loose_area > 115.0 && one.reach() > 10.0, "{one:?}");
    }
    assert!((drawn.needed - mirrored.needed).abs() < 0.1, "{} and {}", drawn.needed, mirrored.needed);
}

#[test]
fn islands_nest_and_name_what_surrounds_them() {
    let rings = circles(&[(60.0, 120.0, 40.0), (60.0, 120.0, 30.0), (60.0, 120.0, 20.0), (60.0, 120.0, 10.0)]);
    let checks = run(&face_of(&rings), &Options::default());
    let mut areas: Vec<(f64, Option<u32>)> = checks.islands.iter().map(|i| (i.area, i.inside_island)).collect();
    areas.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert_eq!(areas.len(), 2, "{areas:?}");
    assert!((areas[0].0 - PI * 100.0).abs() < 0.05 && (areas[1].0 - PI * 500.0).abs() < 0.05, "{areas:?}");
    assert!(areas[0].1.is_some() && areas[1].1.is_none(), "the core hangs from the ring: {areas:?}");
    for island in &checks.islands {
        let from_middle = island.at.distance((60.0, 120.0).into());
        let inside =
            if island.inside_island.is_some() { from_middle < 10.0 } else { (20.0..30.0).contains(&from_middle) };
        assert!(inside, "inner point {:?}", island.at);
        assert_eq!(island.within.len(), 1, "one cut-out around");
    }
}

#[test]
fn outlines_that_touch_do_not_join() {
    // Two squares that share a corner: a bridge of no width.
    let checks = run(&face("M30 50h20v20h-20z M50 70h20v20h-20z"), &Options::default());
    assert!(checks.islands.is_empty(), "nothing falls out");
    assert_eq!(checks.bridges.iter().filter(|b| b.width == 0.0).count(), 1, "{:?}", widths(&checks));
    assert_eq!(checks.bridges[0].severity, Severity::Stop, "worst first");
    // Four bars that touch at their corners ring a square of wood.
    let ring = "M40 50h20v10h-20z M60 60h10v20h-10z M40 80h20v10h-20z M30 60h10v20h-10z";
    let checks = run(&face(ring), &Options::default());
    assert_eq!(checks.islands.len(), 1, "the square inside falls out");
    assert!((checks.islands[0].area - 400.0).abs() < 1e-3, "{}", checks.islands[0].area);
    assert_eq!(checks.islands[0].within, [1, 2, 3, 4], "all four ring it");
    // A diamond of wood whose tip touches the side of the opening around it.
    let checks = run(&face("M30 50h40v40h-40z M50 50l15 15l-15 15l-15 -15z"), &Options::default());
    assert_eq!(checks.islands.len(), 1, "it still falls out: {:?}", checks.bridges);
    assert!((checks.islands[0].area - 450.0).abs() < 1e-2, "{}", checks.islands[0].area);
}

#[test]
fn the_same_face_drawn_otherwise_gives_the_same_bridges() {
    let path = BezPath::from_svg("M30 50h20v40h-20z M52.5 50h20v40h-20z").unwrap();
    let path: BezPath = path.into_iter().chain(circles(&[(60.0, 120.0, 15.0), (75.0, 160.0, 26.0)])).collect();
    let base = run(&face_of(&path), &Options::default());
    let mirror = Affine::new([-1.0, 0.0, 0.0, 1.0, 133.35, 0.0]) * path.clone();
    let upside = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 254.0]) * path;
    for other in [mirror, upside] {
        let other = run(&face_of(&other), &Options::default());
        assert_eq!(base.bridges.len(), other.bridges.len(), "as many");
        for (a, b) in widths(&base).iter().zip(widths(&other)) {
            assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }
}

fn blade(name: &str) -> Options {
    let blade = crate::trade::blades::find(name).unwrap();
    Options { blade, ..Options::default() }
}

#[test]
fn a_square_opening_has_four_inside_corners_and_an_island_four_tips() {
    let checks = run(&face("M30 50h40v40h-40z"), &blade("flat-5"));
    assert_eq!(checks.turns.len(), 4, "{:?}", checks.turns);
    for turn in &checks.turns {
        assert_eq!((turn.kind, turn.technique), (TurnKind::InsideCorner, Technique::ComeInTwice), "{turn:?}");
        assert!((turn.angle_deg - 90.0).abs() < 1.0 && turn.severity == Severity::Care, "{turn:?}");
        // τ/(√2 − 1) less half a kerf of 0.022 in.
        let exact = 0.25 / (2f64.sqrt() - 1.0) - 0.2794;
        assert!((turn.radius - exact).abs() < 0.02, "{} against {exact}", turn.radius);
    }
    let checks = run(&face("M20 40h80v80h-80z M50 70h20v20h-20z"), &blade("flat-5"));
    let tips: Vec<&Turn> = checks.turns.iter().filter(|t| t.kind == TurnKind::OutsideCorner).collect();
    assert_eq!(tips.len(), 4, "{:?}", checks.turns);
    assert!(tips.iter().all(|t| t.technique == Technique::SwingInWaste), "room all round: {tips:?}");
}

#[test]
fn the_round_end_of_a_slot_is_come_to_twice_however_little_room_there_is() {
    // 0.7 mm wide, room for the kerf of 0.56 and not to spin; a bent slot bends in earnest.
    let slot = run(&face("M40 60A.35 .35 0 0 1 40.7 60V100A.35 .35 0 0 1 40 100z"), &blade("flat-5"));
    assert_eq!(slot.turns.len(), 2, "its ends: {:?}", slot.turns);
    for turn in &slot.turns {
        assert_eq!((turn.technique, turn.severity), (Technique::ComeInTwice, Severity::Care), "{turn:?}");
    }
    // 0.53 wide: the lines are left by less than the tolerance, as the slot's own finding says.
    let tight = run(&face("M40 60A.265 .265 0 0 1 40.53 60V100A.265 .265 0 0 1 40 100z"), &blade("flat-5"));
    assert!(tight.turns.iter().all(|turn| turn.severity == Severity::Care), "{:?}", tight.turns);
    assert_eq!(tight.slots.iter().map(|slot| slot.severity).collect::<Vec<_>>(), [Severity::Care]);
    let bent = run(&face("M40 60H40.7V99.3H80V100H40z"), &blade("flat-5"));
    let inner = bent.turns.iter().find(|turn| turn.at.distance(Point::new(40.0, 100.0)) < 0.5).unwrap();
    assert_ne!(inner.technique, Technique::ComeInTwice, "a quarter turn on the way is another matter: {inner:?}");
}

#[test]
fn a_corner_of_the_opening_with_its_point_off_is_a_corner_still() {
    // A wedge of 16° whose end is 0.9 mm wide and round: both lines are sawn down to it
    // and there is no room to turn. Where a slot bends on the way, the
    // wood's side of the bend still stops the work.
    let wedge = "M79.69 108.35L76.25 111.51V99.75C76.34 99.32 77.01 99.42 77.16 99.9z";
    let end = run(&face(wedge), &blade("flat-5"));
    let round = end.turns.iter().find(|turn| turn.at.y < 100.5).unwrap();
    assert_eq!((round.kind, round.severity), (TurnKind::Curve, Severity::Care), "{:?}", end.turns);
    let bent = run(&face("M40 60H60A1.2 1.2 0 0 1 61.2 61.2V90H60.4V61.2A.4 .4 0 0 0 60 60.8H40z"), &blade("flat-9"));
    assert!(bent.turns.iter().any(|turn| turn.severity == Severity::Stop), "{:?}", bent.turns);
}

#[test]
fn a_turn_found_from_both_sides_is_told_once() {
    let checks = run(&face("M40 60A.7 .7 0 0 1 40.7 59.3H60V61.5L43.5 61.05z"), &blade("flat-5"));
    let tip = Point::new(40.0, 60.0);
    assert_eq!(checks.turns.iter().filter(|turn| turn.at.distance(tip) < 0.01).count(), 1, "{:?}", checks.turns);
}

#[test]
fn round_openings_and_their_joints_raise_nothing_until_too_small() {
    for radius in [4.0, 6.0, 20.0] {
        let checks = run(&face_of(&circles(&[(60.0, 100.0, radius)])), &blade("flat-5"));
        assert!(checks.turns.is_empty(), "radius {radius}: {:?}", checks.turns);
    }
    // 1.5 mm less half a kerf is under the slow limit of flat-5, 1.56 mm.
    let checks = run(&face_of(&circles(&[(60.0, 100.0, 1.5)])), &blade("flat-5"));
    assert_eq!(checks.turns.len(), 1, "{:?}", checks.turns);
    assert_eq!(
        (checks.turns[0].kind, checks.turns[0].technique),
        (TurnKind::Curve, Technique::Slow),
        "{:?}",
        checks.turns
    );
    let checks = run(&face_of(&circles(&[(60.0, 100.0, 0.9)])), &blade("flat-5"));
    assert_eq!(checks.turns[0].technique, Technique::Spin, "{:?}", checks.turns);
}

#[test]
fn a_spiral_blade_turns_anywhere_its_kerf_fits() {
    let square = run(&face("M30 50h40v40h-40z"), &blade("spiral-2"));
    assert!(square.turns.is_empty(), "a quarter turn is within the tolerance: {:?}", square.turns);
    let point = run(&face("M30 50h40l-20 60z"), &blade("spiral-2"));
    assert_eq!(point.turns.len(), 3, "sharp points come out round: {:?}", point.turns);
    assert!(point.turns.iter().all(|t| t.severity == Severity::Care), "{:?}", point.turns);
}

#[test]
fn slots_narrower_than_the_kerf_are_found() {
    // Two rooms joined by a slot 0.4 mm wide.
    let checks = run(&face("M20 50h20v9.8h20v-9.8h20v20h-20v-9.8h-20v9.8h-20z"), &blade("flat-5"));
    assert_eq!(checks.slots.len(), 1, "{:?}", checks.slots);
    assert!(
        (checks.slots[0].width - 0.4).abs() < 1e-6 && checks.slots[0].severity == Severity::Care,
        "{:?}",
        checks.slots
    );
    let speck = run(&face_of(&circles(&[(60.0, 100.0, 0.2)])), &blade("flat-5"));
    assert_eq!(speck.slots.len(), 1, "{:?}", speck.slots);
    assert!((speck.slots[0].width - 0.4).abs() < 0.01, "{:?}", speck.slots);
    let clear = run(&face("M20 50h20v5h20v-5h20v20h-20v-5h-20v5h-20z"), &blade("flat-5"));
    assert!(clear.slots.is_empty(), "{:?}", clear.slots);
}

#[test]
fn the_throat_is_the_farthest_corner_or_the_best_way_round() {
    let art = circles(&[(30.0, 30.0, 10.0)]);
    let flat = run(&face_of(&art), &blade("flat-5")).throat.unwrap();
    // From the circle's lower left to the panel's upper right.
    let exact = (103.35f64).hypot(224.0) + 10.0;
    assert!(flat.rotates && (flat.reach - exact).abs() < 0.02, "{} against {exact}", flat.reach);
    let spiral = run(&face_of(&art), &blade("spiral-2")).throat.unwrap();
    assert!(!spiral.rotates && (spiral.reach - 40.0).abs() < 1e-6, "{spiral:?}");
}

#[test]
fn the_drawer_is_ranked_for_the_face() {
    // Curves of 1.2 mm radius: too tight for a wide blade.
    let art = BezPath::from_svg("M20 60a1.4 1.4 0 0 1 2.8 0v40a1.4 1.4 0 0 1 -2.8 0z").unwrap();
    let checks = run(&face_of(&art), &blade("flat-7"));
    let of = |name: &str| checks.blades.iter().find(|v| v.blade == name).unwrap();
    assert_eq!(checks.blades.len(), 5, "the whole drawer");
    assert!(of("flat-7").tight_turns > of("flat-3").tight_turns, "{:?}", checks.blades);
    assert_eq!(checks.blades[0].tight_turns, 0, "best first: {:?}", checks.blades);
    assert!(checks.blades[0].does_it, "{:?}", checks.blades);
}

#[test]
fn findings_say_what_where_and_what_to_do() {
    let art = "M20 40h80v80h-80z M50 70h20v20h-20z M30 130h20v40h-20z M52 130h20v40h-20z";
    let face = face(art);
    let options = blade("flat-5");
    let checks = run(&face, &options);
    let found = findings(&checks, &face, &options);
    let kinds = |kind| found.iter().filter(|f| f.kind == kind).count();
    use crate::diag::FindingKind::{Island, TightTurn, WeakBridge};
    assert_eq!((kinds(Island), kinds(WeakBridge)), (1, checks.bridges.len()), "{found:#?}");
    assert_eq!(kinds(TightTurn), 2, "corners and tips are grouped: {found:#?}");
    assert!(found.iter().all(|f| f.at.is_some() && f.measured.is_some() && !f.advice.is_empty()), "{found:#?}");
    let mut ids: Vec<&str> = found.iter().map(|f| f.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), found.len(), "names are unique");
}

#[test]
fn a_fang_on_a_sloping_lip_is_judged_by_its_own_direction() {
    // Upright, 3.1 mm wide at the root and 2.9 at the tip, 30 long.
    let fang = |slope: f64| {
        let lip = |x: f64| 40.0 + slope * (x - 44.0);
        let [left, low, high, right] = [14.0, 42.45, 45.55, 74.0].map(lip);
        let svg = format!("M14 0V90H74V{right}L45.55 {high}L45.45 70A1.45 1.45 0 0 1 42.55 70L42.45 {low}L14 {left}Z");
        let found = run(&face(&svg), &blade("flat-5")).bridges;
        assert_eq!(found.len(), 1, "{found:?}");
        (found[0].width, found[0].grain_deg, found[0].needed)
    };
    let (level, sloping) = (fang(0.0), fang(0.84)); // 40°
    assert!(sloping.1 < 2.0 && (sloping.0 - level.0).abs() < 0.1, "{sloping:?}, {level:?}");
    assert!((sloping.2 - level.2).abs() < 0.3, "{sloping:?}, {level:?}");
}
