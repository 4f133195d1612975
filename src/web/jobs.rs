//! The page's calls to the pipeline.

use serde_json::{Value, json};

use super::store::{Art, State};
use super::{mends, view};
use crate::diag::{Error, Severity};
use crate::outcome::Outcome;
use crate::pipeline::{self, Repaired};
use crate::settings::{Settings, Shop};
use crate::sheet::Sheet;
use crate::write;
use crate::write::night::{View, night};

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

/// The face that is printed and sawn: mended where that is on.
///
/// # Errors
/// As [`check`], and wishes that cannot be read.
pub fn settled(state: &State, settings: &Settings) -> Result<Outcome, Error> {
    if state.mend.on { Ok(repaired(state, settings)?.after) } else { check(&state.art, settings) }
}

fn repaired(state: &State, settings: &Settings) -> Result<Repaired, Error> {
    let laid = pipeline::lay(&state.art.bytes, &state.art.name, settings)?;
    let wishes = state.mend.wishes(laid.face.frame())?;
    Ok(pipeline::repair(laid, settings, &wishes))
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
    Ok(json!({
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
pub fn pages(state: &State) -> Result<Vec<Value>, Error> {
    let settings = Settings { copies: 1, ..Settings::resolve(&state.shop)? };
    let outcome = settled(state, &settings)?;
    let sheets = pipeline::template_sheets(&outcome, &settings)?;
    let page = |sheet: &Sheet| {
        json!({
            "name": sheet.name, "width_mm": sheet.width.get(), "height_mm": sheet.height.get(),
            "svg": write::svg::svg_with(sheet, write::svg::Letters::Outlines),
        })
    };
    Ok(sheets.iter().map(page).collect())
}

/// A file of a project by its kind; `None` for a kind there is not.
///
/// # Errors
/// As [`pages`].
pub fn file(kind: &str, state: &State) -> Result<Option<Made>, Error> {
    let Some((ending, media)) = KINDS.iter().find(|(name, ..)| *name == kind).map(|(_, ending, media)| (ending, media))
    else {
        return Ok(None);
    };
    let settings = Settings::resolve(&state.shop)?;
    let outcome = settled(state, &settings)?;
    if kind == "night" {
        let name = format!("{}{ending}", pipeline::stem(&outcome.art.file));
        return Ok(Some(Made { name, kind: media, bytes: night(&outcome.face, &View::default())?.png }));
    }
    let made = pipeline::documents(&outcome, &settings)?.into_iter().find(|made| made.name.ends_with(ending));
    Ok(made.map(|made| Made { name: made.name, kind: media, bytes: made.bytes }))
}

/// Kinds of file: what the page calls them, how their names end, media type.
const KINDS: &[(&str, &str, &str)] = &[
    ("template", "-template.pdf", "application/pdf"),
    ("picture-svg", "-picture.svg", "image/svg+xml"),
    ("picture-png", "-picture.png", "image/png"),
    ("night", "-night.png", "image/png"),
    ("report", "-report.json", "application/json"),
];
