//! From a byte in the file to the line and element a person can find.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diag::Place;

/// Where each line of a text starts.
#[derive(Debug)]
pub(super) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    pub(super) fn of(text: &str) -> Self {
        let ends = text.bytes().enumerate().filter(|&(_, b)| b == b'\n').map(|(i, _)| i + 1);
        Self { starts: std::iter::once(0).chain(ends).collect() }
    }

    /// Line and column (in bytes) of `offset`, both from 1.
    pub(super) fn line_column(&self, offset: usize) -> (u32, u32) {
        let line = self.starts.partition_point(|&start| start <= offset).max(1);
        (line as u32, (offset - self.starts[line - 1] + 1) as u32)
    }

    pub(super) fn place(&self, name: &str, offset: usize) -> Place {
        let (line, column) = self.line_column(offset);
        Place { file: Some(name.to_owned()), line: Some(line), column: Some(column), element: None }
    }
}

/// Where an element stands: in the file, and in which others.
#[derive(Clone, Debug, Default)]
pub(super) struct Spot {
    pub(super) place: Place,
    /// Ids of the element and its ancestors, innermost first.
    pub(super) ids: Arc<[String]>,
}

/// The place of every element that can be drawn, by the id it has in the text
/// given to the SVG library. Elements without an id are lent one.
#[derive(Debug, Default)]
pub(super) struct Places {
    by_id: BTreeMap<String, Spot>,
}

impl Places {
    /// Notes the place of `id`; the first of several elements with one id wins.
    pub(super) fn note(&mut self, id: String, spot: Spot) {
        self.by_id.entry(id).or_insert(spot);
    }

    pub(super) fn get(&self, id: &str) -> Option<&Spot> {
        self.by_id.get(id)
    }
}
