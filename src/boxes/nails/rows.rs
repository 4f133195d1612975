//! Where rows of nails run: lines along each joint, in the box's frame.

use kurbo::Point;
use serde::Serialize;

use crate::boxes::design::Design;
use crate::boxes::parts::PartKind;
use crate::boxes::window::Edge;
use crate::settings::boxes::{Joint, LidKind};

/// Which joint a row of nails holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RowKind {
    /// A corner of the walls.
    Corner,
    /// Base to a wall, from below.
    Base,
    /// Strip to the lid's edge.
    Strip,
}

impl RowKind {
    /// The joint in words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Corner => "the wall corners",
            Self::Base => "the base",
            Self::Strip => "the lid strips",
        }
    }
}

/// A point of the box's frame, millimetres.
pub(crate) type Point3 = [f64; 3];

/// One row of nails.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Row {
    pub(crate) name: &'static str,
    pub(crate) kind: RowKind,
    /// Piece the nail's head sits in.
    pub(crate) head: &'static str,
    /// Piece its point sits in.
    pub(crate) point: &'static str,
    /// Thickness of the head piece along the nail.
    pub(crate) head_thickness: f64,
    /// Half the thickness of the piece the points sit in: distance from the
    /// line to its faces.
    pub(crate) beside: f64,
    /// Distance of the line from the head piece's edge.
    pub(crate) line: f64,
    /// Whether that edge is an end of the head piece's grain.
    pub(crate) line_at_end: bool,
    /// Whether the points sit in end grain.
    pub(crate) end_grain: bool,
    /// From the head piece's end to the row's start.
    pub(crate) offset: f64,
    /// Length the row can use, from its start.
    pub(crate) length: f64,
    /// Head of a nail at the row's start, on the outside face.
    pub(crate) start: Point3,
    /// Direction of the row.
    pub(crate) along: Point3,
    /// Direction of the nails, head to point.
    pub(crate) drive: Point3,
    /// Edge of the front panel the row lies at, when its nails touch the panel.
    pub(crate) panel_edge: Option<Edge>,
    /// What a position along the row is measured from.
    pub(crate) from: &'static str,
}

impl Row {
    /// Head and point of a nail at `at` along the row.
    pub(crate) fn nail(&self, at: f64, length: f64) -> (Point3, Point3) {
        let head = step(self.start, self.along, at);
        (head, step(head, self.drive, length))
    }

    /// The stretch of a nail in the front panel's plane, panel space.
    pub(crate) fn on_panel(&self, at: f64, length: f64, panel_x: f64) -> Option<(Point, Point)> {
        self.panel_edge?;
        let (head, point) = self.nail(at, length);
        let inside = step(head, self.drive, self.head_thickness);
        let flat = |p: Point3| Point::new(p[0] - panel_x, p[1]);
        // A nail that goes straight through the panel is one point there.
        Some(if self.drive[2] == 0.0 { (flat(inside), flat(point)) } else { (flat(head), flat(head)) })
    }
}

fn step(from: Point3, direction: Point3, by: f64) -> Point3 {
    std::array::from_fn(|i| from[i] + direction[i] * by)
}

/// Least distance between two straight nails.
pub(crate) fn nails_apart((a, b): (Point3, Point3), (c, d): (Point3, Point3)) -> f64 {
    // Nails are parallel to the axes, so each is a box without thickness and
    // the distance of the boxes is the distance of the nails.
    let squares = (0..3).map(|i| {
        let gap = (a[i].min(b[i]) - c[i].max(d[i])).max(c[i].min(d[i]) - a[i].max(b[i])).max(0.0);
        gap * gap
    });
    squares.sum::<f64>().sqrt()
}

/// All rows of a box, corners first: nails of later rows give way.
pub(crate) fn rows(design: &Design) -> Vec<Row> {
    let mut rows = corner_rows(design);
    rows.extend(base_rows(design));
    if design.lid.kind == LidKind::LiftOff {
        rows.extend(strip_rows(design));
    }
    rows
}

