//! The one drawing model. Template pages, bench sheets, box drawings and
//! pictures are all [`Sheet`]s; the writers draw nothing else.
//!
//! Sheet space: millimetres, origin at the sheet's lower-left corner, x right,
//! y up. Marks are painted in order, later over earlier. Outlines stay Bézier
//! curves.

use kurbo::{Affine, Rect};

use crate::units::Mm;

mod apart;
pub mod before_after;
mod bench;
mod cuts;
mod edges;
pub mod flow;
pub mod hatch;
mod joins;
pub mod layout;
mod legend;
mod numbers;
pub mod panel;
pub mod picture;
pub mod place;
pub mod ruler;
mod shape;
pub mod style;
pub mod symbols;
mod table;
pub mod template;
mod words;

pub use cuts::Crossings;
pub use edges::Flaps;
pub use layout::Printer;
pub use panel::Nail;
pub use picture::picture;
pub use shape::{Anchor, Cap, Ink, Path, Shape, Stroke, Text};
pub use template::{Request, pages};

/// One sheet of paper, or one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Short name: `A1`, `bench sheet` …
    pub name: String,
    /// Width of the paper.
    pub width: Mm,
    /// Height of the paper.
    pub height: Mm,
    /// What is drawn, in painting order.
    pub marks: Vec<Mark>,
}

impl Sheet {
    /// An empty sheet.
    #[must_use]
    pub fn new(name: impl Into<String>, width: Mm, height: Mm) -> Self {
        Self { name: name.into(), width, height, marks: Vec::new() }
    }

    /// The whole sheet as a rectangle.
    #[must_use]
    pub fn rect(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width.get(), self.height.get())
    }

    /// Adds one shape on a layer.
    pub fn push(&mut self, layer: Layer, shape: impl Into<Shape>) {
        self.marks.push(Mark { layer, shape: shape.into() });
    }

    /// The layers used, in the order of [`Layer`].
    #[must_use]
    pub fn layers(&self) -> Vec<Layer> {
        let mut all = Vec::new();
        collect_layers(&self.marks, &mut all);
        all.sort_unstable();
        all.dedup();
        all
    }
}

fn collect_layers(marks: &[Mark], all: &mut Vec<Layer>) {
    for mark in marks {
        match &mark.shape {
            Shape::Clip { marks, .. } => collect_layers(marks, all),
            _ => all.push(mark.layer),
        }
    }
}

/// A shape on a layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What kind of mark it is; a layer of the PDF.
    pub layer: Layer,
    /// What is drawn.
    pub shape: Shape,
}

impl Mark {
    /// A shape on a layer.
    #[must_use]
    pub fn new(layer: Layer, shape: impl Into<Shape>) -> Self {
        Self { layer, shape: shape.into() }
    }

    /// The mark moved by `affine`. Text moves and turns with it, and grows by
    /// its mean scale; line widths stay.
    #[must_use]
    pub fn transformed(&self, affine: Affine) -> Self {
        Self { layer: self.layer, shape: self.shape.transformed(affine) }
    }
}

/// What a mark shows; each is an optional content group of the PDF, so a viewer
/// can hide it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Layer {
    /// The board's own surface, in pictures.
    Wood,
    /// Clearances where nails, lid and base go.
    NailZones,
    /// Hatching of what is sawn out.
    Waste,
    /// Flaps that fold over the board's edges.
    Flaps,
    /// The panel's outline.
    Panel,
    /// Centre marks and the grain arrow.
    CentreMarks,
    /// Where the blade goes.
    CutLines,
    /// Holes to drill for the blade.
    EntryHoles,
    /// Order numbers and hole numbers.
    Numbers,
    /// Wood that falls out.
    Islands,
    /// Bridges that may fail.
    WeakSpots,
    /// Turns tighter than the blade follows.
    Turns,
    /// Where nails go.
    Nails,
    /// Parts of the box.
    Parts,
    /// Dimension lines and their figures.
    Dimensions,
    /// Crosses that lay sheets on each other, and the tile's edge.
    Registration,
    /// Check rulers.
    Rulers,
    /// Title strip and sheet labels.
    Title,
    /// Legend, tables, text.
    Notes,
}

impl Layer {
    /// Every layer, lowest first.
    pub const ALL: [Self; 19] = [
        Self::Wood,
        Self::NailZones,
        Self::Waste,
        Self::Flaps,
        Self::Panel,
        Self::CentreMarks,
        Self::CutLines,
        Self::EntryHoles,
        Self::Numbers,
        Self::Islands,
        Self::WeakSpots,
        Self::Turns,
        Self::Nails,
        Self::Parts,
        Self::Dimensions,
        Self::Registration,
        Self::Rulers,
        Self::Title,
        Self::Notes,
    ];

    /// The name shown to people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Wood => "Wood",
            Self::NailZones => "Nail zones",
            Self::Waste => "Waste",
            Self::Flaps => "Fold-over flaps",
            Self::Panel => "Panel outline",
            Self::CentreMarks => "Centre marks and grain",
            Self::CutLines => "Cut lines",
            Self::EntryHoles => "Entry holes",
            Self::Numbers => "Numbers",
            Self::Islands => "Islands",
            Self::WeakSpots => "Weak spots",
            Self::Turns => "Tight turns",
            Self::Nails => "Nails",
            Self::Parts => "Parts",
            Self::Dimensions => "Dimensions",
            Self::Registration => "Registration",
            Self::Rulers => "Rulers",
            Self::Title => "Title",
            Self::Notes => "Notes",
        }
    }
}
