//! The outline of a bridge: straight sides that run out into the wood in small
//! concave flares, so that no sharp notch starts a crack.

use kurbo::{BezPath, Point, Vec2};

use crate::geom::Region;
use crate::geom::boolean::{Rule, resolve};

use super::candidates::Candidate;
use super::wood::{Bound, Wood};

/// How far the shape reaches into the wood it joins, mm; the part in the wood
/// changes nothing, it keeps the two outlines from running along each other.
const OVERLAP: f64 = 0.25;
/// Arm over which the outline's direction is taken, mm.
const ARM: f64 = 0.15;
/// No flare where the opening is blunter than this between side and outline.
const BLUNT: f64 = 2.7;
/// Flares shorter than this are left away, mm.
const LEAST_FLARE: f64 = 0.15;
/// A bend of the outline that ends a flare, radians.
const CORNER: f64 = 0.5;
/// Lines from the middle to each side.
const LINES: u32 = 4;

/// The wood to give back for a bridge of `width` with flares of radius
/// `fillet`. `None` when its sides do not end on its two pieces of wood.
#[must_use]
pub fn strip(wood: &Wood, candidate: &Candidate, width: f64, fillet: f64) -> Option<Region> {
    let [a, b] = candidate.feet.map(|foot| foot.at);
    let along = (b - a).normalize();
    let left = side(wood, candidate, along, width / 2.0)?;
    let right = side(wood, candidate, along, -width / 2.0)?;
    let shorter = left.length().min(right.length());
    let flare = Flare { radius: fillet, most: 0.48 * shorter };
    let near = End { bound: &wood.rings[left.rings[0]], back: right.places[0], ahead: left.places[0], out: along };
    let far = End { bound: &wood.rings[left.rings[1]], back: left.places[1], ahead: right.places[1], out: -along };
    if left.rings != right.rings {
        return None;
    }
    let mut path = BezPath::new();
    near.draw(wood, &flare, width, &mut path)?;
    far.draw(wood, &flare, width, &mut path)?;
    path.close_path();
    Some(resolve(&path, Rule::NonZero))
}

/// One side of the strip: where it leaves each piece of wood.
struct Side {
    ends: [Point; 2],
    rings: [usize; 2],
    places: [f64; 2],
}

impl Side {
    fn length(&self) -> f64 {
        self.ends[0].distance(self.ends[1])
    }
}

/// Walks from the middle line out to `offset` (left positive), following the
/// gap, and returns where the line there ends.
fn side(wood: &Wood, candidate: &Candidate, along: Vec2, offset: f64) -> Option<Side> {
    let across = Vec2::new(-along.y, along.x);
    let mut from = candidate.feet[0].at.midpoint(candidate.feet[1].at);
    let mut side = None;
    for _ in 0..LINES {
        from += across * (offset / f64::from(LINES));
        let (back, ahead) = (wood.cast(from, -along, 400.0)?, wood.cast(from, along, 400.0)?);
        from = back.at.midpoint(ahead.at);
        let place = |hit: &super::grid::Hit| wood.rings[hit.ring].place(hit.index, hit.at);
        let places = [place(&back), place(&ahead)];
        side = Some(Side { ends: [back.at, ahead.at], rings: [back.ring, ahead.ring], places });
    }
    side
}

/// How flares are drawn.
struct Flare {
    radius: f64,
    most: f64,
}

/// Where the strip joins one piece of wood: from place `back` forward along the
/// boundary to place `ahead`; `out` points along the strip into the opening.
struct End<'a> {
    bound: &'a Bound,
    back: f64,
    ahead: f64,
    out: Vec2,
}

impl End<'_> {
    /// Adds the end to the outline: in along one flare, through the wood, out
    /// along the other.
    fn draw(&self, wood: &Wood, flare: &Flare, width: f64, path: &mut BezPath) -> Option<()> {
        let length = self.bound.length();
        let span = (self.ahead - self.back).rem_euclid(length);
        if span > length / 2.0 && span > 4.0 * width {
            return None;
        }
        let middle = self.bound.at(self.back + span / 2.0);
        let inset = OVERLAP.min(0.3 * wood.depth(middle, -self.out, 1.0));
        let (back, ahead) = (self.corner(self.back, -1.0, flare), self.corner(self.ahead, 1.0, flare));
        if path.elements().is_empty() {
            path.move_to(back.on_side);
        } else {
            path.line_to(back.on_side);
        }
        let inward = |s: f64| self.bound.at(s) - self.bound.outward(s, ARM) * inset;
        path.curve_to(back.handles[0], back.handles[1], back.on_outline);
        path.line_to(inward(back.place));
        for s in self.bound.between(back.place, ahead.place) {
            path.line_to(inward(s));
        }
        path.line_to(inward(ahead.place));
        path.line_to(ahead.on_outline);
        path.curve_to(ahead.handles[1], ahead.handles[0], ahead.on_side);
        Some(())
    }

    /// The flare at place `s`, walking away from the strip in direction `sign`.
    fn corner(&self, s: f64, sign: f64, flare: &Flare) -> Corner {
        let bound = self.bound;
        let at = bound.at(s);
        let away = (bound.at(s + sign * flare.radius.min(1.0)) - at).normalize();
        let angle = away.dot(self.out).clamp(-1.0, 1.0).acos();
        let turn = std::f64::consts::PI - angle;
        let wanted = (flare.radius * (turn / 2.0).tan()).min(flare.most).min(1.5 * flare.radius);
        let reach = self.free_run(s, sign, wanted);
        if angle > BLUNT || reach < LEAST_FLARE {
            return Corner { on_side: at, handles: [at, at], on_outline: at, place: s };
        }
        let place = s + sign * reach;
        let on_side = at + self.out * reach;
        let outline = bound.at(place);
        let inward = bound.outward(place, ARM) * -0.01;
        let on_outline = outline + inward;
        let back = bound.tangent(place, ARM) * -sign;
        let handle = reach * (4.0 / 3.0) * (turn / 4.0).tan() / (turn / 2.0).tan();
        Corner { on_side, handles: [on_side - self.out * handle, on_outline + back * handle], on_outline, place }
    }

    /// How far the outline runs on without a corner, up to `wanted`.
    fn free_run(&self, s: f64, sign: f64, wanted: f64) -> f64 {
        let steps = 8;
        let bend = |i: i32| self.bound.turn(s + sign * wanted * f64::from(i) / f64::from(steps), 2.0 * ARM).abs();
        match (2..=steps + 2).find(|&i| bend(i) > CORNER) {
            Some(i) => wanted * f64::from((i - 2).min(steps)) / f64::from(steps),
            None => wanted,
        }
    }
}

/// A flare: from the strip's side to the outline.
struct Corner {
    on_side: Point,
    handles: [Point; 2],
    on_outline: Point,
    place: f64,
}
