//! Outlines that cross nothing, themselves least of all, need no boolean
//! engine: what they bound follows from which lies in which.

use kurbo::{ParamCurve, PathSeg, Point, Rect};

use super::boolean::Rule;
use super::grid::Grid;
use super::monotone::{self, Arc};
use super::ring::{Piece, Region, Ring};

/// Arcs of outline stray from straight by this share of the drawing at most: 0.6 mm
/// on a face 150 mm wide. Ours; it decides the time taken and no answer.
const FLAT: f64 = 4e-3;
/// Outlines nearer than this share of the drawing, 0.00015 mm on such a face, are
/// left to the engine. Derived: fifteen times the accuracy asked of it, so that
/// it would keep apart what is kept apart here.
const NEAR: f64 = 1e-6;
/// Arcs of one outline this few steps apart may come nearer, round the end of a
/// narrow tip, so long as they do not meet. Ours.
const STEPS: u32 = 3;
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
    let size = frame.width().max(frame.height());
    if !(size > 0.0 && size.is_finite()) {
        return None;
    }
    let rings: Vec<Ring> = rings.iter().filter_map(without_spikes).collect();
    let outlines: Vec<Outline> = rings.iter().map(|ring| Outline::of(ring, FLAT * size)).collect::<Option<_>>()?;
    are_clean(&outlines, FLAT * size, NEAR * size).then(|| nested(&rings, &outlines, rule))
}

/// `ring` without lines that run straight back along the line before them: they
/// bound nothing. `None` when nothing else is left.
fn without_spikes(ring: &Ring) -> Option<Ring> {
    let count = ring.segs().len();
    let spike = |i: usize| runs_back(&ring.segs()[i], &ring.segs()[(i + 1) % count]);
    if !(0..count).any(spike) {
        return Some(ring.clone());
    }
    let mut kept: Vec<PathSeg> = Vec::new();
    for &seg in ring.segs() {
        let mut seg = seg;
        while let Some(before) = kept.last().filter(|before| runs_back(before, &seg)) {
            seg = PathSeg::Line(kurbo::Line::new(before.start(), seg.end()));
            kept.pop();
        }
        kept.push(seg);
    }
    Ring::new(kept)
}

/// Whether `next` is a line straight back along the line `seg`.
fn runs_back(seg: &PathSeg, next: &PathSeg) -> bool {
    let (PathSeg::Line(seg), PathSeg::Line(next)) = (seg, next) else { return false };
    let (on, back) = (seg.p1 - seg.p0, next.p1 - next.p0);
    on.dot(back) < 0.0 && on.cross(back).abs() <= STRAIGHT_BACK * on.hypot() * back.hypot()
}

/// Sine of the angle under which a line runs straight back. Ours: a spike as long
/// as a face is wide is then 1e-7 mm thick.
const STRAIGHT_BACK: f64 = 1e-9;

/// A ring cut into monotone arcs.
struct Outline {
    arcs: Vec<Arc>,
    frame: Rect,
    anticlockwise: bool,
}

impl Outline {
    /// `None` for a ring with a cusp or a loop in one of its curves.
    fn of(ring: &Ring, tolerance: f64) -> Option<Self> {
        let mut arcs = Vec::new();
        if !ring.segs().iter().all(|seg| monotone::cut(seg, tolerance, &mut arcs)) {
            return None;
        }
        // Two arcs that share both ends would be asked about one of them only.
        while arcs.len() < 4 {
            arcs = arcs.iter().flat_map(Arc::halves).collect();
        }
        let frame = arcs.iter().map(|arc| arc.frame).reduce(|a, b| a.union(b))?;
        Some(Self { anticlockwise: ring.signed_area() > 0.0, arcs, frame })
    }

    /// Whether `p`, on no outline, lies inside.
    fn contains(&self, p: Point) -> bool {
        self.frame.contains(p) && self.arcs.iter().filter(|arc| arc.crosses_right_of(p)).count() % 2 == 1
    }
}

/// Whether arcs that follow each other meet at their joint only, and others not
/// at all.
fn are_clean(outlines: &[Outline], tolerance: f64, near: f64) -> bool {
    let joints = |outline: &Outline| {
        let next = outline.arcs.iter().cycle().skip(1);
        outline.arcs.iter().zip(next).all(|(arc, next)| monotone::meet_at_joint_only(arc, next))
    };
    outlines.iter().all(joints) && none_near(outlines, tolerance, near)
}

