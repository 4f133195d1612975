//! Everything a run found out about a face: what the report, the drawings, the
//! summary and the page are all made from.

use crate::check::Checks;
use crate::diag::{Finding, Severity};
use crate::entry::EntryHole;
use crate::face::Face;
use crate::order::Order;

/// How the art was read.
#[derive(Clone, Debug, PartialEq)]
pub struct ArtFacts {
    /// File name as given; `-` is standard input.
    pub file: String,
    /// What files made of the face are called after: the art's name without folder
    /// and ending, or the project's.
    pub name: String,
    /// Width of the art at its own size, mm.
    pub width: f64,
    /// Height of the art at its own size, mm.
    pub height: f64,
    /// The reading taken: `dark`, `light`, `lines` or `features`.
    pub reading: String,
    /// Why, in words.
    pub why: String,
    /// The other readings possible, each with the reason it was not taken.
    pub others: Vec<(String, String)>,
}

/// What the sawing is set up for.
#[derive(Clone, Debug, PartialEq)]
pub struct SetUp {
    /// The wood's name in the tables, like `western-redcedar`.
    pub wood: String,
    /// The blade's name, like `flat-5`.
    pub blade: String,
    /// Width of the cut, mm.
    pub kerf: f64,
    /// Line tolerance for turns, mm.
    pub tolerance: f64,
    /// The blade recommended for this face, when one of the drawer does it.
    pub recommended: Option<String>,
}

/// More of the openings than this changed by mending, and it is another face: our own
/// rule, no source.
pub const ANOTHER_FACE: f64 = 0.5;

/// What mending did to a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MendFacts {
    /// Edits made, those placed by hand among them.
    pub edits: usize,
    /// Area changed over the open area as drawn.
    pub area_changed_share: f64,
    /// Faults that mending was there for and left.
    pub left: usize,
}

/// A face read, fitted and checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// How the art was read.
    pub art: ArtFacts,
    /// Wood, blade and limits.
    pub setup: SetUp,
    /// The face on its panel.
    pub face: Face,
    /// What made each clearance, when a box decided them: edge and reason.
    pub clearances: Vec<(String, String)>,
    /// What the checks measured.
    pub checks: Checks,
    /// Where to drill.
    pub holes: Vec<EntryHole>,
    /// What to saw first.
    pub order: Order,
    /// What mending did to it; `None` as drawn.
    pub mended: Option<MendFacts>,
    /// All findings, worst first.
    pub findings: Vec<Finding>,
}

impl Outcome {
    /// The same, its files called after `name`; as it is without one.
    #[must_use]
    pub fn named(mut self, name: Option<&str>) -> Self {
        if let Some(name) = name {
            name.clone_into(&mut self.art.name);
        }
        self
    }

    /// The worst severity found; `None` when nothing was.
    #[must_use]
    pub fn worst(&self) -> Option<Severity> {
        self.findings.iter().map(|finding| finding.severity).max()
    }

    /// How many findings are of `severity`.
    #[must_use]
    pub fn count(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|finding| finding.severity == severity).count()
    }
}
