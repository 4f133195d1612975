//! The connected parts of the area on the right of a boundary, whole or parted
//! by straight cuts.
//!
//! The rings and the cuts make a plane graph. Every face of it on the right of
//! the rings is found by walking: along a ring to the next cut's end, across
//! the cut, on along the ring there, until the walk closes (the usual face
//! tracing of a plane graph). A walk that closes clockwise is the outer rim of
//! a part; an anticlockwise one is the rim of an opening in some part, found by
//! looking left from its leftmost point.

use kurbo::{ParamCurve, ParamCurveArea, Point, Rect, Vec2};

use super::boundary::{Boundary, Spot};
use super::flat::Mark;
use super::grid::Grid;

/// A straight cut between two spots of the boundary, through the area. Where two
/// rings touch, a cut of no length between them parts the area at that point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Its ends.
    pub spots: [Spot; 2],
    /// The direction in which it leaves each end.
    pub toward: [Vec2; 2],
}

/// One connected part.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cell {
    /// Area in mm², openings taken off; exact on the true curves.
    pub area: f64,
    /// The rings that bound it, in order, each once.
    pub rings: Vec<u32>,
    /// The cuts along it, in order; one twice when it has both sides there.
    pub cuts: Vec<u32>,
}

/// All parts, and where they meet.
#[derive(Clone, Debug, Default)]
pub struct Cells {
    /// The parts, in order of their first ring.
    pub cells: Vec<Cell>,
    /// For every cut, the parts on its right and on its left, going from its
    /// first end to its second.
    pub sides: Vec<[Option<u32>; 2]>,
    ends: Vec<End>,
    /// First end of each ring, and the end of the last.
    first: Vec<u32>,
    /// For every end, the other end of its cut.
    other: Vec<u32>,
    /// The walk of the piece of ring after each end, then of each whole ring.
    walk_after: Vec<u32>,
    cell_of_walk: Vec<Option<u32>>,
}

/// The end of a cut on a ring.
#[derive(Clone, Copy, Debug)]
struct End {
    spot: Spot,
    cut: u32,
    /// 0 for the cut's first end, 1 for its second.
    which: u8,
    /// How far, turning left from the way back along the ring, the cut leaves.
    turn: f64,
}

const NOWHERE: u32 = u32::MAX;

impl Cells {
    /// The parts of the area on the right of `all`, cut by `cuts`, which must
    /// not cross each other.
    #[must_use]
    pub fn new(all: &Boundary, cuts: &[Cut]) -> Self {
        let cuts: Vec<Cut> =
            cuts.iter().map(|cut| Cut { spots: cut.spots.map(|s| at_corner(all, s)), ..*cut }).collect();
        let mut cells = Self::default();
        cells.place_ends(all, &cuts);
        cells.other = cells.other_ends(cuts.len());
        let walks = cells.trace(all);
        cells.assign(all, &cuts, &walks);
        cells
    }

    /// The part that touches the boundary just after `spot`.
    #[must_use]
    pub fn at(&self, spot: Spot) -> Option<u32> {
        self.cell_of_walk[self.walk_after[self.piece_at(spot) as usize] as usize]
    }

    /// Every part that touches ring `ring`.
    #[must_use]
    pub fn of_ring(&self, ring: u32) -> Vec<u32> {
        let ends = self.first[ring as usize]..self.first[ring as usize + 1];
        let whole = ends.is_empty().then_some(self.ends.len() as u32 + ring);
        let mut cells: Vec<u32> =
            ends.chain(whole).filter_map(|piece| self.cell_of_walk[self.walk_after[piece as usize] as usize]).collect();
        cells.sort_unstable();
        cells.dedup();
        cells
    }

    /// The samples of the outlines round each part, in no order along them.
    #[must_use]
    pub fn samples(&self, all: &Boundary) -> Vec<Vec<Point>> {
        let mut samples = vec![Vec::new(); self.cells.len()];
        for i in 0..all.len() {
            if let Some(cell) = self.at(all.spot(i)) {
                samples[cell as usize].push(all.point(i));
            }
        }
        samples
    }

