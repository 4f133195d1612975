//! Finding room for labels: off the cut lines, off each other, near what they name.

use std::f64::consts::TAU;

use kurbo::{BezPath, ParamCurve as _, PathEl, Point, Rect, Vec2};

use super::apart::{crosses, foot, inside, meet, to_rect, to_segment};

/// Side of a square of the search grid, mm.
const CELL: f64 = 4.0;
/// Lines count to this accuracy, mm; labels keep [`AIR`] from them anyway.
const FLATTEN: f64 = 0.1;
/// Space kept between a label and anything else, mm.
const AIR: f64 = 0.35;
/// Room inside an outline is looked for at points this far apart, mm.
const FINE: f64 = 1.5;
/// Directions tried around a point.
const DIRECTIONS: u32 = 16;
/// Distances tried beyond the gap asked for, mm.
pub(super) const DISTANCES: [f64; 11] = [0.0, 1.2, 2.5, 4.5, 7.0, 10.0, 14.0, 19.0, 25.0, 33.0, 42.0];

/// Cost of lying on a line: once, and for each mm covered. Set against a cost
/// of 1 for each mm of distance: moving 19 mm is better than covering 1 mm.
const ON_LINE: (f64, f64) = (12.0, 12.0);
/// Cost of lying on another label: once, and for each mm² shared.
const ON_LABEL: (f64, f64) = (60.0, 40.0);

/// Cost of a leader through another label, for each square of the search grid.
const ON_LEADER: f64 = 60.0;
/// Cost of a leader over another leader.
const OVER_LEADER: f64 = 12.0;
/// Cost of a leader over a drawn line; and for each mm of it that runs beside one,
/// where it would be taken for a line to saw.
const OVER_LINE: (f64, f64) = (5.0, 3.0);
/// A leader this near a line runs beside it, mm.
const BESIDE_LINE: f64 = 0.8;
/// Longest leader of a name that can be done without, mm: ours; longer ones are no
/// longer followed with the eye. The sign stays, and the bench sheet has its place.
const LONGEST: f64 = 20.0;
/// What the place of such a name may cost, mm of distance: ours. Above, it hides more
/// than it tells; the names of what stops the work are worth more.
pub(super) const WORTH: (f64, f64) = (36.0, 100.0);

/// Where a label found room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// The label's box.
    pub rect: Rect,
    /// From the point it names to the box, when it stands so far off that a
    /// line must join them.
    pub leader: Option<(Point, Point)>,
    /// Whether it covers nothing.
    pub clear: bool,
    /// Whether it lies on another label, as nothing better was left.
    pub on_label: bool,
    /// What it covers and crosses, and how far off it is, mm.
    pub cost: f64,
}

impl Spot {
    /// One that covers nothing and needs no leader.
    pub(super) const fn free(rect: Rect) -> Self {
        Self { rect, leader: None, clear: true, on_label: false, cost: 0.0 }
    }
}

/// A length of a drawn line.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    from: Point,
    to: Point,
    /// Whether a leader over it would be mistaken; guides and leaders are not sawn.
    is_sawn: bool,
}

/// Remembers what is drawn and finds room for more.
#[derive(Clone, Debug)]
pub struct Placer {
    within: Rect,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<Drawn>>,
    taken: Vec<Vec<Rect>>,
    leaders: Vec<(Point, Point)>,
}

impl Placer {
    /// An empty drawing; labels stay inside `within`.
    #[must_use]
    pub fn new(within: Rect) -> Self {
        let count = |length: f64| ((length / CELL).ceil().clamp(1.0, 1000.0)) as usize;
        let (columns, rows) = (count(within.width()), count(within.height()));
        Self {
            within,
            columns,
            rows,
            cells: vec![Vec::new(); columns * rows],
            taken: vec![Vec::new(); columns * rows],
            leaders: Vec::new(),
        }
    }

    /// Keeps labels off the lines of `path`, and leaders where they can.
    pub fn line(&mut self, path: &BezPath) {
        self.drawn(path, true);
    }

