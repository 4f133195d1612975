//! Boundary edges in a grid of square cells, for sight lines and nearest spots.

use kurbo::{Point, Rect, Vec2};

use crate::geom::flat::nearest_fraction;

/// A boundary edge and where it belongs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Start.
    pub a: Point,
    /// End.
    pub b: Point,
    /// The ring.
    pub ring: usize,
    /// Its number on the ring.
    pub index: usize,
}

/// Where a sight line or a search ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Distance from where it began.
    pub distance: f64,
    /// The spot.
    pub at: Point,
    /// The ring it lies on.
    pub ring: usize,
    /// The edge of the ring.
    pub index: usize,
}

/// Edges sorted into square cells.
#[derive(Clone, Debug, Default)]
pub struct Grid {
    edges: Vec<Edge>,
    origin: Point,
    cell: f64,
    columns: usize,
    rows: usize,
    /// For each cell where its list starts in `lists`; one more at the end.
    starts: Vec<u32>,
    lists: Vec<u32>,
}

/// A sight line does not see what it starts on, nearer than this, mm.
const START: f64 = 1e-5;

impl Grid {
    /// A grid of about one edge a cell.
    #[must_use]
    pub fn new(edges: Vec<Edge>) -> Self {
        let Some(first) = edges.first() else { return Self::default() };
        let start = Rect::from_points(first.a, first.b);
        let bounds = edges.iter().fold(start, |r, e| r.union_pt(e.a).union_pt(e.b)).inflate(1.0, 1.0);
        let cell = (bounds.area() / (edges.len() as f64)).sqrt().clamp(0.25, 50.0);
        let count = |length: f64| ((length / cell).ceil() as usize).clamp(1, 4096);
        let (columns, rows) = (count(bounds.width()), count(bounds.height()));
        let mut grid =
            Self { edges, origin: bounds.origin(), cell, columns, rows, starts: Vec::new(), lists: Vec::new() };
        grid.fill();
        grid
    }

    fn fill(&mut self) {
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(self.edges.len() * 2);
        for (i, edge) in self.edges.iter().enumerate() {
            self.cells_on(edge, |cell| pairs.push((cell as u32, i as u32)));
        }
        pairs.sort_unstable();
        self.starts = vec![0; self.columns * self.rows + 1];
        for &(cell, _) in &pairs {
            self.starts[cell as usize + 1] += 1;
        }
        for i in 1..self.starts.len() {
            self.starts[i] += self.starts[i - 1];
        }
        self.lists = pairs.into_iter().map(|(_, edge)| edge).collect();
    }

