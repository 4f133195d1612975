//! Faces with known best answers.

use kurbo::{BezPath, Circle, Point, Rect, Shape};

use super::*;
use crate::check::Checks;
use crate::face::{Clearances, Fit, Panel, number_cutouts};
use crate::geom::boolean::{Rule, resolve, subtract, union};

use super::wood::Wood;

/// A face of SVG path data, even-odd, in millimetres with y up, on a 100 by
/// 200 mm panel with upright grain.
pub(super) fn face(svg: &str) -> Face {
    of(&BezPath::from_svg(svg).unwrap())
}

pub(super) fn of(path: &BezPath) -> Face {
    let region = resolve(path, Rule::EvenOdd);
    let mm = Mm::new;
    Face {
        panel: Panel { width: mm(100.0), height: mm(200.0), thickness: mm(15.9), grain_deg: 90.0 },
        clear: Clearances::all(mm(12.0)),
        cutouts: number_cutouts(region.pieces.into_iter().map(|p| (p, None)).collect()),
        fit: Fit::AS_DRAWN,
    }
}

fn circles(all: &[(f64, f64, f64)]) -> BezPath {
    all.iter().flat_map(|&(x, y, r)| Circle::new((x, y), r).to_path(1e-6)).collect()
}

pub(super) fn options() -> Options {
    Options::new(check::Options::default(), None)
}

pub(super) fn mended(face: &Face) -> Mended {
    let options = options();
    mend(face, &check::run(face, &options.checks), &options)
}

/// No island, no weak bridge is left.
pub(super) fn sound(checks: &Checks) -> bool {
    checks.islands.is_empty() && checks.bridges.is_empty()
}

fn bridges(mended: &Mended) -> Vec<&Edit> {
    mended.edits.iter().filter(|edit| edit.kind == EditKind::Bridge).collect()
}

/// Direction of a bridge as seen from `center`, degrees.
fn bearing(edit: &Edit, center: (f64, f64)) -> f64 {
    (edit.at - Point::from(center)).atan2().to_degrees()
}

#[test]
fn a_ring_is_bridged_along_the_grain_on_both_sides() {
    let face = of(&circles(&[(50.0, 100.0, 14.0), (50.0, 100.0, 8.0)]));
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let mut at: Vec<f64> = bridges(&mended).iter().map(|b| bearing(b, (50.0, 100.0))).collect();
    at.sort_by(f64::total_cmp);
    assert_eq!(at.len(), 2, "two bridges: {at:?}");
    assert!((at[0] + 90.0).abs() < 1.0 && (at[1] - 90.0).abs() < 1.0, "below and above: {at:?}");
    assert!(mended.summary.proven && mended.edits.iter().all(|e| e.finding.as_deref() == Some("island-1")), "for it");
    let width = bridges(&mended)[0].width.unwrap();
    assert!((3.0..3.5).contains(&width), "the floor of a short bridge along the grain: {width}");
}

#[test]
fn the_grain_turned_turns_the_bridges() {
    let mut face = of(&circles(&[(50.0, 100.0, 14.0), (50.0, 100.0, 8.0)]));
    face.panel.grain_deg = 0.0;
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    for bridge in bridges(&mended) {
        let off = (bridge.at.y - 100.0).abs();
        assert!(off < 1.0, "left and right: {:?}", bridge.at);
    }
}

#[test]
fn an_off_centre_island_is_held_through_its_thin_side() {
    // The gap is 2 mm on the left, 14 mm on the right.
    let face = of(&circles(&[(50.0, 100.0, 14.0), (44.0, 100.0, 6.0)]));
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    for bridge in bridges(&mended) {
        assert!(bridge.at.x < 45.0, "on the thin side: {:?}", bridge.at);
        assert!(bridge.length.unwrap() < 8.0, "short: {:?}", bridge.length);
    }
}

#[test]
fn a_chain_of_islands_hangs_together_outward() {
    // A ring in a ring in a ring.
    let face = of(&circles(&[(50.0, 100.0, 34.0), (50.0, 100.0, 30.0), (50.0, 100.0, 18.0), (50.0, 100.0, 14.0)]));
    let options = options();
    let checks = check::run(&face, &options.checks);
    assert_eq!(checks.islands.len(), 2, "the ring and the core");
    let mended = mend(&face, &checks, &options);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let of = |id: &str| {
        mended.edits.iter().filter(|e| e.kind == EditKind::Bridge && e.finding.as_deref() == Some(id)).count()
    };
    assert!(of("island-1") >= 2 && of("island-2") >= 2, "both held by two");
}

