//! The signs of the template. Each kind has its own shape, so that they read in
//! black and white; filled means `stop`, open means `care`, thin means `note`.

use kurbo::{Affine, BezPath, Circle, Point, Rect, RoundedRect, Shape as _, Vec2};

use super::flow::line;
use super::{Ink, Layer, Mark, Path, Stroke, Text, style};
use crate::diag::Severity;

/// Curves of signs are drawn to this accuracy, mm.
const ROUND: f64 = 1e-3;

/// Radius of an order number's disc for `digits` digits, mm.
#[must_use]
pub fn disc_radius(digits: usize) -> f64 {
    if digits < 3 { 2.7 } else { 3.4 }
}

/// A circle as curves.
#[must_use]
pub fn circle(at: Point, radius: f64) -> BezPath {
    Circle::new(at, radius).to_path(ROUND)
}

/// A closed polygon.
#[must_use]
pub fn polygon(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (index, &p) in points.iter().enumerate() {
        if index == 0 { path.move_to(p) } else { path.line_to(p) }
    }
    path.close_path();
    path
}

/// How a sign of this severity is inked.
fn weighed(path: BezPath, severity: Severity) -> Path {
    match severity {
        Severity::Stop => Path::fill(path, Ink::BLACK).outlined(Stroke::new(0.3, Ink::BLACK)),
        Severity::Care => Path::fill(path, Ink::WHITE).outlined(Stroke::new(0.35, Ink::BLACK)),
        Severity::Note => Path::fill(path, Ink::WHITE).outlined(Stroke::new(style::FINE, style::QUIET)),
    }
}

/// An entry hole at its true diameter, with lines to centre the drill on.
#[must_use]
pub fn hole(at: Point, diameter: f64) -> Vec<Mark> {
    let reach = diameter / 2.0 + 1.3;
    let cross = |d: Vec2| Path::stroke(line(at - d, at + d), Stroke::new(style::HAIR, Ink::BLACK));
    let ring = Path::stroke(circle(at, diameter / 2.0), Stroke::new(0.25, Ink::BLACK));
    let marks = [ring, cross(Vec2::new(reach, 0.0)), cross(Vec2::new(0.0, reach))];
    marks.into_iter().map(|path| Mark::new(Layer::EntryHoles, path)).collect()
}

/// An order number: its disc and its figures.
#[must_use]
pub fn order_number(at: Point, number: u32) -> [Mark; 2] {
    let text = number.to_string();
    let disc = Path::fill(circle(at, disc_radius(text.len())), Ink::WHITE).outlined(Stroke::new(0.3, Ink::BLACK));
    let size = if text.len() < 3 { 3.2 } else { 2.8 };
    [Mark::new(Layer::Numbers, disc), Mark::new(Layer::Numbers, Text::new(text, at, size).bold().centred())]
}

/// A leader from its place, which a dot marks unless a `sign` stands there, to a name.
#[must_use]
pub fn leader(layer: Layer, from: Point, to: Point, sign: bool) -> Vec<Mark> {
    let dot = (!sign).then(|| Path::fill(circle(from, 0.45), style::QUIET));
    let leader = Path::stroke(line(from, to), style::leader());
    std::iter::once(leader).chain(dot).map(|path| Mark::new(layer, path)).collect()
}

/// Wood that falls out: a square with its name inside.
#[must_use]
pub fn island(at: Point, name: &str) -> Vec<Mark> {
    let text = Text::new(name, at, 2.7).bold().ink(Ink::WHITE).centred();
    let square = Rect::from_center_size(at, island_size(name)).to_path(ROUND);
    vec![Mark::new(Layer::Islands, Path::fill(square, Ink::BLACK)), Mark::new(Layer::Islands, text)]
}

/// A place named on a rounded plate: where a hole has no room, where the face
/// reaches too far.
#[must_use]
pub fn flag(rect: Rect, layer: Layer, name: &str, severity: Severity) -> Vec<Mark> {
    let ink = if severity == Severity::Stop { Ink::WHITE } else { Ink::BLACK };
    let plate = RoundedRect::from_rect(rect, rect.height() / 2.0).to_path(ROUND);
    let text = Text::new(name, rect.center(), 2.7).bold().ink(ink).centred();
    vec![Mark::new(layer, weighed(plate, severity)), Mark::new(layer, text)]
}

/// Size of a flag's plate, mm.
#[must_use]
pub fn flag_size(name: &str) -> (f64, f64) {
    (crate::font::width(name, 2.7, crate::font::Weight::Bold) + 3.4, 4.2)
}

/// Size of an island's square, mm.
#[must_use]
pub fn island_size(name: &str) -> (f64, f64) {
    let side = 4.6;
    ((crate::font::width(name, 2.7, crate::font::Weight::Bold) + 2.0).max(side), side)
}

/// Longest and shortest arrowhead of a bridge's sign, mm.
pub const HEAD: (f64, f64) = (2.3, 1.2);

/// Whether a bridge is none: openings touch there.
#[must_use]
pub fn is_contact(feet: [Point; 2]) -> bool {
    feet[0].distance(feet[1]) < 0.05
}

