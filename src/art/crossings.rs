//! How often outlines cross, before anybody works the crossings out.
//!
//! Working out what a drawing encloses costs time for every crossing, and a
//! scribble of a hundred thousand strokes in a file of a megabyte has thousands
//! of millions. Counting them on a grid, up to a limit, costs little.

use kurbo::{BezPath, ParamCurve, PathSeg, Point, Rect};

/// Outlines with fewer segments are not counted: they cannot cross often.
const FEW: usize = 500;
/// Grid entries for each segment, on average, at most.
const ENTRIES: f64 = 8.0;
/// Cells along a side of the grid, at most.
const CELLS: f64 = 1000.0;
/// Pairs compared for each crossing allowed and each line. A drawing with no
/// crossings but so crowded that this runs out is turned away as well.
const TRIES: u64 = 200;

/// Whether the segments of `paths` cross more than `limit` times, counting
/// roughly: curves count as two straight pieces.
pub(crate) fn too_many<'a>(paths: impl Iterator<Item = &'a BezPath>, limit: u64) -> bool {
    let lines: Vec<[Point; 2]> = paths.flat_map(BezPath::segments).flat_map(straight).collect();
    lines.len() > FEW && Grid::over(&lines).is_some_and(|grid| grid.crosses_more_than(&lines, limit))
}

/// What to say when they do.
pub(crate) fn message(limit: u64) -> String {
    format!("outlines cross one another more than {limit} times")
}

fn straight(seg: PathSeg) -> impl Iterator<Item = [Point; 2]> {
    let (a, b) = (seg.start(), seg.end());
    let middle = (!matches!(seg, PathSeg::Line(_))).then(|| seg.eval(0.5));
    let first = [a, middle.unwrap_or(b)];
    std::iter::once(first).chain(middle.map(|m| [m, b]))
}

/// Which lines pass through which cell.
struct Grid {
    bounds: Rect,
    cell: f64,
    columns: usize,
    /// Start of each cell's run in `members`, one more at the end.
    starts: Vec<u32>,
    members: Vec<u32>,
}

impl Grid {
    fn over(lines: &[[Point; 2]]) -> Option<Self> {
        let bounds = lines.iter().map(|l| Rect::from_points(l[0], l[1])).reduce(|a, b| a.union(b))?;
        let side = bounds.width().max(bounds.height());
        if !(side.is_finite() && side > 0.0) {
            return None;
        }
        let (count, length) = (lines.len() as f64, lines.iter().map(|l| l[0].distance(l[1])).sum::<f64>());
        let cell = (side / count.sqrt().min(CELLS)).max(length / (ENTRIES * count));
        let across = |size: f64| (size / cell) as usize + 1;
        let (columns, rows) = (across(bounds.width()), across(bounds.height()));
        let mut grid = Self { bounds, cell, columns, starts: vec![0; columns * rows + 1], members: Vec::new() };
        grid.fill(lines);
        Some(grid)
    }

