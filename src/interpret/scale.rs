//! How large the drawing comes out on the panel, before it is laid there.
//!
//! Specks and thin lines are told by their size at the saw, so the scale has to
//! be known while the drawing is still being read. The fit takes its
//! scale from the same place ([`Laying`]); only which pieces are left out for being
//! too small may change it a little afterwards.

use kurbo::{Affine, BezPath, Rect, Shape as _};

use super::{Opening, Options};
use crate::art::Inked;

/// How the face will be laid on the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Laying {
    /// Width and height of the window for the face, mm.
    pub window: (f64, f64),
    /// Turn, degrees anticlockwise.
    pub turn_deg: f64,
    /// Whether it is mirrored left to right first.
    pub mirror: bool,
    /// Width asked for, mm.
    pub width: Option<f64>,
    /// Height asked for, mm.
    pub height: Option<f64>,
    /// Scale asked for, 1 for the drawing's own size.
    pub scale: Option<f64>,
    /// Whether the drawing keeps its own size.
    pub true_size: bool,
}

impl Laying {
    /// Takes points of the drawing, y down, to where they are turned to, y up.
    #[must_use]
    pub fn upright(&self) -> Affine {
        Affine::rotate(self.turn_deg.to_radians())
            * Affine::scale_non_uniform(if self.mirror { -1.0 } else { 1.0 }, -1.0)
    }

    /// Panel millimetres of one art unit, for a face with this box once turned.
    #[must_use]
    pub fn panel_mm(&self, turned: Rect, unit_mm: f64) -> f64 {
        let (width, height) = (turned.width(), turned.height());
        if self.true_size || turned.area() <= 0.0 {
            return unit_mm;
        }
        match (self.width, self.height, self.scale) {
            (Some(wanted), None, _) => wanted / width,
            (None, Some(wanted), _) => wanted / height,
            (Some(across), Some(up), _) => (across / width).min(up / height),
            (None, None, Some(scale)) if scale > 0.0 => scale * unit_mm,
            (None, None, _) => (self.window.0 / width).min(self.window.1 / height),
        }
    }
}

/// Panel millimetres of one art unit, for a face of these openings.
pub(super) fn of_openings(openings: &[Opening], options: &Options, unit_mm: f64) -> f64 {
    of(options, unit_mm, |turn| match turn {
        Some(turn) => around(openings.iter().map(|o| o.piece.outer.transformed(turn).bounds())),
        None => around(openings.iter().map(|o| o.piece.bounds())),
    })
}

/// Panel millimetres of one art unit, for a face of these shapes.
pub(super) fn of_shapes(shapes: &[&Inked], options: &Options, unit_mm: f64) -> f64 {
    // A line of no width inks nothing; it is its middle that is sawn.
    let drawn = |s: &&Inked| match &s.line {
        Some(line) if s.path.elements().is_empty() => line.centre.clone(),
        _ => s.path.clone(),
    };
    let turned = |path: BezPath, turn: Affine| (turn * path).bounding_box();
    of(options, unit_mm, |turn| match turn {
        Some(turn) => around(shapes.iter().map(|s| turned(drawn(s), turn))),
        None => around(shapes.iter().map(|s| s.bounds)),
    })
}

/// The scale, from the box that `bounds` finds under a turn.
fn of(options: &Options, unit_mm: f64, bounds: impl Fn(Option<Affine>) -> Rect) -> f64 {
    let Some(laying) = options.laying else { return unit_mm };
    let turn = (laying.turn_deg != 0.0).then(|| laying.upright());
    laying.panel_mm(bounds(turn), unit_mm)
}

fn around(boxes: impl Iterator<Item = Rect>) -> Rect {
    boxes.reduce(|a, b| a.union(b)).unwrap_or_default()
}
