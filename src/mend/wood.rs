//! The wood of a face as connected pieces, with its boundary ready for sight lines.
//!
//! A piece that reaches the panel's edge is *ground*: the box holds it. Every
//! other piece is an island and falls out. Wood lies on the left of every
//! boundary edge, so the right-hand normal points into the opening.

use kurbo::{ParamCurve, Point, Rect, Shape, Vec2};

use crate::face::Face;
use crate::geom::boolean::{Rule, resolve, subtract};
use crate::geom::offset::Patch;
use crate::geom::{FlatRing, Piece, Region, Ring};

use super::grid::{Edge, Grid, Hit};

/// Distance between an outline and the polyline that stands for it here, mm.
/// Widths are checked again on the true curves afterwards, so this only has to
/// be small against the smallest bridge (3 mm).
pub const FLAT: f64 = 0.02;
/// Wood closer than this to the panel's edge reaches it, mm.
const AT_EDGE: f64 = 0.01;

/// A connected piece of wood.
#[derive(Clone, Debug)]
pub struct Node {
    /// Its shape.
    pub piece: Piece,
    /// Whether the panel's edge holds it.
    pub ground: bool,
    /// Its boundary rings, as indices into [`Wood::rings`]; the outer one first.
    pub rings: Vec<usize>,
    /// Centre of its area (openings inside it taken off).
    pub center: Point,
    /// Its area, mm².
    pub area: f64,
}

/// One boundary ring of a piece of wood, as a polyline with wood on its left.
#[derive(Clone, Debug)]
pub struct Bound {
    /// The node it bounds.
    pub node: usize,
    /// Vertices, none repeated at the end.
    pub points: Vec<Point>,
    /// Length along the ring from the first vertex to each vertex, and the
    /// whole length last.
    pub along: Vec<f64>,
}

/// All the wood of a face.
#[derive(Clone, Debug)]
pub struct Wood {
    /// The pieces.
    pub nodes: Vec<Node>,
    /// Their boundaries.
    pub rings: Vec<Bound>,
    /// Every boundary edge, for sight lines.
    pub grid: Grid,
}

/// All openings of a face as one region.
#[must_use]
pub fn openings(face: &Face) -> Region {
    Region { pieces: face.cutouts.iter().map(|cutout| cutout.piece.clone()).collect() }
}

impl Wood {
    /// The wood that is left when every opening of `face` is sawn.
    #[must_use]
    pub fn of(face: &Face) -> Self {
        let panel = face.panel.rect();
        let mut wood = Self { nodes: Vec::new(), rings: Vec::new(), grid: Grid::default() };
        for piece in pieces(face, panel) {
            wood.push(piece, panel);
        }
        let edges = wood.rings.iter().enumerate().flat_map(|(ring, bound)| bound.edges(ring)).collect();
        wood.grid = Grid::new(edges);
        wood
    }

    fn push(&mut self, piece: Piece, panel: Rect) {
        let node = self.nodes.len();
        let patch = Patch::of(&piece, FLAT);
        let first = self.rings.len();
        let bounds = patch.bounds();
        let ground = bounds.x0 < panel.x0 + AT_EDGE
            || bounds.y0 < panel.y0 + AT_EDGE
            || bounds.x1 > panel.x1 - AT_EDGE
            || bounds.y1 > panel.y1 - AT_EDGE;
        let (area, center) = centroid(&patch);
        self.rings.extend(patch.rings.into_iter().map(|points| Bound::new(node, points)));
        let rings = (first..self.rings.len()).collect();
        self.nodes.push(Node { piece, ground, rings, center, area });
    }

    /// Indices of the islands.
    pub fn islands(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.nodes.len()).filter(|&node| !self.nodes[node].ground)
    }

    /// The first boundary met from `from` along the unit vector `dir`.
    #[must_use]
    pub fn cast(&self, from: Point, dir: Vec2, reach: f64) -> Option<Hit> {
        self.grid.cast(from, dir, reach)
    }

    /// The node whose boundary `hit` lies on.
    #[must_use]
    pub fn node_of(&self, hit: &Hit) -> usize {
        self.rings[hit.ring].node
    }

    /// Whether `p` lies in wood: a sight line to the right meets wood's
    /// boundary an odd number of times.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.grid.crossings(p) % 2 == 1
    }

    /// How much wood lies behind a boundary point in direction `dir` (into the
    /// wood), mm; at most `reach`.
    #[must_use]
    pub fn depth(&self, at: Point, dir: Vec2, reach: f64) -> f64 {
        self.cast(at + dir * 1e-3, dir, reach).map_or(reach, |hit| hit.distance)
    }

    /// The outer boundary of a node.
    #[must_use]
    pub fn outer(&self, node: usize) -> &Bound {
        &self.rings[self.nodes[node].rings[0]]
    }
}

/// The board less its openings. Openings do not overlap, so that their own
/// rings, turned round, bound the wood; only where one reaches past the panel's
/// edge is there anything to reckon.
fn pieces(face: &Face, panel: Rect) -> Vec<Piece> {
    let board = resolve(&panel.to_path(1e-9), Rule::NonZero);
    let inside = |piece: &Piece| panel.contains_rect(piece.bounds());
    if !face.cutouts.iter().all(|cutout| inside(&cutout.piece)) {
        return subtract(&board, &openings(face)).pieces;
    }
    let mut wood = board.pieces;
    let islands = face.cutouts.iter().flat_map(|cutout| &cutout.piece.holes);
    wood.extend(islands.map(|hole| Piece { outer: hole.reversed(), holes: Vec::new() }));
    let outlines: Vec<FlatRing> = wood.iter().map(|piece| piece.outer.flatten(FLAT)).collect();
    let areas: Vec<f64> = outlines.iter().map(FlatRing::signed_area).collect();
    for cutout in &face.cutouts {
        let opening = &cutout.piece.outer;
        let around = |&i: &usize| i == 0 || lies_in(opening, &outlines[i]);
        let smallest = (0..outlines.len()).filter(around).min_by(|&a, &b| areas[a].total_cmp(&areas[b]));
        wood[smallest.unwrap_or(0)].holes.push(opening.reversed());
    }
    wood
}

