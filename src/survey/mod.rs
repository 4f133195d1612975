//! A drawer full of faces at once: each judged for the shop's panel, wood and
//! blades, small enough to remember and to show by the thousand.
//!
//! ```text
//! Outcome → measure → Found ┐
//! Error   → Refused         ┴→ Row → doubles → choose → Survey → contact (sheets)
//! ```
//!
//! Plain data: nothing here reads files or calls another stage.

mod alike;
pub mod choose;
pub mod contact;
mod difficulty;
pub mod doubles;
mod measure;
pub mod memory;
mod outline;
pub mod parallel;
pub mod words;

#[cfg(test)]
mod tests;

pub use choose::{Only, Sort};
pub use difficulty::{Difficulty, EXPLAINED, PART_NAMES};
pub use doubles::{Double, How};
pub use measure::{judged, measured, mended};
pub use outline::{Loop, Outline};

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::check::{Technique, TurnKind};
use crate::diag::{Error, FindingKind, Severity};
use crate::units::{Mm, Unit};

/// A drawer surveyed.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// What the faces were judged for.
    pub setup: Setup,
    /// The faces chosen, in the order asked for.
    pub rows: Vec<Row>,
    /// Faces surveyed, chosen or not.
    pub of: usize,
    /// The choice in words; empty when all are shown.
    pub chosen: String,
    /// Drawings passed over because fretgrin wrote them itself.
    pub passed_over: usize,
}

/// What the faces were judged for.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The unit shown first.
    pub unit: Unit,
    /// Width of the panel.
    pub width: Mm,
    /// Height of the panel.
    pub height: Mm,
    /// Thickness of the stock.
    pub thickness: Mm,
    /// Direction of the grain, degrees anticlockwise from level.
    pub grain_deg: f64,
    /// The wood's name in words.
    pub wood: String,
    /// The blade set up, like `flat-5`.
    pub blade: String,
    /// Whether mending was tried on every face that needs it.
    pub mending: bool,
}

/// One file of the drawer.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Place in the drawer, from 1: folders as named, names in order.
    pub number: u32,
    /// The file's name.
    pub name: String,
    /// The file as found, folder and all.
    pub path: String,
    /// What was found.
    pub found: Found,
    /// The face this one repeats, when it does.
    pub double: Option<Double>,
    /// Name of the mended copy, when one is written.
    pub copy: Option<String>,
}

/// What was found of a file. This is what a survey remembers from one run to the
/// next, so lengths are rounded to the micrometre here and nowhere later.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Found {
    /// A face, measured. Shared, because what is shown is also what is remembered.
    #[serde(with = "shared")]
    Face(Arc<Measured>),
    /// No face could be had from the file.
    Refused(Refused),
}

mod shared {
    use super::{Arc, Measured};
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(face: &Arc<Measured>, to: S) -> Result<S::Ok, S::Error> {
        face.as_ref().serialize(to)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Arc<Measured>, D::Error> {
        Measured::deserialize(from).map(Arc::new)
    }
}

/// Why there is no face.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refused {
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub advice: String,
}

impl From<&Error> for Refused {
    fn from(error: &Error) -> Self {
        Self { what: error.to_string(), advice: error.advice().to_owned() }
    }
}

/// A face in figures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Width of all cut-outs together on the panel, mm.
    pub width_mm: f64,
    /// Height of all cut-outs together, mm.
    pub height_mm: f64,
    /// Panel millimetres for one of the drawing's own.
    pub scale: f64,
    /// How the ink was read: `dark`, `light`, `lines` or `features`.
    pub reading: String,
    /// Openings to saw.
    pub cutouts: u32,
    /// Entry holes to drill.
    pub holes: u32,
    /// Line to saw, mm.
    pub length_mm: f64,
    /// Minutes at the saw and drill.
    pub minutes: f64,
    /// Faults by kind and severity, worst first.
    pub faults: Vec<Fault>,
    /// Findings that stop the work.
    pub stop: u32,
    /// Findings that ask for care.
    pub care: u32,
    /// Findings worth knowing.
    pub note: u32,
    /// The hardest turn; none when the blade follows every one.
    pub hardest: Option<Hardest>,
    /// The drawer's best blade for it, when one does it; the first of the drawer's
    /// ranking otherwise.
    pub blade: Option<String>,
    /// Whether that blade does the whole face.
    pub blade_does_it: bool,
    /// How much in it can go wrong.
    pub difficulty: Difficulty,
    /// The verdict.
    pub verdict: Verdict,
    /// Why, in words.
    pub reason: String,
    /// What mending does, where it was tried.
    pub mended: Option<Mended>,
    /// The cut-outs, coarse.
    pub outline: Outline,
}

