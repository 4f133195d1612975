//! A face on its panel: the plain data every later stage reads.

use kurbo::{Affine, Point, Rect, Size};
use serde::Serialize;

use crate::diag::Place;
use crate::geom::Piece;
use crate::units::Mm;

/// The layers of exported outlines, by name, the same in every format.
pub mod layer {
    /// Where the saw goes.
    pub const CUT: &str = "CUT";
    /// Where to drill.
    pub const HOLES: &str = "HOLES";
    /// The panel's edge.
    pub const PANEL: &str = "PANEL";
}

/// The board the face is sawn from. Panel space has its origin at the lower-left
/// corner, x right, y up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// Width, along x.
    pub width: Mm,
    /// Height, along y.
    pub height: Mm,
    /// Stock thickness.
    pub thickness: Mm,
    /// Direction of the grain in degrees anticlockwise from the x axis, in
    /// `0.0..180.0`; 90 is vertical, as in an upright fence board.
    pub grain_deg: f64,
}

impl Panel {
    /// The whole panel as a rectangle in panel space.
    #[must_use]
    pub fn rect(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width.get(), self.height.get())
    }

    /// The panel's centre.
    #[must_use]
    pub fn center(&self) -> Point {
        self.rect().center()
    }
}

/// How far cut-outs keep from each edge of the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearances {
    /// From the left edge.
    pub left: Mm,
    /// From the right edge.
    pub right: Mm,
    /// From the top edge.
    pub top: Mm,
    /// From the bottom edge.
    pub bottom: Mm,
}

impl Clearances {
    /// The same clearance on all four edges.
    #[must_use]
    pub const fn all(clear: Mm) -> Self {
        Self { left: clear, right: clear, top: clear, bottom: clear }
    }

    /// The window the clearances leave in `panel`; its sides may cross when the
    /// clearances are larger than the panel.
    #[must_use]
    pub fn window(&self, panel: &Panel) -> Rect {
        Rect {
            x0: self.left.get(),
            y0: self.bottom.get(),
            x1: (panel.width - self.right).get(),
            y1: (panel.height - self.top).get(),
        }
    }
}

/// One opening to saw: a connected area of waste. Its holes are islands of wood.
#[derive(Clone, Debug, PartialEq)]
pub struct CutOut {
    /// Number shown to the maker, from 1: by place until the order of sawing is
    /// known, then by that.
    pub id: u32,
    /// The opening, in panel millimetres.
    pub piece: Piece,
    /// Where in the art it came from, when one element made it.
    pub place: Option<Place>,
}

/// How the art was laid on the panel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Fit {
    /// Panel millimetres for one millimetre of the art at its own size.
    pub scale: f64,
    /// Extra stretch across (1.0 is none).
    pub stretch_x: f64,
    /// Extra stretch upward (1.0 is none).
    pub stretch_y: f64,
    /// Turn, degrees anticlockwise.
    pub turn_deg: f64,
    /// Whether the art was mirrored left to right.
    pub mirrored: bool,
    /// Width of all cut-outs together, mm.
    pub width_mm: f64,
    /// Height of all cut-outs together, mm.
    pub height_mm: f64,
    /// Left of the cut-outs, from the panel's left edge, mm.
    pub left_mm: f64,
    /// Bottom of the cut-outs, from the panel's bottom edge, mm.
    pub bottom_mm: f64,
}

impl Fit {
    /// Art that lies as it was drawn, at its own size; where and how large is not
    /// told.
    pub const AS_DRAWN: Self = Self {
        scale: 1.0,
        stretch_x: 1.0,
        stretch_y: 1.0,
        turn_deg: 0.0,
        mirrored: false,
        width_mm: 0.0,
        height_mm: 0.0,
        left_mm: 0.0,
        bottom_mm: 0.0,
    };
}

