//! Union, difference and intersection of regions bounded by Bézier curves.
//!
//! The only file that knows the boolean engine. Curves in, curves out, moved by
//! no more than [`BOOLEAN`]. If the engine ever fails on a
//! drawing, the same operation is done on fine polylines instead, so a face is
//! never lost to a numerical accident.

use std::collections::BTreeMap;

use i_overlay::core::fill_rule::FillRule as FlatRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use kurbo::{Affine, BezPath, Line, ParamCurve, PathEl, PathSeg, Point, Rect, Shape};
use linesweeper::topology::Contours;
use linesweeper::{BinaryOp, FillRule};

use super::guard::guarded;
use super::ring::{Piece, Region, Ring};
use super::simple;
use super::tolerance::{BOOLEAN, SAME_POINT};
use super::trim::trimmed;

/// Which side of an outline is inside, as SVG's `fill-rule` says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// Inside where the winding number is odd.
    EvenOdd,
    /// Inside where the winding number is not zero.
    NonZero,
}

/// What `path` encloses. Open subpaths count as closed with a line; overlaps
/// and self-crossings are resolved by `rule`.
#[must_use]
pub fn resolve(path: &BezPath, rule: Rule) -> Region {
    let rings = rings_of(path);
    match simple::region(&rings, rule) {
        Some(region) => region,
        None => operate(path, &BezPath::new(), rule, BinaryOp::Union),
    }
}

/// The union of many regions.
#[must_use]
pub fn union_all<'a>(regions: impl IntoIterator<Item = &'a Region>) -> Region {
    let pieces: Vec<&Piece> = regions.into_iter().flat_map(|region| &region.pieces).collect();
    let mut union = Region::default();
    for group in touching(&pieces) {
        match group.as_slice() {
            // What touches nothing stays as it is, curve for curve.
            &[alone] => union.pieces.push(pieces[alone].clone()),
            several => {
                let all: BezPath = several.iter().flat_map(|&i| pieces[i].to_path()).collect();
                union.pieces.append(&mut resolve(&all, Rule::NonZero).pieces);
            }
        }
    }
    union
}

/// Groups pieces whose boxes touch, directly or by way of others. Groups come
/// in the order of their first piece.
fn touching(pieces: &[&Piece]) -> Vec<Vec<usize>> {
    let boxes: Vec<Rect> = pieces.iter().map(|piece| frame(piece)).collect();
    let mut by_left: Vec<usize> = (0..pieces.len()).collect();
    by_left.sort_by(|&a, &b| boxes[a].x0.total_cmp(&boxes[b].x0).then(a.cmp(&b)));
    let mut home: Vec<usize> = (0..pieces.len()).collect();
    let mut open: Vec<usize> = Vec::new();
    for i in by_left {
        open.retain(|&j| boxes[j].x1 >= boxes[i].x0);
        for &j in open.iter().filter(|&&j| boxes[j].overlaps(boxes[i])) {
            let (a, b) = (root(&mut home, i), root(&mut home, j));
            home[a.max(b)] = a.min(b);
        }
        open.push(i);
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); pieces.len()];
    for i in 0..pieces.len() {
        groups[root(&mut home, i)].push(i);
    }
    groups.retain(|group| !group.is_empty());
    groups
}

fn root(home: &mut [usize], mut i: usize) -> usize {
    while home[i] != i {
        home[i] = home[home[i]];
        i = home[i];
    }
    i
}

/// What is in either region.
#[must_use]
pub fn union(a: &Region, b: &Region) -> Region {
    union_all([a, b])
}

/// What is in `a` and not in `b`.
#[must_use]
pub fn subtract(a: &Region, b: &Region) -> Region {
    subtract_all(a, [b])
}

/// What is in `a` and in none of `others`, which may overlap.
#[must_use]
pub fn subtract_all<'a>(a: &Region, others: impl IntoIterator<Item = &'a Region>) -> Region {
    let others: Vec<&Piece> = others.into_iter().flat_map(|region| &region.pieces).collect();
    let (apart, touched) = parted(a, &others);
    if touched.is_empty() {
        return a.clone();
    }
    let near = trimmed(&others, frame_of(&touched));
    let less = operate(&path_of(&touched), &near, Rule::NonZero, BinaryOp::Difference);
    Region { pieces: apart.into_iter().cloned().chain(less.pieces).collect() }
}

/// What is in both regions.
#[must_use]
pub fn intersect(a: &Region, b: &Region) -> Region {
    let (all_a, all_b): (Vec<&Piece>, Vec<&Piece>) = (a.pieces.iter().collect(), b.pieces.iter().collect());
    let ((_, a), (_, b)) = (parted(a, &all_b), parted(b, &all_a));
    if a.is_empty() || b.is_empty() {
        return Region::default();
    }
    let shared = frame_of(&a).intersect(frame_of(&b));
    operate(&trimmed(&a, shared), &trimmed(&b, shared), Rule::NonZero, BinaryOp::Intersection)
}

