//! Where the cut-outs' numbers stand: each in its own opening where there is room,
//! beside it where not, and never in another's, which would be sawn in its stead. One
//! that stands as near another opening as its own is joined to it by a leader.

use kurbo::{Affine, Point, Rect, Vec2};

use super::apart;
use super::place::{self, Placer, Spot};
use crate::geom::flat::FlatRing;
use crate::outcome::Outcome;

/// Cost of a label in the waste of another cut-out, in mm of distance.
pub(super) const ON_ANOTHER: f64 = 80.0;
/// Cost of a leader at all, and through the waste of another cut-out: a number without
/// one is read faster, and one that leads into two openings names both.
const LEADER: (f64, f64) = (3.0, 40.0);
/// Another opening seems to be a number's own unless it is farther off by this part of
/// its distance and this many mm: ours, by looking at prints.
const CLEARLY: (f64, f64) = (1.6, 0.8);
/// Farther than this from its opening, mm, a number is joined to it: ours.
const NEAR: f64 = 2.4;
/// Distance between places along an outline that a number may stand beside, mm, and
/// the fewest and most of them.
const APART: (f64, u32, u32) = (3.0, 4, 14);
/// A leader ends this far inside an outline, mm, where no hole is: less in a slot.
const INSIDE: [f64; 3] = [0.6, 0.3, 0.1];
/// Beyond so many openings only the hole and a few places of each are tried, so that a
/// face of thousands is laid out in time.
const MANY: usize = 150;

/// What shape a label has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// A disc as wide as its box.
    Disc,
    /// All of its box.
    Box,
}

impl Shape {
    /// What distances to a label in `rect` are measured from, and how much of them is
    /// its own.
    fn seen(self, rect: Rect) -> (Rect, f64) {
        match self {
            Self::Disc => (Rect::from_center_size(rect.center(), (0.0, 0.0)), rect.width() / 2.0),
            Self::Box => (rect, 0.0),
        }
    }
}

/// Where a number is tried: the foot of its leader, its box and its shape.
type At = (Point, Rect, Shape);

/// An opening as it is drawn.
pub(super) struct Opening {
    /// The cut-out's number.
    pub(super) id: u32,
    rings: Vec<FlatRing>,
    bounds: Rect,
    /// Where a leader to it may end: its entry hole, or its middle, first.
    feet: Vec<Point>,
}

impl Opening {
    fn holds(&self, p: Point) -> bool {
        self.bounds.contains(p) && self.rings.iter().filter(|ring| ring.contains(p)).count() % 2 == 1
    }

    /// Places just inside its outer outline, evenly along it.
    fn along(&self, many: bool) -> Vec<Point> {
        let Some(points) = self.rings.first().map(|ring| &ring.points) else { return Vec::new() };
        let sides = || points.iter().zip(points.iter().cycle().skip(1));
        let length: f64 = sides().map(|(a, b)| a.distance(*b)).sum();
        let most = if many { APART.1 } else { APART.2 };
        let count = ((length / APART.0) as u32).clamp(APART.1, most);
        let (mut gone, mut next, mut feet) = (0.0, 0, Vec::new());
        for (a, b) in sides() {
            let side = a.distance(*b);
            while next < count && f64::from(next) * length / f64::from(count) <= gone + side && side > 0.0 {
                let at = a.lerp(*b, (f64::from(next) * length / f64::from(count) - gone) / side);
                let way = (*b - *a) / side;
                let inward = INSIDE.into_iter().flat_map(|depth| [depth, -depth]);
                let inward = inward.map(|depth| at + Vec2::new(-way.y, way.x) * depth);
                feet.extend(inward.into_iter().find(|p| self.holds(*p)));
                next += 1;
            }
            gone += side;
        }
        feet
    }

    /// Distance from `rect` to the opening, mm, 0 where it lies on it.
    fn distance(&self, rect: Rect) -> f64 {
        if self.holds(rect.center()) {
            return 0.0;
        }
        let sides = |ring: &FlatRing| {
            let sides = ring.points.iter().zip(ring.points.iter().cycle().skip(1));
            sides.map(|(a, b)| apart::segment_to_rect(*a, *b, rect)).fold(f64::INFINITY, f64::min)
        };
        self.rings.iter().map(sides).fold(f64::INFINITY, f64::min)
    }
}

/// The openings of a face, as drawn.
pub(super) struct Openings(Vec<Opening>);

