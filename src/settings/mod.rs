//! What the shop always uses, in millimetres.
//!
//! ```text
//! built-in values <- shop.toml <- options        (as stated: Shop)
//!                    Shop -> resolve -> Settings (in millimetres, checked)
//! ```
//!
//! [`read()`] reads a shop file, an option overwrites a field of [`Shop`] and
//! leaves a note in [`Origins`], [`Settings::resolve`] checks the whole, and
//! [`Origins::locate`] gives an error the file and line, or the option, that
//! caused it. The text of a new shop file comes from the same definitions.

pub mod batch;
pub mod boxes;
pub mod describe;
pub mod drawer;
mod layout;
pub mod length;
pub mod money;
mod new;
pub mod pin;
mod position;
mod read;
mod resolve;
pub mod sections;
#[cfg(test)]
mod tests;

pub use length::Length;
pub use money::Money;
pub use new::text as new_text;
pub use read::{Origin, Origins, read};
pub use resolve::PANEL_SIDE;
pub use sections::{Cut, PaperTurn, Shop};

use boxes::BoxSettings;

use crate::face::{Clearances, Panel};
use crate::trade::blades::{Blade, BladeEnd};
use crate::trade::drills::Drill;
use crate::trade::papers::Paper;
use crate::trade::strength::Limit;
use crate::trade::woods::Wood;
use crate::units::{Mm, Unit};

/// Name of the shop file.
pub const FILE_NAME: &str = "shop.toml";

/// Everything a job needs to know about the shop, checked and in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// The unit shown first.
    pub unit: Unit,
    /// The board.
    pub panel: Panel,
    /// Clearances without a box.
    pub clear: Clearances,
    /// The clearances the shop asked for itself, edge by edge.
    pub own_clear: EdgeClear,
    /// The wood.
    pub wood: Wood,
    /// Saw and blades.
    pub saw: Saw,
    /// Drill bits, as listed by the shop.
    pub drills: Vec<Drill>,
    /// Paper and printer.
    pub print: Print,
    /// How the art is read.
    pub art: ArtRules,
    /// How the face is laid on the panel.
    pub fit: FitRules,
    /// What the width of a bridge is measured against.
    pub bridge: Limit,
    /// How long the sawing takes.
    pub times: SawTimes,
    /// The lantern box, its panel size filled in from `panel` where the box
    /// gives none; `None` when the shop plans no box.
    pub lantern: Option<BoxSettings>,
    /// Folder for the files, as written.
    pub folder: String,
    /// Templates in one file.
    pub copies: u32,
    /// The same as stated, options included; every other field follows from it.
    pub stated: Shop,
}

/// Clearances asked for, edge by edge; `None` leaves an edge to the box or the
/// default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct EdgeClear {
    /// From the left edge.
    pub left: Option<Mm>,
    /// From the right edge.
    pub right: Option<Mm>,
    /// From the top edge.
    pub top: Option<Mm>,
    /// From the bottom edge.
    pub bottom: Option<Mm>,
}

impl EdgeClear {
    /// These clearances, with `other` where none was asked for.
    #[must_use]
    pub fn or(&self, other: Clearances) -> Clearances {
        Clearances {
            left: self.left.unwrap_or(other.left),
            right: self.right.unwrap_or(other.right),
            top: self.top.unwrap_or(other.top),
            bottom: self.bottom.unwrap_or(other.bottom),
        }
    }
}

/// The scroll saw.
#[derive(Clone, Debug, PartialEq)]
pub struct Saw {
    /// The blade to use.
    pub blade: Blade,
    /// Every blade in the drawer, the one to use among them.
    pub drawer: Vec<Blade>,
    /// How the blade's ends are held.
    pub end: BladeEnd,
    /// From the blade to the back of the saw's arm.
    pub throat: Mm,
    /// How far the sawn line may stray from the drawn one.
    pub line_tolerance: Mm,
}

/// Paper and printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Print {
    /// The sheet, with the printer's margin.
    pub paper: Paper,
    /// How the sheet lies.
    pub turn: PaperTurn,
    /// Overlap of neighbouring sheets.
    pub overlap: Mm,
    /// True length divided by printed length, across the sheet.
    pub scale_x: f64,
    /// True length divided by printed length, along the sheet.
    pub scale_y: f64,
}

/// How art is read.
#[derive(Clone, Debug, PartialEq)]
pub struct ArtRules {
    /// What is sawn out.
    pub cut: Cut,
    /// Luminance below which paint is dark, 0 black to 1 white.
    pub threshold: f64,
    /// Gaps in outlines up to this are closed, measured on the panel.
    pub gap: Mm,
    /// Whether shapes smaller than the kerf are kept.
    pub keep_specks: bool,
    /// Elements to leave out, by id.
    pub drop: Vec<String>,
    /// Strays to keep, by id.
    pub keep: Vec<String>,
}

/// Where a face lies in the window, from -1 (left, bottom) over 0 (middle) to 1
/// (right, top).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Align {
    /// Left to right.
    pub across: f64,
    /// Bottom to top.
    pub up: f64,
}

/// How a face is laid on the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitRules {
    /// Where in the window.
    pub align: Align,
    /// Greatest stretch one way, as a share: 0.05 is five percent.
    pub stretch: f64,
    /// Width of the whole face, instead of filling the window.
    pub width: Option<Mm>,
    /// Height of the whole face, instead of filling the window.
    pub height: Option<Mm>,
    /// Whether the art keeps its own size.
    pub true_size: bool,
    /// Scale, 1 for the drawing's own size, instead of filling the window.
    pub scale: Option<f64>,
    /// The face's middle (before it is turned) from the panel's left edge.
    pub middle_x: Option<Mm>,
    /// The face's middle from the panel's bottom edge.
    pub middle_y: Option<Mm>,
    /// Turn, degrees anticlockwise.
    pub turn_deg: f64,
    /// Whether mirrored left to right.
    pub mirror: bool,
}

/// How long the sawing takes, in minutes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SawTimes {
    /// Length sawn in a minute in 3/4 in wood.
    pub feed: Mm,
    /// Drilling one entry hole.
    pub drill: f64,
    /// Threading, clamping and freeing the blade once.
    pub thread: f64,
    /// One sharp corner.
    pub corner: f64,
}

impl Default for Settings {
    fn default() -> Self {
        #[expect(clippy::expect_used, reason = "the built-in values are constants")]
        Self::resolve(&Shop::default()).expect("the built-in values pass their own checks; a test resolves them")
    }
}
