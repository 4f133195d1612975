//! `box` and `batch`: the lantern round the face, and a season's worth of them.

use std::path::Path;

use super::console::{Console, Halt, wrapped};
use super::flags::{FaceFlags, OutFlags, PaperFlags};
use super::load::Loaded;
use super::mending::MendFlags;
use super::summary::counted;
use super::{Exit, Put, folder, put};
use crate::boxes::FaceFacts;
use crate::boxes::job::{Batch, FaceShare, Lantern};
use crate::boxes::report;
use crate::boxes::window::Window;
use crate::diag::{Error, Finding, Noted, Place, Severity};
use crate::edge::{self, clear_series};
use crate::outcome::Outcome;
use crate::pipeline::Made;
use crate::pipeline::lantern::{batch_documents, box_documents, facts, plan_box, plan_season};
use crate::settings::Settings;
use crate::settings::batch::FaceCount;
use crate::write::json;

/// Options of `box`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct BoxArgs {
    /// A face for the front: nails keep clear of it and are told where they meet it
    art: Option<String>,
    /// Print the plan as JSON instead of the summary, nothing else
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    mending: MendFlags,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    print: PaperFlags,
    #[command(flatten)]
    out: OutFlags,
}

/// Plans one box and writes its papers.
pub(super) fn run_box(args: &BoxArgs, console: &mut Console) -> Result<Exit, Halt> {
    let overrides: [&dyn super::flags::Overrides; 3] = [&args.face, &args.print, &args.out];
    let (mut loaded, art) = match &args.art {
        Some(art) => {
            let (loaded, art) = args.face.shop.load_face(art, &overrides)?;
            (loaded, Some(art))
        }
        None => (args.face.shop.load(&overrides)?, None),
    };
    args.mending.settle(&mut loaded.mends);
    let outcome = art.map(|art| loaded.for_box().check(&art)).transpose()?;
    let settings = &loaded.settings;
    let locate = |error: Error| loaded.origins.locate(error);
    let plan = plan_box(settings, outcome.as_ref()).map_err(locate)?;
    let written = write("box", box_documents(&plan, settings).map_err(locate)?, settings, args.out.force)?;
    if args.json {
        console.print(&json::text(&report::lantern(&plan.value, &plan.findings)))?;
    } else {
        let text = box_summary(&plan, settings, console.look.columns);
        console.print(&(text + &told(&plan.findings, &written, console.look.columns)))?;
    }
    Ok(exit(&plan.findings))
}

/// Options of `batch`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct BatchArgs {
    /// Print the plan as JSON instead of the summary, nothing else
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    mending: MendFlags,
    #[command(flatten)]
    face: FaceFlags,
    #[command(flatten)]
    print: PaperFlags,
    #[command(flatten)]
    out: OutFlags,
}

/// Plans the batch of the shop file and writes its papers.
pub(super) fn run_batch(args: &BatchArgs, console: &mut Console) -> Result<Exit, Halt> {
    let mut loaded = args.face.shop.load(&[&args.face, &args.print, &args.out])?;
    args.mending.settle(&mut loaded.mends);
    let settings = &loaded.settings;
    let faces = faces(&loaded, &args.face.shop.folder())?;
    let locate = |error: Error| loaded.origins.locate(error);
    let shares: Vec<(&Outcome, u32)> = faces.iter().map(|(outcome, boxes)| (outcome, *boxes)).collect();
    let plan = plan_season(settings, &shares).map_err(locate)?;
    let written = write("batch", batch_documents(&plan, settings).map_err(locate)?, settings, args.out.force)?;
    if args.json {
        console.print(&json::text(&report::batch(&plan.value, &plan.findings)))?;
    } else {
        let text = batch_summary(&plan.value, console.look.columns);
        console.print(&(text + &told(&plan.findings, &written, console.look.columns)))?;
    }
    Ok(exit(&plan.findings))
}

