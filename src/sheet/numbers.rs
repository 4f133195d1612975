//! Where the cut-outs' numbers stand: each in its own opening where there is room,
//! beside it where not, and never in another's, which would be sawn in its stead.

use kurbo::{Affine, Point, Rect};

use super::place::{Placer, Spot};
use crate::geom::flat::FlatRing;
use crate::outcome::Outcome;

/// Cost of a label in the waste of another cut-out, in mm of distance.
pub(super) const ON_ANOTHER: f64 = 80.0;

/// An opening as it is drawn.
pub(super) struct Opening {
    /// The cut-out's number.
    pub(super) id: u32,
    rings: Vec<FlatRing>,
    bounds: Rect,
    /// Where a leader to it ends: its entry hole, its middle or its outline.
    foot: Point,
}

impl Opening {
    fn holds(&self, p: Point) -> bool {
        self.bounds.contains(p) && self.rings.iter().filter(|ring| ring.contains(p)).count() % 2 == 1
    }
}

/// The openings of a face, as drawn.
pub(super) struct Openings(Vec<Opening>);

impl Openings {
    /// Those of `outcome`, moved by `place`.
    pub(super) fn of(outcome: &Outcome, place: Affine) -> Self {
        let opening = |cutout: &crate::face::CutOut| {
            let piece = cutout.piece.transformed(place);
            let rings: Vec<FlatRing> = piece.rings().map(|ring| ring.flatten(0.1)).collect();
            let bounds = piece.bounds();
            let hole = outcome.holes.iter().find(|hole| hole.cutout == cutout.id).map(|hole| place * hole.at);
            let mut opening = Opening { id: cutout.id, rings, bounds, foot: bounds.center() };
            let middle = Some(bounds.center()).filter(|p| opening.holds(*p));
            opening.foot = hole.or(middle).unwrap_or_else(|| piece.outer.eval(0, 0.5));
            opening
        };
        Self(outcome.face.cutouts.iter().map(opening).collect())
    }

    /// Whether `p` lies in any waste.
    pub(super) fn holds(&self, p: Point) -> bool {
        self.0.iter().any(|opening| opening.holds(p))
    }

    /// What a label of cut-out `id` costs on `rect`, for the waste of others under it.
    pub(super) fn cost(&self, id: u32, rect: Rect) -> f64 {
        let corners = [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)];
        let points = corners.map(Point::from).into_iter().chain([rect.center()]);
        let under = |p: Point| self.0.iter().any(|opening| opening.id != id && opening.holds(p));
        if points.into_iter().any(under) { ON_ANOTHER } else { 0.0 }
    }

    /// A spot for the number of every cut-out, `size` mm by its digits; those that
    /// stand in their own opening come first, so that no other takes their place.
    pub(super) fn numbers(&self, placer: &mut Placer, size: impl Fn(u32) -> (f64, f64)) -> Vec<(u32, Spot)> {
        let (mut spots, mut rest) = (Vec::new(), Vec::new());
        for opening in &self.0 {
            let size = size(opening.id);
            let radius = size.0.max(size.1) / 2.0;
            match placer.roomiest(opening.bounds, radius + 0.3, |p| opening.holds(p)) {
                Some(at) => {
                    let rect = Rect::from_center_size(at, size);
                    placer.take(rect);
                    spots.push((opening.id, Spot { rect, leader: None, clear: true, on_label: false }));
                }
                None => rest.push((opening, size)),
            }
        }
        for (opening, size) in rest {
            let Some(spot) = placer.beside(opening.foot, size, 1.0, |rect| self.cost(opening.id, rect)) else {
                continue;
            };
            if let Some((from, to)) = spot.leader {
                placer.leader(from, to);
            }
            spots.push((opening.id, spot));
        }
        spots
    }
}
