//! The tables the page's pickers are filled from.

use serde_json::{Value, json};

use crate::diag::round3;
use crate::settings::boxes::BoxSettings;
use crate::trade::{blades, drills, papers, woods};

/// Woods, blades, drills and papers, and the box a new one starts from.
#[must_use]
pub fn tables() -> Value {
    json!({
        "box": BoxSettings::default(),
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
