use super::cheapest::shared_out;
use super::*;
use crate::boxes::boards::{self, cut_lists};
use crate::settings::boxes::StockBoard;
use crate::settings::sections;

pub(crate) fn demo() -> (Settings, Vec<(FaceFacts, u32)>) {
    let mut shop = sections::Shop { lantern: Some(BoxSettings::default()), ..sections::Shop::default() };
    shop.boards.stock.push(StockBoard::wide());
    let settings = Settings::resolve(&shop).unwrap();
    let names = ["owl", "fox", "moon", "gourd", "cat", "moth"];
    let face = |(i, name): (usize, &&str)| {
        let i = i as f64;
        let facts = FaceFacts {
            name: (*name).to_owned(),
            cut_length_mm: 700.0 + 60.0 * i,
            corners: 20,
            holes: 6,
            open_area_mm2: 3500.0,
            ..FaceFacts::default()
        };
        (facts, 4)
    };
    (settings, names.iter().enumerate().map(face).collect())
}

#[test]
fn a_batch_is_planned_to_the_cent() {
    let (settings, faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    let Noted { value: plan, findings } = batch(&settings, &asked, &faces).unwrap();
    assert_eq!(plan.boxes, 24, "six faces, four boxes each");
    let sum: i64 = plan.costs.lines.iter().map(|l| l.amount.0).sum();
    assert_eq!(plan.costs.total().0, sum, "lines add up");
    let groups = [Group::Boards, Group::Supplies, Group::Work, Group::Overhead];
    assert_eq!(groups.map(|g| plan.costs.group(g)).into_iter().sum::<Cents>(), plan.costs.total(), "groups too");
    let boards: Cents = plan.boards.buy.iter().map(|b| b.price * i64::from(b.cut + b.spare)).sum();
    assert_eq!(plan.costs.group(Group::Boards), boards, "boards as bought");
    let money = &plan.money;
    assert_eq!(money.profit + money.fees + money.unit_cost, money.price, "the price is shared out to the cent");
    assert!(money.margin >= 0.3 - 1e-9, "{money:?}");
    assert!(money.break_even.is_some_and(|n| n <= 24), "{:?}", money.break_even);
    let units: Vec<_> = money.table.iter().map(|r| r.unit_cost).collect();
    assert!(units.windows(2).all(|w| w[1] <= w[0]), "larger batches cost less a box: {units:?}");
    assert!(findings.iter().any(|f| f.id == "clearest-board"), "{findings:?}");
    let brads = plan.supplies.iter().find(|s| s.name == "brads").unwrap();
    assert_eq!(brads.used, (plan.lantern.nails.count() as f64 * 24.0 * 1.05).ceil(), "every nail and 5 %");
}

/// The table's line is what a batch of that size costs when it is planned.
#[test]
fn the_table_and_a_batch_of_that_size_agree() {
    let (mut settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    faces.truncate(1);
    settings.stated.price.table = vec![1, 2, 6, 12, 48];
    for stock in [1, 2] {
        settings.stated.boards.stock.truncate(3 - stock);
        faces[0].1 = 24;
        let table = batch(&settings, &asked, &faces).unwrap().value.money.table;
        for row in table {
            faces[0].1 = row.boxes;
            let own = batch(&settings, &asked, &faces).unwrap().value.money.unit_cost;
            assert_eq!(row.unit_cost, own, "{} boxes from {} sizes of board", row.boxes, 3 - stock);
        }
    }
}

#[test]
fn the_table_shows_every_size_once_or_says_why_not() {
    let (mut settings, faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.price.table = vec![3, 3, 1];
    let table = batch(&settings, &asked, &faces).unwrap().value.money.table;
    assert_eq!(table.iter().map(|row| row.boxes).collect::<Vec<_>>(), [3, 1], "as listed");
    for wrong in [0, 20_000] {
        settings.stated.price.table = vec![wrong];
        let error = batch(&settings, &asked, &faces).unwrap_err().to_string();
        assert!(error.contains("price.table") && error.contains(&wrong.to_string()), "{error}");
    }
}

#[test]
fn a_face_listed_twice_is_set_up_once() {
    let (settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    let once = batch(&settings, &asked, &faces).unwrap().value;
    faces[0].1 = 2;
    faces.push(faces[0].clone());
    assert_eq!(batch(&settings, &asked, &faces).unwrap().value, once, "two lines of two are one of four");
}

/// Pickets at 3.50 and a wide board, `available` as given.
fn with_wide(cents: i64, available: Option<u32>) -> (Settings, BoxSettings, Vec<(FaceFacts, u32)>) {
    let (mut settings, faces) = demo();
    let wide = settings.stated.boards.stock.last_mut().unwrap();
    wide.price = crate::settings::Money::cents(cents);
    wide.available = available;
    let asked = settings.lantern.clone().unwrap();
    (settings, asked, faces)
}

#[test]
fn a_wide_board_that_is_scarce_or_dear_does_not_stop_gluing_up() {
    let (mut settings, asked, faces) = with_wide(799, None);
    settings.stated.boards.stock.pop();
    let pickets = batch(&settings, &asked, &faces).unwrap().value.costs.total();
    for (cents, available) in [(849, Some(1)), (849, Some(0)), (30_000, None)] {
        let (settings, asked, faces) = with_wide(cents, available);
        let Noted { value: plan, findings } = batch(&settings, &asked, &faces).unwrap();
        assert!(plan.costs.total() <= pickets, "{cents} {available:?}: one board more on offer costs nothing");
        assert!(findings.iter().any(|f| f.id == "glue-up-base"), "{findings:?}");
    }
    let (settings, asked, faces) = with_wide(799, None);
    let plan = batch(&settings, &asked, &faces).unwrap().value;
    assert!(plan.boards.cut_list.iter().all(|row| row.strips == 1), "whole where gluing costs more");
}

#[test]
fn gluing_up_takes_time_and_glue() {
    let (mut settings, asked, faces) = with_wide(799, None);
    let whole = batch(&settings, &asked, &faces).unwrap().value;
    settings.stated.boards.stock.pop();
    let glued = batch(&settings, &asked, &faces).unwrap().value;
    let times = |plan: &Batch, name| plan.work.operations.iter().find(|o| o.name == name).map(|o| o.times);
    assert_eq!(times(&whole, "glue up wide parts"), None, "nothing is glued up");
    assert_eq!(times(&glued, "glue up wide parts"), Some(24.0), "a base each");
    assert_eq!(times(&glued, "true edges to glue up"), Some(48.0), "two edges each");
    assert_eq!(times(&glued, "rip them to width"), Some(24.0), "and one rip");
    let glue = |plan: &Batch| plan.supplies.iter().find(|s| s.name == "glue").unwrap().used;
    // A joint 6-1/4 in long and 5/8 in thick in each base, 180 g a square metre.
    let more = 24.0 * 6.25 * 0.625 * 25.4 * 25.4 / 1e6 * 180.0;
    assert!((glue(&glued) - glue(&whole) - more).abs() < 1e-9, "{} and {}", glue(&glued), glue(&whole));
}

/// What the table tells and what is said of the smallest batch that pays agree,
/// and batches of the sizes about it bear it out.
#[test]
fn the_smallest_batch_that_pays_is_one_the_table_shows_to_pay() {
    let (mut settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.boards.stock.truncate(1);
    faces.truncate(1);
    settings.stated.price.table = (1..=16).collect();
    for (boxes, cents) in [(1, 4500), (12, 4500), (12, 5200)] {
        faces[0].1 = boxes;
        settings.stated.price.price = Some(crate::settings::Money::cents(cents));
        let money = batch(&settings, &asked, &faces).unwrap().value.money;
        let left = money.price - money.fees;
        let first = money.table.iter().find(|row| row.unit_cost <= left).map(|row| row.boxes);
        assert_eq!(money.break_even, first, "{boxes} boxes at {cents}: {:?}", money.table);
        settings.stated.price.table = vec![48];
        let alone = batch(&settings, &asked, &faces).unwrap().value.money.break_even;
        assert_eq!(alone, first, "{boxes} boxes at {cents}, without the table's help");
        settings.stated.price.table = (1..=16).collect();
    }
}

/// Cutting is paid for: the plan is never dearer in all than a first plan's.
#[test]
fn a_plan_is_chosen_by_all_it_costs() {
    let (mut settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.boards.stock.truncate(1);
    faces.truncate(1);
    for boxes in [12, 48] {
        faces[0].1 = boxes;
        let stock = Shop::new(&settings.stated.boards, settings.panel.thickness, settings.unit).unwrap();
        let planned = batch(&settings, &asked, &faces).unwrap().value;
        let shop = BatchShop::new(&settings).unwrap();
        let lantern = &planned.lantern;
        let job = Job { settings: &settings, shop: &shop, lantern, faces: &faces, boxes, stock: &stock };
        for list in cut_lists(&lantern.parts.list, boxes, &stock, settings.unit).unwrap() {
            let first = boards::plan_quickly(list.value, &stock, settings.unit).unwrap();
            let first = job.priced(&faces, boxes, first, &[]).unwrap().costs.total();
            assert!(planned.costs.total() <= first, "{boxes} boxes: {:?}, {first:?}", planned.costs.total());
        }
    }
}

#[test]
fn boards_without_a_price_are_saved_all_the_same() {
    let (mut settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.boards.stock.iter_mut().for_each(|board| board.price = crate::settings::Money::cents(0));
    faces.truncate(1);
    faces[0].1 = 100;
    let planned = batch(&settings, &asked, &faces).unwrap().value;
    let stock = Shop::new(&settings.stated.boards, settings.panel.thickness, settings.unit).unwrap();
    let list = cut_lists(&planned.lantern.parts.list, 100, &stock, settings.unit).unwrap().remove(0);
    let least = boards::plan(list.value, &stock, settings.unit).unwrap().board_area;
    assert!(planned.boards.board_area <= least, "fewer cuts do not pay for more wood");
}

#[test]
fn faces_are_shared_out_to_whole_boxes() {
    let face = |name: &str, n| (FaceFacts { name: name.into(), ..FaceFacts::default() }, n);
    let faces = [face("owl", 6), face("fox", 4), face("moth", 2)];
    let shares = |n| shared_out(&faces, 12, n).iter().map(|(f, n)| (f.name.clone(), *n)).collect::<Vec<_>>();
    let list = |all: &[(&str, u32)]| all.iter().map(|(name, n)| ((*name).to_owned(), *n)).collect::<Vec<_>>();
    assert_eq!(shares(24), list(&[("owl", 12), ("fox", 8), ("moth", 4)]), "twice as many");
    assert_eq!(shares(1), list(&[("owl", 1)]), "the face most have");
    assert_eq!(shares(12), list(&[("owl", 6), ("fox", 4), ("moth", 2)]), "as they are");
    for n in 1..100 {
        assert_eq!(shares(n).iter().map(|(_, n)| n).sum::<u32>(), n, "every box has a face");
    }
}

#[test]
fn boxes_without_a_face_are_told_and_faces_without_a_box_left_out() {
    let (mut settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.batch.boxes = Some(24);
    faces[1].1 = 0;
    let Noted { value: plan, findings } = batch(&settings, &asked, &faces).unwrap();
    assert_eq!(plan.faces.len(), 5, "the fox is on no box");
    let told = findings.iter().find(|f| f.id == "boxes-without-face").unwrap();
    assert!(told.message.starts_with("4 of 24 boxes"), "{}", told.message);
    let setups = plan.work.operations.iter().find(|o| o.name == "set up each face").unwrap();
    assert!((setups.times - 5.0).abs() < 1e-9, "nothing is set up for the fox");
}

#[test]
fn a_box_wants_upright_grain() {
    let (mut settings, _) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.panel.grain_deg = 0.0;
    let error = lantern(&settings, &asked, None).unwrap_err();
    assert!(error.to_string().contains("grain upright"), "{error}");
    settings.panel.grain_deg = 80.0;
    assert!(lantern(&settings, &asked, None).is_ok(), "a slanting board is upright still");
}

#[test]
fn impossible_counts_are_refused() {
    let (mut settings, faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    settings.stated.batch.boxes = Some(10);
    let error = batch(&settings, &asked, &faces).expect_err("24 faces on 10 boxes");
    assert!(error.to_string().contains("the faces ask for 24 boxes"), "{error}");
    settings.stated.batch.boxes = None;
    assert!(batch(&settings, &asked, &[]).unwrap_err().to_string().contains("no boxes"), "nothing to make");
}

#[test]
fn a_forced_face_is_reported_by_name() {
    let (settings, mut faces) = demo();
    let asked = settings.lantern.clone().unwrap();
    let outline = kurbo::Shape::to_path(&kurbo::Rect::new(3.0, 30.0, 130.0, 200.0), 0.1);
    faces[0].0.cutouts.push(FaceCutout { id: "cut-out 1".into(), outline });
    let findings = batch(&settings, &asked, &faces).unwrap().findings;
    let over = findings.iter().find(|f| f.kind == FindingKind::OverClearance).unwrap();
    assert!(over.message.starts_with("owl: cut-out 1 comes to"), "{}", over.message);
    assert!(over.message.contains("it meets front left corner, nail"), "{}", over.message);
}
