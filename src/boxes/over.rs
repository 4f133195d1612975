//! How far cut-outs reach into the clearances, and which nails they meet there.

use kurbo::{BezPath, PathEl, Point, Shape};
use serde::Serialize;

use super::face::FaceCutout;
use super::plane::FlatOutline;
use super::window::{Cause, Edge, EdgeClearance, Reason, Window};
use crate::diag::{Finding, FindingKind, Severity};
use crate::geom::tolerance::REPORT;
use crate::units::{Mm, Unit};

/// A nail as it lies in the panel: the stretch of its axis that runs in the
/// panel's wood, seen from the front.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelNail {
    /// Its name in the nail table: `left corner, nail 2`.
    pub name: String,
    /// The edge it belongs to.
    pub edge: Edge,
    /// Where its axis enters, panel space.
    #[serde(skip)]
    pub from: Point,
    /// Where its axis ends (the same point for a nail that goes straight
    /// through the panel).
    #[serde(skip)]
    pub to: Point,
    /// Whether it has made way for the face: it was moved from there or left out.
    pub made_way: bool,
}

/// How far cut-outs reach into the clearances: one finding for each cut-out
/// and edge, naming every reason it runs into and the nails it comes too near.
#[must_use]
pub fn over_clearance(window: &Window, cutouts: &[FaceCutout], nails: &[PanelNail], unit: Unit) -> Vec<Finding> {
    let mut findings = Vec::new();
    for edge in Edge::ALL {
        let clearance = window.edge(edge);
        for cutout in cutouts {
            let (from_edge, at) = nearest_to(window, edge, &cutout.outline);
            if from_edge + NO_OVERLAP < clearance.clear.get() {
                let id = format!("clearance-{}", findings.len() + 1);
                let met = nails_met(cutout, edge, nails, clearance);
                let (message, severity) = over_message(clearance, &cutout.id, from_edge, &met, unit);
                findings.push(
                    Finding::new(id, FindingKind::OverClearance, severity, message, OVER_ADVICE)
                        .at(at)
                        .measured(from_edge, clearance.clear.get()),
                );
            }
        }
    }
    findings
}

const OVER_ADVICE: &str = "make the face smaller or move it into the window; the nails cannot go where it is sawn out";

/// Overlaps smaller than a report can state are rounding, not faults, millimetres.
const NO_OVERLAP: f64 = REPORT;

/// The cut-out's distance from an edge, and the place on its outline that is
/// nearest to it: the middle of a stretch that runs along the edge.
fn nearest_to(window: &Window, edge: Edge, outline: &BezPath) -> (f64, Point) {
    let bounds = outline.bounding_box();
    let (from_edge, line) = match edge {
        Edge::Left => (bounds.x0, bounds.x0),
        Edge::Right => (window.panel_width.get() - bounds.x1, bounds.x1),
        Edge::Top => (window.panel_height.get() - bounds.y1, bounds.y1),
        Edge::Bottom => (bounds.y0, bounds.y0),
    };
    let upright = matches!(edge, Edge::Left | Edge::Right);
    let along = touching(outline, upright, line).unwrap_or(bounds.center());
    (from_edge, if upright { Point::new(line, along.y) } else { Point::new(along.x, line) })
}

/// How near to a line an outline touches it, millimetres: no mark is set finer.
const TOUCH: f64 = 0.05;

/// The middle of the first stretch of an outline that touches an upright or a
/// level line.
fn touching(outline: &BezPath, upright: bool, line: f64) -> Option<Point> {
    let mut points = Vec::new();
    kurbo::flatten(outline, TOUCH / 10.0, |element| match element {
        PathEl::MoveTo(p) | PathEl::LineTo(p) => points.push(p),
        // Flattening leaves only lines.
        PathEl::QuadTo(..) | PathEl::CurveTo(..) | PathEl::ClosePath => {}
    });
    let near = |p: &Point| ((if upright { p.x } else { p.y }) - line).abs() < TOUCH;
    let first = points.iter().position(near)?;
    let stretch: Vec<Point> = points[first..].iter().copied().take_while(near).collect();
    Some(stretch[0].midpoint(*stretch.last()?))
}

/// Nails of this edge that the cut-out comes nearer to than the governing
/// reason's own margins (drift, kerf, wood) allow.
fn nails_met<'a>(
    cutout: &FaceCutout,
    edge: Edge,
    nails: &'a [PanelNail],
    clearance: &EdgeClearance,
) -> Vec<&'a PanelNail> {
    let margin = clearance.reasons.iter().find_map(nail_margin).unwrap_or(0.0);
    let flat = FlatOutline::new(&cutout.outline);
    nails.iter().filter(|n| n.edge == edge && flat.distance(n.from, n.to) < margin - NO_OVERLAP).collect()
}

/// What a reason that speaks of nails adds to the nail itself.
fn nail_margin(reason: &Reason) -> Option<f64> {
    let nails = matches!(reason.cause, Cause::NailRow | Cause::NailTips | Cause::BaseNails);
    nails.then(|| reason.terms.iter().skip(1).map(|(_, mm)| mm.get()).sum())
}

