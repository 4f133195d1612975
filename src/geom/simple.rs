//! Outlines that cross nothing, themselves least of all, need no boolean
//! engine: what they bound follows from which lies in which.

use kurbo::{Point, Rect};

use super::boolean::Rule;
use super::flat::{bounds, distance};
use super::grid::Grid;
use super::ring::{Piece, Region, Ring};

/// Chords stray from the curves by this share of the drawing at most: 0.003 mm
/// on a face 150 mm wide. Ours, a third of what a report states.
const FLAT: f64 = 2e-5;
/// Chords nearer than this many times that are left to the engine. Derived: each
/// curve lies within one of its chord, so from two on curves cannot touch.
const NEAR: f64 = 2.5;
/// Cosine of the sharpest turn between chords that follow each other; in a
/// sharper one (154°) the curves may run over one another. Ours.
const SHARP: f64 = -0.9;
/// With more rings the engine is asked: which lies in which takes their square.
/// Ours, not measured.
const MOST_RINGS: usize = 400;

/// What `rings` bound under `rule`, curve for curve, when no outline comes near
/// another or itself; `None` when any does.
#[must_use]
pub(super) fn region(rings: &[Ring], rule: Rule) -> Option<Region> {
    if rings.is_empty() || rings.len() > MOST_RINGS {
        return None;
    }
    let frame = rings.iter().map(Ring::control_box).reduce(|a, b| a.union(b))?;
    let tolerance = FLAT * frame.width().max(frame.height());
    if !(tolerance > 0.0 && tolerance.is_finite()) {
        return None;
    }
    let outlines: Vec<Outline> = rings.iter().map(|ring| Outline::of(ring, tolerance)).collect();
    are_apart(&outlines, NEAR * tolerance).then(|| nested(rings, &outlines, rule))
}

/// A ring as a polyline.
struct Outline {
    points: Vec<Point>,
    frame: Rect,
    anticlockwise: bool,
}

impl Outline {
    fn of(ring: &Ring, tolerance: f64) -> Self {
        let flat = ring.flatten(tolerance);
        let frame = bounds(&flat.points);
        Self { anticlockwise: flat.signed_area() > 0.0, points: flat.points, frame }
    }

    fn contains(&self, p: Point) -> bool {
        if !self.frame.contains(p) {
            return false;
        }
        let (mut inside, mut a) = (false, self.points[self.points.len() - 1]);
        for &b in &self.points {
            if (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x {
                inside = !inside;
            }
            a = b;
        }
        inside
    }
}

/// Whether chords that do not follow each other stay `near` apart, and those
/// that do never fold back.
fn are_apart(outlines: &[Outline], near: f64) -> bool {
    let mut chords: Vec<(Point, Point)> = Vec::new();
    // The chord after each, by number.
    let mut next: Vec<u32> = Vec::new();
    for outline in outlines {
        let first = chords.len() as u32;
        let points = &outline.points;
        for i in 0..points.len() {
            chords.push((points[i], points[(i + 1) % points.len()]));
            next.push(first + (i as u32 + 1) % points.len() as u32);
        }
    }
    let folds = |i: usize| {
        let ((a, b), (c, d)) = (chords[i], chords[next[i] as usize]);
        let (on, after) = (b - a, d - c);
        on.dot(after) < SHARP * on.hypot() * after.hypot()
    };
    !(0..chords.len()).any(folds) && !any_near(&chords, &next, near)
}

fn any_near(chords: &[(Point, Point)], next: &[u32], near: f64) -> bool {
    let length: f64 = chords.iter().map(|(a, b)| a.distance(*b)).sum();
    let grid = Grid::new(chords, 2.0 * length / chords.len() as f64);
    (0_u32..).zip(chords).any(|(i, &(a, b))| {
        let frame = Rect::from_points(a, b).inflate(near, near);
        grid.near(frame).any(|j| {
            let apart = j <= i || next[i as usize] == j || next[j as usize] == i;
            !apart && {
                let (c, d) = chords[j as usize];
                frame.overlaps(Rect::from_points(c, d)) && meet((a, b), (c, d), near)
            }
        })
    })
}

/// Whether two chords cross or come nearer to each other than `near`.
fn meet((a, b): (Point, Point), (c, d): (Point, Point), near: f64) -> bool {
    let side = |a: Point, b: Point, p: Point| (b - a).cross(p - a) > 0.0;
    let cross = side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b);
    cross
        || distance(a, b, c) < near
        || distance(a, b, d) < near
        || distance(c, d, a) < near
        || distance(c, d, b) < near
}

