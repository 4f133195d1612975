//! `prepare`: from a face drawing to the template, the picture and the report.

use super::again::again;
use super::console::{Console, Halt};
use super::flags::{FaceFlags, OutFlags, PrintFlags};
use super::mending::MendFlags;
use super::summary::summary;
use super::{Exit, exit, put};
use crate::diag::Error;
use crate::pipeline;
use crate::write::json;

/// Options of `prepare`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// The drawing of the face, or a project of `open`; - reads it from standard input
    art: String,
    /// Print the report as JSON instead of the summary, nothing else
    #[arg(long)]
    json: bool,
    /// Exit with 1 for what needs care, too
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    mending: MendFlags,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    print: PrintFlags,
    #[command(flatten)]
    out: OutFlags,
}

/// Prepares a face and tells what was found and written.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let (mut loaded, art) = args.face.shop.load_face(&args.art, &[&args.face, &args.print, &args.out])?;
    args.mending.settle(&mut loaded.mends);
    let outcome = loaded.check(&art)?;
    let locate = |error: Error| loaded.origins.locate(error);
    let made = pipeline::documents(&outcome, &loaded.settings).map_err(locate)?;
    let put = put(made, &loaded.settings, args.out.force)?;
    if args.json {
        console.print(&json::text(&json::report(&outcome)))?;
    } else {
        console.print(&summary(&again(&args.art, &console.args), &outcome, &loaded.settings, &put, console.look))?;
    }
    Ok(exit(&outcome, args.strict))
}
