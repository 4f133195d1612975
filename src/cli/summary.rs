//! What a run found, told in a few calm lines.
//!
//! Pure: an [`Outcome`] in, text out. The whole story is in the report; here
//! stands what the maker must know before going to the saw.

use super::Put;
use super::console::{Look, wrapped};
use crate::check::BladeVerdict;
use crate::diag::{Finding, FindingKind, Severity};
use crate::outcome::{MendFacts, Outcome};
use crate::pipeline::{file_name, sheets_to_join};
use crate::settings::Settings;
use crate::units::{Mm, Unit, minutes_text, size_text};

/// Findings told one by one; the rest are counted.
const TOLD: usize = 5;
/// Findings of one kind told one by one, so that thirty tight turns do not hide
/// one island.
const TOLD_OF_A_KIND: usize = 2;
/// Column where the facts begin.
const INDENT: usize = 11;

/// The summary of a run on `given`: a drawing or a project, and the options of the
/// face, as typed (see [`super::again`]). `put` names the files, in the order they
/// matter.
#[must_use]
pub fn summary(given: &str, outcome: &Outcome, settings: &Settings, put: &Put, look: Look) -> String {
    let written = put.names.as_slice();
    let mut page = Page { look, unit: settings.unit, text: String::new() };
    page.text.push_str(&format!("{}\n\n", look.paint("1", &headline(outcome, settings))));
    page.fact("Read as", &reading(outcome));
    page.fact("Size", &size(outcome, settings));
    if let Some(facts) = &outcome.mended {
        page.fact("Mended", &mended(facts));
    }
    page.fact("To saw", &sawing(outcome, settings.unit));
    page.fact("Blade", &blade(outcome));
    page.text.push('\n');
    page.verdict(outcome);
    page.findings(outcome, written);
    page.text.push('\n');
    if !written.is_empty() {
        page.fact(put.word, &written.join(", "));
    }
    page.fact("Next", &next(outcome, given, written, sheets_to_join(outcome, settings)));
    if outcome.art.file != "-" {
        page.fact("Or", &format!("look, drag and mend it in the browser: fretgrin open {given}"));
    }
    page.text
}

/// What of the drawing was not taken, the first few in words, for commands that tell
/// no findings.
pub(super) fn left_out(outcome: &Outcome) -> Option<String> {
    const TOLD: usize = 3;
    let is_left =
        |f: &Finding| f.severity >= Severity::Care && matches!(f.kind, FindingKind::LeftOut | FindingKind::OpenOutline);
    let words = |f: &Finding| match f.kind {
        // A note to `check`, but here nothing else tells that something drawn is missing.
        FindingKind::Stray => Some(format!("{} (--keep {} keeps it)", f.message, f.id)),
        _ => is_left(f).then(|| f.message.clone()),
    };
    let left: Vec<String> = outcome.findings.iter().filter_map(words).collect();
    let rest = left.len().saturating_sub(TOLD);
    let more = if rest > 0 { format!("; and {rest} more, see `fretgrin check`") } else { String::new() };
    (!left.is_empty()).then(|| format!("{}{more}", left[..left.len() - rest].join("; ")))
}

fn mended(facts: &MendFacts) -> String {
    if facts.edits == 0 && facts.left == 0 {
        return "nothing was to mend".to_owned();
    }
    let left = if facts.left == 0 { String::new() } else { format!("; {} left", counted(facts.left, "fault")) };
    format!(
        "{}, {:.1} % of the open area changed{left}; fretgrin mend shows each edit, before and after",
        counted(facts.edits, "edit"),
        facts.area_changed_share * 100.0
    )
}

fn headline(outcome: &Outcome, settings: &Settings) -> String {
    let panel = &outcome.face.panel;
    let file = match outcome.art.file.as_str() {
        "-" => "The face",
        path => file_name(path),
    };
    let size = size_text(panel.width, panel.height, settings.unit);
    format!("{file} on a panel {size}, {} {}", panel.thickness.text(settings.unit), settings.wood.name)
}

fn reading(outcome: &Outcome) -> String {
    format!("{}: {}", outcome.art.reading, outcome.art.why)
}

