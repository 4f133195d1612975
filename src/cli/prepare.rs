//! `prepare`: from a face drawing to the template, the picture and the report.

use std::path::PathBuf;

use super::again::again;
use super::console::{Console, Halt};
use super::flags::{FaceFlags, OutFlags, PrintFlags};
use super::mending::MendFlags;
use super::summary::summary;
use super::{Exit, exit, folder};
use crate::diag::Error;
use crate::edge::{NewFile, write_all};
use crate::outcome::Outcome;
use crate::pipeline;
use crate::settings::Settings;
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
    let written = write(&outcome, &loaded.settings, args.out.force).map_err(locate)?;
    if args.json {
        console.print(&json::text(&json::report(&outcome)))?;
    } else {
        let names: Vec<String> = written.iter().map(|path| path.display().to_string()).collect();
        console.print(&summary(&again(&args.art, &console.args), &outcome, &loaded.settings, &names, console.look))?;
    }
    Ok(exit(&outcome, args.strict))
}

fn write(outcome: &Outcome, settings: &Settings, force: bool) -> Result<Vec<PathBuf>, Error> {
    let made = pipeline::documents(outcome, settings)?;
    let files: Vec<NewFile> = made.into_iter().map(|file| NewFile::new(file.name, file.bytes)).collect();
    write_all(folder(settings), &files, force)
}
