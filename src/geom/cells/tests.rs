use super::*;
use crate::geom::Ring;
use crate::geom::boundary::Sampling;
use kurbo::{BezPath, Circle, Shape};
use std::f64::consts::PI;

/// A 100 × 60 panel with openings on their rings' left.
fn panel(openings: &[BezPath]) -> Boundary {
    let sampling = Sampling { tolerance: 0.01, spacing: 1.5 };
    let mut rings =
        vec![(Ring::all_of(&Rect::new(0.0, 0.0, 100.0, 60.0).to_path(1e-6)).remove(0).wound(false), sampling)];
    rings.extend(openings.iter().map(|path| (Ring::all_of(path).remove(0), sampling)));
    Boundary::new(rings)
}

fn spot(all: &Boundary, p: Point) -> Spot {
    let (edge, fraction, _) = all.nearest(p, 10.0, |_| false).unwrap();
    all.along(edge, fraction)
}

fn cut(all: &Boundary, a: (f64, f64), b: (f64, f64)) -> Cut {
    let (a, b) = (Point::from(a), Point::from(b));
    Cut { spots: [spot(all, a), spot(all, b)], toward: [b - a, a - b] }
}

fn ring(x: f64, y: f64, r: f64, anticlockwise: bool) -> BezPath {
    Ring::all_of(&Circle::new((x, y), r).to_path(1e-7)).remove(0).wound(anticlockwise).to_path()
}

#[test]
fn a_panel_with_openings_is_one_part() {
    let all = panel(&[ring(20.0, 30.0, 10.0, true), ring(60.0, 30.0, 15.0, true)]);
    let cells = Cells::new(&all, &[]);
    assert_eq!(cells.cells.len(), 1, "one part");
    assert!((cells.cells[0].area - (6000.0 - PI * 325.0)).abs() < 1e-2, "area {}", cells.cells[0].area);
    assert_eq!(cells.cells[0].rings, [0, 1, 2], "all rings bound it");
}

#[test]
fn a_hole_of_an_opening_is_a_part_of_its_own_and_nests() {
    let all = panel(&[
        ring(50.0, 30.0, 25.0, true),
        ring(50.0, 30.0, 20.0, false),
        ring(50.0, 30.0, 10.0, true),
        ring(50.0, 30.0, 5.0, false),
    ]);
    let cells = Cells::new(&all, &[]);
    let areas: Vec<f64> = cells.cells.iter().map(|c| c.area).collect();
    let want = [6000.0 - PI * 625.0, PI * 300.0, PI * 25.0];
    assert_eq!(areas.len(), 3, "panel, ring of wood, core: {areas:?}");
    for (got, want) in areas.iter().zip(want) {
        assert!((got - want).abs() < 1e-2, "{areas:?}");
    }
}

#[test]
fn a_cut_across_a_tongue_parts_it() {
    // A U-shaped opening leaves a tongue of wood 10 wide and 20 long.
    let all = panel(&[BezPath::from_svg("M30 10 H60 V40 H50 V20 H40 V40 H30 Z").unwrap()]);
    let cells = Cells::new(&all, &[cut(&all, (40.0, 40.0), (50.0, 40.0))]);
    let mut areas: Vec<f64> = cells.cells.iter().map(|c| c.area).collect();
    areas.sort_by(f64::total_cmp);
    assert_eq!(areas.len(), 2, "{areas:?}");
    assert!((areas[0] - 200.0).abs() < 1e-9, "tongue {areas:?}");
    assert!((areas[1] - (6000.0 - 700.0 - 200.0)).abs() < 1e-9, "rest {areas:?}");
    assert!(cells.sides[0].iter().all(Option::is_some) && cells.sides[0][0] != cells.sides[0][1], "two sides");
}

#[test]
fn two_cuts_between_two_openings_part_what_lies_between() {
    let all = panel(&[
        BezPath::from_svg("M20 20 H30 V40 H20 Z").unwrap(),
        BezPath::from_svg("M40 20 H50 V40 H40 Z").unwrap(),
    ]);
    let one = Cells::new(&all, &[cut(&all, (30.0, 22.0), (40.0, 22.0))]);
    assert_eq!(one.cells.len(), 1, "one cut parts nothing");
    assert_eq!(one.sides[0], [Some(0), Some(0)], "the same part on both sides");
    let two = Cells::new(&all, &[cut(&all, (30.0, 22.0), (40.0, 22.0)), cut(&all, (30.0, 38.0), (40.0, 38.0))]);
    let mut areas: Vec<f64> = two.cells.iter().map(|c| c.area).collect();
    areas.sort_by(f64::total_cmp);
    assert!(areas.len() == 2 && (areas[0] - 160.0).abs() < 1e-9, "{areas:?}");
}

#[test]
fn openings_inside_a_part_cut_off_belong_to_it() {
    // As above, with a round hole in the tongue.
    let all = panel(&[BezPath::from_svg("M30 10 H60 V40 H50 V20 H40 V40 H30 Z").unwrap(), ring(45.0, 30.0, 2.0, true)]);
    let cells = Cells::new(&all, &[cut(&all, (40.0, 40.0), (50.0, 40.0))]);
    let least = cells.cells.iter().map(|c| c.area).fold(f64::INFINITY, f64::min);
    assert!((least - (200.0 - 4.0 * PI)).abs() < 1e-3, "{least}");
}

#[test]
fn cuts_that_share_a_corner_part_the_same_however_it_is_said() {
    // A tongue with a step: two cuts meet at the step's inner corner, which is the end of
    // one segment and the start of the next, to rounding.
    let all = panel(&[BezPath::from_svg("M20 10 H80 V50 H60 V20 H50 V30 H40 V50 H20 Z").unwrap()]);
    let corner = spot(&all, Point::new(50.0, 30.0));
    let near = [
        corner,
        Spot { mark: Mark { seg: corner.mark.seg.max(1) - 1, t: 1.0 }, ..corner },
        Spot { mark: Mark { t: corner.mark.t + 1e-8, ..corner.mark }, ..corner },
    ];
    let ends = [(40.0, 50.0), (60.0, 30.0)].map(Point::from);
    let to = |from: Spot, end: Point| {
        let dir = end - all.at(from);
        Cut { spots: [from, spot(&all, end)], toward: [dir, -dir] }
    };
    let areas = |a: Spot, b: Spot| {
        let cells = Cells::new(&all, &[to(a, ends[0]), to(b, ends[1])]);
        let mut areas: Vec<f64> = cells.cells.iter().map(|c| (c.area * 100.0).round() / 100.0).collect();
        areas.sort_by(f64::total_cmp);
        areas
    };
    let want = areas(corner, corner);
    assert_eq!(want.len(), 3, "{want:?}");
    for a in near {
        for b in near {
            if all.at(a).distance(all.at(corner)) < 1e-6 && all.at(b).distance(all.at(corner)) < 1e-6 {
                assert_eq!(areas(a, b), want, "{a:?} and {b:?}");
            }
        }
    }
}
