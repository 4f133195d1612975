//! Boards bought in addition: how many of which size.

use super::cutlist::{fits, same_thickness};
use super::plan::BoardPlan;
use super::{Shop, Stock};

/// Spare boards of one size.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Spare {
    /// Bought.
    pub(super) bought: u32,
    /// Wished for, and neither to be had nor made good by another size.
    pub(super) short: u32,
}

/// Spare boards by size, for the boards of a group, those that share pieces: a
/// board of another thickness is no spare for them. What cannot be had is bought
/// in the cheapest other size that all its pieces can be cut from.
pub(super) fn spares(plan: &BoardPlan, group: &[usize], cut: &[u32], shop: &Shop) -> Vec<(usize, Spare)> {
    let counts: Vec<u32> = group.iter().map(|&s| cut[s]).collect();
    let wished = wished(&counts, shop.spare);
    let room = |s: usize, bought: u32| shop.stock[s].available.map_or(u32::MAX, |n| n.saturating_sub(cut[s] + bought));
    let of = |(&s, &wished): (&usize, &u32)| {
        let bought = wished.min(room(s, 0));
        (s, Spare { bought, short: wished - bought })
    };
    let mut spares: Vec<(usize, Spare)> = group.iter().zip(&wished).map(of).collect();
    for from in 0..spares.len() {
        for to in instead(plan, spares[from].0, group, shop) {
            let more = spares[from].1.short.min(room(spares[to].0, spares[to].1.bought));
            spares[from].1.short -= more;
            spares[to].1.bought += more;
        }
    }
    spares
}

/// Sizes of the group, by index in it, that do for everything cut from a board;
/// cheapest first.
fn instead(plan: &BoardPlan, of: usize, group: &[usize], shop: &Shop) -> Vec<usize> {
    let layouts = plan.layouts.iter().filter(|layout| layout.stock == of);
    let rows: Vec<usize> = layouts.flat_map(|layout| layout.pieces.iter().map(|piece| piece.row)).collect();
    let does = |board: &Stock| {
        rows.iter().map(|&row| &plan.cut_list[row]).all(|row| {
            let size = fits(row.length, board.usable()) && fits(row.width, board.width);
            size && same_thickness(row.thickness, board.thickness)
        })
    };
    let mut sizes: Vec<usize> = (0..group.len()).filter(|&i| group[i] != of && does(&shop.stock[group[i]])).collect();
    sizes.sort_by_key(|&i| shop.stock[group[i]].price);
    sizes
}

/// Spare boards of each size that serves the same parts: together at least the share
/// asked for, whole boards, the largest remainders rounded up, where they are alike
/// those of sizes with none yet.
fn wished(cut: &[u32], share: f64) -> Vec<u32> {
    let each = |n: &u32| f64::from(*n) * share;
    let mut wished: Vec<u32> = cut.iter().map(|n| (each(n) + 1e-9).floor() as u32).collect();
    let whole = (f64::from(cut.iter().sum::<u32>()) * share - 1e-9).ceil().max(0.0) as u32;
    let rest = |i: usize| ((each(&cut[i]) - f64::from(wished[i])) * 1e6).round() as i64;
    let mut by_rest: Vec<usize> = (0..cut.len()).collect();
    by_rest.sort_by_key(|&i| (std::cmp::Reverse(rest(i)), wished[i]));
    let left = whole.saturating_sub(wished.iter().sum());
    for index in by_rest.into_iter().take(left as usize) {
        wished[index] += 1;
    }
    wished
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boxes::boards::{BoardPlan, cut_lists, plan};
    use crate::boxes::parts::{Part, PartKind};
    use crate::settings::boxes::{BoardSettings, StockBoard};
    use crate::settings::{Length, Money};
    use crate::units::{Mm, Unit};

    #[test]
    fn spares_are_the_asked_share_of_the_whole() {
        let cases =
            [(&[4, 1][..], 0.1, [1, 0]), (&[13, 3], 0.1, [1, 1]), (&[20, 10], 0.1, [2, 1]), (&[4, 1], 0.0, [0, 0])];
        for (cut, share, spare) in cases {
            assert_eq!(wished(cut, share), spare, "{share} of {cut:?}");
        }
    }

    fn stock(name: &str, width: f64, thickness: f64, cents: i64, available: Option<u32>) -> StockBoard {
        StockBoard {
            name: name.into(),
            length: Length::Number(71.0),
            width: Length::Number(width),
            thickness: Some(Length::Number(thickness)),
            price: Money::cents(cents),
            available,
            ..StockBoard::wide()
        }
    }

    /// A plan of so many pieces 10 in long, by width and thickness, inches.
    fn planned(stock: Vec<StockBoard>, pieces: &[(f64, f64, u32)]) -> BoardPlan {
        let asked = BoardSettings { stock, glue_up: false, ..BoardSettings::default() };
        let shop = Shop::new(&asked, Mm::from_inches(0.625), Unit::Inch).unwrap();
        let part = |&(width, thickness, count): &(f64, f64, u32)| Part {
            kind: PartKind::Base,
            count,
            length: Mm::from_inches(10.0),
            width: Mm::from_inches(width),
            thickness: Mm::from_inches(thickness),
        };
        let parts: Vec<Part> = pieces.iter().map(part).collect();
        plan(cut_lists(&parts, 1, &shop, Unit::Inch).unwrap().remove(0).value, &shop, Unit::Inch).unwrap()
    }

    fn bought(plan: &BoardPlan) -> Vec<(&str, u32, u32, u32)> {
        plan.buy.iter().map(|b| (b.name.as_str(), b.cut, b.spare, b.short)).collect()
    }

    #[test]
    fn a_spare_that_cannot_be_had_is_bought_in_a_size_that_does() {
        let scarce = || stock("scarce", 5.5, 0.625, 300, Some(4));
        let fives = [(5.0, 0.625, 24)];
        let wide = stock("wide", 7.25, 0.625, 800, None);
        let plan = planned(vec![scarce(), wide], &fives);
        assert_eq!(bought(&plan), [("scarce", 4, 0, 0), ("wide", 0, 1, 0)], "the wide one does");
        assert_eq!(plan.spare_cost.0, 800, "and is paid for");
        assert!(plan.findings().is_empty(), "{:?}", plan.findings());
        let narrow = stock("narrow", 3.5, 0.625, 100, None);
        let thick = stock("thick", 7.25, 0.75, 100, None);
        let plan = planned(vec![scarce(), narrow, thick], &fives);
        assert_eq!(bought(&plan), [("scarce", 4, 0, 1)], "too narrow, too thick");
        assert_eq!(plan.findings().len(), 1, "told");
    }

    #[test]
    fn boards_of_another_thickness_have_spares_of_their_own() {
        let thin = stock("thin", 5.5, 0.625, 300, None);
        let thick = stock("thick", 5.5, 0.75, 400, None);
        let plan = planned(vec![thin, thick], &[(5.0, 0.625, 24), (5.0, 0.75, 6)]);
        assert_eq!(bought(&plan), [("thin", 4, 1, 0), ("thick", 1, 1, 0)], "one cannot stand in for the other");
    }
}
