//! A uniform grid of cells over many short segments, for asking what lies near.

use kurbo::{Point, Rect};

/// For every cell, the segments that pass through it, in one flat list.
#[derive(Clone, Debug)]
pub struct Grid {
    origin: Point,
    cell: f64,
    /// Cells in a millimetre.
    per_mm: f64,
    columns: usize,
    rows: usize,
    /// Items of cell `i` stand at `starts[i]..starts[i + 1]`.
    starts: Vec<u32>,
    items: Vec<u32>,
    /// For each of `items`, the disc whose diameter the segment is.
    discs: Vec<Disc>,
}

/// A block of cells: columns `x0..=x1` of rows `y0..=y1`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    /// First column.
    pub x0: usize,
    /// Last column.
    pub x1: usize,
    /// First row.
    pub y0: usize,
    /// Last row.
    pub y1: usize,
}

impl Block {
    fn farthest_from(&self, x: usize, y: usize) -> usize {
        let reach = |low: usize, high: usize, at: usize| at.saturating_sub(low).max(high.saturating_sub(at));
        reach(self.x0, self.x1, x).max(reach(self.y0, self.y1, y))
    }
}

/// A disc that a search shrinks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Its centre.
    pub center: Point,
    /// Its radius, mm.
    pub radius: f64,
}

impl Disc {
    /// Its bounding box.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let (c, r) = (self.center, self.radius);
        Rect::new(c.x - r, c.y - r, c.x + r, c.y + r)
    }

    /// The disc whose diameter the segment is.
    fn across((a, b): (Point, Point)) -> Self {
        Self { center: a.midpoint(b), radius: a.distance(b) / 2.0 }
    }

    /// Whether the two share a point.
    fn overlaps(&self, other: &Self) -> bool {
        let reach = self.radius + other.radius;
        (self.center - other.center).hypot2() <= reach * reach
    }

    /// Whether the segment from `a` to `b` comes inside it.
    #[must_use]
    pub fn is_met_by(&self, (a, b): (Point, Point)) -> bool {
        let (along, to) = (b - a, self.center - a);
        let (place, length, reach) = (to.dot(along), along.hypot2(), self.radius * self.radius);
        if place <= 0.0 {
            to.hypot2() < reach
        } else if place >= length {
            (self.center - b).hypot2() < reach
        } else {
            let off = along.cross(to);
            off * off < reach * length
        }
    }

    /// Whether any of `rect` lies inside it.
    #[must_use]
    pub fn meets(&self, rect: Rect) -> bool {
        let dx = self.center.x - self.center.x.clamp(rect.x0, rect.x1);
        let dy = self.center.y - self.center.y.clamp(rect.y0, rect.y1);
        dx * dx + dy * dy <= self.radius * self.radius
    }
}

impl Grid {
    /// The grid of `segments`, numbered as they come, with cells `cell` mm
    /// wide. Cells grow where needed to keep at most eight for each segment, so
    /// that memory stays linear.
    #[must_use]
    pub fn new(segments: &[(Point, Point)], cell: f64) -> Self {
        let bounds = bounds(segments);
        let (origin, cell) = (bounds.origin(), wide_enough(bounds, segments.len(), cell));
        let columns = (bounds.width() / cell) as usize + 1;
        let rows = (bounds.height() / cell) as usize + 1;
        let per_mm = 1.0 / cell;
        let mut grid =
            Self { origin, cell, per_mm, columns, rows, starts: Vec::new(), items: Vec::new(), discs: Vec::new() };
        grid.fill(segments);
        grid
    }

    /// Counting sort by cell: count, add up, place.
    fn fill(&mut self, segments: &[(Point, Point)]) {
        let mut counts = vec![0_u32; self.columns * self.rows + 1];
        let mut passed: Vec<(u32, u32)> = Vec::with_capacity(2 * segments.len());
        for (index, &(a, b)) in (0_u32..).zip(segments) {
            self.walk(a, b, |cell| {
                counts[cell + 1] += 1;
                passed.push((cell as u32, index));
            });
        }
        for i in 1..counts.len() {
            counts[i] += counts[i - 1];
        }
        let mut next = counts.clone();
        let mut items = vec![0; passed.len()];
        for (cell, index) in passed {
            let place = &mut next[cell as usize];
            items[*place as usize] = index;
            *place += 1;
        }
        self.discs = items.iter().map(|&item| Disc::across(segments[item as usize])).collect();
        (self.starts, self.items) = (counts, items);
    }

