//! A face made ready for measuring: every outline sampled and indexed once.

use kurbo::{Point, Shape, Vec2};

use crate::face::Face;
use crate::geom::boundary::Sampling;
use crate::geom::cells::Cut;
use crate::geom::medial::Medial;
use crate::geom::tolerance::FLATTEN;
use crate::geom::{Boundary, Ring, Spot};

/// What a ring of the boundary bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Owner {
    /// The panel.
    Panel,
    /// The cut-out at this place in the face's list.
    CutOut(usize),
    /// A hole of the cut-out at this place.
    Hole(usize),
}

/// The face and its outlines, wood on their right.
pub(crate) struct Site<'a> {
    pub(crate) face: &'a Face,
    pub(crate) all: Boundary,
    /// One for each ring of `all`; the panel's edge is ring 0.
    pub(crate) owners: Vec<Owner>,
}

/// The panel's edge, as a ring of the boundary.
pub(crate) const EDGE: u32 = 0;

/// Outlines: close enough that two necks a maker would tell apart lie on
/// different samples.
const OUTLINE: Sampling = Sampling { tolerance: FLATTEN, spacing: 1.5 };
/// The panel's edge is straight and nothing is measured from it.
const PANEL: Sampling = Sampling { tolerance: FLATTEN, spacing: 10.0 };

/// Nearer than this, mm, two outlines touch: the boolean engine's accuracy with
/// room to spare, a hundredth of the finest kerf.
pub(crate) const TOUCH: f64 = 2e-3;

impl<'a> Site<'a> {
    pub(crate) fn new(face: &'a Face) -> Self {
        let edge = Ring::all_of(&face.panel.rect().to_path(FLATTEN)).into_iter().next().map(|ring| ring.wound(false));
        let mut rings: Vec<(Ring, Sampling)> = edge.map(|ring| (ring, PANEL)).into_iter().collect();
        let mut owners = vec![Owner::Panel; rings.len()];
        for (index, cutout) in face.cutouts.iter().enumerate() {
            rings.push((cutout.piece.outer.clone(), OUTLINE));
            owners.push(Owner::CutOut(index));
            for hole in &cutout.piece.holes {
                rings.push((hole.clone(), OUTLINE));
                owners.push(Owner::Hole(index));
            }
        }
        Self { face, all: Boundary::new(rings), owners }
    }

    /// The number shown to people of the cut-out ring `ring` belongs to.
    pub(crate) fn cutout(&self, ring: u32) -> Option<u32> {
        match self.owners[ring as usize] {
            Owner::Panel => None,
            Owner::CutOut(index) | Owner::Hole(index) => Some(self.face.cutouts[index].id),
        }
    }

    /// Cuts of no length where outlines touch, so that wood on either side of
    /// the point counts as parted: those among the necks of the wood, and those
    /// at corners.
    pub(crate) fn contacts(&self, minima: &[crate::geom::medial::Neck]) -> Vec<Cut> {
        let mut cuts: Vec<Cut> = minima
            .iter()
            .filter(|neck| neck.span.width < TOUCH)
            .filter_map(|neck| self.contact(neck.span.spots))
            .collect();
        for i in 0..self.all.len() {
            if self.all.bend(i) != 0.0 {
                cuts.extend(self.touching(i));
            }
        }
        self.without_doubles(cuts)
    }

    /// The contact of the corner at sample `i` with another outline, or with a
    /// far part of its own.
    fn touching(&self, i: u32) -> Option<Cut> {
        let p = self.all.point(i);
        let own = |edge: u32| self.all.is_beside(edge, i, 2);
        let (edge, fraction, _) = self.all.nearest(p, TOUCH, own)?;
        let spots = [self.all.spot(i), self.all.along(edge, fraction)];
        let round = spots[0].ring != spots[1].ring || self.all.way(spots[0], spots[1]) > 10.0 * TOUCH;
        if round { self.contact(spots) } else { None }
    }

    /// The cut that parts the wood where two outlines touch, if wood lies
    /// between them there: each outline must come and go within the wood of the
    /// other. Where one only meets the other from inside its opening, no wood
    /// hangs together there anyway.
    fn contact(&self, spots: [Spot; 2]) -> Option<Cut> {
        let arms = spots.map(|spot| self.arms(spot));
        let within = |v: Vec2, [back, on]: [Vec2; 2]| {
            let turn = |v: Vec2| libm::atan2(back.cross(v), back.dot(v)).rem_euclid(std::f64::consts::TAU);
            turn(v) < turn(on)
        };
        let both = arms[1].iter().all(|&v| within(v, arms[0]));
        let middle = |[back, on]: [Vec2; 2]| {
            let sum = back + on;
            // Waste lies on the left, between going on and coming back.
            if on.cross(back) < 0.0 { -sum } else { sum }
        };
        both.then(|| Cut { spots, toward: [middle(arms[1]), middle(arms[0])] })
    }

    /// Directions in which the outline leaves `spot`, back and on.
    fn arms(&self, spot: Spot) -> [Vec2; 2] {
        let (p, sample) = (self.all.at(spot), self.all.sample_before(spot));
        let far = |mut i: u32, step: &dyn Fn(u32) -> u32| {
            for _ in 0..4 {
                if self.all.point(i).distance(p) > 10.0 * TOUCH {
                    break;
                }
                i = step(i);
            }
            let arm = self.all.point(i) - p;
            arm / arm.hypot().max(1e-12)
        };
        [far(sample, &|i| self.all.previous(i)), far(self.all.next(sample), &|i| self.all.next(i))]
    }

    fn without_doubles(&self, mut cuts: Vec<Cut>) -> Vec<Cut> {
        for cut in &mut cuts {
            if cut.spots[1].ring < cut.spots[0].ring {
                cut.spots.reverse();
                cut.toward.reverse();
            }
        }
        let at = |cut: &Cut| self.all.at(cut.spots[0]);
        cuts.sort_by(|a, b| {
            let rings = |c: &Cut| (c.spots[0].ring, c.spots[1].ring);
            rings(a).cmp(&rings(b)).then(at(a).x.total_cmp(&at(b).x)).then(at(a).y.total_cmp(&at(b).y))
        });
        let same = |a: &Cut, b: &Cut| {
            let rings = |c: &Cut| (c.spots[0].ring, c.spots[1].ring);
            rings(a) == rings(b) && at(a).distance(at(b)) < 10.0 * TOUCH
        };
        cuts.dedup_by(|b, a| same(a, b));
        cuts
    }
}

/// Where the wood lies thick on either side: the walk over all outlines but the
/// panel's edge.
pub(crate) fn wood(site: &Site<'_>, cap: f64) -> Medial {
    Medial::new(&site.all, crate::geom::ball::Side::Right, cap, |ring| ring != EDGE)
}

/// The point at the middle of a cut.
pub(crate) fn middle(feet: [Point; 2]) -> Point {
    feet[0].midpoint(feet[1])
}
