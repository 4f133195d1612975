//! The report of every demo face follows the published schema, and the report
//! of one small face is what it was when last looked at.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

#[path = "support/schema.rs"]
mod schema;

use std::fs;
use std::path::{Path, PathBuf};

use fretgrin::check::Bank;
use fretgrin::outcome::Outcome;
use fretgrin::settings::{Settings, Shop};
use fretgrin::write::json;
use fretgrin::{pipeline, units};
use kurbo::{ParamCurveNearest, Point, Shape};
use schema::check;
use serde_json::Value;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn outcome(path: &Path) -> Outcome {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let bytes = fs::read(path).unwrap();
    pipeline::check(&bytes, &path.file_name().unwrap().to_string_lossy(), &settings).unwrap()
}

#[test]
fn the_reports_of_the_demo_faces_follow_the_schema() {
    let schema: Value = serde_json::from_str(json::REPORT_SCHEMA).unwrap();
    for name in ["owl", "fox", "moon", "gourd", "cat", "moth"] {
        let report = json::report(&outcome(&root().join("demo-faces").join(format!("{name}.svg"))));
        let mut wrong = Vec::new();
        check(&schema, &report, name, &mut wrong);
        assert!(wrong.is_empty(), "{name}:\n{}", wrong.join("\n"));
        assert!(!report["cutouts"].as_array().unwrap().is_empty(), "{name} has cut-outs");
    }
}

#[test]
fn the_schema_test_can_fail() {
    let schema: Value = serde_json::from_str(json::REPORT_SCHEMA).unwrap();
    let mut report = json::report(&outcome(&root().join("demo-faces/owl.svg")));
    report["cutouts"][0]["area_mm2"] = Value::from("large");
    report["surprise"] = Value::from(1);
    let mut wrong = Vec::new();
    check(&schema, &report, "owl", &mut wrong);
    assert_eq!(wrong.len(), 2, "{wrong:?}");
}

/// Numbers to two decimals, the 0.01 mm that reports promise; finer digits may
/// differ between processors.
fn rounded(value: &Value) -> Value {
    match value {
        Value::Number(n) if n.is_f64() => Value::from((n.as_f64().unwrap() * 100.0).round() / 100.0),
        Value::Array(a) => a.iter().map(rounded).collect(),
        Value::Object(o) => o.iter().map(|(k, v)| (k.clone(), rounded(v))).collect(),
        other => other.clone(),
    }
}

#[test]
fn a_small_face_reports_what_it_did() {
    let report = rounded(&json::report(&outcome(&root().join("fixtures/art/golden/lantern.svg"))));
    let text = json::text(&report);
    let golden = root().join("fixtures/golden/lantern-report.json");
    if std::env::var_os("UPDATE_FIXTURES").is_some() {
        fs::create_dir_all(golden.parent().unwrap()).unwrap();
        fs::write(&golden, &text).unwrap();
        panic!("rewrote {}; look at the difference, then run again without UPDATE_FIXTURES", golden.display());
    }
    let kept = fs::read_to_string(&golden).unwrap();
    assert!(kept == text, "the report changed; run with UPDATE_FIXTURES=1 and look at the difference");
}

/// A number for a cut-out means the same one wherever it stands: in the order, at
/// its holes, its turns and slots, and beside the bridges it borders.
#[test]
fn cut_outs_have_one_number_everywhere() {
    for name in ["owl", "fox", "moon", "gourd", "cat", "moth"] {
        let Outcome { face, checks, holes, order, findings, .. } =
            outcome(&root().join("demo-faces").join(format!("{name}.svg")));
        let numbers: Vec<u32> = (1..).take(face.cutouts.len()).collect();
        assert_eq!(order.steps.iter().map(|step| step.cutout).collect::<Vec<_>>(), numbers, "{name}: sawn by number");
        assert_eq!(face.cutouts.iter().map(|cutout| cutout.id).collect::<Vec<_>>(), numbers, "{name}");
        let path = |id: u32| face.cutouts[id as usize - 1].piece.to_path();
        let from_line = |id: u32, p: Point| {
            path(id).segments().map(|seg| seg.nearest(p, 1e-6).distance_sq.sqrt()).fold(f64::MAX, f64::min)
        };
        for (id, hole) in (1..).zip(&holes) {
            assert!(hole.id == id && path(hole.cutout).winding(hole.at) != 0, "{name}: {hole:?}");
        }
        for turn in &checks.turns {
            assert!(from_line(turn.cutout, turn.at) < 1.0, "{name}: {turn:?}");
        }
        for slot in &checks.slots {
            assert!(from_line(slot.cutout, slot.at) <= slot.width, "{name}: {slot:?}");
        }
        for bridge in &checks.bridges {
            for (bank, foot) in bridge.between.iter().zip(bridge.feet) {
                let Bank::CutOut(id) = *bank else { continue };
                assert!(from_line(id, foot) < 0.02, "{name}: {bridge:?}");
                let finding = findings.iter().find(|finding| finding.id == format!("bridge-{}", bridge.id)).unwrap();
                let words: Vec<&str> = finding.message.split(|c: char| !c.is_ascii_alphanumeric()).collect();
                assert!(words.contains(&id.to_string().as_str()), "{name}: {id} in {}", finding.message);
            }
        }
    }
}

