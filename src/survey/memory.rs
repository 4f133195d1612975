//! What one survey remembers for the next.
//!
//! A text file, a line for each drawing: a key, a check sum, and what was found
//! as JSON. The key is made from the drawing's bytes and name, every setting and
//! the program itself, so that a line is found again only when all of them are
//! the same. A line that is torn, foreign or senseless is passed over: the worst
//! such a file can do is that a face is looked at again.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{Found, Measured};

/// Name of the file, in the folder the survey is written to.
pub const FILE: &str = "survey.cache";
/// Largest such file read, bytes: some 20,000 faces.
pub const LARGEST: u64 = 64 * 1024 * 1024;
/// Its first line.
const HEAD: &str = "# fretgrin survey cache 1: what was found of each drawing; safe to delete";
/// Begins the line of the files written.
const ISSUE: &str = "files: ";
/// Hex digits of a key: SHA-256.
const KEY: usize = 64;
/// Hex digits of a check sum: the first of a SHA-256; it guards against damage,
/// not against people.
const CHECK: usize = 16;
/// Most points and edges believed; [`super::Outline`] makes no more.
const MOST_POINTS: usize = 10_000;

/// What is remembered of a drawing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Remembered {
    /// What was found.
    pub found: Found,
    /// Finger print of its mended copy, when one was made.
    pub copy: Option<String>,
}

/// The files an earlier survey wrote.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issue {
    /// Key of everything they were made from.
    pub ground: String,
    /// Their finger prints, in order.
    pub prints: Vec<String>,
}

/// What everything of a run shares in its keys.
#[derive(Clone, Debug)]
pub struct Ground(Sha256);

impl Ground {
    /// From the settings and the program, in any words that change when they do.
    #[must_use]
    pub fn new(words: &[&str]) -> Self {
        let mut hash = Sha256::new();
        words.iter().for_each(|word| part(&mut hash, word.as_bytes()));
        Self(hash)
    }

    /// The key of a drawing.
    #[must_use]
    pub fn key(&self, name: &str, bytes: &[u8]) -> String {
        let mut hash = self.0.clone();
        part(&mut hash, name.as_bytes());
        part(&mut hash, bytes);
        hex(&hash.finalize())
    }
}

/// The length goes first, so that no two lists of parts make the same bytes.
fn part(hash: &mut Sha256, bytes: &[u8]) {
    hash.update((bytes.len() as u64).to_le_bytes());
    hash.update(bytes);
}

/// The finger print of a file's content.
#[must_use]
pub fn finger_print(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What an earlier survey remembered.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    text: String,
    issue: Option<Issue>,
    /// Where each key's check sum and JSON stand in the text.
    lines: BTreeMap<String, std::ops::Range<usize>>,
}

impl Memory {
    /// Reads a memory; lines that are none are passed over.
    #[must_use]
    pub fn read(text: String) -> Self {
        let (mut lines, mut issue) = (BTreeMap::new(), None);
        if text.lines().next() == Some(HEAD) {
            let mut from = 0;
            for line in text.split_inclusive('\n') {
                let rest = from + KEY + 1..from + line.trim_end().len();
                if let Some(key) = line.get(..KEY).filter(|_| line.as_bytes().get(KEY) == Some(&b' ')) {
                    lines.insert(key.to_owned(), rest);
                }
                issue = line.strip_prefix(ISSUE).and_then(read_issue).or(issue);
                from += line.len();
            }
        }
        Self { text, issue, lines }
    }

    /// The files the earlier survey wrote.
    #[must_use]
    pub const fn issue(&self) -> Option<&Issue> {
        self.issue.as_ref()
    }

    /// What is remembered under `key`.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<Remembered> {
        let (check, json) = self.text.get(self.lines.get(key)?.clone())?.split_once(' ')?;
        if check != sum(key, json) {
            return None;
        }
        serde_json::from_str(json).ok().filter(|remembered: &Remembered| is_sane(&remembered.found))
    }
}

fn read_issue(line: &str) -> Option<Issue> {
    let mut words = line.split_whitespace().map(str::to_owned);
    Some(Issue { ground: words.next()?, prints: words.collect() })
}

/// The text that remembers these.
#[must_use]
pub fn text<'a>(issue: &Issue, entries: impl IntoIterator<Item = (&'a str, &'a Remembered)>) -> String {
    let mut text = format!("{HEAD}\n{ISSUE}{} {}\n", issue.ground, issue.prints.join(" "));
    for (key, remembered) in entries {
        // Plain data: it always has a form in JSON.
        let Ok(json) = serde_json::to_string(remembered) else { continue };
        let _ = writeln!(text, "{key} {} {json}", sum(key, &json));
    }
    text
}

fn sum(key: &str, json: &str) -> String {
    finger_print(format!("{key} {json}").as_bytes()).chars().take(CHECK).collect()
}

fn is_sane(found: &Found) -> bool {
    let Found::Face(face) = found else { return true };
    figures(face).into_iter().all(|figure| (0.0..1e9).contains(&figure)) && face.outline.points() <= MOST_POINTS
}

fn figures(face: &Measured) -> Vec<f64> {
    let mut all = vec![face.width_mm, face.height_mm, face.scale, face.length_mm, face.minutes];
    all.extend(face.difficulty.parts());
    if let Some(mended) = &face.mended {
        all.extend([mended.changed, mended.length_mm, mended.minutes]);
        all.extend(mended.difficulty.parts());
    }
    all
}