    /// Keeps labels off the lines of `path`; leaders may cross them.
    pub fn guide(&mut self, path: &BezPath) {
        self.drawn(path, false);
    }

    fn drawn(&mut self, path: &BezPath, is_sawn: bool) {
        let (mut start, mut pen) = (Point::ORIGIN, Point::ORIGIN);
        let mut segments = Vec::new();
        kurbo::flatten(path, FLATTEN, |el| match el {
            PathEl::MoveTo(p) => (start, pen) = (p, p),
            PathEl::ClosePath => {
                segments.push((pen, start));
                pen = start;
            }
            el => {
                let p = el.end_point().unwrap_or(pen);
                segments.push((pen, p));
                pen = p;
            }
        });
        for (a, b) in segments {
            self.segment(a, b, is_sawn);
        }
    }

    /// Keeps labels and other leaders off a leader.
    pub fn leader(&mut self, from: Point, to: Point) {
        self.segment(from, to, false);
        self.leaders.push((from, to));
    }

    fn segment(&mut self, a: Point, b: Point, is_sawn: bool) {
        // Long lines are cut so that a slanted one does not fill its whole box.
        let parts = (a.distance(b) / CELL).ceil().clamp(1.0, 1000.0) as u32;
        let at = |i: u32| kurbo::Line::new(a, b).eval(f64::from(i) / f64::from(parts));
        for i in 0..parts {
            let (a, b) = (at(i), at(i + 1));
            for cell in self.cells_of(Rect::from_points(a, b)) {
                self.cells[cell].push(Drawn { from: a, to: b, is_sawn });
            }
        }
    }

    /// Keeps labels off a box.
    pub fn take(&mut self, rect: Rect) {
        for cell in self.cells_of(rect) {
            self.taken[cell].push(rect);
        }
    }

    fn cells_of(&self, rect: Rect) -> impl Iterator<Item = usize> + use<> {
        let index = |value: f64, from: f64, count: usize| (((value - from) / CELL).max(0.0) as usize).min(count - 1);
        let (x0, x1) = (index(rect.x0, self.within.x0, self.columns), index(rect.x1, self.within.x0, self.columns));
        let (y0, y1) = (index(rect.y0, self.within.y0, self.rows), index(rect.y1, self.within.y0, self.rows));
        let columns = self.columns;
        (y0..=y1).flat_map(move |y| (x0..=x1).map(move |x| y * columns + x))
    }

    /// Distance from `p` to the nearest line, to the nearest taken box and to
    /// the edge, mm, at most `most`.
    #[must_use]
    pub fn room(&self, p: Point, most: f64) -> f64 {
        let near = || self.cells_of(Rect::from_center_size(p, (2.0 * most, 2.0 * most)));
        let lines = near().flat_map(|cell| &self.cells[cell]).map(|d| to_segment(p, d.from, d.to));
        let boxes = near().flat_map(|cell| &self.taken[cell]).map(|rect| to_rect(p, *rect));
        let edge = [p.x - self.within.x0, self.within.x1 - p.x, p.y - self.within.y0, self.within.y1 - p.y];
        lines.chain(boxes).chain(edge).fold(most, f64::min)
    }

    /// What a box would cover: 0 for nothing.
    #[must_use]
    pub fn cost(&self, rect: Rect) -> f64 {
        let wide = rect.inflate(AIR, AIR);
        if wide.x0 < self.within.x0 || wide.x1 > self.within.x1 || wide.y0 < self.within.y0 || wide.y1 > self.within.y1
        {
            return f64::INFINITY;
        }
        let lines = self.cells_of(wide).flat_map(|cell| &self.cells[cell]).map(|d| inside(d.from, d.to, wide));
        let line = |length: f64| if length > 0.0 { ON_LINE.0 + ON_LINE.1 * length } else { 0.0 };
        // What stands in several cells counts in each; more of a bad thing.
        let label = |taken: &Rect| {
            let shared = taken.intersect(wide);
            let covers = shared.width() > 0.0 && shared.height() > 0.0;
            if covers { ON_LABEL.0 + ON_LABEL.1 * shared.area() } else { 0.0 }
        };
        let labels = self.cells_of(wide).flat_map(|cell| &self.taken[cell]);
        lines.map(line).sum::<f64>() + labels.map(label).sum::<f64>()
    }

