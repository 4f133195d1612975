//! How much of a face can go wrong, as one figure with its make-up.
//!
//! The figure is a sum of points, so that every part of it can be shown; one
//! point is the trouble of a metre of easy line. Everything else is weighed
//! against that, and every weight is **our own, no source**: they order faces
//! by how a sawyer would, and say nothing of minutes (those are reckoned apart)
//! or of faults (an island is to be mended, not to be sawn with skill).
//!
//! | part | points | why |
//! |---|---|---|
//! | line | 1 a metre | steady hands for a metre |
//! | starts | 0.25 an entry hole | drilled, threaded and set off without marring the line |
//! | turns | by technique, [`turn`] | each asks for a move of its own |
//! | wood | 2 × (1 − width ÷ needed) a bridge | how near the wood is to snapping while the rest is sawn |
//! | slots | 0.5 a slot | the blade touches both sides |

use serde::{Deserialize, Serialize};

use crate::check::{Checks, Technique};
use crate::diag::round3;

/// The make-up in a sentence, for sheets and pages.
pub const EXPLAINED: &str = "Difficulty is a sum of points for what can go wrong: 1 for each metre of line, \
0.25 for each entry hole, 0.05 to 0.5 for each tight turn (slow 0.05, swing in the waste 0.1, spin 0.15, come in twice \
or a corner hole 0.25, no way round 0.5), up to 2 for each weak bridge (2 x the part of its needed width it lacks), \
0.5 for each slot narrower than the kerf. Under 5 is easy, under 12 moderate, under 25 hard, above it very hard. \
The weights and steps are our own, no source.";

/// Names of the parts, in the order of [`Difficulty::parts`].
pub const PART_NAMES: [&str; 5] = ["line", "starts", "turns", "wood", "slots"];

/// A metre in millimetres: a point of line.
const METRE: f64 = 1000.0;
/// Points for an entry hole: our own, no source.
const START: f64 = 0.25;
/// Points for a bridge with no wood at all: our own, no source.
const BRIDGE: f64 = 2.0;
/// Points for a slot narrower than the kerf: our own, no source.
const SLOT: f64 = 0.5;

/// Difficulty by its parts, in points.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Difficulty {
    /// For the length of line.
    pub line: f64,
    /// For entry holes.
    pub starts: f64,
    /// For tight turns.
    pub turns: f64,
    /// For weak bridges.
    pub wood: f64,
    /// For narrow slots.
    pub slots: f64,
}

impl Difficulty {
    /// The difficulty of sawing `length_mm` of line from `holes` entry holes,
    /// with what the checks found on the way.
    #[must_use]
    pub fn of(length_mm: f64, holes: usize, checks: &Checks) -> Self {
        let lacking = |width: f64, needed: f64| (1.0 - width / needed.max(1e-9)).clamp(0.0, 1.0);
        Self {
            line: round3(length_mm / METRE),
            starts: round3(START * holes as f64),
            turns: round3(checks.turns.iter().map(|t| turn(t.technique)).sum()),
            wood: round3(checks.bridges.iter().map(|b| BRIDGE * lacking(b.width, b.needed)).sum()),
            slots: round3(SLOT * checks.slots.len() as f64),
        }
    }

    /// The parts, named by [`PART_NAMES`].
    #[must_use]
    pub const fn parts(&self) -> [f64; 5] {
        [self.line, self.starts, self.turns, self.wood, self.slots]
    }

    /// All points together.
    #[must_use]
    pub fn total(&self) -> f64 {
        round3(self.parts().iter().sum())
    }

    /// The figure in a word. The steps are our own, no source: of a thousand
    /// silhouettes drawn for screens a little under half are easy.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self.total() {
            t if t < 5.0 => "easy",
            t if t < 12.0 => "moderate",
            t if t < 25.0 => "hard",
            _ => "very hard",
        }
    }
}

/// Points for a tight turn, by the way it is done: our own, no source.
const fn turn(technique: Technique) -> f64 {
    match technique {
        Technique::Slow => 0.05,
        Technique::SwingInWaste => 0.1,
        Technique::Spin => 0.15,
        Technique::ComeInTwice | Technique::CornerHole => 0.25,
        Technique::None => 0.5,
    }
}