    /// Every cell the segment from `a` to `b` passes through, row by row, with
    /// a hair's breadth to spare.
    fn walk(&self, a: Point, b: Point, mut visit: impl FnMut(usize)) {
        let (low, high) = if a.y <= b.y { (a, b) } else { (b, a) };
        let (y0, y1) = (self.row(low.y), self.row(high.y));
        if y0 == y1 {
            let (left, right) = if a.x <= b.x { (a.x, b.x) } else { (b.x, a.x) };
            (self.column(left)..=self.column(right)).for_each(|x| visit(y0 * self.columns + x));
            return;
        }
        let slope = (high.x - low.x) / (high.y - low.y);
        let at = |y: f64| low.x + (y.clamp(low.y, high.y) - low.y) * slope;
        let hair = 1e-9 * self.cell;
        for row in y0..=y1 {
            let bottom = self.origin.y + row as f64 * self.cell;
            let (p, q) = (at(bottom - hair), at(bottom + self.cell + hair));
            let (left, right) = (p.min(q) - hair, p.max(q) + hair);
            (self.column(left)..=self.column(right)).for_each(|x| visit(row * self.columns + x));
        }
    }

    fn column(&self, x: f64) -> usize {
        // Casting a negative float to an index gives 0.
        (((x - self.origin.x) * self.per_mm) as usize).min(self.columns - 1)
    }

    fn row(&self, y: f64) -> usize {
        (((y - self.origin.y) * self.per_mm) as usize).min(self.rows - 1)
    }

    /// The cells that meet `rect`; at least one.
    #[must_use]
    pub fn block(&self, rect: Rect) -> Block {
        Block { x0: self.column(rect.x0), x1: self.column(rect.x1), y0: self.row(rect.y0), y1: self.row(rect.y1) }
    }

    /// The segments in the cell at column `x`, row `y`.
    #[must_use]
    pub fn items(&self, x: usize, y: usize) -> &[u32] {
        let cell = y * self.columns + x;
        &self.items[self.starts[cell] as usize..self.starts[cell + 1] as usize]
    }

    /// The rectangle of the cell at column `x`, row `y`.
    #[must_use]
    pub fn rect(&self, x: usize, y: usize) -> Rect {
        let corner = self.origin + kurbo::Vec2::new(x as f64, y as f64) * self.cell;
        Rect::from_origin_size(corner, (self.cell, self.cell))
    }

    /// Columns and rows.
    #[must_use]
    pub const fn size(&self) -> (usize, usize) {
        (self.columns, self.rows)
    }

    /// Offers `test` every segment in the cells that meet `disc`, cells round
    /// `from` first, ring by ring. `test` may shrink the disc (the new one
    /// inside the old one) as it finds things; cells that no longer meet it are
    /// left out. A segment in several cells is offered several times.
    pub fn shrink(&self, from: Point, disc: &mut Disc, mut test: impl FnMut(u32, &mut Disc)) {
        let (cx, cy) = (self.column(from.x), self.row(from.y));
        let mut block = self.block(disc.bounds());
        let mut ring = 0;
        while ring <= block.farthest_from(cx, cy) {
            let before = disc.radius;
            for y in block.y0.max(cy.saturating_sub(ring))..=block.y1.min(cy + ring) {
                let mut offer = |x: usize| {
                    let items = self.items(x, y);
                    if !items.is_empty() && disc.meets(self.rect(x, y)) {
                        items.iter().for_each(|&item| test(item, disc));
                    }
                };
                // The top and bottom rows whole, of the others only the two ends.
                if y.abs_diff(cy) == ring {
                    (block.x0.max(cx.saturating_sub(ring))..=block.x1.min(cx + ring)).for_each(offer);
                } else {
                    let ends = [cx.checked_sub(ring), Some(cx + ring)];
                    let inside = |x: &usize| (block.x0..=block.x1).contains(x);
                    ends.into_iter().flatten().filter(inside).for_each(&mut offer);
                }
            }
            if disc.radius < before {
                block = self.block(disc.bounds());
            }
            ring += 1;
        }
    }

