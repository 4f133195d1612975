//! The order of sawing, and how long it takes.

/// One cut-out in its turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Place in the order, from 1.
    pub turn: u32,
    /// The cut-out, by number.
    pub cutout: u32,
    /// Length of line to saw, mm.
    pub length: f64,
    /// Minutes for drilling, threading, sawing and corners.
    pub minutes: f64,
    /// Why it stands here: `small and central`, `weakens bridge 2` …
    pub why: String,
}

/// The whole order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Order {
    /// The steps, first to last.
    pub steps: Vec<Step>,
    /// Total length to saw, mm.
    pub length: f64,
    /// Total minutes at the saw and drill.
    pub minutes: f64,
}
