//! Which piece lies inside which: dark shapes, the light inside them, the dark
//! inside that.

use std::collections::BTreeMap;

use kurbo::{BezPath, ParamCurve, Point, Rect, Shape};

use crate::geom::{Piece, Region, Ring};

/// Pieces with their nesting.
#[derive(Clone, Debug, Default)]
pub(super) struct Nest {
    /// The pieces.
    pub(super) pieces: Vec<Piece>,
    /// For each piece the piece and hole it lies in, the innermost.
    parents: Vec<Option<(usize, usize)>>,
    /// For each outermost piece, it and all that lies in it, in order.
    members: Vec<Vec<usize>>,
    /// For each piece and hole what lies in it directly, in order.
    inside: BTreeMap<(usize, usize), Vec<usize>>,
}

struct Hole {
    owner: (usize, usize),
    bounds: Rect,
    path: BezPath,
}

impl Nest {
    /// Works out the nesting of `region`.
    pub(super) fn of(region: Region) -> Self {
        let pieces = region.pieces;
        let mut holes: Vec<Hole> = Vec::new();
        for (p, piece) in pieces.iter().enumerate() {
            for (h, ring) in piece.holes.iter().enumerate() {
                holes.push(Hole { owner: (p, h), bounds: ring.bounds(), path: ring.to_path() });
            }
        }
        // Smallest first, so that the first hole that holds a piece is the innermost.
        holes.sort_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()));
        let parent = |index: usize, piece: &Piece| {
            let bounds = piece.bounds();
            let around = |hole: &&Hole| hole.owner.0 != index && hole.bounds.union(bounds) == hole.bounds;
            holes.iter().filter(around).find(|hole| lies_in(&piece.outer, &hole.path)).map(|hole| hole.owner)
        };
        let parents: Vec<Option<(usize, usize)>> =
            pieces.iter().enumerate().map(|(i, piece)| parent(i, piece)).collect();
        let roots = roots(&parents);
        let (mut members, mut inside) = (vec![Vec::new(); pieces.len()], BTreeMap::new());
        for (i, parent) in parents.iter().enumerate() {
            members[roots[i]].push(i);
            if let Some(parent) = parent {
                inside.entry(*parent).or_insert_with(Vec::new).push(i);
            }
        }
        Self { pieces, parents, members, inside }
    }

    /// Whether a piece lies inside no other.
    pub(super) fn is_outermost(&self, index: usize) -> bool {
        self.parents[index].is_none()
    }

    /// The pieces that lie inside others.
    pub(super) fn inner(&self) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().enumerate().filter(|&(i, _)| !self.is_outermost(i)).map(|(_, piece)| piece)
    }

    /// The pieces that lie inside outermost piece `index`, at any depth.
    pub(super) fn held_in(&self, index: usize) -> impl Iterator<Item = usize> + '_ {
        self.members[index].iter().copied().filter(move |&i| i != index)
    }

    /// What is light inside piece `index`, an outermost one: its holes, less the
    /// dark in them, plus the light inside that, and so on.
    pub(super) fn light_inside(&self, index: usize) -> Vec<Piece> {
        let mut light = Vec::new();
        for &p in &self.members[index] {
            for (h, hole) in self.pieces[p].holes.iter().enumerate() {
                let inner = self.inside.get(&(p, h)).into_iter().flatten();
                let holes = inner.map(|&i| self.pieces[i].outer.clone().wound(false)).collect();
                light.push(Piece { outer: hole.clone().wound(true), holes });
            }
        }
        light
    }

    /// The outermost pieces' indices.
    pub(super) fn outermost(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.pieces.len()).filter(|&i| self.is_outermost(i))
    }

    /// Whether every outermost piece, and there is more than one piece, is a ring
    /// most of which would fall out.
    pub(super) fn all_fall_out(&self) -> bool {
        self.pieces.len() > 1
            && self.outermost().all(|i| open_area(&self.pieces[i]) >= FALLS_OUT * filled_area(&self.pieces[i]))
    }

    /// The nest without piece `index`; what lay inside it moves out.
    pub(super) fn without(mut self, index: usize) -> Self {
        self.pieces.remove(index);
        Self::of(Region { pieces: self.pieces })
    }
}

/// The outermost piece around each.
fn roots(parents: &[Option<(usize, usize)>]) -> Vec<usize> {
    let mut roots: Vec<Option<usize>> = vec![None; parents.len()];
    for start in 0..parents.len() {
        let (mut chain, mut at) = (Vec::new(), start);
        let root = loop {
            match (roots[at], parents[at]) {
                (Some(root), _) => break root,
                (None, None) => break at,
                // A ring of parents cannot be; were there one, it ends here.
                (None, Some((parent, _))) if chain.len() < parents.len() => {
                    chain.push(at);
                    at = parent;
                }
                _ => break at,
            }
        };
        for i in chain.into_iter().chain([at, start]) {
            roots[i] = Some(root);
        }
    }
    roots.into_iter().enumerate().map(|(i, root)| root.unwrap_or(i)).collect()
}

/// When more than this part of a silhouette falls out, sawing along it as drawn
/// makes no sense. Ours.
pub(super) const FALLS_OUT: f64 = 0.5;

/// Area of a piece's holes.
pub(super) fn open_area(piece: &Piece) -> f64 {
    piece.holes.iter().map(|hole| hole.signed_area().abs()).sum()
}

/// Area inside the outer boundary, holes and all.
pub(super) fn filled_area(piece: &Piece) -> f64 {
    piece.outer.signed_area().abs()
}

/// Whether `ring`, known not to cross `around`, lies inside it. They may touch,
/// so several points vote.
pub(super) fn lies_in(ring: &Ring, around: &BezPath) -> bool {
    let points = probes(ring);
    points.iter().filter(|&&p| around.winding(p) != 0).count() * 2 > points.len()
}

/// A few points on `ring`, spread over it, none at a joint.
pub(super) fn probes(ring: &Ring) -> Vec<Point> {
    let segs = ring.segs();
    let step = (segs.len() / 5).max(1);
    segs.iter().step_by(step).take(5).map(|seg| seg.eval(0.37)).collect()
}
