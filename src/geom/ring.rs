//! Closed curves and the regions they bound.

use kurbo::{Affine, BezPath, ParamCurve, ParamCurveArclen, ParamCurveArea, PathEl, PathSeg, Point, Rect, Shape};

use super::flat::FlatRing;
use super::tolerance::SAME_POINT;

/// One closed curve: segments end to end, the last ending where the first
/// starts. Lines and cubics (quadratics are kept as they come).
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    segs: Vec<PathSeg>,
}

impl Ring {
    /// The ring of `segs`, closed with a line when its ends are apart. Segments
    /// shorter than [`SAME_POINT`] are dropped and the gap they leave is joined.
    /// `None` when fewer than two segments remain (a lone curve needs its
    /// closing line to enclose anything).
    #[must_use]
    pub fn new(segs: impl IntoIterator<Item = PathSeg>) -> Option<Self> {
        Self::of_segs(segs, SAME_POINT)
    }

    /// This ring with segments shorter than `shortest` mm dropped; itself when
    /// too little would be left.
    #[must_use]
    pub fn without_jags(self, shortest: f64) -> Self {
        if self.segs.iter().any(|seg| is_dust(seg, shortest)) {
            return Self::of_segs(self.segs.iter().copied(), shortest).unwrap_or(self);
        }
        self
    }

    fn of_segs(segs: impl IntoIterator<Item = PathSeg>, shortest: f64) -> Option<Self> {
        let mut kept: Vec<PathSeg> = Vec::new();
        for seg in segs {
            if is_dust(&seg, shortest) {
                continue;
            }
            let seg = match kept.last() {
                Some(last) => with_start(seg, last.end()),
                None => seg,
            };
            kept.push(seg);
        }
        let (first, last) = (kept.first()?.start(), kept.last()?.end());
        if first.distance(last) > shortest {
            kept.push(PathSeg::Line(kurbo::Line::new(last, first)));
        } else if let Some(end) = kept.last_mut() {
            *end = with_end(*end, first);
        }
        (kept.len() >= 2).then_some(Self { segs: kept })
    }

    /// Every closed ring of `path`; open subpaths are closed with a line.
    #[must_use]
    pub fn all_of(path: &BezPath) -> Vec<Self> {
        let mut rings = Vec::new();
        for sub in subpaths(path) {
            rings.extend(Self::new(sub.segments()));
        }
        rings
    }

    /// The segments, end to end.
    #[must_use]
    pub fn segs(&self) -> &[PathSeg] {
        &self.segs
    }

    /// The ring as a closed path.
    #[must_use]
    pub fn to_path(&self) -> BezPath {
        let mut path = BezPath::new();
        path.move_to(self.segs[0].start());
        for seg in &self.segs {
            path.push(seg.as_path_el());
        }
        path.close_path();
        path
    }

    /// Enclosed area in mm², positive when the ring runs anticlockwise (y up).
    #[must_use]
    pub fn signed_area(&self) -> f64 {
        // kurbo counts y-down clockwise as positive, which is y-up anticlockwise.
        self.segs.iter().map(ParamCurveArea::signed_area).sum()
    }

    /// Length round the ring in mm, to `accuracy`.
    #[must_use]
    pub fn length(&self, accuracy: f64) -> f64 {
        self.segs.iter().map(|seg| seg.arclen(accuracy)).sum()
    }

    /// The tight bounding box.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        self.segs.iter().map(Shape::bounding_box).reduce(|a, b| a.union(b)).unwrap_or_default()
    }

    /// A box round the control points, and so round the ring: wider than
    /// [`Self::bounds`] and quicker.
    #[must_use]
    pub fn control_box(&self) -> Rect {
        let start = self.segs[0].start();
        let points = self.segs.iter().map(PathSeg::to_cubic).flat_map(|c| [c.p1, c.p2, c.p3]);
        points.fold(Rect::from_points(start, start), |frame, p| frame.union_pt(p))
    }

    /// The ring moved by `affine`. A mirror turns its direction round.
    #[must_use]
    pub fn transformed(&self, affine: Affine) -> Self {
        Self { segs: self.segs.iter().map(|&seg| affine * seg).collect() }
    }

    /// The ring walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self { segs: self.segs.iter().rev().map(PathSeg::reverse).collect() }
    }

    /// The ring walked anticlockwise (`true`) or clockwise (`false`).
    #[must_use]
    pub fn wound(self, anticlockwise: bool) -> Self {
        if (self.signed_area() > 0.0) == anticlockwise { self } else { self.reversed() }
    }

    /// A polyline within `tolerance` mm of the ring, each point with its curve
    /// parameter.
    #[must_use]
    pub fn flatten(&self, tolerance: f64) -> FlatRing {
        FlatRing::of(self, tolerance)
    }

    /// The point at `t` on segment `seg`.
    #[must_use]
    pub fn eval(&self, seg: usize, t: f64) -> Point {
        self.segs[seg].eval(t)
    }
}

fn is_dust(seg: &PathSeg, shortest: f64) -> bool {
    let start = seg.start();
    let near = |p: Point| p.distance(start) <= shortest;
    match seg {
        PathSeg::Line(l) => near(l.p1),
        PathSeg::Quad(q) => near(q.p1) && near(q.p2),
        PathSeg::Cubic(c) => near(c.p1) && near(c.p2) && near(c.p3),
    }
}

fn with_start(mut seg: PathSeg, start: Point) -> PathSeg {
    match &mut seg {
        PathSeg::Line(l) => l.p0 = start,
        PathSeg::Quad(q) => q.p0 = start,
        PathSeg::Cubic(c) => c.p0 = start,
    }
    seg
}