#[test]
fn two_islands_in_a_row_share_one_line_of_bridges() {
    // Two blocks one above the other, 5 mm apart, in a slot 5 mm from them above
    // and below and 25 mm at the sides.
    let mut path = Rect::new(15.0, 80.0, 85.0, 125.0).to_path(1e-6);
    path.extend(&Rect::new(40.0, 85.0, 60.0, 100.0).to_path(1e-6));
    path.extend(&Rect::new(40.0, 105.0, 60.0, 120.0).to_path(1e-6));
    let mended = mended(&of(&path));
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let mut ys: Vec<f64> = bridges(&mended).iter().map(|b| b.at.y).collect();
    ys.sort_by(f64::total_cmp);
    assert!(ys.len() <= 4, "no more than four: {ys:?}");
    assert!(ys.iter().any(|y| (100.0..105.0).contains(y)), "one between them: {ys:?}");
    assert!(ys.first().unwrap() < &85.0 && ys.last().unwrap() > &120.0, "and out at either end: {ys:?}");
    assert!(bridges(&mended).iter().all(|b| b.length.unwrap() < 6.0), "none across the wide sides");
}

#[test]
fn a_tall_tooth_gets_safe() {
    // A tooth with a head: its neck, 4 mm wide across the grain, holds it alone.
    let tooth = face("M20 60h60v80h-60v-38h24v4h12v-12h-12v4h-24z");
    let checks = check::run(&tooth, &options().checks);
    assert!(checks.bridges.iter().any(|b| b.loose_area > 0.0), "the tooth hangs on its root: {:?}", checks.bridges);
    let mended = mend(&tooth, &checks, &options());
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    assert!(mended.summary.area_changed_share < 0.25, "changed {}", mended.summary.area_changed_share);
}

#[test]
fn a_thin_bridge_is_widened_as_far_as_needed_and_no_farther() {
    // Two openings 2 mm apart along the grain over 20 mm.
    let face = face("M30 90h19v20h-19z M51 90h19v20h-19z");
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let edit = &mended.edits[0];
    assert_eq!(edit.kind, EditKind::Widen, "{edit:?}");
    let width = edit.width.unwrap();
    assert!((3.0..3.2).contains(&width), "the floor of a bridge along the grain: {width}");
    assert!((mended.summary.greatest_displacement_mm - (width - 2.0) / 2.0).abs() < 0.1, "shared by both sides");
    let lost = 760.0 - wood::openings(&mended.face).area();
    assert!(lost < 20.0 * (width - 2.0) + 3.0, "nothing else moved: {lost}");
}

#[test]
fn outlines_not_at_fault_stay_the_same_curves() {
    let far = Circle::new((50.0, 160.0), 10.0).to_path(1e-6);
    let mut path = circles(&[(50.0, 100.0, 14.0), (50.0, 100.0, 8.0)]);
    path.extend(&far);
    let face = of(&path);
    let untouched = face.cutouts.iter().find(|c| c.piece.bounds().y0 > 140.0).unwrap();
    let mended = mended(&face);
    assert!(mended.face.cutouts.iter().any(|c| c.piece == untouched.piece), "curve for curve");
}

#[test]
fn a_point_of_contact_becomes_a_bridge_or_is_opened() {
    let face = face("M30 80l20 20l-20 20z M70 80l-20 20l20 20z");
    let checks = check::run(&face, &options().checks);
    assert!(checks.bridges.iter().any(|b| b.width == 0.0), "they touch: {:?}", checks.bridges);
    let bridged = mend(&face, &checks, &options());
    assert!(sound(&bridged.checks), "{:?}", bridged.checks.bridges);
    assert_eq!(bridged.face.cutouts.len(), 2, "parted");
    let opened = mend(&face, &checks, &Options { contacts: Contacts::Open, ..options() });
    assert_eq!(opened.face.cutouts.len(), 1, "joined");
    assert!(sound(&opened.checks), "{:?}", opened.checks.bridges);
}

#[test]
fn symmetric_faces_stay_symmetric() {
    let face = of(&circles(&[
        (30.0, 120.0, 12.0),
        (30.0, 120.0, 5.0),
        (70.0, 120.0, 12.0),
        (70.0, 120.0, 5.0),
        (50.0, 70.0, 20.0),
        (50.0, 74.0, 9.0),
    ]));
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let axis = mended.summary.axis_mm.unwrap();
    assert!((axis - 50.0).abs() < 1e-6, "axis {axis}");
    let open = wood::openings(&mended.face);
    let image = open.transformed(symmetry::Mirror { axis }.affine());
    let off = open.area() - crate::geom::boolean::intersect(&open, &image).area();
    assert!(off < 0.05, "its own mirror image within {off} mm²");
    for edit in &mended.edits {
        let pair = edit.pair.map(|id| mended.edits.iter().find(|e| e.id == id).unwrap());
        assert!(pair.is_some_and(|p| p.pair == Some(edit.id)) || (edit.at.x - axis).abs() < 0.8, "{edit:?}");
    }
}