/// A face laid on its panel: what will be sawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// The board.
    pub panel: Panel,
    /// The clearances asked for.
    pub clear: Clearances,
    /// The openings. They do not overlap; they may touch at points.
    pub cutouts: Vec<CutOut>,
    /// How the art was laid on.
    pub fit: Fit,
}

impl Face {
    /// The window the clearances leave.
    #[must_use]
    pub fn window(&self) -> Rect {
        self.clear.window(&self.panel)
    }

    /// The same face, its cut-outs by their new numbers and in their order.
    #[must_use]
    pub fn renumbered(mut self, numbers: &Numbers) -> Self {
        for cutout in &mut self.cutouts {
            cutout.id = numbers.of(cutout.id);
        }
        self.cutouts.sort_by_key(|cutout| cutout.id);
        self
    }

    /// The cut-outs' middle before they were turned, in panel space, and their
    /// size there, mm.
    #[must_use]
    pub fn unturned(&self) -> (Point, Size) {
        let fit = &self.fit;
        let lay = Affine::scale_non_uniform(fit.stretch_x, fit.stretch_y) * Affine::rotate(fit.turn_deg.to_radians());
        let back = lay.inverse();
        let boxes = self.cutouts.iter().map(|c| c.piece.transformed(back).bounds());
        let whole = boxes.reduce(|a, b| a.union(b)).unwrap_or_default();
        (lay * whole.center(), whole.size())
    }

    /// From the drawing's own millimetres about its middle (y up, unturned,
    /// unmirrored) to the panel: places noted there stay on the same spot of
    /// the drawing however it is laid.
    #[must_use]
    pub fn frame(&self) -> Affine {
        let fit = &self.fit;
        let across = if fit.mirrored { -fit.scale } else { fit.scale };
        Affine::translate(self.unturned().0.to_vec2())
            * Affine::scale_non_uniform(fit.stretch_x, fit.stretch_y)
            * Affine::rotate(fit.turn_deg.to_radians())
            * Affine::scale_non_uniform(across, fit.scale)
    }
}

/// New numbers for cut-outs that have been numbered from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Numbers(Vec<u32>);

impl Numbers {
    /// Numbers from 1 in the order in which `ids`, each cut-out once, names them.
    #[must_use]
    pub fn in_order(ids: &[u32]) -> Self {
        let mut new = vec![0; ids.len()];
        for (number, &id) in (1..).zip(ids) {
            new[id as usize - 1] = number;
        }
        Self(new)
    }

    /// The new number of the cut-out that was `id`; one nobody knows keeps its own.
    #[must_use]
    pub fn of(&self, id: u32) -> u32 {
        id.checked_sub(1).and_then(|index| self.0.get(index as usize)).copied().unwrap_or(id)
    }
}

/// Numbers cut-outs from 1 by the place of their bounding box: top to bottom in
/// rows a tenth of the whole height deep, left to right within a row.
#[must_use]
pub fn number_cutouts(pieces: Vec<(Piece, Option<Place>)>) -> Vec<CutOut> {
    let boxes: Vec<Rect> = pieces.iter().map(|(piece, _)| piece.bounds()).collect();
    let all = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or_default();
    let row = |bounds: Rect| ((all.y1 - bounds.y1) / (all.height() / 10.0).max(1e-9)).floor();
    let key = |(piece, bounds): (&(Piece, _), &Rect)| [row(*bounds), bounds.x0, bounds.y0, piece.0.area()];
    let keys: Vec<[f64; 4]> = pieces.iter().zip(&boxes).map(key).collect();
    let mut placed: Vec<_> = pieces.into_iter().zip(keys).collect();
    placed.sort_by(|(_, a), (_, b)| {
        let orders = a.iter().zip(b).map(|(a, b)| a.total_cmp(b));
        orders.fold(std::cmp::Ordering::Equal, std::cmp::Ordering::then)
    });
    placed.into_iter().zip(1..).map(|(((piece, place), _), id)| CutOut { id, piece, place }).collect()
}
