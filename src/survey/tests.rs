use kurbo::{Affine, BezPath, Circle, Point, Shape as _};

use super::alike::Shape;
use super::choose::Only;
use super::memory::{self, Ground, Issue, Memory, Remembered};
use super::*;
use crate::check::{Bank, Bridge, Checks, Slot, Turn};
use crate::diag::FindingKind;
use crate::face::{Clearances, Face, Fit, Panel, number_cutouts};
use crate::geom::boolean::{Rule, resolve};

/// A face of these outlines, even-odd, on a panel 200 by 300 mm.
fn face(path: &BezPath) -> Face {
    let region = resolve(path, Rule::EvenOdd);
    let panel = Panel { width: Mm::new(200.0), height: Mm::new(300.0), thickness: Mm::new(16.0), grain_deg: 90.0 };
    let fit = Fit::AS_DRAWN;
    let cutouts = number_cutouts(region.pieces.into_iter().map(|piece| (piece, None)).collect());
    Face { panel, clear: Clearances::all(Mm::ZERO), cutouts, fit }
}

/// A lopsided face with eyes, a nose and a crooked mouth.
fn crooked() -> BezPath {
    let mut path =
        BezPath::from_svg("M40 60 C60 30 120 35 150 75 L138 84 C110 55 70 55 52 72 Z M95 110 l14 40 -25 -4z").unwrap();
    path.extend(Circle::new((60.0, 190.0), 17.0).to_path(1e-3));
    path.extend(Circle::new((135.0, 205.0), 24.0).to_path(1e-3));
    path.extend(Circle::new((135.0, 205.0), 8.0).to_path(1e-3));
    path
}

fn shape(path: &BezPath) -> Shape {
    Shape::of(&Outline::of(&face(path))).unwrap()
}

fn about(path: &BezPath, affine: Affine) -> BezPath {
    let middle = path.bounding_box().center().to_vec2();
    Affine::translate(middle) * affine * Affine::translate(-middle) * path
}

#[test]
fn an_outline_stays_near_its_face() {
    let path = crooked();
    let outline = Outline::of(&face(&path));
    let thin = outline.path();
    let far = |from: &BezPath, to: &BezPath| {
        let mut worst: f64 = 0.0;
        for seg in from.segments() {
            for i in 0..20 {
                let p = kurbo::ParamCurve::eval(&seg, f64::from(i) / 20.0);
                let near = to.segments().map(|s| kurbo::ParamCurveNearest::nearest(&s, p, 1e-4).distance_sq.sqrt());
                worst = worst.max(near.fold(f64::INFINITY, f64::min));
            }
        }
        worst
    };
    assert!(far(&thin, &path) < 0.2 && far(&path, &thin) < 0.25, "{} {}", far(&thin, &path), far(&path, &thin));
    assert!(outline.points() < 220, "and is small: {}", outline.points());
}

#[test]
fn a_picture_of_an_outline_is_the_outline_upside_down() {
    let outline = Outline::from(vec![vec![(10, 20), (110, 20), (110, 70)], vec![(0, 0), (5, -3), (7, 9)]]);
    assert_eq!(outline.data(30.0), "M10 280l100 0 0-50zM0 300l5 3 2-12z");
    let path = BezPath::from_svg(&outline.data(30.0)).unwrap();
    assert_eq!(path.segments().count(), 6, "three sides each");
}

#[test]
fn a_packed_outline_is_the_outline() {
    let far =
        vec![vec![(i32::MIN, i32::MAX), (i32::MAX, i32::MIN), (0, -1)], vec![], vec![(63, -64), (-65, 8191), (1, 1)]];
    let outline = Outline::from(far.clone());
    assert_eq!(outline.rings().collect::<Vec<_>>(), far, "any numbers");
    let json = serde_json::to_string(&outline).unwrap();
    assert_eq!(serde_json::from_str::<Outline>(&json).unwrap(), outline, "remembered");
    assert_eq!(json, serde_json::to_string(&far).unwrap(), "as plain rings");
}

