//! Where a panel too large for one sheet is cut into several: joins stand where
//! they cross least of the face, as far as the sheets' spare room goes.

use crate::face::CutOut;
use crate::geom::flat::FlatRing;

/// Shallowest flap that still folds and sticks, mm: common practice, no source.
pub(super) const LEAST_FLAP: f64 = 5.0;
/// Saw lines are counted to this accuracy, mm, a part of [`STEP`].
const FLATTEN: f64 = 0.1;
/// Joins stand at whole steps of this, mm.
const STEP: f64 = 1.0;
/// How far beside a join a saw line counts as well, mm: one that runs along the
/// trim line is as hard to join as one that crosses it.
const BESIDE: usize = 3;
/// A saw line this far off, mm, still has signs and names beside it that a join would
/// part. Ours: the width of a name with its leader.
const AROUND: usize = 12;
/// Weight of the lines at a join, beside it and around it. What is farther off weighs
/// less, so that a join never crosses more to be clear of signs.
const WEIGHTS: (f64, f64, f64) = (1.0, 0.5, 0.1);
/// Weight of a millimetre away from equal sheets, in crossings: it only breaks ties.
const UNEVEN: f64 = 1e-3;

/// Saw lines that a straight join would cross, for each millimetre of the panel.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Crossings {
    /// By an upright join, from the panel's left edge.
    pub across: Vec<u32>,
    /// By a level join, from its bottom edge.
    pub up: Vec<u32>,
}

impl Crossings {
    /// Counts the lines of the cut-outs on a panel `width` by `height` mm.
    #[must_use]
    pub fn of(cutouts: &[CutOut], width: f64, height: f64) -> Self {
        let rings: Vec<FlatRing> =
            cutouts.iter().flat_map(|cutout| cutout.piece.rings()).map(|ring| ring.flatten(FLATTEN)).collect();
        let spans = |of: fn(kurbo::Point) -> f64| {
            let rings = rings.iter().map(|ring| &ring.points);
            rings.flat_map(move |points| {
                let next = points.iter().cycle().skip(1);
                points.iter().zip(next).map(move |(a, b)| (of(*a).min(of(*b)), of(*a).max(of(*b))))
            })
        };
        Self { across: counted(spans(|p| p.x), width), up: counted(spans(|p| p.y), height) }
    }
}

/// How many of the spans hold each whole step of `length`.
fn counted(spans: impl Iterator<Item = (f64, f64)>, length: f64) -> Vec<u32> {
    let count = (length / STEP).ceil().max(0.0) as usize + 1;
    let place = |at: f64| ((at / STEP).ceil().max(0.0) as usize).min(count);
    let mut change = vec![0i64; count + 1];
    for (from, to) in spans {
        change[place(from)] += 1;
        change[place(to)] -= 1;
    }
    let mut now = 0;
    let running = change.into_iter().take(count).map(|step| {
        now += step;
        u32::try_from(now).unwrap_or(0)
    });
    running.collect()
}

/// A length cut into windows that overlap.
pub(super) struct Cut {
    pub(super) count: usize,
    pub(super) flap: f64,
    length: f64,
    room: f64,
    overlap: f64,
}

/// The places of the join before, and the least cost of each with the place it came from.
type Before<'a> = (&'a Vec<f64>, &'a Vec<(f64, usize)>);

impl Cut {
    /// `None` when a sheet's room is too little to join on.
    pub(super) fn of(length: f64, thickness: f64, room: f64, overlap: f64) -> Option<Self> {
        if room < overlap * 2.0 + 10.0 {
            return None;
        }
        let count = if length <= room { 1.0 } else { ((length - overlap) / (room - overlap)).ceil() };
        let reach = count * room - (count - 1.0) * overlap;
        let spare = (reach - length) / 2.0;
        let flap = if spare >= LEAST_FLAP { spare.min(thickness.max(LEAST_FLAP)) } else { 0.0 };
        Some(Self { count: count as usize, flap, length, room, overlap })
    }

    /// Start and end of each window, flaps included, from the panel's own start.
    pub(super) fn windows(&self, crossings: &[u32]) -> Vec<(f64, f64)> {
        let (start, end) = (-self.flap, self.length + self.flap);
        let half = self.overlap / 2.0;
        let joins = self.joins(crossings);
        let starts = std::iter::once(start).chain(joins.iter().map(|join| join - half));
        let ends = joins.iter().map(|join| join + half).chain([end]);
        starts.zip(ends).collect()
    }

    /// The middles of the overlaps: of all that leave no window larger than its
    /// sheet, those that cross fewest lines.
    fn joins(&self, crossings: &[u32]) -> Vec<f64> {
        let places: Vec<Vec<f64>> = (1..self.count).map(|join| self.places(join)).collect();
        // The least cost of each place of a join, and the place before it.
        let mut best: Vec<Vec<(f64, usize)>> = Vec::new();
        for (join, here) in places.iter().enumerate() {
            let before = join.checked_sub(1).map(|k| (&places[k], &best[k]));
            let cost = |at: f64| self.cost(join + 1, at, crossings);
            let row = here.iter().map(|&at| self.reached(at, before, cost(at))).collect();
            best.push(row);
        }
        self.traced(&places, &best).unwrap_or_else(|| (1..self.count).map(|join| self.even(join)).collect())
    }

