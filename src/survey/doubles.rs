//! Faces that are in the drawer twice: the same, turned, or mirrored.

use super::Row;
use super::alike::{Figures, Laid, Shape, alike};

/// How a face repeats another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// As it is, at any size.
    Same,
    /// Turned.
    Turned,
    /// Mirrored left to right.
    Mirrored,
    /// Mirrored, then turned.
    MirroredAndTurned,
}

impl How {
    /// The stable name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Turned => "turned",
            Self::Mirrored => "mirrored",
            Self::MirroredAndTurned => "mirrored-and-turned",
        }
    }
}

/// The face a row repeats: always one that stands before it and repeats none.
#[derive(Clone, Debug, PartialEq)]
pub struct Double {
    /// That face's number in the drawer.
    pub number: u32,
    /// That face's name; with its folder where the two are in different ones.
    pub of: String,
    /// How it repeats it.
    pub how: How,
    /// Degrees anticlockwise that make it this one, after mirroring.
    pub turned_deg: f64,
}

/// Turns below this, degrees, are none: what a scan lies askew.
const TURNED: f64 = 0.75;

/// Marks every row whose face stands before it in the drawer.
pub fn mark(rows: &mut [Row]) {
    // Only figures are kept of each face; an outline is made comparable again
    // for the few that may be the same.
    let mut firsts: Vec<(usize, Figures)> = Vec::new();
    for i in 0..rows.len() {
        let Some(shape) = shape(&rows[i]) else { continue };
        let near = firsts.iter().filter(|(_, figures)| alike(figures, &shape.figures));
        let found =
            near.map(|(first, _)| *first).find_map(|first| Some((first, self::shape(&rows[first])?.laid_on(&shape)?)));
        match found {
            Some((first, laid)) => rows[i].double = Some(double(&rows[first], &rows[i], laid)),
            None => firsts.push((i, shape.figures)),
        }
    }
}

fn shape(row: &Row) -> Option<Shape> {
    Shape::of(&row.face()?.outline)
}

fn double(first: &Row, row: &Row, laid: Laid) -> Double {
    let folder = |row: &Row| row.path.strip_suffix(&row.name).map(str::to_owned);
    let of = if folder(first) == folder(row) { first.name.clone() } else { first.path.clone() };
    let turned = laid.turned_deg.abs() >= TURNED;
    let how = match (laid.mirrored, turned) {
        (false, false) => How::Same,
        (false, true) => How::Turned,
        (true, false) => How::Mirrored,
        (true, true) => How::MirroredAndTurned,
    };
    let turned_deg = if turned { laid.turned_deg.round() } else { 0.0 };
    Double { number: first.number, of, how, turned_deg }
}
