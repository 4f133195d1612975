//! A laid face as DXF, for those who have other machines, too: true size,
//! millimetres, y up from the panel's lower left corner, on three layers.
//!
//! Written in the oldest form still read everywhere (release 12), which knows
//! lines and arcs but no free curves: a curve becomes arcs that run into each
//! other without a corner and stay within [`ARC_TOLERANCE`] of it.

use std::fmt::{Display, Write as _};

use kurbo::{CubicBez, ParamCurve, PathSeg, Point, Vec2};

use crate::entry::EntryHole;
use crate::face::{Face, layer};
use crate::geom::Ring;

/// Farthest an arc may lie from the curve it stands for, mm: a hundredth of a
/// pencil line, half of what the reports show.
pub const ARC_TOLERANCE: f64 = 0.005;
/// What is aimed at, mm: the distance is measured at a few places only.
const AIM: f64 = 0.8 * ARC_TOLERANCE;
/// Places along a piece of curve where its distance from the arcs is measured.
const PLACES: u32 = 8;
/// Halvings of one curve at most; a line stands in for what is left. A panel's
/// length halved as often is under the tolerance.
const HALVINGS: u32 = 18;
/// Arcs turn a quarter at most: tan(90°/4).
const MOST_BULGE: f64 = 0.414_213_562_373_095;

/// `face` and its entry `holes` as DXF.
#[must_use]
pub fn dxf(face: &Face, holes: &[EntryHole]) -> String {
    let mut out = Pairs(String::new());
    let (width, height) = (face.panel.width.get(), face.panel.height.get());
    out.put(999, concat!("fretgrin ", env!("CARGO_PKG_VERSION"), ": outlines at true size, in millimetres"));
    out.header(width, height);
    out.tables();
    out.section("ENTITIES");
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    out.polyline(layer::PANEL, &corners.map(|(x, y)| (Point::new(x, y), 0.0)));
    for ring in face.cutouts.iter().flat_map(|cutout| cutout.piece.rings()) {
        out.polyline(layer::CUT, &vertices(ring));
    }
    for hole in holes {
        out.put(0, "CIRCLE");
        out.put(8, layer::HOLES);
        out.point(hole.at);
        out.number(40, hole.diameter / 2.0);
    }
    out.put(0, "ENDSEC");
    out.put(0, "EOF");
    out.0
}

/// The text so far: pairs of lines, a group code and its value.
struct Pairs(String);

impl Pairs {
    fn put(&mut self, code: i32, value: impl Display) {
        // Writing to a string does not fail.
        let _ = writeln!(self.0, "{code}\n{value}");
    }

    /// A number, a millionth of a millimetre fine.
    fn number(&mut self, code: i32, value: f64) {
        let text = format!("{value:.6}");
        let short = text.trim_end_matches('0');
        let short = if short.ends_with('.') { format!("{short}0") } else { short.to_owned() };
        self.put(code, if short == "-0.0" { "0.0" } else { &short });
    }

    fn point(&mut self, p: Point) {
        self.number(10, p.x);
        self.number(20, p.y);
        self.number(30, 0.0);
    }

    fn section(&mut self, name: &str) {
        self.put(0, "SECTION");
        self.put(2, name);
    }

    /// `AC1009` is release 12; `$INSUNITS` 4 is millimetres, younger than that
    /// release, and passed over by readers that do not know it.
    fn header(&mut self, width: f64, height: f64) {
        self.section("HEADER");
        self.put(9, "$ACADVER");
        self.put(1, "AC1009");
        self.put(9, "$INSUNITS");
        self.put(70, 4);
        for (name, x, y) in [("$EXTMIN", 0.0, 0.0), ("$EXTMAX", width, height)] {
            self.put(9, name);
            self.point(Point::new(x, y));
        }
        self.put(0, "ENDSEC");
    }

    /// One line type and the layers, all in colour 7 (black or white): what a line
    /// is for is its layer's name.
    fn tables(&mut self) {
        self.section("TABLES");
        self.table("LTYPE", 1);
        for (code, value) in [(0, "LTYPE"), (2, "CONTINUOUS"), (70, "0"), (3, "Solid line"), (72, "65"), (73, "0")] {
            self.put(code, value);
        }
        self.number(40, 0.0);
        self.put(0, "ENDTAB");
        let layers = ["0", layer::CUT, layer::HOLES, layer::PANEL];
        self.table("LAYER", layers.len());
        for name in layers {
            self.put(0, "LAYER");
            self.put(2, name);
            self.put(70, 0);
            self.put(62, 7);
            self.put(6, "CONTINUOUS");
        }
        self.put(0, "ENDTAB");
        self.put(0, "ENDSEC");
    }