    /// The outlines of part `cell`, sampled, one loop for each of its rims. Only
    /// for parts without cuts of any length.
    #[must_use]
    pub fn loops(&self, all: &Boundary, cell: u32) -> Vec<Vec<Point>> {
        let mut loops = Vec::new();
        let mut done = vec![false; self.ends.len()];
        for &ring in &self.cells[cell as usize].rings {
            let (start, stop) = (self.first[ring as usize], self.first[ring as usize + 1]);
            if start == stop {
                loops.push(all.samples(ring).map(|i| all.point(i)).collect());
            }
            for end in start..stop {
                if !done[end as usize] && self.cell_of_walk[self.walk_after[end as usize] as usize] == Some(cell) {
                    loops.push(self.walk_points(all, end, &mut done));
                }
            }
        }
        loops
    }

    fn walk_points(&self, all: &Boundary, start: u32, done: &mut [bool]) -> Vec<Point> {
        let mut points = Vec::new();
        let mut at = start;
        while !done[at as usize] {
            done[at as usize] = true;
            let next = self.next_on_ring(at);
            let (from, to) = (self.ends[at as usize].spot, self.ends[next as usize].spot);
            points.push(all.at(from));
            let last = all.sample_before(to);
            let mut i = all.sample_before(from);
            let mut first = next <= at || i != last;
            while first || i != last {
                first = false;
                i = all.next(i);
                points.push(all.point(i));
            }
            points.push(all.at(to));
            at = self.other[next as usize];
        }
        points
    }

    /// The piece of ring `spot` lies on: the end before it, or the whole ring.
    fn piece_at(&self, spot: Spot) -> u32 {
        let (start, stop) = (self.first[spot.ring as usize], self.first[spot.ring as usize + 1]);
        if start == stop {
            return self.ends.len() as u32 + spot.ring;
        }
        let key = (spot.mark.seg, spot.mark.t);
        let ends = &self.ends[start as usize..stop as usize];
        let before = ends.partition_point(|end| (end.spot.mark.seg, end.spot.mark.t) <= key) as u32;
        if before == 0 { stop - 1 } else { start + before - 1 }
    }

    fn place_ends(&mut self, all: &Boundary, cuts: &[Cut]) {
        for (cut, Cut { spots, toward }) in (0_u32..).zip(cuts) {
            for which in 0..2 {
                let spot = spots[which];
                let turn = turn_from_back(all, spot, toward[which]);
                self.ends.push(End { spot, cut, which: which as u8, turn });
            }
        }
        let key = |e: &End| (e.spot.ring, e.spot.mark.seg);
        self.ends.sort_by(|a, b| {
            let along = key(a).cmp(&key(b)).then(a.spot.mark.t.total_cmp(&b.spot.mark.t));
            along.then(a.turn.total_cmp(&b.turn)).then((a.cut, a.which).cmp(&(b.cut, b.which)))
        });
        self.first = (0..=all.rings().len() as u32)
            .map(|ring| self.ends.partition_point(|end| end.spot.ring < ring) as u32)
            .collect();
    }

    /// For every end, the other end of its cut.
    fn other_ends(&self, cuts: usize) -> Vec<u32> {
        let mut of_cut = vec![[NOWHERE; 2]; cuts];
        for (number, end) in (0_u32..).zip(&self.ends) {
            of_cut[end.cut as usize][end.which as usize] = number;
        }
        self.ends.iter().map(|end| of_cut[end.cut as usize][1 - end.which as usize]).collect()
    }

    fn next_on_ring(&self, end: u32) -> u32 {
        let ring = self.ends[end as usize].spot.ring as usize;
        if end + 1 == self.first[ring + 1] { self.first[ring] } else { end + 1 }
    }

    /// Walks every face; returns each walk's signed area.
    fn trace(&mut self, all: &Boundary) -> Vec<f64> {
        let areas = Areas::new(all);
        let pieces = self.ends.len() + all.rings().len();
        self.walk_after = vec![NOWHERE; pieces];
        let mut walks = Vec::new();
        for start in 0..self.ends.len() as u32 {
            let (mut at, mut area) = (start, 0.0);
            if self.walk_after[start as usize] != NOWHERE {
                continue;
            }
            while self.walk_after[at as usize] == NOWHERE {
                self.walk_after[at as usize] = walks.len() as u32;
                let next = self.next_on_ring(at);
                area += areas.between(all, self.ends[at as usize].spot, self.ends[next as usize].spot, next <= at);
                let (from, to) = (self.ends[next as usize].spot, self.ends[self.other[next as usize] as usize].spot);
                area += all.at(from).to_vec2().cross(all.at(to).to_vec2()) / 2.0;
                at = self.other[next as usize];
            }
            walks.push(area);
        }
        for ring in 0..all.rings().len() {
            if self.first[ring] == self.first[ring + 1] {
                self.walk_after[self.ends.len() + ring] = walks.len() as u32;
                walks.push(areas.whole(ring));
            }
        }
        walks
    }

