//! `export`: the outlines at true size, for those who have other machines, too.

use super::again::again;
use super::console::{Console, Halt, wrapped};
use super::flags::{FaceFlags, OutFlags};
use super::mending::MendFlags;
use super::summary::{left_out, mends};
use super::{Exit, Put, exit, put};
use crate::diag::Severity;
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
    let put = put(outlines(&outcome), &loaded.settings, args.out.force)?;
    let given = again(&args.art, &console.args);
    console.print(&summary(&outcome, &given, &put, console.look.columns))?;
    Ok(exit(&outcome, args.strict))
}

fn summary(outcome: &Outcome, given: &str, put: &Put, columns: usize) -> String {
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
    facts.push((put.word, put.names.join(", ")));
    let fact =
        |(name, words): &(&str, String)| format!("{name:<INDENT$}{}\n", wrapped(words, columns, INDENT).trim_start());
    format!("{}\n\n{}", outcome.art.file, facts.iter().map(fact).collect::<String>())
}

/// Column where the facts begin.
const INDENT: usize = 9;