fn corner_rows(design: &Design) -> Vec<Row> {
    let (w, d, t) = (design.width.get(), design.depth.get(), design.thickness.get());
    let half = t / 2.0;
    let row = |name, start, drive, head, point, panel_edge| Row {
        name,
        kind: RowKind::Corner,
        head,
        point,
        head_thickness: t,
        beside: half,
        line: half,
        line_at_end: false,
        end_grain: false,
        offset: 0.0,
        length: design.height.get(),
        start,
        along: [0.0, 1.0, 0.0],
        drive,
        panel_edge,
        from: "the wall's lower end",
    };
    match design.joint {
        Joint::FrontLapsSides => {
            let (back, front) = ([0.0, 0.0, 1.0], [0.0, 0.0, -1.0]);
            vec![
                row("front left corner", [half, 0.0, 0.0], back, "front", "side", Some(Edge::Left)),
                row("front right corner", [w - half, 0.0, 0.0], back, "front", "side", Some(Edge::Right)),
                row("back left corner", [half, 0.0, d], front, "back", "side", None),
                row("back right corner", [w - half, 0.0, d], front, "back", "side", None),
            ]
        }
        Joint::SidesLapFront => {
            let (right, left) = ([1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]);
            vec![
                row("front left corner", [0.0, 0.0, half], right, "side", "front", Some(Edge::Left)),
                row("front right corner", [w, 0.0, half], left, "side", "front", Some(Edge::Right)),
                row("back left corner", [0.0, 0.0, d - half], right, "side", "back", None),
                row("back right corner", [w, 0.0, d - half], left, "side", "back", None),
            ]
        }
    }
}

fn base_rows(design: &Design) -> Vec<Row> {
    let (w, d, t) = (design.width.get(), design.depth.get(), design.thickness.get());
    let (half, below) = (t / 2.0, -design.base_thickness.get());
    let row = |name, start: Point3, along: Point3, length, point, panel_edge| Row {
        name,
        kind: RowKind::Base,
        head: "base",
        point,
        head_thickness: design.base_thickness.get(),
        beside: half,
        line: design.base_overhang.get() + half,
        // The base's grain runs along its longer side.
        line_at_end: (along[0] > 0.0) != (w >= d),
        // The walls' grain runs upright, so nails from below meet end grain.
        end_grain: true,
        offset: design.base_overhang.get() + if along[0] > 0.0 { start[0] } else { start[2] },
        length,
        start,
        along,
        drive: [0.0, 1.0, 0.0],
        panel_edge,
        from: if along[0] > 0.0 { "the wall's left end" } else { "the wall's front end" },
    };
    let (across, deep) = ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]);
    let (x0, across_length, z0, deep_length) = match design.joint {
        Joint::FrontLapsSides => (0.0, w, t, d - 2.0 * t),
        Joint::SidesLapFront => (t, w - 2.0 * t, 0.0, d),
    };
    vec![
        row("base to front", [x0, below, half], across, across_length, "front", Some(Edge::Bottom)),
        row("base to back", [x0, below, d - half], across, across_length, "back", None),
        row("base to left side", [half, below, z0], deep, deep_length, "side", None),
        row("base to right side", [w - half, below, z0], deep, deep_length, "side", None),
    ]
}

/// Strips are nailed into the lid's edge at the middle of its thickness; the
/// lid lies on the walls.
fn strip_rows(design: &Design) -> Vec<Row> {
    let lid = &design.lid;
    let (play, ts) = (lid.play.get() / 2.0, lid.strip_thickness.get());
    let (w, d) = (design.width.get(), design.depth.get());
    let (x0, x1, z0, z1) = (-play, w + play, -play, d + play);
    let y = design.height.get() + lid.thickness.get() / 2.0;
    // The lid's grain runs along its longer side; strips on the other two
    // edges are nailed into end grain.
    let long_grain = w >= d;
    let (long, short) = (PartKind::LongStrip.name(), PartKind::ShortStrip.name());
    let row = |name, start, along, drive, length, head, end_grain| Row {
        name,
        kind: RowKind::Strip,
        head,
        point: "lid board",
        head_thickness: ts,
        beside: lid.thickness.get() / 2.0,
        line: lid.thickness.get() / 2.0,
        line_at_end: false,
        end_grain,
        offset: if head == long { ts } else { 0.0 },
        length,
        start,
        along,
        drive,
        panel_edge: None,
        from: "the lid board's end",
    };
    let (across, deep) = ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]);
    vec![
        row("front lid strip", [x0, y, z0 - ts], across, deep, x1 - x0, long, !long_grain),
        row("back lid strip", [x0, y, z1 + ts], across, [0.0, 0.0, -1.0], x1 - x0, long, !long_grain),
        row("left lid strip", [x0 - ts, y, z0], deep, across, z1 - z0, short, long_grain),
        row("right lid strip", [x1 + ts, y, z0], deep, [-1.0, 0.0, 0.0], z1 - z0, short, long_grain),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crossing_nails_touch_and_skew_ones_keep_their_gap() {
        let upright = ([5.0, 0.0, 5.0], [5.0, 20.0, 5.0]);
        let through = ([5.0, 10.0, 0.0], [5.0, 10.0, 30.0]);
        let beside = ([9.0, 23.0, 0.0], [9.0, 23.0, 30.0]);
        assert!(nails_apart(upright, through).abs() < 1e-12, "they meet");
        assert!((nails_apart(upright, beside) - 5.0).abs() < 1e-12, "3-4-5 apart");
    }
}
