//! The window for the face: how far cut-outs keep from each edge of the panel,
//! and what makes it so.

use kurbo::Rect;
use serde::Serialize;

use super::design::Design;
use crate::diag::Error;
use crate::settings::EdgeClear;
use crate::settings::boxes::{Joint, LidKind};
use crate::units::{Mm, Unit};

/// An edge of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Edge {
    /// Left.
    Left,
    /// Right.
    Right,
    /// Top.
    Top,
    /// Bottom.
    Bottom,
}

impl Edge {
    /// All four, in the order reports use.
    pub const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Bottom];

    /// The word for people.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }
}

/// What keeps cut-outs away from an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cause {
    /// A side board stands behind the panel: a cut-out there shows end wood
    /// and no light, and the nail row runs through it.
    SideBoard,
    /// Nails driven through the panel.
    NailRow,
    /// Nail tips that come into the panel's edge through the side boards.
    NailTips,
    /// Base nails that come up from below.
    BaseNails,
    /// Lid strips that hang in front of the panel.
    LidStrips,
    /// The least wood any edge keeps.
    LeastWood,
    /// A clearance the shop asks for itself.
    Asked,
}

impl Cause {
    /// The words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::SideBoard => "the side board behind the panel",
            Self::NailRow => "the nail row through the panel",
            Self::NailTips => "the nails coming in from the side",
            Self::BaseNails => "the base nails from below",
            Self::LidStrips => "the lid strip in front",
            Self::LeastWood => "the least wood at this edge",
            Self::Asked => "the clearance asked for ([clear] or --clear)",
        }
    }
}

/// One reason for a clearance: terms that add up from the edge inward.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reason {
    /// What it is.
    pub cause: Cause,
    /// The terms, in order from the edge.
    pub terms: Vec<(&'static str, Mm)>,
}

impl Reason {
    /// How far from the edge this reason keeps cut-outs.
    #[must_use]
    pub fn reach(&self) -> Mm {
        self.terms.iter().map(|(_, mm)| *mm).sum()
    }
}

/// The clearance at one edge: the largest of its reasons.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EdgeClearance {
    /// Which edge.
    pub edge: Edge,
    /// The clearance.
    pub clear: Mm,
    /// Every reason, the governing one first.
    pub reasons: Vec<Reason>,
}

/// The window for the face on the front panel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Window {
    /// Width of the panel.
    pub panel_width: Mm,
    /// Height of the panel.
    pub panel_height: Mm,
    /// Left, right, top, bottom.
    pub edges: [EdgeClearance; 4],
}

impl Window {
    /// The clearance at an edge.
    #[must_use]
    pub fn clear(&self, edge: Edge) -> Mm {
        self.edge(edge).clear
    }

    /// The edges where the shop's own clearance governs.
    #[must_use]
    pub fn asked_at(&self) -> Vec<Edge> {
        let asked = |e: &&EdgeClearance| e.reasons.first().is_some_and(|r| r.cause == Cause::Asked);
        self.edges.iter().filter(asked).map(|e| e.edge).collect()
    }

    /// The itemised clearance at an edge.
    #[must_use]
    pub fn edge(&self, edge: Edge) -> &EdgeClearance {
        &self.edges[edge as usize]
    }

    /// Width and height as people are told them: the panel less its clearances,
    /// each as it is told, so that the figures add up and none is too wide.
    #[must_use]
    pub fn told(&self, unit: Unit) -> (Mm, Mm) {
        let clear = |edge| self.clear(edge).at_least(unit);
        let width = self.panel_width - clear(Edge::Left) - clear(Edge::Right);
        (width, self.panel_height - clear(Edge::Top) - clear(Edge::Bottom))
    }

    /// The window in panel space, millimetres.
    #[must_use]
    pub fn rect(&self) -> Rect {
        Rect {
            x0: self.clear(Edge::Left).get(),
            y0: self.clear(Edge::Bottom).get(),
            x1: (self.panel_width - self.clear(Edge::Right)).get(),
            y1: (self.panel_height - self.clear(Edge::Top)).get(),
        }
    }
}

