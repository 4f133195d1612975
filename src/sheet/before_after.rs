//! The face as drawn and as mended, side by side, every change numbered.

use kurbo::{Affine, BezPath, Point, Rect, RoundedRect, Shape as _};

use super::flow::line;
use super::picture::{AROUND, board};
use super::place::Placer;
use super::{Ink, Layer, Mark, Path, Sheet, Stroke, Text};
use crate::font::{Weight, width};
use crate::outcome::Outcome;
use crate::units::Mm;

/// One change, as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Its number, or its name.
    pub name: String,
    /// Its place, panel space.
    pub at: Point,
    /// What it changes.
    pub shape: BezPath,
    /// Whether it gives wood back; it opens waste otherwise.
    pub gives_back: bool,
}

/// Wood given back.
const GIVEN: Ink = Ink::rgb(36, 120, 96);
/// Waste opened.
const OPENED: Ink = Ink::rgb(190, 92, 20);
/// Grounds for the two, against wood and against the dark of an opening.
const GIVEN_TINT: Ink = Ink::rgb(148, 190, 140);
const OPENED_TINT: Ink = Ink::rgb(122, 58, 20);
/// Height of the words over the panels, mm.
const HEAD: f64 = 9.0;
/// Changes numbered; the rest would bury the face.
const NUMBERED: usize = 30;

/// The two panels on one sheet, `before` left.
#[must_use]
pub fn before_after(before: &Outcome, after: &Outcome, changes: &[Change], name: &str) -> Sheet {
    let panel = before.face.panel.rect();
    let (w, h) = (panel.width() + 2.0 * AROUND, panel.height() + 2.0 * AROUND);
    let mut sheet = Sheet::new(name, Mm::new(2.0 * w), Mm::new(h + HEAD));
    // The right board goes first: the ground round the left one covers its edge.
    let halves = [(w, after, "mended"), (0.0, before, "as drawn")];
    for (left, outcome, words) in halves {
        let shift = Affine::translate((left + AROUND, AROUND));
        sheet.marks.extend(board(outcome).iter().map(|mark| mark.transformed(shift)));
        if left > 0.0 {
            sheet.marks.extend(marks(after, changes).iter().map(|mark| mark.transformed(shift)));
        }
        let head = Rect::new(left, h, left + w, h + HEAD);
        sheet.push(Layer::Title, Path::fill(head.to_path(1e-3), Ink::rgb(250, 248, 244)));
        sheet.push(Layer::Title, Text::new(words, (left + AROUND, h + 0.5), 5.0).bold());
    }
    sheet
}

fn marks(after: &Outcome, changes: &[Change]) -> Vec<Mark> {
    let panel = after.face.panel.rect();
    let mut placer = Placer::new(panel.inflate(AROUND - 1.0, AROUND - 1.0));
    for cutout in &after.face.cutouts {
        placer.line(&cutout.piece.to_path());
    }
    let mut marks: Vec<Mark> = changes.iter().map(outlined).collect();
    for change in changes.iter().take(NUMBERED) {
        marks.extend(numbered(change, &mut placer));
    }
    marks
}

fn ink(change: &Change) -> Ink {
    if change.gives_back { GIVEN } else { OPENED }
}

fn outlined(change: &Change) -> Mark {
    let tint = if change.gives_back { GIVEN_TINT } else { OPENED_TINT };
    let shape = Path::fill(change.shape.clone(), tint).outlined(Stroke::new(0.35, ink(change)));
    Mark::new(Layer::WeakSpots, shape)
}

fn numbered(change: &Change, placer: &mut Placer) -> Vec<Mark> {
    let name = &change.name;
    let size = (width(name, 3.4, Weight::Bold) + 2.4, 4.6);
    let Some(spot) = placer.beside(change.at, size, 2.0) else { return Vec::new() };
    let foot = Point::new(change.at.x.clamp(spot.rect.x0, spot.rect.x1), change.at.y.clamp(spot.rect.y0, spot.rect.y1));
    let plate = RoundedRect::from_rect(spot.rect, 1.4).to_path(1e-2);
    vec![
        Mark::new(Layer::Numbers, Path::stroke(line(change.at, foot), Stroke::new(0.25, ink(change)))),
        Mark::new(Layer::Numbers, Path::fill(plate, ink(change)).outlined(Stroke::new(0.3, Ink::WHITE))),
        Mark::new(Layer::Numbers, Text::new(name.clone(), spot.rect.center(), 3.4).bold().ink(Ink::WHITE).centred()),
    ]
}
