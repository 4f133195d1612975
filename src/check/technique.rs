//! How a bend too tight to follow can still be sawn.
//!
//! Each way is tested by the room the waste has at the bend, looked at along
//! the bend's middle line from the outline into the waste: how far in, how
//! large a disc of waste.
//!
//! * *Slow* – the blade still follows with its back rubbing
//!   ([`Pass::Scraping`]).
//! * *Come in twice* – saw to the point, back out, turn where the waste has
//!   room to swing, and come in along the other line (as sawyers describe it). To
//!   the end of a slot both lines run the same way, and the hole is room enough.
//! * *Swing in waste* – saw past a tip of wood, loop in the waste and come back
//!   on the other line; the loop needs [`Blade::loop_room`].
//! * *Spin* – turn on the spot; sweeps a disc of [`Blade::spin_diameter`].
//! * *Corner hole* – a drilled hole makes the bend.
//! * *None* – the bend comes out rounder than drawn.

use super::options::Options;
use super::site::Site;
use super::turns::Found;
use super::{Technique, TurnKind};
use crate::diag::Severity;
use crate::geom::ball::Side;
use crate::geom::bend::Bend;
use crate::trade::blades::{Blade, BladeKind, Pass};

/// How much room there is at a bend.
#[derive(Clone, Debug, Default)]
pub(crate) struct Corner {
    /// Distances from the outline along the middle line, and the clear radius
    /// there, mm; growing distances.
    room: Vec<(f64, f64)>,
    /// Half the angle of the waste at a point of it, radians.
    half_angle: f64,
}

/// Room is looked for this far into the waste, mm: farther than any blade of a
/// scroll saw is wide, near enough for the sawyer to back out to.
const REACH: f64 = 25.0;
/// No disc larger than this, mm, is needed by any blade or drill.
const LARGEST: f64 = 6.0;
/// Room to spin must be this near, in spin diameters, to serve the corner. Ours: the
/// sawyer backs out as far without losing the line.
const SPIN_REACH: f64 = 3.0;
/// A point of waste the kerf cannot enter stays blunt; more than this many line
/// tolerances of it cannot be called done. Ours.
const BLUNT: f64 = 4.0;

impl Corner {
    pub(crate) fn look(site: &Site<'_>, bend: &Bend, side: Side, angle: f64) -> Self {
        let start = site.all.point(bend.sample);
        let into_waste = if side == Side::Left { bend.normal } else { -bend.normal };
        let mut room = Vec::new();
        let (mut distance, mut step, mut clear) = (0.1, 0.1, 0.0);
        while distance < REACH {
            let center = start + into_waste * distance;
            // The room grows by no more than the way gone.
            let reach = LARGEST.min((clear + step) * (1.0 + 1e-9));
            clear = site.all.nearest(center, reach, |_| false).map_or(reach, |(_, _, d)| d);
            room.push((distance, clear));
            if clear >= LARGEST || (clear < 0.05 && distance > 0.5) {
                break;
            }
            // Within the clear disc nothing ends; beyond it the outline may.
            step = (clear * 0.5).max(0.05 * distance).max(0.05);
            distance += step;
        }
        Self { room, half_angle: ((std::f64::consts::PI - angle) / 2.0).max(0.0) }
    }

    /// Whether a disc of `radius` fits within `reach` of the outline.
    fn holds(&self, radius: f64, reach: f64) -> bool {
        self.room.iter().any(|&(distance, clear)| distance <= reach && clear >= radius)
    }

    /// How much of a point of waste a kerf of width `kerf` leaves standing, mm.
    fn left_blunt(&self, kerf: f64) -> f64 {
        kerf / 2.0 * (1.0 / libm::sin(self.half_angle).max(1e-3) - 1.0)
    }
}

