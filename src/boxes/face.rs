//! What the box planner needs to know of a face.

use kurbo::{BezPath, Point};
use serde::Serialize;

/// The facts of one face on its panel, millimetres from the panel's lower-left
/// corner.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct FaceFacts {
    /// Name shown to people.
    pub name: String,
    /// Length of all cut lines.
    pub cut_length_mm: f64,
    /// Sharp corners and tight turns that cost time.
    pub corners: u32,
    /// Entry holes drilled and threaded.
    pub holes: u32,
    /// Area sawn out.
    pub open_area_mm2: f64,
    /// The cut-outs' outlines (each closed; only the outer line matters here).
    #[serde(skip)]
    pub cutouts: Vec<FaceCutout>,
    /// Entry holes.
    #[serde(skip)]
    pub entries: Vec<EntryHole>,
}

/// One cut-out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaceCutout {
    /// Its name in the report.
    pub id: String,
    /// Its outline in panel space, millimetres.
    pub outline: BezPath,
}

/// One entry hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EntryHole {
    /// Centre in panel space, millimetres.
    pub at: Point,
    /// Diameter, millimetres.
    pub diameter: f64,
}
