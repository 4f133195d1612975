//! `survey`: every face of a drawer, judged for this shop.

mod drawer;
mod progress;
mod shelf;
mod table;

use std::collections::BTreeSet;
use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser as _};

use super::console::{Console, Halt};
use super::flags::{FaceFlags, OutFlags, PaperFlags};
use super::{Exit, folder};
use crate::diag::Error;
use crate::edge::ending;
use crate::pipeline::survey_setup;
use crate::survey::choose::{self, Only, Sort};
use crate::survey::{Survey, doubles};
use crate::write::survey::json;
use drawer::{COPY_END, Drawer, Judged, Judging};
use progress::Progress;
use shelf::Shelf;

/// Options of `survey`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// Folders of drawings, or drawings
    #[arg(value_name = "FOLDER", required = true)]
    drawers: Vec<PathBuf>,
    /// Look into the folders inside the folders, too
    #[arg(long)]
    deep: bool,
    /// Try to mend every face that needs it, and write the mended copies of those made sound
    #[arg(long)]
    mend: bool,
    /// Order of the faces
    #[arg(long, value_name = "ORDER", value_parser = sorts(), default_value = "drawer")]
    sort: Sort,
    /// Turn the order round
    #[arg(long)]
    reverse: bool,
    /// Show only faces that meet this: a verdict like saw-as-is (several with commas), double, single,
    /// or a figure like minutes<60 (difficulty, minutes, metres, holes, cutouts, stop, care); may be given several times
    #[arg(long, value_name = "WHAT")]
    only: Vec<String>,
    /// Faces judged at once [default: the processor's cores]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// Look at every face anew, whatever an earlier survey remembered
    #[arg(long)]
    afresh: bool,
    /// Print the survey as JSON, nothing else, and write nothing
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    print: PaperFlags,
    #[command(flatten)]
    out: OutFlags,
}

fn sorts() -> impl clap::builder::TypedValueParser<Value = Sort> {
    let names = Sort::ALL.map(|(name, _)| name);
    PossibleValuesParser::new(names).map(|name| Sort::named(&name).unwrap_or_default())
}

/// Surveys the drawer, tells it as a table and writes the contact sheets.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let loaded = args.face.shop.load(&[&args.face, &args.print, &args.out])?;
    let settings = &loaded.settings;
    let only = conditions(&args.only)?;
    let setup = survey_setup(settings, args.mend).map_err(|error| loaded.origins.locate(error))?;
    let drawer = Drawer::open(&args.drawers, args.deep)?;
    let mut shelf = if args.json { None } else { Some(Shelf::open(folder(settings), args.out.force)?) };
    let judging = Judging {
        settings,
        mending: args.mend,
        out: folder(settings),
        memory: shelf.as_ref().filter(|_| !args.afresh).map(Shelf::memory).unwrap_or_default(),
        threads: args.threads.map_or_else(drawer::cores, usize::from),
    };
    let mut progress = Progress::new(console, drawer.len());
    let tell = |done: usize, name: &str| progress.tell(done, name);
    let judged = judging.run(&drawer, shelf.as_mut().map(|shelf| &mut shelf.files), tell);
    progress.clear();
    let Judged { mut rows, remembered, passed_over, fresh } = judged?;
    doubles::mark(&mut rows);
    let failed = rows.iter().any(|row| row.face().is_none());
    let made: BTreeSet<String> = rows.iter().filter_map(|row| row.copy.clone()).collect();
    let survey = Survey { setup, of: rows.len(), rows, chosen: String::new(), passed_over };
    let survey = choose::chosen(survey, &only, &args.only, args.sort, args.reverse);
    match shelf {
        None => console.print_as_made(|out| json::report(&survey, out))?,
        Some(shelf) => {
            if let Some(remark) = shelf.remark() {
                console.remark(&remark);
            }
            // A memory that did not know every face is written anew with its files.
            let known = judging.memory.issue().filter(|_| fresh == 0).cloned();
            // Its file is closed before it is written anew.
            drop(judging);
            let put = shelf.put(&survey, settings, known.as_ref(), &remembered)?;
            let mut earlier = if args.mend { ending(folder(settings), COPY_END) } else { Vec::new() };
            earlier.retain(|name| !made.contains(name));
            console.print(&table::told(&survey, &put, &drawer.unread, &earlier, console.look))?;
        }
    }
    Ok(if failed { Exit::Faults } else { Exit::Clean })
}

fn conditions(only: &[String]) -> Result<Vec<Only>, Error> {
    let wrong = |what: String| {
        let (what, advice) = what.split_once("; ").map_or((what.as_str(), ""), |parts| parts);
        Error::setting(crate::diag::Place::default(), format!("--only: {what}"), advice)
    };
    only.iter().map(|text| text.parse().map_err(wrong)).collect()
}