/// A weak bridge: a line across it and arrowheads that meet it from both sides,
/// except from a side that is the panel's own edge. `heads` are their lengths, mm.
#[must_use]
pub fn bridge(feet: [Point; 2], edge: [bool; 2], heads: [f64; 2], severity: Severity) -> Vec<Mark> {
    let across = feet[1] - feet[0];
    if is_contact(feet) {
        let ring = Path::stroke(circle(feet[0], 1.8), Stroke::new(style::SIGN, Ink::BLACK));
        return vec![Mark::new(Layer::WeakSpots, ring)];
    }
    let way = across.normalize();
    let bar = Path::stroke(line(feet[0], feet[1]), Stroke::new(0.3, Ink::BLACK));
    let sides = [(feet[0], -way, heads[0], edge[0]), (feet[1], way, heads[1], edge[1])];
    let sides = sides.into_iter().filter(|(.., edge)| !edge);
    let heads = sides.map(|(tip, out, long, _)| weighed(triangle(tip, out, long, long * 0.41), severity));
    std::iter::once(bar).chain(heads).map(|path| Mark::new(Layer::WeakSpots, path)).collect()
}

/// A tight turn: a triangle whose tip points at it from the direction `from`.
#[must_use]
pub fn turn(at: Point, from: Vec2, severity: Severity) -> Vec<Mark> {
    vec![Mark::new(Layer::Turns, weighed(triangle(at + from * 0.45, from, 1.9, 0.9), severity))]
}

/// A slot too narrow: a diamond.
#[must_use]
pub fn slot(at: Point, severity: Severity) -> Vec<Mark> {
    let r = 1.3;
    let corner = |x: f64, y: f64| at + Vec2::new(x * r, y * r);
    let diamond = polygon(&[corner(1.0, 0.0), corner(0.0, 1.0), corner(-1.0, 0.0), corner(0.0, -1.0)]);
    vec![Mark::new(Layer::Turns, weighed(diamond, severity))]
}

/// Where a nail goes: a ring with a slanted cross.
#[must_use]
pub fn nail(at: Point) -> Vec<Mark> {
    let (r, stroke) = (1.1, Stroke::new(0.25, Ink::BLACK));
    let slant = |y: f64| {
        let d = Vec2::new(r, y).normalize() * r;
        Path::stroke(line(at - d, at + d), stroke.clone())
    };
    let ring = Path::fill(circle(at, r), Ink::WHITE).outlined(stroke.clone());
    [ring, slant(r), slant(-r)].into_iter().map(|path| Mark::new(Layer::Nails, path)).collect()
}

/// A nail driven in from the panel's edge: its head there and its way in the wood.
#[must_use]
pub fn edge_nail(from: Point, to: Point) -> Vec<Mark> {
    let way = (to - from).normalize();
    let side = Vec2::new(-way.y, way.x) * 1.3;
    let head = Path::stroke(line(from - side, from + side), Stroke::new(0.45, Ink::BLACK));
    let shank = Path::stroke(line(from, to), Stroke::new(0.25, Ink::BLACK).dashed(&[1.2, 0.8]));
    [head, shank].map(|path| Mark::new(Layer::Nails, path)).into()
}

/// A registration cross with its letter's place left free at the upper right.
#[must_use]
pub fn cross(at: Point) -> Vec<Mark> {
    let stroke = Stroke::new(0.2, Ink::BLACK);
    let arm = |d: Vec2| Path::stroke(line(at - d, at + d), stroke.clone());
    let ring = Path::stroke(circle(at, 1.8), stroke.clone());
    let marks = [arm(Vec2::new(4.0, 0.0)), arm(Vec2::new(0.0, 4.0)), ring];
    marks.into_iter().map(|path| Mark::new(Layer::Registration, path)).collect()
}

/// A double arrow along the grain, `length` mm long, with its word beside it.
#[must_use]
pub fn grain(at: Point, length: f64, grain_deg: f64) -> Vec<Mark> {
    // Kept readable from below or from the right.
    let angle = if grain_deg > 90.0 + 1e-9 { grain_deg - 180.0 } else { grain_deg };
    let turn = Affine::translate(at.to_vec2()) * Affine::rotate(angle.to_radians());
    let half = length / 2.0;
    let shaft = Path::stroke(line((-half + 1.0, 0.0), (half - 1.0, 0.0)), Stroke::new(0.3, style::INK));
    let head = |x: f64| Path::fill(triangle(Point::new(x, 0.0), Vec2::new(-x.signum(), 0.0), 2.6, 0.85), style::INK);
    let word = Text::new("grain", (0.0, 0.9), style::SMALL).anchor(super::Anchor::Middle).ink(style::INK);
    [shaft, head(half), head(-half)]
        .into_iter()
        .map(|path| Mark::new(Layer::CentreMarks, path))
        .chain([Mark::new(Layer::CentreMarks, word)])
        .map(|mark| mark.transformed(turn))
        .collect()
}

/// Size of the upright box round a grain arrow, mm.
#[must_use]
pub fn grain_size(length: f64, grain_deg: f64) -> (f64, f64) {
    let flat = Rect::new(-length / 2.0, -3.0, length / 2.0, 3.0);
    let turned = Affine::rotate(grain_deg.to_radians()).transform_rect_bbox(flat);
    (turned.width(), turned.height())
}

/// A triangle with its tip at `tip`, `height` mm long away along `out`.
fn triangle(tip: Point, out: Vec2, height: f64, half_base: f64) -> BezPath {
    let (base, side) = (tip + out * height, Vec2::new(-out.y, out.x) * half_base);
    polygon(&[tip, base + side, base - side])
}

/// A white plate that clears the hatching behind a label.
#[must_use]
pub fn plate(rect: Rect) -> Mark {
    Mark::new(Layer::Waste, Path::fill(RoundedRect::from_rect(rect, 0.6).to_path(0.01), Ink::WHITE))
}
