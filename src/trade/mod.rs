//! What the trade knows: woods, blades, drills, papers, and the rules drawn
//! from them.
//!
//! Every figure carries its source, and how the figure came here:
//! *published* (read in the named source or a page quoting it), *second-hand
//! copy* (read in a transcription of the named source), *from memory* (believed
//! to stand in the named source, not looked up), *common practice* (no source)
//! or *derived* (the derivation stands beside it). A shop's own measurement
//! beats every one of them, so all of it can be overridden.
//!
//! Nothing here reads files or prints; a [`Table`] is plain text in rows that a
//! caller shows as it likes.

pub mod blades;
pub mod cautions;
pub mod drills;
pub mod papers;
pub mod sawing;
pub mod strength;
pub mod woods;

use std::fmt;

use serde::Serialize;

use crate::diag::{Error, Place};

/// A table ready to show: plain cells, with the sources as numbered notes.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Table {
    /// What the table holds.
    pub title: String,
    /// Column heads, with the unit where the column has one.
    pub headers: Vec<String>,
    /// Rows, each as long as `headers`.
    pub rows: Vec<Vec<String>>,
    /// Sentences to stand below, sources first, as cited in the cells: `[1] …`.
    pub notes: Vec<String>,
}

impl Table {
    /// A table with no rows yet.
    #[must_use]
    pub fn new(title: &str, headers: &[&str]) -> Self {
        let headers = headers.iter().map(|&h| h.to_owned()).collect();
        Self { title: title.to_owned(), headers, rows: Vec::new(), notes: Vec::new() }
    }

    /// The mark `[n]` under which `source` stands in the notes, adding it when
    /// it is new.
    pub fn cite(&mut self, source: &str) -> String {
        let at = |notes: &[String]| notes.iter().position(|n| n.split_once("] ").is_some_and(|(_, s)| s == source));
        let index = at(&self.notes).unwrap_or_else(|| {
            self.notes.push(format!("[{}] {source}", self.notes.len() + 1));
            self.notes.len() - 1
        });
        format!("[{}]", index + 1)
    }

    /// Characters of the widest cell of each column.
    fn widths(&self) -> Vec<usize> {
        let cells = |i: usize| self.rows.iter().filter_map(move |row| row.get(i)).chain(self.headers.get(i));
        (0..self.headers.len()).map(|i| cells(i).map(|cell| cell.chars().count()).max().unwrap_or(0)).collect()
    }
}

impl fmt::Display for Table {
    /// The table in columns for a terminal; the first column is flush left, a
    /// column of figures flush right.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let widths = self.widths();
        let numeric: Vec<bool> = (0..widths.len())
            .map(|i| i > 0 && self.rows.iter().all(|row| row.get(i).is_none_or(|cell| is_figure(cell))))
            .collect();
        writeln!(f, "{}", self.title)?;
        for row in std::iter::once(&self.headers).chain(&self.rows) {
            let mut line = String::new();
            for ((cell, &width), &right) in row.iter().zip(&widths).zip(&numeric) {
                line += &if right { format!("{cell:>width$}  ") } else { format!("{cell:<width$}  ") };
            }
            writeln!(f, "{}", line.trim_end())?;
        }
        self.notes.iter().try_for_each(|note| writeln!(f, "{note}"))
    }
}

fn is_figure(cell: &str) -> bool {
    cell.starts_with(|c: char| c.is_ascii_digit() || c == '-') || matches!(cell, "" | "any")
}

/// The candidate spelt most like `name`, if any is near enough to be meant.
///
/// Near enough is an edit distance (insert, drop, change, swap neighbours) of at
/// most a third of the longer word, or one word standing inside the other
/// (`cedar` in `western-redcedar`). Case and the marks `-`, `_`, space and `#`
/// do not count. Of equals, the first candidate.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = bare(name);
    let rank = |candidate: &str| {
        let other = bare(candidate);
        let distance = edit_distance(&wanted, &other);
        let inside = wanted.len().min(other.len()) > 2 && (contains(&other, &wanted) || contains(&wanted, &other));
        let near = distance * 3 <= wanted.len().max(other.len());
        // A word inside another is a weaker match than a slip of the pen.
        if near { Some(distance) } else { inside.then_some(distance + 100) }
    };
    candidates.into_iter().filter_map(|c| rank(c).map(|r| (r, c))).min_by_key(|(r, _)| *r).map(|(_, c)| c)
}

