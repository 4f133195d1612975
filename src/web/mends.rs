//! What the page shows of mending: the face before and after, every edit, and
//! the opening as the blade leaves it.

use kurbo::{Affine, BezPath, Point};
use serde_json::{Value, json};

use super::view;
use crate::diag::round3;
use crate::face::Face;
use crate::geom::Region;
use crate::geom::offset::Patch;
use crate::mend::{Change, Edit, SAME_PLACE, as_sawn, seen};
use crate::pipeline::Repaired;
use crate::project::{Mends, Settled};
use crate::settings::Settings;

/// The mended face for the page. Places are given on the panel (`at`) and in
/// the drawing's own space (`own`), in which they are remembered.
#[must_use]
pub fn view(repaired: &Repaired, mends: &Mends, settings: &Settings) -> Value {
    let Repaired { before, after, mended, built, lost } = repaired;
    let frame = before.face.frame();
    let bridge = |b: &crate::mend::Built| {
        let placed = mends.bridges.get(b.index);
        json!({
            "index": b.index, "feet": b.feet.map(xy), "d": region(b.change.shape()),
            "at": xy(b.feet[0].midpoint(b.feet[1])), "width_mm": round3(b.width), "needed_mm": round3(b.needed),
            "fixed": placed.is_some_and(|p| p.width_mm.is_some()),
        })
    };
    json!({
        "before": view::view(before, settings),
        "after": view::view(after, settings),
        "edits": mended.edits.iter().map(|e| edit(&before.face, e, mends)).collect::<Vec<_>>(),
        "refused": in_force(mends, frame).filter(|(_, s)| s.width_mm.is_none())
            .map(|(i, s)| json!({ "index": i, "kind": s.kind, "at": xy(frame * Point::new(s.x, s.y)) }))
            .collect::<Vec<_>>(),
        "bridges": built.iter().map(bridge).collect::<Vec<_>>(),
        "lost_bridges": lost,
        "lost_widths": lost_widths(repaired, mends),
        "unmended": mended.unmended.iter().map(|(id, why)| json!({ "id": id, "why": why })).collect::<Vec<_>>(),
        "summary": mended.summary,
        "sawn": patches(&as_sawn(&after.face, settings.saw.blade.kerf.get())),
    })
}

/// What is settled and its number in the list, but for entries that an earlier one about
/// the same place overrules, as it does in the mender: files may hold some.
fn in_force(mends: &Mends, frame: Affine) -> impl Iterator<Item = (usize, &Settled)> {
    let at = move |s: &Settled| frame * Point::new(s.x, s.y);
    let same = move |s: &Settled, other: &Settled| s.kind == other.kind && at(s).distance(at(other)) < SAME_PLACE;
    let all = mends.settled.iter().enumerate();
    all.filter(move |(i, s)| !mends.settled[..*i].iter().any(|earlier| same(earlier, s)))
}

/// Widths asked for of edits that could not be made so wide: nothing came of them.
fn lost_widths(repaired: &Repaired, mends: &Mends) -> Vec<Value> {
    let frame = repaired.before.face.frame();
    let made = |s: &Settled| repaired.mended.edits.iter().any(|edit| near(s, edit, frame));
    let asked = in_force(mends, frame).filter_map(|(i, s)| Some((i, s, s.width_mm?)));
    let lost = asked.filter(|(_, s, _)| !made(s));
    lost.map(|(i, s, width)| json!({ "index": i, "kind": s.kind, "width_mm": round3(width) })).collect()
}

fn xy(p: Point) -> Value {
    json!([round3(p.x), round3(p.y)])
}

fn region(region: &Region) -> String {
    region.pieces.iter().map(view::piece).collect()
}

fn edit(before: &Face, edit: &Edit, mends: &Mends) -> Value {
    let frame = before.frame();
    let own = frame.inverse() * edit.at;
    let settled = mends.settled.iter().position(|s| near(s, edit, frame));
    json!({
        "id": edit.id, "kind": edit.kind.name(), "finding": edit.finding, "pair": edit.pair, "at": xy(edit.at),
        "own": [own.x, own.y], "gives_back": matches!(edit.change, Change::GiveBack(_)),
        "d": region(&seen(before, &edit.change)), "width_mm": edit.width.map(round3), "length_mm": edit.length.map(round3),
        "area_mm2": round3(edit.area), "why": edit.why, "settled": settled,
    })
}

/// Whether `settled` is about `edit`, by the mender's own measure.
fn near(settled: &Settled, edit: &Edit, frame: Affine) -> bool {
    settled.kind == edit.kind.name() && (frame * Point::new(settled.x, settled.y)).distance(edit.at) < SAME_PLACE
}

/// Polygons as path data, to the hundredth of a millimetre.
fn patches(patches: &[Patch]) -> String {
    let mut path = BezPath::new();
    for ring in patches.iter().flat_map(|patch| &patch.rings) {
        let mut points = ring.iter().map(|p| Point::new((p.x * 100.0).round() / 100.0, (p.y * 100.0).round() / 100.0));
        if let Some(first) = points.next() {
            path.move_to(first);
            points.for_each(|p| path.line_to(p));
            path.close_path();
        }
    }
    path.to_svg()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_what_is_settled_twice_for_one_place_only_the_first_is_shown() {
        let one = |kind: &str, x, width_mm| Settled { kind: kind.to_owned(), x, y: 2.0, width_mm };
        let settled = vec![
            one("prop", 5.0, None),
            one("prop", 5.0, None),
            one("prop", 5.2, Some(4.0)),
            one("trim", 5.0, None),
            one("prop", 5.8, None),
        ];
        let mends = Mends { settled, ..Mends::default() };
        let shown = |scale| in_force(&mends, Affine::scale(scale)).map(|(i, _)| i).collect::<Vec<_>>();
        assert_eq!(shown(1.0), [0, 3]);
        assert_eq!(shown(10.0), [0, 2, 3, 4], "millimetres are those of the panel");
    }
}
