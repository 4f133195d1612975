//! From a cut list to boards: groups that share boards, whole-number problems, and
//! layouts.

use std::collections::BTreeMap;

use serde::Serialize;

use super::cutlist::same_thickness;
use super::layout::{BoardLayout, Sizes, lay_out};
use super::problem::{Board, Item, Problem, piece, room};
use super::search::{Cutting, NoWay, solve, solve_quickly};
use super::spare::{Spare, spares};
use super::{CutRow, Shop, Stock};
use crate::diag::{Error, Finding, FindingKind, Severity};
use crate::units::{Cents, Mm, Unit};

/// The boards of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardPlan {
    /// The cut list the plan serves.
    pub cut_list: Vec<CutRow>,
    /// How boards are cut; equal boards once.
    pub layouts: Vec<BoardLayout>,
    /// What to buy.
    pub buy: Vec<Purchase>,
    /// Cost of the boards that are cut, spares left out.
    pub cost: Cents,
    /// No plan that cuts this cut list's pieces from boards in two stages costs
    /// less (proved).
    pub bound: Cents,
    /// Cost of the spare boards.
    pub spare_cost: Cents,
    /// Area of the boards that are cut, mm².
    pub board_area: f64,
    /// Area of the pieces, mm².
    pub piece_area: f64,
}

/// Boards of one size to buy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Purchase {
    /// The board, by index in the stock list.
    pub stock: usize,
    /// Its name.
    pub name: String,
    /// Its length.
    pub length: Mm,
    /// Its width.
    pub width: Mm,
    /// Its thickness.
    pub thickness: Mm,
    /// Boards that are cut; none of a size bought to spare only.
    pub cut: u32,
    /// Boards in addition for knots, splits and spoiled cuts, as many of them
    /// as can be had.
    pub spare: u32,
    /// Spare boards wished for that cannot be had, nor another size in their
    /// place.
    pub short: u32,
    /// Price of one.
    pub price: Cents,
}

impl Purchase {
    /// A remark where fewer spare boards can be had than wished for.
    fn finding(&self) -> Option<Finding> {
        let wished = self.spare + self.short;
        let text = format!(
            "{} {} wished for to spare, {} can be had beside the {} that are cut",
            wished, self.name, self.spare, self.cut
        );
        let advice = "look the boards over before buying: a knot or a split in the wrong place leaves a box unfinished";
        let id = format!("spare-{}", self.name.replace(' ', "-"));
        let finding = || Finding::new(id, FindingKind::Plan, Severity::Note, text, advice);
        (self.short > 0).then(|| finding().measured(f64::from(self.spare), f64::from(wished)))
    }
}

impl BoardPlan {
    /// What is worth knowing before the boards are bought.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        self.buy.iter().filter_map(Purchase::finding).collect()
    }

    /// About the most another plan for this cut list saves on boards and spares:
    /// pieces and their kerfs cost so much even where a board's price for the
    /// area between its lost ends is least, and spares their share of that
    /// (derived; a last kerf may fall off the board).
    #[must_use]
    pub fn could_save(&self, shop: &Shop) -> Cents {
        let area = |length: Mm, width: Mm| (length + shop.crosscut).get() * (width + shop.rip).get();
        let per_area = |board: &Stock| board.price.0 as f64 / area(board.usable(), board.width);
        let least = shop.stock.iter().map(per_area).fold(f64::INFINITY, f64::min);
        let pieces: f64 = self.cut_list.iter().map(|r| f64::from(r.count) * area(r.length, r.width)).sum();
        self.cost + self.spare_cost - Cents((pieces * least * (1.0 + shop.spare)).floor() as i64)
    }

    /// Boards that are cut.
    #[must_use]
    pub fn boards(&self) -> u32 {
        self.layouts.iter().map(|l| l.copies).sum()
    }

    /// Share of the boards' area that ends up in no piece.
    #[must_use]
    pub fn waste(&self) -> f64 {
        if self.board_area > 0.0 { 1.0 - self.piece_area / self.board_area } else { 0.0 }
    }

    /// Whether no cheaper boards exist for this cut list.
    #[must_use]
    pub fn proved(&self) -> bool {
        self.cost == self.bound
    }
}

/// Plans the boards for a cut list by a first plan only: quick, and it may need
/// fewer cuts. Its bound is proved only where there are few pieces.
///
/// # Errors
/// [`Error::Sizes`] when the boards on offer are too few, or the first plan does
/// not do with them.
pub fn plan_quickly(cut_list: Vec<CutRow>, shop: &Shop, unit: Unit) -> Result<BoardPlan, Error> {
    plan_with(cut_list, shop, unit, solve_quickly)
}

