//! The job sheet: what to buy, what to cut, how long it takes, what it costs,
//! and what to mind.

use super::{Request, flow, minding, noticed};
use crate::boxes::batch::Operation;
use crate::boxes::boards::CutRow;
use crate::boxes::job::Batch;
use crate::boxes::report;
use crate::sheet::Sheet;
use crate::sheet::flow::{Align, Flow, Table};
use crate::units::{Cents, Mm, Unit, long_text};

pub(super) fn sheets(batch: &Batch, request: &Request<'_>) -> Vec<Sheet> {
    let mut flow = flow(request, "job sheet", 2);
    summary(&mut flow, batch, request);
    faces(&mut flow, batch, request.unit);
    buying(&mut flow, batch, request.unit);
    cut_list(&mut flow, batch, request.unit);
    work(&mut flow, batch, request.unit);
    costs(&mut flow, batch);
    price(&mut flow, batch);
    noticed(&mut flow, request);
    minding(&mut flow, request);
    flow.finish()
}

fn summary(flow: &mut Flow, batch: &Batch, request: &Request<'_>) {
    let design = &batch.lantern.design;
    let unit = request.unit;
    flow.fact("Boxes", &batch.boxes.to_string());
    flow.fact("Wood", &format!("{}, {} thick", request.wood.name, design.thickness.fine(unit)));
    let size = [design.width, design.depth, design.height].map(|l| l.text(unit));
    flow.fact("Walls", &format!("{} wide, {} deep, {} high", size[0], size[1], size[2]));
    flow.fact("Work", &hours(batch.work.total()));
    let money = |c: Cents| c.with_sign(&batch.money.currency);
    flow.fact("Cost", &format!("{}, {} a box", money(batch.costs.total()), money(batch.money.unit_cost)));
    flow.remark("Times and prices are the shop file's; where it says nothing they are assumptions to replace.");
}

fn faces(flow: &mut Flow, batch: &Batch, unit: Unit) {
    if batch.faces.is_empty() {
        return;
    }
    flow.heading("Faces");
    let mut table = Table::new(&[
        ("Face", Align::Left),
        ("Boxes", Align::Right),
        ("Templates", Align::Right),
        ("Line", Align::Right),
        ("Holes", Align::Right),
    ])
    .stretching(0);
    for share in &batch.faces {
        table.row([
            share.face.name.clone(),
            share.boxes.to_string(),
            share.boxes.div_ceil(batch.stack.max(1)).to_string(),
            long_text(share.face.cut_length_mm, unit),
            share.face.holes.to_string(),
        ]);
    }
    flow.table(&table);
    if batch.stack > 1 {
        flow.remark(&format!("Panels are sawn in stacks of up to {}; one template does for a stack.", batch.stack));
    }
}

fn buying(flow: &mut Flow, batch: &Batch, unit: Unit) {
    flow.heading("To have at hand");
    let mut table = Table::new(&[("What", Align::Left), ("Used", Align::Right), ("Have", Align::Right)]).stretching(0);
    for bought in &batch.boards.buy {
        let size = [bought.length, bought.width, bought.thickness].map(|l| l.text(unit)).join(" × ");
        let spare = if bought.spare > 0 { format!(" ({} to spare)", bought.spare) } else { String::new() };
        let boards = |n: u32| if n == 1 { "1 board".to_owned() } else { format!("{n} boards") };
        let name = format!("{}, {size}{spare}", bought.name);
        table.row([name, boards(bought.cut), boards(bought.cut + bought.spare)]);
    }
    for supply in &batch.supplies {
        let used = match supply.unit {
            "mm" => Mm::new(supply.used).text(unit),
            unit => format!("{} {unit}", amount(supply.used)),
        };
        let have = match supply.unit {
            "mm" => format!("{} × {}", supply.packs, Mm::new(supply.pack).text(unit)),
            unit if (supply.pack - 1.0).abs() > 1e-9 => {
                format!("{} × {} {unit}", supply.packs, amount(supply.pack))
            }
            unit => format!("{} {unit}", supply.packs),
        };
        table.row([supply.name.to_owned(), used, have]);
    }
    flow.table(&table);
}

fn amount(value: f64) -> String {
    match value {
        v if (v - v.round()).abs() < 1e-6 => format!("{v:.0}"),
        v if v < 10.0 => format!("{v:.2}"),
        v => format!("{v:.1}"),
    }
}

