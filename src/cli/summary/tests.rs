use super::*;
use crate::check::Checks;
use crate::face::{Clearances, Face, Fit};
use crate::order::Order;
use crate::outcome::{ArtFacts, SetUp};

fn outcome(findings: Vec<Finding>) -> Outcome {
    let settings = Settings::default();
    let fit = Fit {
        scale: 0.92,
        stretch_x: 1.0,
        stretch_y: 1.0,
        turn_deg: 0.0,
        mirrored: false,
        width_mm: 88.9,
        height_mm: 158.75,
        left_mm: 22.2,
        bottom_mm: 47.6,
    };
    let art = ArtFacts {
        file: "owl.svg".into(),
        name: "owl".into(),
        width: 96.0,
        height: 172.0,
        reading: "dark".into(),
        why: "what looks dark is cut".into(),
        others: Vec::new(),
    };
    let setup = SetUp {
        wood: "western-redcedar".into(),
        blade: "flat-5".into(),
        kerf: 0.56,
        tolerance: 0.25,
        recommended: Some("flat-3".into()),
    };
    let blades = vec![
        BladeVerdict { blade: "flat-3".into(), tight_turns: 0, narrow_slots: 0, does_it: true },
        BladeVerdict { blade: "flat-5".into(), tight_turns: 2, narrow_slots: 1, does_it: false },
    ];
    Outcome {
        art,
        setup,
        face: Face { panel: settings.panel, clear: Clearances::all(Mm::new(22.2)), cutouts: Vec::new(), fit },
        clearances: Vec::new(),
        checks: Checks { blades, ..Checks::default() },
        holes: Vec::new(),
        order: Order { steps: Vec::new(), length: 1050.0, minutes: 37.2 },
        mended: None,
        findings,
    }
}

fn finding(id: &str, kind: FindingKind, severity: Severity) -> Finding {
    Finding::new(id, kind, severity, "wood is 1.8 mm wide, needs 3.0 mm", "widen it")
}

fn written(names: &[&str]) -> Put {
    Put { word: "Written", names: names.iter().map(|name| (*name).to_owned()).collect() }
}

fn told(findings: Vec<Finding>) -> String {
    let put = written(&["owl-template.pdf", "owl-report.json"]);
    summary("owl.svg", &outcome(findings), &Settings::default(), &put, Look::PLAIN)
}

#[test]
fn a_sound_face_is_told_in_a_few_lines() {
    let text = told(Vec::new());
    let expected = "\
owl.svg on a panel 5-1/4 x 10 in, 5/8 in western redcedar

  Read as  dark: what looks dark is cut
  Size     3-1/2 x 6-1/4 in (88.9 x 158.75 mm), 92.0 % of the drawing's own
  To saw   0 cut-outs, 0 entry holes, 41-5/16 in (1050.0 mm) of line, about 37 min
  Blade    flat-5 does not: 2 tight turns and 1 narrow slot; flat-3 is the best in the
           drawer for this face

Sound: nothing in the way of sawing it.

  Written  owl-template.pdf, owl-report.json
  Next     print owl-template.pdf at 100 %, hold a rule to the rulers on it, and tape it
           on the panel
  Or       look, drag and mend it in the browser: fretgrin open owl.svg
";
    assert_eq!(text, expected, "{text}");
}

#[test]
fn the_worst_comes_first_and_the_many_are_counted() {
    let mut findings = vec![finding("island-1", FindingKind::Island, Severity::Stop)];
    findings.extend((1..=9).map(|i| finding(&format!("turn-{i}"), FindingKind::TightTurn, Severity::Care)));
    findings.push(finding("speck-1", FindingKind::Speck, Severity::Note));
    let text = told(findings);
    assert!(text.contains("Not ready: 1 thing must be put right first."), "{text}");
    assert!(text.contains("  stop  island-1: wood is 1.8 mm wide, needs 3.0 mm\n          widen it\n"), "{text}");
    assert!(text.contains("turn-2") && !text.contains("turn-3"), "two of a kind: {text}");
    assert!(text.contains("and 8 more: 7 tight-turn (care), 1 speck (note); all are in owl-report.json"), "{text}");
    assert!(text.contains("fretgrin mend owl.svg puts right what it can"), "what to do: {text}");
}

#[test]
fn a_finding_is_told_with_its_place() {
    let at = finding("bridge-1", FindingKind::WeakBridge, Severity::Stop).at((25.4, 50.8).into());
    assert!(told(vec![at]).contains("bridge-1: wood is 1.8 mm wide, needs 3.0 mm, at 1 in right, 2 in up"));
}

#[test]
fn several_sheets_are_said_to_be_joined() {
    let mut face = outcome(Vec::new());
    face.face.panel.height = Mm::new(500.0);
    let text = summary("owl.svg", &face, &Settings::default(), &written(&["owl-template.pdf"]), Look::PLAIN);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("on each of its 3 sheets, trim them and join them cross on cross"), "{text}");
}

#[test]
fn notes_are_told_when_nothing_is_worse() {
    let text = told(vec![finding("stray-1", FindingKind::Stray, Severity::Note)]);
    assert!(text.contains("  note  stray-1") && text.contains("Sound"), "{text}");
}

#[test]
fn strays_are_told_as_left_out_with_how_to_keep_them() {
    let told = left_out(&outcome(vec![finding("stray-1", FindingKind::Stray, Severity::Note)])).unwrap();
    assert_eq!(told, "wood is 1.8 mm wide, needs 3.0 mm (--keep stray-1 keeps it)");
}

#[test]
fn colour_changes_nothing_but_colour() {
    let findings = vec![finding("island-1", FindingKind::Island, Severity::Stop)];
    let look = Look { colour: true, ..Look::PLAIN };
    let painted = summary("owl.svg", &outcome(findings.clone()), &Settings::default(), &Put::default(), look);
    let mut bare = String::new();
    let mut inside = false;
    for c in painted.chars() {
        match c {
            '\u{1b}' => inside = true,
            'm' if inside => inside = false,
            c if !inside => bare.push(c),
            _ => {}
        }
    }
    assert_eq!(
        bare,
        summary("owl.svg", &outcome(findings), &Settings::default(), &Put::default(), Look::PLAIN),
        "same words"
    );
}

#[test]
fn no_line_is_wider_than_asked() {
    let findings = (1..4).map(|i| finding(&format!("turn-{i}"), FindingKind::TightTurn, Severity::Care)).collect();
    let look = Look { colour: false, columns: 40 };
    let text = summary("owl.svg", &outcome(findings), &Settings::default(), &written(&["owl-template.pdf"]), look);
    let headless = text.split_once('\n').unwrap().1;
    assert!(headless.lines().all(|line| line.chars().count() <= 40), "{text}");
}
