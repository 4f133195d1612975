//! The survey as a table on the terminal.

use super::shelf::Put;
use crate::cli::console::{Look, wrapped};
use crate::diag::Severity;
use crate::survey::words::{self, grouped};
use crate::survey::{Row, Survey, Verdict};
use crate::units::whole_minutes;

/// Widest that names become, characters.
const NAME: usize = 30;
/// Width of the columns between, gaps and all.
const FIGURES: usize = 42;
/// Widest that the last column is needed to be good for anything.
const LAST: usize = 18;

/// The table, then what it comes to; `earlier` are mended copies of other surveys.
pub(super) fn told(survey: &Survey, put: &Put, unread: &[String], earlier: &[String], look: Look) -> String {
    let mut text = format!("{}\n\n", look.paint("1", &headline(survey)));
    rows(&mut text, survey, look);
    text.push('\n');
    for (verdict, count) in survey.tally() {
        let line = format!("{:>7}  {}", grouped(count), verdict.words());
        text.push_str(&format!("{}\n", look.paint(style(verdict), &line)));
    }
    remarks(&mut text, survey, look);
    if !unread.is_empty() {
        text.push_str(&format!("{}\n", wrapped(&not_read(unread), look.columns, 2)));
    }
    if !earlier.is_empty() {
        let what = if earlier.len() == 1 { "copy" } else { "copies" };
        let line = format!(
            "{} mended {what} of an earlier survey left as found: {}; delete what is of no use any more.",
            grouped(earlier.len()),
            listed(earlier)
        );
        text.push_str(&format!("{}\n", wrapped(&line, look.columns, 2)));
    }
    let copies = format!("{} mended {}", grouped(put.copies), if put.copies == 1 { "copy" } else { "copies" });
    let copies = (put.copies > 0).then_some(copies.as_str());
    let files: Vec<&str> = put.files.iter().map(String::as_str).chain(copies).collect();
    let line = format!("{:<8} {}", put.word, files.join(", "));
    text.push_str(&format!("{}\n", wrapped(&line, look.columns, 2)));
    text
}

fn headline(survey: &Survey) -> String {
    let faces = if survey.of == 1 { "face" } else { "faces" };
    let count = if survey.chosen.is_empty() {
        format!("{} {faces}", grouped(survey.of))
    } else {
        format!("{} of {} {faces} ({})", grouped(survey.rows.len()), grouped(survey.of), survey.chosen)
    };
    format!("{count} for a {}", words::setup(&survey.setup))
}

fn remarks(text: &mut String, survey: &Survey, look: Look) {
    let mut say = |line: String| text.push_str(&format!("{}\n", wrapped(&line, look.columns, 2)));
    if survey.tally().iter().any(|(verdict, _)| *verdict == Verdict::NeedsMending) {
        say("Mending was not tried: --mend tries it and writes the mended copies.".to_owned());
    }
    if survey.rows.iter().any(Row::is_mended) {
        say("Points, minutes and holes of mended faces are those after mending.".to_owned());
    }
    if survey.passed_over > 0 {
        let what = if survey.passed_over == 1 { "drawing" } else { "drawings" };
        say(format!("{} {what} of fretgrin's own passed over.", grouped(survey.passed_over)));
    }
}

/// Most names of files told.
const TOLD: usize = 6;

fn listed(names: &[String]) -> String {
    let more = if names.len() > TOLD { ", …" } else { "" };
    let told = names.iter().take(TOLD).map(|name| fitted(name, NAME)).collect::<Vec<_>>().join(", ");
    format!("{told}{more}")
}

fn not_read(names: &[String]) -> String {
    let what = if names.len() == 1 { "file" } else { "files" };
    let told = listed(names);
    format!(
        "{} {what} of kinds not read passed over: {told}. Save them as SVG, PNG or JPEG to have them judged.",
        grouped(names.len())
    )
}

fn rows(text: &mut String, survey: &Survey, look: Look) {
    if survey.rows.is_empty() {
        let none = if survey.of == 0 { "no face but fretgrin's own" } else { "no face meets all of this" };
        text.push_str(&format!("  {none}\n"));
        return;
    }
    let name = survey.rows.iter().map(|row| row.name.chars().count()).max().unwrap_or(0);
    // Long names give way to what is in the way, down to half their room.
    let name = name.min(look.columns.saturating_sub(FIGURES + LAST).max(NAME / 2)).clamp(4, NAME);
    let room = look.columns.saturating_sub(name + FIGURES);
    let last = if room >= LAST { "  what is in the way" } else { "" };
    let head = format!("  {:<name$}  {:<13}  {:>6}  {:>4}  {:>5}{last}", "face", "verdict", "points", "min", "holes");
    text.push_str(&format!("{}\n", look.paint("2", &head)));
    for row in &survey.rows {
        text.push_str(&line(row, name, room, look));
    }
}

fn line(row: &Row, name: usize, room: usize, look: Look) -> String {
    let verdict = row.verdict();
    let word = look.paint(style(verdict), &format!("{:<13}", short(verdict)));
    // Without figures, what is in the way has their room.
    let (figures, room) = row.judged().map_or((String::new(), room + 21), |face| {
        let minutes = whole_minutes(face.minutes);
        (format!("  {:>6.1}  {minutes:>4}  {:>5}", face.difficulty.total(), face.holes), room)
    });
    let last = if room >= LAST { format!("  {}", fitted(&way(row), room)) } else { String::new() };
    format!("  {:<name$}  {word}{figures}{}\n", called(&row.name, name), last.trim_end())
}

/// What is in the way: whose double it is, what stops it, what to mind.
fn way(row: &Row) -> String {
    let double = row.double.as_ref().map(words::double);
    let said = match row.face() {
        None => Some(unnamed(row).to_owned()),
        Some(face) if row.says_why() => Some(face.reason.clone()),
        Some(face) => {
            let worst = [Severity::Stop, Severity::Care].into_iter().map(|severity| words::faults_of(face, severity));
            worst.into_iter().find(|faults| !faults.is_empty())
        }
    };
    double.into_iter().chain(said).collect::<Vec<_>>().join("; ")
}

/// Why a file was not read, without its name, which stands in its own column.
fn unnamed(row: &Row) -> &str {
    let file = crate::pipeline::file_name(&row.path);
    let rest = [row.path.as_str(), file].into_iter().find_map(|name| row.reason().strip_prefix(name));
    rest.map_or(row.reason(), |rest| rest.trim_start_matches([':', ',', ' ']))
}

/// The verdict in a word.
const fn short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::SawAsIs => "saw as is",
        Verdict::SoundAfterMending => "mended",
        Verdict::NeedsMending => "needs mending",
        Verdict::NotForThisPanel => "not for it",
        Verdict::NotRead => "not read",
    }
}

const fn style(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::SawAsIs | Verdict::SoundAfterMending => "32",
        Verdict::NeedsMending => "33",
        Verdict::NotForThisPanel | Verdict::NotRead => "31",
    }
}

/// A name with its folder loses the folder's beginning first.
fn called(name: &str, most: usize) -> String {
    let length = name.chars().count();
    if !name.contains('/') || length <= most {
        return fitted(name, most);
    }
    let end: String = name.chars().skip(length - most.saturating_sub(1)).collect();
    fitted(&format!("…{end}"), most)
}

/// At most so many characters, the last `…` where some are cut; no controls.
fn fitted(text: &str, most: usize) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    if clean.chars().count() <= most {
        return clean;
    }
    clean.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}
