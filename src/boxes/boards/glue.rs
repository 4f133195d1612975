//! Parts glued up from strips, where no board is wide enough or the wide ones
//! are dear.

use crate::boxes::parts::{Part, PartKind};
use crate::diag::{Error, Finding, FindingKind, Severity};
use crate::units::{Mm, Unit};

use super::cutlist::{CutRow, fits};

/// Wood planed off each strip of a glued-up part to true its edges, 1/16 in
/// (common practice, no source).
pub(super) const JOINTING: Mm = Mm::from_inches(1.0 / 16.0);
/// Most strips one part is glued up from (common practice, no source: more
/// joints than anyone glues).
const MOST_STRIPS: u32 = 20;
/// Narrowest strip ripped to fill a part up, 3/8 in (common practice, no
/// source: solid edging of 1/4 to 3/4 in is glued on every day; what is
/// narrower is lost to truing and bends between the clamps).
const LEAST_FILLER: Mm = Mm::from_inches(3.0 / 8.0);
/// A filler strip this near to the width of the others is no other way to cut,
/// 1 mm (ours).
const ALIKE: Mm = Mm::new(1.0);

/// How a part too wide for its boards is shared out over strips.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Split {
    /// Strips of one width: every one of them leaves an offcut along its board.
    Even,
    /// Strips as wide as their board, and one that fills up what is missing.
    Filler,
}

/// How many strips make the part from boards `widest` wide.
pub(super) fn strips(part: &Part, widest: Mm, unit: Unit) -> Result<u32, Error> {
    let even = |n: &u32| fits(part.width / f64::from(*n) + JOINTING, widest);
    (2..=MOST_STRIPS).find(even).ok_or_else(|| {
        let (name, wide, board) = (part.kind.name(), part.width.both(unit), widest.both(unit));
        let text = format!("the {name} is {wide} wide, too wide to glue up from boards {board} wide");
        let advice = "add a wider board under boards.stock, or make the box smaller";
        Error::Sizes { what: text, advice: advice.into(), measured: Some(part.width) }
    })
}

/// The rows of a part glued up from so many strips; `whole` is its row in one
/// piece.
pub(super) fn rows(whole: &CutRow, strips: u32, widest: Mm, split: Split) -> Vec<CutRow> {
    let sawn = whole.width + JOINTING * f64::from(strips);
    let others = f64::from(strips - 1);
    let filler = (sawn - widest * others).max(LEAST_FILLER);
    let wide = (sawn - filler) / others;
    if split == Split::Even || wide - filler < ALIKE {
        let width = sawn / f64::from(strips);
        return vec![CutRow { count: whole.count * strips, width, strips, each: strips, ..whole.clone() }];
    }
    let each = strips - 1;
    vec![
        CutRow { count: whole.count * each, width: wide, strips, each, ..whole.clone() },
        CutRow { width: filler, strips, filler: true, mark: whole.mark.to_ascii_lowercase(), ..whole.clone() },
    ]
}

/// What is to be said of a part glued up; `why` it is.
pub(super) fn finding(part: &Part, rows: &[CutRow], widest: Mm, why: &str, unit: Unit) -> Finding {
    let name = part.kind.name();
    let id = format!("glue-up-{}", name.replace(' ', "-"));
    let mut text = format!("the {name} is {} wide, {why}: glued up from {}", part.width.both(unit), words(rows, unit));
    let mut severity = Severity::Note;
    let mut advice = match rows {
        [_, _] => {
            "true the edges, glue, then cut to width, the filler where it shows least; a wider board saves the work"
        }
        _ => "true the edges, glue, then cut to width; a wider board saves the work",
    };
    if part.kind == PartKind::Front {
        let places: Vec<String> = joints(rows).iter().map(|at| at.text(unit)).collect();
        let which = if places.len() == 1 { "a joint runs" } else { "joints run" };
        text.push_str(&format!(", and {which} through the face's panel, {} from an edge", places.join(", ")));
        severity = Severity::Care;
        advice = "buy a board wide enough for the front (boards.stock) or make the box narrower; else choose a face \
                  that keeps its cut-outs and bridges off the joint";
    }
    Finding::new(id, FindingKind::Plan, severity, text, advice).measured(part.width.get(), widest.get())
}