#[test]
fn mending_twice_changes_nothing() {
    let face = of(&circles(&[(50.0, 100.0, 14.0), (46.0, 100.0, 8.0)]));
    let once = mended(&face);
    let twice = mended(&once.face);
    assert!(twice.edits.is_empty() && twice.face == once.face, "{:?}", twice.edits);
}

#[test]
fn a_refused_edit_stays_undone_and_the_others_keep_their_numbers() {
    let face = of(&circles(&[(30.0, 120.0, 12.0), (30.0, 120.0, 5.0), (65.0, 70.0, 12.0), (64.0, 70.0, 5.0)]));
    let all = mended(&face);
    let refused = all.edits[0].id;
    let checks = check::run(&face, &options().checks);
    let left = mend(&face, &checks, &Options { leave: vec![refused], ..options() });
    assert!(left.edits.iter().all(|e| e.id != refused), "{:?}", left.edits);
    let at = |m: &Mended, id: u32| m.edits.iter().find(|e| e.id == id).map(|e| e.at);
    for edit in all.edits.iter().filter(|e| e.finding != all.edits[0].finding) {
        assert_eq!(at(&left, edit.id), Some(edit.at), "edit {} keeps its number", edit.id);
    }
}

/// Every pair of edits names each other.
fn in_pairs(mended: &Mended) -> bool {
    let of = |id: u32| mended.edits.iter().find(|edit| edit.id == id);
    mended.edits.iter().all(|e| e.pair.is_none_or(|pair| of(pair).is_some_and(|image| image.pair == Some(e.id))))
}

#[test]
fn an_edit_refused_takes_its_mirror_image_along() {
    // Pupils in eyes, thin bars beside a mouth, and slots.
    let mut path = circles(&[(30.0, 150.0, 12.0), (30.0, 150.0, 5.0), (70.0, 150.0, 12.0), (70.0, 150.0, 5.0)]);
    path.extend(&BezPath::from_svg("M18 80h9v20h-9z M29 80h9v20h-9z M62 80h9v20h-9z M73 80h9v20h-9z").unwrap());
    path.extend(&BezPath::from_svg("M20 115h0.3v12h-0.3z M79.7 115h0.3v12h-0.3z").unwrap());
    let face = of(&path);
    let checks = check::run(&face, &options().checks);
    let all = mend(&face, &checks, &options());
    let pairs: Vec<[u32; 2]> =
        all.edits.iter().filter_map(|e| Some([e.id, e.pair?])).filter(|pair| pair[0] < pair[1]).collect();
    let kind = |id: u32| all.edits.iter().find(|e| e.id == id).unwrap().kind;
    for wanted in [EditKind::Bridge, EditKind::Widen, EditKind::Slot] {
        assert!(pairs.iter().any(|pair| kind(pair[0]) == wanted), "a pair of {wanted:?}");
    }
    for pair in pairs {
        let left = pair.map(|id| mend(&face, &checks, &Options { leave: vec![id], ..options() }));
        assert_eq!(left[0].edits, left[1].edits, "whichever half of {pair:?} is named");
        assert_eq!(left[0].images, [(pair[0], pair[1])], "told");
        assert_eq!(left[1].images, [(pair[1], pair[0])], "told");
        for mended in &left {
            assert!(mended.edits.iter().all(|e| !pair.contains(&e.id)) && in_pairs(mended), "{:?}", mended.edits);
            let others = all.edits.iter().filter(|e| kind(e.id) != kind(pair[0]));
            let kept = |e: &Edit| mended.edits.iter().any(|m| m == e);
            others.for_each(|e| assert!(kept(e), "{} as it was without {pair:?}", e.id));
        }
    }
}

#[test]
fn a_width_asked_for_one_half_is_made_in_both() {
    let face = face("M18 80h9v20h-9z M29 80h9v20h-9z M62 80h9v20h-9z M73 80h9v20h-9z");
    let checks = check::run(&face, &options().checks);
    for id in [1, 2] {
        let wide = mend(&face, &checks, &Options { widths: vec![(id, Mm::new(5.0))], ..options() });
        let widths: Vec<Option<f64>> = wide.edits.iter().map(|edit| edit.width).collect();
        assert_eq!(widths, [Some(5.0), Some(5.0)], "asked of {id}");
    }
}

