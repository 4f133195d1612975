//! `mend`: a face made sawable, with every edit told.

use super::again::again;
use super::console::{Console, Halt, wrapped};
use super::flags::{FaceFlags, OutFlags};
use super::mending::{EditNumbers, MendChoices, edit_numbers};
use super::summary::{counted, left_out};
use super::{Exit, Put, exit, put};
use crate::diag::{Error, FindingKind};
use crate::mend::RULED;
use crate::pipeline::{Repaired, Wishes, mend_documents, mended};
use crate::units::{Mm, Unit};

/// Options of `mend`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct Args {
    /// The drawing of the face, or a project of `open`; - reads it from standard input
    art: String,
    /// Edits to leave undone, by number, like 3,5 or 3-8
    #[arg(long, value_name = "NUMBERS", value_parser = edit_numbers)]
    leave: Vec<EditNumbers>,
    #[command(flatten)]
    choices: MendChoices,
    /// Exit with 1 for what needs care, too
    #[arg(long)]
    strict: bool,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    out: OutFlags,
}

/// Mends a face and tells what was changed and what is left.
pub(super) fn run(args: &Args, console: &mut Console) -> Result<Exit, Halt> {
    let (loaded, art) = args.face.shop.load_face(&args.art, &[&args.face, &args.out])?;
    let locate = |error: Error| loaded.origins.locate(error);
    let mut mends = loaded.mends.clone();
    args.choices.settle(&mut mends);
    let leave: Vec<u32> = args.leave.iter().flat_map(|numbers| numbers.0.iter().copied()).collect();
    let wishes = |frame| Ok(Wishes { leave, ..mends.wishes(frame)? });
    let repaired = mended(&art.bytes, &art.name, &loaded.settings, wishes).map_err(locate)?;
    let repaired = repaired.named(loaded.name.as_deref());
    let put = put(mend_documents(&repaired)?, &loaded.settings, args.out.force)?;
    let next = next(&repaired, &again(&args.art, &console.args), args);
    console.print(&summary(&repaired, &next, loaded.settings.unit, &put, console.look.columns))?;
    Ok(exit(&repaired.after, args.strict))
}

/// Most edits told; all are in the list of edits.
const MOST: usize = 40;

fn summary(repaired: &Repaired, next: &str, unit: Unit, put: &Put, columns: usize) -> String {
    let Repaired { before, after, mended, .. } = repaired;
    let mut text = format!("{}: {}\n", before.art.file, headline(repaired));
    let by_hand = by_hand(repaired, unit);
    if !(mended.edits.is_empty() && mended.unmended.is_empty() && by_hand.is_empty()) {
        text.push('\n');
    }
    for line in by_hand {
        text.push_str(&wrapped(&line, columns, 7));
        text.push('\n');
    }
    for edit in mended.edits.iter().take(MOST) {
        text.push_str(&wrapped(&format!("{:>3}  {}", edit.id, edit.why), columns, 7));
        text.push('\n');
    }
    if mended.edits.len() > MOST {
        text.push_str(&format!("     and {} more, all in the list of edits\n", mended.edits.len() - MOST));
    }
    for (id, image) in &mended.images {
        text.push_str(&wrapped(&format!("left {id} and its mirror image {image}, as you asked"), columns, 7));
        text.push('\n');
    }
    for (id, why) in mended.unmended.iter().take(MOST) {
        text.push_str(&wrapped(&format!("left {id}: {why}"), columns, 7));
        text.push('\n');
    }
    for finding in after.findings.iter().filter(|finding| finding.kind == FindingKind::Mending) {
        text.push_str(&wrapped(&format!("STOP {}; {}", finding.message, finding.advice), columns, 7));
        text.push('\n');
    }
    if let Some(words) = left_out(before) {
        text.push_str(&wrapped(&format!("Left out of the drawing: {words}"), columns, 7));
        text.push('\n');
    }
    let told = &mended.summary;
    let changed = format!(
        "{:.1} % of the open area changed, outlines moved {:.1} mm at most, {:.1} % alike; {} stop and {} care before, {} and {} after",
        told.area_changed_share * 100.0,
        told.greatest_displacement_mm,
        told.similarity * 100.0,
        before.count(crate::diag::Severity::Stop),
        before.count(crate::diag::Severity::Care),
        after.count(crate::diag::Severity::Stop),
        after.count(crate::diag::Severity::Care),
    );
    for line in [changed, format!("{:<9}{}", put.word, put.names.join(", ")), format!("Next     {next}")] {
        text.push('\n');
        text.push_str(&wrapped(&line, columns, 2));
        text.push('\n');
    }
    text
}

/// What to do now with what was `given`; `prepare` takes no numbers of edits.
fn next(repaired: &Repaired, given: &str, args: &Args) -> String {
    if repaired.mended.edits.is_empty() {
        return format!("fretgrin prepare {given} writes the template");
    }
    if repaired.after.face.cutouts.is_empty() {
        return "nothing is left to saw: draw it with fewer lines or more wood between them, or lay it larger"
            .to_owned();
    }
    let choices = [(args.choices.stops, " --stops"), (args.choices.open_contacts, " --open-contacts")];
    let choices: String = choices.iter().filter(|(on, _)| *on).map(|(_, option)| *option).collect();
    let prepare = if args.leave.is_empty() {
        format!("; fretgrin prepare {given} --mend{choices} writes the template of the face mended so")
    } else {
        String::new()
    };
    format!(
        "look at the before-after picture (green: wood given back, orange: opened); refuse an edit with --leave and its \
         number{prepare}"
    )
}

/// The bridges placed by hand, then those that could not be built.
fn by_hand(repaired: &Repaired, unit: Unit) -> Vec<String> {
    let name = |index| Repaired::hand_name(index);
    let length = |mm: f64| Mm::new(mm).text(unit);
    let built = repaired.built.iter().map(|b| {
        let narrow = if b.width < b.needed { format!(", where {} is needed", length(b.needed)) } else { String::new() };
        let (width, long) = (length(b.width), length(b.length()));
        format!("{:>3}  a bridge placed by hand, {width} wide and {long} long{narrow}", name(b.index))
    });
    let why = "its spot does not lie in an opening with wood on both sides; move it on the bench";
    let lost = repaired.lost.iter().map(|&index| format!("left {}, a bridge placed by hand: {why}", name(index)));
    built.chain(lost).collect()
}

fn headline(repaired: &Repaired) -> String {
    let Repaired { mended, built, lost, .. } = repaired;
    let told = |n: usize, what: &str, after: &str| (n > 0).then(|| counted(n, what) + after);
    let asked = mended.unmended.iter().filter(|(_, why)| why == RULED).count();
    let edits = told(mended.edits.len(), "edit", "");
    let done: Vec<String> = edits.into_iter().chain(told(built.len(), "bridge", " placed by hand")).collect();
    let left = [
        told(asked, "fault", " left as you asked"),
        told(mended.unmended.len() - asked, "fault", " could not be mended"),
        told(lost.len(), "bridge", " placed by hand could not be built"),
    ];
    let left: Vec<String> = left.into_iter().flatten().collect();
    match (done.join(" and "), left.is_empty()) {
        (done, true) if done.is_empty() => "nothing to mend".to_owned(),
        (done, true) => format!("mended with {done}"),
        (done, false) => {
            Some(done).into_iter().filter(|done| !done.is_empty()).chain(left).collect::<Vec<_>>().join("; ")
        }
    }
}