/// The way to saw `found` with `blade`, and how bad that is.
pub(crate) fn technique(found: &Found, blade: &Blade, options: &Options) -> (Technique, Severity) {
    if blade.kind == BladeKind::Spiral {
        // Only the kerf's own roundness is in the way, and only inside.
        return (Technique::None, Severity::Care);
    }
    let kerf = blade.kerf.get();
    if !found.is_narrower_than(kerf) && found.path_radius(kerf) >= blade.tightest(Pass::Scraping).get() {
        return (Technique::Slow, Severity::Note);
    }
    let way = match found.kind {
        TurnKind::OutsideCorner => outside(found, blade),
        TurnKind::InsideCorner => inside(found, blade, options),
        TurnKind::Curve => curve(found, blade, options),
    };
    match way {
        Some(way) => (way, Severity::Care),
        None if found.kind == TurnKind::InsideCorner || is_blunted(found, options) => (Technique::None, Severity::Care),
        None => (Technique::None, Severity::Stop),
    }
}

/// Whether the bend is a corner of the opening with its point off: it lies no
/// farther from where its two lines meet than a corner may stay blunt. Derived:
/// an arc of radius r that turns by θ lies `r·(1/cos(θ/2) − 1)` from there.
fn is_blunted(found: &Found, options: &Options) -> bool {
    let off = found.bend.radius * (1.0 / libm::cos(found.angle / 2.0).max(1e-3) - 1.0);
    found.side == Side::Left && off <= BLUNT * options.line_tolerance.get()
}

fn spins(found: &Found, blade: &Blade) -> bool {
    let spin = blade.spin_diameter().get();
    found.corner.holds(spin / 2.0, SPIN_REACH * spin)
}

fn swings(found: &Found, blade: &Blade) -> bool {
    found.corner.holds(blade.loop_room().get() / 2.0, REACH)
}

fn outside(found: &Found, blade: &Blade) -> Option<Technique> {
    let near = found.corner.holds(blade.loop_room().get() / 2.0, 2.0 * blade.loop_room().get());
    if near {
        Some(Technique::SwingInWaste)
    } else if swings(found, blade) {
        Some(Technique::ComeInTwice)
    } else {
        spins(found, blade).then_some(Technique::Spin)
    }
}

fn inside(found: &Found, blade: &Blade, options: &Options) -> Option<Technique> {
    if found.corner.left_blunt(blade.kerf.get()) > BLUNT * options.line_tolerance.get() {
        return None;
    }
    if swings(found, blade) {
        Some(Technique::ComeInTwice)
    } else if spins(found, blade) {
        Some(Technique::Spin)
    } else {
        drills(found, options).then_some(Technique::CornerHole)
    }
}

fn curve(found: &Found, blade: &Blade, options: &Options) -> Option<Technique> {
    if spins(found, blade) {
        Some(Technique::Spin)
    } else if drills(found, options) {
        Some(Technique::CornerHole)
    } else {
        (swings(found, blade) || ends_a_slot(found, blade, options)).then_some(Technique::ComeInTwice)
    }
}

/// Least turn at the end of a slot, radians (140°). Ours: a round end whose sides run
/// even was measured as 148° to 162°, on the mended moth and in a test.
const SLOT_END: f64 = 2.44;

/// Whether the bend is the round end of a slot the kerf fits in: both its lines
/// run toward the end, so each is sawn down to it from the entry hole. Derived:
/// the blade is turned between them by what the bend lacks of a half turn, 40° at
/// most, and it turns freely in the hole it was threaded through. A slot may be so much
/// narrower than the kerf as the lines may be left by, as in [`super::slots`].
fn ends_a_slot(found: &Found, blade: &Blade, options: &Options) -> bool {
    let least = blade.kerf.get() - 2.0 * options.line_tolerance.get();
    found.side == Side::Left && found.angle >= SLOT_END && !found.is_narrower_than(least)
}

/// Whether the smallest drill fits in the bend without leaving the line.
fn drills(found: &Found, options: &Options) -> bool {
    let smallest = options.smallest_drill.map_or(f64::INFINITY, |d| d.get());
    found.side == Side::Left && smallest / 2.0 <= found.bend.radius && found.corner.holds(smallest / 2.0, REACH)
}
