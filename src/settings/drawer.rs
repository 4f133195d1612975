//! A blade in the shop's drawer, as the shop file states it.

use serde::{Deserialize, Serialize};

use super::Length;
use super::describe::described;
use crate::trade::blades::BladeKind;

/// A blade in the drawer: its name alone, or with the shop's own measures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "DrawerEntry", into = "DrawerEntry")]
pub struct DrawerBlade {
    /// The blade's name; one that is not built in needs all three measures.
    pub name: String,
    /// Flat or spiral, for a blade that is not built in; flat when left out.
    pub kind: Option<BladeKind>,
    /// Measured from tooth tips to back.
    pub width: Option<Length>,
    /// Measured body thickness.
    pub thickness: Option<Length>,
    /// Measured width of the slot it saws.
    pub kerf: Option<Length>,
}

impl DrawerBlade {
    /// A built-in blade.
    #[must_use]
    pub fn named(name: &str) -> Self {
        Self { name: name.to_owned(), kind: None, width: None, thickness: None, kerf: None }
    }
}

/// How a drawer blade may be written.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(untagged, expecting = "wanted a blade's name, or { name = \"flat-5\", kerf = \"0.56mm\" }")]
enum DrawerEntry {
    Name(String),
    Measured(MeasuredEntry),
}

described! {
/// A blade with the shop's own measures.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredEntry {
    /// The blade's name.
    pub name: String,
    /// Flat or spiral.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<BladeKind>,
    /// Tooth tips to back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width: Option<Length>,
    /// Body thickness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickness: Option<Length>,
    /// Width of the slot it saws.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kerf: Option<Length>,
}
}

impl From<DrawerEntry> for DrawerBlade {
    fn from(entry: DrawerEntry) -> Self {
        match entry {
            DrawerEntry::Name(name) => Self::named(&name),
            DrawerEntry::Measured(MeasuredEntry { name, kind, width, thickness, kerf }) => {
                Self { name, kind, width, thickness, kerf }
            }
        }
    }
}

impl From<DrawerBlade> for DrawerEntry {
    fn from(blade: DrawerBlade) -> Self {
        let DrawerBlade { name, kind, width, thickness, kerf } = blade;
        if kind.is_none() && width.is_none() && thickness.is_none() && kerf.is_none() {
            return Self::Name(name);
        }
        Self::Measured(MeasuredEntry { name, kind, width, thickness, kerf })
    }
}
