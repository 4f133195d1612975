//! Breaking text into lines of a width.

use crate::font::{self, Weight};
use crate::sheet::style;

/// Breaks `text` into lines no wider than `width` mm. A unit stays with its number
/// where both fit a line; words longer than a line are broken; a line break in the
/// text is kept.
#[must_use]
pub fn wrap(text: &str, size: f64, weight: Weight, width: f64) -> Vec<String> {
    let text: Vec<String> = text.lines().map(font::printable).collect();
    let mut lines = Vec::new();
    for paragraph in &text {
        let mut line = String::new();
        for word in words(paragraph, |word| font::width(word, size, weight) <= width) {
            for part in broken(&word, size, weight, width) {
                let joined = if line.is_empty() { part.clone() } else { format!("{line} {part}") };
                if line.is_empty() || font::width(&joined, size, weight) <= width {
                    line = joined;
                } else {
                    lines.push(std::mem::replace(&mut line, part));
                }
            }
        }
        lines.push(line);
    }
    lines
}

/// The words of a paragraph, a number and its unit as one where that `fits` a line.
fn words(paragraph: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in paragraph.split_whitespace() {
        let is_unit = UNITS.contains(&word.trim_end_matches([')', ',', '.', ';', ':']));
        match words.last_mut() {
            Some(last)
                if is_unit && last.ends_with(|c: char| c.is_ascii_digit()) && fits(&format!("{last} {word}")) =>
            {
                *last = format!("{last} {word}");
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Words that stay on the line of the number before them.
const UNITS: [&str; 3] = ["mm", "in", "%"];

/// [`wrap`] to at most `most` lines; the last ends in `…` when some is left over.
#[must_use]
pub fn wrapped_to(text: &str, size: f64, weight: Weight, width: f64, most: usize) -> Vec<String> {
    let mut lines = wrap(text, size, weight, width);
    if lines.len() > most {
        let rest = lines.split_off(most.saturating_sub(1)).join(" ");
        lines.push(shortened(&format!("{rest}…"), size, weight, width));
    }
    lines
}

/// A name as a title `width` mm wide: its lines and their size. Large where it
/// fits, smaller and on up to `most` lines where it is long.
#[must_use]
pub(in crate::sheet) fn titled(name: &str, width: f64, most: usize) -> (Vec<String>, f64) {
    if font::width(&font::printable(name), style::TITLE, Weight::Bold) <= width {
        return (vec![name.to_owned()], style::TITLE);
    }
    (wrapped_to(name, style::HEADING, Weight::Bold, width, most), style::HEADING)
}

/// A word in parts that each fit the width; most words are one part.
fn broken(word: &str, size: f64, weight: Weight, width: f64) -> Vec<String> {
    let mut parts = vec![String::new()];
    for c in word.chars() {
        let Some(last) = parts.last_mut() else { break };
        last.push(c);
        if last.chars().count() > 1 && font::width(last, size, weight) > width {
            last.pop();
            parts.push(c.to_string());
        }
    }
    parts
}

/// The longest start of `text` that fits `width` mm, with `…` when cut.
#[must_use]
pub fn shortened(text: &str, size: f64, weight: Weight, width: f64) -> String {
    let text = font::printable(text);
    if font::width(&text, size, weight) <= width {
        return text;
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.pop().is_some() {
        let candidate = format!("{}…", kept.iter().collect::<String>().trim_end());
        if font::width(&candidate, size, weight) <= width {
            return candidate;
        }
    }
    String::new()
}