    /// Makes a cell of every clockwise walk and gives it its openings.
    fn assign(&mut self, all: &Boundary, cuts: &[Cut], walks: &[f64]) {
        self.cell_of_walk = vec![None; walks.len()];
        for (walk, &area) in walks.iter().enumerate() {
            if area < 0.0 {
                self.cell_of_walk[walk] = Some(self.cells.len() as u32);
                self.cells.push(Cell { area: -area, ..Cell::default() });
            }
        }
        self.nest(all, cuts, walks);
        for (walk, &area) in walks.iter().enumerate().filter(|(_, area)| **area >= 0.0) {
            if let Some(cell) = self.cell_of_walk[walk] {
                self.cells[cell as usize].area -= area;
            }
        }
        self.note_rings(all.rings().len() as u32);
        self.note_cuts(cuts.len());
    }

    fn note_rings(&mut self, rings: u32) {
        for ring in 0..rings {
            for cell in self.of_ring(ring) {
                self.cells[cell as usize].rings.push(ring);
            }
        }
    }

    fn note_cuts(&mut self, cuts: usize) {
        self.sides = vec![[None; 2]; cuts];
        for (number, end) in self.ends.iter().enumerate() {
            // The walk goes across the cut from this end and on after the other.
            let cell = self.cell_of_walk[self.walk_after[self.other[number] as usize] as usize];
            self.sides[end.cut as usize][end.which as usize] = cell;
        }
        for (cut, sides) in (0_u32..).zip(&self.sides) {
            for &cell in sides.iter().flatten() {
                self.cells[cell as usize].cuts.push(cut);
            }
        }
    }

    /// Finds the cell of every anticlockwise walk.
    fn nest(&mut self, all: &Boundary, cuts: &[Cut], walks: &[f64]) {
        let leftmost = self.leftmost(all, walks.len());
        let lines: Vec<(Point, Point)> = cuts.iter().map(|c| (all.at(c.spots[0]), all.at(c.spots[1]))).collect();
        let cut_grid = Grid::new(&lines, 5.0);
        let mut across = vec![[NOWHERE; 2]; cuts.len()];
        for (end, &other) in self.ends.iter().zip(&self.other) {
            across[end.cut as usize][end.which as usize] = self.walk_after[other as usize];
        }
        let mut beside: Vec<Option<u32>> = vec![None; walks.len()];
        for walk in 0..walks.len() {
            if self.cell_of_walk[walk].is_some() {
                continue;
            }
            let Some(from) = leftmost[walk] else { continue };
            let edge = left_of(all.grid(), from, f64::NEG_INFINITY, |i| all.edge(i));
            let cut = left_of(&cut_grid, from, edge.map_or(f64::NEG_INFINITY, |(_, x)| x), |i| lines[i as usize]);
            beside[walk] = match (cut, edge) {
                (Some((cut, x)), _) => {
                    let (a, b) = lines[cut as usize];
                    let on_right = (b - a).cross(from - Point::new(x, from.y)) < 0.0;
                    Some(across[cut as usize][usize::from(!on_right)])
                }
                (None, Some((edge, x))) => {
                    Some(self.walk_after[self.piece_of_hit(all, edge, Point::new(x, from.y)) as usize])
                }
                (None, None) => None,
            };
        }
        self.follow(&beside);
    }

    fn piece_of_hit(&self, all: &Boundary, edge: u32, hit: Point) -> u32 {
        let (a, b) = all.edge(edge);
        self.piece_at(all.along(edge, super::flat::nearest_fraction(a, b, hit)))
    }

    /// A walk beside another lies in the same cell.
    fn follow(&mut self, beside: &[Option<u32>]) {
        for walk in 0..beside.len() {
            let mut at = walk;
            // Every step leads further left, so this ends.
            for _ in 0..beside.len() {
                match (self.cell_of_walk[at], beside[at]) {
                    (None, Some(next)) => at = next as usize,
                    _ => break,
                }
            }
            self.cell_of_walk[walk] = self.cell_of_walk[at];
        }
    }