fn cut_list(flow: &mut Flow, batch: &Batch, unit: Unit) {
    flow.heading("Cut list");
    let mut table =
        Table::new(&[("Part", Align::Left), ("Pieces", Align::Right), ("Length × width", Align::Right)]).stretching(0);
    for row in &batch.boards.cut_list {
        let glued = glued(row);
        table.row([
            format!("{}  {}{glued}", row.mark, row.piece()),
            row.count.to_string(),
            format!("{} × {}", row.length.text(unit), row.width.text(unit)),
        ]);
    }
    flow.table(&table);
    flow.remark("Length runs with the grain. The board drawings say which cut comes first on each board.");
}

/// How the strips of a glued-up part go together.
fn glued(row: &CutRow) -> String {
    match (row.strips, row.each) {
        (1, _) => String::new(),
        _ if row.filler => ", 1 beside the others".to_owned(),
        (all, each) if all == each => format!(", {all} make one"),
        (_, 1) => ", with a filler strip makes one".to_owned(),
        (_, each) => format!(", {each} and a filler strip make one"),
    }
}

fn work(flow: &mut Flow, batch: &Batch, unit: Unit) {
    flow.heading("Work");
    let mut table =
        Table::new(&[("Operation", Align::Left), ("Times", Align::Right), ("Minutes", Align::Right)]).stretching(0);
    for operation in &batch.work.operations {
        let minutes = format!("{:.0}", batch.work.minutes(operation));
        table.row([operation.name.to_owned(), times(operation, unit), minutes]);
    }
    table.total = Some(vec!["All".to_owned(), String::new(), format!("{:.0}", batch.work.total())]);
    flow.table(&table);
    let left = 100.0 * batch.work.learned;
    flow.remark(&format!(
        "Handling takes {left:.0} % of the first box's time on average over {} boxes (Wright's learning curve); sawing to \
         a line does not get quicker.",
        batch.boxes
    ));
}

fn times(operation: &Operation, unit: Unit) -> String {
    if operation.unit() == "mm" { long_text(operation.times, unit) } else { format!("{:.0}", operation.times) }
}

fn costs(flow: &mut Flow, batch: &Batch) {
    flow.heading("Cost of the batch");
    let money = |c: Cents| c.with_sign(&batch.money.currency);
    let mut table = Table::new(&[("What", Align::Left), ("Sum", Align::Right)]).stretching(0);
    for cost in batch.costs.lines.iter().filter(|l| l.amount != Cents(0)) {
        table.row([cost.name.clone(), money(cost.amount)]);
    }
    table.total = Some(vec![format!("All {} boxes", batch.boxes), money(batch.costs.total())]);
    flow.table(&table);
}

fn price(flow: &mut Flow, batch: &Batch) {
    flow.heading("Price");
    let takings = &batch.money;
    let money = |c: Cents| c.with_sign(&takings.currency);
    let wished = 100.0 * takings.wished_margin;
    flow.fact("Cost", &format!("{} a box", money(takings.unit_cost)));
    flow.fact("Fair price", &format!("{} leaves {wished:.0} % of it", money(takings.fair_price)));
    if takings.price != takings.fair_price {
        let margin = 100.0 * takings.margin;
        flow.fact("Asked", &format!("{} leaves {} a box, {margin:.1} %", money(takings.price), money(takings.profit)));
    } else {
        flow.fact("Profit", &format!("{} a box after {} fees", money(takings.profit), money(takings.fees)));
    }
    flow.fact("It pays", &report::pays(batch));
    let smallest = takings.break_even.map_or("none at this price".to_owned(), |n| format!("a batch of {n}, all sold"));
    flow.fact("At least", &smallest);
    if takings.table.is_empty() {
        return;
    }
    let mut table = Table::new(&[("Batch", Align::Right), ("Cost a box", Align::Right), ("Fair price", Align::Right)])
        .stretching(0);
    for row in &takings.table {
        table.row([row.boxes.to_string(), money(row.unit_cost), money(row.fair_price)]);
    }
    flow.table(&table);
    flow.remark("Other sizes: faces in proportion; boards, work and supplies planned anew.");
}

fn hours(minutes: f64) -> String {
    let whole = minutes.round().max(0.0) as u64;
    if whole < 90 { format!("about {whole} min") } else { format!("about {} h {:02} min", whole / 60, whole % 60) }
}
