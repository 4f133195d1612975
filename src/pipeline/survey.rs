//! A drawer surveyed: each drawing through the same stages as a single check.

use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use super::{Wishes, check, lantern, mended};
use crate::diag::Error;
use crate::mend;
use crate::settings::{Settings, Shop};
use crate::survey::contact::{self, Page};
use crate::survey::memory::Ground;
use crate::survey::{self, Found, Refused, Setup, Survey, Verdict};
use crate::write::pdf::{Meta, write_pdf};
use crate::write::survey::{csv, html, json};

/// A drawing surveyed.
#[derive(Clone, Debug, PartialEq)]
pub struct Surveyed {
    /// What was found.
    pub found: Found,
    /// The mended face as SVG, where mending made it sound.
    pub copy: Option<String>,
}

/// What every face of a survey is judged for.
///
/// # Errors
/// Whatever makes the shop's box impossible.
pub fn survey_setup(settings: &Settings, mending: bool) -> Result<Setup, Error> {
    let (settings, _) = lantern::boxed(settings)?;
    let panel = &settings.panel;
    Ok(Setup {
        unit: settings.unit,
        width: panel.width,
        height: panel.height,
        thickness: panel.thickness,
        grain_deg: panel.grain_deg,
        wood: settings.wood.name.to_string(),
        blade: settings.saw.blade.name.clone(),
        mending,
    })
}

/// Surveys one drawing: the figures of [`check()`] and, with `mending`, those of
/// [`mended`] where something stops it. Nothing a drawing does stops a survey,
/// not even a fault of the program.
#[must_use]
pub fn survey_face(bytes: &[u8], name: &str, settings: &Settings, mending: bool) -> Surveyed {
    let surveyed = catch_unwind(AssertUnwindSafe(|| face(bytes, name, settings, mending)));
    let failed = |_| Err(Error::Internal { what: format!("the program failed on {name}") });
    surveyed
        .unwrap_or_else(failed)
        .unwrap_or_else(|error| Surveyed { found: Found::Refused(Refused::from(&error)), copy: None })
}

fn face(bytes: &[u8], name: &str, settings: &Settings, mending: bool) -> Result<Surveyed, Error> {
    let measured = survey::measured(&check(bytes, name, settings)?);
    if !mending || measured.verdict != Verdict::NeedsMending {
        return Ok(Surveyed { found: Found::Face(Arc::new(measured)), copy: None });
    }
    let repaired = mended(bytes, name, settings, |_| Ok(Wishes::default()))?;
    let told = &repaired.mended;
    let measured = survey::mended(measured, &repaired.after, told.edits.len(), told.summary.area_changed_share);
    let copy = (measured.verdict == Verdict::SoundAfterMending).then(|| mend::svg(&repaired.after.face));
    Ok(Surveyed { found: Found::Face(Arc::new(measured)), copy })
}

/// What the keys of a survey's memory are made from: everything that decides
/// what is found, and `program`, which tells one build from another.
#[must_use]
pub fn survey_ground(settings: &Settings, mending: bool, program: &str) -> Ground {
    // Where files go and how they print decides nothing that is remembered.
    let mut settings = settings.clone();
    (settings.folder, settings.copies) = (String::new(), 1);
    settings.print = Settings::default().print;
    let usual = Shop::default();
    (settings.stated.out, settings.stated.paper, settings.stated.printer) = (usual.out, usual.paper, usual.printer);
    let words = format!("{settings:?}");
    Ground::new([env!("CARGO_PKG_VERSION"), program, &words, if mending { "mending" } else { "as drawn" }])
}

/// Names of the files of a survey.
pub const SURVEY_FILES: [&str; 4] = ["survey.pdf", "survey.html", "survey.csv", "survey.json"];

/// Writes one of [`SURVEY_FILES`] as it is made, so that it is never held whole:
/// contact sheet on paper or as a page, table, data.
///
/// # Errors
/// What the writer says.
pub fn survey_document(name: &str, survey: &Survey, settings: &Settings, out: &mut dyn Write) -> io::Result<()> {
    match name {
        "survey.pdf" => contact_sheet(survey, settings, out),
        "survey.html" => html::page(survey, out),
        "survey.csv" => csv::table(survey, out),
        "survey.json" => json::report(survey, out),
        _ => Err(io::ErrorKind::InvalidInput.into()),
    }
}

fn contact_sheet(survey: &Survey, settings: &Settings, out: &mut dyn Write) -> io::Result<()> {
    let paper = &settings.print.paper;
    let page = Page { width: paper.width.get(), height: paper.height.get(), margin: paper.margin.get() };
    let meta = Meta {
        title: "The drawer: contact sheet".to_owned(),
        subject: "Every face of the drawer, judged for one panel".to_owned(),
    };
    write_pdf(contact::sheets(survey, &page), &meta, out)
}
