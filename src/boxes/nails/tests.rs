use kurbo::{Circle, Rect, Shape};

use super::*;
use crate::boxes::face::{EntryHole, FaceCutout};
use crate::boxes::window;
use crate::settings::Length;
use crate::settings::boxes::{BoxSettings, Joint, LidKind, LidSettings, NailSettings};

const KERF: Mm = Mm::new(0.5);
const CEDAR: NailWood = NailWood { specific_gravity: 0.32, prone: true, plywood: false };

fn design(asked: &BoxSettings, nails: &NailSettings) -> Design {
    Design::new(asked, nails, Mm::from_inches(0.625), Unit::Inch).unwrap()
}

fn usual() -> Design {
    design(&BoxSettings::default(), &NailSettings::default())
}

fn face(outlines: Vec<kurbo::BezPath>) -> FaceFacts {
    let cutouts = outlines.into_iter().enumerate();
    let cutouts = cutouts.map(|(i, outline)| FaceCutout { id: format!("cutout-{i}"), outline }).collect();
    FaceFacts { cutouts, ..FaceFacts::default() }
}

fn row<'a>(plan: &'a NailPlan, name: &str) -> &'a NailRow {
    plan.rows.iter().find(|r| r.name == name).unwrap()
}

/// Every rule that holds for any plan: ends, spacings, and no two nails of
/// different rows nearer than the published distance.
fn assert_sound(design: &Design, plan: &NailPlan) {
    let axes: Vec<_> = rows(design)
        .iter()
        .zip(&plan.rows)
        .enumerate()
        .flat_map(|(i, (r, set))| set.nails.iter().map(move |n| (i, r.nail(n.at.get(), design.nail.length.get()))))
        .collect();
    for (r, set) in rows(design).iter().zip(&plan.rows) {
        for pair in set.nails.windows(2) {
            assert!((pair[1].at - pair[0].at).get() >= plan.spacings.along - 1e-6, "{}: {pair:?}", r.name);
        }
        for nail in &set.nails {
            let end = nail.at.get().min(r.length - nail.at.get());
            assert!(end >= plan.spacings.free_end - 1e-6, "{}: {nail:?} too near an end", r.name);
        }
    }
    for (i, (row_a, a)) in axes.iter().enumerate() {
        for (row_b, b) in &axes[..i] {
            if row_a != row_b {
                let gap = rows::nails_apart(*a, *b);
                assert!(gap >= plan.spacings.across - 1e-6, "rows {row_a} and {row_b}: nails {gap} apart");
            }
        }
    }
}

#[test]
fn the_usual_box_is_nailed_by_the_rules() {
    let design = usual();
    let plan = plan(&design, &CEDAR, None, Unit::Inch).value;
    assert_sound(&design, &plan);
    let corner = row(&plan, "front left corner");
    // 10 in less two loaded ends of 15 d = 18.1 mm, at most 3-1/2 in apart.
    assert_eq!(corner.nails.len(), 4, "{corner:?}");
    assert!((corner.nails[0].at.get() - 15.0 * 1.2065).abs() < 1e-6, "{corner:?}");
    assert!((corner.line.inches() - 0.3125).abs() < 1e-9, "half the stock");
    // Common practice check value: overhang and half the stock.
    let base = row(&plan, "base to front");
    assert!((base.line.inches() - (0.5 + 0.3125)).abs() < 1e-9, "{base:?}");
    assert!((base.nails[0].from_end - base.nails[0].at).inches() - 0.5 < 1e-9, "measured from the base's edge");
    assert!(base.end_grain && base.withdrawal_n.is_none(), "end grain holds nothing to count on");
    assert!(corner.withdrawal_n.unwrap() > 0.0, "side grain holds");
    assert!(plan.rows.iter().all(|r| r.dropped == 0), "nothing dropped");
}

#[test]
fn base_nails_and_side_nails_never_meet_in_a_corner() {
    for joint in [Joint::FrontLapsSides, Joint::SidesLapFront] {
        for length in ["1in", "1-1/4in", "1-1/2in", "2in"] {
            for spacing in ["1in", "2in", "3-1/2in"] {
                let nails = NailSettings {
                    length: Length::text(length),
                    spacing: Length::text(spacing),
                    ..NailSettings::default()
                };
                let asked = BoxSettings { joint, ..BoxSettings::default() };
                let design = design(&asked, &nails);
                let plan = plan(&design, &CEDAR, None, Unit::Inch).value;
                assert_sound(&design, &plan);
            }
        }
    }
}