#[test]
fn the_same_art_gives_the_same_bytes() {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let make = || pipeline::documents(&outcome(&root().join("demo-faces/moth.svg")), &settings).unwrap();
    let (first, second) = (make(), make());
    assert_eq!(first.len(), 4, "template, two pictures, report");
    for (a, b) in first.iter().zip(&second) {
        assert!(a == b, "{} differs between two runs", a.name);
    }
}

#[test]
fn a_mirrored_face_reports_mirrored_figures() {
    let mut settings = Settings::resolve(&Shop::default()).unwrap();
    let bytes = fs::read(root().join("demo-faces/moon.svg")).unwrap();
    let plain = pipeline::check(&bytes, "moon.svg", &settings).unwrap();
    settings.fit.mirror = true;
    let mirrored = pipeline::check(&bytes, "moon.svg", &settings).unwrap();
    let widths = |o: &Outcome| {
        let mut all: Vec<f64> = o.checks.bridges.iter().map(|b| b.width).collect();
        all.sort_by(f64::total_cmp);
        all
    };
    assert_eq!(plain.checks.islands.len(), mirrored.checks.islands.len(), "as many islands");
    assert_eq!(widths(&plain).len(), widths(&mirrored).len(), "as many bridges");
    for (a, b) in widths(&plain).iter().zip(widths(&mirrored)) {
        assert!((a - b).abs() < 0.01, "width {a} mirrored {b}");
    }
    let across = units::Mm::new(133.35).get();
    let (p, m) = (plain.checks.islands[0].at, mirrored.checks.islands[0].at);
    assert!((p.x + m.x - across).abs() < 1.0 && (p.y - m.y).abs() < 1.0, "{p:?} {m:?}");
}

#[test]
fn a_face_laid_before_is_sawn_where_it_stands() {
    let mut settings = Settings::resolve(&Shop::default()).unwrap();
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="133.35mm" height="254mm" viewBox="0 0 133.35 254"
        data-fretgrin-panel="133.35 254"><path d="M30 40h20v30h-20z M80 100h10v10h-10z"/></svg>"#;
    let laid = pipeline::check(svg.as_bytes(), "laid.svg", &settings).unwrap();
    let bounds = laid.face.cutouts.iter().map(|c| c.piece.bounds()).find(|b| b.width() > 15.0).unwrap();
    for (got, want) in [(bounds.x0, 30.0), (bounds.y1, 214.0), (bounds.x1, 50.0), (bounds.y0, 184.0)] {
        assert!((got - want).abs() < 1e-4, "{bounds:?}");
    }
    settings.panel.height = units::Mm::new(200.0);
    let other = pipeline::check(svg.as_bytes(), "laid.svg", &settings).unwrap();
    assert!((other.face.fit.scale - 1.0).abs() > 0.01, "on another panel it is fitted anew");
}

#[test]
fn symmetric_faces_have_symmetric_bridges() {
    let mut settings = Settings::resolve(&Shop::default()).unwrap();
    // A wide limit, so that every narrow place is told.
    settings.bridge = fretgrin::trade::strength::Limit::Fixed(units::Mm::new(12.0));
    let across = settings.panel.width.get();
    // Not the moth: its ring islands are equally thin all round, told at any one place.
    for name in ["owl", "fox"] {
        let bytes = fs::read(root().join(format!("demo-faces/{name}.svg"))).unwrap();
        let found = pipeline::check(&bytes, name, &settings).unwrap().checks.bridges;
        let middle = |b: &fretgrin::check::Bridge| b.feet[0].midpoint(b.feet[1]);
        for bridge in &found {
            let (at, width) = (middle(bridge), bridge.width);
            let twin = |b: &&fretgrin::check::Bridge| {
                let p = middle(b);
                (p.x + at.x - across).abs() < 1.0 && (p.y - at.y).abs() < 1.0 && (b.width - width).abs() < 0.02
            };
            assert!(found.iter().any(|b| twin(&b)), "{name}: {width:.2} mm at {at:?} has no mirror image");
        }
        assert!(found.len() > 10, "{name}: {}", found.len());
    }
}
