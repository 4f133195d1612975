//! `check`: what a face's faults are, without writing anything.

use super::again::again;
use super::console::{Console, Halt};
use super::flags::FaceFlags;
use super::summary::summary;
use super::{Exit, Put, exit};
use crate::write::json;

/// Options of `check`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// The drawing of the face, or a project of `open`; - reads it from standard input
    art: String,
    /// Print the report as JSON, nothing else
    #[arg(long)]
    json: bool,
    /// Exit with 1 for what needs care, too
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    face: FaceFlags,
}

/// Checks a face and tells what was found.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let (loaded, art) = args.face.shop.load_face(&args.art, &[&args.face])?;
    let outcome = loaded.check(&art)?;
    if args.json {
        console.print(&json::text(&json::report(&outcome)))?;
    } else {
        let given = again(&args.art, &console.args);
        console.print(&summary(&given, &outcome, &loaded.settings, &Put::default(), console.look))?;
    }
    Ok(exit(&outcome, args.strict))
}