/// Works out the window for a box; `kerf` is the scroll saw's, `own` the
/// clearances the shop asks for itself: at each edge the larger holds.
///
/// # Errors
/// [`Error::Sizes`] when the clearances leave no window at all.
pub fn derive(design: &Design, kerf: Mm, own: &EdgeClear, unit: Unit) -> Result<Window, Error> {
    let (panel_width, panel_height) = design.panel();
    let edges = Edge::ALL.map(|edge| edge_clearance(design, edge, kerf, own));
    let window = Window { panel_width, panel_height, edges };
    let rect = window.rect();
    if rect.x0 < rect.x1 && rect.y0 < rect.y1 {
        return Ok(window);
    }
    let text =
        format!("the clearances leave no window on a {} x {} panel", panel_width.both(unit), panel_height.both(unit));
    Err(Error::sizes(text, "make the box larger, take thinner boards or shorter nails, or ask for less clearance"))
}

fn edge_clearance(design: &Design, edge: Edge, kerf: Mm, own: &EdgeClear) -> EdgeClearance {
    let mut reasons = match edge {
        Edge::Left | Edge::Right => side_reasons(design, kerf),
        Edge::Bottom => vec![base_nails(design, kerf), least(design.least_below)],
        Edge::Top => top_reasons(design, kerf),
    };
    let asked = match edge {
        Edge::Left => own.left,
        Edge::Right => own.right,
        Edge::Top => own.top,
        Edge::Bottom => own.bottom,
    };
    reasons.extend(asked.map(|clear| Reason { cause: Cause::Asked, terms: vec![("clearance", clear)] }));
    // Largest first; the sort is stable, so equal reasons keep their order.
    reasons.sort_by(|a, b| b.reach().get().total_cmp(&a.reach().get()));
    let clear = reasons.first().map_or(Mm::ZERO, Reason::reach);
    EdgeClearance { edge, clear, reasons }
}

fn least(wood: Mm) -> Reason {
    Reason { cause: Cause::LeastWood, terms: vec![("least wood", wood)] }
}