fn with_end(mut seg: PathSeg, end: Point) -> PathSeg {
    match &mut seg {
        PathSeg::Line(l) => l.p1 = end,
        PathSeg::Quad(q) => q.p2 = end,
        PathSeg::Cubic(c) => c.p3 = end,
    }
    seg
}

/// `path` cut at its move-tos, one path for each subpath.
#[must_use]
pub fn subpaths(path: &BezPath) -> Vec<BezPath> {
    let mut all: Vec<BezPath> = Vec::new();
    for &el in path.elements() {
        match (el, all.last_mut()) {
            (PathEl::MoveTo(_), _) => all.push(BezPath::from_vec(vec![el])),
            (_, Some(last)) => last.push(el),
            (_, None) => {}
        }
    }
    all.retain(|p| p.elements().len() > 1);
    all
}

/// A connected area: an outer ring (anticlockwise) and the rings of its holes
/// (clockwise). A hole may touch the outer ring at a single point.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// The outer boundary, anticlockwise.
    pub outer: Ring,
    /// The holes, clockwise, none inside another.
    pub holes: Vec<Ring>,
}

impl Piece {
    /// Area in mm², holes taken off.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.rings().map(Ring::signed_area).sum()
    }

    /// The outer ring, then the holes.
    pub fn rings(&self) -> impl Iterator<Item = &Ring> {
        std::iter::once(&self.outer).chain(&self.holes)
    }

    /// Total length of all rings in mm, to `accuracy`.
    #[must_use]
    pub fn length(&self, accuracy: f64) -> f64 {
        self.rings().map(|ring| ring.length(accuracy)).sum()
    }

    /// The tight bounding box.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        self.outer.bounds()
    }

    /// All rings as one path; either fill rule gives the piece.
    #[must_use]
    pub fn to_path(&self) -> BezPath {
        self.rings().flat_map(|ring| ring.to_path()).collect()
    }

    /// The piece moved by `affine`, rings wound as a piece asks.
    #[must_use]
    pub fn transformed(&self, affine: Affine) -> Self {
        let turn = |ring: &Ring, anticlockwise| ring.transformed(affine).wound(anticlockwise);
        Self { outer: turn(&self.outer, true), holes: self.holes.iter().map(|hole| turn(hole, false)).collect() }
    }
}

/// Any number of pieces that do not overlap; they may touch at single points.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    /// The pieces.
    pub pieces: Vec<Piece>,
}

impl Region {
    /// Area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.pieces.iter().map(Piece::area).sum()
    }

    /// The tight bounding box; zero for an empty region.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        self.pieces.iter().map(Piece::bounds).reduce(|a, b| a.union(b)).unwrap_or_default()
    }

    /// All rings as one path; either fill rule gives the region.
    #[must_use]
    pub fn to_path(&self) -> BezPath {
        self.pieces.iter().flat_map(|piece| piece.to_path()).collect()
    }

    /// The region moved by `affine`.
    #[must_use]
    pub fn transformed(&self, affine: Affine) -> Self {
        Self { pieces: self.pieces.iter().map(|piece| piece.transformed(affine)).collect() }
    }

    /// Whether nothing is enclosed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Circle;

    #[test]
    fn area_is_positive_anticlockwise() {
        let square = BezPath::from_svg("M0 0 L10 0 L10 10 L0 10 Z").unwrap();
        let ring = Ring::all_of(&square).remove(0);
        assert!((ring.signed_area() - 100.0).abs() < 1e-12, "anticlockwise, y up");
        assert!((ring.reversed().signed_area() + 100.0).abs() < 1e-12, "clockwise is negative");
        assert!((ring.length(1e-9) - 40.0).abs() < 1e-9, "perimeter");
    }

    #[test]
    fn a_circle_keeps_its_curves() {
        let ring = Ring::all_of(&Circle::new((3.0, 4.0), 20.0).to_path(1e-3)).remove(0);
        assert!(ring.segs().len() <= 16, "curves, not facets: {}", ring.segs().len());
        assert!((ring.signed_area().abs() - std::f64::consts::PI * 400.0).abs() < 0.5, "area of r = 20");
    }

    #[test]
    fn a_jag_is_dropped_and_what_it_parted_is_joined() {
        let square = |jag: &str| Ring::all_of(&BezPath::from_svg(&format!("M0 0H10V5{jag}V10H0z")).unwrap()).remove(0);
        let (jagged, plain) = (square("H10.0003"), square(""));
        assert_eq!(jagged.segs().len(), plain.segs().len() + 1, "a step of 0.3 µm");
        let smooth = jagged.without_jags(1e-3);
        assert_eq!(smooth.segs().len(), plain.segs().len());
        assert!((smooth.signed_area() - plain.signed_area()).abs() < 0.01, "{}", smooth.signed_area());
        assert_eq!(plain.clone().without_jags(1e-3), plain, "nothing to drop, nothing changed");
    }

    #[test]
    fn open_paths_close_and_dust_goes() {
        let path = BezPath::from_svg("M0 0 L10 0 L10.00001 0 L10 10").unwrap();
        let ring = Ring::all_of(&path).remove(0);
        assert_eq!(ring.segs().len(), 3, "dust dropped, closing line added");
        assert!((ring.signed_area() - 50.0).abs() < 1e-3, "triangle");
        assert!(Ring::all_of(&BezPath::from_svg("M0 0 L1 1").unwrap()).len() == 1, "a line there and back");
    }
}