/// `2 strips`, or `a strip 5-1/2 in wide and a filler of 3/8 in`.
fn words(rows: &[CutRow], unit: Unit) -> String {
    match rows {
        [wide, filler] => {
            let strips = if wide.each == 1 { "a strip".to_owned() } else { format!("{} strips", wide.each) };
            format!("{strips} {} wide and a filler strip of {}", wide.width.text(unit), filler.width.text(unit))
        }
        _ => format!("{} strips", rows.first().map_or(0, |row| row.strips)),
    }
}

/// Where the joints are, from the edge the first strip is at.
fn joints(rows: &[CutRow]) -> Vec<Mm> {
    let Some(first) = rows.first() else { return Vec::new() };
    (1..first.strips).map(|n| (first.width - JOINTING) * f64::from(n)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(width: f64) -> CutRow {
        CutRow {
            mark: 'G',
            part: PartKind::Base,
            count: 10,
            length: Mm::new(160.0),
            width: Mm::from_inches(width),
            thickness: Mm::from_inches(0.625),
            strips: 1,
            each: 1,
            filler: false,
        }
    }

    /// Widths in inches with their counts, from boards 5-1/2 in wide.
    fn split(width: f64, strips: u32) -> Vec<(f64, u32)> {
        let rows = rows(&row(width), strips, Mm::from_inches(5.5), Split::Filler);
        rows.iter().map(|row| ((row.width.inches() * 1e6).round() / 1e6, row.count)).collect()
    }

    #[test]
    fn a_filler_makes_up_what_full_strips_lack() {
        // Every strip loses 1/16 in to truing: 5-7/16 and 5/16 make 5-3/4 in.
        assert_eq!(split(5.75, 2), [(5.5, 10), (0.375, 10)], "the built-in base");
        assert_eq!(split(5.6, 2), [(5.35, 10), (0.375, 10)], "no narrower than can be glued: the wide one gives way");
        assert_eq!(split(11.0, 3), [(5.40625, 20), (0.375, 10)], "and so do two");
        assert_eq!(split(10.875, 2), [(5.5, 20)], "nothing to fill: two alike");
    }

    #[test]
    fn strips_trued_and_glued_are_as_wide_as_the_part() {
        for (width, strips) in [(5.75, 2), (5.6, 2), (7.0, 2), (10.9, 3), (15.0, 3)] {
            for how in [Split::Even, Split::Filler] {
                let rows = rows(&row(width), strips, Mm::from_inches(5.5), how);
                let glued: f64 = rows.iter().map(|r| f64::from(r.each) * (r.width - JOINTING).inches()).sum();
                assert!((glued - width).abs() < 1e-9, "{how:?}: {width} in, {glued}");
                assert_eq!(rows.iter().map(|r| r.each).sum::<u32>(), strips, "all strips");
                assert_eq!(rows.iter().map(CutRow::glued_parts).sum::<u32>(), 10, "each part once");
                assert_eq!(rows.iter().map(CutRow::glue_lines).sum::<u32>(), 10 * (strips - 1), "each joint once");
            }
        }
    }

    #[test]
    fn a_joint_through_the_front_calls_for_care() {
        let part = |kind| Part {
            kind,
            count: 1,
            length: Mm::from_inches(10.0),
            width: Mm::from_inches(5.25),
            thickness: Mm::from_inches(0.625),
        };
        let widest = Mm::from_inches(3.5);
        let said = |kind, split| {
            let rows = rows(&row(5.25), 2, widest, split);
            finding(&part(kind), &rows, widest, "wider than any board", Unit::Inch)
        };
        let front = said(PartKind::Front, Split::Even);
        assert_eq!(front.severity, Severity::Care, "a face is sawn there");
        assert!(front.message.ends_with("a joint runs through the face's panel, 2-5/8 in from an edge"), "{front:?}");
        let front = said(PartKind::Front, Split::Filler).message;
        assert!(front.ends_with("3-7/16 in from an edge"), "{front}");
        assert_eq!(said(PartKind::Back, Split::Even).severity, Severity::Note, "nothing is sawn there");
    }
}
