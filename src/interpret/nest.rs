//! Which piece lies inside which: dark shapes, the light inside them, the dark
//! inside that.

use kurbo::{BezPath, ParamCurve, Point, Rect, Shape};

use crate::geom::{Piece, Region, Ring};

/// Pieces with their nesting.
#[derive(Clone, Debug, Default)]
pub(super) struct Nest {
    /// The pieces.
    pub(super) pieces: Vec<Piece>,
    /// For each piece the piece and hole it lies in, the innermost.
    parents: Vec<Option<(usize, usize)>>,
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
        let parents = pieces.iter().enumerate().map(|(i, piece)| parent(i, piece)).collect();
        Self { pieces, parents }
    }

    /// Whether a piece lies inside no other.
    pub(super) fn is_outermost(&self, index: usize) -> bool {
        self.parents[index].is_none()
    }

    /// The pieces that lie inside others.
    pub(super) fn inner(&self) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().enumerate().filter(|&(i, _)| !self.is_outermost(i)).map(|(_, piece)| piece)
    }

    /// The outermost piece around `index`, itself when it is outermost.
    pub(super) fn root(&self, mut index: usize) -> usize {
        while let Some((parent, _)) = self.parents[index] {
            index = parent;
        }
        index
    }

    /// How many pieces lie inside `index`, at any depth.
    pub(super) fn held_by(&self, index: usize) -> usize {
        (0..self.pieces.len()).filter(|&i| i != index && self.root(i) == index).count()
    }

    /// What is light inside piece `index`: its holes, less the dark in them,
    /// plus the light inside that, and so on.
    pub(super) fn light_inside(&self, index: usize) -> Vec<Piece> {
        let mut light = Vec::new();
        for (p, piece) in self.pieces.iter().enumerate().filter(|&(p, _)| self.root(p) == index) {
            for (h, hole) in piece.holes.iter().enumerate() {
                let inside = self.pieces.iter().zip(&self.parents).filter(|&(_, parent)| *parent == Some((p, h)));
                let holes = inside.map(|(inner, _)| inner.outer.clone().wound(false)).collect();
                light.push(Piece { outer: hole.clone().wound(true), holes });
            }
        }
        light
    }

    /// The outermost pieces' indices.
    pub(super) fn outermost(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.pieces.len()).filter(|&i| self.is_outermost(i))
    }

    /// The nest without piece `index`; what lay inside it moves out.
    pub(super) fn without(mut self, index: usize) -> Self {
        self.pieces.remove(index);
        Self::of(Region { pieces: self.pieces })
    }
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
