//! `export`: the outlines at true size, for those who have other machines, too.

use super::again::again;
use super::console::{Console, Halt, wrapped};
use super::flags::{FaceFlags, OutFlags};
use super::mending::MendFlags;
use super::summary::{left_out, mends};
use super::{Exit, exit, folder};
use crate::diag::Severity;
use crate::edge::{NewFile, write_all};
use crate::outcome::Outcome;
use crate::pipeline::outlines;
use crate::write::dxf::ARC_TOLERANCE;

/// Options of `export`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// The drawing of the face, or a project of `open`; - reads it from standard input
    art: String,
    /// Exit with 1 for what needs care, too
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    mending: MendFlags,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    out: OutFlags,
}

/// Exports a face and tells what was written.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let (mut loaded, art) = args.face.shop.load_face(&args.art, &[&args.face, &args.out])?;
    args.mending.settle(&mut loaded.mends);
    let outcome = loaded.check(&art)?;
    let files: Vec<NewFile> = outlines(&outcome).into_iter().map(|file| NewFile::new(file.name, file.bytes)).collect();
    let written = write_all(folder(&loaded.settings), &files, args.out.force)?;
    let names: Vec<String> = written.iter().map(|path| path.display().to_string()).collect();
    let given = again(&args.art, &console.args);
    console.print(&summary(&outcome, &given, &names, console.look.columns))?;
    Ok(exit(&outcome, args.strict))
}

fn summary(outcome: &Outcome, given: &str, written: &[String], columns: usize) -> String {
    let (face, holes) = (&outcome.face, &outcome.holes);
    let count = |n: usize, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    let found = format!("{} and {}", count(face.cutouts.len(), "cut-out"), count(holes.len(), "entry hole"));
    let (width, height) = (face.panel.width.get(), face.panel.height.get());
    let stops = outcome.count(Severity::Stop);
    let told = match (&outcome.mended, mends(outcome)) {
        (Some(_), _) => format!("`fretgrin mend {given}` tells what is left"),
        (None, true) => format!("export with --mend, or see `fretgrin check {given}`"),
        (None, false) => format!("see `fretgrin check {given}`"),
    };
    let mut facts = vec![
        ("Holds", found),
        ("Size", format!("true, on the panel of {width:.2} x {height:.2} mm; the origin is its lower left corner")),
        ("Layers", "CUT, HOLES and PANEL".to_owned()),
        ("Curves", format!("as drawn in the SVG; arcs within {ARC_TOLERANCE} mm of them in the DXF")),
    ];
    if let Some(words) = left_out(outcome) {
        facts.push(("Left out", words));
    }
    if stops > 0 {
        facts.push(("Faults", format!("{} to put right: {told}", count(stops, "place"))));
    }
    facts.push(("Written", written.join(", ")));
    let fact =
        |(name, words): &(&str, String)| format!("{name:<INDENT$}{}\n", wrapped(words, columns, INDENT).trim_start());
    format!("{}\n\n{}", outcome.art.file, facts.iter().map(fact).collect::<String>())
}

/// Column where the facts begin.
const INDENT: usize = 9;
