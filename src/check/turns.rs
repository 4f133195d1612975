//! Bends too tight for the blade.
//!
//! The blade's centre runs half a kerf inside the waste. Where an outline bends
//! round the waste (an inside bend) the path's radius is half a kerf less than
//! the outline's, where it bends round the wood half a kerf more; both
//! radii are effective ones, within the line tolerance (see
//! [`crate::geom::bend`]). So gentle kinks and joints between curves raise
//! nothing, however sharp they are on paper.
//!
//! Bends are sought for the stiffest blade of the drawer, so that every blade
//! can be judged on the same list.

use kurbo::Point;

use super::options::Options;
use super::site::{EDGE, Site};
use super::technique::{Corner, technique};
use super::{Turn, TurnKind};
use crate::geom::ball::Side;
use crate::geom::bend::Bend;
use crate::trade::blades::{Blade, Pass};

/// A bend of an outline.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) bend: Bend,
    pub(crate) side: Side,
    pub(crate) kind: TurnKind,
    /// Angle turned through, radians.
    pub(crate) angle: f64,
    pub(crate) cutout: u32,
    pub(crate) at: Point,
    pub(crate) corner: Corner,
}

impl Found {
    /// Radius of the blade's path round this bend, mm; none is less than zero.
    pub(crate) fn path_radius(&self, kerf: f64) -> f64 {
        let shift = if self.side == Side::Left { -kerf / 2.0 } else { kerf / 2.0 };
        (self.bend.radius + shift).max(0.0)
    }

    /// Whether the kerf is too wide to go round at all, spiral blades too.
    pub(crate) fn is_narrower_than(&self, kerf: f64) -> bool {
        self.side == Side::Left && self.bend.radius < kerf / 2.0
    }

    /// Whether `blade` cannot follow it, turned slowly.
    pub(crate) fn is_too_tight_for(&self, blade: &Blade) -> bool {
        let kerf = blade.kerf.get();
        self.is_narrower_than(kerf) || self.path_radius(kerf) < blade.tightest(Pass::Slow).get()
    }
}

/// Two places of one bend are one turn unless between them the outline is
/// clearly less bent: by this factor in effective radius.
const APART: f64 = 1.5;
/// An outline with an effective radius under this part of the line tolerance
/// when looked at sharply is a corner, not a curve: nobody draws a curve that
/// vanishes in a pencil line.
const SHARP: f64 = 1.0;
/// The fraction of the line tolerance taken for looking sharply.
const SHARPLY: f64 = 0.1;
/// Turns of less than this, radians (12°), are kinks within the tolerance.
const LEAST_TURN: f64 = 0.2;

/// Every bend some blade of the drawer cannot follow turned slowly.
pub(crate) fn bends(site: &Site<'_>, options: &Options) -> Vec<Found> {
    let blades = || options.drawer.iter().chain([&options.blade]);
    let cap = |half_kerf: f64| {
        let needs = |b: &Blade| (b.tightest(Pass::Slow) + b.kerf * half_kerf).get();
        blades().map(needs).fold(0.0, f64::max)
    };
    let inside = cap(0.5).max(blades().map(|b| b.kerf.get() / 2.0).fold(0.0, f64::max));
    let caps = [(Side::Left, inside), (Side::Right, cap(-0.5))];
    let mut found = Vec::new();
    for ring in (0..site.all.rings().len() as u32).filter(|&ring| ring != EDGE) {
        for (side, cap) in caps {
            if cap > 0.0 {
                found.extend(on_ring(site, ring, side, cap, options));
            }
        }
    }
    found
}

fn on_ring(site: &Site<'_>, ring: u32, side: Side, cap: f64, options: &Options) -> Vec<Found> {
    let tolerance = options.line_tolerance.get();
    let samples = site.all.samples(ring);
    let bends: Vec<Option<Bend>> = samples.map(|i| site.all.bend_at(i, side, tolerance, cap)).collect();
    let sharpest = tightest(&bends);
    let found = |i: usize| bends[i].map(|bend| describe(site, bend, side, tolerance));
    sharpest.into_iter().filter_map(found).filter(|f| f.angle > LEAST_TURN).collect()
}

/// The tightest place of every bend: least effective radii round the ring,
/// put together where the outline between is not clearly less bent. Of an arc
/// of even radius, its middle.
fn tightest(bends: &[Option<Bend>]) -> Vec<usize> {
    let count = bends.len();
    // Start at a straight place, so that no bend is split at the ring's start.
    let start = bends.iter().position(Option::is_none).unwrap_or(0);
    let radius = |k: usize| bends[(start + k) % count].map(|b| b.radius);
    let mut turns: Vec<Run> = Vec::new();
    let mut open = false;
    for k in 0..count {
        let Some(radius) = radius(k) else {
            open = false;
            continue;
        };
        match turns.last_mut().filter(|_| open) {
            Some(run) if run.parts_from(radius) => turns.push(Run::new(k, radius)),
            Some(run) => run.add(k, radius),
            None => turns.push(Run::new(k, radius)),
        }
        open = true;
    }
    turns.iter().map(|run| (start + run.middle()) % count).collect()
}