fn bare(name: &str) -> Vec<char> {
    name.to_lowercase().chars().filter(|c| !matches!(c, '-' | '_' | ' ' | '#')).collect()
}

fn contains(long: &[char], short: &[char]) -> bool {
    !short.is_empty() && long.windows(short.len()).any(|part| part == short)
}

/// Optimal string alignment distance: each of insert, drop, change and swap of
/// neighbours counts one.
fn edit_distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

/// The error for a name no table has: says what was written, suggests the
/// nearest spelling, and where to see them all.
pub(crate) fn unknown<'a>(
    kind: &str,
    name: &str,
    candidates: impl IntoIterator<Item = &'a str>,
    see_all: &str,
) -> Error {
    /// No more names are put forward at once.
    const MOST: usize = 4;
    let candidates: Vec<&str> = candidates.into_iter().collect();
    let within: Vec<&str> = candidates.iter().copied().filter(|c| contains(&bare(c), &bare(name))).collect();
    let advice = match (within.as_slice(), nearest(name, candidates.iter().copied())) {
        ([_, _, ..], _) if within.len() <= MOST => {
            let names: Vec<String> = within.iter().map(|name| format!("`{name}`")).collect();
            format!("did you mean one of {}? `{see_all}` lists them all", names.join(", "))
        }
        ([_, _, ..], _) => format!("{} names hold that word; `{see_all}` lists them all", within.len()),
        (_, Some(near)) => format!("did you mean `{near}`? `{see_all}` lists them all"),
        (_, None) => format!("`{see_all}` lists them all"),
    };
    Error::setting(Place::default(), format!("no {kind} is called `{}`", shown(name)), advice)
}

/// A name as it may stand in a message: no control characters, not endless.
fn shown(name: &str) -> String {
    const LONGEST: usize = 60;
    let clean: String = name.chars().map(|c| if c.is_control() { '?' } else { c }).take(LONGEST).collect();
    if name.chars().count() > LONGEST { format!("{clean}…") } else { clean }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: [&str; 4] = ["western-redcedar", "white-spruce", "ponderosa-pine", "yellow-poplar"];

    #[test]
    fn slips_of_the_pen_find_their_word() {
        for slip in ["westren-redcedar", "Western Red Cedar", "western_redcedr", "WESTERNREDCEDAR", "red cedar"] {
            assert_eq!(nearest(slip, WORDS), Some("western-redcedar"), "{slip}");
        }
        assert_eq!(nearest("zinc", WORDS), None, "nothing is like it");
        assert_eq!(nearest("", WORDS), None, "nothing was written");
        assert_eq!(nearest("nope.svg", ["o"]), None, "a letter of it is no likeness");
    }

    #[test]
    fn edit_distance_agrees_with_textbook_pairs() {
        // kitten/sitting and Saturday/Sunday: the textbook examples of Levenshtein distance.
        let pairs = [("kitten", "sitting", 3), ("saturday", "sunday", 3), ("ab", "ba", 1), ("", "abc", 3)];
        for (a, b, distance) in pairs {
            let chars = |s: &str| s.chars().collect::<Vec<_>>();
            assert_eq!(edit_distance(&chars(a), &chars(b)), distance, "{a} {b}");
        }
    }

    #[test]
    fn a_source_is_noted_once() {
        let mut table = Table::new("t", &["name", "source"]);
        assert_eq!(table.cite("book"), "[1]", "first");
        assert_eq!(table.cite("shop"), "[2]", "second");
        assert_eq!(table.cite("book"), "[1]", "known");
        assert_eq!(table.notes, ["[1] book", "[2] shop"], "notes in order");
    }

    #[test]
    fn an_unknown_name_is_shown_safely() {
        let error = unknown("wood", "\u{1b}[31m", WORDS, "fretgrin woods");
        assert_eq!(error.to_string(), "no wood is called `?[31m`", "no control characters");
        assert!(unknown("wood", &"x".repeat(5000), WORDS, "fretgrin woods").to_string().len() < 120, "not endless");
    }
}
