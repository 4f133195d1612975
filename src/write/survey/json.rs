//! A survey as JSON: versioned, documented by `survey.schema.json` beside the
//! report's schema. Keys end in their unit; adding one keeps the version.

use std::io;

use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use crate::diag::round3;
use crate::survey::{Difficulty, Found, Measured, Mended, PART_NAMES, Row, Setup, Survey};

/// Name and version of the survey's schema.
pub const SCHEMA: &str = "fretgrin-survey-1";
/// The JSON Schema (draft 2020-12) of the survey.
pub const SURVEY_SCHEMA: &str = include_str!("../survey.schema.json");

/// The survey; its keys in the order of their names, as everywhere in our JSON.
#[derive(Serialize)]
struct Report<'a> {
    difficulty: &'static str,
    faces: Faces<'a>,
    generator: &'static str,
    only: &'a str,
    schema: &'static str,
    setup: Value,
    totals: Value,
}

/// The faces, each made when its turn comes to be written.
struct Faces<'a>(&'a [Row]);

impl Serialize for Faces<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(self.0.iter().map(row))
    }
}

/// The survey as text, indented, with a final newline, written face by face.
///
/// # Errors
/// What the writer says.
pub fn report(survey: &Survey, out: &mut dyn io::Write) -> io::Result<()> {
    let report = Report {
        difficulty: crate::survey::EXPLAINED,
        faces: Faces(&survey.rows),
        generator: "fretgrin",
        only: &survey.chosen,
        schema: SCHEMA,
        setup: setup(&survey.setup),
        totals: totals(survey),
    };
    serde_json::to_writer_pretty(&mut *out, &report)?;
    out.write_all(b"\n")
}

fn setup(setup: &Setup) -> Value {
    json!({
        "panel_width_mm": round3(setup.width.get()),
        "panel_height_mm": round3(setup.height.get()),
        "thickness_mm": round3(setup.thickness.get()),
        "grain_deg": round3(setup.grain_deg),
        "wood": setup.wood,
        "blade": setup.blade,
        "mending": setup.mending,
    })
}

fn totals(survey: &Survey) -> Value {
    let verdicts = survey.tally().into_iter().map(|(verdict, n)| (verdict.name().to_owned(), Value::from(n)));
    json!({
        "surveyed": survey.of,
        "shown": survey.rows.len(),
        "doubles": survey.doubles(),
        "passed_over": survey.passed_over,
        "verdicts": verdicts.collect::<serde_json::Map<_, _>>(),
    })
}

fn row(row: &Row) -> Value {
    json!({
        "number": row.number,
        "name": row.name,
        "path": row.path,
        "verdict": row.verdict().name(),
        "reason": row.reason(),
        "error": match &row.found {
            Found::Face(_) => Value::Null,
            Found::Refused(refused) => json!({ "what": refused.what, "advice": refused.advice }),
        },
        "double": row.double.as_ref().map(|double| json!({
            "number": double.number, "of": double.of, "how": double.how.name(), "turned_deg": double.turned_deg,
        })),
        "mended_copy": row.copy,
        "face": row.face().map(face),
    })
}

fn face(face: &Measured) -> Value {
    json!({
        "width_mm": face.width_mm,
        "height_mm": face.height_mm,
        "scale": face.scale,
        "reading": face.reading,
        "cutouts": face.cutouts,
        "entry_holes": face.holes,
        "cut_length_mm": face.length_mm,
        "minutes": face.minutes,
        "faults": face.faults,
        "stop": face.stop,
        "care": face.care,
        "note": face.note,
        "hardest_turn": face.hardest,
        "best_blade": face.blade,
        "best_blade_does_it": face.blade_does_it,
        "difficulty": difficulty(&face.difficulty),
        "mended": face.mended.as_ref().map(mended),
    })
}

fn difficulty(difficulty: &Difficulty) -> Value {
    let parts = PART_NAMES.into_iter().zip(difficulty.parts());
    json!({
        "points": difficulty.total(),
        "word": difficulty.word(),
        "parts": parts.map(|(name, points)| (name.to_owned(), Value::from(points))).collect::<serde_json::Map<_, _>>(),
    })
}

/// What mending does, and the mended face in the same figures as the drawn one.
fn mended(mended: &Mended) -> Value {
    let mut told = face(&mended.after);
    if let Some(told) = told.as_object_mut() {
        told.remove("mended");
        told.insert("edits".to_owned(), mended.edits.into());
        told.insert("area_changed_share".to_owned(), mended.changed.into());
    }
    told
}
