//! A survey as one page that needs nothing else: no network, no other file.
//!
//! Everything is in the markup, so the page reads and prints without its script;
//! the script sorts and sifts. What comes from a file (its name, messages) is
//! escaped; the page's own rule lets no address be loaded, whatever stands in it.

use std::fmt::Write as _;
use std::io;

use crate::diag::Severity;
use crate::survey::words::{self, grouped};
use crate::survey::{EXPLAINED, Found, Measured, PART_NAMES, Row, Survey, Verdict};
use crate::units::{Mm, minutes_text, size_text};

/// Points at which the difficulty's bar is full, as on the contact sheet.
const SCALE: f64 = 40.0;
const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
const SIGNS: &str = include_str!("signs.svg");

/// The page, written card by card.
///
/// # Errors
/// What the writer says.
pub fn page(survey: &Survey, to: &mut dyn io::Write) -> io::Result<()> {
    let mut out = String::new();
    head(&mut out);
    top(&mut out, survey);
    sieve(&mut out, survey);
    out.push_str("<main id=\"faces\" tabindex=\"-1\">\n<ul class=\"cards\">\n");
    for row in &survey.rows {
        card(&mut out, row, survey);
        to.write_all(out.as_bytes())?;
        out.clear();
    }
    out.push_str("</ul>\n<p class=\"none\" hidden>No face meets all of this.</p>\n</main>\n");
    let _ = write!(out, "<footer><p>{}</p></footer>\n<script>\n{SCRIPT}</script>\n</body>\n</html>\n", text(CLOSING));
    to.write_all(out.as_bytes())
}

const CLOSING: &str = "Made by fretgrin from the drawings themselves. Times and difficulty are reckoned, not measured: \
set your own pace in shop.toml. Wear eye and dust protection at the saw.";

fn head(out: &mut String) {
    let _ = write!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"generator\" content=\"fretgrin {version}\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>The drawer</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n\
         <a class=\"skip\" href=\"#faces\">To the faces</a>\n{SIGNS}",
        version = env!("CARGO_PKG_VERSION"),
    );
}

fn top(out: &mut String, survey: &Survey) {
    let faces = if survey.of == 1 { "face" } else { "faces" };
    let count = if survey.chosen.is_empty() {
        format!("{} {faces}", grouped(survey.of))
    } else {
        format!("{} of {} {faces}: {}", grouped(survey.rows.len()), grouped(survey.of), survey.chosen)
    };
    let _ = write!(
        out,
        "<header class=\"top\">\n<div class=\"title\"><h1>The drawer</h1><p>{}</p></div>\n<p class=\"setup\">{}</p>\n\
         <details class=\"how\"><summary>How difficulty is reckoned</summary><p>{}</p><ul class=\"key\">",
        text(&count),
        text(&words::setup(&survey.setup)),
        text(EXPLAINED),
    );
    for (part, name) in PART_NAMES.iter().enumerate() {
        let _ = write!(out, "<li><i class=\"p{part}\"></i>{name}</li>");
    }
    out.push_str("</ul></details>\n</header>\n");
}

/// The controls; without a script they are not shown.
fn sieve(out: &mut String, survey: &Survey) {
    out.push_str("<form class=\"sieve\" hidden aria-label=\"Sort and sift\">\n<fieldset class=\"picks\"><legend class=\"unseen\">Show</legend>\n");
    pick(out, "all", "all", survey.rows.len(), None);
    for (verdict, count) in survey.tally() {
        pick(out, verdict.name(), verdict.words(), count, Some(verdict));
    }
    if survey.doubles() > 0 {
        pick(out, "double", "in twice", survey.doubles(), None);
    }
    out.push_str("</fieldset>\n<div class=\"fields\">\n<label>Name <input type=\"search\" name=\"name\" autocomplete=\"off\" spellcheck=\"false\"></label>\n");
    out.push_str("<label>At most <span class=\"unit\"><input type=\"number\" name=\"minutes\" min=\"0\" step=\"5\" inputmode=\"numeric\"> minutes</span></label>\n");
    out.push_str("<label>At most <span class=\"unit\"><input type=\"number\" name=\"points\" min=\"0\" step=\"1\" inputmode=\"decimal\"> points</span></label>\n<label>Sort by <select name=\"sort\">");
    for (value, words) in SORTS {
        let _ = write!(out, "<option value=\"{value}\">{words}</option>");
    }
    out.push_str("</select></label>\n<button type=\"button\" name=\"turn\" aria-pressed=\"false\">Backwards</button>\n<button type=\"reset\">Show all</button>\n<button type=\"button\" name=\"light\">Evening</button>\n</div>\n<p class=\"count\" role=\"status\"></p>\n</form>\n");
}

const SORTS: [(&str, &str); 8] = [
    ("given", "as given"),
    ("name", "name"),
    ("verdict", "verdict"),
    ("difficulty", "difficulty"),
    ("minutes", "minutes"),
    ("length", "length of line"),
    ("holes", "entry holes"),
    ("faults", "faults"),
];

fn pick(out: &mut String, value: &str, words: &str, count: usize, verdict: Option<Verdict>) {
    let checked = if value == "all" { " checked" } else { "" };
    let sign = verdict.map(sign).unwrap_or_default();
    let _ = writeln!(
        out,
        "<label class=\"pick\"><input type=\"radio\" name=\"show\" value=\"{value}\"{checked}><span>{sign}{words} <b>{}</b></span></label>",
        grouped(count)
    );
}