/// Whether `ring` lies in `outline`, which it may touch: most of its corners do.
fn lies_in(ring: &Ring, outline: &FlatRing) -> bool {
    let (inner, outer) = (ring.bounds(), outline.bounds().inflate(FLAT, FLAT));
    if !outer.contains_rect(inner) {
        return false;
    }
    let starts = ring.segs().iter().map(|seg| seg.eval(0.37));
    2 * starts.filter(|&p| outline.contains(p)).count() > ring.segs().len()
}

impl Bound {
    fn new(node: usize, points: Vec<Point>) -> Self {
        let mut along = Vec::with_capacity(points.len() + 1);
        let mut total = 0.0;
        for i in 0..points.len() {
            along.push(total);
            total += (points[(i + 1) % points.len()] - points[i]).hypot();
        }
        along.push(total);
        Self { node, points, along }
    }

    /// Number of vertices.
    #[must_use]
    pub fn len(&self) -> usize {
        self.points.len()
    }

    /// Whether the ring has no vertex; never so.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.points.is_empty()
    }

    /// Length round the ring, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.along[self.points.len()]
    }

    /// The ends of edge `i`.
    #[must_use]
    pub fn edge(&self, i: usize) -> (Point, Point) {
        (self.points[i], self.points[(i + 1) % self.points.len()])
    }

    fn edges(&self, ring: usize) -> impl Iterator<Item = Edge> + '_ {
        (0..self.points.len()).map(move |i| {
            let (a, b) = self.edge(i);
            Edge { a, b, ring, index: i }
        })
    }

    /// Place along the ring of a spot on edge `i`.
    #[must_use]
    pub fn place(&self, i: usize, at: Point) -> f64 {
        self.along[i] + (at - self.points[i]).hypot()
    }

    /// The edge that holds place `s` along the ring (wrapped).
    #[must_use]
    pub fn edge_at(&self, s: f64) -> usize {
        let s = s.rem_euclid(self.length());
        self.along.partition_point(|&a| a <= s).clamp(1, self.points.len()) - 1
    }

    /// The point at place `s` along the ring (wrapped).
    #[must_use]
    pub fn at(&self, s: f64) -> Point {
        let i = self.edge_at(s);
        let (a, b) = self.edge(i);
        let length = (self.along[i + 1] - self.along[i]).max(1e-12);
        a.lerp(b, ((s.rem_euclid(self.length()) - self.along[i]) / length).clamp(0.0, 1.0))
    }

    /// Unit vector along the ring at place `s`, over a short arm so that
    /// facets do not show.
    #[must_use]
    pub fn tangent(&self, s: f64, arm: f64) -> Vec2 {
        let arm = arm.min(self.length() / 8.0);
        let v = self.at(s + arm) - self.at(s - arm);
        if v.hypot() > 1e-9 { v.normalize() } else { Vec2::new(1.0, 0.0) }
    }

    /// Unit vector into the opening at place `s`.
    #[must_use]
    pub fn outward(&self, s: f64, arm: f64) -> Vec2 {
        let t = self.tangent(s, arm);
        Vec2::new(t.y, -t.x)
    }

    /// A spot at place `s`, `reach` mm out in the opening: for shapes that must
    /// not run along the outline.
    #[must_use]
    pub fn beyond(&self, s: f64, reach: f64) -> Point {
        self.at(s) + self.outward(s, reach) * reach
    }

    /// Turn of the ring at place `s` over arms of `arm` mm, radians; positive
    /// where the wood has a tip.
    #[must_use]
    pub fn turn(&self, s: f64, arm: f64) -> f64 {
        let arm = arm.min(self.length() / 8.0);
        let (back, here, ahead) = (self.at(s - arm), self.at(s), self.at(s + arm));
        (here - back).cross(ahead - here).atan2((here - back).dot(ahead - here))
    }

    /// The places of the vertices strictly between `from` and `to`, walking forward.
    #[must_use]
    pub fn between(&self, from: f64, to: f64) -> Vec<f64> {
        let length = self.length();
        let span = (to - from).rem_euclid(length);
        let start = self.edge_at(from);
        let mut places = Vec::new();
        for step in 1..=self.points.len() {
            let i = (start + step) % self.points.len();
            let walked = (self.along[i] - from).rem_euclid(length);
            if walked >= span {
                break;
            }
            places.push(self.along[i]);
        }
        places
    }
}

/// Area and centre of area of a patch.
fn centroid(patch: &Patch) -> (f64, Point) {
    let origin = patch.outer()[0];
    let (mut area, mut moment) = (0.0, Vec2::ZERO);
    for (a, b) in patch.edges() {
        let (a, b) = (a - origin, b - origin);
        let cross = a.cross(b) / 2.0;
        area += cross;
        moment += (a + b) / 3.0 * cross;
    }
    if area.abs() < 1e-12 { (0.0, origin) } else { (area, origin + moment / area) }
}
