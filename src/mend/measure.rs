//! How much a face was changed.

use kurbo::Point;

use super::wood::Wood;
use super::{Change, Edit, EditKind, Start, Summary, wood};
use crate::face::Face;
use crate::geom::boolean::{intersect, subtract, union_all};
use crate::geom::offset::Patch;
use crate::geom::{Region, Ring};

/// Farthest displacement looked for, mm.
const REACH: f64 = 60.0;

/// Measures `after` against the face as it came, but for the [`displacement`].
///
/// Only what was opened meets the boolean engine: outlines that lie on each other for
/// most of their length would cost it, and the figures, a few tenths of a mm².
pub(super) fn summary(start: &Start<'_>, after: &Face, edits: &[Edit]) -> Summary {
    let (old, new) = (wood::openings(start.came.0), wood::openings(after));
    let changes = start.built.iter().map(|built| &built.change).chain(edits.iter().map(|edit| &edit.change));
    let opened: Vec<&Region> = changes.filter(|c| matches!(c, Change::OpenUp(_))).map(Change::shape).collect();
    let won = if opened.is_empty() { 0.0 } else { intersect(&subtract(&union_all(opened), &old), &new).area() };
    let lost = (old.area() + won - new.area()).max(0.0);
    let (both, either) = (old.area() - lost, old.area() + won);
    let share = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
    Summary {
        area_changed_mm2: lost + won,
        area_changed_share: share(lost + won, old.area()),
        greatest_displacement_mm: 0.0,
        similarity: if either > 0.0 { both / either } else { 1.0 },
        axis_mm: None,
        rounds: 0,
        proven: true,
    }
}

/// Farthest any outline after lies from those of the face as it came, looked at
/// where an edit other than a bridge to an island or a cut-out left out was made,
/// and not on bridges, those built by hand among them; and farthest any outline under a
/// widened bar lay from those after.
pub(super) fn displacement(start: &Start<'_>, after: &Face, edits: &[Edit]) -> f64 {
    let moved: Vec<_> = edits.iter().filter(|e| !matches!(e.kind, EditKind::Bridge | EditKind::LeaveOut)).collect();
    if moved.is_empty() {
        return 0.0;
    }
    let patches = |change: &Change| crate::geom::offset::patches(change.shape(), 0.05);
    let of_kind = |kind: EditKind| edits.iter().filter(move |e| e.kind == kind).map(|e| &e.change);
    let built = start.built.iter().map(|b| &b.change);
    let bridges: Vec<Patch> = of_kind(EditKind::Bridge).chain(built).flat_map(patches).collect();
    let strips: Vec<Patch> = of_kind(EditKind::Widen).flat_map(patches).collect();
    let touched = |point: &Point| {
        let near = |e: &&Edit| e.change.shape().bounds().inflate(0.05, 0.05).contains(*point);
        let on_bridge =
            || bridges.iter().any(|b| b.bounds().inflate(0.05, 0.05).contains(*point) && near_or_in(b, *point));
        moved.iter().any(near) && !on_bridge()
    };
    let filled = |point: &Point| strips.iter().any(|strip| strip.bounds().contains(*point) && strip.contains(*point));
    let points =
        |face: &Face| -> Vec<Point> { face.cutouts.iter().flat_map(|c| c.piece.rings()).flat_map(along).collect() };
    let farthest = |points: &mut dyn Iterator<Item = Point>, from: &Face| {
        let wood = Wood::of(from);
        points.filter_map(|p| wood.grid.nearest(p, REACH, |_| true)).map(|hit| hit.distance).fold(0.0, f64::max)
    };
    // Of a line that is filled nothing is left to measure from.
    let came = start.came.0;
    let lost = farthest(&mut points(came).into_iter().filter(|p| filled(p) && touched(p)), after);
    farthest(&mut points(after).into_iter().filter(touched), came).max(lost)
}

/// Points along a ring, at most a millimetre apart.
fn along(ring: &Ring) -> Vec<Point> {
    let between = |(a, b): (Point, Point)| {
        let steps = a.distance(b).ceil().max(1.0) as u32;
        (0..steps).map(move |step| a.lerp(b, f64::from(step) / f64::from(steps)))
    };
    ring.flatten(0.05).edges().flat_map(between).collect()
}

fn near_or_in(patch: &Patch, p: Point) -> bool {
    let near = |(a, b): (Point, Point)| crate::geom::flat::distance(a, b, p) < 0.06;
    patch.contains(p) || patch.edges().any(near)
}