fn sign(verdict: Verdict) -> String {
    let name = verdict.name();
    format!("<svg class=\"sign {name}\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><use href=\"#{name}\"/></svg>")
}

fn card(out: &mut String, row: &Row, survey: &Survey) {
    let verdict = row.verdict();
    let figure = |value: Option<f64>| value.map_or_else(|| "9e9".to_owned(), |v| v.to_string());
    let face = row.judged();
    let faults = face.map(|f| f64::from(f.stop) * 1e6 + f64::from(f.care));
    let _ = writeln!(
        out,
        "<li class=\"card\" data-show=\"{}\" data-double=\"{}\" data-verdict=\"{}\" data-difficulty=\"{}\" data-minutes=\"{}\" data-length=\"{}\" data-holes=\"{}\" data-faults=\"{}\">",
        verdict.name(),
        u8::from(row.double.is_some()),
        verdict as u8,
        figure(face.map(|f| f.difficulty.total())),
        figure(face.map(|f| f.minutes)),
        figure(face.map(|f| f.length_mm)),
        figure(face.map(|f| f64::from(f.holes))),
        figure(faults),
    );
    thumbnail(out, row, survey);
    let _ = write!(
        out,
        "<div class=\"says\"><h2 title=\"{}\">{}</h2>\n<p class=\"verdict {}\">{}{}</p>\n",
        text(&row.path),
        text(&row.name),
        verdict.name(),
        sign(verdict),
        verdict.words(),
    );
    match &row.found {
        Found::Face(face) => figures(out, row, face.judged(), survey),
        Found::Refused(refused) => {
            let _ = write!(out, "<p>{}</p><p class=\"soft\">{}</p>", text(&refused.what), text(&refused.advice));
        }
    }
    out.push_str("</div></li>\n");
}

fn thumbnail(out: &mut String, row: &Row, survey: &Survey) {
    let (width, height) = (survey.setup.width.get(), survey.setup.height.get());
    let (w, h) = ((width * 10.0).round(), (height * 10.0).round());
    let Some(face) = row.judged() else {
        let _ = writeln!(
            out,
            "<svg class=\"thumb empty\" viewBox=\"0 0 {w} {h}\" aria-hidden=\"true\"><rect class=\"board\" width=\"{w}\" height=\"{h}\" rx=\"20\"/><text x=\"50%\" y=\"54%\">?</text></svg>"
        );
        return;
    };
    let _ = writeln!(
        out,
        "<svg class=\"thumb\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{} on the panel\"><rect class=\"board\" width=\"{w}\" height=\"{h}\" rx=\"20\"/><rect class=\"veins\" width=\"{w}\" height=\"{h}\" rx=\"20\"/><path class=\"cut\" d=\"{}\"/></svg>",
        text(&row.name),
        face.outline.data(height)
    );
}

fn figures(out: &mut String, row: &Row, face: &Measured, survey: &Survey) {
    let unit = survey.setup.unit;
    if row.says_why() {
        let _ = write!(out, "<p>{}</p>", text(row.reason()));
    }
    if row.is_mended() {
        let _ = write!(out, "<p class=\"soft\">{}</p>", words::AFTER_MENDING);
    }
    if let Some(double) = &row.double {
        let _ = write!(out, "<p class=\"twice\">{}</p>", text(&words::double(double)));
    }
    out.push_str("<dl>");
    let mut fact = |label: &str, said: &str| {
        let _ = write!(out, "<div><dt>{label}</dt><dd>{}</dd></div>", text(said));
    };
    for (severity, label) in [(Severity::Stop, "stop"), (Severity::Care, "care")] {
        let faults = words::faults_of(face, severity);
        if !faults.is_empty() {
            fact(label, &faults);
        }
    }
    fact("size", &size_text(Mm::new(face.width_mm), Mm::new(face.height_mm), unit));
    fact("turn", &words::hardest(face.hardest.as_ref()));
    fact("blade", &words::blade(face));
    let saw = [words::line(face.length_mm, unit), words::counted(face.holes, "hole"), minutes_text(face.minutes)];
    fact("saw", &saw.join(", "));
    if let Some(copy) = &row.copy {
        fact("copy", copy);
    }
    out.push_str("</dl>\n");
    difficulty(out, face);
}

fn difficulty(out: &mut String, face: &Measured) {
    let _ = write!(
        out,
        "<div class=\"difficulty\"><p><b>{:.1}</b> {}</p><div class=\"bar\" aria-hidden=\"true\">",
        face.difficulty.total(),
        face.difficulty.word()
    );
    let mut room = 100.0;
    for (part, points) in face.difficulty.parts().into_iter().enumerate() {
        let share = (points / SCALE * 100.0).min(room);
        room -= share;
        if share > 0.0 {
            let _ = write!(out, "<i class=\"p{part}\" style=\"width:{share:.1}%\"></i>");
        }
    }
    let _ = write!(out, "</div><p class=\"soft parts\">{}</p></div>", text(&words::parts(face)));
}

/// Text that cannot become markup.
fn text(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    for c in raw.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::text;

    #[test]
    fn no_text_becomes_markup() {
        assert_eq!(text("<b>\"x\" & 'y'\u{7}"), "&lt;b&gt;&quot;x&quot; &amp; &#39;y&#39; ");
    }
}
