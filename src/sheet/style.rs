//! The look of every sheet: line weights, type sizes, inks.
//!
//! Few weights, few sizes, black and two greys for what is printed, so that a
//! laser print and a photocopy of it say the same. Sizes are millimetres.

use super::{Ink, Stroke};

/// The blade's line: thin enough to split, thick enough to see through tape.
pub const CUT: f64 = 0.22;
/// Outlines of panels and parts.
pub const OUTLINE: f64 = 0.35;
/// Table rules, leaders, ticks.
pub const FINE: f64 = 0.18;
/// Hatching and the lightest guides.
pub const HAIR: f64 = 0.12;
/// Symbols that must be found.
pub const SIGN: f64 = 0.4;

/// The smallest type used anywhere: 7 pt, x-height 1.3 mm.
pub const SMALL: f64 = 2.5;
/// Body text: 8.2 pt.
pub const BODY: f64 = 2.9;
/// Section headings: 10 pt.
pub const HEADING: f64 = 3.6;
/// Sheet titles: 16 pt.
pub const TITLE: f64 = 5.6;

/// From one baseline to the next, as a part of the type size.
pub const LEADING: f64 = 1.36;

/// Body text and lines.
pub const INK: Ink = Ink::grey(20);
/// Second voice: captions, units, advice.
pub const QUIET: Ink = Ink::grey(85);
/// Rules and guides.
pub const RULE: Ink = Ink::grey(150);
/// Hatching.
pub const HATCH: Ink = Ink::grey(165);
/// Light ground behind headings and table heads.
pub const GROUND: Ink = Ink::grey(236);

/// The line the blade follows.
#[must_use]
pub fn cut() -> Stroke {
    Stroke::new(CUT, Ink::BLACK).round()
}

/// The outline of a panel or part.
#[must_use]
pub const fn outline() -> Stroke {
    Stroke::new(OUTLINE, INK)
}

/// A fold: long dashes.
#[must_use]
pub fn fold() -> Stroke {
    Stroke::new(FINE, INK).dashed(&[2.4, 1.2])
}

/// A thin rule.
#[must_use]
pub const fn rule() -> Stroke {
    Stroke::new(FINE, RULE)
}

/// A dimension line.
#[must_use]
pub const fn dimension() -> Stroke {
    Stroke::new(FINE, INK)
}

/// A leader from a name to its place: short grey dashes, as a whole black line among
/// saw lines is sawn.
#[must_use]
pub fn leader() -> Stroke {
    Stroke::new(FINE, QUIET).dashed(&[0.9, 0.6])
}
