//! What can go wrong, said so that a person can act on it.
//!
//! An [`Error`] means the job could not be done. A [`Finding`] means the job
//! was done and the art (or the plan) has a fault. The two never mix: no stage
//! returns a fault of the art as an `Err`.

use std::fmt;

use kurbo::Point;
use serde::{Deserialize, Serialize, Serializer};

use crate::units::{Mm, Unit};

/// How bad a finding is. Ordered: `Note < Care < Stop`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; nothing to do.
    Note,
    /// Can be done with the named care.
    Care,
    /// Will fail, or cannot be sawn.
    Stop,
}

impl Severity {
    /// The word shown to people and written in the report.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Care => "care",
            Self::Stop => "stop",
        }
    }
}

/// Where in a source file something stands.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Place {
    /// File name as the user gave it; `-` is standard input.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u32>,
    /// Column, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<u32>,
    /// `id` of the element, or of the nearest ancestor that has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element: Option<String>,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut parts = Vec::new();
        if let Some(file) = &self.file {
            parts.push(file.clone());
        }
        if let Some(line) = self.line {
            parts.push(format!("line {line}"));
        }
        if let Some(element) = &self.element {
            parts.push(format!("element `{element}`"));
        }
        f.write_str(&parts.join(", "))
    }
}

/// The name of a fault. Names are stable: the report uses them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FindingKind {
    // Reading the art.
    /// Something in the file was not used (text, bitmap, unknown reference …).
    LeftOut,
    /// An outline does not close and was not closed.
    OpenOutline,
    /// An outline had a small gap that was closed.
    ClosedGap,
    /// A piece far from the rest, taken for a caption or a frame.
    Stray,
    /// A shape smaller than the saw's kerf.
    Speck,
    /// The art can be read in more than one way.
    Reading,
    // Fit.
    /// A cut-out reaches into a clearance (nail zone, lid, base).
    OverClearance,
    /// The art's shape leaves large empty bands on the panel.
    EmptyBand,
    // Checks.
    /// Wood that falls out.
    Island,
    /// Wood too thin to hold.
    WeakBridge,
    /// The blade's path bends tighter than the blade can follow.
    TightTurn,
    /// A cut-out narrower than the kerf.
    NarrowSlot,
    /// No room for an entry hole.
    NoEntry,
    /// The panel cannot swing past the saw's arm.
    Throat,
    // Mending.
    /// Mending makes another face of it.
    Mending,
    // Box planning.
    /// A nail was moved or dropped.
    Nail,
    /// Wood likely to split at a nail.
    Splitting,
    /// Any other remark of the box, board or price plan.
    Plan,
}

impl FindingKind {
    /// The stable name: `weak-bridge`, `tight-turn` …
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::LeftOut => "left-out",
            Self::OpenOutline => "open-outline",
            Self::ClosedGap => "closed-gap",
            Self::Stray => "stray",
            Self::Speck => "speck",
            Self::Reading => "reading",
            Self::OverClearance => "over-clearance",
            Self::EmptyBand => "empty-band",
            Self::Island => "island",
            Self::WeakBridge => "weak-bridge",
            Self::TightTurn => "tight-turn",
            Self::NarrowSlot => "narrow-slot",
            Self::NoEntry => "no-entry",
            Self::Throat => "throat",
            Self::Mending => "mending",
            Self::Nail => "nail",
            Self::Splitting => "splitting",
            Self::Plan => "plan",
        }
    }
}

/// A fault of the art or the plan: what, where, measured against which limit,
/// and what to do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Name unique in one report: `bridge-3`, `island-1`. Given by the stage.
    pub id: String,
    /// The kind of fault.
    pub kind: FindingKind,
    /// How bad it is.
    pub severity: Severity,
    /// Place on the panel, millimetres from the lower-left corner.
    #[serde(serialize_with = "point_or_null")]
    pub at: Option<Point>,
    /// What was measured, in the unit named by the kind (millimetres, mm² …).
    pub measured: Option<f64>,
    /// The limit it was measured against.
    pub limit: Option<f64>,
    /// One short sentence, lower case, no full stop: what is wrong, with figures.
    pub message: String,
    /// One short sentence: what to do about it.
    pub advice: String,
    /// Where in the source file, when known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

impl Finding {
    /// A finding with no place, measure or source yet.
    #[must_use]
    pub fn new(
        id: impl Into<String>,
        kind: FindingKind,
        severity: Severity,
        message: impl Into<String>,
        advice: impl Into<String>,
    ) -> Self {
        Self {
            id: id.into(),
            kind,
            severity,
            at: None,
            measured: None,
            limit: None,
            message: message.into(),
            advice: advice.into(),
            place: None,
        }
    }

