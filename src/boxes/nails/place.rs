//! Puts the nails of one row where there is room.

use kurbo::Point;

use super::rows::{Point3, Row, RowKind, nails_apart};
use super::{NailSpot, Spacings};
use crate::boxes::design::Design;
use crate::boxes::face::{EntryHole, FaceFacts};
use crate::boxes::plane::FlatOutline;
use crate::units::Mm;

/// Step of the search for a free place, millimetres.
const STEP: f64 = 0.5;

/// A face that fills its window exactly is clear of every nail, however the
/// sums round, millimetres.
const ROUNDING: f64 = 1e-6;

/// Places rows one after the other; earlier nails stay where they are.
pub(crate) struct Placer<'a> {
    design: &'a Design,
    spacings: &'a Spacings,
    cutouts: Vec<FlatOutline>,
    entries: &'a [EntryHole],
    /// Kerf of the saw that cuts the face; nothing without one.
    kerf: Mm,
    /// Nails of the rows placed so far.
    placed: Vec<(Point3, Point3)>,
}

impl<'a> Placer<'a> {
    pub(crate) fn new(design: &'a Design, spacings: &'a Spacings, face: Option<(&'a FaceFacts, Mm)>) -> Self {
        let (face, kerf) = face.unzip();
        let cutouts = face.map(|f| f.cutouts.iter().map(|c| FlatOutline::new(&c.outline)).collect());
        let entries = face.map_or(&[][..], |f| &f.entries);
        let (cutouts, kerf) = (cutouts.unwrap_or_default(), kerf.unwrap_or(Mm::ZERO));
        Self { design, spacings, cutouts, entries, kerf, placed: Vec::new() }
    }

    /// The nails of a row and how many found no room.
    pub(crate) fn place(&mut self, row: &Row) -> (Vec<NailSpot>, u32) {
        let (even, limits) = self.even(row);
        let roam = even.get(1).map_or(row.length / 2.0, |second| (second - even[0]) / 2.0);
        let mut spots: Vec<NailSpot> = Vec::new();
        for &wanted in &even {
            let after = spots.last().map_or(f64::NEG_INFINITY, |s| s.at.get() + self.spacings.along);
            let free = |at: &f64| *at >= limits.0 && *at <= limits.1 && *at >= after && self.free(row, *at);
            if let Some(at) = candidates(wanted, roam).find(free) {
                spots.push(self.spot(row, wanted, at));
            }
        }
        let length = self.design.nail.length.get();
        self.placed.extend(spots.iter().map(|s| row.nail(s.at.get(), length)));
        let dropped = (even.len() - spots.len()) as u32;
        (spots, dropped)
    }

    /// Even positions along a row, and the first and last place allowed.
    fn even(&self, row: &Row) -> (Vec<f64>, (f64, f64)) {
        let end = published_end(row, self.spacings).max(self.design.nail.end.get());
        let (first, last) = (end, row.length - end);
        let room = last - first;
        if room < self.spacings.along {
            let middle = row.length / 2.0;
            return (vec![middle], (middle.min(first), middle.max(last)));
        }
        let step = self.design.nail.spacing.get().max(self.spacings.along);
        // Rounding up keeps gaps at or below the wished spacing; the published
        // least wins where the two disagree.
        let gaps = (room / step - 1e-9).ceil().max(1.0).min((room / self.spacings.along).floor());
        let even = (0..=gaps as u32).map(|i| first + room * f64::from(i) / gaps).collect();
        (even, (first - 1e-9, last + 1e-9))
    }

    fn spot(&self, row: &Row, wanted: f64, at: f64) -> NailSpot {
        NailSpot {
            at: Mm::new(at),
            from_end: Mm::new(at + row.offset),
            moved: Mm::new(at - wanted),
            on_panel: self.on_panel(row, at),
        }
    }

    fn on_panel(&self, row: &Row, at: f64) -> Option<(Point, Point)> {
        let (panel_width, _) = self.design.panel();
        let panel_x = (self.design.width - panel_width).get() / 2.0;
        row.on_panel(at, self.design.nail.length.get(), panel_x)
    }

    /// Whether a nail at `at` keeps clear of nails, cut-outs and entry holes.
    fn free(&self, row: &Row, at: f64) -> bool {
        let nail = &self.design.nail;
        let axis = row.nail(at, nail.length.get());
        // Nails of different rows keep the published distance across the
        // grain, and never touch however both drift.
        let apart = self.spacings.across.max(nail.diameter.get() + 2.0 * nail.drift.get());
        if self.placed.iter().any(|other| nails_apart(axis, *other) < apart) {
            return false;
        }
        self.on_panel(row, at).is_none_or(|(a, b)| self.clear_of_face(a, b))
    }

    /// Cut-outs keep the same from a nail here as in the window for the face;
    /// a drilled hole has no kerf.
    fn clear_of_face(&self, a: Point, b: Point) -> bool {
        let margin = |kerf| self.design.nail_margin(kerf).get();
        let (sawn, wood) = (margin(self.kerf) - ROUNDING, margin(Mm::ZERO));
        let cut = self.cutouts.iter().any(|c| c.at_least(a, b) < sawn && c.distance(a, b) < sawn);
        let drilled = self.entries.iter().any(|hole| {
            let nearest = kurbo::ParamCurveNearest::nearest(&kurbo::Line::new(a, b), hole.at, 1e-6);
            nearest.distance_sq.sqrt() < wood + hole.diameter / 2.0
        });
        !cut && !drilled
    }
}

/// The published least distance from a row's ends: corner and strip rows run
/// along the grain of the piece nailed through, base rows across the grain of
/// the wall.
pub(super) const fn published_end(row: &Row, spacings: &Spacings) -> f64 {
    match row.kind {
        RowKind::Corner | RowKind::Strip => spacings.loaded_end,
        RowKind::Base => spacings.free_end,
    }
}

/// Places to try: the wanted one, then ever farther to either side.
fn candidates(wanted: f64, roam: f64) -> impl Iterator<Item = f64> {
    let steps = (roam / STEP) as u32;
    let pair = move |i: u32| [wanted + f64::from(i) * STEP, wanted - f64::from(i) * STEP];
    std::iter::once(wanted).chain((1..=steps).flat_map(pair))
}
