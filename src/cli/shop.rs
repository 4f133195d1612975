//! `shop new` and `shop show`: the shop file.

use std::path::Path;

use clap::Subcommand;

use super::Exit;
use super::console::{Console, Halt};
use super::flags::{OutFlags, ShopFlags};
use crate::diag::Error;
use crate::edge::{NewFile, write_all};
use crate::settings::{FILE_NAME, Settings, Shop, new_text};
use crate::units::Unit;

/// Options of `shop`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    #[command(subcommand)]
    task: Task,
}

#[derive(Clone, Debug, Subcommand)]
enum Task {
    /// Write a shop.toml with every setting, its meaning and its built-in value
    New(NewArgs),
    /// Print the settings in force here, as a shop file
    Show(ShopFlags),
}

#[derive(clap::Args, Clone, Debug)]
struct NewArgs {
    /// Unit of bare numbers, and of the lengths written
    #[arg(long, value_name = "UNIT", value_parser = ["in", "mm"], default_value = "in")]
    units: String,
    #[command(flatten)]
    out: OutFlags,
}

/// Runs `shop`.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    match &args.task {
        Task::New(new) => write_new(new, console),
        Task::Show(shop) => show(shop, console),
    }
}

fn write_new(args: &NewArgs, console: &mut Console) -> Result<Exit, Halt> {
    let units = if args.units == "mm" { Unit::Mm } else { Unit::Inch };
    let text = new_text(&Shop { units, ..Shop::default() });
    let folder = args.out.out.as_deref().unwrap_or_default();
    let path = Path::new(folder).join(FILE_NAME);
    if path.exists() && !args.out.force {
        let what = "this shop file exists, and what was written in it would be lost";
        let advice = "change the figures in it, or give --force to begin it anew";
        return Err(Error::file(path.display().to_string(), what, advice).into());
    }
    let written = write_all(Path::new(folder), &[NewFile::new(FILE_NAME, text)], args.out.force)?;
    let path = written.first().map(|path| path.display().to_string()).unwrap_or_default();
    console.print(&format!(
        "{path} written. Measure your boards and blades and put the figures in;\n\
         it counts in its folder and every folder below.\n"
    ))?;
    Ok(Exit::Clean)
}

/// What is in force here; a wrong setting is told as any command tells it.
fn show(args: &ShopFlags, console: &mut Console) -> Result<Exit, Halt> {
    let (shop, origins) = args.stated()?;
    Settings::resolve(&shop).map_err(|error| origins.locate(error))?;
    let source = match origins.file() {
        "" => "# No shop.toml here or above: the built-in settings.".to_owned(),
        file => format!("# Read from {file}"),
    };
    console.print(&format!("{source}\n#\n{}", new_text(&shop)))?;
    Ok(Exit::Clean)
}