    /// The same finding, placed on the panel.
    #[must_use]
    pub const fn at(mut self, at: Point) -> Self {
        self.at = Some(at);
        self
    }

    /// The same finding with what was measured and its limit.
    #[must_use]
    pub const fn measured(mut self, measured: f64, limit: f64) -> Self {
        self.measured = Some(measured);
        self.limit = Some(limit);
        self
    }

    /// Its place on the panel in the shop's unit, from the lower-left corner:
    /// `3-11/16 in right, 3 in up`.
    #[must_use]
    pub fn place_text(&self, unit: Unit) -> Option<String> {
        let told = |mm: f64| match unit {
            Unit::Inch => Mm::new(mm).fraction(16),
            Unit::Mm => format!("{:.0}", Mm::new(mm)),
        };
        self.at.map(|at| format!("{} right, {} up", told(at.x), told(at.y)))
    }

    /// The same finding, placed in the source file.
    #[must_use]
    pub fn place(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }
}

#[expect(clippy::ref_option, reason = "the signature serde asks for")]
fn point_or_null<S: Serializer>(at: &Option<Point>, serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct At {
        x_mm: f64,
        y_mm: f64,
    }
    at.map(|p| At { x_mm: round3(p.x), y_mm: round3(p.y) }).serialize(serializer)
}

/// Rounds to the micrometre, the finest step any report shows; never `-0`.
#[must_use]
pub fn round3(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}

/// A result that is fine but has remarks.
#[derive(Clone, Debug, PartialEq)]
pub struct Noted<T> {
    /// The result.
    pub value: T,
    /// What was noticed on the way.
    pub findings: Vec<Finding>,
}

/// Why a job could not be done.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// The art could not be read: not SVG, broken, empty, hostile, too large.
    Art {
        /// Where.
        place: Place,
        /// What is wrong.
        what: String,
        /// What to do.
        advice: String,
    },
    /// A setting or option is wrong.
    Setting {
        /// Where (shop file and line), or the option's name in `element`.
        place: Place,
        /// What is wrong.
        what: String,
        /// What to do, often a suggested spelling.
        advice: String,
    },
    /// The sizes asked for do not go together.
    Sizes {
        /// What is wrong, with the lengths.
        what: String,
        /// What to do.
        advice: String,
        /// The length that broke the limit, when one did.
        measured: Option<Mm>,
    },
    /// A file or folder could not be read or written.
    File {
        /// The path.
        path: String,
        /// What was tried and what the system said.
        what: String,
        /// What to do.
        advice: String,
    },
    /// A fault of the program itself; never the user's.
    Internal {
        /// What broke.
        what: String,
    },
}

impl Error {
    /// An [`Error::Art`].
    #[must_use]
    pub fn art(place: Place, what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::Art { place, what: what.into(), advice: advice.into() }
    }

    /// An [`Error::Setting`].
    #[must_use]
    pub fn setting(place: Place, what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::Setting { place, what: what.into(), advice: advice.into() }
    }

    /// An [`Error::Sizes`].
    #[must_use]
    pub fn sizes(what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::Sizes { what: what.into(), advice: advice.into(), measured: None }
    }

    /// An [`Error::File`].
    #[must_use]
    pub fn file(path: impl Into<String>, what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self::File { path: path.into(), what: what.into(), advice: advice.into() }
    }

    /// The same error with its place set: a rule that reads one name does not
    /// know the file and line, its caller does. Kinds without a place are left
    /// as they are.
    #[must_use]
    pub fn placed(mut self, at: Place) -> Self {
        if let Self::Art { place, .. } | Self::Setting { place, .. } = &mut self {
            *place = at;
        }
        self
    }

    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> &str {
        match self {
            Self::Art { advice, .. }
            | Self::Setting { advice, .. }
            | Self::Sizes { advice, .. }
            | Self::File { advice, .. } => advice,
            Self::Internal { .. } => "draw or set it a little differently; the fault is the program's, not yours",
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Art { place, what, .. } | Self::Setting { place, what, .. } => {
                if *place == Place::default() {
                    write!(f, "{what}")
                } else {
                    write!(f, "{place}: {what}")
                }
            }
            Self::Sizes { what, .. } => write!(f, "{what}"),
            Self::File { path, what, .. } => write!(f, "{path}: {what}"),
            Self::Internal { what } => write!(f, "fault in fretgrin itself: {what}"),
        }
    }
}

impl std::error::Error for Error {}