#[test]
fn slots_by_the_clearance_are_opened_inward() {
    // The window is 76 wide; the slots lie along its sides, below and above the middle.
    let face = face("M12 40h0.3v30h-0.3z M87.7 120h0.3v30h-0.3z M30 80h40v30h-40z");
    let mended = mended(&face);
    assert!(mended.checks.slots.is_empty(), "{:?}", mended.checks.slots);
    assert_eq!(mended.edits.iter().filter(|e| e.kind == EditKind::Slot).count(), 2, "{:?}", mended.edits);
    let open = wood::openings(&mended.face).bounds();
    assert!(open.x0 > 12.0 - 1e-3 && open.x1 < 88.0 + 1e-3, "clear of the clearance: {open:?}");
}

#[test]
fn a_width_asked_for_is_made() {
    let face = of(&circles(&[(50.0, 100.0, 14.0), (50.0, 100.0, 8.0)]));
    let checks = check::run(&face, &options().checks);
    let wide = mend(&face, &checks, &Options { widths: vec![(1, Mm::new(5.0))], ..options() });
    assert_eq!(wide.edits[0].width, Some(5.0), "{:?}", wide.edits[0]);
    assert!(sound(&wide.checks), "{:?}", wide.checks.bridges);
}

#[test]
fn the_same_face_gives_the_same_bytes() {
    let face = of(&circles(&[(50.0, 100.0, 14.0), (46.0, 103.0, 8.0)]));
    assert_eq!(svg(&mended(&face).face), svg(&mended(&face).face), "twice");
}

#[test]
fn an_edit_can_be_refused_and_widened_by_its_place() {
    let face = of(&circles(&[(50.0, 100.0, 14.0), (50.0, 100.0, 8.0)]));
    let full = mended(&face);
    let (first, second) = (bridges(&full)[0].clone(), bridges(&full)[1].clone());
    let ruled = |edit: &Edit, width| Ruling { kind: edit.kind, at: edit.at, width };
    let rulings = vec![ruled(&first, None), ruled(&second, Some(9.0))];
    let options = Options { rulings, ..options() };
    let left = mend(&face, &check::run(&face, &options.checks), &options);
    let at = |edit: &Edit| left.edits.iter().find(|e| e.kind == edit.kind && e.at.distance(edit.at) < 1.5);
    assert!(at(&first).is_none(), "refused");
    assert_eq!(at(&second).and_then(|e| e.width), Some(9.0), "widened");
}

fn first_round<'a>(face: &'a Face, options: &'a Options, wood: Wood) -> work::Work<'a> {
    let (props, stood) = (work::Props::Free, Vec::new());
    work::Work { face, wood, mirror: None, options, rulings: &[], props, stood, round: 0 }
}

#[test]
fn an_island_the_plan_leaves_loose_gets_the_best_single_bridge() {
    // Two islands, one in the other, and no plan at all.
    let face = face("M20 60h60v80h-60z M30 70h40v60h-40z M38 80h24v40h-24z M44 88h12v24h-12z");
    let (options, wood) = (options(), Wood::of(&face));
    let islands: Vec<usize> = wood.islands().collect();
    assert_eq!(islands.len(), 2, "as drawn");
    let work = first_round(&face, &options, wood);
    let needed = |span| work.needed(span);
    let ground = candidates::Ground {
        wood: &work.wood,
        grain: work.grain(),
        needed: &needed,
        mirror: None,
        barred: &|_: &candidates::Candidate| false,
    };
    let rescues = rescue::rescues(&work, &ground, &islands, &[]);
    assert_eq!(rescues.len(), 2, "one each");
    let changes: Vec<Change> = rescues.into_iter().map(|r| Change::GiveBack(r.shape)).collect();
    let held = apply::apply(&face, changes.iter());
    assert_eq!(Wood::of(&held).islands().count(), 0, "nothing falls out");
}

#[test]
fn an_island_smaller_than_its_bridge_is_let_fall() {
    let face = face("M30 80h40v40h-40z M49 99h2v2h-2z");
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.islands);
    assert_eq!(mended.edits.len(), 1, "{:?}", mended.edits);
    assert_eq!((mended.edits[0].kind, mended.edits[0].finding.as_deref()), (EditKind::Trim, Some("island-1")));
    assert!((wood::openings(&mended.face).area() - 1600.0).abs() < 1e-3, "the opening is whole");
}

