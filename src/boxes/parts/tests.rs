use super::*;
use crate::settings::Length;
use crate::settings::boxes::{BoxSettings, LidSettings, NailSettings};

fn design(asked: &BoxSettings, nails: &NailSettings) -> Design {
    Design::new(asked, nails, Mm::from_inches(0.625), Unit::Inch).unwrap()
}

fn usual() -> Parts {
    derive(&design(&BoxSettings::default(), &NailSettings::default()), Unit::Inch).unwrap().value
}

fn inches(part: &Part) -> (f64, f64) {
    (part.length.inches(), part.width.inches())
}

/// The check values of common practice (no source): 5-1/4 x 10 in front and
/// back, 3-1/2 in sides, 7/8 in lid strips, base 1 in longer and wider than
/// the box, lid 1/16 in larger, 1-1/2 in stem from 7/8 in dowel.
#[test]
fn the_usual_box_has_the_usual_parts() {
    let parts = usual();
    let cases = [
        (PartKind::Front, (10.0, 5.25)),
        (PartKind::Back, (10.0, 5.25)),
        (PartKind::Side, (10.0, 3.5)),
        (PartKind::Base, (5.25 + 1.0, 4.75 + 1.0)),
        (PartKind::LidBoard, (5.25 + 0.0625, 4.75 + 0.0625)),
        (PartKind::LongStrip, (5.25 + 0.0625 + 1.25, 0.875)),
        (PartKind::ShortStrip, (4.75 + 0.0625, 0.875)),
        (PartKind::Stem, (1.5, 0.875)),
    ];
    for (kind, (length, width)) in cases {
        let (l, w) = inches(parts.find(kind).unwrap());
        assert!((l - length).abs() < 1e-9 && (w - width).abs() < 1e-9, "{kind:?}: {l} x {w}");
    }
    assert!((parts.overall_height.inches() - (0.625 + 10.0 + 0.625 + 1.5)).abs() < 1e-9, "height with stem");
}

#[test]
fn every_sum_closes_for_every_joint_lid_and_stock() {
    for joint in [Joint::FrontLapsSides, Joint::SidesLapFront] {
        for kind in [LidKind::LiftOff, LidKind::Plain, LidKind::None] {
            for thickness in ["1/2in", "9/16in", "15.9mm", "11.13mm", "3/4in"] {
                let asked = BoxSettings {
                    joint,
                    thickness: Some(Length::text(thickness)),
                    width: Some(Length::text("143.7mm")),
                    lid: LidSettings { kind, ..LidSettings::default() },
                    ..BoxSettings::default()
                };
                let nails = NailSettings { length: Length::text("1-1/4in"), ..NailSettings::default() };
                let parts = derive(&design(&asked, &nails), Unit::Inch).unwrap().value;
                for closure in &parts.sums {
                    assert!(closure.gap().abs() < Mm::new(0.01), "{joint:?} {kind:?} {thickness}: {closure:?}");
                }
            }
        }
    }
}

#[test]
fn impossible_boxes_say_why() {
    let deep = |text: &str| BoxSettings { depth: Some(Length::text(text)), ..BoxSettings::default() };
    let long = |text: &str| NailSettings { length: Length::text(text), ..NailSettings::default() };
    let narrow = BoxSettings {
        lid: LidSettings { strip_width: Length::text("1/2in"), ..LidSettings::default() },
        ..BoxSettings::default()
    };
    let cases = [
        (deep("1in"), NailSettings::default(), "only 1 in (25.4 mm) deep"),
        (BoxSettings::default(), long("5in"), "longer than both pieces at the wall corners"),
        (BoxSettings::default(), long("1/2in"), "does not come through"),
        (narrow, NailSettings::default(), "do not reach below a lid"),
    ];
    for (asked, nails, text) in cases {
        let error = derive(&design(&asked, &nails), Unit::Inch).expect_err(text);
        assert!(error.to_string().contains(text), "{error}");
        assert!(!error.advice().is_empty(), "{error} has advice");
    }
}

#[test]
fn a_lid_without_play_is_told() {
    let told = |play: &str, kind| {
        let mut asked = BoxSettings::default();
        (asked.lid.play, asked.lid.kind) = (Length::text(play), kind);
        let findings = derive(&design(&asked, &NailSettings::default()), Unit::Inch).unwrap().findings;
        findings.first().map(|f| (f.id.clone(), f.severity))
    };
    assert_eq!(told("0in", LidKind::LiftOff), Some(("lid-play".to_owned(), Severity::Care)), "no play");
    assert_eq!(told("1/32in", LidKind::LiftOff), None, "just enough");
    assert_eq!(told("0in", LidKind::Plain), None, "nothing slides");
}

#[test]
fn a_light_too_large_stops() {
    let mut asked = BoxSettings::default();
    asked.light.width = Length::text("4in");
    let noted = derive(&design(&asked, &NailSettings::default()), Unit::Inch).unwrap();
    assert_eq!(noted.findings.len(), 1, "{:?}", noted.findings);
    assert_eq!(noted.findings[0].severity, Severity::Stop, "it cannot go in");
}

#[test]
fn a_light_without_play_asks_for_care() {
    let inside = derive(&design(&BoxSettings::default(), &NailSettings::default()), Unit::Inch);
    let inside = inside.unwrap().value;
    let inside = inside.inside_width.min(inside.inside_depth);
    let finding = |width: Mm| {
        let mut asked = BoxSettings::default();
        asked.light.width = Length::text(&format!("{}mm", width.get()));
        let findings = derive(&design(&asked, &NailSettings::default()), Unit::Inch).unwrap().findings;
        findings.into_iter().next()
    };
    let severity = |width: Mm| finding(width).map(|f| f.severity);
    assert_eq!(severity(inside), Some(Severity::Care), "just as wide");
    assert_eq!(severity(inside - Mm::new(0.1)), None, "a little less");
    assert_eq!(severity(inside + Mm::new(0.1)), Some(Severity::Stop), "a little more");
    let told = finding(Mm::new(89.2)).unwrap().message;
    assert_eq!(told, "the light is 3-9/16 in (89.2 mm) wide, the room inside only 3-1/2 in (88.9 mm)");
}
