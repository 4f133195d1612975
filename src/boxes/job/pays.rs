//! The smallest batch that pays for itself, its boards planned.

use super::cheapest::{Planned, shared_out};
use super::{Group, Job, UnitCost, costs, line, work_lines};
use crate::boxes::boards::{self, Shop, cut_lists};
use crate::boxes::face::FaceFacts;
use crate::boxes::price::{Costs, MOST_BOXES, break_even};
use crate::diag::Error;
use crate::units::Cents;

/// Batches planned one after another before the steps grow (ours: whole boards
/// make the cost jump by a few boxes' worth, not by more).
const ONE_BY_ONE: u32 = 32;
/// Steps after that, a share of the batch (ours).
const STEP: u32 = 16;

/// What is known of a price before any other batch is planned.
pub(super) struct Asked<'a> {
    /// What a sale leaves.
    pub(super) left: Cents,
    /// The price.
    pub(super) price: Cents,
    /// This batch.
    pub(super) own: &'a Planned,
    /// Unit costs of other sizes.
    pub(super) table: &'a [UnitCost],
}

impl Asked<'_> {
    /// Whether a batch pays, where it is planned already: what is told must not
    /// be at odds with the figures that stand beside it.
    fn known(&self, boxes: u32) -> Option<bool> {
        let own = std::iter::once((self.own.costs.boxes, self.own.costs.unit()));
        let mut all = own.chain(self.table.iter().map(|row| (row.boxes, row.unit_cost)));
        all.find(|(n, _)| *n == boxes).map(|(_, unit)| unit <= self.left)
    }

    /// The smallest of the batches planned already that pays.
    fn least_known(&self) -> Option<u32> {
        let sizes = self.table.iter().map(|row| row.boxes).chain([self.own.costs.boxes]);
        sizes.filter(|&n| self.known(n) == Some(true)).min()
    }
}

impl Job<'_> {
    /// The smallest batch that pays for itself at a price when all of it is sold,
    /// by first plans of its boards. Only sizes whose wood and work pay even
    /// without offcuts are planned.
    pub(super) fn pays_from(&self, asked: &Asked<'_>) -> Result<Option<u32>, Error> {
        let known = asked.least_known();
        let faces = self.bare_faces();
        let floor = |n: u32| self.floor(asked.own, &faces, n);
        let Some(from) = break_even(&self.shop.rates, asked.price, &floor)? else { return Ok(known) };
        let most = known.unwrap_or(MOST_BOXES);
        let pays = |n: u32| match asked.known(n) {
            Some(known) => Ok(known),
            None => Ok(self.first_total(&faces, n)? <= asked.left * i64::from(n)),
        };
        Ok(first(from, most, &pays)?.or(known))
    }

    /// The faces without their outlines: counting does not ask for them.
    fn bare_faces(&self) -> Vec<(FaceFacts, u32)> {
        let bare = |(face, n): &(FaceFacts, u32)| {
            let face = FaceFacts { cutouts: Vec::new(), entries: Vec::new(), ..face.clone() };
            (face, *n)
        };
        self.faces.iter().map(bare).collect()
    }

    /// About the least `n` boxes cost: boards by the area of their pieces alone,
    /// no work at them.
    fn floor(&self, own: &Planned, faces: &[(FaceFacts, u32)], n: u32) -> Result<Cents, Error> {
        let plan = &own.boards;
        let wood = (plan.cost + plan.spare_cost - plan.could_save(self.stock)).0 as f64 / f64::from(self.boxes);
        let counted = self.count(&shared_out(faces, self.boxes, n), n, plan, 0.0)?;
        let wood = line(Group::Boards, "boards", Cents((wood * f64::from(n)).floor() as i64));
        let supplies = counted.supplies.iter().map(|s| line(Group::Supplies, s.name, s.cost));
        let lines = supplies.chain([wood]).chain(work_lines(&counted.work, &self.shop.rates));
        Ok(Costs { boxes: n, lines: lines.collect() }.total())
    }

    /// What `n` boxes cost by the cheapest first plan of their boards; too few
    /// boards for a larger batch are taken as enough, as in the table.
    fn first_total(&self, faces: &[(FaceFacts, u32)], n: u32) -> Result<Cents, Error> {
        let faces = shared_out(faces, self.boxes, n);
        let of = |stock: &Shop| self.first_plans(&faces, n, stock);
        of(self.stock).or_else(|_| of(&self.stock.unlimited()))
    }

    fn first_plans(&self, faces: &[(FaceFacts, u32)], n: u32, stock: &Shop) -> Result<Cents, Error> {
        let unit = self.settings.unit;
        let mut least: Result<Cents, Error> = Err(Error::Internal { what: "a batch without a cut list".into() });
        for list in cut_lists(&self.lantern.parts.list, n, stock, unit)? {
            let total = boards::plan_quickly(list.value, stock, unit).and_then(|plan| {
                let counted = self.count(faces, n, &plan, 1.0)?;
                Ok(costs(n, &plan, &counted.supplies, &counted.work, &self.shop.rates).total())
            });
            least = match (least, total) {
                (Ok(least), Ok(total)) => Ok(least.min(total)),
                (least, total) => least.or(total),
            };
        }
        least
    }
}

/// The first number that pays, up to `most`: one by one, then in growing steps,
/// and between the last two of those by halves.
fn first(from: u32, most: u32, pays: &dyn Fn(u32) -> Result<bool, Error>) -> Result<Option<u32>, Error> {
    let (mut before, mut n) = (from - 1, from);
    if from > most {
        return Ok(None);
    }
    while !pays(n)? {
        if n == most {
            return Ok(None);
        }
        before = n;
        let step = if n < from + ONE_BY_ONE { 1 } else { (n / STEP).max(1) };
        n = (n + step).min(most);
    }
    while n - before > 1 {
        let middle = before.midpoint(n);
        if pays(middle)? { n = middle } else { before = middle }
    }
    Ok(Some(n))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_that_pays_is_found_whatever_the_steps() {
        for least in [1, 7, 40, 41, 99, 500, 1999] {
            let found = first(1, 2000, &|n| Ok(n >= least)).unwrap();
            assert_eq!(found, Some(least), "of those from {least} on");
        }
        assert_eq!(first(5, 2000, &|n| Ok(n == 8 || n > 20)).unwrap(), Some(8), "small ones are each looked at");
        assert_eq!(first(5, 2000, &|_| Ok(false)).unwrap(), None, "none");
        assert_eq!(first(9, 8, &|_| Ok(true)).unwrap(), None, "none within the limit");
    }
}