    fn table(&mut self, name: &str, entries: usize) {
        self.put(0, "TABLE");
        self.put(2, name);
        self.put(70, entries);
    }

    /// A closed polyline; each vertex carries the bulge of the way to the next.
    fn polyline(&mut self, layer: &str, vertices: &[(Point, f64)]) {
        self.put(0, "POLYLINE");
        self.put(8, layer);
        self.put(66, 1);
        self.point(Point::ORIGIN);
        self.put(70, 1);
        for &(at, bulge) in vertices {
            self.put(0, "VERTEX");
            self.put(8, layer);
            self.point(at);
            if bulge != 0.0 {
                self.number(42, bulge);
            }
        }
        self.put(0, "SEQEND");
        self.put(8, layer);
    }
}

/// A ring as vertices with bulges.
fn vertices(ring: &Ring) -> Vec<(Point, f64)> {
    let mut all = Vec::new();
    for seg in ring.segs() {
        match seg {
            PathSeg::Line(line) => all.push((line.p0, 0.0)),
            PathSeg::Quad(quad) => arcs(quad.raise(), HALVINGS, &mut all),
            PathSeg::Cubic(cubic) => arcs(*cubic, HALVINGS, &mut all),
        }
    }
    all
}

/// Appends the arcs that stand for `cubic`, each as its start and bulge.
fn arcs(cubic: CubicBez, halvings: u32, all: &mut Vec<(Point, f64)>) {
    if is_straight(&cubic) || halvings == 0 {
        all.push((cubic.p0, 0.0));
        return;
    }
    match pair(&cubic).filter(|pair| pair.lies_along(&cubic)) {
        Some(pair) => all.extend(pair.arcs.map(|arc| (arc.from, arc.bulge))),
        None => {
            let (first, second) = cubic.subdivide();
            arcs(first, halvings - 1, all);
            arcs(second, halvings - 1, all);
        }
    }
}

/// Whether the curve is a line as good as: its handles lie on its chord.
fn is_straight(cubic: &CubicBez) -> bool {
    let chord = cubic.p3 - cubic.p0;
    let along = chord.hypot();
    let on = |p: Point| {
        let from = p - cubic.p0;
        let (off, at) = (from.cross(chord) / along, from.dot(chord) / along);
        // A hundredth of the aim: such a handle bends nothing that shows.
        off.abs() < AIM / 100.0 && (0.0..=along).contains(&at)
    };
    along > 0.0 && on(cubic.p1) && on(cubic.p2)
}

#[derive(Clone, Copy, Debug)]
struct Arc {
    from: Point,
    to: Point,
    bulge: f64,
}

/// Two arcs that meet without a corner.
#[derive(Clone, Copy, Debug)]
struct Pair {
    arcs: [Arc; 2],
    /// Direction where they meet.
    heading: Vec2,
}

/// The two arcs with the curve's ends and directions there, their handles of
/// equal length (the biarc of Bolton 1975); `None` where there is none.
fn pair(cubic: &CubicBez) -> Option<Pair> {
    let (start, end) = (cubic.p0, cubic.p3);
    let ahead = direction([cubic.p1 - start, cubic.p2 - start, end - start])?;
    let back = direction([end - cubic.p2, end - cubic.p1, end - start])?;
    let chord = end - start;
    let (both, spread) = (chord.dot(ahead + back), 2.0 * (1.0 - ahead.dot(back)));
    let handle = if spread < 1e-12 {
        chord.hypot2() / (2.0 * both)
    } else {
        ((both * both + spread * chord.hypot2()).sqrt() - both) / spread
    };
    if !(handle > 0.0 && handle.is_finite()) {
        return None;
    }
    let (a, b) = (start + ahead * handle, end - back * handle);
    let joint = a.midpoint(b);
    let first = Arc { from: start, to: joint, bulge: bulge(ahead, joint - start)? };
    let second = Arc { from: joint, to: end, bulge: -bulge(-back, joint - end)? };
    Some(Pair { arcs: [first, second], heading: b - a })
}