    /// The leftmost sample of each walk.
    fn leftmost(&self, all: &Boundary, walks: usize) -> Vec<Option<Point>> {
        let mut leftmost: Vec<Option<Point>> = vec![None; walks];
        for i in 0..all.len() {
            let walk = self.walk_after[self.piece_at(all.spot(i)) as usize] as usize;
            let p = all.point(i);
            if leftmost[walk].is_none_or(|best| p.x < best.x) {
                leftmost[walk] = Some(p);
            }
        }
        leftmost
    }
}

/// A spot as good as at the end of a segment as the start of the one that begins there:
/// cuts that share a corner are told apart by how they turn, not by rounding.
fn at_corner(all: &Boundary, spot: Spot) -> Spot {
    /// Mm; ten times what spots are refined to.
    const SAME: f64 = 1e-5;
    let segs = all.rings()[spot.ring as usize].segs();
    let (seg, at) = (&segs[spot.mark.seg as usize], all.at(spot));
    let start_of = |seg: u32| Spot { mark: Mark { seg, t: 0.0 }, ..spot };
    match (seg.start().distance(at) < SAME, seg.end().distance(at) < SAME) {
        (true, _) => start_of(spot.mark.seg),
        (false, true) => start_of((spot.mark.seg + 1) % segs.len() as u32),
        (false, false) => spot,
    }
}

/// The first segment a ray from `from` to the left crosses, beyond `limit`, and
/// where.
fn left_of(grid: &Grid, from: Point, limit: f64, segment: impl Fn(u32) -> (Point, Point)) -> Option<(u32, f64)> {
    const ASIDE: f64 = 1e-9;
    let mut best: Option<(u32, f64)> = None;
    let row = grid.block(Rect::from_points(from, from));
    for column in (0..=row.x1).rev() {
        let cell = grid.rect(column, row.y0);
        if best.is_some_and(|(_, x)| x > cell.x1) || cell.x1 < limit {
            break;
        }
        for &item in grid.items(column, row.y0) {
            let (a, b) = segment(item);
            if (a.y > from.y) == (b.y > from.y) {
                continue;
            }
            let x = a.x + (from.y - a.y) / (b.y - a.y) * (b.x - a.x);
            if x < from.x - ASIDE && x > limit && best.is_none_or(|(_, known)| x > known) {
                best = Some((item, x));
            }
        }
    }
    best
}

/// The angle from the way back along the ring at `spot`, turning left, to
/// `toward`, in `0..2π`.
fn turn_from_back(all: &Boundary, spot: Spot, toward: Vec2) -> f64 {
    let sample = all.sample_before(spot);
    let at_sample = all.spot(sample).mark == spot.mark;
    let arrive = if at_sample {
        all.tangents(sample)[0]
    } else {
        super::boundary::tangent(&all.rings()[spot.ring as usize].segs()[spot.mark.seg as usize], spot.mark.t)
    };
    let back = -arrive;
    let angle = libm::atan2(back.cross(toward), back.dot(toward));
    if angle < 0.0 { angle + std::f64::consts::TAU } else { angle }
}

/// Signed areas swept along rings from the origin, exact on the curves.
struct Areas {
    /// Sum of the areas of the segments before each, ring by ring.
    before: Vec<Vec<f64>>,
}

impl Areas {
    fn new(all: &Boundary) -> Self {
        let sums = |ring: &super::Ring| {
            let mut sum = 0.0;
            let mut before = vec![0.0];
            before.extend(ring.segs().iter().map(|seg| {
                sum += seg.signed_area();
                sum
            }));
            before
        };
        Self { before: all.rings().iter().map(sums).collect() }
    }

    fn whole(&self, ring: usize) -> f64 {
        self.before[ring].last().copied().unwrap_or(0.0)
    }

    fn up_to(&self, all: &Boundary, Spot { ring, mark: Mark { seg, t } }: Spot) -> f64 {
        let part = all.rings()[ring as usize].segs()[seg as usize].subsegment(0.0..t).signed_area();
        self.before[ring as usize][seg as usize] + part
    }

    fn between(&self, all: &Boundary, from: Spot, to: Spot, round: bool) -> f64 {
        let whole = if round { self.whole(from.ring as usize) } else { 0.0 };
        self.up_to(all, to) - self.up_to(all, from) + whole
    }
}

#[cfg(test)]
mod tests;