/// The same thoroughly: the boards cost the least found.
///
/// # Errors
/// [`Error::Sizes`] when the boards on offer are too few.
pub fn plan(cut_list: Vec<CutRow>, shop: &Shop, unit: Unit) -> Result<BoardPlan, Error> {
    plan_with(cut_list, shop, unit, solve)
}

type Solve = fn(&Problem) -> Result<Cutting, NoWay>;

fn plan_with(cut_list: Vec<CutRow>, shop: &Shop, unit: Unit, solve: Solve) -> Result<BoardPlan, Error> {
    let mut plan = BoardPlan {
        piece_area: cut_list.iter().map(|r| f64::from(r.count) * r.length.get() * r.width.get()).sum(),
        cut_list,
        layouts: Vec::new(),
        buy: Vec::new(),
        cost: Cents(0),
        bound: Cents(0),
        spare_cost: Cents(0),
        board_area: 0.0,
    };
    let groups = groups(&plan.cut_list, shop);
    for group in &groups {
        cut_group(&mut plan, group, shop, unit, solve)?;
    }
    buy(&mut plan, &groups, shop);
    // A board given away counts a cent in the search, so that none is wasted.
    plan.bound = plan.bound.min(plan.cost);
    Ok(plan)
}

/// Rows of the cut list and the boards they are cut from, by index.
struct Group {
    rows: Vec<usize>,
    stock: Vec<usize>,
}

/// Whether a row can be cut from a board as far as thickness goes: the same
/// question as the cut list asks of every part.
fn from_board(row: &CutRow, board: &Stock) -> bool {
    same_thickness(row.thickness, board.thickness)
}

/// Rows that share a board of any kind are planned together, so that every row
/// and every board is in one group.
fn groups(rows: &[CutRow], shop: &Shop) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (index, row) in rows.iter().enumerate().filter(|(_, r)| r.count > 0) {
        let stock = (0..shop.stock.len()).filter(|&s| from_board(row, &shop.stock[s])).collect();
        let mut joined = Group { rows: vec![index], stock };
        let (shared, apart) = groups.into_iter().partition(|g| g.stock.iter().any(|s| joined.stock.contains(s)));
        groups = apart;
        let shared: Vec<Group> = shared;
        for group in shared {
            joined.rows.extend(group.rows);
            joined.stock.extend(group.stock);
        }
        joined.rows.sort_unstable();
        joined.stock.sort_unstable();
        joined.stock.dedup();
        groups.push(joined);
    }
    groups.sort_by_key(|g| g.rows.first().copied());
    groups
}

fn cut_group(plan: &mut BoardPlan, group: &Group, shop: &Shop, unit: Unit, solve: Solve) -> Result<(), Error> {
    let Group { rows, stock } = group;
    let (problem, row_of) = problem(plan, rows, stock, shop);
    let cut = solve(&problem).map_err(|_| too_few(group, shop, unit))?;
    let priced = shop.stock.iter().any(|s| s.price > Cents(0));
    if priced {
        plan.bound = plan.bound + Cents(cut.bound);
    }
    let mut left: Vec<u32> = plan.cut_list.iter().map(|r| r.count).collect();
    for (pattern, copies) in &cut.patterns {
        let board = stock[pattern.board];
        plan.board_area += f64::from(*copies) * shop.stock[board].length.get() * shop.stock[board].width.get();
        // Parts of one size are one item; hand its pieces out part by part.
        for (items, same) in hand_out(pattern.counts(problem.items.len()).as_slice(), *copies, &row_of, &mut left) {
            let relabelled = relabel(pattern, &items);
            let sizes = Sizes { rows: &plan.cut_list, items: &relabelled.1, shop, stock: board, unit };
            plan.layouts.push(lay_out(&sizes, &relabelled.0, same));
        }
    }
    Ok(())
}

fn too_few(group: &Group, shop: &Shop, unit: Unit) -> Error {
    let mut thick: Vec<String> = Vec::new();
    for text in group.stock.iter().map(|&s| shop.stock[s].thickness.fine(unit)) {
        if !thick.contains(&text) {
            thick.push(text);
        }
    }
    let text = format!("the {} boards on offer are too few for the batch", thick.join(" and "));
    Error::sizes(text, "raise `available` under boards.stock, add a size, or make fewer boxes")
}