/// Where both were asked for: the side that keeps the face from filling the other.
fn decides(settings: &Settings, width: Mm, height: Mm) -> Option<&'static str> {
    /// A difference nobody sees, mm.
    const SAME: f64 = 0.05;
    let (wide, high) = (settings.fit.width?, settings.fit.height?);
    match ((wide - width).get() > SAME, (high - height).get() > SAME) {
        (true, false) => Some("height"),
        (false, true) => Some("width"),
        _ => None,
    }
}

fn size(outcome: &Outcome, settings: &Settings) -> String {
    let (fit, unit) = (&outcome.face.fit, settings.unit);
    let (width, height) = (Mm::new(fit.width_mm), Mm::new(fit.height_mm));
    let other = match unit {
        Unit::Inch => Unit::Mm,
        Unit::Mm => Unit::Inch,
    };
    let in_unit = |unit| size_text(width, height, unit);
    let mut text = format!("{} ({}), {:.1} % of the drawing's own", in_unit(unit), in_unit(other), fit.scale * 100.0);
    if fit.turn_deg != 0.0 {
        text.push_str(&format!(", turned {:.1}°", fit.turn_deg));
    }
    if fit.mirrored {
        text.push_str(", mirrored");
    }
    for (stretch, way) in [(fit.stretch_x, "wider"), (fit.stretch_y, "higher")] {
        if (stretch - 1.0).abs() > 1e-6 {
            text.push_str(&format!(", stretched {:.1} % {way}", (stretch - 1.0) * 100.0));
        }
    }
    if let Some(decides) = decides(settings, width, height) {
        text.push_str(&format!("; of the width and height asked for the {decides} decides"));
    }
    text
}

fn sawing(outcome: &Outcome, unit: Unit) -> String {
    format!(
        "{}, {}, {} of line, about {}",
        counted(outcome.face.cutouts.len(), "cut-out"),
        counted(outcome.holes.len(), "entry hole"),
        Mm::new(outcome.order.length).both(unit),
        minutes_text(outcome.order.minutes)
    )
}

/// The chosen blade, and the recommended one where it differs.
fn blade(outcome: &Outcome) -> String {
    let chosen = &outcome.setup.blade;
    let verdict = outcome.checks.blades.iter().find(|verdict| verdict.blade == *chosen);
    let said = match verdict {
        Some(verdict) if verdict.does_it => format!("{chosen} does it"),
        Some(verdict) => format!("{chosen} does not: {}", misses(verdict)),
        None => chosen.clone(),
    };
    match &outcome.setup.recommended {
        Some(best) if best == chosen => format!("{said}, the best in the drawer for this face"),
        Some(best) => format!("{said}; {best} is the best in the drawer for this face"),
        None if outcome.checks.blades.is_empty() => said,
        None => format!("{said}; no blade in the drawer does the whole face"),
    }
}

fn misses(verdict: &BladeVerdict) -> String {
    let parts = [(verdict.tight_turns, "tight turn"), (verdict.narrow_slots, "narrow slot")];
    let named: Vec<String> = parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| counted(*n as usize, what)).collect();
    if named.is_empty() { "it leaves something undone".to_owned() } else { named.join(" and ") }
}

/// Whether mending, not tried yet, is there for something that stops the work.
pub(super) fn mends(outcome: &Outcome) -> bool {
    use FindingKind::{Island, NarrowSlot, NoEntry, TightTurn, WeakBridge};
    let of_mending = [Island, WeakBridge, TightTurn, NarrowSlot, NoEntry];
    let stop = |finding: &Finding| finding.severity == Severity::Stop && of_mending.contains(&finding.kind);
    outcome.mended.is_none() && outcome.art.file != "-" && outcome.findings.iter().any(stop)
}

/// What to do now with the face that was `given`; `sheets` are those the template
/// is to be joined from.
fn next(outcome: &Outcome, given: &str, written: &[String], sheets: usize) -> String {
    let template = written.iter().find(|name| name.ends_with("-template.pdf"));
    match (outcome.worst(), template) {
        (Some(Severity::Stop), _) if mends(outcome) => {
            format!(
                "fretgrin mend {given} puts right what it can; or change the drawing, the size or the blade, and run \
                 this again before you cut wood"
            )
        }
        (Some(Severity::Stop), _) => "put right what says stop in the drawing, or try another size or blade, \
                                      and run this again before you cut wood"
            .to_owned(),
        (_, Some(template)) if sheets > 1 => format!(
            "print {template} at 100 %, hold a rule to the rulers on each of its {sheets} sheets, trim them and join \
             them cross on cross, and tape the whole on the panel"
        ),
        (_, Some(template)) => {
            format!("print {template} at 100 %, hold a rule to the rulers on it, and tape it on the panel")
        }
        (_, None) => format!("fretgrin prepare {given} writes the template"),
    }
}

