//! The tables the page's pickers are filled from.

use serde_json::{Value, json};

use crate::diag::round3;
use crate::settings::{self, boxes::BoxSettings};
use crate::trade::{blades, drills, papers, woods};

/// Woods, blades, drills and papers, the box a new one starts from, and which
/// settings count in the shop's unit when they name none.
#[must_use]
pub fn tables() -> Value {
    json!({
        "box": BoxSettings::default(),
        // A paper may be a size: "8.5x11".
        "lengths": settings::lengths().chain(["paper.size".to_owned()]).collect::<Vec<_>>(),
        "woods": woods::all().iter().map(|wood| json!({ "slug": wood.slug, "name": wood.name })).collect::<Vec<_>>(),
        "blades": blades::all().iter().map(|blade| json!({
            "name": blade.name, "kind": blade.kind, "width_mm": round3(blade.width.get()),
            "kerf_mm": round3(blade.kerf.get()),
        })).collect::<Vec<_>>(),
        "drills": drills::all().iter().map(|drill| json!({
            "name": drill.name, "diameter_mm": round3(drill.diameter.get()),
        })).collect::<Vec<_>>(),
        "papers": papers::all().iter().map(|paper| json!({
            "slug": paper.slug, "name": paper.name, "width_mm": round3(paper.width.get()),
            "height_mm": round3(paper.height.get()),
        })).collect::<Vec<_>>(),
    })
}