/// The whole-number problem, and the cut-list rows each item stands for.
fn problem(plan: &BoardPlan, rows: &[usize], stock: &[usize], shop: &Shop) -> (Problem, Vec<Vec<usize>>) {
    // Parts of one size are one item, if they are cut from the same boards.
    let mut sizes: BTreeMap<(i64, i64, Vec<usize>), Vec<usize>> = BTreeMap::new();
    for &r in rows {
        let row = &plan.cut_list[r];
        let barred = (0..stock.len()).filter(|&b| !from_board(row, &shop.stock[stock[b]])).collect();
        sizes.entry((piece(row.length), piece(row.width), barred)).or_default().push(r);
    }
    let barred = sizes.keys().enumerate().flat_map(|(i, key)| key.2.iter().map(move |&b| (i, b))).collect();
    let demand = |rows: &Vec<usize>| rows.iter().map(|&r| plan.cut_list[r].count).sum();
    let items = sizes.iter().map(|(&(length, width, _), rows)| Item { length, width, demand: demand(rows) }).collect();
    let priced = shop.stock.iter().any(|s| s.price > Cents(0));
    let boards = stock.iter().map(|&s| {
        let board = &shop.stock[s];
        // Without prices the cost is the area, in square centimetres.
        let area = (board.length.get() * board.width.get() / 100.0).round() as i64;
        let cost = if priced { board.price.0.max(1) } else { area.max(1) };
        Board { length: room(board.usable()), width: room(board.width), cost, limit: board.available }
    });
    let (crosscut, rip) = (piece(shop.crosscut), piece(shop.rip));
    let problem = Problem { items, boards: boards.collect(), barred, crosscut, rip };
    (problem, sizes.into_values().collect())
}

/// Rows for the pieces of `copies` equal boards: for each run of boards that
/// get the same rows, the rows of every piece by item, and the run's length.
fn hand_out(counts: &[u32], copies: u32, row_of: &[Vec<usize>], left: &mut [u32]) -> Vec<(Vec<Vec<usize>>, u32)> {
    let mut runs: Vec<(Vec<Vec<usize>>, u32)> = Vec::new();
    for _ in 0..copies {
        let board: Vec<Vec<usize>> =
            counts.iter().zip(row_of).map(|(&n, rows)| (0..n).filter_map(|_| take(rows, left)).collect()).collect();
        match runs.last_mut() {
            Some((same, times)) if *same == board => *times += 1,
            _ => runs.push((board, 1)),
        }
    }
    runs
}

fn take(rows: &[usize], left: &mut [u32]) -> Option<usize> {
    let row = *rows.iter().find(|&&r| left[r] > 0)?;
    left[row] -= 1;
    Some(row)
}

/// The pattern with every piece its own item, and the items' rows.
fn relabel(pattern: &super::problem::Pattern, rows: &[Vec<usize>]) -> (super::problem::Pattern, Vec<usize>) {
    let mut next = vec![0; rows.len()];
    let mut relabelled = pattern.clone();
    let mut items = Vec::new();
    for piece in relabelled.lanes.iter_mut().flat_map(|lane| &mut lane.pieces) {
        let item = *piece;
        if let Some(&row) = rows[item].get(next[item]) {
            next[item] += 1;
            *piece = items.len();
            items.push(row);
        }
    }
    (relabelled, items)
}

fn buy(plan: &mut BoardPlan, groups: &[Group], shop: &Shop) {
    let cut = |index| plan.layouts.iter().filter(|l| l.stock == index).map(|l| l.copies).sum();
    let cut: Vec<u32> = (0..shop.stock.len()).map(cut).collect();
    let mut spare = vec![Spare::default(); shop.stock.len()];
    for (index, of_size) in groups.iter().flat_map(|group| spares(plan, &group.stock, &cut, shop)) {
        spare[index] = of_size;
    }
    for (index, stock) in shop.stock.iter().enumerate() {
        let (cut, Spare { bought: spare, short }) = (cut[index], spare[index]);
        if cut + spare > 0 {
            plan.cost = plan.cost + stock.price * i64::from(cut);
            plan.spare_cost = plan.spare_cost + stock.price * i64::from(spare);
            plan.buy.push(Purchase {
                stock: index,
                name: stock.name.clone(),
                length: stock.length,
                width: stock.width,
                thickness: stock.thickness,
                cut,
                spare,
                short,
                price: stock.price,
            });
        }
    }
}

#[cfg(test)]
mod tests;
