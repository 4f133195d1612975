use super::*;
use kurbo::{Circle, Rect, Shape};

const FINE: Sampling = Sampling { tolerance: 0.01, spacing: 1.5 };

fn boundary() -> Boundary {
    let rings = [Circle::new((20.0, 20.0), 10.0).to_path(1e-6), Rect::new(0.0, 0.0, 50.0, 40.0).to_path(1e-6)];
    Boundary::new(rings.iter().map(|path| (Ring::all_of(path).remove(0), FINE)).collect())
}

#[test]
fn samples_stand_on_their_spots() {
    let all = boundary();
    for i in 0..all.len() {
        assert!(all.at(all.spot(i)).distance(all.point(i)) < 1e-9, "sample {i}");
        assert_eq!(all.previous(all.next(i)), i, "round the ring at {i}");
        let (a, b) = all.edge(i);
        assert!(all.at(all.along(i, 0.5)).distance(a.midpoint(b)) < 0.05, "half along chord {i}");
    }
}

#[test]
fn corners_are_told_from_smooth_joints() {
    let all = boundary();
    let corners = (0..all.len()).filter(|&i| all.bend(i) != 0.0).count();
    assert_eq!(corners, 4, "the rectangle's, none of the circle's");
}

#[test]
fn nearest_agrees_with_a_plain_search() {
    let all = boundary();
    for step in 0..100 {
        let p = Point::new(f64::from(step % 10) * 5.3, f64::from(step / 10) * 4.1);
        let plain = (0..all.len())
            .map(|i| {
                let (a, b) = all.edge(i);
                super::super::flat::distance(a, b, p)
            })
            .fold(f64::INFINITY, f64::min);
        let (_, _, found) = all.nearest(p, 100.0, |_| false).unwrap();
        assert!((found - plain).abs() < 1e-12, "{p:?}: {found} against {plain}");
        assert!(all.is_clear(p, plain - 1e-9) && !all.is_clear(p, plain + 1e-9), "clear up to {plain}");
    }
}
