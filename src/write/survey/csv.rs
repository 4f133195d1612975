//! A survey as comma-separated values (RFC 4180); the last column says who wrote it.

use std::io;

use crate::diag::Severity;
use crate::survey::words;
use crate::survey::{PART_NAMES, Row, Survey};

/// Columns before the difficulty's parts.
const COLUMNS: [&str; 21] = [
    "number",
    "name",
    "path",
    "verdict",
    "reason",
    "width_mm",
    "height_mm",
    "cutouts",
    "entry_holes",
    "cut_length_mm",
    "minutes",
    "stop",
    "stop_by_kind",
    "care",
    "care_by_kind",
    "hardest_turn",
    "best_blade",
    "blade_does_it",
    "double",
    "mended_copy",
    "difficulty",
];

/// Last column: whether the figures are those of the face as drawn or as mended.
const FIGURES: &str = "figures";

/// Title of the column by which the file is known as ours, with what was surveyed for.
const OURS: &str = "fretgrin";

/// The survey, a line for each face, written as it comes.
///
/// # Errors
/// What the writer says.
pub fn table(survey: &Survey, out: &mut dyn io::Write) -> io::Result<()> {
    let parts = PART_NAMES.map(|part| format!("difficulty_{part}"));
    let head = COLUMNS.into_iter().map(str::to_owned).chain(parts).chain([FIGURES, OURS].map(str::to_owned));
    let setup = format!("survey for a {}", words::setup(&survey.setup));
    line(out, head)?;
    survey.rows.iter().try_for_each(|row| line(out, [cells(row), vec![setup.clone()]].concat()))
}

fn cells(row: &Row) -> Vec<String> {
    let mut cells = vec![
        row.number.to_string(),
        row.name.clone(),
        row.path.clone(),
        row.verdict().name().to_owned(),
        row.reason().to_owned(),
    ];
    let double = row.double.as_ref().map(words::double).unwrap_or_default();
    let copy = row.copy.clone().unwrap_or_default();
    let Some(face) = row.judged() else {
        cells.resize(COLUMNS.len() + PART_NAMES.len() + 1, String::new());
        return cells;
    };
    cells.extend([
        face.width_mm.to_string(),
        face.height_mm.to_string(),
        face.cutouts.to_string(),
        face.holes.to_string(),
        face.length_mm.to_string(),
        face.minutes.to_string(),
        face.stop.to_string(),
        words::faults_of(face, Severity::Stop),
        face.care.to_string(),
        words::faults_of(face, Severity::Care),
        words::hardest(face.hardest.as_ref()),
        face.blade.clone().unwrap_or_default(),
        if face.blade_does_it { "yes" } else { "no" }.to_owned(),
        double,
        copy,
        face.difficulty.total().to_string(),
    ]);
    cells.extend(face.difficulty.parts().map(|points| points.to_string()));
    cells.push(if row.is_mended() { "after mending" } else { "as drawn" }.to_owned());
    cells
}

fn line(out: &mut dyn io::Write, cells: impl IntoIterator<Item = String>) -> io::Result<()> {
    let cells: Vec<String> = cells.into_iter().map(|cell| quoted(&cell)).collect();
    write!(out, "{}\r\n", cells.join(","))
}

/// A cell as it may stand between commas. One that a spreadsheet would take for
/// a formula is written as the words it is: a file's name is a stranger's.
fn quoted(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
    let cell = if formula { format!("'{cell}") } else { cell.to_owned() };
    if cell.contains(['"', ',', '\n', '\r']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
}
