//! Tables: columns as wide as they need to be, cells that wrap.

use super::flow::wrap;
use super::{Anchor, Text, style};
use crate::font::{self, Weight};

/// How a table column stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Flush left: words.
    Left,
    /// Flush right: numbers.
    Right,
    /// Centred: symbols.
    Centre,
}

/// A table: a head and rows. Columns take their widest cell; the one named
/// `stretch` takes what is left and wraps.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Titles and alignment of the columns.
    pub columns: Vec<(String, Align)>,
    /// The rows; short rows are filled with blanks.
    pub rows: Vec<Vec<String>>,
    /// The column that wraps and takes the rest of the width.
    pub stretch: Option<usize>,
    /// A last row set bold, under a rule: totals.
    pub total: Option<Vec<String>>,
}

impl Table {
    /// A table with these columns and no rows yet.
    #[must_use]
    pub fn new(columns: &[(&str, Align)]) -> Self {
        let columns = columns.iter().map(|&(title, align)| (title.to_owned(), align)).collect();
        Self { columns, rows: Vec::new(), stretch: None, total: None }
    }

    /// The same table with the column that wraps.
    #[must_use]
    pub const fn stretching(mut self, column: usize) -> Self {
        self.stretch = Some(column);
        self
    }

    /// Adds a row.
    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }
}

/// Space between table columns, mm.
const GUTTER: f64 = 3.0;
/// Most that spare width widens a gutter to, mm.
const WIDEST_GUTTER: f64 = 9.0;
/// Space before the first and after the last column, mm.
const SIDE: f64 = 1.5;
/// Space above and below a row's text, mm.
const ROW_PAD: f64 = 0.75;

/// One table row, laid out from its own top-left corner downward.
pub(super) struct Row {
    pub(super) texts: Vec<Text>,
    pub(super) height: f64,
}

impl Row {
    pub(super) fn laid(cells: &[String], grid: &Grid, table: &Table, size: f64, weight: Weight) -> Self {
        let (mut texts, mut deepest, mut x) = (Vec::new(), 1, SIDE);
        for (index, ((_, align), width)) in table.columns.iter().zip(&grid.widths).enumerate() {
            let cell = cells.get(index).map_or("", String::as_str);
            let lines = wrap(cell, size, weight, width + 1e-6);
            deepest = deepest.max(lines.len());
            for (row, content) in lines.into_iter().enumerate() {
                let y = -ROW_PAD - size - row as f64 * size * style::LEADING;
                let (at_x, anchor) = match align {
                    Align::Left => (x, Anchor::Start),
                    Align::Right => (x + width, Anchor::End),
                    Align::Centre => (x + width / 2.0, Anchor::Middle),
                };
                texts.push(Text { weight, ..Text::new(content, (at_x, y), size).anchor(anchor) });
            }
            x += width + grid.gutter;
        }
        Self { texts, height: 2.0 * ROW_PAD + size * (1.25 + (deepest - 1) as f64 * style::LEADING) }
    }
}

/// Where a table's columns stand.
pub(super) struct Grid {
    widths: Vec<f64>,
    gutter: f64,
}

impl Grid {
    /// Columns that fill no more than `width` mm: each as wide as its widest
    /// cell; the stretching column takes the rest, or the gutters some of it;
    /// when all is too wide, all shrink and wrap, but break no word while there is
    /// room for the longest of every column.
    pub(super) fn of(table: &Table, width: f64) -> Self {
        let gutters = table.columns.len().max(1) - 1;
        let room = width - 2.0 * SIDE - GUTTER * gutters as f64;
        let mut widths: Vec<f64> =
            (0..table.columns.len()).map(|index| widest(table, index, |cell| cell.lines().collect())).collect();
        let sum: f64 = widths.iter().sum();
        if let Some(stretch) = table.stretch.filter(|&s| s < widths.len()) {
            widths[stretch] = (room - (sum - widths[stretch])).max(room * 0.25);
        }
        let sum: f64 = widths.iter().sum();
        if sum > room {
            let word = |(index, width): (usize, &f64)| {
                widest(table, index, |cell| cell.split_whitespace().collect()).min(*width)
            };
            let words: Vec<f64> = widths.iter().enumerate().map(word).collect();
            let least: f64 = words.iter().sum();
            let factor = if least <= room { (room - least) / (sum - least) } else { room / sum };
            for (width, word) in widths.iter_mut().zip(words) {
                let kept = if least <= room { word } else { 0.0 };
                *width = kept + (*width - kept) * factor;
            }
        }
        let spare = (room - sum).max(0.0) / gutters.max(1) as f64;
        Self { widths, gutter: (GUTTER + spare).min(WIDEST_GUTTER.max(GUTTER)) }
    }
}

/// Width of the widest of the pieces a column's cells are cut into, mm.
fn widest(table: &Table, index: usize, pieces: impl Fn(&str) -> Vec<&str>) -> f64 {
    let cell = |cell: &String, size, weight| {
        let widths = pieces(cell).into_iter().map(|piece| font::width(&font::printable(piece), size, weight));
        widths.fold(0.0, f64::max)
    };
    let head = cell(&table.columns[index].0, style::SMALL, Weight::Bold);
    let body = table.rows.iter().filter_map(|row| row.get(index));
    let body = body.map(|c| cell(c, style::BODY, Weight::Regular)).fold(head, f64::max);
    let total = table.total.iter().filter_map(|row| row.get(index));
    total.map(|c| cell(c, style::BODY, Weight::Bold)).fold(body, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_too_wide_wraps_between_words_while_every_word_has_room() {
        let mut table = Table::new(&[("Joint", Align::Left), ("Reach", Align::Right), ("Nails at", Align::Left)]);
        table.row([
            "front left corner",
            "3/8 in",
            "23/32 in, 3-9/16 in, 6-7/16 in, 9-9/32 in from the wall's lower end",
        ]);
        let texts = |width: f64| {
            let grid = Grid::of(&table, width);
            assert!(grid.widths.iter().sum::<f64>() + 2.0 * (SIDE + GUTTER) <= width + 1e-9, "within {width} mm");
            let titles: Vec<String> = table.columns.iter().map(|(title, _)| title.clone()).collect();
            let row = Row::laid(&titles, &grid, &table, style::SMALL, Weight::Bold);
            row.texts.into_iter().map(|text| text.content).collect::<Vec<_>>()
        };
        assert_eq!(texts(55.0), ["Joint", "Reach", "Nails at"], "words whole");
        assert!(texts(25.0).len() > 4, "no room for whole words: they are broken");
    }
}
