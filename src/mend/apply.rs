//! Edits put to the face.

use kurbo::Rect;

use super::Change;
use crate::diag::Place;
use crate::face::{CutOut, Face, number_cutouts};
use crate::geom::boolean::{intersect, subtract, subtract_all, union_all};
use crate::geom::{Piece, Region};

/// A leftover thinner than this all along is a seam of the boolean operation,
/// not an opening, mm.
const SEAM: f64 = 0.05;

/// Shorter segments of an outline that was cut are jags of the boolean
/// operation, mm: a bend of theirs is none. A tenth of what a report shows.
const JAG: f64 = 1e-3;

/// The face with `changes` made: wood is given back before waste is opened.
/// Cut-outs no change meets stay as they are.
pub(super) fn apply<'a>(face: &Face, changes: impl Iterator<Item = &'a Change> + Clone) -> Face {
    let wanted =
        |give: bool| changes.clone().filter(move |c| matches!(c, Change::GiveBack(_)) == give).map(Change::shape);
    let given: Vec<&Region> = wanted(true).collect();
    let opened: Vec<&Region> = wanted(false).collect();
    let mut parts: Vec<(Piece, Option<Place>)> = face.cutouts.iter().flat_map(|c| less(c, &given)).collect();
    if !opened.is_empty() {
        parts = more(parts, &opened);
    }
    parts.retain(|(piece, _)| !is_seam(piece));
    for (piece, _) in &mut parts {
        piece.holes.retain(|hole| hole.signed_area().abs() > SEAM * hole.length(0.01) / 2.0);
    }
    Face { cutouts: number_cutouts(parts), ..face.clone() }
}

fn is_seam(piece: &Piece) -> bool {
    piece.area() < SEAM * piece.length(0.01) / 2.0
}

fn smooth(piece: Piece) -> Piece {
    let holes = piece.holes.into_iter().map(|hole| hole.without_jags(JAG)).collect();
    Piece { outer: piece.outer.without_jags(JAG), holes }
}

/// The cut-out less the shapes that meet it.
fn less(cutout: &CutOut, given: &[&Region]) -> Vec<(Piece, Option<Place>)> {
    let frame = cutout.piece.outer.control_box();
    let meets = |region: &&&Region| region.pieces.iter().any(|piece| piece.outer.control_box().overlaps(frame));
    let shapes: Vec<&Region> = given.iter().filter(meets).copied().collect();
    if shapes.is_empty() {
        return vec![(cutout.piece.clone(), cutout.place.clone())];
    }
    let opening = Region { pieces: vec![cutout.piece.clone()] };
    let left = subtract_all(&opening, shapes);
    if is_whole(&cutout.piece, &left) {
        return vec![(cutout.piece.clone(), cutout.place.clone())];
    }
    left.pieces.into_iter().map(|piece| (smooth(piece), cutout.place.clone())).collect()
}

/// Whether what is left of `piece` is all of it: the shapes only lay near.
fn is_whole(piece: &Piece, left: &Region) -> bool {
    /// Less is rounding, mm².
    const LEAST: f64 = 1e-6;
    let [one] = left.pieces.as_slice() else { return false };
    one.holes.len() == piece.holes.len() && (one.area() - piece.area()).abs() < LEAST
}

/// The openings with the shapes added; those a shape meets become one.
fn more(parts: Vec<(Piece, Option<Place>)>, opened: &[&Region]) -> Vec<(Piece, Option<Place>)> {
    let shapes: Vec<&Piece> = opened.iter().flat_map(|region| &region.pieces).collect();
    let boxes: Vec<Rect> = shapes.iter().map(|shape| shape.outer.control_box()).collect();
    let meets = |piece: &Piece| {
        let frame = piece.outer.control_box();
        boxes.iter().any(|shape| shape.overlaps(frame))
    };
    let (met, mut kept): (Vec<_>, Vec<_>) = parts.into_iter().partition(|(piece, _)| meets(piece));
    let all = met.iter().map(|(piece, _)| piece).chain(shapes).cloned();
    let together = Region { pieces: all.collect() };
    let place = |piece: &Piece| {
        let from = met.iter().find(|(old, _)| piece.bounds().contains_rect(old.bounds()));
        from.and_then(|(_, place)| place.clone())
    };
    let whole = union_all([&together]);
    kept.extend(whole.pieces.into_iter().map(|piece| (smooth(piece.clone()), place(&piece))));
    kept
}

/// The part of `face` that `change` changes: opening given back, or wood opened.
#[must_use]
pub fn seen(face: &Face, change: &Change) -> Region {
    let frame = change.shape().bounds();
    let near = |piece: &&Piece| piece.outer.control_box().overlaps(frame);
    let pieces = face.cutouts.iter().map(|cutout| &cutout.piece);
    let openings = Region { pieces: pieces.filter(near).cloned().collect() };
    match change {
        Change::GiveBack(shape) => intersect(shape, &openings),
        Change::OpenUp(shape) => subtract(shape, &openings),
    }
}

/// Area of opening `change` alone takes from or adds to `face`, mm².
pub(super) fn area(face: &Face, change: &Change) -> f64 {
    seen(face, change).area()
}
