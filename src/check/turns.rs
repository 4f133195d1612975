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

/// An outline with an effective radius under this part of the line tolerance
/// when looked at sharply is a corner, not a curve: nobody draws a curve that
/// vanishes in a pencil line.
const SHARP: f64 = 1.0;
/// The fraction of the line tolerance taken for looking sharply.
const SHARPLY: f64 = 0.1;
/// Turns of less than this, radians (12°), are kinks within the tolerance. Ours.
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
    let bends = site.all.bends(ring, side, tolerance, cap);
    bends.into_iter().map(|bend| describe(site, bend, side, tolerance)).filter(|f| f.angle > LEAST_TURN).collect()
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
