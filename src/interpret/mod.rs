//! From inked shapes to what will be sawn.
//!
//! A drawing says what is dark; the saw needs to know what is waste. Four
//! readings are possible ([`Reading`]); [`interpret`] takes the one asked for
//! or chooses, and says why in words.

mod layers;

use kurbo::Rect;

use crate::art::Art;
use crate::diag::{Error, Finding, Noted, Place};
use crate::geom::{Piece, Region};

/// What of a drawing is cut out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Reading {
    /// What looks dark is cut.
    Dark,
    /// What is light inside the outer silhouette is cut; dark is wood.
    Light,
    /// Lines are the saw's path; nested outlines alternate.
    Lines,
    /// The outermost silhouette is left off and what is inside it is cut.
    Features,
}

impl Reading {
    /// Every reading, in the order they are offered.
    pub const ALL: [Self; 4] = [Self::Dark, Self::Light, Self::Lines, Self::Features];

    /// The name used on the command line and in reports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Light => "light",
            Self::Lines => "lines",
            Self::Features => "features",
        }
    }
}

impl std::str::FromStr for Reading {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim().to_ascii_lowercase();
        let found = Self::ALL.into_iter().find(|r| r.name() == text);
        found.ok_or_else(|| format!("`{text}` is not a reading; write dark, light, lines or features"))
    }
}

/// How to interpret a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The reading to take; `None` chooses.
    pub reading: Option<Reading>,
    /// Paint at least this dark is dark, 0 to 1.
    pub threshold: f64,
    /// Largest gap in an outline that is closed, mm on the panel.
    pub gap: f64,
    /// Width of the saw's cut, mm on the panel; what is smaller is a speck.
    pub kerf: f64,
    /// Size of the window the face will be laid in, mm, to know the sizes
    /// above on the drawing. `None`: the drawing is at its true size.
    pub window: Option<(f64, f64)>,
    /// Ids of elements or findings to leave out.
    pub drop: Vec<String>,
    /// Ids of strays to keep.
    pub keep: Vec<String>,
    /// Whether specks are cut too.
    pub keep_specks: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            reading: None,
            // The middle of the lightness scale.
            threshold: 0.5,
            // Derived: half a millimetre is what a pencil line hides.
            gap: 0.5,
            kerf: 1.0,
            window: None,
            drop: Vec::new(),
            keep: Vec::new(),
            keep_specks: false,
        }
    }
}

/// One opening, in the drawing's own space.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// The opening, y down, in the art's units.
    pub piece: Piece,
    /// The element it came from, when one made it.
    pub place: Option<Place>,
}

/// A reading not taken.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Alternative {
    /// The reading.
    pub reading: Reading,
    /// Why it was not taken.
    pub why_not: String,
}

/// What will be sawn, in the drawing's own space (y down, see [`Art`]).
#[derive(Clone, Debug, PartialEq)]
pub struct Cutting {
    /// The openings; they do not overlap.
    pub openings: Vec<Opening>,
    /// The reading taken.
    pub reading: Reading,
    /// Why, in words.
    pub why: String,
    /// The other readings, and why not.
    pub alternatives: Vec<Alternative>,
    /// Box round the openings, in the art's units.
    pub extent: Rect,
    /// Millimetres of one of the art's units at the drawing's own size.
    pub unit_mm: f64,
}

/// Decides what of `art` is cut.
///
/// # Errors
/// [`Error::Art`] when nothing is left to saw.
pub fn interpret(art: &Art, options: &Options) -> Result<Noted<Cutting>, Error> {
    let findings: Vec<Finding> = Vec::new();
    let dark = layers::dark_region(&art.shapes, options.threshold);
    if dark.is_empty() {
        return Err(nothing(art));
    }
    let extent = dark.bounds();
    let openings = traced(art, dark, options.threshold);
    let why = "what looks dark is cut".to_owned();
    let cutting =
        Cutting { openings, reading: Reading::Dark, why, alternatives: Vec::new(), extent, unit_mm: art.unit_mm };
    Ok(Noted { value: cutting, findings })
}

fn nothing(art: &Art) -> Error {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    Error::art(place, "nothing in the drawing reads as an opening", "fill what is to be cut with black")
}

/// Gives each piece the place of the smallest dark shape it lies within.
fn traced(art: &Art, region: Region, threshold: f64) -> Vec<Opening> {
    let mut dark: Vec<_> = art.shapes.iter().filter(|s| s.darkness * s.opacity >= threshold).collect();
    dark.sort_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()));
    let slack = 1e-3;
    let place = |piece: &Piece| {
        let bounds = piece.bounds();
        dark.iter().find(|s| s.bounds.inflate(slack, slack).union(bounds) == s.bounds.inflate(slack, slack))
    };
    region.pieces.into_iter().map(|piece| Opening { place: place(&piece).map(|s| s.place.clone()), piece }).collect()
}