/// Faults of one kind and severity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// The kind.
    pub kind: FindingKind,
    /// How bad.
    pub severity: Severity,
    /// How many; tight turns are counted one by one.
    pub count: u32,
}

/// The hardest turn of a face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hardest {
    /// Curve or corner.
    pub kind: TurnKind,
    /// How it can be done.
    pub technique: Technique,
    /// Radius the blade's path has, mm.
    pub radius_mm: f64,
    /// Radius the blade follows, mm.
    pub limit_mm: f64,
    /// Change of direction, degrees.
    pub angle_deg: f64,
    /// Where, from the panel's left edge, mm.
    pub x_mm: f64,
    /// Where, from the panel's bottom edge, mm.
    pub y_mm: f64,
}

/// What mending does to a face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mended {
    /// Edits made.
    pub edits: u32,
    /// Part of the open area changed, 0 to 1.
    pub changed: f64,
    /// The mended face in figures.
    pub after: Box<Measured>,
}

impl Measured {
    /// The face the verdict is about: the mended one where the work is done by
    /// mending it, the one drawn otherwise.
    #[must_use]
    pub fn judged(&self) -> &Self {
        match &self.mended {
            Some(mended) if self.verdict == Verdict::SoundAfterMending => &mended.after,
            _ => self,
        }
    }
}

/// What becomes of a face in this shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Nothing stops it, or nothing would with another blade of the drawer.
    SawAsIs,
    /// Something stopped it; mended, nothing does.
    SoundAfterMending,
    /// Something stops it that mending is for; it was not tried.
    NeedsMending,
    /// Something stops it that mending cannot help, or did not.
    NotForThisPanel,
    /// There is no face in the file.
    NotRead,
}

impl Verdict {
    /// Every verdict, best first.
    pub const ALL: [Self; 5] =
        [Self::SawAsIs, Self::SoundAfterMending, Self::NeedsMending, Self::NotForThisPanel, Self::NotRead];

    /// The stable name: `saw-as-is` …
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SawAsIs => "saw-as-is",
            Self::SoundAfterMending => "sound-after-mending",
            Self::NeedsMending => "needs-mending",
            Self::NotForThisPanel => "not-for-this-panel",
            Self::NotRead => "not-read",
        }
    }

    /// The words shown.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::SawAsIs => "saw as is",
            Self::SoundAfterMending => "sound after mending",
            Self::NeedsMending => "needs mending",
            Self::NotForThisPanel => "not for this panel",
            Self::NotRead => "could not be read",
        }
    }
}

impl Row {
    /// The face's figures, when there is a face.
    #[must_use]
    pub fn face(&self) -> Option<&Measured> {
        match &self.found {
            Found::Face(face) => Some(face),
            Found::Refused(_) => None,
        }
    }

    /// The figures of the face the verdict is about, see [`Measured::judged`].
    #[must_use]
    pub fn judged(&self) -> Option<&Measured> {
        self.face().map(Measured::judged)
    }

    /// Whether those are the mended face's.
    #[must_use]
    pub fn is_mended(&self) -> bool {
        self.verdict() == Verdict::SoundAfterMending
    }

    /// The verdict.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        self.face().map_or(Verdict::NotRead, |face| face.verdict)
    }

    /// Whether the reason says more than the faults do.
    #[must_use]
    pub fn says_why(&self) -> bool {
        self.face().is_some_and(|face| match face.verdict {
            Verdict::SoundAfterMending | Verdict::NotForThisPanel => true,
            Verdict::SawAsIs => face.stop > 0,
            Verdict::NeedsMending | Verdict::NotRead => false,
        })
    }

    /// Why the verdict is what it is.
    #[must_use]
    pub fn reason(&self) -> &str {
        match &self.found {
            Found::Face(face) => &face.reason,
            Found::Refused(refused) => &refused.what,
        }
    }
}

impl Survey {
    /// Rows of each verdict that has any, best first.
    #[must_use]
    pub fn tally(&self) -> Vec<(Verdict, usize)> {
        let count = |verdict| self.rows.iter().filter(|row| row.verdict() == verdict).count();
        Verdict::ALL.into_iter().map(|verdict| (verdict, count(verdict))).filter(|(_, n)| *n > 0).collect()
    }

    /// Rows that repeat another face.
    #[must_use]
    pub fn doubles(&self) -> usize {
        self.rows.iter().filter(|row| row.double.is_some()).count()
    }
}
