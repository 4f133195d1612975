//! What a maker may trust of mending: edits can be refused down to the last, what is
//! left is called by its name, symmetric faces stay so, and a lost face is told.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

use std::fs;
use std::path::Path;

use fretgrin::diag::{FindingKind, Severity};
use fretgrin::mend::EditKind;
use fretgrin::outcome::ANOTHER_FACE;
use fretgrin::pipeline::{self, Repaired, Wishes};
use fretgrin::settings::{Length, Settings, Shop};
use fretgrin::trade::strength::Limit;
use fretgrin::units::Mm;

fn settings() -> Settings {
    Settings::resolve(&Shop::default()).unwrap()
}

fn demo(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("demo-faces/{name}.svg"))).unwrap()
}

fn mended(bytes: &[u8], leave: &[u32]) -> Repaired {
    let wishes = Wishes { leave: leave.to_vec(), ..Wishes::default() };
    pipeline::mended(bytes, "face.svg", &settings(), |_| Ok(wishes)).unwrap()
}

#[test]
fn what_takes_the_place_of_a_refused_edit_can_be_refused_too() {
    let cat = demo("cat");
    let all = mended(&cat, &[]).mended.edits;
    let most = all.iter().map(|edit| edit.id).max().unwrap();
    // One whose refusal brings others.
    let brings = |id: u32| mended(&cat, &[id]).mended.edits.iter().any(|edit| edit.id > most);
    let refused = all.iter().map(|edit| edit.id).find(|id| brings(*id)).unwrap();
    let instead = mended(&cat, &[refused]).mended.edits;
    let new = instead.iter().find(|edit| edit.id > most).unwrap();
    assert!(new.why.ends_with("in place of what you left"), "{}", new.why);
    let left = mended(&cat, &[refused, new.id]).mended;
    assert!(left.unknown.is_empty() && left.edits.iter().all(|edit| ![refused, new.id].contains(&edit.id)));
    let wishes = Wishes { leave: vec![refused, 500], ..Wishes::default() };
    assert!(pipeline::mended(&cat, "cat.svg", &settings(), |_| Ok(wishes)).is_err(), "no such edit");
}

#[test]
fn a_fault_left_as_asked_is_called_as_the_checks_called_it() {
    let gourd = demo("gourd");
    let edits = mended(&gourd, &[]).mended.edits;
    let widened = edits.iter().filter(|edit| edit.kind == EditKind::Widen);
    let mut seen = 0;
    for edit in widened.take(6) {
        let left = mended(&gourd, &[edit.id]).mended.unmended;
        assert!(left.iter().all(|(id, _)| Some(id) == edit.finding.as_ref()), "edit {}: {left:?}", edit.id);
        seen += left.len();
    }
    assert!(seen > 0, "some fault was left");
}

/// A pupil in an eye in the middle of the panel: panel and pupil have one centre.
#[test]
fn a_symmetric_eye_in_the_middle_of_the_panel_gets_symmetric_bridges() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">
        <path fill-rule="evenodd" d="M50 10a40 40 0 0 1 0 80a40 40 0 0 1 0 -80z M50 38a12 12 0 0 0 0 24a12 12 0 0 0 0 -24z"/></svg>"#;
    let Repaired { after, mended, .. } = mended(svg.as_bytes(), &[]);
    assert_eq!(after.count(Severity::Stop), 0);
    let axis = mended.summary.axis_mm.unwrap();
    assert!((axis - 133.35 / 2.0).abs() < 0.01, "{axis}");
    let mut images: Vec<f64> = mended.edits.iter().map(|edit| edit.at.x - axis).collect();
    images.sort_by(f64::total_cmp);
    for (a, b) in images.iter().zip(images.iter().rev()) {
        assert!((a + b).abs() < 0.01, "in pairs or on the axis: {images:?}");
    }
}