    fn fill(&mut self, lines: &[[Point; 2]]) {
        let mut starts = std::mem::take(&mut self.starts);
        for line in lines {
            self.cells(line, |cell| starts[cell + 1] += 1);
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut members = vec![0; starts.last().map_or(0, |&n| n as usize)];
        let mut next = starts.clone();
        for (index, line) in lines.iter().enumerate() {
            self.cells(line, |cell| {
                members[next[cell] as usize] = index as u32;
                next[cell] += 1;
            });
        }
        (self.starts, self.members) = (starts, members);
    }

    /// Every cell `line` passes through: column by column, the rows between.
    fn cells(&self, line: &[Point; 2], mut take: impl FnMut(usize)) {
        let rows = (self.starts_len() - 1) / self.columns;
        let at = |value: f64, most: usize| ((value / self.cell).max(0.0) as usize).min(most - 1);
        let [a, b] = if line[0].x <= line[1].x { *line } else { [line[1], line[0]] };
        let (x0, x1) = (a.x - self.bounds.x0, b.x - self.bounds.x0);
        let (y0, y1) = (a.y - self.bounds.y0, b.y - self.bounds.y0);
        let slope = if x1 > x0 { (y1 - y0) / (x1 - x0) } else { 0.0 };
        for column in at(x0, self.columns)..=at(x1, self.columns) {
            let (left, right) = ((column as f64 * self.cell).max(x0), ((column + 1) as f64 * self.cell).min(x1));
            let (p, q) = if x1 > x0 { (y0 + slope * (left - x0), y0 + slope * (right - x0)) } else { (y0, y1) };
            for row in at(p.min(q), rows)..=at(p.max(q), rows) {
                take(row * self.columns + column);
            }
        }
    }

    fn starts_len(&self) -> usize {
        let rows = (self.bounds.height() / self.cell) as usize + 1;
        self.columns * rows + 1
    }

    fn crosses_more_than(&self, lines: &[[Point; 2]], limit: u64) -> bool {
        let (mut crossings, mut tries) = (0u64, 0u64);
        let most_tries = (limit + lines.len() as u64).saturating_mul(TRIES);
        for cell in self.starts.windows(2) {
            let members = &self.members[cell[0] as usize..cell[1] as usize];
            for (i, &a) in members.iter().enumerate() {
                for &b in &members[i + 1..] {
                    tries += 1;
                    crossings += u64::from(cross(&lines[a as usize], &lines[b as usize]));
                }
                if crossings > limit || tries > most_tries {
                    return true;
                }
            }
        }
        false
    }
}

/// Whether two lines cross, or lie along each other. Ends that meet do not.
fn cross(a: &[Point; 2], b: &[Point; 2]) -> bool {
    let side = |line: &[Point; 2], p: Point| (line[1] - line[0]).cross(p - line[0]);
    let (b0, b1) = (side(a, b[0]), side(a, b[1]));
    let (a0, a1) = (side(b, a[0]), side(b, a[1]));
    if b0 == 0.0 && b1 == 0.0 {
        return Rect::from_points(a[0], a[1]).overlaps(Rect::from_points(b[0], b[1])) && shares_length(a, b);
    }
    b0 * b1 < 0.0 && a0 * a1 < 0.0
}

/// Whether two lines on one straight line have more than a point in common.
fn shares_length(a: &[Point; 2], b: &[Point; 2]) -> bool {
    let along = a[1] - a[0];
    let place = |p: Point| (p - a[0]).dot(along);
    let (from, to) = (place(b[0]).min(place(b[1])), place(b[0]).max(place(b[1])));
    from < along.hypot2() && to > 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pseudo-random scribble of `n` strokes.
    fn scribble(n: u32) -> BezPath {
        let mut path = BezPath::new();
        let mut state = 12345u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24) * 100.0
        };
        path.move_to((next(), next()));
        for _ in 0..n {
            path.line_to((next(), next()));
        }
        path
    }

    #[test]
    fn scribbles_cross_and_outlines_do_not() {
        // About 23 in 100 pairs of random chords of a square cross.
        let path = scribble(1000);
        assert!(too_many([&path].into_iter(), 50_000), "more than 50,000 crossings");
        assert!(!too_many([&path].into_iter(), 300_000), "fewer than 300,000");
        assert!(too_many([&scribble(100_000)].into_iter(), 200_000), "found without counting them all");
    }

    #[test]
    fn a_long_outline_and_hatching_pass() {
        let mut spiral = BezPath::new();
        spiral.move_to((0.0, 0.0));
        for i in 1..200_000 {
            let (angle, r) = (f64::from(i) * 0.01, f64::from(i) * 1e-3);
            spiral.line_to((r * libm::cos(angle), r * libm::sin(angle)));
        }
        assert!(!too_many([&spiral].into_iter(), 1000), "a spiral does not cross itself");
        let mut hatch = BezPath::new();
        for i in 0..4000 {
            hatch.move_to((f64::from(i), 0.0));
            hatch.line_to((f64::from(i) + 4000.0, 4000.0));
        }
        assert!(!too_many([&hatch].into_iter(), 200_000), "hatching does not cross itself");
    }
}
