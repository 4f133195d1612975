//! The panel's edges on the template: its outline, the flaps that fold over the
//! board, and the marks for its middle.

use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::flow::line;
use super::{Ink, Layer, Mark, Path, Stroke, Text, style};

/// Depth of the flap on each edge, mm; 0 for none.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flaps {
    /// Over the left edge.
    pub left: f64,
    /// Over the right edge.
    pub right: f64,
    /// Over the top edge.
    pub top: f64,
    /// Over the bottom edge.
    pub bottom: f64,
}

impl Flaps {
    /// Whether there is any.
    #[must_use]
    pub fn any(&self) -> bool {
        [self.left, self.right, self.top, self.bottom].iter().any(|depth| *depth > 0.0)
    }
}

/// The panel's outline; edges with a flap are folds.
pub(super) fn outline(panel: Rect, flaps: &Flaps) -> Vec<Mark> {
    let (ll, lr) = (Point::new(panel.x0, panel.y0), Point::new(panel.x1, panel.y0));
    let (ul, ur) = (Point::new(panel.x0, panel.y1), Point::new(panel.x1, panel.y1));
    let edges = [
        (flaps.bottom, ll, lr, Vec2::new(0.0, -1.0)),
        (flaps.right, lr, ur, Vec2::new(1.0, 0.0)),
        (flaps.top, ur, ul, Vec2::new(0.0, 1.0)),
        (flaps.left, ul, ll, Vec2::new(-1.0, 0.0)),
    ];
    let mut marks: Vec<Mark> =
        edges.iter().filter(|edge| edge.0 > 0.0).flat_map(|&(d, a, b, out)| flap(d, a, b, out)).collect();
    let stroke = |depth: f64| if depth > 0.0 { style::fold() } else { Stroke::new(0.3, Ink::BLACK) };
    if edges.iter().all(|edge| (edge.0 > 0.0) == (edges[0].0 > 0.0)) {
        marks.push(Mark::new(Layer::Panel, Path::stroke(panel.to_path(1e-3), stroke(edges[0].0))));
    } else {
        marks.extend(edges.map(|(depth, a, b, _)| Mark::new(Layer::Panel, Path::stroke(line(a, b), stroke(depth)))));
    }
    marks
}

/// A flap beyond the edge from `a` to `b`, its ends slanted so that neighbours
/// do not lie on each other when folded.
fn flap(depth: f64, a: Point, b: Point, out: Vec2) -> Vec<Mark> {
    let along = (b - a).normalize();
    let slant = (depth * 0.6).min(a.distance(b) / 4.0);
    let (c, d) = (a + out * depth + along * slant, b + out * depth - along * slant);
    let mut edge = BezPath::new();
    edge.move_to(a);
    edge.line_to(c);
    edge.line_to(d);
    edge.line_to(b);
    let third = a.lerp(b, 0.25) + out * (depth / 2.0);
    let angle = along.atan2().to_degrees();
    let upright = if angle > 90.0 + 1e-9 || angle <= -90.0 + 1e-9 { angle + 180.0 } else { angle };
    let word = Text::new("fold back", third, style::SMALL).ink(style::QUIET).turned(upright).centred();
    vec![
        Mark::new(Layer::Flaps, Path::stroke(edge, Stroke::new(style::FINE, style::INK))),
        Mark::new(Layer::Flaps, word),
    ]
}

/// Where the centre marks stand: the middle of each edge and of the panel.
pub(super) fn centres(panel: Rect) -> [Point; 5] {
    let mid = panel.center();
    [
        Point::new(mid.x, panel.y0),
        Point::new(mid.x, panel.y1),
        Point::new(panel.x0, mid.y),
        Point::new(panel.x1, mid.y),
        mid,
    ]
}

/// Short lines across the middle of each edge, outward only over a flap, and a
/// small cross in the middle.
pub(super) fn centre_marks(panel: Rect, flaps: &Flaps) -> Vec<Mark> {
    let short = 3.0;
    let [bottom, top, left, right, mid] = centres(panel);
    let (across, up) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
    let stroke = Stroke::new(0.2, Ink::BLACK);
    let tick = |at: Point, out: Vec2, flap: f64| {
        let path = line(at - out * short, at + out * flap.min(short));
        Mark::new(Layer::CentreMarks, Path::stroke(path, stroke.clone()))
    };
    vec![
        tick(bottom, -up, flaps.bottom),
        tick(top, up, flaps.top),
        tick(left, -across, flaps.left),
        tick(right, across, flaps.right),
        tick(mid, across, short),
        tick(mid, up, short),
    ]
}