#[test]
fn a_very_detailed_face_has_a_small_outline() {
    let mut comb = BezPath::new();
    comb.move_to((10.0, 10.0));
    for i in 0..3600 {
        let x = 10.0 + f64::from(i) * 0.05;
        comb.line_to((x, 20.0 + 250.0 * f64::from(i % 2)));
    }
    comb.line_to((190.0, 10.0));
    comb.close_path();
    assert!(Outline::of(&face(&comb)).points() <= 3000, "thinned");
}

#[test]
fn the_same_outline_is_known_at_any_size_place_turn_and_mirror() {
    let path = crooked();
    let plain = shape(&path);
    let flip = Affine::FLIP_X;
    let cases = [
        (Affine::IDENTITY, false, 0.0),
        (Affine::translate((9.0, -13.0)) * Affine::scale(0.6), false, 0.0),
        (flip, true, 0.0),
        (Affine::rotate(37f64.to_radians()), false, 37.0),
        (Affine::rotate((-90f64).to_radians()) * Affine::scale(0.5), false, -90.0),
        (Affine::rotate(120f64.to_radians()) * flip, true, 120.0),
    ];
    for (affine, mirrored, turned) in cases {
        let laid = plain.laid_on(&shape(&about(&path, affine))).expect("the same face");
        assert_eq!(laid.mirrored, mirrored, "{affine:?}");
        assert!((laid.turned_deg - turned).abs() < 0.5, "{affine:?}: {} of {turned}", laid.turned_deg);
    }
}

#[test]
fn a_changed_face_is_another() {
    let path = crooked();
    let plain = shape(&path);
    let mut no_pupil = path.clone();
    no_pupil.truncate(path.elements().len() - Circle::new((0.0, 0.0), 8.0).to_path(1e-3).elements().len());
    let mut extra = path.clone();
    extra.extend(Circle::new((100.0, 240.0), 6.0).to_path(1e-3));
    for (other, what) in [
        (no_pupil, "a pupil less"),
        (extra, "a spot more"),
        (about(&path, Affine::scale_non_uniform(1.0, 1.08)), "drawn out"),
    ] {
        assert!(plain.laid_on(&shape(&other)).is_none(), "{what}");
    }
}

#[test]
fn a_face_that_is_its_own_mirror_image_is_the_same() {
    let round = Circle::new((100.0, 150.0), 60.0).to_path(1e-3);
    let laid = shape(&round).laid_on(&shape(&about(&round, Affine::FLIP_X))).unwrap();
    assert_eq!((laid.mirrored, laid.turned_deg), (false, 0.0), "not called mirrored");
}

fn bridge(width: f64, needed: f64) -> Bridge {
    Bridge {
        id: 1,
        width,
        feet: [Point::ZERO; 2],
        between: [Bank::Edge; 2],
        grain_deg: 0.0,
        stretch: 1.0,
        free_length: 1.0,
        needed,
        stop_width: 0.6 * needed,
        derivation: Vec::new(),
        loose_area: 0.0,
        tip: None,
        severity: Severity::Care,
    }
}

#[test]
fn difficulty_is_the_sum_of_its_parts() {
    let turn = |technique| Turn {
        id: 1,
        cutout: 1,
        at: Point::ZERO,
        kind: TurnKind::Curve,
        radius: 0.1,
        limit: 1.0,
        angle_deg: 90.0,
        technique,
        severity: Severity::Care,
    };
    let slot = Slot { id: 1, cutout: 1, at: Point::ZERO, width: 0.2, needed: 0.5, severity: Severity::Care };
    let checks = Checks {
        turns: vec![turn(Technique::Slow), turn(Technique::None)],
        bridges: vec![bridge(1.5, 3.0), bridge(0.0, 3.0)],
        slots: vec![slot],
        ..Checks::default()
    };
    let difficulty = Difficulty::of(2500.0, 4, &checks);
    assert_eq!(difficulty.parts(), [2.5, 1.0, 0.55, 3.0, 0.5], "line, starts, turns, wood, slots");
    assert!((difficulty.total() - 7.55).abs() < 1e-9, "{}", difficulty.total());
    assert_eq!(difficulty.word(), "moderate", "in a word");
    assert_eq!(Difficulty::default().word(), "easy", "nothing to saw");
}