    /// The roomiest of a grid of points in `bounds` that are `inside`, for a label of
    /// `radius` mm that `fits` there.
    pub fn roomiest(
        &self,
        bounds: Rect,
        radius: f64,
        inside: impl Fn(Point) -> bool,
        fits: impl Fn(Point) -> bool,
    ) -> Option<Point> {
        let steps = ((bounds.width().max(bounds.height()) / FINE) as i32).clamp(14, 28);
        let grid = (1..steps).flat_map(|i| (1..steps).map(move |j| (i, j)));
        let at = |(i, j): (i32, i32)| {
            let part = |k: i32| f64::from(k) / f64::from(steps);
            Point::new(bounds.x0 + bounds.width() * part(i), bounds.y0 + bounds.height() * part(j))
        };
        // Room beyond three radii counts alike; the nearest to the middle wins.
        let roomy = grid.map(at).filter(|p| inside(*p) && fits(*p)).map(|p| (self.room(p, radius * 3.0), p));
        let middle = bounds.center();
        let better = |a: &(f64, Point), b: &(f64, Point)| {
            a.0.total_cmp(&b.0).then(b.1.distance_squared(middle).total_cmp(&a.1.distance_squared(middle)))
        };
        roomy.max_by(better).map(|(_, p)| p)
    }

    /// Room for a box of `size` next to `at`, at least `gap` mm from it; takes
    /// it. `more` is what a box costs beyond what it covers. `None` when none fits
    /// inside the drawing at all.
    pub fn beside(&mut self, at: Point, size: (f64, f64), gap: f64, more: impl Fn(Rect) -> f64) -> Option<Spot> {
        let spot = self.look_beside(at, size, gap, more)?;
        self.take(spot.rect);
        Some(spot)
    }

    /// As [`Self::beside`], but `None` too when only a place on another label, far off
    /// or at more than `worth` is left; for names that can be done without.
    pub fn beside_alone(
        &mut self,
        at: Point,
        size: (f64, f64),
        gap: f64,
        worth: f64,
        more: impl Fn(Rect) -> f64,
    ) -> Option<Spot> {
        let is_worth =
            |spot: &Spot| !spot.on_label && spot.cost <= worth && foot(at, spot.rect).distance(at) - gap <= LONGEST;
        let spot = self.look_beside(at, size, gap, more).filter(is_worth)?;
        self.take(spot.rect);
        Some(spot)
    }

    fn look_beside(&self, at: Point, size: (f64, f64), gap: f64, more: impl Fn(Rect) -> f64) -> Option<Spot> {
        let mut best: Option<(f64, f64, Rect)> = None;
        for extra in DISTANCES {
            if best.is_some_and(|(cost, _, _)| cost <= extra) {
                break;
            }
            for rect in around(at, size, gap + extra) {
                let cover = self.cost(rect);
                let is_better = |cost: f64| cost.is_finite() && best.is_none_or(|(least, _, _)| cost < least);
                if !is_better(cover + extra) {
                    continue;
                }
                let crossed = if extra > 1.8 { self.crossed(at, foot(at, rect)) } else { 0.0 };
                let cost = cover + extra + crossed;
                let cost = if is_better(cost) { cost + more(rect) } else { cost };
                if is_better(cost) {
                    best = Some((cost, cover, rect));
                }
            }
        }
        let (cost, cover, rect) = best?;
        let foot = foot(at, rect);
        let away = foot.distance(at);
        let start = at + (foot - at) * (gap * 0.8 / away.max(1e-9)).min(1.0);
        let leader = (away > gap + 1.8).then_some((start, foot));
        Some(Spot { rect, leader, clear: cover == 0.0, on_label: self.is_on_label(rect), cost })
    }

