//! The cheapest way to make a number of boxes, and the table of other numbers.

use super::{Counted, Job, MOST_BOXES, UnitCost, costs};
use crate::boxes::boards::{self, BoardPlan, Shop, cut_lists};
use crate::boxes::design::setting;
use crate::boxes::face::FaceFacts;
use crate::boxes::price::Costs;
use crate::diag::{Error, Finding};
use crate::units::Cents;

/// A number of boxes, planned.
pub(super) struct Planned {
    pub(super) boards: BoardPlan,
    /// What is to be said of its cut list.
    pub(super) noticed: Vec<Finding>,
    pub(super) counted: Counted,
    pub(super) costs: Costs,
}

impl Planned {
    /// Whether a thorough plan of the same cut list is not worth a search: this
    /// one is proved, or is dearer than the cheapest first plan of any list by
    /// more than better boards could save.
    fn is_final(&self, stock: &Shop, least: Option<Cents>) -> bool {
        let settled = self.boards.proved() && self.boards.cost > Cents(0);
        settled || least.is_some_and(|least| self.costs.total() - self.boards.could_save(stock) > least)
    }
}

/// Takes the thorough plan if it costs less in all, or where boards have no price
/// and only it saves wood; either way what it proves of the boards holds for both.
fn better(first: &mut Option<Planned>, thorough: Planned) {
    let priced = thorough.boards.cost > Cents(0);
    match first {
        Some(first) if priced && first.costs.total() <= thorough.costs.total() => {
            first.boards.bound = thorough.boards.bound;
        }
        _ => *first = Some(thorough),
    }
}

impl Job<'_> {
    /// The cheapest plan found, boards, spares, work and supplies together: with
    /// parts whole or glued up, boards by a first plan or a thorough one.
    fn cheapest(&self, faces: &[(FaceFacts, u32)], boxes: u32, stock: &Shop) -> Result<Planned, Error> {
        let unit = self.settings.unit;
        let lists = cut_lists(&self.lantern.parts.list, boxes, stock, unit)?;
        let mut found = Vec::new();
        for list in &lists {
            let first = boards::plan_quickly(list.value.clone(), stock, unit).ok();
            found.push(first.map(|plan| self.priced(faces, boxes, plan, &list.findings)).transpose()?);
        }
        let least = found.iter().flatten().map(|plan| plan.costs.total()).min();
        let mut too_few = None;
        for (list, first) in lists.iter().zip(&mut found) {
            if first.as_ref().is_some_and(|first| first.is_final(stock, least)) {
                continue;
            }
            match boards::plan(list.value.clone(), stock, unit) {
                Ok(plan) => better(first, self.priced(faces, boxes, plan, &list.findings)?),
                Err(error) => too_few = too_few.or(Some(error)),
            }
        }
        let best = found.into_iter().flatten().min_by_key(|plan| plan.costs.total());
        best.ok_or_else(|| too_few.unwrap_or(Error::Internal { what: "a batch without a cut list".into() }))
    }

    /// A board plan with all that its boxes cost.
    pub(super) fn priced(
        &self,
        faces: &[(FaceFacts, u32)],
        boxes: u32,
        boards: BoardPlan,
        noticed: &[Finding],
    ) -> Result<Planned, Error> {
        let counted = self.count(faces, boxes, &boards, 1.0)?;
        let costs = costs(boxes, &boards, &counted.supplies, &counted.work, &self.shop.rates);
        Ok(Planned { boards, noticed: noticed.to_vec(), counted, costs })
    }

    /// This batch and the table of other sizes, side by side: each is a search
    /// of its own.
    pub(super) fn sizes(&self) -> Result<(Planned, Vec<UnitCost>), Error> {
        let asked = self.table_sizes()?;
        std::thread::scope(|scope| {
            let others = asked.iter().map(|&boxes| (boxes, (boxes != self.boxes).then_some(boxes)));
            let others: Vec<_> =
                others.map(|(boxes, other)| (boxes, other.map(|n| scope.spawn(move || self.unit_at(n))))).collect();
            let own = self.cheapest(self.faces, self.boxes, self.stock)?;
            let line = |(boxes, other): (u32, Option<std::thread::ScopedJoinHandle<'_, _>>)| {
                let unit_cost = match other {
                    Some(thread) => thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))?,
                    None => own.costs.unit(),
                };
                Ok(UnitCost { boxes, unit_cost, fair_price: self.shop.rates.price_for_margin(unit_cost) })
            };
            let table = others.into_iter().map(line).collect::<Result<_, Error>>()?;
            Ok((own, table))
        })
    }

    /// The sizes of the table, each once.
    fn table_sizes(&self) -> Result<Vec<u32>, Error> {
        let asked = &self.settings.stated.price.table;
        if asked.len() > MOST_SIZES {
            let text = format!("{} batch sizes are more than one table shows ({MOST_SIZES})", asked.len());
            return Err(setting("price.table", text, "list fewer"));
        }
        if let Some(boxes) = asked.iter().find(|n| !(1..=MOST_BOXES).contains(*n)) {
            let advice = format!("list sizes from 1 to {MOST_BOXES}");
            return Err(setting("price.table", format!("a batch of {boxes} boxes cannot be planned"), advice));
        }
        let mut sizes = Vec::new();
        for boxes in asked {
            if !sizes.contains(boxes) {
                sizes.push(*boxes);
            }
        }
        Ok(sizes)
    }

    /// Unit cost of a batch of another size, planned as this one is: its own
    /// stacks, templates, holes and boards.
    fn unit_at(&self, boxes: u32) -> Result<Cents, Error> {
        let faces = shared_out(self.faces, self.boxes, boxes);
        let planned = self.cheapest(&faces, boxes, self.stock).or_else(|_| {
            // Too few boards for a larger batch is no fault of this one.
            self.cheapest(&faces, boxes, &self.stock.unlimited())
        });
        Ok(planned?.costs.unit())
    }
}

/// Most lines in the table of batch sizes; each is planned by itself.
const MOST_SIZES: usize = 50;

/// The faces of a batch shared out over another number of boxes in the same
/// proportion, to whole boxes; the largest remainders get what is left, earlier
/// faces first. Faces that come to no box are left out.
pub(super) fn shared_out(faces: &[(FaceFacts, u32)], of: u32, boxes: u32) -> Vec<(FaceFacts, u32)> {
    let (of, boxes) = (u64::from(of.max(1)), u64::from(boxes));
    let sawn: u64 = faces.iter().map(|(_, n)| u64::from(*n)).sum();
    let mut shares: Vec<u64> = faces.iter().map(|(_, n)| u64::from(*n) * boxes / of).collect();
    let mut by_rest: Vec<usize> = (0..faces.len()).collect();
    by_rest.sort_by_key(|&i| std::cmp::Reverse(u64::from(faces[i].1) * boxes % of));
    // Rounded up, so that one box of a batch with few faces has one.
    let left = (sawn * boxes).div_ceil(of) - shares.iter().sum::<u64>();
    for &i in by_rest.iter().take(left as usize) {
        shares[i] += 1;
    }
    let shared = faces.iter().zip(shares).filter(|(_, n)| *n > 0);
    shared.map(|((face, _), n)| (face.clone(), n as u32)).collect()
}
