//! What the page draws: the report, and outlines and places in panel
//! millimetres.
//!
//! The page builds its picture from these numbers and path data alone; no
//! markup of the art ever reaches it.

use kurbo::{BezPath, PathEl, Point, Rect};
use serde_json::{Value, json};

use crate::boxes::Design;
use crate::boxes::nails::NailPlan;
use crate::diag::round3;
use crate::face::CutOut;
use crate::geom::{Piece, Ring};
use crate::outcome::Outcome;
use crate::pipeline::lantern::plan_box;
use crate::settings::Settings;
use crate::settings::boxes::{Joint, LidKind};
use crate::write::json::report;

/// The view of a face.
#[must_use]
pub fn view(outcome: &Outcome, settings: &Settings) -> Value {
    let face = &outcome.face;
    let (middle, size) = face.unturned();
    json!({
        "report": report(outcome),
        "cutouts": face.cutouts.iter().map(|c| json!({ "id": c.id, "d": piece(&c.piece) })).collect::<Vec<_>>(),
        "islands": outcome.checks.islands.iter().map(|island| json!({
            "id": island.id, "d": island_outline(&face.cutouts, island.at),
        })).collect::<Vec<_>>(),
        "middle": xy(middle),
        "size": [round3(size.width), round3(size.height)],
        "box": lantern(outcome, settings),
    })
}

fn xy(p: Point) -> Value {
    json!([round3(p.x), round3(p.y)])
}

/// A piece as path data, even-odd, to the micrometre.
#[must_use]
pub fn piece(piece: &Piece) -> String {
    rounded(&piece.to_path()).to_svg()
}

fn rounded(path: &BezPath) -> BezPath {
    let r = |p: Point| Point::new(round3(p.x), round3(p.y));
    path.elements()
        .iter()
        .map(|el| match *el {
            PathEl::MoveTo(p) => PathEl::MoveTo(r(p)),
            PathEl::LineTo(p) => PathEl::LineTo(r(p)),
            PathEl::QuadTo(a, p) => PathEl::QuadTo(r(a), r(p)),
            PathEl::CurveTo(a, b, p) => PathEl::CurveTo(r(a), r(b), r(p)),
            PathEl::ClosePath => PathEl::ClosePath,
        })
        .collect()
}

/// The outline of the island round `at`: the smallest hole of a cut-out that
/// holds it. Empty for one ringed by several cut-outs together.
fn island_outline(cutouts: &[CutOut], at: Point) -> String {
    let holes = cutouts.iter().flat_map(|c| &c.piece.holes);
    let around = holes.filter(|hole| kurbo::Shape::contains(&hole.to_path(), at));
    let smallest = around.min_by(|a, b| a.signed_area().abs().total_cmp(&b.signed_area().abs()));
    smallest.map_or_else(String::new, |ring: &Ring| rounded(&ring.to_path()).to_svg())
}

/// The box round the panel, seen from the front, its nails where the plan and the
/// template have them for this face; `null` without one. A box that cannot be
/// worked out is an error of the check, not of the drawing.
fn lantern(outcome: &Outcome, settings: &Settings) -> Value {
    if settings.lantern.is_none() {
        return Value::Null;
    }
    let Ok(plan) = plan_box(settings, Some(outcome)) else { return Value::Null };
    let design = plan.value.design;
    let (width, height) = design.panel();
    let (width, height) = (width.get(), height.get());
    let side = design.thickness.get();
    let (left, right) = match design.joint {
        Joint::FrontLapsSides => (0.0, width),
        Joint::SidesLapFront => (-side, width + side),
    };
    let base = design.base_overhang.get();
    let below = Rect::new(left - base, -design.base_thickness.get(), right + base, 0.0);
    json!({
        "behind": design.joint == Joint::FrontLapsSides,
        "sides": [rect(Rect::new(left, 0.0, left + side, height)), rect(Rect::new(right - side, 0.0, right, height))],
        "base": rect(below),
        "lid": lid(&design, left, right, height),
        "nails": nails(&plan.value.nails),
    })
}

fn rect(r: Rect) -> Value {
    json!([round3(r.x0), round3(r.y0), round3(r.x1), round3(r.y1)])
}

/// The lid's board or, where strips hang in front of it, the strip.
fn lid(design: &Design, left: f64, right: f64, height: f64) -> Value {
    let lid = &design.lid;
    let (play, strip) = (lid.play.get() / 2.0, lid.strip_thickness.get());
    let top = height + lid.thickness.get();
    match lid.kind {
        LidKind::None => Value::Null,
        LidKind::Plain => rect(Rect::new(left - play, height, right + play, top)),
        LidKind::LiftOff => {
            rect(Rect::new(left - play - strip, top - lid.strip_width.get(), right + play + strip, top))
        }
    }
}

fn nails(plan: &NailPlan) -> Vec<Value> {
    let nails = plan.on_panel();
    nails.iter().map(|nail| json!({ "name": nail.name, "from": xy(nail.from), "to": xy(nail.to) })).collect()
}