/// The batch's faces, read from beside the shop file and checked, each with its
/// number of boxes.
fn faces(loaded: &Loaded, base: &Path) -> Result<Vec<(Outcome, u32)>, Error> {
    let listed = &loaded.settings.stated.batch.faces;
    if listed.is_empty() && loaded.settings.stated.batch.boxes.is_none() {
        let place = Place { element: Some("batch.faces".to_owned()), ..Place::default() };
        let advice = "add [[batch.faces]] with art = \"owl.svg\" and boxes = 4 to shop.toml, once for each face; batch.boxes alone plans boxes without one";
        return Err(Error::setting(place, "the shop file lists no faces for the batch", advice));
    }
    let loaded = loaded.for_box();
    let checked = |face: &FaceCount| {
        let art = edge::read_art(&base.join(&face.art).to_string_lossy())?;
        Ok((loaded.check(&art)?, face.boxes))
    };
    let faces: Vec<(Outcome, u32)> = listed.iter().map(checked).collect::<Result<_, Error>>()?;
    Ok(told_apart(faces, listed))
}

/// Different faces of one name are called by the end of their files' paths; a face
/// listed twice is one, however its file is spelled.
fn told_apart(faces: Vec<(Outcome, u32)>, listed: &[FaceCount]) -> Vec<(Outcome, u32)> {
    let known: Vec<FaceFacts> = faces.iter().map(|(outcome, _)| facts(outcome)).collect();
    let first = |one: &FaceFacts| known.iter().position(|other| other == one).map(|i| listed[i].art.as_str());
    let apart = |((outcome, boxes), one): ((Outcome, u32), &FaceFacts)| {
        let others = known.iter().filter(|other| other.name == one.name && *other != one);
        let others: Vec<&str> = others.filter_map(first).collect();
        let name = first(one).filter(|_| !others.is_empty()).map(|art| distinct(art, &others));
        (outcome.named(name.as_deref()), boxes)
    };
    faces.into_iter().zip(&known).map(apart).collect()
}

/// The shortest ending of a path that is not one of the `others`' endings.
fn distinct(path: &str, others: &[&str]) -> String {
    let parts = |path: &str| -> Vec<String> {
        let parts = path.split(['/', '\\']).filter(|part| !part.is_empty() && *part != ".");
        parts.map(str::to_owned).collect()
    };
    let own = parts(path);
    let others: Vec<Vec<String>> = others.iter().map(|other| parts(other)).collect();
    let endings = (0..own.len()).rev().map(|from| &own[from..]);
    let mut distinct = endings.filter(|ending| !others.iter().any(|other| other.ends_with(ending)));
    distinct.next().map_or_else(|| path.to_owned(), |ending| ending.join("/"))
}

/// Writes a plan and takes away the sheets a longer one left beside it.
fn write(name: &str, made: Vec<Made>, settings: &Settings, force: bool) -> Result<Put, Error> {
    let written = put(made, settings, force)?;
    let sheets = written.names.iter().filter(|name| name.ends_with(".png")).count();
    clear_series(folder(settings), &format!("{name}-papers"), sheets + 1)?;
    Ok(written)
}

fn exit(findings: &[Finding]) -> Exit {
    if findings.iter().any(|finding| finding.severity == Severity::Stop) { Exit::Faults } else { Exit::Clean }
}

fn box_summary(plan: &Noted<Lantern>, settings: &Settings, columns: usize) -> String {
    let (lantern, unit) = (&plan.value, settings.unit);
    let design = &lantern.design;
    let (w, d, h) = (design.width.text(unit), design.depth.text(unit), design.height.text(unit));
    let mut text = format!(
        "A lantern {w} wide, {d} deep, {h} high, of {} {}\n\n",
        design.thickness.text(unit),
        settings.wood.name
    );
    for part in &lantern.parts.list {
        let size = format!("{} x {} x {}", part.length.text(unit), part.width.text(unit), part.thickness.text(unit));
        text.push_str(&format!("  {:<22} {:>2}  {size}\n", part.kind.name(), part.count));
    }
    let (width, height) = lantern.window.told(unit);
    let line = format!(
        "The face's window is {} x {}{}; {} nails in one box",
        width.text(unit),
        height.text(unit),
        asked(&lantern.window),
        lantern.nails.count()
    );
    text.push('\n');
    text.push_str(&wrapped(&line, columns, 2));
    text.push('\n');
    text
}

/// Where the shop's own clearance makes the window smaller than the box does.
fn asked(window: &Window) -> String {
    match window.asked_at().as_slice() {
        [] => String::new(),
        edges => {
            let words: Vec<&str> = edges.iter().map(|edge| edge.word()).collect();
            format!(", by the clearance asked for at the {}", words.join(", "))
        }
    }
}

