use super::*;

fn board() -> Placer {
    Placer::new(Rect::new(0.0, 0.0, 100.0, 100.0))
}

#[test]
fn a_label_stands_beside_its_point() {
    let spot = board().beside(Point::new(50.0, 50.0), (10.0, 3.0), 1.0, |_| 0.0).unwrap();
    assert!(spot.clear && spot.leader.is_none(), "{spot:?}");
    assert!((spot.rect.x0 - 51.0).abs() < 1e-9 && (spot.rect.center().y - 50.0).abs() < 1e-9, "to the right");
}

#[test]
fn labels_avoid_lines_labels_and_edges() {
    let mut placer = board();
    let line = BezPath::from_svg("M0 0 L100 100 M100 0 L0 100").unwrap();
    placer.line(&line);
    let mut rects: Vec<Rect> = Vec::new();
    for i in 0..12 {
        let at = Point::new(4.0 + 8.0 * f64::from(i), 4.0 + 8.0 * f64::from(i));
        let spot = placer.beside(at, (12.0, 3.0), 1.0, |_| 0.0).unwrap();
        assert!(spot.clear, "{spot:?}");
        assert!(rects.iter().all(|r| r.intersect(spot.rect).is_zero_area()), "off the others");
        assert!(Rect::new(0.0, 0.0, 100.0, 100.0).union(spot.rect) == Rect::new(0.0, 0.0, 100.0, 100.0), "inside");
        rects.push(spot.rect);
    }
}

#[test]
fn a_crowded_label_goes_away_and_is_joined_by_a_line() {
    let mut placer = board();
    placer.take(Rect::new(42.0, 42.0, 58.0, 58.0));
    let spot = placer.beside(Point::new(50.0, 50.0), (6.0, 3.0), 1.0, |_| 0.0).unwrap();
    assert!(spot.clear && spot.leader.is_some(), "{spot:?}");
}

#[test]
fn a_leader_goes_round_another_ones_label() {
    // The wide way out, to the right, is taken by a label with its leader.
    let mut placer = board();
    placer.take(Rect::new(40.0, 40.0, 60.0, 60.0));
    let first = placer.beside(Point::new(50.0, 50.0), (6.0, 3.0), 1.0, |_| 0.0).unwrap();
    let (from, to) = first.leader.unwrap();
    placer.leader(from, to);
    let second = placer.beside(Point::new(50.0, 50.0), (6.0, 3.0), 1.0, |_| 0.0).unwrap();
    let (from, to) = second.leader.unwrap();
    assert_eq!(inside(from, to, first.rect), 0.0, "{first:?} {second:?}");
}

#[test]
fn a_leader_pays_for_each_line_it_crosses_and_for_running_along_one() {
    let mut placer = board();
    placer.line(&BezPath::from_svg("M20 0 L20 100 M40 0 L40 100").unwrap());
    let cost = |from: (f64, f64), to: (f64, f64)| placer.crossed(from.into(), to.into());
    assert_eq!(cost((22.0, 50.0), (38.0, 50.0)), 0.0, "between them");
    let (one, two) = (cost((10.0, 50.0), (30.0, 50.0)), cost((10.0, 50.0), (50.0, 50.0)));
    assert!(one >= OVER_LINE.0 && (two - 2.0 * one).abs() < 2.0, "{one} {two}");
    let along = cost((20.4, 30.0), (20.4, 50.0));
    assert!((along - 20.0 * OVER_LINE.1).abs() < 1e-6, "20 mm beside a line: {along}");
}

#[test]
fn a_name_that_would_have_to_go_far_is_left_out() {
    let mut placer = board();
    placer.take(Rect::new(24.0, 24.0, 76.0, 76.0));
    let at = Point::new(50.0, 50.0);
    assert!(placer.beside_alone(at, (6.0, 3.0), 1.0, WORTH.1, |_| 0.0).is_none(), "more than 20 mm off");
    assert!(placer.beside(at, (6.0, 3.0), 1.0, |_| 0.0).is_some(), "one that must be there goes");
}

#[test]
fn room_is_the_distance_to_the_nearest_thing() {
    let mut placer = board();
    placer.line(&BezPath::from_svg("M20 0 L20 100").unwrap());
    placer.take(Rect::new(60.0, 40.0, 70.0, 60.0));
    for (p, want) in [((30.0, 50.0), 10.0), ((55.0, 50.0), 5.0), ((97.0, 50.0), 3.0), ((40.0, 90.0), 10.0)] {
        let got = placer.room(p.into(), 20.0);
        assert!((got - want).abs() < 1e-9, "{p:?}: {got} for {want}");
    }
}