/// Common practice, no source (sum derived): thickness of the side board, drift
/// of a slightly angled nail, kerf, and wood left beside the nail. With 5/8 in
/// sides this comes to about 7/8 in.
fn side_reasons(design: &Design, kerf: Mm) -> Vec<Reason> {
    let nail = &design.nail;
    let tail = margins(design, kerf);
    match design.joint {
        Joint::FrontLapsSides => {
            let stack = |cause, head: Vec<(&'static str, Mm)>| Reason { cause, terms: [head, tail.to_vec()].concat() };
            let line = design.thickness / 2.0;
            vec![
                stack(Cause::SideBoard, vec![("side board behind", design.thickness)]),
                stack(Cause::NailRow, vec![("nail line", line), ("half a nail", nail.diameter / 2.0)]),
                least(design.least_beside),
            ]
        }
        Joint::SidesLapFront => {
            let tip = ("nail tip in the edge", design.nail_reach(design.thickness));
            vec![tips(design, Cause::NailTips, tip, kerf), least(design.least_beside)]
        }
    }
}

/// What is added to a nail before a cut-out may begin.
fn margins(design: &Design, kerf: Mm) -> [(&'static str, Mm); 3] {
    [("nail drift", design.nail.drift), ("kerf", kerf), ("wood", design.nail_wood)]
}

/// Nails that lie in the panel's wood, tips inward.
fn tips(design: &Design, cause: Cause, tip: (&'static str, Mm), kerf: Mm) -> Reason {
    let half = ("half a nail", design.nail.diameter / 2.0);
    Reason { cause, terms: [vec![tip, half], margins(design, kerf).to_vec()].concat() }
}

/// Brad length less the base's thickness, and the clearance.
fn base_nails(design: &Design, kerf: Mm) -> Reason {
    let tip = ("nail tip from below", design.nail_reach(design.base_thickness));
    tips(design, Cause::BaseNails, tip, kerf)
}

fn top_reasons(design: &Design, kerf: Mm) -> Vec<Reason> {
    let mut reasons = vec![least(design.least_beside)];
    let lid = &design.lid;
    if lid.kind == LidKind::LiftOff {
        let drop = lid.strip_width - lid.thickness;
        let terms = vec![("strip below the lid", drop), ("kerf", kerf), ("wood", design.nail_wood)];
        reasons.push(Reason { cause: Cause::LidStrips, terms });
    }
    reasons
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Length;
    use crate::settings::boxes::{BoxSettings, NailSettings};

    const KERF: Mm = Mm::new(1.0);
    /// Half an 18 gauge brad, 1/16 in drift, the kerf, 1/8 in wood.
    const MARGIN: f64 = 1.2065 / 2.0 + 25.4 / 16.0 + 1.0 + 25.4 / 8.0;

    fn window_of(asked: &BoxSettings, nails: &NailSettings) -> Window {
        let design = Design::new(asked, nails, Mm::from_inches(0.625), Unit::Inch).unwrap();
        derive(&design, KERF, &EdgeClear::default(), Unit::Inch).unwrap()
    }

    #[test]
    fn each_clearance_is_the_largest_sum_of_its_terms() {
        let window = window_of(&BoxSettings::default(), &NailSettings::default());
        let inch = |value: f64| value * 25.4;
        let cases = [
            (Edge::Left, Cause::SideBoard, inch(0.625 + 0.0625 + 0.125) + 1.0),
            (Edge::Right, Cause::SideBoard, inch(0.625 + 0.0625 + 0.125) + 1.0),
            // The least wood governs over the nail tips, 3/8 in and the margins.
            (Edge::Bottom, Cause::LeastWood, inch(0.75)),
            (Edge::Top, Cause::LidStrips, inch(0.875 - 0.625 + 0.125) + 1.0),
        ];
        for (edge, cause, clear) in cases {
            let found = window.edge(edge);
            assert!((found.clear.get() - clear).abs() < 1e-9, "{edge:?}: {found:?}");
            assert_eq!(found.reasons[0].cause, cause, "{edge:?}");
            for reason in &found.reasons {
                assert!(reason.reach() <= found.clear, "{reason:?} is within the clearance");
            }
        }
        let tips = window.edge(Edge::Bottom).reasons.iter().find(|r| r.cause == Cause::BaseNails).unwrap();
        assert!((tips.terms[0].1.inches() - 0.375).abs() < 1e-9, "brad less base");
    }

    #[test]
    fn longer_brads_push_the_window_up() {
        let long = NailSettings { length: Length::text("1-1/2in"), ..NailSettings::default() };
        let window = window_of(&BoxSettings::default(), &long);
        let bottom = window.edge(Edge::Bottom);
        assert_eq!(bottom.reasons[0].cause, Cause::BaseNails, "{bottom:?}");
        assert!((bottom.clear.get() - (25.4 * (1.5 - 0.625) + MARGIN)).abs() < 1e-9, "{bottom:?}");
    }

    #[test]
    fn a_panel_between_sides_keeps_clear_of_nail_tips() {
        let asked = BoxSettings { joint: Joint::SidesLapFront, ..BoxSettings::default() };
        let window = window_of(&asked, &NailSettings::default());
        let left = window.edge(Edge::Left);
        assert_eq!(left.reasons[0].cause, Cause::NailTips, "{left:?}");
        assert!((left.clear.get() - (25.4 * 0.375 + MARGIN)).abs() < 1e-9, "{left:?}");
    }

    #[test]
    fn the_window_told_is_the_panel_less_the_clearances_told() {
        let window = window_of(&BoxSettings::default(), &NailSettings::default());
        // 0.852 in beside, 27/32 in would be short: 28/32.
        let clear = window.clear(Edge::Left).text_at_least(Unit::Inch);
        assert_eq!(
            (clear.as_str(), window.told(Unit::Inch).0.text(Unit::Inch).as_str()),
            ("7/8 in", "3-1/2 in"),
            "told"
        );
        assert!(window.told(Unit::Mm).0.get() <= window.rect().width(), "never wider than it is");
    }

    #[test]
    fn the_larger_of_the_boxs_and_the_shops_own_clearance_holds() {
        let design = Design::new(&BoxSettings::default(), &NailSettings::default(), Mm::from_inches(0.625), Unit::Inch);
        let own = EdgeClear { left: Some(Mm::new(50.0)), right: Some(Mm::new(1.0)), ..EdgeClear::default() };
        let window = derive(&design.unwrap(), KERF, &own, Unit::Inch).unwrap();
        assert_eq!(window.clear(Edge::Left), Mm::new(50.0), "asked for");
        assert_eq!(window.edge(Edge::Right).reasons[0].cause, Cause::SideBoard, "the box's");
        assert_eq!(window.asked_at(), [Edge::Left], "said so");
    }

    #[test]
    fn no_window_is_an_error() {
        let asked = BoxSettings { width: Some(Length::text("1-5/8in")), ..BoxSettings::default() };
        let design = Design::new(&asked, &NailSettings::default(), Mm::from_inches(0.625), Unit::Inch).unwrap();
        let error = derive(&design, KERF, &EdgeClear::default(), Unit::Inch).expect_err("too narrow");
        assert!(error.to_string().contains("no window"), "{error}");
    }
}