#[test]
fn a_face_lost_in_mending_stops_the_work_everywhere() {
    // A spiral: wood between its turns is held by one end only.
    let turns = |r: f64, from: usize, to: usize, step: isize| {
        let count = to.abs_diff(from);
        let at = move |i: usize| from as isize + step * i as isize;
        (0..=count).map(move |i| {
            let turn = at(i) as f64 / 40.0;
            let (sin, cos) = (turn * std::f64::consts::TAU).sin_cos();
            let radius = r + 9.0 * turn;
            format!("{:.3} {:.3}", 100.0 + radius * cos, 100.0 + radius * sin)
        })
    };
    let points: Vec<String> = turns(8.0, 0, 360, 1).chain(turns(13.0, 360, 0, -1)).collect();
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 200"><path d="M{}z"/></svg>"#,
        points.join(" L")
    );
    let Repaired { after, mended, .. } = mended(svg.as_bytes(), &[]);
    assert!(mended.summary.area_changed_share > ANOTHER_FACE, "{}", mended.summary.area_changed_share);
    let told = after.findings.iter().find(|finding| finding.kind == FindingKind::Mending).unwrap();
    assert!(told.severity == Severity::Stop && told.measured.unwrap() > 50.0, "{told:?}");
}

#[test]
fn a_bridge_as_wide_as_asked_is_wide_enough() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">
        <path d="M20 30h28.5v40h-28.5z M51.5 30h28.5v40h-28.5z"/></svg>"#;
    let weak = |asked: f64| {
        let mut shop = Shop::default();
        shop.fit.true_size = true;
        shop.panel.width = Length::text("120mm");
        let mut settings = Settings::resolve(&shop).unwrap();
        settings.bridge = Limit::Fixed(Mm::new(asked));
        pipeline::check(svg.as_bytes(), "face.svg", &settings).unwrap().checks.bridges.len()
    };
    assert_eq!([weak(3.0), weak(3.005), weak(3.02)], [0, 0, 1], "a report tells hundredths");
}

#[test]
fn the_neck_is_told_as_wide_as_it_becomes() {
    let widened = mended(&demo("gourd"), &[]).mended.edits.into_iter().filter(|edit| edit.kind == EditKind::Widen);
    let two: Vec<_> = widened.filter(|edit| edit.why.contains(" and up to ")).collect();
    assert!(!two.is_empty(), "some strip is wider beside its neck");
    for edit in two {
        let told = |after: &str| {
            let words = edit.why.split_once(after).unwrap().1;
            words.split_once(" mm").unwrap().0.parse::<f64>().unwrap()
        };
        let (neck, most) = (told(" to "), told(" and up to "));
        assert!((neck - edit.width.unwrap()).abs() < 0.01 && most > 1.05 * neck - 0.02, "{}", edit.why);
    }
}

#[test]
fn room_for_an_entry_hole_is_made_clear_of_the_clearance() {
    let mut shop = Shop::default();
    shop.fit.true_size = true;
    let settings = Settings::resolve(&shop).unwrap();
    let window = settings.clear.window(&settings.panel);
    // As wide as the window, with an opening too narrow for the hole along each side.
    let (width, right) = (window.width(), window.width() - 1.2);
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="100mm" viewBox="0 0 {width} 100">
        <path d="M0 20h1.2v12h-1.2z M{right} 20h1.2v12h-1.2z M25 10h35v60h-35z"/></svg>"#
    );
    let Repaired { before, after, mended, .. } =
        pipeline::mended(svg.as_bytes(), "face.svg", &settings, |_| Ok(Wishes::default())).unwrap();
    assert_eq!((before.holes.len(), after.holes.len()), (1, 3), "{:?}", mended.edits);
    assert!(mended.edits.iter().any(|edit| edit.kind == EditKind::EntryRoom), "{:?}", mended.edits);
    let open = after.face.cutouts.iter().map(|c| c.piece.bounds()).reduce(|a, b| a.union(b)).unwrap();
    assert!(open.x0 > window.x0 - 1e-3 && open.x1 < window.x1 + 1e-3, "{open:?} in {window:?}");
}

#[test]
fn a_mended_face_keeps_its_small_openings_at_another_size() {
    let face = |mark: &str| {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="133.35mm" height="254mm" viewBox="0 0 133.35 254" {mark}>
            <path d="M40 80h50v60h-50z M64 180h3v3h-3z"/></svg>"#
        )
    };
    let mut shop = Shop::default();
    shop.fit.width = Some(Length::text("60mm"));
    let settings = Settings::resolve(&shop).unwrap();
    let openings =
        |mark: &str| pipeline::check(face(mark).as_bytes(), "face.svg", &settings).unwrap().face.cutouts.len();
    assert_eq!(openings(""), 1, "a star far from the face is a stray to a drawing");
    assert_eq!(openings(r#"data-fretgrin-panel="133.35 254""#), 2, "and a part of the face to one made here");
}
