//! Edits that later ones made needless.
//!
//! What is weak is widened before it is known what its neighbours will need: a strip may
//! end up wholly under later ones. It then changes nothing, and refusing it would change
//! nothing either: it is no choice, and is not told.

use kurbo::{Point, Shape};

use super::{Change, Edit, EditKind, apply};
use crate::face::Face;
use crate::geom::Region;
use crate::geom::boolean::subtract_all;

/// What an edit changes alone may be so much, mm², and it is needless still: a tenth of
/// what a report states.
const LEAST: f64 = 0.01;

/// The edits of `face` without the needless, numbered anew.
pub(super) fn needed(face: &Face, mut edits: Vec<Edit>) -> Vec<Edit> {
    let mut kept = vec![true; edits.len()];
    for i in 0..edits.len() {
        let image = edits[i].pair.and_then(|pair| edits.iter().position(|e| e.id == pair));
        let both = [Some(i), image];
        let spare = both.iter().flatten().all(|&j| is_covered(face, &edits, &kept, j, &both));
        if spare {
            for &j in both.iter().flatten() {
                kept[j] = false;
                hand_on(&mut edits, &kept, j);
            }
        }
    }
    renumbered(edits, &kept)
}

/// Whether edit `i` changes nothing that others do not. Where another undoes part of it,
/// their order counts: it stays. So does what holds an island: without it the island
/// would fall, and what lies over it would not be there.
fn is_covered(face: &Face, edits: &[Edit], kept: &[bool], i: usize, but: &[Option<usize>]) -> bool {
    let may = edits[i].kind != EditKind::Bridge;
    let gives = |edit: &Edit| matches!(edit.change, Change::GiveBack(_));
    let frame = edits[i].change.shape().bounds();
    let near = |j: &usize| kept[*j] && !but.contains(&Some(*j)) && edits[*j].change.shape().bounds().overlaps(frame);
    let (like, unlike): (Vec<usize>, Vec<usize>) =
        (0..edits.len()).filter(near).partition(|&j| gives(&edits[j]) == gives(&edits[i]));
    let over = like.iter().map(|&j| edits[j].change.shape());
    let needless = || subtract_all(&apply::seen(face, &edits[i].change), over).area() < LEAST;
    may && kept[i] && unlike.is_empty() && needless()
}

/// The finding of a needless edit is removed by those over it: by the nearest that is
/// not told of any and lies over the very place.
fn hand_on(edits: &mut [Edit], kept: &[bool], i: usize) {
    let (Some(finding), at, kind) = (edits[i].finding.take(), edits[i].at, edits[i].kind) else { return };
    let heir = (edits.iter_mut().zip(kept))
        .filter(|(edit, kept)| **kept && edit.kind == kind && edit.finding.is_none())
        .filter(|(edit, _)| covers(edit.change.shape(), at))
        .min_by(|a, b| a.0.at.distance(at).total_cmp(&b.0.at.distance(at)));
    if let Some((edit, _)) = heir {
        edit.finding = Some(finding);
    }
}

fn covers(region: &Region, at: Point) -> bool {
    region.pieces.iter().any(|piece| piece.rings().map(|ring| ring.to_path().winding(at)).sum::<i32>() != 0)
}

/// Those kept, numbered from 1, pairs by their new numbers.
fn renumbered(edits: Vec<Edit>, kept: &[bool]) -> Vec<Edit> {
    let old: Vec<u32> = edits.iter().zip(kept).filter(|(_, kept)| **kept).map(|(edit, _)| edit.id).collect();
    let new = |id: u32| old.iter().position(|old| *old == id).map(|i| i as u32 + 1);
    let stay = edits.into_iter().zip(kept).filter(|(_, kept)| **kept);
    (1..).zip(stay).map(|(id, (edit, _))| Edit { id, pair: edit.pair.and_then(new), ..edit }).collect()
}

#[cfg(test)]
mod tests {
    use kurbo::{BezPath, Rect, Shape};