/// The pieces of `a` whose boxes touch no piece of `b`, which no operation
/// changes, and the others.
fn parted<'a>(a: &'a Region, b: &[&Piece]) -> (Vec<&'a Piece>, Vec<&'a Piece>) {
    let boxes: Vec<Rect> = b.iter().map(|piece| frame(piece)).collect();
    let around = boxes.iter().copied().reduce(|a, b| a.union(b)).unwrap_or_default();
    a.pieces.iter().partition(|piece| {
        let bounds = piece.outer.control_box();
        !(bounds.overlaps(around) && boxes.iter().any(|b| b.overlaps(bounds)))
    })
}

/// A box round a piece with a hair to spare.
fn frame(piece: &Piece) -> Rect {
    piece.outer.control_box().inflate(SAME_POINT, SAME_POINT)
}

fn frame_of(pieces: &[&Piece]) -> Rect {
    pieces.iter().map(|piece| frame(piece)).reduce(|a, b| a.union(b)).unwrap_or_default()
}

fn path_of(pieces: &[&Piece]) -> BezPath {
    pieces.iter().flat_map(|piece| piece.to_path()).collect()
}

fn operate(a: &BezPath, b: &BezPath, rule: Rule, op: BinaryOp) -> Region {
    // Rings drop dust and close open ends, which the engine asks for; a path
    // with a number that is not finite bounds nothing.
    let (a, b) = (closed(a), closed(b));
    if a.is_empty() && b.is_empty() {
        return Region::default();
    }
    let engine_rule = match rule {
        Rule::EvenOdd => FillRule::EvenOdd,
        Rule::NonZero => FillRule::NonZero,
    };
    if suits_polylines(&a, &b) {
        return on_polylines(&a, &b, rule, op);
    }
    // The engine failed on one of 1,594 icons, over dust that lay level with its
    // sweep; turned a little, the same drawing went through.
    let upright = engine(&a, &b, engine_rule, op);
    let turned = || {
        let turn = Affine::rotate(TURN);
        Some(engine(&(turn * a.clone()), &(turn * b.clone()), engine_rule, op)?.transformed(turn.inverse()))
    };
    upright.or_else(turned).unwrap_or_else(|| on_polylines(&a, &b, rule, op))
}

/// Whether two outlines are straight throughout, so that polylines lose nothing
/// and are ten times faster.
fn suits_polylines(a: &BezPath, b: &BezPath) -> bool {
    let straight = |el: &PathEl| !matches!(el, PathEl::QuadTo(..) | PathEl::CurveTo(..));
    a.elements().iter().chain(b.elements()).all(straight)
}

/// Angle of the second attempt, radians; no drawing has edges along it.
const TURN: f64 = 0.3;

fn engine(a: &BezPath, b: &BezPath, rule: FillRule, op: BinaryOp) -> Option<Region> {
    let done = guarded(|| linesweeper::binary_op_with_eps(a, b, rule, op, BOOLEAN));
    Some(region_of(&done.ok()?.ok()?))
}

fn closed(path: &BezPath) -> BezPath {
    rings_of(path).iter().flat_map(|ring| ring.to_path()).collect()
}

fn rings_of(path: &BezPath) -> Vec<Ring> {
    let finite = path.elements().iter().all(PathEl::is_finite);
    if finite { Ring::all_of(path) } else { Vec::new() }
}

/// Groups the engine's contours into pieces. A contour that keeps its inside on
/// its left starts a piece; the others are holes of the piece they lie in.
///
/// The engine also says of each contour whether it is "outer", but says it
/// wrongly where two holes touch at a point (the second is called outer and a
/// child of the first); the direction it is walked in is always right.
fn region_of(contours: &Contours) -> Region {
    let all: Vec<_> = contours.contours().map(|c| (c.parent.map(|p| p.0), ring_of(&c.path))).collect();
    let starts = |ring: &Ring| ring.signed_area() > 0.0;
    let mut slot = vec![None; all.len()];
    let mut region = Region::default();
    for (index, (_, ring)) in all.iter().enumerate() {
        if let Some(ring) = ring.as_ref().filter(|ring| starts(ring)) {
            slot[index] = Some(region.pieces.len());
            region.pieces.push(Piece { outer: ring.clone(), holes: Vec::new() });
        }
    }
    for (parent, ring) in &all {
        let Some(ring) = ring.as_ref().filter(|ring| !starts(ring)) else { continue };
        // Past touching holes, up to the contour that starts the piece.
        let mut parent = *parent;
        while let Some(up) = parent.filter(|&p| slot[p].is_none()) {
            parent = all[up].0;
        }
        if let Some(piece) = parent.and_then(|p| slot[p]) {
            region.pieces[piece].holes.push(ring.clone());
        }
    }
    region
}

