//! `blades`, `woods`, `drills`, `papers`: the tables of the trade.

use serde_json::json;

use super::Exit;
use super::console::{Console, Halt, Look, wrapped};
use super::flags::ShopFlags;
use crate::trade::Table;
use crate::units::Unit;

/// Options of the table commands.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// Print the table as JSON, nothing else
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    shop: ShopFlags,
}

/// Prints the table `rows` makes, in the shop's unit.
pub(super) fn run(args: &Args, rows: fn(Unit) -> Table, console: &mut Console) -> Result<Exit, Halt> {
    let table = rows(args.shop.stated()?.0.units);
    let text = if args.json { as_json(&table) } else { as_text(&table, console.look) };
    console.print(&text)?;
    Ok(Exit::Clean)
}

fn as_json(table: &Table) -> String {
    let value = json!({
        "schema": "fretgrin-table-1",
        "generator": "fretgrin",
        "title": table.title,
        "columns": table.headers,
        "rows": table.rows,
        "notes": table.notes,
    });
    format!("{value:#}\n")
}

/// The table with a bold head and its notes wrapped.
fn as_text(table: &Table, look: Look) -> String {
    let bare = Table { notes: Vec::new(), ..table.clone() }.to_string();
    let lines = bare.lines().enumerate().map(|(i, line)| match i {
        0 => format!("{}\n\n", look.paint("1", line)),
        1 => format!("{}\n", look.paint("2", line)),
        _ => format!("{line}\n"),
    });
    let notes = table.notes.iter().map(|note| format!("{}\n", wrapped(note, look.columns, 0)));
    lines.chain(std::iter::once("\n".to_owned())).chain(notes).collect()
}