    /// Where a join would stand with equal windows.
    fn even(&self, join: usize) -> f64 {
        let (start, count) = (-self.flap, self.count as f64);
        let size = (self.length + 2.0 * self.flap + (count - 1.0) * self.overlap) / count;
        start + join as f64 * (size - self.overlap) + self.overlap / 2.0
    }

    /// Where a join may stand: no sheet before or after it gets more than its room.
    fn places(&self, join: usize) -> Vec<f64> {
        let half = self.overlap / 2.0;
        let pitch = self.room - self.overlap;
        let most = -self.flap + join as f64 * pitch + half;
        let least = self.length + self.flap - (self.count - join) as f64 * pitch - half;
        let whole = (least / STEP).ceil() as i64..=(most / STEP).floor() as i64;
        let even = Some(self.even(join)).filter(|at| *at >= least - 1e-9 && *at <= most + 1e-9);
        even.into_iter().chain(whole.map(|step| step as f64 * STEP)).collect()
    }

    fn cost(&self, join: usize, at: f64, crossings: &[u32]) -> f64 {
        let middle = (at / STEP).round().max(0.0) as usize;
        let most = |reach: usize| {
            let near = middle.saturating_sub(reach)..=middle + reach;
            f64::from(near.filter_map(|i| crossings.get(i)).max().copied().unwrap_or(0))
        };
        let (here, beside, around) = WEIGHTS;
        most(0) * here + most(BESIDE) * beside + most(AROUND) * around + (at - self.even(join)).abs() * UNEVEN
    }

    /// The least cost of a join at `at`, and which place of the join before it.
    fn reached(&self, at: f64, before: Option<Before<'_>>, cost: f64) -> (f64, usize) {
        let Some((places, costs)) = before else { return (cost, 0) };
        let fits = |from: f64| at - from <= self.room - self.overlap + 1e-9 && at - from >= self.overlap;
        let ways = places.iter().zip(costs).enumerate().filter(|(_, (from, _))| fits(**from));
        let least = ways.map(|(i, (_, (so_far, _)))| (so_far + cost, i)).min_by(|a, b| a.0.total_cmp(&b.0));
        least.unwrap_or((f64::INFINITY, 0))
    }

    /// The places of the cheapest way, from the last join back.
    fn traced(&self, places: &[Vec<f64>], best: &[Vec<(f64, usize)>]) -> Option<Vec<f64>> {
        let Some(last) = best.last() else { return Some(Vec::new()) };
        let cheapest = last.iter().enumerate().min_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
        let mut at = Some(cheapest.0).filter(|_| cheapest.1.0.is_finite())?;
        let mut joins = Vec::new();
        for (here, costs) in places.iter().zip(best).rev() {
            joins.push(*here.get(at)?);
            at = costs.get(at)?.1;
        }
        joins.reverse();
        Some(joins)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_join_moves_off_the_lines_as_far_as_the_spare_room_lets_it() {
        // 300 mm on sheets of 190 with 12 overlap: equal sheets join at 150.
        let cut = Cut::of(300.0, 15.0, 190.0, 12.0).unwrap();
        assert_eq!((cut.count, cut.flap), (2, 15.0));
        let join = |crossings: &[u32]| {
            let windows = cut.windows(crossings);
            assert!(windows.iter().all(|(from, to)| to - from <= 190.0 + 1e-9), "{windows:?}");
            assert!((windows[0].1 - windows[1].0 - 12.0).abs() < 1e-9, "the overlap asked for");
            (windows[0].1 + windows[1].0) / 2.0
        };
        assert!((join(&[]) - 150.0).abs() < 1e-9, "in the middle when nothing is in the way");
        let mut lines = vec![0; 301];
        lines[140..158].fill(4);
        let moved = join(&lines);
        assert!((158.0..=169.0).contains(&moved) || (131.0..140.0).contains(&moved), "{moved}");
        assert!((join(&vec![4; 301]) - 150.0).abs() < 1e-9, "no better anywhere: in the middle");
    }

    #[test]
    fn a_join_keeps_clear_of_the_signs_beside_a_face_where_there_is_room() {
        // 300 mm on sheets of 190: it may stand from 131 to 169 mm.
        let cut = Cut::of(300.0, 15.0, 190.0, 12.0).unwrap();
        let mut lines = vec![0; 301];
        lines[140..152].fill(2);
        let windows = cut.windows(&lines);
        let join = (windows[0].1 + windows[1].0) / 2.0;
        assert!(join >= 151.0 + 12.0, "{join}: 12 mm of board are free");
    }

    #[test]
    fn several_joins_each_find_their_place() {
        let cut = Cut::of(900.0, 15.0, 250.0, 12.0).unwrap();
        let mut lines = vec![3; 901];
        for free in [222, 448, 684] {
            lines[free - 5..free + 5].fill(0);
        }
        let windows = cut.windows(&lines);
        assert!(windows.iter().all(|(from, to)| to - from <= 250.0 + 1e-9), "{windows:?}");
        let joins: Vec<f64> = windows.windows(2).map(|w| (w[0].1 + w[1].0) / 2.0).collect();
        for (join, free) in joins.iter().zip([222.0, 448.0, 684.0]) {
            assert!((join - free).abs() <= 5.0, "{joins:?}");
        }
    }
}