#[test]
fn nails_move_away_from_cut_outs_or_are_left_out() {
    let design = usual();
    let even = plan(&design, &CEDAR, None, Unit::Inch).value;
    let at = even.on_panel().into_iter().find(|n| n.name == "front left corner, nail 2").unwrap();
    // A small cut-out on the nail: the nail moves just clear of it.
    let small = face(vec![Circle::new(at.from, 4.0).to_path(0.001)]);
    let moved = plan(&design, &CEDAR, Some((&small, KERF)), Unit::Inch);
    let nail = row(&moved.value, "front left corner").nails[1];
    let needed = 4.0 + (design.nail.diameter / 2.0 + design.nail.drift + KERF + design.nail_wood).get();
    assert!(nail.moved.get().abs() >= needed - 0.03, "{nail:?} moved less than {needed}");
    assert!(nail.moved.get().abs() <= needed + 0.5, "{nail:?} moved no more than it had to");
    assert!(moved.findings.iter().any(|f| f.id == "nail-moved-front-left-corner"), "{:?}", moved.findings);
    // A cut-out along the whole edge: no nail finds room.
    let slot = face(vec![Rect::new(2.0, 2.0, 12.0, 252.0).to_path(0.1)]);
    let dropped = plan(&design, &CEDAR, Some((&slot, KERF)), Unit::Inch);
    let gone = row(&dropped.value, "front left corner");
    assert_eq!((gone.nails.len(), gone.dropped), (0, 4), "{gone:?}");
    let finding = dropped.findings.iter().find(|f| f.id == "nail-dropped-front-left-corner").unwrap();
    assert_eq!(finding.severity, Severity::Stop, "a corner without nails");
    assert!(row(&dropped.value, "back left corner").dropped == 0, "the back is not touched");
    assert_sound(&design, &moved.value);
}

#[test]
fn nails_keep_clear_of_entry_holes() {
    let design = usual();
    let even = plan(&design, &CEDAR, None, Unit::Inch).value;
    let nail = even.on_panel().into_iter().find(|n| n.edge == Edge::Bottom).unwrap();
    let hole = EntryHole { at: nail.to, diameter: 2.0 };
    let drilled = FaceFacts { entries: vec![hole], ..FaceFacts::default() };
    let plan = plan(&design, &CEDAR, Some((&drilled, KERF)), Unit::Inch).value;
    let wood = (design.nail.diameter / 2.0 + design.nail.drift + design.nail_wood).get();
    for nail in plan.on_panel().iter().filter(|n| n.edge == Edge::Bottom) {
        assert!((nail.to.x - hole.at.x).abs() >= 1.0 + wood - 1e-9, "{nail:?} is too near the hole");
    }
}

#[test]
fn faces_inside_the_window_move_no_nail() {
    for joint in [Joint::FrontLapsSides, Joint::SidesLapFront] {
        let design = design(&BoxSettings { joint, ..BoxSettings::default() }, &NailSettings::default());
        let window = window::derive(&design, KERF, &crate::settings::EdgeClear::default(), Unit::Inch).unwrap();
        let full = face(vec![window.rect().to_path(0.1)]);
        let with = plan(&design, &CEDAR, Some((&full, KERF)), Unit::Inch).value;
        let without = plan(&design, &CEDAR, None, Unit::Inch).value;
        let places = |p: &NailPlan| -> Vec<_> { p.rows.iter().flat_map(|r| r.nails.iter().map(|n| n.at)).collect() };
        assert_eq!(places(&with), places(&without), "{joint:?}: the window is where nails do not care");
    }
}

#[test]
fn thin_and_dense_wood_is_warned_of() {
    let cedar = plan(&usual(), &CEDAR, None, Unit::Inch);
    let split = cedar.findings.iter().find(|f| f.id == "nail-split").unwrap();
    assert_eq!(split.severity, Severity::Note, "5/8 in cedar is just under 14 d");
    assert!(split.advice.contains("0.90 mm"), "{}", split.advice);
    let sound = NailWood { prone: false, ..CEDAR };
    let plain = plan(&usual(), &sound, None, Unit::Inch);
    assert!(plain.findings.iter().all(|f| f.id != "nail-split"), "{:?}", plain.findings);
    let thin = BoxSettings { thickness: Some(Length::text("1/4in")), ..BoxSettings::default() };
    let thin = plan(&design(&thin, &NailSettings::default()), &sound, None, Unit::Inch);
    let split = thin.findings.iter().find(|f| f.id == "nail-split").unwrap();
    assert_eq!(split.severity, Severity::Care, "6.4 mm is under 7 d = 8.4 mm");
    assert!(thin.findings.iter().any(|f| f.id == "nail-edge"), "half of 1/4 in is under 5 d");
    let dense = NailWood { specific_gravity: 0.68, prone: false, plywood: false };
    let dense = plan(&usual(), &dense, None, Unit::Inch);
    assert!(dense.findings.iter().any(|f| f.id == "nail-dense"), "{:?}", dense.findings);
    assert_eq!(dense.value.driving, Driving::Predrilled, "over 500 kg/m3");
}