fn batch_summary(batch: &Batch, columns: usize) -> String {
    let money = |cents| report::money(batch, cents);
    let lanterns = if batch.boxes == 1 { "lantern" } else { "lanterns" };
    let mut text = format!("{} {lanterns}\n\n", batch.boxes);
    let on = |share: &FaceShare| (share.face.name.clone(), format!("on {}", share.boxes));
    let mut rows: Vec<(String, String)> = batch.faces.iter().map(on).collect();
    let mut row = |what: &str, value: String| rows.push((what.to_owned(), value));
    row("Boards", boards(batch));
    if let Some(spare) = spare(batch) {
        row("To spare", spare);
    }
    row("Work", format!("{:.1} hours", batch.work.total() / 60.0));
    row("One costs", money(batch.money.unit_cost));
    let margin = format!("{:.0} % margin", batch.money.margin * 100.0);
    row("Price", format!("{}, which leaves {} each ({margin})", money(batch.money.price), money(batch.money.profit)));
    row("Pays", report::pays(batch));
    let widest = rows.iter().map(|(what, _)| what.chars().count()).fold(12, usize::max);
    rows.iter().for_each(|(what, value)| text.push_str(&format!("  {what:<widest$} {value}\n")));
    text.push('\n');
    text.push_str(&wrapped("Times, prices and fees are assumptions until you set your own in shop.toml.", columns, 2));
    text.push('\n');
    text
}

fn boards(batch: &Batch) -> String {
    let each = batch.boards.buy.iter().filter(|b| b.cut > 0).map(|b| format!("{} x {}", b.cut, b.name));
    let bound = report::money(batch, batch.boards.bound);
    format!(
        "{}: {}, proved at least {bound} for this cut list",
        each.collect::<Vec<_>>().join(", "),
        report::money(batch, batch.boards.cost)
    )
}

/// Boards bought in addition, with what they cost.
fn spare(batch: &Batch) -> Option<String> {
    let spare = batch.boards.buy.iter().filter(|b| b.spare > 0);
    let each: Vec<String> = spare.map(|b| format!("{} x {}", b.spare, b.name)).collect();
    (!each.is_empty()).then(|| format!("{}: {}", each.join(", "), report::money(batch, batch.boards.spare_cost)))
}

/// The findings, worst first, and the files written.
fn told(findings: &[Finding], written: &Put, columns: usize) -> String {
    const MOST: usize = 8;
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let mut text = String::new();
    for finding in sorted.iter().take(MOST) {
        let line = format!("{}  {}: {}; {}", finding.severity.word(), finding.id, finding.message, finding.advice);
        text.push_str(&wrapped(&line, columns, 2));
        text.push('\n');
    }
    if sorted.len() > MOST {
        let plan = written.names.iter().find(|name| name.ends_with(".json")).map_or("the plan", String::as_str);
        let line = format!("and {} more: all stand on the sheets and in {plan}", sorted.len() - MOST);
        text.push_str(&wrapped(&line, columns, 2));
        text.push('\n');
    }
    let (pictures, names): (Vec<&str>, Vec<&str>) =
        written.names.iter().map(String::as_str).partition(|name| name.ends_with(".png"));
    let sheets = counted(pictures.len(), "sheet");
    let line = format!("{:<8} {}, and its {sheets} as PNG", written.word, names.join(", "));
    text.push_str(&wrapped(&line, columns, 2));
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_face_is_called_by_the_shortest_end_of_its_path_that_is_its_own() {
        let cases: [(&str, &[&str], &str); 5] = [
            ("/home/shop/autumn/old/owl.svg", &["/home/shop/autumn/new/owl.svg"], "old/owl.svg"),
            ("owl.svg", &["owl.png"], "owl.svg"),
            ("old/owl.svg", &["owl.svg"], "old/owl.svg"),
            ("./a/x/owl.svg", &["b/x/owl.svg", "a/owl.svg"], "a/x/owl.svg"),
            ("owl.svg", &["old/owl.svg"], "owl.svg"),
        ];
        for (path, others, name) in cases {
            assert_eq!(distinct(path, others), name, "{path} beside {others:?}");
        }
    }
}
