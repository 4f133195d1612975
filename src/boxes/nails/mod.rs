//! Nail positions along every joint.
//!
//! Each row is set out evenly by the published spacings and the shop's own
//! habits; then every nail that would come too near a cut-out, an entry hole
//! or a nail of another row moves to the nearest free place on its line, or is
//! left out with a finding.

mod place;
mod rows;
pub mod rules;
mod wood;

use kurbo::Point;
use serde::Serialize;

pub use rows::RowKind;
pub use rules::{Driving, NailWood, Spacings};

use super::design::Design;
use super::face::FaceFacts;
use super::over::PanelNail;
use super::window::Edge;
use crate::diag::{Finding, FindingKind, Noted, Severity};
use crate::units::{Mm, Unit};
use place::Placer;
use rows::{Row, rows};

/// Where all nails go.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NailPlan {
    /// Length of the nails.
    pub length: Mm,
    /// Diameter of the nails.
    pub diameter: Mm,
    /// The row of the published table that applies.
    pub driving: Driving,
    /// The published least distances for it.
    pub spacings: Spacings,
    /// Hole to drill first, should it be needed.
    pub predrill: Mm,
    /// Every row.
    pub rows: Vec<NailRow>,
}

/// One row of nails, set out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NailRow {
    /// Its joint: `front left corner`.
    pub name: &'static str,
    /// The kind of joint.
    pub kind: RowKind,
    /// The piece the nails are driven through.
    pub through: &'static str,
    /// The piece they hold in.
    pub into: &'static str,
    /// Distance of the line from the edge of the piece driven through.
    pub line: Mm,
    /// How deep the points reach into the second piece.
    pub reach: Mm,
    /// Whether that is end grain, which holds hardly at all.
    pub end_grain: bool,
    /// What `at` is measured from.
    pub from: &'static str,
    /// The nails, in order.
    pub nails: Vec<NailSpot>,
    /// How many nails found no room.
    pub dropped: u32,
    /// Ultimate withdrawal load of the row just driven, newtons; nothing in
    /// end grain and in the edges of plywood. An estimate: see [`CAUTION`].
    pub withdrawal_n: Option<f64>,
}

/// One nail.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NailSpot {
    /// Position along the row.
    pub at: Mm,
    /// The same from the end of the piece it is driven through (for a base
    /// nail, from the base's edge).
    pub from_end: Mm,
    /// How far it was moved from its even place; zero for most.
    pub moved: Mm,
    /// Where its axis runs in the front panel, panel space, when it does.
    #[serde(skip)]
    pub on_panel: Option<(Point, Point)>,
}

/// Goes wherever a withdrawal load is shown.
pub const CAUTION: &str = "estimate for new smooth nails in dry side grain: wetting, drying and time leave a small \
                           part of it; let the glue hold the box, and the brads only until it has set";

impl NailPlan {
    /// Number of nails in one box.
    #[must_use]
    pub fn count(&self) -> usize {
        self.rows.iter().map(|row| row.nails.len()).sum()
    }

    /// The nails that run in the front panel, for the window test and the
    /// template's marks.
    #[must_use]
    pub fn on_panel(&self) -> Vec<PanelNail> {
        let spot = |row: &NailRow, i: usize, nail: &NailSpot| {
            let (from, to) = nail.on_panel?;
            let edge = panel_edge(row.name)?;
            Some(PanelNail { name: format!("{}, nail {}", row.name, i + 1), edge, from, to, made_way: false })
        };
        let rows = self.rows.iter();
        rows.flat_map(|row| row.nails.iter().enumerate().filter_map(move |(i, nail)| spot(row, i, nail))).collect()
    }
}

fn panel_edge(row: &str) -> Option<Edge> {
    match row {
        "front left corner" => Some(Edge::Left),
        "front right corner" => Some(Edge::Right),
        "base to front" => Some(Edge::Bottom),
        _ => None,
    }
}

