//! Entry holes: where the blade is threaded.

use kurbo::Point;

/// A hole to drill in the waste so that the blade can be threaded.
#[derive(Clone, Debug, PartialEq)]
pub struct EntryHole {
    /// Number shown to the maker, from 1.
    pub id: u32,
    /// The cut-out it serves, by number.
    pub cutout: u32,
    /// Centre, panel millimetres.
    pub at: Point,
    /// Diameter, mm.
    pub diameter: f64,
    /// The drill's own name: `1/16 in`, `#52`, `1.6 mm`.
    pub drill: String,
}