fn measured_face() -> Measured {
    Measured {
        width_mm: 88.9,
        height_mm: 158.75,
        scale: 0.5,
        reading: "dark".into(),
        cutouts: 3,
        holes: 3,
        length_mm: 1234.567,
        minutes: 12.345,
        faults: vec![Fault { kind: FindingKind::Island, severity: Severity::Stop, count: 2 }],
        stop: 2,
        care: 0,
        note: 1,
        hardest: None,
        blade: Some("flat-3".into()),
        blade_does_it: true,
        difficulty: Difficulty { line: 1.235, starts: 0.75, ..Difficulty::default() },
        verdict: Verdict::NeedsMending,
        reason: "2 islands".into(),
        mended: None,
        outline: Outline::from(vec![vec![(0, 0), (10, 0), (10, 10)]]),
    }
}

fn issue() -> Issue {
    Issue { ground: "abc".into(), prints: vec!["1".into(), "2".into()] }
}

/// A memory of these and its text.
fn remembering(entries: &[(&str, &Remembered)]) -> (Memory, String) {
    let mut text = Vec::new();
    memory::write(&mut text, &issue(), entries.iter().copied()).unwrap();
    (Memory::read(text.as_slice()).unwrap(), String::from_utf8(text).unwrap())
}

fn row(found: Found) -> Row {
    Row { number: 1, name: "owl.svg".into(), path: "faces/owl.svg".into(), found, double: None, copy: None }
}

#[test]
fn what_is_remembered_comes_back_as_it_was() {
    let ground = Ground::new(["settings"]);
    let face = Remembered { found: Found::Face(Arc::new(measured_face())), copy: Some("ab".into()) };
    let refused = Refused { what: "broken XML,\nline 3".into(), advice: "export it".into() };
    let refused = Remembered { found: Found::Refused(refused), copy: None };
    let (owl, fox) = (ground.key("owl.svg", b"<svg/>"), ground.key("fox.svg", b"<svg/>"));
    let (memory, text) = remembering(&[(owl.as_str(), &face), (fox.as_str(), &refused)]);
    let get =
        |key: &str| memory.get(key, |range| text.get(range.start as usize..range.end as usize).map(str::to_owned));
    assert_eq!((get(&owl), get(&fox)), (Some(face), Some(refused)), "both");
    assert_eq!(memory.issue(), Some(&issue()), "the files");
    for other in [ground.key("owl.svg", b"<svg />"), Ground::new(["other"]).key("owl.svg", b"<svg/>")] {
        assert!(get(&other).is_none(), "another drawing, other settings");
    }
    assert_ne!(
        Ground::new(["ab", "c"]).key("n", b"x"),
        Ground::new(["a", "bc"]).key("n", b"x"),
        "parts are kept apart"
    );
}

#[test]
fn senseless_figures_are_not_believed() {
    let mut face = measured_face();
    face.minutes = -5.0;
    let key = Ground::new([""; 0]).key("owl.svg", b"");
    let remembered = Remembered { found: Found::Face(Arc::new(face)), copy: None };
    let (memory, text) = remembering(&[(key.as_str(), &remembered)]);
    let fetch = |range: std::ops::Range<u64>| text.get(range.start as usize..range.end as usize).map(str::to_owned);
    assert!(memory.get(&key, fetch).is_none(), "less than no time");
}