    /// Every cell the edge may touch: its box, row by row, cut to the part of
    /// each row the edge spans.
    fn cells_on(&self, edge: &Edge, mut push: impl FnMut(usize)) {
        let (low, high) = if edge.a.y <= edge.b.y { (edge.a, edge.b) } else { (edge.b, edge.a) };
        let x_at = |y: f64| {
            if high.y - low.y < 1e-12 { low.x } else { low.x + (high.x - low.x) * ((y - low.y) / (high.y - low.y)) }
        };
        let (first, last) = (self.row(low.y), self.row(high.y));
        for row in first..=last {
            let y0 = (self.origin.y + row as f64 * self.cell).clamp(low.y, high.y);
            let y1 = (self.origin.y + (row + 1) as f64 * self.cell).clamp(low.y, high.y);
            let (mut x0, mut x1) = (x_at(y0), x_at(y1));
            if first == last {
                (x0, x1) = (low.x, high.x);
            }
            let (c0, c1) = (self.column(x0.min(x1) - 1e-9), self.column(x0.max(x1) + 1e-9));
            for column in c0..=c1 {
                push(row * self.columns + column);
            }
        }
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.origin.y) / self.cell).max(0.0) as usize).min(self.rows - 1)
    }

    fn column(&self, x: f64) -> usize {
        (((x - self.origin.x) / self.cell).max(0.0) as usize).min(self.columns - 1)
    }

    fn in_cell(&self, column: usize, row: usize) -> &[u32] {
        let cell = row * self.columns + column;
        &self.lists[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }

    /// The first edge met from `from` along the unit vector `dir`, no farther
    /// than `reach`.
    #[must_use]
    pub fn cast(&self, from: Point, dir: Vec2, reach: f64) -> Option<Hit> {
        if self.edges.is_empty() {
            return None;
        }
        let mut best: Option<Hit> = None;
        self.walk(from, dir, reach, |grid, column, row, exit| {
            for &i in grid.in_cell(column, row) {
                let edge = &grid.edges[i as usize];
                let Some(distance) = meet(edge, from, dir) else { continue };
                if distance <= reach && best.is_none_or(|b| distance < b.distance) {
                    best = Some(Hit { distance, at: from + dir * distance, ring: edge.ring, index: edge.index });
                }
            }
            best.is_some_and(|b| b.distance <= exit)
        });
        best
    }

    /// Visits the cells along a ray in order until `visit` says stop; `visit`
    /// gets the distance at which the ray leaves the cell.
    fn walk(&self, from: Point, dir: Vec2, reach: f64, mut visit: impl FnMut(&Self, usize, usize, f64) -> bool) {
        let (mut column, mut row) = (self.column(from.x) as isize, self.row(from.y) as isize);
        let next = |cell: isize, d: f64, origin: f64, from: f64| {
            let border = origin + (cell + isize::from(d > 0.0)) as f64 * self.cell;
            if d.abs() < 1e-12 { f64::INFINITY } else { (border - from) / d }
        };
        let mut travelled = 0.0;
        while travelled <= reach {
            let tx = next(column, dir.x, self.origin.x, from.x);
            let ty = next(row, dir.y, self.origin.y, from.y);
            let exit = tx.min(ty);
            if visit(self, column as usize, row as usize, exit) {
                return;
            }
            if tx <= ty {
                column += if dir.x > 0.0 { 1 } else { -1 };
            } else {
                row += if dir.y > 0.0 { 1 } else { -1 };
            }
            if column < 0 || row < 0 || column >= self.columns as isize || row >= self.rows as isize {
                return;
            }
            travelled = exit;
        }
    }

    /// How many edges a sight line from `p` to the right crosses.
    #[must_use]
    pub fn crossings(&self, p: Point) -> usize {
        if self.edges.is_empty() || p.y < self.origin.y || p.y > self.origin.y + self.rows as f64 * self.cell {
            return 0;
        }
        let row = self.row(p.y);
        let mut seen: Vec<u32> = Vec::new();
        for column in self.column(p.x)..self.columns {
            for &i in self.in_cell(column, row) {
                let edge = &self.edges[i as usize];
                if (edge.a.y > p.y) != (edge.b.y > p.y) && edge.x_at(p.y) > p.x {
                    seen.push(i);
                }
            }
        }
        seen.sort_unstable();
        seen.dedup();
        seen.len()
    }

    /// The nearest spot to `p` on an edge that `wanted` accepts, within `reach`.
    #[must_use]
    pub fn nearest(&self, p: Point, reach: f64, wanted: impl Fn(&Edge) -> bool) -> Option<Hit> {
        if self.edges.is_empty() {
            return None;
        }
        let (column, row) = (self.column(p.x), self.row(p.y));
        let rings = (reach / self.cell).ceil().min(self.columns.max(self.rows) as f64) as usize;
        let mut best: Option<Hit> = None;
        for ring in 0..=rings + 1 {
            if best.is_some_and(|b| b.distance <= (ring as f64 - 1.0) * self.cell) {
                break;
            }
            self.around(column, row, ring, |grid, items| {
                for &i in items {
                    let edge = &grid.edges[i as usize];
                    let at = edge.a.lerp(edge.b, nearest_fraction(edge.a, edge.b, p));
                    let distance = at.distance(p);
                    if distance <= reach && best.is_none_or(|b| distance < b.distance) && wanted(edge) {
                        best = Some(Hit { distance, at, ring: edge.ring, index: edge.index });
                    }
                }
            });
        }
        best
    }

    /// Visits the edges in the square ring of cells `ring` cells away.
    fn around(&self, column: usize, row: usize, ring: usize, mut visit: impl FnMut(&Self, &[u32])) {
        let (first, last) = (column.saturating_sub(ring), (column + ring).min(self.columns - 1));
        let mut run = |row: usize, first: usize, last: usize| {
            // The cells of a row stand side by side in the list.
            let start = row * self.columns;
            visit(self, &self.lists[self.starts[start + first] as usize..self.starts[start + last + 1] as usize]);
        };
        for y in row.saturating_sub(ring)..=(row + ring).min(self.rows - 1) {
            if y.abs_diff(row) == ring {
                run(y, first, last);
                continue;
            }
            if column >= ring {
                run(y, column - ring, column - ring);
            }
            if column + ring < self.columns {
                run(y, column + ring, column + ring);
            }
        }
    }
}

impl Edge {
    fn x_at(&self, y: f64) -> f64 {
        self.a.x + (self.b.x - self.a.x) * (y - self.a.y) / (self.b.y - self.a.y)
    }
}

/// Distance at which the ray meets the edge. An end on the ray belongs to the
/// edge whose other end is on the ray's left, so that none is counted twice.
fn meet(edge: &Edge, from: Point, dir: Vec2) -> Option<f64> {
    let (sa, sb) = (dir.cross(edge.a - from), dir.cross(edge.b - from));
    if (sa > 0.0) == (sb > 0.0) {
        return None;
    }
    let t = sa / (sa - sb);
    let distance = (edge.a.lerp(edge.b, t) - from).dot(dir);
    (distance > START).then_some(distance)
}