    use super::super::tests::{mended, of};
    use super::*;
    use crate::geom::boolean::{Rule, resolve};

    fn edit(id: u32, kind: EditKind, box_: (f64, f64, f64, f64)) -> Edit {
        let shape = resolve(&Rect::new(box_.0, box_.1, box_.2, box_.3).to_path(1e-6), Rule::NonZero);
        let opens = matches!(kind, EditKind::Slot | EditKind::Round);
        let change = if opens { Change::OpenUp(shape) } else { Change::GiveBack(shape) };
        let at = change.shape().bounds().center();
        let (finding, why) = (Some(format!("bridge-{id}")), String::new());
        Edit { id, kind, finding, pair: None, at, change, width: None, length: None, area: 0.0, why }
    }

    /// What is told of edits to an opening 40 wide and 80 high.
    fn told(edits: Vec<Edit>) -> Vec<(u32, Option<u32>, Option<String>)> {
        let face = of(&BezPath::from_svg("M20 60h40v80h-40z").unwrap());
        needed(&face, edits).into_iter().map(|e| (e.id, e.pair, e.finding)).collect()
    }

    #[test]
    fn what_lies_under_others_is_not_told_and_its_finding_is_theirs() {
        use EditKind::{Bridge, Slot, Widen};
        let heir = Edit { finding: None, ..edit(2, Widen, (15.0, 75.0, 36.0, 85.0)) };
        let other = edit(3, Widen, (28.0, 75.0, 65.0, 85.0));
        let finding = |id: u32| Some(format!("bridge-{id}"));
        let low = (18.0, 78.0, 50.0, 82.0);
        let both = told(vec![edit(1, Widen, low), heir.clone(), other.clone()]);
        assert_eq!(both, [(1, None, finding(1)), (2, None, finding(3))], "under two others together");
        let bridge = told(vec![edit(1, Bridge, low), heir.clone(), other.clone()]);
        assert_eq!(bridge.len(), 3, "a bridge to an island is told");
        let undone = told(vec![edit(1, Widen, low), edit(4, Slot, (30.0, 70.0, 31.0, 90.0)), heir.clone(), other]);
        assert_eq!(undone.len(), 4, "where something was opened the order counts");
        assert_eq!(told(vec![edit(1, Widen, low), heir]).len(), 2, "half of it shows");
    }

    #[test]
    fn halves_of_a_pair_go_together_and_numbers_follow() {
        let pair = |id: u32, image: u32, x: f64, wide: f64| {
            let strip = edit(id, EditKind::Widen, (x - wide, 78.0, x + wide, 82.0));
            Edit { pair: Some(image), ..strip }
        };
        let narrow = [pair(1, 2, 30.0, 2.0), pair(2, 1, 50.0, 2.0)];
        let wide = [pair(3, 4, 30.0, 4.0), pair(4, 3, 50.0, 4.0)];
        let all = told([narrow.clone(), wide.clone()].concat());
        let pairs: Vec<(u32, Option<u32>)> = all.iter().map(|e| (e.0, e.1)).collect();
        assert_eq!(pairs, [(1, Some(2)), (2, Some(1))], "{all:?}");
        let one = told(vec![narrow[0].clone(), narrow[1].clone(), wide[0].clone()]);
        assert_eq!(one.len(), 3, "one half is needed: both are told");
    }

    #[test]
    fn every_edit_told_changes_the_face() {
        // Bars of many widths, whose strips meet.
        let comb = "M20 50h10v60h-10z M31 50h10v60h-10z M42.4 50h9v60h-9z M53 50h10v60h-10z M30 113h35v9h-35z";
        let face = of(&BezPath::from_svg(comb).unwrap());
        let mended = mended(&face);
        for edit in &mended.edits {
            let others = mended.edits.iter().filter(|e| e.id != edit.id).map(|e| &e.change);
            let without = apply::apply(&face, others);
            assert!(without != mended.face, "edit {} {}", edit.id, edit.why);
        }
        assert!(mended.edits.len() > 3, "{}", mended.edits.len());
    }
}