fn lid(kind: LidKind, strips: &str, board: &str) -> BoxSettings {
    let (strips, board) = (Some(Length::text(strips)), Some(Length::text(board)));
    let lid = LidSettings { kind, strip_thickness: strips, thickness: board, ..LidSettings::default() };
    BoxSettings { lid, ..BoxSettings::default() }
}

/// Each joint is judged by its own pieces: thick strips and a thin lid board
/// among sound walls, and none of it when the box has no lid.
#[test]
fn every_joint_is_judged_by_its_own_pieces() {
    let told = |asked: &BoxSettings, id: &str| {
        let plan = plan(&design(asked, &NailSettings::default()), &CEDAR, None, Unit::Inch);
        plan.findings.into_iter().find(|f| f.id == id).map(|f| f.message)
    };
    // 1 in brads reach 5/16 in through 11/16 in strips, 3/8 in elsewhere.
    let reach = told(&lid(LidKind::LiftOff, "11/16in", "5/8in"), "nail-reach").unwrap();
    assert!(
        reach.contains("3/8 in (9.5 mm) at the wall corners and the base, 5/16 in (7.9 mm) at the lid strips"),
        "{reach}"
    );
    // A 3/8 in lid board leaves 4.8 mm beside the nails, 5 d are 6.0 mm.
    let edge = told(&lid(LidKind::LiftOff, "5/8in", "3/8in"), "nail-edge").unwrap();
    assert!(edge.contains("3/16 in (4.8 mm) at the lid strips") && !edge.contains("corners"), "{edge}");
    let split = told(&lid(LidKind::LiftOff, "0.3in", "5/8in"), "nail-split").unwrap();
    assert!(split.starts_with("5/16 in (7.6 mm) wood"), "{split}");
    let split = told(&lid(LidKind::None, "0.3in", "5/8in"), "nail-split").unwrap();
    assert!(split.starts_with("5/8 in (15.9 mm) wood"), "strips that are not there split nothing: {split}");
}

#[test]
fn one_nail_in_a_short_row_says_how_near_the_ends_it_is() {
    // 5/8 in between front and back: the nail sits 5/16 in from either end.
    let asked = BoxSettings { side_width: Some(Length::text("5/8in")), ..BoxSettings::default() };
    let short = plan(&design(&asked, &NailSettings::default()), &CEDAR, None, Unit::Inch);
    let row = row(&short.value, "base to left side");
    assert_eq!(row.nails.len(), 1, "{row:?}");
    let finding = short.findings.iter().find(|f| f.id == "nail-end-base-to-left-side").unwrap();
    assert!((finding.measured.unwrap() - 25.4 * 0.3125).abs() < 1e-6, "{finding:?}");
    assert_eq!(finding.severity, Severity::Care, "10 d are 12.1 mm");
    let usual = plan(&usual(), &CEDAR, None, Unit::Inch);
    assert!(usual.findings.iter().all(|f| !f.id.starts_with("nail-end")), "{:?}", usual.findings);
}

#[test]
fn a_base_that_ends_near_its_nails_is_warned_of_at_its_ends_only() {
    let told = |overhang: &str, depth: &str| {
        let (overhang, depth) = (Length::text(overhang), Some(Length::text(depth)));
        let asked = BoxSettings { base_overhang: overhang, depth, ..BoxSettings::default() };
        let plan = plan(&design(&asked, &NailSettings::default()), &CEDAR, None, Unit::Mm);
        plan.findings.into_iter().find(|f| f.id == "nail-end").map(|f| f.message)
    };
    // Half of 5/8 in, where 10 d of 1.2065 mm are asked.
    let message = told("0in", "4-3/4in").unwrap();
    assert!(message.contains("into the sides sit 7.9 mm (5/16 in)"), "{message}");
    assert!(message.contains("least is 12.1 mm"), "{message}");
    let deep = told("0in", "7in").unwrap();
    assert!(deep.contains("into the fronts"), "the grain runs front to back: {deep}");
    assert_eq!(told("4.2mm", "4-3/4in"), None, "far enough");
    assert!(told("4.1mm", "4-3/4in").is_some(), "4.13 mm is the least");
}

#[test]
fn a_size_and_its_least_are_never_the_same_figure() {
    let thin = BoxSettings { thickness: Some(Length::text("12mm")), ..BoxSettings::default() };
    for (unit, words) in [(Unit::Mm, ["6.0 mm (3/16 in)", "6.1 mm (1/4 in)"]), (Unit::Inch, ["3/16 in", "1/4 in"])] {
        let plan = plan(&design(&thin, &NailSettings::default()), &CEDAR, None, unit);
        let edge = plan.findings.into_iter().find(|f| f.id == "nail-edge").unwrap().message;
        assert!(words.iter().all(|word| edge.contains(word)), "{edge}");
    }
}