impl Openings {
    /// Those of `outcome`, moved by `place`.
    pub(super) fn of(outcome: &Outcome, place: Affine) -> Self {
        let cutouts = &outcome.face.cutouts;
        let opening = |cutout: &crate::face::CutOut| {
            let piece = cutout.piece.transformed(place);
            let rings: Vec<FlatRing> = piece.rings().map(|ring| ring.flatten(0.1)).collect();
            let bounds = piece.bounds();
            let hole = outcome.holes.iter().find(|hole| hole.cutout == cutout.id).map(|hole| place * hole.at);
            let mut opening = Opening { id: cutout.id, rings, bounds, feet: Vec::new() };
            let middle = Some(bounds.center()).filter(|p| opening.holds(*p));
            opening.feet = hole.or(middle).into_iter().chain(opening.along(cutouts.len() > MANY)).collect();
            if opening.feet.is_empty() {
                opening.feet.push(piece.outer.eval(0, 0.5));
            }
            opening
        };
        Self(cutouts.iter().map(opening).collect())
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

    /// Whether another opening than `own` is as near to a label, or as good as, which is
    /// `away` mm off its own; what is seen of it, and how far it reaches beyond.
    fn is_anothers(&self, own: &Opening, away: f64, (rect, radius): (Rect, f64)) -> bool {
        let reach = away.max(0.0) * CLEARLY.0 + CLEARLY.1 + radius;
        let wide = rect.inflate(reach, reach);
        let is_near = |other: &&Opening| other.id != own.id && !other.bounds.intersect(wide).is_zero_area();
        self.0.iter().filter(is_near).any(|other| other.distance(rect) < reach)
    }

    /// What a leader to `own` costs for the waste of others it leads through.
    fn through(&self, own: &Opening, from: Point, to: Point) -> f64 {
        let along = Rect::from_points(from, to).inflate(0.01, 0.01);
        let is_near = |other: &&Opening| other.id != own.id && !other.bounds.intersect(along).is_zero_area();
        let steps = (from.distance(to) / 0.5).ceil().clamp(1.0, 400.0) as u32;
        let crosses =
            |other: &&Opening| (0..=steps).any(|i| other.holds(from.lerp(to, f64::from(i) / f64::from(steps))));
        self.0.iter().filter(is_near).filter(crosses).count() as f64 * LEADER.1
    }

    /// A spot for the number of every cut-out, `size` mm by its digits; those that
    /// stand in their own opening come first, so that no other takes their place.
    pub(super) fn numbers(
        &self,
        placer: &mut Placer,
        shape: Shape,
        size: impl Fn(u32) -> (f64, f64),
    ) -> Vec<(u32, Spot)> {
        let (mut spots, mut rest) = (Vec::new(), Vec::new());
        for opening in &self.0 {
            match opening.within(placer, shape, size(opening.id)) {
                Some(rect) => {
                    placer.take(rect);
                    spots.push((opening.id, Spot::free(rect)));
                }
                None => rest.push(opening),
            }
        }
        for opening in rest {
            let Some(spot) = self.beside(placer, opening, shape, size(opening.id)) else { continue };
            placer.take(spot.rect);
            if let Some((from, to)) = spot.leader {
                placer.leader(from, to);
            }
            spots.push((opening.id, spot));
        }
        spots
    }

    /// The best place beside an opening: near it, on nothing, and nearer to no other,
    /// or joined to it where it must be.
    fn beside(&self, placer: &Placer, own: &Opening, shape: Shape, size: (f64, f64)) -> Option<Spot> {
        let mut best: Option<Spot> = None;
        for (i, &foot) in own.feet.iter().enumerate() {
            // Beside the hole it is found first.
            let second = if i == 0 { 0.0 } else { 0.5 };
            for extra in place::DISTANCES {
                if best.is_some_and(|best| best.cost <= extra + second) {
                    break;
                }
                for rect in place::around(foot, size, 1.0 + extra) {
                    let least = best.map_or(f64::INFINITY, |best| best.cost);
                    best = self.weighed(placer, own, (foot, rect, shape), extra + second, least).or(best);
                }
            }
        }
        best
    }

    /// The number of `own` on `rect` with its leader, if it needs one; `None` when that
    /// costs `least` or more.
    fn weighed(&self, placer: &Placer, own: &Opening, at: At, so_far: f64, least: f64) -> Option<Spot> {
        let (from, rect, shape) = at;
        let cover = placer.cost(rect);
        let is_less = |cost: f64| cost.is_finite() && cost < least;
        if !is_less(cover + so_far) {
            return None;
        }
        let (seen, radius) = shape.seen(rect);
        let away = own.distance(seen) - radius;
        let needs = away > NEAR || self.is_anothers(own, away, (seen, radius));
        let to = apart::foot(from, rect);
        let leads = if needs { LEADER.0 + placer.crossed(from, to) + self.through(own, from, to) } else { 0.0 };
        let cost = cover + so_far + leads + self.cost(own.id, rect);
        let leader = needs.then_some((from, to));
        let spot = Spot { rect, leader, clear: cover == 0.0, on_label: placer.is_on_label(rect), cost };
        is_less(cost).then_some(spot)
    }
}

impl Opening {
    /// A place for a label inside the opening, clear of its outline.
    fn within(&self, placer: &Placer, shape: Shape, size: (f64, f64)) -> Option<Rect> {
        let radius = size.0.max(size.1) / 2.0;
        let rect = |p: Point| Rect::from_center_size(p, size);
        let fits = |p: Point| match shape {
            Shape::Disc => placer.room(p, radius + 0.3) >= radius + 0.3,
            Shape::Box => placer.cost(rect(p)) == 0.0,
        };
        placer.roomiest(self.bounds, radius, |p| self.holds(p), fits).map(rect)
    }
}