fn direction(choices: [Vec2; 3]) -> Option<Vec2> {
    choices.into_iter().find(|v| v.hypot() > 1e-9).map(Vec2::normalize)
}

/// The bulge of an arc that sets out along `ahead` and has this chord: the arc
/// turns twice the angle between the two, and the bulge is the tangent of half
/// that angle. `None` for arcs that turn more than a quarter.
fn bulge(ahead: Vec2, chord: Vec2) -> Option<f64> {
    let length = chord.hypot();
    let (sin, cos) = (ahead.cross(chord) / length, ahead.dot(chord) / length);
    let bulge = sin / (1.0 + cos);
    (bulge.abs() <= MOST_BULGE).then_some(if bulge.abs() < 1e-9 { 0.0 } else { bulge })
}

impl Pair {
    fn lies_along(&self, cubic: &CubicBez) -> bool {
        let [first, second] = &self.arcs;
        (1..PLACES).map(|i| cubic.eval(f64::from(i) / f64::from(PLACES))).all(|p| {
            let arc = if (p - first.to).dot(self.heading) <= 0.0 { first } else { second };
            arc.distance(p) <= AIM
        })
    }
}

impl Arc {
    /// Distance of `p`, which lies beside the arc, from it.
    fn distance(&self, p: Point) -> f64 {
        let chord = self.to - self.from;
        let length = chord.hypot();
        if self.bulge == 0.0 {
            return (p - self.from).cross(chord).abs() / length;
        }
        // The centre stands to the left of an arc that turns left.
        let square = self.bulge * self.bulge;
        let left = Vec2::new(-chord.y, chord.x) * ((1.0 - square) / (4.0 * self.bulge));
        let radius = length * (1.0 + square) / (4.0 * self.bulge.abs());
        (p.distance(self.from.midpoint(self.to) + left) - radius).abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(cubic: CubicBez) -> Vec<(Point, f64)> {
        let mut all = Vec::new();
        arcs(cubic, HALVINGS, &mut all);
        all
    }

    #[test]
    fn a_quarter_circle_is_few_arcs_of_its_radius() {
        // At this radius such a curve leaves the circle by 0.0027 mm.
        let k = 0.552_284_749_830_793_4 * 10.0;
        let quarter = CubicBez::new((10.0, 0.0), (10.0, k), (k, 10.0), (0.0, 10.0));
        let all = of(quarter);
        assert!(all.len() <= 4, "{all:?}");
        let turned: f64 = all.iter().map(|(_, bulge)| 4.0 * bulge.atan()).sum();
        assert!((turned - std::f64::consts::FRAC_PI_2).abs() < 1e-9, "a quarter in all: {turned}");
    }

    #[test]
    fn lines_cusps_and_loops_come_to_an_end() {
        let straight = CubicBez::new((0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0));
        assert_eq!(of(straight), [(Point::ZERO, 0.0)], "a line is a line");
        let cusp = CubicBez::new((0.0, 0.0), (10.0, 10.0), (0.0, 10.0), (10.0, 0.0));
        let lost = CubicBez::new((0.0, 0.0), (0.0, 0.0), (5.0, 5.0), (5.0, 5.0));
        let looped = CubicBez::new((0.0, 0.0), (30.0, 10.0), (-20.0, 10.0), (10.0, 0.0));
        let there_and_back = CubicBez::new((0.0, 0.0), (9.0, 0.0), (9.0, 0.0), (0.0, 0.0));
        for cubic in [cusp, lost, looped, there_and_back] {
            let all = of(cubic);
            assert!(
                (1..200).contains(&all.len()) && all.iter().all(|(p, b)| p.is_finite() && b.is_finite()),
                "{all:?}"
            );
        }
    }

    #[test]
    fn numbers_are_plain() {
        let mut out = Pairs(String::new());
        for value in [0.0, -0.0, 1.5, 133.35, -1e-9, 1e-7] {
            out.number(1, value);
        }
        assert_eq!(out.0.lines().skip(1).step_by(2).collect::<Vec<_>>(), ["0.0", "0.0", "1.5", "133.35", "0.0", "0.0"]);
    }
}
