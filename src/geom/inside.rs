//! A point well inside an area.

use std::collections::BinaryHeap;

use kurbo::{Point, Rect};

use super::boundary::Boundary;
use super::flat::bounds;

/// Whether `p` lies inside closed loops taken together, by the even-odd rule.
#[must_use]
pub fn is_inside(loops: &[Vec<Point>], p: Point) -> bool {
    let crossings = |ring: &Vec<Point>| {
        let ends = ring.iter().zip(ring.iter().cycle().skip(1));
        ends.filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x).count()
    };
    loops.iter().map(crossings).sum::<usize>() % 2 == 1
}

/// A square still to be looked into, and the most room it may hold.
struct Square {
    center: Point,
    half: f64,
    room: f64,
    most: f64,
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Square {}
impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Square {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        let place = |s: &Self| (s.center.y, s.center.x);
        let (a, b) = (place(self), place(other));
        self.most.total_cmp(&other.most).then(b.0.total_cmp(&a.0)).then(b.1.total_cmp(&a.1))
    }
}

/// Squares looked into before a point inside is taken as it is.
const MOST: usize = 2_000;

/// A point inside `loops` as far from `all` as any (the pole of
/// inaccessibility), and how far that is: within `accuracy` mm and a factor of
/// `enough`, 1 or a little more. `None` for loops that
/// enclose nothing.
///
/// Searches squares, most promising first: none can hold more room than its
/// centre's plus its half diagonal. In a long even strip every place is as good
/// as the next; after [`MOST`] squares the best so far is taken.
#[must_use]
pub fn deepest(all: &Boundary, loops: &[Vec<Point>], accuracy: f64, enough: f64) -> Option<(Point, f64)> {
    let frame = loops.iter().map(|ring| bounds(ring)).reduce(|a, b| a.union(b))?;
    let reach = frame.width().hypot(frame.height());
    let square = |center: Point, half: f64, reach: f64, is_inside: &dyn Fn() -> bool| {
        let distance = all.nearest(center, reach, |_| false).map_or(reach, |(_, _, d)| d);
        let room = if is_inside() { distance } else { -distance };
        Square { center, half, room, most: room + half * std::f64::consts::SQRT_2 }
    };
    let whole = |(center, half): (Point, f64)| square(center, half, reach, &|| is_inside(loops, center));
    // No outline lies between two centres nearer to each other than either is to one.
    let quarter = |of: &Square, x: f64, y: f64| {
        let (half, known) = (of.half / 2.0, of.room.abs());
        let (center, step) = (of.center + kurbo::Vec2::new(x, y) * half, half * std::f64::consts::SQRT_2);
        let same_side = || if step < known { of.room > 0.0 } else { is_inside(loops, center) };
        square(center, half, (known + step) * (1.0 + 1e-9), &same_side)
    };
    let mut queue: BinaryHeap<Square> = tiles(frame).map(whole).collect();
    let mut best: Option<(Point, f64)> = None;
    let mut looked = 0;
    while let Some(next) = queue.pop() {
        looked += 1;
        if looked > MOST && best.is_some() {
            break;
        }
        let known = best.map_or(0.0, |(_, room)| room);
        if next.room > known {
            best = Some((next.center, next.room));
        }
        if next.most <= known.max(next.room) * enough + accuracy {
            continue;
        }
        let quarters = [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)];
        queue.extend(quarters.map(|(x, y)| quarter(&next, x, y)));
    }
    best
}

/// Squares that cover `frame`: their centres and half sides.
fn tiles(frame: Rect) -> impl Iterator<Item = (Point, f64)> {
    let side = frame.width().min(frame.height()).max(frame.width().max(frame.height()) / 16.0).max(1e-6);
    let (columns, rows) = ((frame.width() / side).ceil() as u32, (frame.height() / side).ceil() as u32);
    (0..rows).flat_map(move |y| {
        (0..columns).map(move |x| {
            let corner = frame.origin() + kurbo::Vec2::new(f64::from(x), f64::from(y)) * side;
            (corner + kurbo::Vec2::new(side, side) / 2.0, side / 2.0)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;
    use crate::geom::boundary::Sampling;
    use kurbo::{BezPath, Circle, Shape};

    fn of(paths: &[BezPath]) -> (Boundary, Vec<Vec<Point>>) {
        let sampling = Sampling { tolerance: 0.01, spacing: 1.5 };
        let all = Boundary::new(paths.iter().map(|path| (Ring::all_of(path).remove(0), sampling)).collect());
        let loops = (0..paths.len() as u32).map(|r| all.samples(r).map(|i| all.point(i)).collect()).collect();
        (all, loops)
    }

    #[test]
    fn the_deepest_point_of_a_circle_is_its_middle() {
        let (all, loops) = of(&[Circle::new((7.0, -3.0), 5.0).to_path(1e-6)]);
        let (at, room) = deepest(&all, &loops, 0.01, 1.0).unwrap();
        assert!(at.distance(Point::new(7.0, -3.0)) < 0.05 && (room - 5.0).abs() < 0.02, "{at:?} {room}");
    }

    #[test]
    fn a_hole_keeps_the_point_in_the_wood() {
        let (all, loops) =
            of(&[Circle::new((0.0, 0.0), 10.0).to_path(1e-6), Circle::new((2.0, 0.0), 6.0).to_path(1e-6)]);
        let (at, room) = deepest(&all, &loops, 0.01, 1.0).unwrap();
        assert!(is_inside(&loops, at) && (room - 3.0).abs() < 0.02, "{at:?} {room}");
    }
}
