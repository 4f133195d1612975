//! Which reading a drawing asks for.
//!
//! The test of a reading is what falls out. Real faces are drawn in four ways:
//! separate openings, as a carver would draw them; a dark outline round a white
//! face, whose whole head would fall out if the outline were sawn; a dark head
//! with light features, which sawn as drawn leaves one large hole; and plain
//! lines. The thresholds below are ours, chosen by looking at some hundred
//! openly licensed silhouettes.

use kurbo::Rect;

use super::nest::{FALLS_OUT, Nest, filled_area, open_area};
use super::{Alternative, Reading};
use crate::geom::{Piece, Region};

/// A silhouette is the outermost shape that holds nearly everything: at most
/// this part of all dark area lies outside it.
const OUTSIDE: f64 = 0.15;
/// A dark head has at least this part of it open …
const OPEN: f64 = 0.08;
/// … in at least this many places. With fewer, the silhouette itself is the
/// picture and its eyes are islands to be bridged.
const OPENINGS: usize = 3;
/// Dark shapes inside an outline must make up this part of it to be the face.
const FEATURES: f64 = 0.04;
/// A sheet covers this part of the page.
const SHEET: f64 = 0.95;

/// A reading, with its openings and the reason for it.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) reading: Reading,
    pub(super) pieces: Vec<Piece>,
    pub(super) why: String,
    pub(super) alternatives: Vec<Alternative>,
}

/// What the readings are chosen from.
#[derive(Clone, Debug)]
pub(super) struct Material {
    /// Dark areas, nested. For line art: every other field between outlines.
    pub(super) dark: Nest,
    /// Light shapes, for a drawing that has nothing dark.
    pub(super) light: Region,
    /// Closed outlines as a region; empty when the drawing has no thin lines.
    pub(super) lines: Nest,
    /// Width of the thinnest line on the panel, mm, when all are too broad to be the
    /// saw's path.
    pub(super) too_broad: Option<f64>,
    /// Whether lines are all there is of the drawing.
    pub(super) is_line_art: bool,
    /// The page, or the box round the drawing.
    pub(super) page: Rect,
}

impl Material {
    /// The openings of one reading.
    pub(super) fn pieces(&self, reading: Reading) -> Vec<Piece> {
        let nest = self.outlines();
        match reading {
            Reading::Dark => self.dark.pieces.clone(),
            Reading::Lines => self.lines.pieces.clone(),
            Reading::Light if nest.pieces.is_empty() => self.light.pieces.clone(),
            Reading::Light => nest.outermost().flat_map(|i| nest.light_inside(i)).collect(),
            Reading::Features if self.is_line_art => {
                let inside: Vec<Piece> = nest.outermost().flat_map(|i| nest.light_inside(i)).collect();
                with_beside(inside, nest)
            }
            Reading::Features => features(nest),
        }
    }

    /// What silhouettes are looked for in.
    fn outlines(&self) -> &Nest {
        if self.is_line_art { &self.lines } else { &self.dark }
    }

    /// Takes `reading` as asked.
    pub(super) fn forced(&self, reading: Reading) -> Choice {
        let why = "asked for".to_owned();
        Choice {
            reading,
            pieces: self.pieces(reading),
            why,
            alternatives: self.alternatives(reading, "another was asked for"),
        }
    }

    /// Chooses the reading.
    pub(super) fn chosen(&self) -> Choice {
        let (reading, why, why_not) = if self.is_line_art { self.judge_lines() } else { self.judge_dark() };
        Choice { reading, pieces: self.pieces(reading), why, alternatives: self.alternatives(reading, &why_not) }
    }

    fn judge_lines(&self) -> (Reading, String, String) {
        let nest = &self.lines;
        let Some(head) = silhouette(nest).filter(|&i| !nest.pieces[i].holes.is_empty()) else {
            let why = "nothing is filled dark; the closed outlines are the saw's path".to_owned();
            return (Reading::Lines, why, "no outline holds all the others".to_owned());
        };
        let inside = nest.light_inside(head).len();
        let beside = nest.outermost().filter(|&i| i != head).count();
        let (round, kept) = match beside {
            0 => ("all others", format!("the {inside} inside it")),
            _ => ("nearly all others", format!("the {inside} inside it and {beside} beside it")),
        };
        let are = if inside == 1 && beside == 0 { "is" } else { "are" };
        let why = format!(
            "nothing is filled dark and one outline runs round {round}, so it is left off and {kept} {are} the saw's path"
        );
        (Reading::Features, why, "the outermost outline would be sawn too and the whole face would fall out".to_owned())
    }

