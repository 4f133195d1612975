//! Convex hulls.

use kurbo::Point;

/// The convex hull of `points`, anticlockwise (Andrew's monotone chain, 1979). A point
/// whose triangle with its neighbours is under half of `slack`, mm², is left out.
#[must_use]
pub fn hull(points: &[Point], slack: f64) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = Point>| {
        let mut kept: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = kept.as_slice()
                && (*b - *a).cross(p - *b) <= slack
            {
                kept.pop();
            }
            kept.push(p);
        }
        kept.pop();
        kept
    };
    let mut hull = chain(&mut sorted.iter().copied());
    hull.extend(chain(&mut sorted.iter().rev().copied()));
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_inside_is_left_out() {
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (2.0, 2.0), (2.0, 0.0), (1.0, 3.0)];
        let points = square.map(Point::from);
        assert_eq!(hull(&points, 0.0), [points[0], points[1], points[2], points[3]], "four corners, anticlockwise");
    }

    #[test]
    fn the_farthest_point_of_a_set_is_on_its_hull() {
        let spiral = |i: i32| Point::new(f64::from(i * 7919 % 101), f64::from(i * 104_729 % 89));
        let points: Vec<Point> = (0..500).map(spiral).collect();
        let far = |set: &[Point], from: Point| set.iter().map(|p| p.distance(from)).fold(0.0, f64::max);
        let hull = hull(&points, 0.0);
        assert!(hull.len() < 60, "{} corners", hull.len());
        for from in [Point::ORIGIN, Point::new(50.0, 40.0), Point::new(-300.0, 12.0)] {
            assert_eq!(far(&hull, from), far(&points, from), "seen from {from}");
        }
    }

    #[test]
    fn few_points_are_their_own_hull() {
        let (a, b) = (Point::new(1.0, 2.0), Point::new(3.0, 5.0));
        assert_eq!(hull(&[a, b], 0.0), [a, b]);
        assert_eq!(hull(&[], 0.0), []);
    }
}