pub(super) fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

struct Page {
    look: Look,
    unit: Unit,
    text: String,
}

impl Page {
    /// `label` and a text that wraps under itself.
    fn fact(&mut self, label: &str, text: &str) {
        let body = wrapped(text, self.look.columns, INDENT);
        let label = format!("  {label:<width$}", width = INDENT - 2);
        let body = body.get(INDENT..).unwrap_or_default();
        self.text.push_str(&format!("{}{body}\n", self.look.paint("2", &label)));
    }

    fn verdict(&mut self, outcome: &Outcome) {
        let (stops, cares) = (outcome.count(Severity::Stop), outcome.count(Severity::Care));
        let (style, said) = match (stops, cares) {
            (0, 0) => ("1;32", "Sound: nothing in the way of sawing it.".to_owned()),
            (0, n) => ("1;33", format!("Can be sawn; {} to mind.", counted(n, "place"))),
            (n, _) => ("1;31", format!("Not ready: {} must be put right first.", counted(n, "thing"))),
        };
        self.text.push_str(&format!("{}\n", self.look.paint(style, &said)));
    }

    /// The worst findings, then the rest by count.
    fn findings(&mut self, outcome: &Outcome, written: &[String]) {
        let told = told(&outcome.findings);
        told.iter().for_each(|finding| self.finding(finding));
        let rest: Vec<&Finding> =
            outcome.findings.iter().filter(|finding| !told.iter().any(|t| std::ptr::eq(*t, *finding))).collect();
        if rest.is_empty() {
            return;
        }
        let report = written.iter().find(|name| name.ends_with("-report.json"));
        let place = report.map_or_else(|| "--json tells all".to_owned(), |report| format!("all are in {report}"));
        let text = format!("and {} more: {}; {place}", rest.len(), by_kind(&rest));
        let text = wrapped(&text, self.look.columns, 8);
        self.text.push_str(&format!("{}\n", self.look.paint("2", &text)));
    }

    fn finding(&mut self, finding: &Finding) {
        let style = match finding.severity {
            Severity::Stop => "31",
            Severity::Care => "33",
            Severity::Note => "2",
        };
        let place = finding.place_text(self.unit).map_or(String::new(), |place| format!(", at {place}"));
        let body = wrapped(&format!("{}: {}{place}", finding.id, finding.message), self.look.columns, 8);
        let word = self.look.paint(style, &format!("  {:<6}", finding.severity.word()));
        self.text.push_str(&format!("{word}{}\n", body.get(8..).unwrap_or_default()));
        if !finding.advice.is_empty() {
            self.text.push_str(&format!("{}\n", wrapped(&finding.advice, self.look.columns, 10)));
        }
    }
}

/// The findings told one by one: the worst, no more than a few of a kind. Notes
/// are told only where nothing worse is.
fn told(findings: &[Finding]) -> Vec<&Finding> {
    let worst = findings.iter().map(|finding| finding.severity).max();
    let least = if worst == Some(Severity::Note) { Severity::Note } else { Severity::Care };
    let mut told: Vec<&Finding> = Vec::new();
    for finding in findings.iter().filter(|finding| finding.severity >= least) {
        let of_its_kind = told.iter().filter(|t| t.kind == finding.kind && t.severity == finding.severity).count();
        if told.len() < TOLD && of_its_kind < TOLD_OF_A_KIND {
            told.push(finding);
        }
    }
    told
}

/// `12 tight-turn (care), 1 speck (note)` … in the order they come.
fn by_kind(findings: &[&Finding]) -> String {
    let mut kinds: Vec<(String, usize)> = Vec::new();
    for finding in findings {
        let name = format!("{} ({})", finding.kind.name(), finding.severity.word());
        match kinds.iter_mut().find(|(known, _)| *known == name) {
            Some((_, count)) => *count += 1,
            None => kinds.push((name, 1)),
        }
    }
    kinds.iter().map(|(name, count)| format!("{count} {name}")).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests;
