//! The page's calls to the pipeline.

use serde_json::{Value, json};

use super::store::{Art, State};
use super::{mends, view};
use crate::diag::{Error, Severity};
use crate::edge::mark;
use crate::outcome::Outcome;
use crate::pipeline::{self, Repaired, lantern};
use crate::settings::{Settings, Shop};
use crate::sheet::Sheet;
use crate::sheet::ruler::page as ruler;
use crate::survey;
use crate::write::night::{View, night};
use crate::write::{self, Meta, pdf};

/// A file made for the maker.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Its name.
    pub name: String,
    /// Its media type.
    pub kind: &'static str,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// Reads, lays and checks a drawing.
///
/// # Errors
/// As [`pipeline::check`].
pub fn check(art: &Art, settings: &Settings) -> Result<Outcome, Error> {
    pipeline::check(&art.bytes, &art.name, settings)
}

/// The face that is printed and sawn: mended where that is on. Its files are
/// called after the project, `name`.
///
/// # Errors
/// As [`check`], and wishes that cannot be read.
pub fn settled(name: &str, state: &State, settings: &Settings) -> Result<Outcome, Error> {
    let outcome = if state.mend.on { repaired(state, settings)?.after } else { check(&state.art, settings)? };
    Ok(outcome.named(Some(name)))
}

fn repaired(state: &State, settings: &Settings) -> Result<Repaired, Error> {
    pipeline::mended(&state.art.bytes, &state.art.name, settings, |frame| state.mend.wishes(frame))
}

/// A face before and after mending, with its edits, for the page.
///
/// # Errors
/// As [`settled`].
pub fn mend(state: &State) -> Result<Value, Error> {
    let settings = Settings::resolve(&state.shop)?;
    let repaired = repaired(state, &settings)?;
    Ok(mends::view(&repaired, &state.mend, &settings))
}

/// The view of a drawing in a shop.
///
/// # Errors
/// A setting that is wrong, or as [`check`].
pub fn view(art: &Art, shop: &Shop) -> Result<Value, Error> {
    let settings = Settings::resolve(shop)?;
    let outcome = check(art, &settings)?;
    Ok(view::view(&outcome, &settings))
}

/// A drawing judged in a shop, small: outlines, panel size and verdict.
///
/// # Errors
/// As [`view()`].
pub fn thumb(art: &Art, shop: &Shop) -> Result<Value, Error> {
    let outcome = check(art, &Settings::resolve(shop)?)?;
    let panel = &outcome.face.panel;
    let (verdict, reason) = survey::judged(&outcome);
    Ok(json!({
        "verdict": verdict.name(), "reason": reason,
        "width_mm": panel.width.get(), "height_mm": panel.height.get(),
        "cutouts": outcome.face.cutouts.iter().map(|c| view::piece(&c.piece)).collect::<Vec<_>>(),
        "stop": outcome.count(Severity::Stop), "care": outcome.count(Severity::Care),
        "minutes": outcome.order.minutes.round(),
    }))
}

/// The template's sheets as they will print: name, size in millimetres, and a
/// drawing with its letters as outlines, to be shown as a picture.
///
/// # Errors
/// As [`view()`], or a paper the panel cannot be laid on.
pub fn pages(name: &str, state: &State) -> Result<Vec<Value>, Error> {
    let settings = Settings { copies: 1, ..Settings::resolve(&state.shop)? };
    let outcome = settled(name, state, &settings)?;
    let sheets = pipeline::template_sheets(&outcome, &settings)?;
    let page = |sheet: &Sheet| {
        json!({
            "name": sheet.name, "width_mm": sheet.width.get(), "height_mm": sheet.height.get(),
            "svg": write::svg::svg_with(sheet, write::svg::Letters::Outlines),
        })
    };
    Ok(sheets.iter().map(page).collect())
}

/// A file of the project `name` by its kind; `None` for a kind there is not.
///
/// # Errors
/// As [`pages`], and a box that cannot be built.
pub fn file(kind: &str, name: &str, state: &State) -> Result<Option<Made>, Error> {
    let Some(known) = KINDS.iter().find(|known| known.name == kind) else { return Ok(None) };
    let settings = Settings::resolve(&state.shop)?;
    let files = match known.from {
        From::Face => pipeline::documents(&settled(name, state, &settings)?, &settings)?,
        From::Outlines => pipeline::outlines(&settled(name, state, &settings)?),
        From::Night => {
            let png = night(&settled(name, state, &settings)?.face, &View::default())?.png;
            vec![pipeline::Made { name: format!("{name}-night.png"), bytes: png }]
        }
        From::Mending => pipeline::mend_documents(&repaired(state, &settings)?.named(Some(name)))?,
        From::Box => {
            let outcome = settled(name, state, &settings)?;
            lantern::box_documents(&lantern::plan_box(&settings, Some(&outcome))?, &settings)?
        }
        From::Batch => {
            let outcome = settled(name, state, &settings)?;
            let boxes = state.shop.batch.boxes.unwrap_or(1);
            lantern::batch_documents(&lantern::plan_season(&settings, &[(&outcome, boxes)])?, &settings)?
        }
        From::Ruler => {
            let meta =
                Meta { title: "Printer check".into(), subject: "Measure both bars after printing at 100 %".into() };
            vec![pipeline::Made {
                name: "fretgrin-ruler.pdf".into(),
                bytes: pdf(&[ruler(&settings.print.paper)?], &meta)?,
            }]
        }
    };
    let made = files.into_iter().find(|made| made.name.ends_with(known.ending));
    Ok(made.map(|made| {
        // Box papers are named after the box; here they belong to a face.
        let own = matches!(known.from, From::Box | From::Batch);
        let name = if own { format!("{name}-{}", made.name) } else { made.name };
        // Downloads are kept beside the drawing: the commands must know them as ours.
        let bytes = mark::stamped(&name, made.bytes);
        Made { name, kind: known.media, bytes }
    }))
}

/// What a kind of file is made from.
#[derive(Clone, Copy)]
enum From {
    Face,
    Outlines,
    Night,
    Mending,
    Box,
    Batch,
    Ruler,
}

/// A kind of file: what the page calls it, how its name ends, media type.
struct Kind {
    name: &'static str,
    from: From,
    ending: &'static str,
    media: &'static str,
}

const fn kind(name: &'static str, from: From, ending: &'static str, media: &'static str) -> Kind {
    Kind { name, from, ending, media }
}

const PDF: &str = "application/pdf";
const PNG: &str = "image/png";
const SVG: &str = "image/svg+xml";
const JSON: &str = "application/json";

const KINDS: &[Kind] = &[
    kind("template", From::Face, "-template.pdf", PDF),
    kind("picture-svg", From::Face, "-picture.svg", SVG),
    kind("picture-png", From::Face, "-picture.png", PNG),
    kind("report", From::Face, "-report.json", JSON),
    kind("outlines-svg", From::Outlines, "-outlines.svg", SVG),
    kind("outlines-dxf", From::Outlines, "-outlines.dxf", "image/vnd.dxf"),
    kind("night", From::Night, "-night.png", PNG),
    kind("mended", From::Mending, "-mended.svg", SVG),
    kind("before-after", From::Mending, "-before-after.png", PNG),
    kind("edits", From::Mending, "-edits.json", JSON),
    kind("box", From::Box, "-papers.pdf", PDF),
    kind("job", From::Batch, "-papers.pdf", PDF),
    kind("cut-list", From::Batch, "-cut-list.csv", "text/csv; charset=utf-8"),
    kind("ruler", From::Ruler, "-ruler.pdf", PDF),
];
