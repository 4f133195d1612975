//! Reading face art: from the bytes of a drawing to inked shapes.
//!
//! A drawing is somebody else's file, so it is never trusted: it is measured
//! before it is parsed ([`lexical`]), its references are followed on paper
//! before they are followed in earnest ([`source`]), nothing it names is
//! opened, and the parser runs on a thread of its own with a stack deep enough
//! for everything the limits let through.
//!
//! What comes out is plain: shapes in paint order, each with how dark and how
//! opaque it is and where in the file it stands. What was in the file and is
//! not in the shapes is named in a finding.

mod arcs;
mod clip;
mod cost;
pub(crate) mod crossings;
mod css;
mod dropped;
mod lexical;
mod paint;
mod pathdata;
mod places;
mod read;
mod size;
mod source;
mod stroke;
mod unread;
mod walk;

use std::sync::Arc;

use kurbo::{BezPath, Rect, Shape};

use crate::diag::Place;
use crate::geom::boolean::Rule;

pub use read::read;
pub use size::unit_for;

/// How much a drawing may ask of the machine. The defaults let through every
/// drawing a person makes and keep a hostile one within about two seconds and
/// 300 MB; they are ours, set by measurement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Largest file, bytes.
    pub file_bytes: usize,
    /// Most XML nodes (elements, texts, comments).
    pub nodes: u32,
    /// Deepest nesting of elements.
    pub depth: u32,
    /// Most attributes on one element.
    pub attributes: u32,
    /// Most elements once every `use`, marker, clip, mask and pattern stands
    /// where it is referred to.
    pub expanded: u64,
    /// Most crossings between outlines that may have to be worked out.
    pub crossings: u64,
    /// Most segments of clip paths and masks worked on, each time they are.
    pub clipping: u64,
    /// Most dashes in all dashed lines together.
    pub dashes: u64,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            file_bytes: 64_000_000,
            nodes: 400_000,
            depth: 200,
            attributes: 400,
            expanded: 120_000,
            crossings: 200_000,
            clipping: 200_000,
            dashes: 20_000,
        }
    }
}

/// How to read a drawing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// How much it may ask of the machine.
    pub limits: Limits,
}

/// A drawing, read.
///
/// Coordinates are y **down**, as in the file, origin at the drawing's upper
/// left corner. One unit is a millimetre at the drawing's own size, unless the
/// drawing is very small or very large; see [`Art::unit_mm`].
#[derive(Clone, Debug, PartialEq)]
pub struct Art {
    /// The name the drawing was read under.
    pub name: String,
    /// The page, when the drawing states one.
    pub page: Option<Rect>,
    /// Millimetres, at the drawing's own size, of one unit here. 1 for drawings
    /// from 32 mm to 2 m; a power of two otherwise, so that a 16-pixel icon and
    /// a barn door are worked on with the same relative accuracy.
    pub unit_mm: f64,
    /// Whether the drawing was laid on a panel by fretgrin already: its page is
    /// the panel, and it is to be sawn where it stands. Said by the attribute
    /// `data-fretgrin-panel` of the root element.
    pub placed: bool,
    /// The shapes, first painted first.
    pub shapes: Vec<Inked>,
}

impl Art {
    /// The box round everything inked; zero when nothing is.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        self.shapes.iter().map(|s| s.bounds).reduce(|a, b| a.union(b)).unwrap_or_default()
    }
}

/// One painted shape.
#[derive(Clone, Debug, PartialEq)]
pub struct Inked {
    /// The outline of the inked area.
    pub path: BezPath,
    /// Which side of the outline is inside.
    pub rule: Rule,
    /// Box round the inked area.
    pub bounds: Rect,
    /// How dark the paint is: 0 white to 1 black. For a gradient, the mean over
    /// the shape.
    pub darkness: f64,
    /// How opaque the paint is, groups and all: 0 to 1.
    pub opacity: f64,
    /// The line that was stroked, when the shape is a stroke.
    pub line: Option<Stroked>,
    /// Where in the file.
    pub place: Place,
    /// Ids of the element and of everything it stands in, innermost first.
    pub ids: Arc<[String]>,
}

/// The line under a stroke.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroked {
    /// The centre line.
    pub centre: BezPath,
    /// Width of the stroke.
    pub width: f64,
    /// Whether it is drawn in dashes.
    pub dashed: bool,
    /// Whether the same element is also filled (with any paint).
    pub filled: bool,
}

impl Inked {
    fn area(path: BezPath, rule: Rule, tone: paint::Tone, spot: &places::Spot) -> Self {
        let bounds = path.bounding_box();
        Self {
            path,
            rule,
            bounds,
            darkness: tone.darkness,
            opacity: tone.opacity,
            line: None,
            place: spot.place.clone(),
            ids: spot.ids.clone(),
        }
    }
}
