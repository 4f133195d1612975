//! What one survey remembers for the next.
//!
//! A text file, a line for each drawing: a key, a check sum, and what was found
//! as JSON. The key is made from the drawing's bytes and name, every setting and
//! the program itself, so that a line is found again only when all of them are
//! the same. A line that is torn, foreign or senseless is passed over: the worst
//! such a file can do is that a face is looked at again.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::{self, BufRead, Read as _, Write};
use std::ops::Range;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{Found, Measured};

/// Name of the file, in the folder the survey is written to.
pub const FILE: &str = "survey.cache";
/// Largest such file read, bytes: some 20,000 faces.
pub const LARGEST: u64 = 64 * 1024 * 1024;
/// Longest line looked at, bytes: an outline of [`MOST_POINTS`] takes 220 kB.
const LONGEST: u64 = 1024 * 1024;
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
    pub fn new(words: impl IntoIterator<Item = impl AsRef<str>>) -> Self {
        let mut hash = Sha256::new();
        words.into_iter().for_each(|word| part(&mut hash, word.as_ref().as_bytes()));
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

/// Writes on to `to` and takes the finger print of what is written.
#[derive(Debug)]
pub struct Printing<W> {
    to: W,
    hash: Sha256,
}

impl<W: Write> Printing<W> {
    /// Nothing written yet.
    pub fn new(to: W) -> Self {
        Self { to, hash: Sha256::new() }
    }

    /// The finger print of all that was written.
    #[must_use]
    pub fn print(self) -> String {
        hex(&self.hash.finalize())
    }
}

impl<W: Write> Write for Printing<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.to.write(bytes)?;
        self.hash.update(&bytes[..written]);
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What an earlier survey remembered: where each line stands. The lines
/// themselves are read again one by one as they are asked for.
#[derive(Debug, Default)]
pub struct Memory {
    issue: Option<Issue>,
    /// Where each key's check sum and JSON stand, bytes from the start.
    lines: BTreeMap<[u8; KEY / 2], Range<u64>>,
}

impl Memory {
    /// Looks through a memory; lines that are none are passed over.
    ///
    /// # Errors
    /// What the reader says.
    pub fn read(mut from: impl BufRead) -> io::Result<Self> {
        let (mut memory, mut at, mut line) = (Self::default(), 0, Vec::new());
        loop {
            line.clear();
            // Room for the first line and the longest there is; no more is held
            // of a file that has no lines.
            let length = from.by_ref().take(LONGEST).read_until(b'\n', &mut line)? as u64;
            if length == 0 || (at == 0 && line.trim_ascii_end() != HEAD.as_bytes()) {
                return Ok(memory);
            }
            memory.note(&line, at);
            at += length;
        }
    }

    fn note(&mut self, line: &[u8], at: u64) {
        let line = line.trim_ascii_end();
        if let Some(key) = line.get(..KEY).filter(|_| line.get(KEY) == Some(&b' ')).and_then(read_key) {
            self.lines.insert(key, at + KEY as u64 + 1..at + line.len() as u64);
        }
        let issue = line.strip_prefix(ISSUE.as_bytes()).and_then(|rest| std::str::from_utf8(rest).ok());
        self.issue = issue.and_then(read_issue).or(self.issue.take());
    }

    /// The files the earlier survey wrote.
    #[must_use]
    pub const fn issue(&self) -> Option<&Issue> {
        self.issue.as_ref()
    }

    /// What is remembered under `key`; `fetch` reads a stretch of the memory.
    pub fn get(&self, key: &str, fetch: impl FnOnce(Range<u64>) -> Option<String>) -> Option<Remembered> {
        let rest = fetch(self.lines.get(&read_key(key.as_bytes())?)?.clone())?;
        let (check, json) = rest.split_once(' ')?;
        if check != sum(key, json) {
            return None;
        }
        serde_json::from_str(json).ok().filter(|remembered: &Remembered| is_sane(&remembered.found))
    }
}

/// A key's bytes from its hex digits.
fn read_key(digits: &[u8]) -> Option<[u8; KEY / 2]> {
    let mut key = [0; KEY / 2];
    let digit = |digit: u8| char::from(digit).to_digit(16).map(|value| value as u8);
    for (byte, pair) in key.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = digit(pair[0])? << 4 | digit(pair[1])?;
    }
    (digits.len() == KEY).then_some(key)
}

fn read_issue(line: &str) -> Option<Issue> {
    let mut words = line.split_whitespace().map(str::to_owned);
    Some(Issue { ground: words.next()?, prints: words.collect() })
}

/// Writes what is to be remembered, line by line.
///
/// # Errors
/// What the writer says.
pub fn write<'a>(
    out: &mut dyn Write,
    issue: &Issue,
    entries: impl IntoIterator<Item = (&'a str, &'a Remembered)>,
) -> io::Result<()> {
    writeln!(out, "{HEAD}\n{ISSUE}{} {}", issue.ground, issue.prints.join(" "))?;
    for (key, remembered) in entries {
        // Plain data: it always has a form in JSON.
        let Ok(json) = serde_json::to_string(remembered) else { continue };
        writeln!(out, "{key} {} {json}", sum(key, &json))?;
    }
    Ok(())
}

fn sum(key: &str, json: &str) -> String {
    finger_print(format!("{key} {json}").as_bytes()).chars().take(CHECK).collect()
}

fn is_sane(found: &Found) -> bool {
    let Found::Face(face) = found else { return true };
    let faces = [Some(face.as_ref()), face.mended.as_ref().map(|mended| mended.after.as_ref())];
    faces.into_iter().flatten().all(|face| {
        figures(face).into_iter().all(|figure| (0.0..1e9).contains(&figure)) && face.outline.points() <= MOST_POINTS
    })
}

fn figures(face: &Measured) -> Vec<f64> {
    let mut all = vec![face.width_mm, face.height_mm, face.scale, face.length_mm, face.minutes];
    all.extend(face.difficulty.parts());
    if let Some(mended) = &face.mended {
        all.push(mended.changed);
    }
    all
}