fn over_message(
    clearance: &EdgeClearance,
    cutout: &str,
    from_edge: f64,
    met: &[&PanelNail],
    unit: Unit,
) -> (String, Severity) {
    let have = Mm::new(from_edge);
    let reasons: Vec<_> = clearance.reasons.iter().filter(|r| r.reach() > have).map(|r| r.cause.words()).collect();
    let edge = clearance.edge.word();
    let comes = if from_edge < -NO_OVERLAP {
        format!("runs {} past the {edge} edge of the panel", (-have).both(unit))
    } else {
        let short = (clearance.clear - have).both(unit);
        format!("comes to {} from the {edge} edge, {short} too near", have.both(unit))
    };
    let mut message = format!("{cutout} {comes}: it runs into {}", reasons.join(" and "));
    if let [one, rest @ ..] = met {
        let more = if rest.is_empty() { String::new() } else { format!(" and {} more", rest.len()) };
        message.push_str(&format!("; it meets {}{more}", one.name));
        let moved = met.iter().filter(|nail| nail.made_way).count();
        match (moved, rest.is_empty()) {
            (0, _) => {}
            (_, true) => message.push_str(", which makes way for it"),
            (all, false) if all == met.len() => message.push_str(", which make way for it"),
            (some, false) => message.push_str(&format!(", of which {some} make way for it")),
        }
    }
    let wish = |r: &Reason| matches!(r.cause, Cause::LeastWood | Cause::Asked);
    let wishes_only = clearance.reasons.iter().filter(|r| r.reach() > have).all(wish);
    (message, if wishes_only { Severity::Care } else { Severity::Stop })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boxes::Design;
    use crate::boxes::window::derive;
    use crate::settings::EdgeClear;
    use crate::settings::boxes::{BoxSettings, NailSettings};
    use kurbo::Rect;

    fn window(own: &EdgeClear) -> Window {
        let design = Design::new(&BoxSettings::default(), &NailSettings::default(), Mm::from_inches(0.625), Unit::Inch);
        derive(&design.unwrap(), Mm::new(1.0), own, Unit::Inch).unwrap()
    }

    /// Findings of a face of a size, centred on the panel.
    fn of_size(window: &Window, (width, height): (Mm, Mm), nails: &[PanelNail]) -> Vec<Finding> {
        let center = (window.panel_width.get() / 2.0, window.panel_height.get() / 2.0);
        let outline = Rect::from_center_size(center, (width.get(), height.get())).to_path(0.1);
        over_clearance(window, &[FaceCutout { id: "the face".to_owned(), outline }], nails, Unit::Inch)
    }

    /// A face printed 5 x 7 in on the usual 5-1/4 x 10 in panel runs into both
    /// nail zones (common practice check value).
    #[test]
    fn a_five_by_seven_face_runs_into_both_nail_zones() {
        let window = window(&EdgeClear::default());
        let nail = |edge, x| PanelNail {
            name: format!("{edge:?} corner, nail 2").to_lowercase(),
            edge,
            from: Point::new(x, 127.0),
            to: Point::new(x, 127.0),
            made_way: edge == Edge::Right,
        };
        let nails = [nail(Edge::Left, 7.9), nail(Edge::Right, 133.35 - 7.9)];
        let size = (Mm::from_inches(5.0), Mm::from_inches(7.0));
        let findings = of_size(&window, size, &nails);
        assert_eq!(findings.len(), 2, "left and right: {findings:#?}");
        for (finding, side) in findings.iter().zip(["left", "right"]) {
            assert_eq!(finding.kind, FindingKind::OverClearance, "{finding:?}");
            assert_eq!(finding.severity, Severity::Stop, "{finding:?}");
            assert!((finding.measured.unwrap() - 3.175).abs() < 1e-9, "1/8 in from the edge");
            assert!(finding.message.contains("the nail row"), "{}", finding.message);
            assert!(finding.message.contains(&format!("it meets {side} corner, nail 2")), "{}", finding.message);
            assert_eq!(finding.message.contains("nail 2, which makes way"), side == "right", "{}", finding.message);
        }
        let past = of_size(&window, (Mm::from_inches(5.75), Mm::from_inches(7.0)), &nails);
        let past = &past[0].message;
        assert!(past.starts_with("the face runs 1/4 in (6.4 mm) past the left edge of the panel: "), "{past}");
        let small = (Mm::from_inches(3.0), Mm::from_inches(7.0));
        assert!(of_size(&window, small, &nails).is_empty(), "3 x 7 fits");
    }

    /// A tongue at the upper end of a tall cut-out: the mark is on the tongue.
    #[test]
    fn the_mark_is_where_the_outline_is_nearest() {
        let window = window(&EdgeClear::default());
        let mut outline = BezPath::new();
        outline.move_to((60.0, 40.0));
        for p in [(80.0, 40.0), (80.0, 200.0), (60.0, 200.0), (5.0, 190.0), (60.0, 180.0)] {
            outline.line_to(p);
        }
        outline.close_path();
        let findings = over_clearance(&window, &[FaceCutout { id: "tongue".into(), outline }], &[], Unit::Inch);
        assert_eq!(findings.len(), 1, "only the left: {findings:#?}");
        let at = findings[0].at.unwrap();
        assert!(at.distance(Point::new(5.0, 190.0)) < 0.1, "on the tip, not at {at}");
    }

    #[test]
    fn a_clearance_that_is_only_asked_for_is_no_nail() {
        let window = window(&EdgeClear { left: Some(Mm::new(50.0)), ..EdgeClear::default() });
        let outline = Rect::new(40.0, 60.0, 80.0, 100.0).to_path(0.1);
        let findings = over_clearance(&window, &[FaceCutout { id: "eye".into(), outline }], &[], Unit::Inch);
        assert_eq!(findings[0].severity, Severity::Care, "{findings:?}");
    }
}