    /// Whether `rect` lies on a taken box.
    pub(super) fn is_on_label(&self, rect: Rect) -> bool {
        self.cells_of(rect).flat_map(|cell| &self.taken[cell]).any(|taken| {
            let shared = taken.intersect(rect);
            shared.width() > 0.0 && shared.height() > 0.0
        })
    }

    /// What a leader from `at` would strike out or be taken for: boxes it crosses,
    /// other than the sign it starts from, other leaders, lines it crosses or runs
    /// along.
    pub(super) fn crossed(&self, at: Point, end: Point) -> f64 {
        let boxes = self.cells_of(Rect::from_points(at, end)).flat_map(|cell| &self.taken[cell]);
        let struck = boxes.filter(|rect| !rect.inflate(AIR, AIR).contains(at) && inside(at, end, **rect) > 0.0);
        let crossed = self.leaders.iter().filter(|(from, to)| meet(at, end, *from, *to));
        struck.count() as f64 * ON_LEADER + crossed.count() as f64 * OVER_LEADER + self.over_lines(at, end)
    }

    /// What a leader costs for the lines it crosses or runs beside, walked in steps of
    /// half a millimetre.
    fn over_lines(&self, from: Point, to: Point) -> f64 {
        let steps = (from.distance(to) / 0.5).ceil().clamp(1.0, 400.0) as u32;
        let at = |i: u32| from.lerp(to, f64::from(i) / f64::from(steps));
        let step = from.distance(to) / f64::from(steps);
        let mut cost = 0.0;
        let mut was_crossing = false;
        for (a, b) in (0..steps).map(|i| (at(i), at(i + 1))) {
            let near =
                || self.cells_of(Rect::from_points(a, b)).flat_map(|cell| &self.cells[cell]).filter(|d| d.is_sawn);
            let is_crossing = near().any(|d| crosses(a, b, d.from, d.to));
            if is_crossing && !was_crossing {
                cost += OVER_LINE.0;
            }
            if near().any(|d| to_segment(a.midpoint(b), d.from, d.to) < BESIDE_LINE) {
                cost += OVER_LINE.1 * step;
            }
            was_crossing = is_crossing;
        }
        cost
    }

    /// Room for a box of `size` centred on one of `centres`, the first that
    /// covers nothing; takes it.
    pub fn first_clear(&mut self, centres: impl IntoIterator<Item = Point>, size: (f64, f64)) -> Option<Rect> {
        self.first_clear_where(centres, size, |_| true)
    }

    /// [`Self::first_clear`] among the centres that are also `suitable`.
    pub fn first_clear_where(
        &mut self,
        centres: impl IntoIterator<Item = Point>,
        size: (f64, f64),
        suitable: impl Fn(Point) -> bool,
    ) -> Option<Rect> {
        let mut rects = centres.into_iter().map(|p| Rect::from_center_size(p, size));
        let found = rects.find(|rect| self.cost(*rect) == 0.0 && suitable(rect.center()))?;
        self.take(found);
        Some(found)
    }
}

/// Boxes of `size` in all directions, their nearest side `gap` from `at`; right
/// and left first, as the eye looks there first.
pub(super) fn around(at: Point, (w, h): (f64, f64), gap: f64) -> impl Iterator<Item = Rect> {
    (0..DIRECTIONS).map(move |i| {
        // 0, then outward on both sides: right, up-right, down-right …
        let step = if i % 2 == 0 { f64::from(i / 2) } else { -f64::from(i.div_ceil(2)) };
        let way = Vec2::from_angle(step * TAU / f64::from(DIRECTIONS));
        let reach = Vec2::new(w / 2.0 * ease(way.x), h / 2.0 * ease(way.y));
        Rect::from_center_size(at + way * gap + reach, (w, h))
    })
}

/// Full half-size from about 22 degrees off an axis, so that a box beside a
/// point starts beside it and not over it.
fn ease(part: f64) -> f64 {
    (part * 1.5).clamp(-1.0, 1.0)
}

#[cfg(test)]
mod tests;