/// A stretch of bent outline round one tightest place.
struct Run {
    least: f64,
    /// First and last place nearly as tight as the tightest.
    tight: [usize; 2],
    /// Widest since the tightest.
    highest: f64,
}

impl Run {
    fn new(at: usize, radius: f64) -> Self {
        Self { least: radius, tight: [at, at], highest: radius }
    }

    /// Places within this factor of the tightest belong to its middle.
    const EVEN: f64 = 1.03;

    fn add(&mut self, at: usize, radius: f64) {
        if radius < self.least {
            let even = radius * Self::EVEN >= self.least;
            self.tight = [if even { self.tight[0] } else { at }, at];
            self.least = radius;
            self.highest = radius;
        } else {
            if radius <= self.least * Self::EVEN && self.highest <= self.least * Self::EVEN {
                self.tight[1] = at;
            }
            self.highest = self.highest.max(radius);
        }
    }

    /// Whether the outline has opened out clearly since the tightest place and
    /// now closes again clearly: another bend begins.
    fn parts_from(&self, radius: f64) -> bool {
        self.highest > APART * self.least && radius * APART < self.highest
    }

    const fn middle(&self) -> usize {
        usize::midpoint(self.tight[0], self.tight[1])
    }
}

fn describe(site: &Site<'_>, bend: Bend, side: Side, tolerance: f64) -> Found {
    let angle = site.all.turned_at(&bend, side);
    let sharply = site.all.bend_at(bend.sample, side, tolerance * SHARPLY, tolerance * SHARP);
    let kind = match (sharply, side) {
        (None, _) => TurnKind::Curve,
        (Some(_), Side::Left) => TurnKind::InsideCorner,
        (Some(_), Side::Right) => TurnKind::OutsideCorner,
    };
    let ring = site.all.ring_of(bend.sample);
    let at = site.all.point(bend.sample);
    let corner = Corner::look(site, &bend, side, angle);
    Found { bend, side, kind, angle, cutout: site.cutout(ring).unwrap_or(0), at, corner }
}

/// The turns the chosen blade cannot follow slowly, hardest first.
pub(crate) fn turns(found: &[Found], options: &Options) -> Vec<Turn> {
    let blade = &options.blade;
    let mut turns: Vec<Turn> = found.iter().filter(|f| f.is_too_tight_for(blade)).map(|f| turn(f, options)).collect();
    turns.sort_by(|a, b| {
        let hardest = b.severity.cmp(&a.severity).then(b.technique.cmp(&a.technique));
        let tightest = hardest.then(a.radius.total_cmp(&b.radius)).then(b.angle_deg.total_cmp(&a.angle_deg));
        tightest.then(b.at.y.total_cmp(&a.at.y)).then(a.at.x.total_cmp(&b.at.x))
    });
    for (id, turn) in (1..).zip(&mut turns) {
        turn.id = id;
    }
    turns
}

fn turn(found: &Found, options: &Options) -> Turn {
    let blade = &options.blade;
    let (technique, severity) = technique(found, blade, options);
    Turn {
        id: 0,
        cutout: found.cutout,
        at: found.at,
        kind: found.kind,
        radius: found.path_radius(blade.kerf.get()),
        limit: blade.tightest(Pass::Slow).get(),
        angle_deg: found.angle.to_degrees(),
        technique,
        severity,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    fn bend(radius: f64) -> Option<Bend> {
        (radius > 0.0).then_some(Bend { sample: 0, radius, center: Point::ORIGIN, normal: Vec2::ZERO })
    }

    #[test]
    fn dips_are_turns_and_plateaus_have_a_middle() {
        let row = |radii: &[f64]| tightest(&radii.iter().map(|&r| bend(r)).collect::<Vec<_>>());
        assert_eq!(row(&[0.0, 3.0, 2.0, 3.0, 0.0, 0.0]), [2], "one dip");
        assert_eq!(row(&[0.0, 3.0, 1.0, 3.0, 1.2, 3.0, 0.0]), [2, 4], "two dips");
        assert_eq!(row(&[0.0, 1.0, 1.2, 1.1, 0.9, 1.3, 0.0]), [4], "ripples are one");
        assert_eq!(row(&[0.0, 2.0, 1.0, 1.0, 1.0, 1.0, 1.0, 2.0]), [4], "the middle of an even arc");
        assert_eq!(row(&[1.0, 2.0, 0.0, 2.0]), [0], "round the start");
        assert_eq!(row(&[1.0, 1.0, 1.0, 1.0]).len(), 1, "a whole small circle");
        assert!(row(&[0.0; 5]).is_empty(), "straight");
    }
}
