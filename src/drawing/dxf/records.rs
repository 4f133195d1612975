//! The group-code format: a DXF file is pairs of lines, a whole number that
//! says what follows and a value; a pair with code 0 begins a record (DXF
//! reference, "About the DXF Format").

use crate::diag::{Error, Place};

/// A record: what it is, where it begins, and its pairs.
#[derive(Clone, Debug, Default)]
pub(super) struct Record<'a> {
    /// What stands after code 0: `SECTION`, `LINE`, `VERTEX` …
    pub(super) kind: &'a str,
    /// Line of the file it begins at, from 1.
    pub(super) line: u32,
    /// The pairs after code 0, in the file's order.
    pub(super) pairs: Vec<(i32, &'a str)>,
}

/// A number in the file that no drawing means: not a number, without end, or
/// farther than [`FAR`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Impossible;

/// Farthest a coordinate may lie from the origin, in the file's unit. Ours:
/// drawings on a survey's grid stand some million metres off, and that many
/// millimetres are 1e10.
pub(super) const FAR: f64 = 1e11;

impl<'a> Record<'a> {
    /// The first value of `code`, trimmed.
    pub(super) fn text(&self, code: i32) -> Option<&'a str> {
        self.pairs.iter().find(|(c, _)| *c == code).map(|(_, value)| *value)
    }

    /// The first number of `code`, or `default` where there is none.
    pub(super) fn number(&self, code: i32, default: f64) -> Result<f64, Impossible> {
        self.text(code).map_or(Ok(default), number)
    }

    /// The first whole number of `code`; 0 where there is none or none that can
    /// be read, as for flags nobody set.
    pub(super) fn flags(&self, code: i32) -> i64 {
        self.text(code).and_then(|text| text.parse().ok()).unwrap_or(0)
    }

    /// Every number of `code`.
    pub(super) fn numbers(&self, code: i32) -> Result<Vec<f64>, Impossible> {
        self.pairs.iter().filter(|(c, _)| *c == code).map(|(_, value)| number(value)).collect()
    }
}

/// A number as written, finite and not absurdly large.
pub(super) fn number(text: &str) -> Result<f64, Impossible> {
    text.parse().ok().filter(|n: &f64| n.abs() <= FAR).ok_or(Impossible)
}

/// Reads the records of a file one after another.
#[derive(Debug)]
pub(super) struct Records<'a> {
    lines: std::str::Lines<'a>,
    line: u32,
    file: &'a str,
    next: Option<Record<'a>>,
    done: bool,
}

impl<'a> Records<'a> {
    /// The records of `text`; `file` names it in errors.
    pub(super) fn of(text: &'a str, file: &'a str) -> Self {
        Self { lines: text.lines(), line: 0, file, next: None, done: false }
    }

    /// The next record; `None` at the end.
    ///
    /// # Errors
    /// Where a group code should stand and something else does.
    pub(super) fn next(&mut self) -> Result<Option<Record<'a>>, Error> {
        let mut current = self.next.take();
        while !self.done {
            let begins = self.line + 1;
            match self.pair()? {
                None => self.done = true,
                Some((0, kind)) => {
                    let record = Record { kind, line: begins, pairs: Vec::new() };
                    match current {
                        None => current = Some(record),
                        Some(_) => {
                            self.next = Some(record);
                            break;
                        }
                    }
                }
                // Comments, and what stands before the first record.
                Some((999, _)) => {}
                Some(pair) => {
                    if let Some(record) = &mut current {
                        record.pairs.push(pair);
                    }
                }
            }
        }
        Ok(current)
    }

    fn pair(&mut self) -> Result<Option<(i32, &'a str)>, Error> {
        let Some(code) = self.lines.next().map(str::trim) else { return Ok(None) };
        self.line += 1;
        if code.is_empty() && self.lines.clone().all(|line| line.trim().is_empty()) {
            return Ok(None);
        }
        let Ok(code) = code.parse() else {
            let place = Place { file: Some(self.file.to_owned()), line: Some(self.line), ..Place::default() };
            let seen: String = code.chars().take(20).filter(|c| !c.is_control()).collect();
            let what = format!("a group code, a whole number, should stand here, not `{seen}`; the DXF is broken");
            return Err(Error::art(place, what, "export the drawing as DXF again"));
        };
        let Some(value) = self.lines.next() else { return Ok(None) };
        self.line += 1;
        Ok(Some((code, value.trim())))
    }
}
