//! Which lines of line art are seen as they are drawn: not hidden under paint,
//! not beyond the page, not in dashes.

use kurbo::{ParamCurve as _, PathSeg, Point, Rect, Shape as _};

use super::layers::{self, Effect};
use crate::art::Inked;
use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::Ring;
use crate::geom::boolean::Rule;

/// Most outline pieces gone through to see which lines are hidden; beyond it the
/// rest count as seen. Ours: a hundred times what the demo faces need.
const WORK: usize = 5_000_000;
/// Points looked at on one line.
const POINTS: usize = 96;

/// The lines that are seen, and remarks on those that are not, or not wholly.
/// `is_line` picks the lines among `shapes`, which are in paint order.
pub(super) fn seen<'a>(
    shapes: &[&'a Inked],
    threshold: f64,
    is_line: impl Fn(&Inked) -> bool,
) -> (Vec<&'a Inked>, Vec<Finding>) {
    let takes = |s: &Inked| layers::effect(s, threshold) == Some(Effect::Takes);
    let covers: Vec<(usize, &Inked)> = shapes.iter().copied().enumerate().filter(|(_, s)| takes(s)).collect();
    let (mut seen, mut hidden, mut partly, mut work) = (Vec::new(), Vec::new(), Vec::new(), WORK);
    for (i, &shape) in shapes.iter().enumerate().filter(|(_, s)| is_line(s)) {
        let above = &covers[covers.partition_point(|&(at, _)| at <= i)..];
        match hiding(shape, above, &mut work) {
            Hiding::All => hidden.push(shape),
            Hiding::Part => partly.push(shape),
            Hiding::Nothing => {}
        }
        if hidden.last().is_none_or(|last| !std::ptr::eq(*last, shape)) {
            seen.push(shape);
        }
    }
    let findings = [
        told(
            &hidden,
            "hidden",
            "lies hidden under lighter paint; it was left out",
            "lie hidden under lighter paint; they were left out",
        ),
        told(
            &partly,
            "covered",
            "is partly hidden under lighter paint; it was taken whole",
            "are partly hidden under lighter paint; they were taken whole",
        ),
        told(
            &seen.iter().copied().filter(|s| s.line.as_ref().is_some_and(|l| l.dashed)).collect::<Vec<_>>(),
            "dashed",
            "is drawn in dashes; it was taken as a solid outline",
            "are drawn in dashes; they were taken as solid outlines",
        ),
    ];
    (seen, findings.into_iter().flatten().collect())
}

fn told(lines: &[&Inked], name: &str, one: &str, more: &str) -> Option<Finding> {
    let first = lines.first()?;
    let message = if lines.len() == 1 { format!("a line {one}") } else { format!("{} lines {more}", lines.len()) };
    let advice = "look at the picture; draw what is to be sawn on top, as a solid line, and delete the rest";
    let finding = Finding::new(format!("left-out-{name}"), FindingKind::LeftOut, Severity::Care, message, advice);
    Some(finding.at(first.bounds.center()).place(first.place.clone()))
}

/// How much of a line is hidden.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Hiding {
    Nothing,
    Part,
    All,
}

/// How much of `shape`'s line the shapes painted after it hide.
fn hiding(shape: &Inked, above: &[(usize, &Inked)], work: &mut usize) -> Hiding {
    let Some(line) = &shape.line else { return Hiding::Nothing };
    let mut points: Vec<Point> = Vec::new();
    let mut bare = Vec::new();
    // What one element paints itself, fill over stroke, hides nothing of it.
    let near = above.iter().filter(|(_, s)| s.bounds.overlaps(shape.bounds) && s.place != shape.place);
    for (_, cover) in near {
        if points.is_empty() {
            points = along(&line.centre);
            bare = vec![true; points.len()];
        }
        let cost = cover.path.elements().len() * points.len();
        if cost > *work {
            break;
        }
        *work -= cost;
        for (bare, &p) in bare.iter_mut().zip(&points).filter(|(bare, _)| **bare) {
            *bare = !inks(cover, p);
        }
    }
    match bare.iter().filter(|bare| **bare).count() {
        0 if !bare.is_empty() => Hiding::All,
        count if count < bare.len() => Hiding::Part,
        _ => Hiding::Nothing,
    }
}

fn inks(cover: &Inked, p: Point) -> bool {
    let winding = if cover.bounds.contains(p) { cover.path.winding(p) } else { 0 };
    match cover.rule {
        Rule::NonZero => winding != 0,
        Rule::EvenOdd => winding % 2 != 0,
    }
}

/// Points spread along a line.
fn along(centre: &kurbo::BezPath) -> Vec<Point> {
    let segs: Vec<PathSeg> = centre.segments().collect();
    let step = (segs.len() / (POINTS / 3)).max(1);
    segs.iter().step_by(step).flat_map(|seg| [0.15, 0.5, 0.85].map(|t| seg.eval(t))).collect()
}

/// Leaves out outlines that lie wholly beyond the page, where no viewer shows
/// them; remarks on those and on outlines that reach across its edge.
pub(super) fn on_page(rings: Vec<Ring>, page: Option<Rect>) -> (Vec<Ring>, Vec<Finding>) {
    let Some(page) = page else { return (rings, Vec::new()) };
    let slack = 1e-3 * page.width().max(page.height());
    let around = page.inflate(slack, slack);
    let (on, off): (Vec<Ring>, Vec<Ring>) = rings.into_iter().partition(|ring| page.overlaps(ring.bounds()));
    let across: Vec<Rect> = on.iter().map(Ring::bounds).filter(|b| around.union(*b) != around).collect();
    let advice = "make the page as large as the drawing, or delete what is not to be sawn";
    let told = |bounds: Rect, name: &str, message: String| {
        Finding::new(format!("left-out-{name}"), FindingKind::LeftOut, Severity::Care, message, advice)
            .at(bounds.center())
    };
    let mut findings = Vec::new();
    if let Some(&bounds) = across.first() {
        let message = match across.len() {
            1 => "an outline reaches past the drawing's page; it was taken whole".to_owned(),
            n => format!("{n} outlines reach past the drawing's page; they were taken whole"),
        };
        findings.push(told(bounds, "page", message));
    }
    let Some(bounds) = off.first().map(Ring::bounds) else { return (on, findings) };
    if on.is_empty() {
        let message = "all outlines lie outside the drawing's page; the page was ignored".to_owned();
        return (off, vec![told(bounds, "off-page", message)]);
    }
    let message = match off.len() {
        1 => "an outline lies outside the drawing's page, where no viewer shows it; it was left out".to_owned(),
        n => format!("{n} outlines lie outside the drawing's page, where no viewer shows them; they were left out"),
    };
    findings.push(told(bounds, "off-page", message));
    (on, findings)
}