/// The contour as a ring; slivers thinner than the engine's own accuracy go.
fn ring_of(path: &BezPath) -> Option<Ring> {
    let ring = Ring::new(path.segments())?;
    (ring.signed_area().abs() > BOOLEAN * ring.length(1e-3)).then_some(ring)
}

/// The fallback: the same operation on polylines within [`BOOLEAN`] × 10.
pub(super) fn on_polylines(a: &BezPath, b: &BezPath, rule: Rule, op: BinaryOp) -> Region {
    let flat = |path: &BezPath| -> Vec<Vec<[f64; 2]>> {
        Ring::all_of(path)
            .iter()
            .map(|ring| ring.flatten(BOOLEAN * 10.0).points.iter().map(|p| [p.x, p.y]).collect())
            .collect()
    };
    let rule = match rule {
        Rule::EvenOdd => FlatRule::EvenOdd,
        Rule::NonZero => FlatRule::NonZero,
    };
    let op = match op {
        BinaryOp::Union => OverlayRule::Union,
        BinaryOp::Intersection => OverlayRule::Intersect,
        BinaryOp::Difference => OverlayRule::Difference,
        BinaryOp::Xor => OverlayRule::Xor,
    };
    Region { pieces: flat(a).overlay(&flat(b), op, rule).into_iter().flat_map(simple_pieces).collect() }
}

/// The pieces of one connected shape as the polyline engine gives it: contours
/// that may pass through a point twice, outer ones anticlockwise. Cut at such
/// points they are simple rings, and the way each runs says what it is.
fn simple_pieces(contours: Vec<Vec<[f64; 2]>>) -> Vec<Piece> {
    let rings = contours.into_iter().flat_map(cut_where_it_meets_itself);
    let rings = rings.filter_map(|points| polygon(points.iter().map(|p| Point::new(p[0], p[1]))));
    let (outer, holes): (Vec<Ring>, Vec<Ring>) = rings.partition(|ring| ring.signed_area() > 0.0);
    let mut pieces: Vec<Piece> = outer.into_iter().map(|outer| Piece { outer, holes: Vec::new() }).collect();
    if let [only] = pieces.as_mut_slice() {
        only.holes = holes;
        return pieces;
    }
    // Smallest first, so that the first ring around a hole is its own.
    pieces.sort_by(|a, b| a.outer.signed_area().total_cmp(&b.outer.signed_area()));
    let paths: Vec<BezPath> = pieces.iter().map(|p| p.outer.to_path()).collect();
    for hole in holes {
        // Rings meet only at points, and no two middles of sides are such.
        let probe = hole.segs()[0].eval(0.5);
        let bounds = hole.bounds();
        let around = |(piece, path): (&Piece, &BezPath)| {
            piece.bounds().inflate(SAME_POINT, SAME_POINT).contains(probe)
                && piece.outer.signed_area() > -hole.signed_area()
                && bounds.width() <= piece.bounds().width() + SAME_POINT
                && path.winding(probe) != 0
        };
        if let Some(index) = pieces.iter().zip(&paths).position(around) {
            pieces[index].holes.push(hole);
        }
    }
    pieces
}

/// Cuts a contour into rings that pass through no point twice.
fn cut_where_it_meets_itself(contour: Vec<[f64; 2]>) -> Vec<Vec<[f64; 2]>> {
    let key = |p: &[f64; 2]| [p[0].to_bits(), p[1].to_bits()];
    let (mut rings, mut open): (Vec<Vec<[f64; 2]>>, Vec<[f64; 2]>) = (Vec::new(), Vec::new());
    let mut place: BTreeMap<[u64; 2], usize> = BTreeMap::new();
    for point in contour {
        if let Some(&start) = place.get(&key(&point)) {
            let ring = open.split_off(start);
            for p in &ring {
                place.remove(&key(p));
            }
            rings.push(ring);
        }
        place.insert(key(&point), open.len());
        open.push(point);
    }
    rings.push(open);
    rings.retain(|ring| ring.len() > 2);
    rings
}

/// The ring through `points`, in order.
#[must_use]
pub fn polygon(points: impl IntoIterator<Item = Point>) -> Option<Ring> {
    let points: Vec<Point> = points.into_iter().collect();
    let next = points.iter().cycle().skip(1);
    Ring::new(points.iter().zip(next).map(|(&a, &b)| PathSeg::Line(Line::new(a, b))))
}

#[cfg(test)]
mod tests;