fn none_near(outlines: &[Outline], tolerance: f64, near: f64) -> bool {
    let all: Vec<(&Arc, u32)> =
        (0_u32..).zip(outlines).flat_map(|(ring, outline)| outline.arcs.iter().map(move |arc| (arc, ring))).collect();
    let chords: Vec<(Point, Point)> = all.iter().map(|(arc, _)| (arc.start(), arc.end())).collect();
    let length: f64 = chords.iter().map(|(a, b)| a.distance(*b)).sum();
    let grid = Grid::new(&chords, 2.0 * length / chords.len() as f64);
    // An arc in several cells is asked about once.
    let mut asked = vec![u32::MAX; all.len()];
    (0_u32..).zip(&all).all(|(i, &(arc, ring))| {
        let room = arc.frame.inflate(tolerance + near, tolerance + near);
        grid.near(room).all(|j| {
            let (other, of) = all[j as usize];
            if j <= i || std::mem::replace(&mut asked[j as usize], i) == i {
                return true;
            }
            let steps = if of == ring { steps(i, j, outlines[ring as usize].arcs.len() as u32) } else { u32::MAX };
            steps == 1 || monotone::are_apart(arc, other, if steps <= STEPS { 0.0 } else { near })
        })
    })
}

/// How many steps lie between arcs `i` and `j` of a ring of `count`.
const fn steps(i: u32, j: u32, count: u32) -> u32 {
    let ahead = j - i;
    if ahead < count - ahead { ahead } else { count - ahead }
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
    let p = outlines[i].arcs[0].start();
    (0..outlines.len()).filter(|&j| j != i && outlines[j].contains(p)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::boolean::{on_polylines, resolve, subtract};
    use kurbo::{BezPath, Circle, Shape};
    use linesweeper::BinaryOp;
    use proptest::prelude::*;

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
            "M0 0L10 10V0L0 10z",                     // crosses itself
            "M0 0h10v10h-10z M5 5h10v10h-10z",        // two that overlap
            "M0 0h10v10h-10z M10 10h10v10h-10z",      // two that touch in a point
            "M0 0h10v10h-10z M0 0h10v10h-10z",        // one twice
            "M0 0C20 10 -10 10 10 0z",                // a loop in one curve
            "M0 0h10v10h-10z M10.00001 0h10v10h-10z", // a hair apart
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

    /// A closed curve with sharp and smooth places, which may cross itself.
    fn blob(radii: &[f64], center: Point, size: f64) -> BezPath {
        let count = radii.len();
        let angle = |i: usize| std::f64::consts::TAU * i as f64 / count as f64;
        let at = |i: usize| center + kurbo::Vec2::from_angle(angle(i)) * radii[i % count] * size;
        let mut path = BezPath::new();
        path.move_to(at(0));
        for i in 0..count {
            let (a, b, c, d) = (at(i + count - 1), at(i), at(i + 1), at(i + 2));
            let soft = if i % 3 == 0 { 0.0 } else { 0.4 };
            path.curve_to(b + (c - a) * soft, c - (d - b) * soft, c);
        }
        path.close_path();
        path
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]
        #[test]
        fn what_is_called_clean_has_the_area_a_polyline_library_finds(
            blobs in prop::collection::vec(
                (prop::collection::vec(2.0..10.0f64, 3..12), -20.0..20.0f64, -20.0..20.0f64, 0.2..2.0f64), 1..4,
            ),
            odd in any::<bool>(),
        ) {
            let path: BezPath =
                blobs.iter().flat_map(|(radii, x, y, size)| blob(radii, Point::new(*x, *y), *size)).collect();
            let rule = if odd { Rule::EvenOdd } else { Rule::NonZero };
            if let Some(region) = region(&Ring::all_of(&path), rule) {
                let flat = on_polylines(&path, &BezPath::new(), rule, BinaryOp::Union);
                let (ours, theirs) = (region.area(), flat.area());
                prop_assert!((ours - theirs).abs() < 1e-3 + 1e-5 * theirs, "{ours} against {theirs}");
                let rings = |of: &Region| of.pieces.iter().map(|piece| 1 + piece.holes.len()).sum::<usize>();
                prop_assert_eq!(rings(&region), rings(&flat), "as many rings");
            }
        }
    }

    #[test]
    fn spikes_of_no_width_go_and_sharp_tips_stay() {
        let spiked = of("M0 0H10V6H14H10V10H0z", Rule::EvenOdd).unwrap();
        assert_eq!(spiked.pieces[0].outer.bounds().x1, 10.0, "a line there and back bounds nothing");
        let star = "M0 0L50 2L100 0L52 5L50 60L48 5z";
        let region = of(star, Rule::EvenOdd).unwrap();
        assert_eq!(region.pieces[0].outer.segs().len(), 6, "tips of five degrees are clean");
    }
}
