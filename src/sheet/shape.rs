//! What can be drawn: paths, words, and marks seen through an outline.

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use super::Mark;
use crate::font::{self, Weight};

/// Something that can be drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Curves, filled, stroked or both (fill first).
    Path(Path),
    /// A line of text.
    Text(Text),
    /// Marks seen only inside an outline.
    Clip {
        /// The outline, non-zero rule.
        outline: BezPath,
        /// What is seen through it; each keeps its own layer.
        marks: Vec<Mark>,
    },
}

impl Shape {
    /// The shape moved by `affine`; see [`Mark::transformed`].
    #[must_use]
    pub fn transformed(&self, affine: Affine) -> Self {
        match self {
            Self::Path(path) => Self::Path(Path { path: affine * &path.path, ..path.clone() }),
            Self::Text(text) => Self::Text(text.transformed(affine)),
            Self::Clip { outline, marks } => Self::Clip {
                outline: affine * outline,
                marks: marks.iter().map(|mark| mark.transformed(affine)).collect(),
            },
        }
    }
}

impl From<Path> for Shape {
    fn from(path: Path) -> Self {
        Self::Path(path)
    }
}

impl From<Text> for Shape {
    fn from(text: Text) -> Self {
        Self::Text(text)
    }
}

/// Curves with paint.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// The curves, in sheet millimetres.
    pub path: BezPath,
    /// Paint inside (non-zero rule), if any.
    pub fill: Option<Ink>,
    /// Paint along the line, if any.
    pub stroke: Option<Stroke>,
}

impl Path {
    /// A filled shape.
    #[must_use]
    pub fn fill(path: impl Into<BezPath>, ink: Ink) -> Self {
        Self { path: path.into(), fill: Some(ink), stroke: None }
    }

    /// A line.
    #[must_use]
    pub fn stroke(path: impl Into<BezPath>, stroke: Stroke) -> Self {
        Self { path: path.into(), fill: None, stroke: Some(stroke) }
    }

    /// The same shape with a line round it.
    #[must_use]
    pub fn outlined(mut self, stroke: Stroke) -> Self {
        self.stroke = Some(stroke);
        self
    }
}

/// An opaque colour; grey when the three are equal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Ink {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green, 0 to 255.
    pub green: u8,
    /// Blue, 0 to 255.
    pub blue: u8,
}

impl Ink {
    /// Black.
    pub const BLACK: Self = Self::grey(0);
    /// White: paper.
    pub const WHITE: Self = Self::grey(255);

    /// A grey, 0 black to 255 white.
    #[must_use]
    pub const fn grey(level: u8) -> Self {
        Self { red: level, green: level, blue: level }
    }

    /// A colour.
    #[must_use]
    pub const fn rgb(red: u8, green: u8, blue: u8) -> Self {
        Self { red, green, blue }
    }
}

/// How a line ends.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Cap {
    /// Square, at the end point.
    #[default]
    Butt,
    /// Half round, past the end point.
    Round,
}

/// How a line is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Width, mm.
    pub width: f64,
    /// Colour.
    pub ink: Ink,
    /// Lengths of dashes and gaps in turn, mm; empty for a whole line.
    pub dash: Vec<f64>,
    /// Ends; joins are round with round ends, mitred otherwise.
    pub cap: Cap,
}

impl Stroke {
    /// A whole line with square ends.
    #[must_use]
    pub const fn new(width: f64, ink: Ink) -> Self {
        Self { width, ink, dash: Vec::new(), cap: Cap::Butt }
    }

    /// The same line with round ends and joins.
    #[must_use]
    pub const fn round(mut self) -> Self {
        self.cap = Cap::Round;
        self
    }

    /// The same line, dashed.
    #[must_use]
    pub fn dashed(mut self, dash: &[f64]) -> Self {
        self.dash = dash.to_vec();
        self
    }
}

/// Which part of a line of text stands at its point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Anchor {
    /// Its start.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// One line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// What it says; letters of Windows-1252 print everywhere.
    pub content: String,
    /// A point on the baseline, sheet millimetres.
    pub at: Point,
    /// Type size (height of the em), mm.
    pub size: f64,
    /// Which part of the line stands at `at`.
    pub anchor: Anchor,
    /// Turn about `at`, degrees anticlockwise.
    pub angle_deg: f64,
    /// Weight.
    pub weight: Weight,
    /// Colour.
    pub ink: Ink,
}

impl Text {
    /// Black, regular, upright, starting at `at`. Letters that no standard font
    /// has are written another way (`≥` as `>=`).
    #[must_use]
    pub fn new(content: impl AsRef<str>, at: impl Into<Point>, size: f64) -> Self {
        Self {
            content: font::printable(content.as_ref()),
            at: at.into(),
            size,
            anchor: Anchor::Start,
            angle_deg: 0.0,
            weight: Weight::Regular,
            ink: Ink::BLACK,
        }
    }

    /// The same line, bold.
    #[must_use]
    pub fn bold(mut self) -> Self {
        self.weight = Weight::Bold;
        self
    }

    /// The same line in another colour.
    #[must_use]
    pub fn ink(mut self, ink: Ink) -> Self {
        self.ink = ink;
        self
    }

    /// The same line with another part of it at its point.
    #[must_use]
    pub fn anchor(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }

    /// The same line turned about its point, degrees anticlockwise.
    #[must_use]
    pub fn turned(mut self, angle_deg: f64) -> Self {
        self.angle_deg = angle_deg;
        self
    }

    /// The same line centred on its point both ways (by capital height).
    #[must_use]
    pub fn centred(mut self) -> Self {
        self.anchor = Anchor::Middle;
        let up = Vec2::from_angle((self.angle_deg + 90.0).to_radians());
        self.at -= up * (self.size * font::CAP_HEIGHT / 2.0);
        self
    }

    /// Measured width, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        font::width(&self.content, self.size, self.weight)
    }

    /// The baseline's left end.
    #[must_use]
    pub fn start(&self) -> Point {
        let part = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => 0.5,
            Anchor::End => 1.0,
        };
        self.at - Vec2::from_angle(self.angle_deg.to_radians()) * (self.width() * part)
    }

    /// The smallest upright box round its letters, capitals to descenders.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let line = Rect::new(0.0, -font::DESCENT * self.size, self.width(), font::CAP_HEIGHT * self.size);
        let place = Affine::translate(self.start().to_vec2()) * Affine::rotate(self.angle_deg.to_radians());
        place.transform_rect_bbox(line)
    }

    fn transformed(&self, affine: Affine) -> Self {
        let along = Vec2::from_angle(self.angle_deg.to_radians());
        let moved = affine * (self.at + along) - affine * self.at;
        Self {
            at: affine * self.at,
            size: self.size * affine.determinant().abs().sqrt(),
            angle_deg: moved.atan2().to_degrees(),
            ..self.clone()
        }
    }
}