#[test]
fn conditions_are_read_and_hold() {
    let face = row(Found::Face(Arc::new(measured_face())));
    let refused = row(Found::Refused(Refused { what: "no".into(), advice: String::new() }));
    let cases = [
        ("needs-mending", true, false),
        ("saw-as-is,not-read", false, true),
        ("minutes<12.4", true, false),
        ("minutes >= 12.4", false, false),
        ("holes=3", true, false),
        ("metres<=1.2", false, false),
        ("difficulty>1.9", true, false),
        ("double", false, false),
        ("single", true, true),
    ];
    for (condition, of_face, of_refused) in cases {
        let only: Only = condition.parse().unwrap();
        assert_eq!((only.holds(&face), only.holds(&refused)), (of_face, of_refused), "{condition}");
    }
    for wrong in ["", "nice", "minutes<", "minutes<1e999", "weight<3", "saw-as-is,nice", "<5"] {
        assert!(wrong.parse::<Only>().is_err(), "{wrong}");
    }
}

#[test]
fn work_on_any_number_of_threads_is_all_done_once() {
    for threads in [1, 3, 64] {
        let mut seen = vec![0; 100];
        parallel::each(
            100,
            threads,
            |i| i * i,
            |i, square| {
                assert_eq!(square, i * i, "its own result");
                seen[i] += 1;
                true
            },
        );
        assert!(seen.iter().all(|n| *n == 1), "{threads} threads");
    }
    let mut taken = 0;
    parallel::each(
        1000,
        4,
        |i| i,
        |_, _| {
            taken += 1;
            taken < 5
        },
    );
    assert_eq!(taken, 5, "stopped when told");
    parallel::each(0, 4, |i| i, |_, _| unreachable!("nothing to do"));
}

#[test]
fn sheets_hold_every_face_and_nothing_leaves_the_paper() {
    let long = "a-very-long-name-that-somebody-gave-a-drawing-of-an-owl-with-a-hat-and-a-lantern.svg";
    let mut rows: Vec<Row> = (0..23).map(|_| row(Found::Face(Arc::new(measured_face())))).collect();
    let what = "the file is XML but not a drawing: it starts with <letter>, and goes on for a long while ".repeat(9);
    rows.push(Row {
        name: long.into(),
        ..row(Found::Refused(Refused { what, advice: "save the face as plain SVG".into() }))
    });
    (1..).zip(&mut rows).for_each(|(number, row)| row.number = number);
    let setup = Setup {
        unit: Unit::Inch,
        width: Mm::new(133.35),
        height: Mm::new(254.0),
        thickness: Mm::new(15.875),
        grain_deg: 90.0,
        wood: "western redcedar".into(),
        blade: "flat-5".into(),
        mending: false,
    };
    let survey = Survey { setup, of: rows.len(), rows, chosen: String::new(), passed_over: 0 };
    for (width, height) in [(210.0, 297.0), (215.9, 279.4), (148.0, 210.0), (420.0, 297.0)] {
        let page = contact::Page { width, height, margin: 6.35 };
        let sheets: Vec<_> = contact::sheets(&survey, &page).collect();
        let mut names = 0;
        for sheet in &sheets {
            for mark in &sheet.marks {
                if let crate::sheet::Shape::Text(text) = &mark.shape {
                    names += usize::from(text.content == "owl.svg" || text.content.starts_with("a-very-long"));
                    let bounds = text.bounds();
                    let inside =
                        bounds.x0 > 6.0 && bounds.y0 > 6.0 && bounds.x1 < width - 6.0 && bounds.y1 < height - 6.0;
                    assert!(
                        inside || text.content.is_empty(),
                        "`{}` at {bounds:?} on {width} x {height}",
                        text.content
                    );
                }
            }
        }
        assert_eq!(names, 24, "every face once on {width} x {height}");
    }
    let empty = Survey { rows: Vec::new(), ..survey };
    assert_eq!(
        contact::sheets(&empty, &contact::Page { width: 210.0, height: 297.0, margin: 6.35 }).count(),
        1,
        "one sheet"
    );
}
