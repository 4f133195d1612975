//! What joins the sheets of a large panel: trim lines and registration crosses.

use kurbo::{Point, Rect, Shape as _, Vec2};

use super::flow::line;
use super::layout::{Layout, Tile};
use super::panel::Drawing;
use super::{Layer, Mark, Path, Shape, Stroke, Text, style, symbols};

/// Trim lines in the middle of each overlap with registration crosses on them,
/// panel space: the same points on both sheets, with the same letters.
pub(super) fn marks(layout: &Layout, tile: &Tile, busy: &Busy) -> Vec<Mark> {
    let mut marks = Vec::new();
    let (columns, rows) = layout.grid;
    let w = tile.window;
    let half = layout.overlap / 2.0;
    let across = Vec2::new(1.0, 0.0);
    let up = Vec2::new(0.0, 1.0);
    let mut sides = Vec::new();
    if tile.column > 0 {
        sides.push((Point::new(w.x0 + half, w.y0), up, w.height(), tile.column - 1, 0));
    }
    if tile.column + 1 < columns {
        sides.push((Point::new(w.x1 - half, w.y0), up, w.height(), tile.column, 0));
    }
    if tile.row > 0 {
        sides.push((Point::new(w.x0, w.y1 - half), across, w.width(), tile.row - 1, 1));
    }
    if tile.row + 1 < rows {
        sides.push((Point::new(w.x0, w.y0 + half), across, w.width(), tile.row, 1));
    }
    for (from, way, length, join, kind) in sides {
        let dash = Stroke::new(style::FINE, style::INK).dashed(&[4.0, 1.0, 0.8, 1.0]);
        marks.push(Mark::new(Layer::Registration, Path::stroke(line(from, from + way * length), dash)));
        let place = if kind == 0 { tile.row } else { tile.column };
        for (end, part) in [(0, 0.22), (1, 0.78)] {
            let at = cross_at(from, way, length, part, layout.overlap, busy);
            let lines = if kind == 0 { columns - 1 } else { rows - 1 };
            let number =
                if kind == 0 { (place * lines + join) * 2 + end } else { 1000 + (place * lines + join) * 2 + end };
            marks.extend(symbols::cross(at));
            let letters = cross_letters(number, layout);
            let beside = Text::new(letters, at + Vec2::new(2.2, 2.0), style::SMALL).bold().ink(style::INK);
            marks.push(Mark::new(Layer::Registration, beside));
        }
    }
    marks
}

/// What a cross keeps off: cut lines, and the boxes of signs and words.
pub(super) struct Busy {
    cuts: Vec<kurbo::PathSeg>,
    boxes: Vec<Rect>,
}

impl Busy {
    pub(super) fn of(drawing: &Drawing) -> Self {
        let mut busy = Self { cuts: Vec::new(), boxes: Vec::new() };
        for mark in &drawing.marks {
            match (&mark.shape, mark.layer) {
                (Shape::Path(path), Layer::CutLines) => busy.cuts.extend(path.path.segments()),
                (Shape::Path(_), Layer::Waste | Layer::NailZones | Layer::Panel | Layer::Flaps) => {}
                (Shape::Path(path), _) => busy.boxes.push(path.path.control_box()),
                (Shape::Text(text), _) => busy.boxes.push(text.bounds()),
                (Shape::Clip { .. }, _) => {}
            }
        }
        busy
    }

    /// Distance from `p` to the nearest of it, mm, at most 20.
    fn room(&self, p: Point) -> f64 {
        let lines = self.cuts.iter().map(|seg| distance(seg, p));
        lines.chain(self.boxes.iter().map(|b| to_box(*b, p))).fold(20.0, f64::min)
    }
}

/// A place for a cross near `part` of the way along a join, where there is room
/// for it and its letter. Depends only on the join and the drawing, so both
/// sheets find the same place.
fn cross_at(from: Point, way: Vec2, length: f64, part: f64, overlap: f64, busy: &Busy) -> Point {
    let spot = |step: i32| {
        let ends = (overlap, (length - overlap).max(overlap));
        from + way * (length * part + f64::from(step) * 2.5).clamp(ends.0, ends.1)
    };
    // Outward from the place asked for, both ways in turn.
    let steps = (0..24).map(|i| if i % 2 == 0 { i / 2 } else { -(i / 2) - 1 });
    let rooms = steps.map(|step| (busy.room(spot(step)).min(6.5), step));
    let best = rooms.fold((f64::NEG_INFINITY, 0), |best, next| if next.0 > best.0 { next } else { best });
    spot(best.1)
}

fn to_box(rect: Rect, p: Point) -> f64 {
    p.distance(Point::new(p.x.clamp(rect.x0, rect.x1), p.y.clamp(rect.y0, rect.y1)))
}

fn distance(seg: &kurbo::PathSeg, p: Point) -> f64 {
    use kurbo::ParamCurveNearest as _;
    if to_box(seg.bounding_box(), p) > 20.0 { f64::INFINITY } else { seg.nearest(p, 1e-2).distance_sq.sqrt() }
}

/// A letter or two for a cross; upright joins first, then level ones.
fn cross_letters(number: usize, layout: &Layout) -> String {
    let upright = layout.grid.1 * (layout.grid.0 - 1) * 2;
    let index = if number >= 1000 { upright + number - 1000 } else { number };
    let letter = char::from(b'a' + (index % 26) as u8);
    if index < 26 { letter.to_string() } else { format!("{letter}{}", index / 26 + 1) }
}
