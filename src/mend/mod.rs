//! Mending: the least change that makes a face sawable.
//!
//! Every edit is a small shape, either wood given back or waste opened up, and
//! removes one finding. Outlines no edit meets are not touched: they stay the
//! curves they were. After a round of edits the checks run again on the result,
//! until nothing is left to mend or nothing more can be done; what is left is
//! said plainly.
//!
//! ```text
//! face + checks → network (bridges to islands)  ┐
//!               → thicken (weak bridges)        ├→ edits → apply → checks ─┐
//!               → ease (turns, slots, entries)  ┘     ↑────────────────────┘
//! ```

pub mod candidates;
pub mod grid;
pub mod links;
pub mod march;
pub mod network;
pub mod stance;
pub mod strip;
pub mod sweep;
pub mod symmetry;
pub mod wood;

mod apply;
mod bridge;
mod ease;
mod hand;
mod lean;
mod measure;
mod number;
mod prop;
mod rescue;
mod run;
mod sawn;
mod spare;
mod thicken;
mod work;

pub use apply::seen;
pub use hand::{Built, Hand, by_hand};
pub use run::{Start, mend, mend_from};
pub use sawn::as_sawn;
pub use svg::{layered_svg, svg};
pub use work::SAME_PLACE;

mod svg;

use kurbo::Point;

use crate::check::{self, Checks};
use crate::entry;
use crate::face::Face;
use crate::geom::Region;
use crate::units::Mm;

/// What an edit does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum EditKind {
    /// A bridge to an island.
    Bridge,
    /// A weak bridge widened.
    Widen,
    /// A bridge across an opening that props a weak one.
    Prop,
    /// A weak tongue of wood sawn off.
    Trim,
    /// Openings that touch joined into one.
    Join,
    /// A turn rounded to what the blade can follow.
    Round,
    /// A slot opened to the kerf.
    Slot,
    /// Room for an entry hole.
    EntryRoom,
    /// A cut-out too small to saw left out.
    LeaveOut,
}

impl EditKind {
    /// Every kind.
    pub const ALL: [Self; 9] = [
        Self::Bridge,
        Self::Widen,
        Self::Prop,
        Self::Trim,
        Self::Join,
        Self::Round,
        Self::Slot,
        Self::EntryRoom,
        Self::LeaveOut,
    ];

    /// The kind called `name`.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// The stable name: `bridge`, `widen` …
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bridge => "bridge",
            Self::Widen => "widen",
            Self::Prop => "prop",
            Self::Trim => "trim",
            Self::Join => "join",
            Self::Round => "round",
            Self::Slot => "slot",
            Self::EntryRoom => "entry-room",
            Self::LeaveOut => "leave-out",
        }
    }
}

/// The shape of an edit.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Wood given back: taken off the openings.
    GiveBack(Region),
    /// Waste opened up: added to the openings.
    OpenUp(Region),
}

impl Change {
    /// The shape. It may reach past what it changes.
    #[must_use]
    pub const fn shape(&self) -> &Region {
        match self {
            Self::GiveBack(region) | Self::OpenUp(region) => region,
        }
    }
}

/// One change to the face.
#[derive(Clone, Debug, PartialEq)]
pub struct Edit {
    /// Number from 1, to refuse or adjust it by; stays the same when others are
    /// refused.
    pub id: u32,
    /// What it does.
    pub kind: EditKind,
    /// The finding it removes, by its id in the checks of the face as it came;
    /// `None` when an earlier edit made it necessary.
    pub finding: Option<String>,
    /// Its mirror image, by number, where the face is symmetric.
    pub pair: Option<u32>,
    /// Its place: the middle of the bridge, the turn …
    pub at: Point,
    /// The shape.
    pub change: Change,
    /// Width made, mm, for bridges, widened bridges (at the neck) and slots.
    pub width: Option<f64>,
    /// Length over which, mm.
    pub length: Option<f64>,
    /// Area of opening lost or won, mm².
    pub area: f64,
    /// One sentence, lower case, no full stop: what is done and why, with figures.
    pub why: String,
}

