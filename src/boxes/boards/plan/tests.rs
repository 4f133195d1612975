use super::*;
use crate::boxes::boards::{Order, cut_lists};
use crate::boxes::{Design, parts};
use crate::settings::boxes::{BoardSettings, BoxSettings, NailSettings, StockBoard};
use crate::settings::{Length, Money};

fn shop(asked: &BoardSettings) -> Shop {
    Shop::new(asked, Mm::from_inches(0.625), Unit::Inch).unwrap()
}

fn two_boards() -> BoardSettings {
    let mut asked = BoardSettings::default();
    asked.stock.push(StockBoard::wide());
    asked
}

fn lantern_parts() -> Vec<parts::Part> {
    let design =
        Design::new(&BoxSettings::default(), &NailSettings::default(), Mm::from_inches(0.625), Unit::Inch).unwrap();
    parts::derive(&design, Unit::Inch).unwrap().value.list
}

fn batch(boxes: u32, asked: &BoardSettings) -> BoardPlan {
    let shop = shop(asked);
    let rows = cut_lists(&lantern_parts(), boxes, &shop, Unit::Inch).unwrap().remove(0).value;
    plan(rows, &shop, Unit::Inch).unwrap()
}

fn apart(a: (f64, f64, f64, f64), b: (f64, f64, f64, f64)) -> bool {
    let eps = 1e-3;
    a.0 + a.2 <= b.0 + eps || b.0 + b.2 <= a.0 + eps || a.1 + a.3 <= b.1 + eps || b.1 + b.3 <= a.1 + eps
}

/// No piece overlaps another or an offcut, all lie on the board between its
/// lost ends, and every piece of the cut list is there.
fn assert_layouts(plan: &BoardPlan) {
    let mut made = vec![0u32; plan.cut_list.len()];
    for layout in &plan.layouts {
        let mut all = Vec::new();
        for p in &layout.pieces {
            let row = &plan.cut_list[p.row];
            assert_eq!((p.length, p.width), (row.length, row.width), "the size on the cut list");
            made[p.row] += layout.copies;
            all.push((p.x.get(), p.y.get(), p.length.get(), p.width.get()));
        }
        all.extend(layout.offcuts.iter().map(|o| (o.x.get(), o.y.get(), o.length.get(), o.width.get())));
        let right = (layout.length - layout.end_loss).get() + 2e-3;
        for (i, a) in all.iter().enumerate() {
            assert!(a.0 >= layout.end_loss.get() - 1e-9 && a.1 >= -1e-9, "{a:?} on the board");
            assert!(a.0 + a.2 <= right && a.1 + a.3 <= layout.width.get() + 2e-3, "{a:?} on the board");
            assert!(all[..i].iter().all(|b| apart(*a, *b)), "{a:?} overlaps in {layout:#?}");
        }
    }
    let wanted: Vec<u32> = plan.cut_list.iter().map(|r| r.count).collect();
    assert_eq!(made, wanted, "every part of every box");
}

#[test]
fn layouts_hold_every_part_and_nothing_overlaps() {
    for boxes in [1, 5, 24, 100] {
        for asked in [BoardSettings::default(), two_boards()] {
            let plan = batch(boxes, &asked);
            assert_layouts(&plan);
            assert!(plan.bound <= plan.cost, "the bound is below");
            let cost: Cents = plan.buy.iter().map(|p| p.price * i64::from(p.cut)).sum();
            assert_eq!(cost, plan.cost, "the boards bought cost what the plan says");
            assert!((0.0..1.0).contains(&plan.waste()), "{}", plan.waste());
        }
    }
}

#[test]
fn layouts_hold_every_strip_and_filler() {
    let asked = BoardSettings::default();
    let shop = shop(&asked);
    let lists = cut_lists(&lantern_parts(), 4, &shop, Unit::Inch).unwrap();
    let boards = |list: &crate::diag::Noted<Vec<CutRow>>| {
        let plan = plan(list.value.clone(), &shop, Unit::Inch).unwrap();
        assert_layouts(&plan);
        plan.boards()
    };
    assert_eq!(lists.iter().map(boards).collect::<Vec<_>>(), [4, 3], "halves of a base, and a base with a filler");
}

#[test]
fn cuts_are_counted_as_they_are_listed() {
    let plan = batch(24, &two_boards());
    for layout in &plan.layouts {
        let count = |cut| layout.steps.iter().filter(|s| s.cut == cut).map(|s| s.times).sum::<u32>();
        assert_eq!(layout.crosscuts, count(super::super::Cut::Crosscut), "crosscuts");
        assert_eq!(layout.rips, count(super::super::Cut::Rip), "rips");
        if layout.order == Order::RipFirst {
            assert!(layout.crosscuts as usize > layout.pieces.len(), "one for each piece and the trim");
        }
    }
}

#[test]
fn a_base_wider_than_every_board_is_glued_up_or_refused() {
    let plan = batch(4, &BoardSettings::default());
    let base = plan.cut_list.iter().find(|r| r.strips == 2).unwrap();
    assert!((base.width.inches() - (5.75 / 2.0 + 0.0625)).abs() < 1e-9, "half the base and jointing");
    assert_eq!(base.count, 8, "two strips for each base");
    let asked = BoardSettings { glue_up: false, ..BoardSettings::default() };
    let error = refusal(&asked);
    assert!(error.contains("base is 5-3/4 in") && error.contains("wider than any board"), "{error}");
    let mut short = BoardSettings::default();
    short.stock[0].length = Length::text("9in");
    assert!(refusal(&short).contains("front is 10 in (254.0 mm) long, longer than any board"), "{}", refusal(&short));
}

/// Lengths and widths that come out even in floating point only by luck.
#[test]
fn a_part_as_large_as_its_board_fits() {
    let part = |length, width| parts::Part {
        kind: parts::PartKind::Base,
        count: 1,
        length: Mm::from_inches(length),
        width: Mm::from_inches(3.75) + Mm::from_inches(width) * 2.0,
        thickness: Mm::from_inches(0.625),
    };
    let mut asked = BoardSettings::default();
    (asked.stock[0].length, asked.stock[0].width) = (Length::text("11in"), Length::text("4-3/4in"));
    let shop = shop(&asked);
    let rows = cut_lists(&[part(10.0, 0.5)], 1, &shop, Unit::Inch).unwrap().remove(0).value;
    assert_eq!(rows[0].strips, 1, "not glued up");
    assert_eq!(plan(rows, &shop, Unit::Inch).unwrap().boards(), 1, "one board");
    let error = cut_lists(&[part(10.001, 0.5)], 1, &shop, Unit::Inch).unwrap_err().to_string();
    assert!(error.contains("leaves 10 in (254.0 mm) between its lost ends (1/2 in (12.7 mm) at each)"), "{error}");
}

fn refusal(asked: &BoardSettings) -> String {
    cut_lists(&lantern_parts(), 4, &shop(asked), Unit::Inch).unwrap_err().to_string()
}

#[test]
fn boards_without_prices_are_saved_by_area() {
    let mut asked = two_boards();
    asked.stock.iter_mut().for_each(|s| s.price = Money::cents(0));
    let plan = batch(6, &asked);
    assert_layouts(&plan);
    assert_eq!(plan.cost, Cents(0), "no prices, no cost");
}
