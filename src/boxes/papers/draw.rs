//! Small drawing helpers: rectangles, dimensions, labels that fit.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

use crate::boxes::face::FaceCutout;
use crate::sheet::flow::line;
use crate::sheet::{Layer, Mark, Path, Stroke, Text, style};

/// A rectangle's outline on the parts layer.
pub(super) fn part(rect: Rect) -> Mark {
    Mark::new(Layer::Parts, Path::stroke(rect.to_path(0.01), style::outline()))
}

/// A rectangle drawn with dashes: something behind or a limit.
pub(super) fn dashed(layer: Layer, rect: Rect) -> Mark {
    let stroke = Stroke::new(style::FINE, style::QUIET).dashed(&[1.6, 1.0]);
    Mark::new(layer, Path::stroke(rect.to_path(0.01), stroke))
}

/// A rectangle drawn with long dashes, to be told from [`dashed`] ones.
pub(super) fn long_dashed(layer: Layer, rect: Rect) -> Mark {
    let stroke = Stroke::new(style::FINE, style::INK).dashed(&[4.0, 1.4]);
    Mark::new(layer, Path::stroke(rect.to_path(0.01), stroke))
}

/// A face's cut-outs on the front panel, whose left edge lies at `x0` of the view.
pub(super) fn cutouts(cutouts: &[FaceCutout], view: &View, x0: f64) -> Vec<Mark> {
    let place = Affine::translate(view.origin.to_vec2()) * Affine::scale(view.scale) * Affine::translate((x0, 0.0));
    let stroke = || Stroke::new(style::FINE, style::INK);
    cutouts.iter().map(|c| Mark::new(Layer::CutLines, Path::stroke(place * c.outline.clone(), stroke()))).collect()
}

/// Length of the tick at each end of a dimension line, mm.
const TICK: f64 = 1.6;

/// A dimension line along the bottom of a drawing: figure above the line,
/// moved to its right where the line is too short.
pub(super) fn across(x0: f64, x1: f64, y: f64, text: &str) -> Vec<Mark> {
    let mut marks = dimension(Point::new(x0, y), Point::new(x1, y), (0.0, TICK));
    let label = Text::new(text, ((x0 + x1) / 2.0, y + 2.0), style::SMALL).ink(style::INK).centred();
    let fits = label.width() + 1.0 <= x1 - x0;
    let beside = Text::new(text, (x1 + 1.5, y - style::SMALL * 0.35), style::SMALL).ink(style::INK);
    marks.push(Mark::new(Layer::Dimensions, if fits { label } else { beside }));
    marks
}

/// A dimension line up the side of a drawing, its figure turned.
pub(super) fn upright(y0: f64, y1: f64, x: f64, text: &str) -> Vec<Mark> {
    let mut marks = dimension(Point::new(x, y0), Point::new(x, y1), (TICK, 0.0));
    let label = Text::new(text, (x - 2.0, (y0 + y1) / 2.0), style::SMALL).ink(style::INK).turned(90.0).centred();
    if label.width() + 1.0 <= y1 - y0 {
        marks.push(Mark::new(Layer::Dimensions, label));
    } else {
        let beside = Text::new(text, (x + 1.5, (y0 + y1) / 2.0 - style::SMALL * 0.35), style::SMALL).ink(style::INK);
        marks.push(Mark::new(Layer::Dimensions, beside));
    }
    marks
}

fn dimension(a: Point, b: Point, tick: (f64, f64)) -> Vec<Mark> {
    let end = |p: Point| line((p.x - tick.0 / 2.0, p.y - tick.1 / 2.0), (p.x + tick.0 / 2.0, p.y + tick.1 / 2.0));
    let draw = |path: BezPath| Mark::new(Layer::Dimensions, Path::stroke(path, style::dimension()));
    vec![draw(line(a, b)), draw(end(a)), draw(end(b))]
}

/// A text in the middle of a rectangle: the first that fits, lying, or turned
/// where only the last would lie; nothing when none fits either way.
pub(super) fn label(rect: Rect, layer: Layer, texts: &[String]) -> Option<Mark> {
    let text = |t: &String, turn: f64| {
        let text = Text::new(t, rect.center(), style::SMALL).ink(style::INK).turned(turn).centred();
        let (along, across) = if turn == 0.0 { (rect.width(), rect.height()) } else { (rect.height(), rect.width()) };
        (text.width() + 1.2 <= along && style::SMALL * 0.9 <= across).then_some(text)
    };
    let (last, longer) = texts.split_last()?;
    let lying = longer.iter().find_map(|t| text(t, 0.0));
    let turned = || longer.iter().find_map(|t| text(t, 90.0));
    let found = lying.or_else(turned).or_else(|| text(last, 0.0)).or_else(|| text(last, 90.0))?;
    Some(Mark::new(layer, found))
}

/// A small arrow along the grain, with both heads.
pub(super) fn grain(center: Point, length: f64, upright: bool) -> Mark {
    let (half, head) = (length / 2.0, 1.1);
    let mut path = line((-half, 0.0), (half, 0.0));
    for end in [-1.0, 1.0] {
        let tip = end * half;
        path.move_to((tip - end * head, head * 0.6));
        path.line_to((tip, 0.0));
        path.line_to((tip - end * head, -head * 0.6));
    }
    let turn = if upright { std::f64::consts::FRAC_PI_2 } else { 0.0 };
    path.apply_affine(Affine::translate(center.to_vec2()) * Affine::rotate(turn));
    Mark::new(Layer::CentreMarks, Path::stroke(path, style::dimension()))
}

/// Where a drawing in box millimetres lands on the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    pub(super) scale: f64,
    pub(super) origin: Point,
}

impl View {
    pub(super) fn x(&self, x: f64) -> f64 {
        self.origin.x + x * self.scale
    }

    pub(super) fn y(&self, y: f64) -> f64 {
        self.origin.y + y * self.scale
    }

    pub(super) fn rect(&self, rect: Rect) -> Rect {
        Rect::new(self.x(rect.x0), self.y(rect.y0), self.x(rect.x1), self.y(rect.y1))
    }

    pub(super) fn point(&self, p: Point) -> Point {
        Point::new(self.x(p.x), self.y(p.y))
    }
}
