//! Sub-pixel contours: marching squares with straight interpolation between
//! pixel centres (Lorensen & Cline's scheme, 1987, in the plane). On an edge
//! that blends ink into paper the crossing lies on the drawn line itself.

use kurbo::Point;

use super::decode::Picture;
use crate::geom::flat::bounds;

/// Most crossings of the threshold a picture may have: noise and photographs of
/// leaves have more, a drawn face a twentieth.
const MOST_CROSSINGS: usize = 600_000;

/// Closed contours where the picture crosses `threshold`, ink on the left as
/// walked with y down, and the number of specks left out: contours that enclose
/// fewer than `speck` square pixels. `None` when there are too many to be art.
#[must_use]
pub fn rings(picture: &Picture, threshold: f64, speck: f64) -> Option<(Vec<Vec<Point>>, usize)> {
    let links = links(picture, threshold as f32)?;
    let mut used = vec![false; links.len()];
    let (mut rings, mut specks) = (Vec::new(), 0);
    for start in 0..links.len() {
        if used[start] {
            continue;
        }
        let ring = walk(picture, threshold, &links, &mut used, start);
        if area(&ring).abs() < speck { specks += 1 } else { rings.push(ring) }
    }
    rings.sort_by(|a, b| {
        let (a, b) = (bounds(a), bounds(b));
        a.y0.total_cmp(&b.y0).then(a.x0.total_cmp(&b.x0))
    });
    Some((rings, specks))
}

/// A crossing: the grid line it lies on, between pixel (x, y) and its right or
/// lower neighbour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Crossing {
    y: i32,
    x: i32,
    down: bool,
}

/// From each crossing the next one along the contour, sorted by the first.
fn links(picture: &Picture, threshold: f32) -> Option<Vec<(Crossing, Crossing)>> {
    let mut links = Vec::new();
    let (mut upper, mut lower) = (vec![1.0; picture.width + 2], vec![1.0; picture.width + 2]);
    for y in -1..picture.height as i32 {
        std::mem::swap(&mut upper, &mut lower);
        picture.padded_row(i64::from(y) + 1, &mut lower);
        for (x, (a, b)) in (-1..).zip(upper.windows(2).zip(lower.windows(2))) {
            let ink = [a[0], a[1], b[1], b[0]].map(|level| level < threshold);
            if ink != [ink[0]; 4] {
                let middle_ink = (a[0] + a[1] + b[1] + b[0]) / 4.0 < threshold;
                cell(x, y, ink, middle_ink, &mut links);
            }
        }
        if links.len() > MOST_CROSSINGS {
            return None;
        }
    }
    links.sort_unstable();
    Some(links)
}

/// The links in the cell whose upper left pixel is (x, y); `ink` goes round its
/// corners from there.
fn cell(x: i32, y: i32, ink: [bool; 4], middle_ink: bool, links: &mut Vec<(Crossing, Crossing)>) {
    let top = Crossing { y, x, down: false };
    let left = Crossing { y, x, down: true };
    let (bottom, right) = (Crossing { y: y + 1, ..top }, Crossing { x: x + 1, ..left });
    // Sides in order round the cell, each after the corner of the same number.
    let sides = [top, right, bottom, left];
    for i in 0..4 {
        // A contour enters where ink turns to paper, going round, and leaves
        // where paper turns to ink again: the next such side, or on a saddle
        // the one before when the middle is ink.
        if ink[i] && !ink[(i + 1) % 4] {
            let saddle = !ink[(i + 3) % 4] && ink[(i + 2) % 4];
            let exit = |j: &usize| !ink[j % 4] && ink[(j + 1) % 4];
            let out = if saddle && !middle_ink { (i + 3..i + 4).find(exit) } else { (i + 1..i + 4).find(exit) };
            links.extend(out.map(|j| (sides[i], sides[j % 4])));
        }
    }
}

fn walk(
    picture: &Picture,
    threshold: f64,
    links: &[(Crossing, Crossing)],
    used: &mut [bool],
    start: usize,
) -> Vec<Point> {
    let (mut ring, mut at) = (Vec::new(), start);
    while !used[at] {
        used[at] = true;
        ring.push(place(picture, threshold, links[at].0));
        match links.binary_search_by(|link| link.0.cmp(&links[at].1)) {
            Ok(next) => at = next,
            Err(_) => break,
        }
    }
    ring
}

fn place(picture: &Picture, threshold: f64, crossing: Crossing) -> Point {
    let (x, y) = (i64::from(crossing.x), i64::from(crossing.y));
    let (dx, dy) = if crossing.down { (0, 1) } else { (1, 0) };
    let (a, b) = (f64::from(picture.at(x, y)), f64::from(picture.at(x + dx, y + dy)));
    let part = ((threshold - a) / (b - a)).clamp(0.0, 1.0);
    Point::new(x as f64 + 0.5 + part * dx as f64, y as f64 + 0.5 + part * dy as f64)
}

/// Enclosed area of a closed polyline, positive anticlockwise with y up.
#[must_use]
pub fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A disc with a soft edge one pixel wide, as an anti-aliased drawing has.
    fn disc(size: usize, centre: f64, radius: f64) -> Picture {
        let level = |i: usize| {
            let at = Point::new((i % size) as f64 + 0.5, (i / size) as f64 + 0.5);
            (at.distance(Point::new(centre, centre)) - radius + 0.5).clamp(0.0, 1.0) as f32
        };
        Picture { width: size, height: size, levels: (0..size * size).map(level).collect(), dpi: None }
    }

    #[test]
    fn a_soft_disc_is_found_within_a_tenth_of_a_pixel() {
        let (rings, _) = rings(&disc(200, 100.3, 70.4), 0.5, 12.0).unwrap();
        assert_eq!(rings.len(), 1, "one ring");
        let off = |p: &Point| (p.distance(Point::new(100.3, 100.3)) - 70.4).abs();
        let worst = rings[0].iter().map(off).fold(0.0, f64::max);
        assert!(worst < 0.1, "farthest {worst} px");
        assert!((area(&rings[0]).abs() - PI * 70.4 * 70.4).abs() < 5.0, "area {}", area(&rings[0]));
    }

    #[test]
    fn ink_at_the_border_closes_and_saddles_do_not_cross() {
        let ink = |x: usize, y: usize| if (x + y).is_multiple_of(2) { 0.0 } else { 1.0 };
        let board = Picture { width: 6, height: 6, levels: (0..36).map(|i| ink(i % 6, i / 6)).collect(), dpi: None };
        let (found, specks) = rings(&board, 0.5, 0.0).unwrap();
        assert_eq!(specks, 0, "nothing is too small");
        assert!(found.iter().all(|ring| ring.len() >= 4), "every ring closes");
        let black = Picture { width: 5, height: 5, levels: vec![0.0; 25], dpi: None };
        let (found, _) = rings(&black, 0.5, 0.0).unwrap();
        assert_eq!(found.len(), 1, "the sheet's own edge");
    }

    #[test]
    fn specks_are_counted() {
        let mut picture = disc(60, 30.0, 10.0);
        picture.levels[60 * 3 + 3] = 0.0;
        let (rings, specks) = rings(&picture, 0.5, 12.0).unwrap();
        assert_eq!((rings.len(), specks), (1, 1), "one disc, one speck");
    }
}
