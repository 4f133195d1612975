//! The checks: what would fall out, snap, refuse to turn or never be reached.
//!
//! Every check reads a [`crate::face::Face`] and returns plain measurements; the findings
//! (words for people) are made from them, so that the drawing, the report and
//! the mending all read the same figures.

mod bridges;
mod findings;
mod held;
mod islands;
mod options;
mod site;
mod slots;
mod technique;
mod throat;
mod turns;
mod verdicts;

pub(crate) use bridges::{LONGEST, ROOT};
pub use findings::findings;
pub use options::{LINE_TOLERANCE, Options, THROAT};
pub(crate) use site::TOUCH;

use kurbo::Point;

use crate::diag::Severity;
use crate::face::{Face, Numbers};

use site::Site;

/// One side of a bridge: what the wood there is bounded by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Bank {
    /// The panel's own edge.
    Edge,
    /// The outer boundary of a cut-out, by its number.
    CutOut(u32),
    /// The boundary of an island, by its number; the wood is the island's own.
    Island(u32),
}

/// Wood that falls out when the cut-out around it is sawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Island {
    /// Number from 1.
    pub id: u32,
    /// The cut-out that surrounds it, by number. More than one where cut-outs
    /// that touch at points ring the island together.
    pub within: Vec<u32>,
    /// Area of the wood, mm² (openings inside it taken off).
    pub area: f64,
    /// A point well inside its wood.
    pub at: Point,
    /// The island it would hang from once bridged outward: `None` when only the
    /// cut-out lies between it and the panel.
    pub inside_island: Option<u32>,
}

/// A narrow place in the wood.
#[derive(Clone, Debug, PartialEq)]
pub struct Bridge {
    /// Number from 1, worst first.
    pub id: u32,
    /// Least width, mm, exact to 0.01 mm; 0 for openings that touch.
    pub width: f64,
    /// The two ends of the narrowest line across it.
    pub feet: [Point; 2],
    /// What bounds it on either side.
    pub between: [Bank; 2],
    /// Angle between the bridge's own direction (square to the line across it)
    /// and the grain, degrees, 0 along to 90 across.
    pub grain_deg: f64,
    /// Length over which the wood is narrower than needed, mm.
    pub stretch: f64,
    /// Free length used for the strength rule, mm.
    pub free_length: f64,
    /// Width needed here, mm.
    pub needed: f64,
    /// Width under which it stops the work, mm.
    pub stop_width: f64,
    /// How the needed width came about, one line a step.
    pub derivation: Vec<String>,
    /// Area of wood that would come loose if it broke, mm²; 0 when the wood on
    /// both sides stays held.
    pub loose_area: f64,
    /// The point of that wood farthest from it, where a push bears most.
    pub tip: Option<Point>,
    /// How bad.
    pub severity: Severity,
}

impl Bridge {
    /// From its middle to the farthest point of the wood that hangs on it alone, mm; 0
    /// when both sides stay held.
    #[must_use]
    pub fn reach(&self) -> f64 {
        self.tip.map_or(0.0, |tip| tip.distance(self.feet[0].midpoint(self.feet[1])))
    }
}

/// What kind of bend a turn is, seen from the opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TurnKind {
    /// A curve tighter than the blade follows.
    Curve,
    /// A sharp point of the opening.
    InsideCorner,
    /// A tip of wood.
    OutsideCorner,
}

/// How a turn too tight to follow can still be sawn; found by geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Technique {
    /// Slow down; the blade follows, scraping a little.
    Slow,
    /// Swing round in the waste outside the corner and come back on the line.
    SwingInWaste,
    /// Back out and come in from the other side.
    ComeInTwice,
    /// Spin on the spot where the waste has room for the blade's diagonal.
    Spin,
    /// Drill a small hole in the corner.
    CornerHole,
    /// Nothing fits; the corner will be rounded.
    None,
}

/// A place where the blade's path bends tighter than the blade follows.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// Number from 1, hardest first.
    pub id: u32,
    /// The cut-out it belongs to.
    pub cutout: u32,
    /// Where on the outline.
    pub at: Point,
    /// Curve or corner.
    pub kind: TurnKind,
    /// Radius the blade's path has within the line tolerance, mm.
    pub radius: f64,
    /// Radius the blade follows when turned slowly, mm.
    pub limit: f64,
    /// Change of direction over the turn, degrees.
    pub angle_deg: f64,
    /// How it can be done.
    pub technique: Technique,
    /// How bad.
    pub severity: Severity,
}

