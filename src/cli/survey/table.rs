//! The survey as a table on the terminal.

use super::shelf::Put;
use crate::cli::console::{Look, wrapped};
use crate::diag::Severity;
use crate::survey::words::{self, grouped};
use crate::survey::{Row, Survey, Verdict};
use crate::units::whole_minutes;

/// Widest that names become, characters.
const NAME: usize = 30;
/// Widest that the last column is needed to be good for anything.
const LAST: usize = 18;

/// The table, then what it comes to.
pub(super) fn told(survey: &Survey, put: &Put, look: Look) -> String {
    let mut text = format!("{}\n\n", look.paint("1", &headline(survey)));
    rows(&mut text, survey, look);
    text.push('\n');
    for (verdict, count) in survey.tally() {
        let line = format!("{:>7}  {}", grouped(count), verdict.words());
        text.push_str(&format!("{}\n", look.paint(style(verdict), &line)));
    }
    remarks(&mut text, survey, look);
    let copies = format!("{} mended {}", grouped(put.copies), if put.copies == 1 { "copy" } else { "copies" });
    let copies = (put.copies > 0).then_some(copies.as_str());
    let files: Vec<&str> = put.files.iter().map(String::as_str).chain(copies).collect();
    let word = if put.stood { "Unchanged" } else { "Written " };
    text.push_str(&format!("{}\n", wrapped(&format!("{word} {}", files.join(", ")), look.columns, 2)));
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

fn rows(text: &mut String, survey: &Survey, look: Look) {
    if survey.rows.is_empty() {
        text.push_str("  no face meets all of this\n");
        return;
    }
    let name = survey.rows.iter().map(|row| row.name.chars().count()).max().unwrap_or(0).clamp(4, NAME);
    let room = look.columns.saturating_sub(name + 40);
    let last = if room >= LAST { "  what is in the way" } else { "" };
    let head = format!("  {:<name$}  {:<11}  {:>6}  {:>4}  {:>5}{last}", "face", "verdict", "points", "min", "holes");
    text.push_str(&format!("{}\n", look.paint("2", &head)));
    for row in &survey.rows {
        text.push_str(&line(row, name, room, look));
    }
}

fn line(row: &Row, name: usize, room: usize, look: Look) -> String {
    let verdict = row.verdict();
    let word = look.paint(style(verdict), &format!("{:<11}", short(verdict)));
    let figures = row.judged().map_or_else(
        || format!("{:>6}  {:>4}  {:>5}", "", "", ""),
        |face| {
            let minutes = whole_minutes(face.minutes);
            format!("{:>6.1}  {minutes:>4}  {:>5}", face.difficulty.total(), face.holes)
        },
    );
    let last = if room >= LAST { format!("  {}", fitted(&way(row), room)) } else { String::new() };
    format!("  {:<name$}  {word}  {figures}{}\n", fitted(&row.name, name), last.trim_end())
}

/// What is in the way: whose double it is, what stops it, what to mind.
fn way(row: &Row) -> String {
    let double = row.double.as_ref().map(words::double);
    let said = match row.face() {
        None => Some(row.reason().to_owned()),
        Some(face) if row.says_why() => Some(face.reason.clone()),
        Some(face) => {
            let worst = [Severity::Stop, Severity::Care].into_iter().map(|severity| words::faults_of(face, severity));
            worst.into_iter().find(|faults| !faults.is_empty())
        }
    };
    double.into_iter().chain(said).collect::<Vec<_>>().join("; ")
}

/// The verdict in a word.
const fn short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::SawAsIs => "saw as is",
        Verdict::SoundAfterMending => "mended",
        Verdict::NeedsMending => "mend first",
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

/// At most so many characters, the last `…` where some are cut; no controls.
fn fitted(text: &str, most: usize) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    if clean.chars().count() <= most {
        return clean;
    }
    clean.chars().take(most.saturating_sub(1)).chain(['…']).collect()
}