    fn judge_dark(&self) -> (Reading, String, String) {
        let nest = &self.dark;
        if nest.pieces.is_empty() {
            let why = "nothing dark is drawn, so the light shapes are the openings".to_owned();
            return (Reading::Light, why, "nothing is dark".to_owned());
        }
        let plain = |why: &str| (Reading::Dark, why.to_owned(), "the dark shapes are openings already".to_owned());
        let Some(head) = silhouette(nest) else {
            return plain("the dark shapes stand apart and are cut as drawn");
        };
        let piece = &nest.pieces[head];
        let whole = filled_area(piece);
        let open = open_area(piece);
        let (part, count) = (open / whole.max(f64::MIN_POSITIVE), piece.holes.len());
        if count > 0 && covers(piece, self.page) {
            let why = "a dark sheet covers the page, so what is light on it is cut".to_owned();
            return (Reading::Light, why, "the whole sheet would be one opening".to_owned());
        }
        let percent = part * 100.0;
        if part >= FALLS_OUT {
            let why_not = format!("{percent:.0} % of the face would fall out");
            let inside: Vec<&Piece> = nest.inner().collect();
            let features: f64 = inside.iter().map(|p| p.area()).sum();
            if features >= FEATURES * whole {
                let shapes = counted(inside.len(), "dark shape");
                let why = format!("a dark outline runs round the face; it is left off and the {shapes} inside it cut");
                return (Reading::Features, why, why_not);
            }
            let why = format!(
                "the dark shape is a web of lines with {}; dark is wood and the light in it is cut",
                counted(count, "light field")
            );
            return (Reading::Light, why, why_not);
        }
        if part >= OPEN && count >= OPENINGS {
            let why = format!(
                "the face is one dark shape with {} ({percent:.0} % of it); dark is wood and light is cut",
                counted(count, "light opening")
            );
            let why_not =
                format!("it would leave one hole the shape of the head, with {} loose in it", counted(count, "piece"));
            return (Reading::Light, why, why_not);
        }
        plain("the dark silhouette is cut as drawn")
    }

    /// The readings not taken that would give something else to saw.
    fn alternatives(&self, taken: Reading, why_not: &str) -> Vec<Alternative> {
        let others = Reading::ALL.into_iter().filter(|&r| r != taken);
        let no_lines = self.too_broad.map_or_else(
            || "the drawing has no closed thin outlines".to_owned(),
            |width| format!("its lines are {width:.1} mm wide on the panel; `--cut lines` saws along them"),
        );
        others
            .map(|reading| {
                let why_not = match (reading, self.pieces(reading).is_empty()) {
                    (Reading::Lines, true) => &no_lines,
                    (Reading::Light, true) => "nothing light lies inside anything dark",
                    (Reading::Features, true) => "nothing lies inside an outer silhouette",
                    (Reading::Dark, true) => "nothing is dark",
                    (Reading::Dark, false) if self.is_line_art => {
                        "each line would become a slot as wide as it is drawn"
                    }
                    (Reading::Lines, false) if !self.is_line_art => "the drawing has filled shapes",
                    _ => why_not,
                };
                Alternative { reading, why_not: why_not.to_owned() }
            })
            .collect()
    }
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("one {what}") } else { format!("{count} {what}s") }
}

/// The outermost piece that holds nearly everything dark, if there is one.
fn silhouette(nest: &Nest) -> Option<usize> {
    let all: f64 = nest.outermost().map(|i| filled_area(&nest.pieces[i])).sum();
    let largest =
        nest.outermost().max_by(|&a, &b| filled_area(&nest.pieces[a]).total_cmp(&filled_area(&nest.pieces[b])))?;
    let outside = all - filled_area(&nest.pieces[largest]);
    (outside <= OUTSIDE * all).then_some(largest)
}

fn covers(piece: &Piece, page: Rect) -> bool {
    let bounds = piece.bounds();
    filled_area(piece) >= SHEET * page.area() && bounds.intersect(page).area() >= SHEET * page.area()
}

/// What is left when outer silhouettes are left off: of an outline, the dark
/// inside it; of a filled head, the light in it. Shapes that hold nothing stay.
fn features(nest: &Nest) -> Vec<Piece> {
    let mut kept = Vec::new();
    for i in nest.outermost() {
        let piece = &nest.pieces[i];
        if piece.holes.is_empty() {
            continue;
        }
        let open = open_area(piece);
        if open >= FALLS_OUT * filled_area(piece) && nest.held_in(i).next().is_some() {
            kept.extend(nest.held_in(i).map(|j| nest.pieces[j].clone()));
        } else {
            kept.extend(nest.light_inside(i));
        }
    }
    with_beside(kept, nest)
}

/// What is kept of the heads, if anything, with the separate openings beside
/// them: ears, a stalk, a hat.
fn with_beside(mut kept: Vec<Piece>, nest: &Nest) -> Vec<Piece> {
    if !kept.is_empty() {
        let beside = nest.outermost().filter(|&i| nest.pieces[i].holes.is_empty());
        kept.extend(beside.map(|i| nest.pieces[i].clone()));
    }
    kept
}