/// The pieces, from which ring lies in which.
fn nested(rings: &[Ring], outlines: &[Outline], rule: Rule) -> Region {
    let around: Vec<Vec<usize>> = (0..rings.len()).map(|i| rings_around(outlines, i)).collect();
    let turns = |i: usize| if outlines[i].anticlockwise { 1 } else { -1 };
    let filled = |winding: i32| match rule {
        Rule::EvenOdd => winding % 2 != 0,
        Rule::NonZero => winding != 0,
    };
    let mut region = Region::default();
    let mut slot = vec![None; rings.len()];
    let sides: Vec<[bool; 2]> = (0..rings.len())
        .map(|i| {
            let outside: i32 = around[i].iter().map(|&j| turns(j)).sum();
            [filled(outside), filled(outside + turns(i))]
        })
        .collect();
    for (i, ring) in rings.iter().enumerate() {
        if sides[i] == [false, true] {
            slot[i] = Some(region.pieces.len());
            region.pieces.push(Piece { outer: wound(ring, &outlines[i], true), holes: Vec::new() });
        }
    }
    for (i, ring) in rings.iter().enumerate() {
        if sides[i] == [true, false] {
            // Of the outer rings round a hole the innermost has the most round it.
            let own = around[i].iter().filter(|&&j| slot[j].is_some()).max_by_key(|&&j| around[j].len());
            if let Some(piece) = own.and_then(|&j| slot[j]) {
                region.pieces[piece].holes.push(wound(ring, &outlines[i], false));
            }
        }
    }
    region
}

fn wound(ring: &Ring, outline: &Outline, anticlockwise: bool) -> Ring {
    if outline.anticlockwise == anticlockwise { ring.clone() } else { ring.reversed() }
}

fn rings_around(outlines: &[Outline], i: usize) -> Vec<usize> {
    let p = outlines[i].points[0];
    (0..outlines.len()).filter(|&j| j != i && outlines[j].contains(p)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{resolve, subtract};
    use kurbo::{BezPath, Circle, Shape};

    fn of(svg: &str, rule: Rule) -> Option<Region> {
        region(&Ring::all_of(&BezPath::from_svg(svg).unwrap()), rule)
    }

    #[test]
    fn rings_in_rings_alternate_or_add_up_as_the_rule_says() {
        // Three squares in one another, the middle one walked the other way.
        let squares = "M0 0h40v40h-40z M10 10v20h20v-20z M15 15h10v10h-10z";
        for rule in [Rule::EvenOdd, Rule::NonZero] {
            let region = of(squares, rule).unwrap();
            assert_eq!(region.pieces.iter().map(|p| p.holes.len()).collect::<Vec<_>>(), [1, 0], "{rule:?}");
            assert!((region.area() - 1300.0).abs() < 1e-9, "{rule:?}: {}", region.area());
        }
        // All walked the same way, only the outermost counts when they add up.
        let alike = "M0 0h40v40h-40z M10 10h20v20h-20z M15 15h10v10h-10z";
        assert!((of(alike, Rule::NonZero).unwrap().area() - 1600.0).abs() < 1e-9, "one square");
        assert!((of(alike, Rule::EvenOdd).unwrap().area() - 1300.0).abs() < 1e-9, "a frame and its core");
    }

    #[test]
    fn what_crosses_touches_or_folds_is_left_to_the_engine() {
        for svg in [
            "M0 0L10 10V0L0 10z",                    // crosses itself
            "M0 0h10v10h-10z M5 5h10v10h-10z",       // two that overlap
            "M0 0h10v10h-10z M10 10h10v10h-10z",     // two that touch in a point
            "M0 0h10v10h-10z M0 0h10v10h-10z",       // one twice
            "M0 0L10 0L0 0.5z",                      // a fold
            "M0 0h10v10h-10z M10.0004 0h10v10h-10z", // a hair apart
        ] {
            assert_eq!(of(svg, Rule::EvenOdd), None, "{svg}");
        }
        assert!(of("M0 0h10v10h-10z M10.01 0h10v10h-10z", Rule::EvenOdd).is_some(), "apart enough");
    }

    #[test]
    fn curves_come_out_as_they_went_in() {
        let ring = |r: f64| Circle::new((50.0, 50.0), r).to_path(1e-6);
        let path: BezPath = ring(20.0).into_iter().chain(ring(10.0)).collect();
        let region = region(&Ring::all_of(&path), Rule::EvenOdd).unwrap();
        assert_eq!(region.pieces[0].outer.segs().len(), Ring::all_of(&path)[0].segs().len(), "no curve is cut");
        // The engine, asked the same another way.
        let less = subtract(&resolve(&ring(20.0), Rule::NonZero), &resolve(&ring(10.0), Rule::NonZero));
        assert!((region.area() - less.area()).abs() < 1e-6, "{} against {}", region.area(), less.area());
    }
}
