//! Outlines drawn twice, one hardly beside the other.

use kurbo::{Point, Rect};

use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::Ring;
use crate::geom::flat::distance;

/// Outlines nearer to each other than this all the way round are one, mm on the
/// panel. Ours: the thickness of the paper the template is printed on, a fraction
/// of any kerf; no opening that narrow is meant.
const SAME: f64 = 0.1;
/// Distances measured at most; beyond it the rest count as single. Ours.
const WORK: usize = 5_000_000;

/// Leaves out outlines that lie on an earlier one, which would cut a ring of no
/// width with an island in it. `mm` is panel millimetres of one art unit.
pub(super) fn without(rings: Vec<Ring>, mm: f64) -> (Vec<Ring>, Option<Finding>) {
    let near = SAME / mm;
    let flat: Vec<(Rect, Vec<Point>)> = rings.iter().map(|r| (r.bounds(), points(r, near))).collect();
    let mut by_left: Vec<usize> = (0..rings.len()).collect();
    by_left.sort_by(|&a, &b| flat[a].0.x0.total_cmp(&flat[b].0.x0).then(a.cmp(&b)));
    let (mut double, mut work) = (vec![false; rings.len()], WORK);
    for (at, &a) in by_left.iter().enumerate() {
        let beside = by_left[at + 1..].iter().take_while(|&&b| flat[b].0.x0 - flat[a].0.x0 <= near);
        for &b in beside {
            let (first, second) = (a.min(b), a.max(b));
            if !double[first] && !double[second] && lie_together(&flat[a], &flat[b], near, &mut work) {
                double[second] = true;
            }
        }
    }
    let first = double.iter().position(|&d| d).map(|i| flat[i].0);
    let count = double.iter().filter(|&&d| d).count();
    let mut double = double.into_iter();
    let kept = rings.into_iter().filter(|_| !double.next().unwrap_or(false)).collect();
    (kept, first.map(|bounds| told(count, bounds)))
}

fn told(count: usize, bounds: Rect) -> Finding {
    let message = if count == 1 {
        format!("an outline lies on another, nowhere {SAME} mm from it; the two count as one")
    } else {
        format!("{count} outlines lie on others, nowhere {SAME} mm from them; each counts once")
    };
    let advice = "nothing, if the picture is right; else delete the copies in the drawing";
    Finding::new("left-out-double", FindingKind::LeftOut, Severity::Note, message, advice).at(bounds.center())
}

/// Points on a ring, closed, its curves within a tenth of `near`.
fn points(ring: &Ring, near: f64) -> Vec<Point> {
    let mut points = Vec::new();
    kurbo::flatten(ring.to_path(), near / 10.0, |element| match element {
        kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) => points.push(p),
        _ => points.extend(points.first().copied()),
    });
    points
}

fn lie_together(a: &(Rect, Vec<Point>), b: &(Rect, Vec<Point>), near: f64, work: &mut usize) -> bool {
    let corners = |r: &Rect| [r.x0, r.y0, r.x1, r.y1];
    let alike = corners(&a.0).into_iter().zip(corners(&b.0)).all(|(a, b)| (a - b).abs() <= near);
    alike && follows(&a.1, &b.1, near, work) && follows(&b.1, &a.1, near, work)
}

/// Whether every point of `a` is near the line through `b`.
fn follows(a: &[Point], b: &[Point], near: f64, work: &mut usize) -> bool {
    let cost = a.len() * b.len();
    if cost > *work {
        return false;
    }
    *work -= cost;
    a.iter().all(|&p| b.windows(2).any(|side| distance(side[0], side[1], p) <= near))
}