    /// As [`Self::shrink`], row by row from `from` on, segments well clear of the
    /// disc left out: quicker where the disc lies to one side of `from` and is
    /// nearly as small as it will get.
    pub fn sweep(&self, from: Point, disc: &mut Disc, mut test: impl FnMut(u32, &mut Disc)) {
        let middle = self.row(from.y);
        let mut row = |y: usize, disc: &mut Disc| {
            let low = self.origin.y + y as f64 * self.cell;
            let dy = disc.center.y - disc.center.y.clamp(low, low + self.cell);
            let half = disc.radius * disc.radius - dy * dy;
            if half < 0.0 {
                return;
            }
            let half = half.sqrt();
            let start = y * self.columns;
            let first = self.starts[start + self.column(disc.center.x - half)] as usize;
            let last = self.starts[start + self.column(disc.center.x + half) + 1] as usize;
            for (&item, around) in self.items[first..last].iter().zip(&self.discs[first..last]) {
                if around.overlaps(disc) {
                    test(item, disc);
                }
            }
        };
        for y in middle..self.rows {
            if y > self.row(disc.center.y + disc.radius) {
                break;
            }
            row(y, disc);
        }
        for y in (0..middle).rev() {
            if y < self.row(disc.center.y - disc.radius) {
                break;
            }
            row(y, disc);
        }
    }

    /// Every segment in the cells that meet `rect`; one in several cells comes
    /// several times.
    pub fn near(&self, rect: Rect) -> impl Iterator<Item = u32> + '_ {
        let block = self.block(rect);
        (block.y0..=block.y1)
            .flat_map(move |y| (block.x0..=block.x1).flat_map(move |x| self.items(x, y).iter().copied()))
    }
}

fn bounds(segments: &[(Point, Point)]) -> Rect {
    let mut ends = segments.iter().flat_map(|&(a, b)| [a, b]);
    let Some(first) = ends.next() else { return Rect::ZERO };
    ends.fold(Rect::from_points(first, first), |all, p| all.union_pt(p))
}

fn wide_enough(bounds: Rect, count: usize, cell: f64) -> f64 {
    const CELLS_PER_SEGMENT: f64 = 8.0;
    let most = CELLS_PER_SEGMENT * count.max(8) as f64;
    let floor = (bounds.area() / most).sqrt().max(bounds.width().max(bounds.height()) / most);
    cell.max(floor).max(1e-6)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    #[test]
    fn every_cell_a_segment_passes_knows_it() {
        let mut angle: f64 = 0.1;
        let segments: Vec<(Point, Point)> = (0..200)
            .map(|i| {
                angle += 2.4;
                let a = Point::new(f64::from(i % 17) * 3.1, f64::from(i % 23) * 2.3);
                (a, a + Vec2::from_angle(angle) * f64::from(i % 9))
            })
            .collect();
        let grid = Grid::new(&segments, 1.7);
        for (index, &(a, b)) in (0_u32..).zip(&segments) {
            for step in 0..=20 {
                let p = a.lerp(b, f64::from(step) / 20.0);
                let found = grid.near(Rect::from_points(p, p)).any(|item| item == index);
                assert!(found, "segment {index} at {p:?}");
            }
        }
    }

    #[test]
    fn nothing_and_flat_things_make_a_grid() {
        assert_eq!(Grid::new(&[], 1.0).near(Rect::new(-1.0, -1.0, 1.0, 1.0)).count(), 0, "nothing near nothing");
        let line = [(Point::ORIGIN, Point::new(1e6, 0.0))];
        let (columns, rows) = Grid::new(&line, 1e-3).size();
        assert!(columns * rows <= 128, "memory stays small: {columns} x {rows}");
    }
}