/// What was settled about one place beforehand: an edit refused, or its width.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ruling {
    /// The kind of edit.
    pub kind: EditKind,
    /// Its place, panel millimetres; the edit nearest within 1.5 mm is meant.
    pub at: Point,
    /// The width asked for, mm; `None` refuses the edit.
    pub width: Option<f64>,
}

/// The reason told for a fault that is left because of a [`Ruling`].
pub const RULED: &str = "an edit here was refused or its width set";

/// What to do where two openings touch at a point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Contacts {
    /// Make a real bridge of the point.
    #[default]
    Bridge,
    /// Join the openings, where no wood comes loose by it.
    Open,
}

/// How far weak bridges are mended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// Until each is as wide as the rule asks.
    #[default]
    Sound,
    /// Until none stops the work; those that want care stay as drawn.
    Stops,
}

/// Which turns are rounded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ease {
    /// None.
    Leave,
    /// Those no technique can make. Points of an opening only come out as blunt
    /// as the kerf is wide; they stay as drawn.
    #[default]
    Impossible,
    /// Every turn the blade cannot follow turned slowly.
    All,
}

/// How to mend.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Wood, blade and limits, as the face was checked with.
    pub checks: check::Options,
    /// What the entry holes must suit; `None` leaves them out of it.
    pub entry: Option<entry::Options>,
    /// Edits refused, by number; the mirror image of one goes with it.
    pub leave: Vec<u32>,
    /// Widths asked for instead of the needed one, by edit number; the mirror image of
    /// one gets the same.
    pub widths: Vec<(u32, Mm)>,
    /// Edits refused and widths asked for by place, for who remembers places
    /// rather than numbers.
    pub rulings: Vec<Ruling>,
    /// Whether a mirror-symmetric face stays so.
    pub symmetry: bool,
    /// Radius of the flares at the ends of bridges; `None` takes the least the
    /// blade follows.
    pub fillet: Option<Mm>,
    /// What to do where openings touch.
    pub contacts: Contacts,
    /// How far weak bridges are mended.
    pub aim: Aim,
    /// Which turns to round.
    pub turns: Ease,
}

impl Options {
    /// The usual way to mend for these checks.
    #[must_use]
    pub const fn new(checks: check::Options, entry: Option<entry::Options>) -> Self {
        Self {
            checks,
            entry,
            leave: Vec::new(),
            widths: Vec::new(),
            rulings: Vec::new(),
            symmetry: true,
            fillet: None,
            contacts: Contacts::Bridge,
            aim: Aim::Sound,
            turns: Ease::Impossible,
        }
    }
}

/// How much the face was changed.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Summary {
    /// Area given back and opened up, mm².
    pub area_changed_mm2: f64,
    /// The same over the area of the openings before.
    pub area_changed_share: f64,
    /// Farthest any outline was moved, bridges to islands and cut-outs left out
    /// aside, mm.
    pub greatest_displacement_mm: f64,
    /// Area open before and after, over area open before or after; 1 when
    /// nothing changed.
    pub similarity: f64,
    /// Place of the mirror axis kept, mm from the panel's left edge.
    pub axis_mm: Option<f64>,
    /// Rounds of edits and checks.
    pub rounds: u32,
    /// Whether the bridges to islands are proven the cheapest.
    pub proven: bool,
}

/// A face mended.
#[derive(Clone, Debug, PartialEq)]
pub struct Mended {
    /// The face after all edits.
    pub face: Face,
    /// The edits, by number.
    pub edits: Vec<Edit>,
    /// The checks of the face after.
    pub checks: Checks,
    /// Findings of the face after that mending would remove but could not, by
    /// their id there, and why.
    pub unmended: Vec<(String, String)>,
    /// How much was changed.
    pub summary: Summary,
    /// Numbers in [`Options::leave`] and [`Options::widths`] that no edit has.
    pub unknown: Vec<u32>,
    /// Numbers in [`Options::leave`], each with that of its mirror image, which was not
    /// named there and is left all the same.
    pub images: Vec<(u32, u32)>,
}

#[cfg(test)]
mod tests;
