//! What does not belong to the face: dust, specks, strays, frames.

use kurbo::Rect;

use super::nest::Nest;
use super::{Opening, Options};
use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::{Piece, Ring};

/// Openings on average narrower than this on the panel are dust, mm: slivers
/// left where outlines were meant to coincide. Derived: a fifth of a pencil
/// line; the finest blade's kerf is over ten times as wide.
const DUST: f64 = 0.02;
/// Specks told one by one.
const SPECKS_TOLD: usize = 8;

/// Leaves out dust, and specks smaller than the kerf. `mm` is panel millimetres
/// of one art unit.
pub(super) fn without_specks(openings: Vec<Opening>, options: &Options, mm: f64) -> (Vec<Opening>, Vec<Finding>) {
    let mut specks: Vec<(&'static str, Rect, f64, Option<crate::diag::Place>)> = Vec::new();
    let mut kept = Vec::new();
    for Opening { mut piece, place } in openings {
        if is_dust(&piece.outer, mm) {
            continue;
        }
        piece.holes.retain(|hole| !is_dust(hole, mm));
        if options.keep_specks {
            kept.push(Opening { piece, place });
            continue;
        }
        if is_speck(&piece.outer, options.kerf, mm) {
            specks.push(("an opening", piece.bounds(), across(&piece.outer) * mm, place));
            continue;
        }
        piece.holes.retain(|hole| {
            let speck = is_speck(hole, options.kerf, mm);
            if speck {
                specks.push(("a crumb of wood", hole.bounds(), across(hole) * mm, place.clone()));
            }
            !speck
        });
        kept.push(Opening { piece, place });
    }
    let findings = told(specks, options.kerf);
    (kept, findings)
}

fn is_dust(ring: &Ring, mm: f64) -> bool {
    let mean_width = 2.0 * ring.signed_area().abs() / ring.length(1e-2).max(1e-9);
    mean_width * mm < DUST
}

/// A speck is no larger than the kerf in any direction: the blade going in is
/// all there is of it.
fn is_speck(ring: &Ring, kerf: f64, mm: f64) -> bool {
    across(ring) * mm < kerf
}

fn across(ring: &Ring) -> f64 {
    let bounds = ring.bounds();
    bounds.width().max(bounds.height())
}

fn told(specks: Vec<(&'static str, Rect, f64, Option<crate::diag::Place>)>, kerf: f64) -> Vec<Finding> {
    let total = specks.len();
    let advice = "nothing, or keep specks and cut them with a drill";
    let mut findings: Vec<Finding> = specks
        .into_iter()
        .zip(1..)
        .take(if total > SPECKS_TOLD { SPECKS_TOLD - 1 } else { total })
        .map(|((what, bounds, size, place), number)| {
            let message = format!("{what} {size:.2} mm across is smaller than the {kerf:.2} mm kerf; it was left out");
            let finding = Finding::new(format!("speck-{number}"), FindingKind::Speck, Severity::Note, message, advice)
                .at(bounds.center())
                .measured(size, kerf);
            match place {
                Some(place) => finding.place(place),
                None => finding,
            }
        })
        .collect();
    let more = total - findings.len();
    if more > 0 {
        let message = format!("{more} more specks smaller than the kerf were left out");
        findings.push(Finding::new(
            format!("speck-{SPECKS_TOLD}"),
            FindingKind::Speck,
            Severity::Note,
            message,
            advice,
        ));
    }
    findings
}

/// A page frame reaches at least this part of the page (or of the drawing)
/// both ways. Ours.
const FRAME_REACH: f64 = 0.9;
/// A frame's outline fills at least this part of its own box: a rectangle.
const FRAME_SQUARE: f64 = 0.98;
/// A frame is open over at least this part of its own box: a line.
const FRAME_OPEN: f64 = 0.75;

/// The index of a frame round the whole drawing, if there is one: a rectangle
/// of thin line, as large as the page, with the rest inside.
pub(super) fn frame(nest: &Nest, page: Rect) -> Option<usize> {
    let is_frame = |&i: &usize| {
        let piece = &nest.pieces[i];
        let open = piece.holes.iter().map(|h| h.signed_area().abs()).fold(0.0, f64::max);
        is_page_rectangle(&piece.outer, page)
            && open >= FRAME_OPEN * piece.bounds().area()
            && nest.held_in(i).next().is_some()
    };
    let mut outermost = nest.outermost();
    match (outermost.next(), outermost.next()) {
        (Some(only), None) => Some(only).filter(is_frame),
        _ => None,
    }
}

/// Whether `ring` is a rectangle about as large as the page.
pub(super) fn is_page_rectangle(ring: &Ring, page: Rect) -> bool {
    let bounds = ring.bounds();
    bounds.width() >= FRAME_REACH * page.width()
        && bounds.height() >= FRAME_REACH * page.height()
        && ring.signed_area().abs() >= FRAME_SQUARE * bounds.area()
}

/// The finding for a frame left out.
pub(super) fn frame_finding(number: usize, bounds: Rect) -> Finding {
    let id = format!("stray-{number}");
    let message = "a rectangle runs round the whole drawing like a page frame; it was left out";
    let advice = format!("keep {id} if it is to be sawn");
    Finding::new(id, FindingKind::Stray, Severity::Note, message, advice).at(bounds.center())
}

/// A stray lies at least this far from the face, as a part of the face's larger
/// side. Ours, with the two below: looked at on captions and credit lines, and
/// on faces whose mouth lies well below the eyes.
const STRAY_GAP: f64 = 0.08;
/// A stray's pieces are at most this part of the face's height.
const STRAY_HEIGHT: f64 = 0.08;
/// All strays together are at most this part of the face's area.
const STRAY_AREA: f64 = 0.05;

/// Sets apart what stands away from the face: small pieces, clear of the box
/// round all large ones. Gives the face and the groups of strays.
pub(super) fn strays(openings: Vec<Opening>) -> (Vec<Opening>, Vec<Vec<Opening>>) {
    let all: f64 = openings.iter().map(|o| o.piece.area()).sum();
    let largest = openings.iter().map(|o| across_piece(&o.piece)).fold(0.0, f64::max);
    // The face to begin with: everything that is not small beside the largest.
    let is_large = |o: &Opening| across_piece(&o.piece) > STRAY_HEIGHT * largest || o.piece.area() > STRAY_AREA * all;
    let Some(face) = openings.iter().filter(|o| is_large(o)).map(|o| o.piece.bounds()).reduce(|a, b| a.union(b)) else {
        return (openings, Vec::new());
    };
    let gap = STRAY_GAP * face.width().max(face.height());
    let near = grown(face, &openings, gap);
    let (kept, far): (Vec<Opening>, Vec<Opening>) = openings.into_iter().partition(|o| near.overlaps(o.piece.bounds()));
    let far_area: f64 = far.iter().map(|o| o.piece.area()).sum();
    if far.is_empty() || far_area > STRAY_AREA * all {
        return (kept.into_iter().chain(far).collect(), Vec::new());
    }
    (kept, grouped(far, gap))
}

/// The face's box grown by `gap`, and again round every piece it then touches.
fn grown(face: Rect, openings: &[Opening], gap: f64) -> Rect {
    let mut near = face.inflate(gap, gap);
    loop {
        let touching = openings.iter().map(|o| o.piece.bounds()).filter(|b| near.overlaps(*b));
        let next = touching.fold(near, |sum, b| sum.union(b.inflate(gap, gap)));
        if next == near {
            return near;
        }
        near = next;
    }
}

fn across_piece(piece: &Piece) -> f64 {
    let bounds = piece.bounds();
    bounds.width().max(bounds.height())
}

/// Groups pieces whose boxes lie within `gap` of each other.
fn grouped(pieces: Vec<Opening>, gap: f64) -> Vec<Vec<Opening>> {
    let mut groups: Vec<(Rect, Vec<Opening>)> = Vec::new();
    for opening in pieces {
        let mut bounds = opening.piece.bounds().inflate(gap / 2.0, gap / 2.0);
        let mut members = vec![opening];
        let (touching, apart): (Vec<_>, Vec<_>) = groups.into_iter().partition(|(b, _)| b.overlaps(bounds));
        for (b, mut more) in touching {
            bounds = bounds.union(b);
            members.append(&mut more);
        }
        groups = apart;
        groups.push((bounds, members));
    }
    groups.sort_by(|a, b| a.0.y0.total_cmp(&b.0.y0).then(a.0.x0.total_cmp(&b.0.x0)));
    groups.into_iter().map(|(_, members)| members).collect()
}

/// The finding for a group of strays left out (or kept by wish).
pub(super) fn stray_finding(number: usize, group: &[Opening], face: Rect, mm: f64) -> Finding {
    let bounds = group.iter().map(|o| o.piece.bounds()).reduce(|a, b| a.union(b)).unwrap_or_default();
    let row = group.len() >= 4 && bounds.width() > 3.0 * bounds.height();
    let what = match group.len() {
        1 => "a small shape".to_owned(),
        n if row => format!("a row of {n} small shapes, like lettering,"),
        n => format!("{n} small shapes"),
    };
    let apart = (distance(bounds, face)) * mm;
    let stand = if group.len() == 1 { "stands" } else { "stand" };
    let id = format!("stray-{number}");
    let message = format!("{what} {stand} {apart:.0} mm away from the face; left out");
    let advice = format!("keep {id} if it is to be sawn");
    let finding = Finding::new(id, FindingKind::Stray, Severity::Note, message, advice).at(bounds.center());
    match group.iter().find_map(|o| o.place.clone()) {
        Some(place) => finding.place(place),
        None => finding,
    }
}

fn distance(a: Rect, b: Rect) -> f64 {
    let dx = (a.x0 - b.x1).max(b.x0 - a.x1).max(0.0);
    let dy = (a.y0 - b.y1).max(b.y0 - a.y1).max(0.0);
    dx.hypot(dy)
}