/// Sets out every nail of a box; `face` is the face on its front panel, if one
/// is chosen, and the kerf of the saw that cuts it.
#[must_use]
pub fn plan(design: &Design, wood: &NailWood, face: Option<(&FaceFacts, Mm)>, unit: Unit) -> Noted<NailPlan> {
    let nail = &design.nail;
    let driving = Driving::of(wood.characteristic_density(), nail.predrilled);
    let spacings = rules::worst_spacings(nail.diameter.get(), driving);
    let mut placer = Placer::new(design, &spacings, face);
    let rows = rows(design);
    let mut findings = wood::findings(design, wood, driving, &rows, unit);
    let mut set = Vec::new();
    for row in rows {
        let (spots, dropped) = placer.place(&row);
        findings.extend(row_findings(&row, &spots, dropped, unit));
        findings.extend(end_finding(&row, &spots, &spacings, unit));
        set.push(nail_row(design, wood, &row, spots, dropped));
    }
    let predrill = Mm::new(rules::predrill(nail.diameter.get(), wood.specific_gravity));
    let (length, diameter) = (nail.length, nail.diameter);
    Noted { value: NailPlan { length, diameter, driving, spacings, predrill, rows: set }, findings }
}

fn nail_row(design: &Design, wood: &NailWood, row: &Row, nails: Vec<NailSpot>, dropped: u32) -> NailRow {
    let reach = design.nail_reach(Mm::new(row.head_thickness));
    let one = rules::withdrawal(design.nail.diameter, reach, wood.specific_gravity);
    NailRow {
        name: row.name,
        kind: row.kind,
        through: row.head,
        into: row.point,
        line: Mm::new(row.line),
        reach,
        end_grain: row.end_grain,
        from: row.from,
        withdrawal_n: (!row.end_grain && !wood.plywood).then_some(one * nails.len() as f64),
        nails,
        dropped,
    }
}

/// Moves shorter than this are not worth a remark, millimetres.
const SMALL_MOVE: f64 = 2.0;

fn row_findings(row: &Row, spots: &[NailSpot], dropped: u32, unit: Unit) -> Vec<Finding> {
    let id = |what: &str| format!("nail-{what}-{}", row.name.replace(' ', "-"));
    let mut findings = Vec::new();
    let farthest = spots.iter().map(|s| s.moved.get().abs()).fold(0.0, f64::max);
    if farthest > SMALL_MOVE {
        let moved = spots.iter().filter(|s| s.moved.get().abs() > SMALL_MOVE).count();
        let message = format!("{}: {} moved, by up to {}", row.name, nails(moved), Mm::new(farthest).both(unit));
        let advice = "nothing to do: follow the nail marks instead of dividing the line evenly";
        findings.push(
            Finding::new(id("moved"), FindingKind::Nail, Severity::Note, message, advice)
                .measured(farthest, SMALL_MOVE),
        );
    }
    if dropped > 0 {
        let left = spots.len();
        let severity = if left < 2 { Severity::Stop } else { Severity::Care };
        let find = if dropped == 1 { "finds" } else { "find" };
        let message = format!("{}: {} {find} no room, {left} left", row.name, nails(dropped as usize));
        let face = if row.panel_edge.is_some() { "keep the face inside the window, " } else { "" };
        let advice =
            format!("{face}take shorter or thinner brads, or glue and clamp this joint and leave the nails out");
        findings
            .push(Finding::new(id("dropped"), FindingKind::Nail, severity, message, advice).measured(left as f64, 2.0));
    }
    findings
}

fn nails(number: usize) -> String {
    if number == 1 { "1 nail".to_owned() } else { format!("{number} nails") }
}

/// A row too short for two nails gets one in its middle, which may be too near
/// both ends.
fn end_finding(row: &Row, spots: &[NailSpot], spacings: &Spacings, unit: Unit) -> Option<Finding> {
    let needed = place::published_end(row, spacings);
    let nearest = spots.iter().map(|s| s.at.get().min(row.length - s.at.get())).fold(f64::INFINITY, f64::min);
    (nearest < needed - 1e-6).then(|| {
        let (near, least) = Mm::new(nearest).short_of(Mm::new(needed), unit);
        let text = format!("{}: the nail sits {near} from an end, the published least is {least}", row.name);
        let id = format!("nail-end-{}", row.name.replace(' ', "-"));
        let advice = "pre-drill it, or glue and clamp this joint and leave the nail out";
        Finding::new(id, FindingKind::Splitting, Severity::Care, text, advice).measured(nearest, needed)
    })
}

#[cfg(test)]
mod tests;