#[test]
fn what_wants_care_stays_as_drawn_when_only_stops_are_mended() {
    // Upright bars 20 mm long that need 3 mm: 2.0 wants care, 1.5 stops.
    let stops = Options { aim: Aim::Stops, ..options() };
    let run = |face: &Face| mend(face, &check::run(face, &stops.checks), &stops);
    let care = run(&face("M30 90h19v20h-19z M51 90h19v20h-19z"));
    assert!(care.edits.is_empty() && care.unmended.is_empty(), "{:?}", care.edits);
    let stop = run(&face("M30 90h19v20h-19z M50.5 90h19v20h-19z"));
    let width = stop.checks.bridges[0].width;
    assert!((1.89..1.95).contains(&width), "0.6 of what is needed, surely, and the margin: {width}");
    assert!(stop.unmended.is_empty(), "{:?}", stop.unmended);
}

#[test]
fn a_contact_without_a_way_through_gets_a_round_of_wood() {
    let face = face("M30 80l20 20l-20 20z M70 80l-20 20l20 20z");
    let checks = check::run(&face, &options().checks);
    let touch = checks.bridges.iter().find(|b| b.width == 0.0).unwrap();
    let options = options();
    let work = first_round(&face, &options, Wood::of(&face));
    let draft = thicken::patched(&work, touch, None).unwrap();
    let after = check::run(&apply::apply(&face, std::iter::once(&draft.change)), &options.checks);
    assert!(after.bridges.iter().all(|b| b.width > 2.0), "parted: {:?}", after.bridges);
}

/// A cat's head with one eye, whose slit pupil breaks through the upper lid: the
/// eye's halves hang together by the lower lid alone.
fn slit_eye() -> Face {
    let head = "M15 10 L40 35 Q55 30 70 35 L95 10 L100 75 Q90 120 55 125 Q20 120 10 75Z";
    let [head, eye] = [head, "M20 65 Q33 48 47 68 Q33 78 20 65Z"].map(|d| BezPath::from_svg(d).unwrap());
    let pupil = kurbo::Ellipse::new((34.0, 64.0), (3.0, 7.0), 0.0).to_path(1e-6);
    let on_panel = kurbo::Affine::new([0.8, 0.0, 0.0, -0.8, 6.0, 150.0]);
    let [head, eye, pupil] = [head, eye, pupil].map(|path| resolve(&(on_panel * path), Rule::NonZero));
    let openings = union(&subtract(&head, &eye), &pupil);
    let cutouts = number_cutouts(openings.pieces.into_iter().map(|piece| (piece, None)).collect());
    Face { cutouts, ..face("M0 0Z") }
}

#[test]
fn what_is_weak_in_an_island_is_told_once_and_measured_once_it_hangs() {
    let face = slit_eye();
    let before = check::run(&face, &options().checks);
    assert_eq!((before.islands.len(), before.bridges.len()), (1, 1), "{:#?}", before.bridges);
    let mended = mended(&face);
    assert!(sound(&mended.checks), "{:?}", mended.checks.bridges);
    let others = mended.edits.iter().filter(|edit| edit.kind != EditKind::Bridge);
    let widest = others.filter_map(|edit| edit.width).fold(0.0, f64::max);
    // Held at one end the lid would need more than 20 mm.
    assert!(widest > 0.0 && widest < 14.0, "{widest}: {:?}", mended.edits.iter().map(|e| &e.why).collect::<Vec<_>>());
}

#[test]
fn an_opening_whose_frame_an_edit_meets_but_not_itself_stays_the_same_curves() {
    let angle = "M20 20 H80 V30 H30 V80 H20 Z";
    let face = face(angle);
    let square = |x: f64, y: f64| resolve(&Rect::new(x, y, x + 10.0, y + 10.0).to_path(1e-9), Rule::NonZero);
    let given = |x, y| Change::GiveBack(square(x, y));
    assert_eq!(apply::apply(&face, [given(60.0, 60.0)].iter()), face, "only its frame is met");
    let less = apply::apply(&face, [given(60.0, 20.0)].iter());
    assert!((less.cutouts.iter().map(|c| c.piece.area()).sum::<f64>() - 1000.0).abs() < 1e-6, "a part given back");
}

#[test]
fn islands_let_fall_on_a_symmetric_face_are_a_pair() {
    let face = of(&circles(&[(30.0, 100.0, 9.0), (30.0, 100.0, 1.2), (70.0, 100.0, 9.0), (70.0, 100.0, 1.2)]));
    let fallen: Vec<_> = mended(&face).edits.into_iter().filter(|edit| edit.kind == EditKind::Trim).collect();
    assert_eq!(fallen.iter().map(|edit| (edit.id, edit.pair)).collect::<Vec<_>>(), [(1, Some(2)), (2, Some(1))]);
}