/// A stretch of a cut-out narrower than the kerf.
#[derive(Clone, Debug, PartialEq)]
pub struct Slot {
    /// Number from 1, narrowest first.
    pub id: u32,
    /// The cut-out.
    pub cutout: u32,
    /// The narrowest place.
    pub at: Point,
    /// Least width of the opening there, mm.
    pub width: f64,
    /// Width the blade needs, mm.
    pub needed: f64,
    /// How bad.
    pub severity: Severity,
}

/// The farthest swing past the saw's arm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throat {
    /// Farthest distance from a cut to a panel corner that must swing, mm.
    pub reach: f64,
    /// The cut's end of it.
    pub from: Point,
    /// The panel corner.
    pub corner: Point,
    /// The saw's throat depth, mm.
    pub depth: f64,
    /// Whether the blade needs the panel rotated (flat blades do).
    pub rotates: bool,
}

/// A blade of the drawer judged on this face.
#[derive(Clone, Debug, PartialEq)]
pub struct BladeVerdict {
    /// The blade's name, like `flat-5`.
    pub blade: String,
    /// Turns it cannot follow even slowly.
    pub tight_turns: u32,
    /// Slots too narrow for it.
    pub narrow_slots: u32,
    /// Whether it does the whole face without `stop`.
    pub does_it: bool,
}

/// Everything the checks measured.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Checks {
    /// Wood that falls out.
    pub islands: Vec<Island>,
    /// Narrow places below what is needed, worst first.
    pub bridges: Vec<Bridge>,
    /// Turns the blade does not follow, hardest first.
    pub turns: Vec<Turn>,
    /// Slots narrower than the kerf.
    pub slots: Vec<Slot>,
    /// The saw's reach.
    pub throat: Option<Throat>,
    /// Every blade of the drawer on this face, best first.
    pub blades: Vec<BladeVerdict>,
}

impl Checks {
    /// The same, cut-outs called by their new numbers.
    #[must_use]
    pub fn renumbered(mut self, numbers: &Numbers) -> Self {
        let anew = |id: &mut u32| *id = numbers.of(*id);
        for island in &mut self.islands {
            island.within.iter_mut().for_each(anew);
            island.within.sort_unstable();
        }
        for bank in self.bridges.iter_mut().flat_map(|bridge| &mut bridge.between) {
            if let Bank::CutOut(id) = bank {
                anew(id);
            }
        }
        self.turns.iter_mut().for_each(|turn| anew(&mut turn.cutout));
        self.slots.iter_mut().for_each(|slot| anew(&mut slot.cutout));
        self
    }
}

/// Checks `face`.
#[must_use]
pub fn run(face: &Face, options: &Options) -> Checks {
    let site = Site::new(face);
    let of_wood = || {
        let wood = bridges::Wood::new(&site, options);
        let islands = islands::islands(&site, &wood.parts, &wood.medial);
        let bridges = bridges::bridges(&site, &wood, &islands, options);
        (islands.found, bridges)
    };
    let of_cuts = || (turns::bends(&site, options), slots::narrow(&site, options));
    let ((islands, bridges), (bends, narrow)) = both(site.all.len() > WORTH_A_THREAD, of_wood, of_cuts);
    Checks {
        islands,
        bridges,
        turns: turns::turns(&bends, options),
        slots: slots::slots(&narrow, options),
        throat: throat::throat(&site, options),
        blades: verdicts::verdicts(&bends, &narrow, face.panel.thickness, options),
    }
}

/// Samples along the outlines from which on a second thread saves more time
/// than starting it takes. Ours: a start costs some 0.05 ms (assumption), 400
/// samples about a millisecond of checks.
const WORTH_A_THREAD: u32 = 400;

/// What `a` and `b` make, side by side where `apart` says so.
pub(crate) fn both<A, B: Send>(apart: bool, a: impl FnOnce() -> A, b: impl FnOnce() -> B + Send) -> (A, B) {
    if !apart {
        return (a(), b());
    }
    std::thread::scope(|scope| {
        let other = scope.spawn(b);
        let made = a();
        (made, other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;
