//! Scroll-saw blades: sizes, and how tight a curve each can follow.
//!
//! Blade numbers are not standardised between makers, so every figure here is a
//! middle value to start from. A shop that measures its own blades puts the
//! figures in its shop file ([`Measured`]) and they replace these.
//!
//! # How tight a flat blade can turn
//!
//! Derived. A flat blade is a bar of width `w` (tooth tips to back) and
//! thickness `t` in a slot of width `k`, the kerf, which its teeth cut. The play
//! is `c = k − t`. On a curve whose centre line has radius `R` the body must
//! stay inside the slot between the radii `R − k/2` and `R + k/2`.
//!
//! * **Smooth** – the work is fed straight along the blade: the blade lies on
//!   the tangent at its teeth. The back outer corner meets the outer wall:
//!   `(R + t/2)² + w² ≤ (R + k/2)²`, so `R ≥ w²/c − (k + t)/4`.
//! * **Slow** – the work is swung so that both teeth and back stand on the
//!   centre line, a chord. The middle of the inner side meets the inner wall:
//!   `R − √(R² − w²/4) ≤ c/2`, so `R ≥ (w² + c²)/(4c)`.
//! * **Scraping** – the work is swung further, until back outer corner and
//!   middle of the inner side touch at once. With yaw `φ` the inner side gives
//!   `φ = √(c/R)` and the corner `R·c + 2w·√(cR) ≥ w²` (small angles), so
//!   `√(cR) = (√2 − 1)·w` and `R ≥ (3 − 2√2)·w²/c ≈ 0.172 w²/c`. The back rubs.
//!   The small angles err on the safe side: the exact limit is up to a tenth
//!   smaller, for the finest blades more (#2/0: four tenths).
//!
//! Below the last the blade cannot follow: swing round in the waste, spin on the
//! spot, back out and come in from the other side, drill, or take a spiral blade.
//!
//! Published band-saw tables of smallest radius by blade width lie between the
//! last two limits, as they should, being working limits of the same geometry
//! (see the tests).
//!
//! A spiral blade is round and cuts on every side: no turning limit; it leaves
//! inside corners with a radius of half its kerf.

use serde::{Deserialize, Serialize};

use super::{Table, unknown};
use crate::diag::{Error, Place};
use crate::units::{Mm, Unit};

const FLAT_SOURCE: &str = "middle of common blade charts, ± 0.002 in; from memory; kerf = thickness + 0.006 in, common practice; measure your own";
const SPIRAL_SOURCE: &str = "common blade charts; from memory, low confidence; measure the kerf of your own";
const MEASURED: &str = "measured in the shop";

/// What burr and set of the teeth add to the thickness, both sides together,
/// inches: common practice 0.004 to 0.008.
const SET_IN: f64 = 0.006;
/// Room a plain-end blade needs round it to thread, inches: common practice.
const THREADING_ROOM_IN: f64 = 0.005;
/// Smallest hole a pin-end blade threads through, inches: common practice, no
/// source; 1/4 in is easy.
const PIN_HOLE_IN: f64 = 3.0 / 16.0;
/// The widest blade that is still one for a scroll saw; beyond it a typing slip.
const WIDEST_MM: f64 = 12.0;

/// The blade a shop has when it says nothing: the usual choice for 5/8 in softwood.
pub const DEFAULT: &str = "flat-5";

/// Flat or spiral.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BladeKind {
    /// A flat bar with teeth on its front edge; the work is turned.
    Flat,
    /// A twisted blade that cuts on every side; the work is not turned.
    Spiral,
}

/// How the blade's ends are held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BladeEnd {
    /// A bare end in a clamp.
    #[default]
    Plain,
    /// A cross pin through the end.
    Pin,
}

/// How a curve is sawn; see the module's text for the geometry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Pass {
    /// Fed straight along the blade: smooth and clean.
    Smooth,
    /// Turned slowly, teeth and back both on the line.
    Slow,
    /// The back of the blade rubs: it scrapes and may burn.
    Scraping,
}

/// A blade's own measures, as the shop found them; what is missing stays as it was.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Tooth tips to back; outside diameter of a spiral blade.
    pub width: Option<Mm>,
    /// Body thickness.
    pub thickness: Option<Mm>,
    /// Width of the slot it saws.
    pub kerf: Option<Mm>,
}

/// One blade.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Blade {
    /// The name to write in options: `flat-5`, `spiral-2`.
    pub name: String,
    /// Flat or spiral.
    pub kind: BladeKind,
    /// Tooth tips to back; a spiral blade's outside diameter.
    pub width: Mm,
    /// Body thickness; a spiral blade's outside diameter.
    pub thickness: Mm,
    /// Width of the slot it saws.
    pub kerf: Mm,
    /// Teeth per inch, when known.
    pub teeth_per_inch: Option<f64>,
    /// Where the figures come from.
    pub source: &'static str,
}

impl Blade {
    /// The smallest radius of the blade's centre path that `pass` can follow;
    /// zero for a spiral blade. `Smooth ≥ Slow ≥ Scraping`.
    #[must_use]
    pub fn tightest(&self, pass: Pass) -> Mm {
        if self.kind == BladeKind::Spiral {
            return Mm::ZERO;
        }
        let (w, t, k) = (self.width.get(), self.thickness.get(), self.kerf.get());
        let c = k - t;
        let scraping = (3.0 - 2.0 * std::f64::consts::SQRT_2) * w * w / c;
        let slow = ((w * w + c * c) / (4.0 * c)).max(scraping);
        let radius = match pass {
            Pass::Smooth => (w * w / c - (k + t) / 4.0).max(slow),
            Pass::Slow => slow,
            Pass::Scraping => scraping,
        };
        Mm::new(radius)
    }

    /// The smallest radius an inside corner of the wood can be left with: half
    /// the kerf (derived: the slot has that radius at its end).
    #[must_use]
    pub fn inside_radius(&self) -> Mm {
        self.kerf / 2.0
    }

    /// Diameter of the disc of waste swept when the blade is spun on the spot:
    /// the diagonal of its width and kerf (derived; the toothed edge is as wide
    /// as the kerf). A spiral blade needs only its kerf.
    #[must_use]
    pub fn spin_diameter(&self) -> Mm {
        match self.kind {
            BladeKind::Flat => Mm::new(libm::hypot(self.width.get(), self.kerf.get())),
            BladeKind::Spiral => self.kerf,
        }
    }

    /// Width of waste needed beside the line to swing round in a loop: twice the
    /// slow radius and a kerf (derived: a half circle of centre path with half a
    /// kerf on either side).
    #[must_use]
    pub fn loop_room(&self) -> Mm {
        self.tightest(Pass::Slow) * 2.0 + self.kerf
    }

    /// The diameter that just passes the blade's cross-section.
    #[must_use]
    pub fn diagonal(&self) -> Mm {
        match self.kind {
            BladeKind::Flat => Mm::new(libm::hypot(self.width.get(), self.thickness.get())),
            BladeKind::Spiral => self.width,
        }
    }

    /// The smallest entry hole the blade threads through: its diagonal and
    /// 0.005 in, or the pin's 3/16 in (common practice, no source).
    #[must_use]
    pub fn hole_needed(&self, end: BladeEnd) -> Mm {
        let plain = self.diagonal() + Mm::from_inches(THREADING_ROOM_IN);
        match end {
            BladeEnd::Plain => plain,
            BladeEnd::Pin => plain.max(Mm::from_inches(PIN_HOLE_IN)),
        }
    }

    /// Whether the panel must be turned about the blade, past the saw's arm.
    #[must_use]
    pub fn needs_rotation(&self) -> bool {
        self.kind == BladeKind::Flat
    }

    /// The blade with the shop's own measures in place of the table's.
    ///
    /// A new thickness without a new kerf keeps the play the blade had.
    ///
    /// # Errors
    /// [`Error::Setting`] when a measure is not a blade's, or the kerf leaves a
    /// flat blade no play.
    pub fn measured(&self, own: Measured) -> Result<Self, Error> {
        let play = self.kerf - self.thickness;
        let mut blade = self.clone();
        blade.width = own.width.unwrap_or(self.width);
        if self.kind == BladeKind::Spiral {
            // One number describes a round blade; whichever was measured counts.
            let diameter = own.kerf.or(own.width).or(own.thickness).unwrap_or(self.kerf);
            (blade.width, blade.thickness, blade.kerf) = (diameter, diameter, diameter);
        } else {
            blade.thickness = own.thickness.unwrap_or(self.thickness);
            blade.kerf = own.kerf.unwrap_or(blade.thickness + play);
        }
        if own != Measured::default() {
            blade.source = MEASURED;
        }
        blade.checked()
    }

    /// A blade of the shop's own, with no row in the table.
    ///
    /// # Errors
    /// As [`Blade::measured`].
    pub fn own(name: &str, kind: BladeKind, width: Mm, thickness: Mm, kerf: Mm) -> Result<Self, Error> {
        let blade =
            Self { name: name.to_owned(), kind, width, thickness, kerf, teeth_per_inch: None, source: MEASURED };
        blade.checked()
    }

    fn checked(self) -> Result<Self, Error> {
        let refuse = |what: String, advice: &str| Err(Error::setting(Place::default(), what, advice));
        for (what, length) in [("width", self.width), ("thickness", self.thickness), ("kerf", self.kerf)] {
            if !(length.get() > 0.0 && length.get() <= WIDEST_MM) {
                let said = format!("blade `{}`: {what} {length} is not a scroll-saw blade's", self.name);
                return refuse(said, "measure it with a calliper; most blades are 0.25 to 1.6 mm");
            }
        }
        if self.kind == BladeKind::Flat && self.kerf.get() - self.thickness.get() < 0.01 {
            let (kerf, body) = (self.kerf, self.thickness);
            let said = format!("blade `{}`: a kerf of {kerf} leaves a body of {body} no play to turn", self.name);
            return refuse(said, "measure a test cut; the kerf is usually 0.1 to 0.2 mm more than the body");
        }
        Ok(self)
    }
}

/// Number, width in, thickness in, teeth per inch.
const FLAT: [(&str, f64, f64, f64); 14] = [
    ("2/0", 0.022, 0.010, 28.0),
    ("0", 0.024, 0.011, 25.0),
    ("1", 0.026, 0.012, 23.0),
    ("2", 0.029, 0.013, 20.0),
    ("3", 0.032, 0.014, 18.0),
    ("4", 0.035, 0.015, 15.0),
    ("5", 0.038, 0.016, 12.5),
    ("6", 0.041, 0.016, 12.5),
    ("7", 0.045, 0.017, 12.0),
    ("8", 0.048, 0.018, 11.5),
    ("9", 0.053, 0.018, 11.5),
    ("10", 0.056, 0.019, 11.0),
    ("11", 0.059, 0.019, 9.5),
    ("12", 0.062, 0.020, 9.5),
];

/// Number, outside diameter in, which is the kerf.
const SPIRAL: [(&str, f64); 8] =
    [("2/0", 0.030), ("0", 0.032), ("1", 0.035), ("2", 0.038), ("3", 0.041), ("4", 0.047), ("5", 0.049), ("6", 0.051)];

/// Every built-in blade: flat ones by size, then spiral ones.
#[must_use]
pub fn all() -> Vec<Blade> {
    let flat = FLAT.iter().map(|&(number, width, thickness, teeth)| Blade {
        name: format!("flat-{number}"),
        kind: BladeKind::Flat,
        width: Mm::from_inches(width),
        thickness: Mm::from_inches(thickness),
        kerf: Mm::from_inches(thickness + SET_IN),
        teeth_per_inch: Some(teeth),
        source: FLAT_SOURCE,
    });
    let spiral = SPIRAL.iter().map(|&(number, diameter)| Blade {
        name: format!("spiral-{number}"),
        kind: BladeKind::Spiral,
        width: Mm::from_inches(diameter),
        thickness: Mm::from_inches(diameter),
        kerf: Mm::from_inches(diameter),
        teeth_per_inch: None,
        source: SPIRAL_SOURCE,
    });
    flat.chain(spiral).collect()
}

/// The blade called `name`: `flat-5`, `#5` or `5` (flat when not said),
/// `spiral-2`, `spiral #2`.
///
/// # Errors
/// [`Error::Setting`] with the nearest spelling.
pub fn find(name: &str) -> Result<Blade, Error> {
    let wanted = full_name(name);
    let blades = all();
    let names: Vec<String> = blades.iter().map(|b| b.name.clone()).collect();
    let known = blades.into_iter().find(|blade| blade.name == wanted);
    known.ok_or_else(|| unknown("blade", name, names.iter().map(String::as_str), "fretgrin blades"))
}

/// `#5`, `5`, `Flat 5`, `flat-00` in the one spelling of the table.
fn full_name(name: &str) -> String {
    let lower = name.trim().to_lowercase();
    let (kind, number) = match lower.strip_prefix("spiral") {
        Some(rest) => ("spiral", rest),
        None => ("flat", lower.strip_prefix("flat").unwrap_or(&lower)),
    };
    let number = number.trim_start_matches(['-', ' ', '_', '#']);
    let number = if number == "00" { "2/0" } else { number };
    format!("{kind}-{number}")
}

/// A small shop's drawer of blades: common practice, no source.
#[must_use]
pub fn default_drawer() -> Vec<Blade> {
    let usual = ["flat-2/0", "flat-3", "flat-5", "flat-7", "spiral-2"];
    all().into_iter().filter(|blade| usual.contains(&blade.name.as_str())).collect()
}

/// The flat blades usually put to softwood of this thickness: #3–#5 to 1/2 in,
/// #5 at 5/8 in, #5–#7 beyond. Common practice, no source; a finer blade cuts
/// thicker wood if fed slowly.
#[must_use]
pub fn usual_for(thickness: Mm) -> &'static [&'static str] {
    match thickness.inches() {
        t if t < 0.57 => &["flat-3", "flat-4", "flat-5"],
        t if t < 0.69 => &["flat-5"],
        _ => &["flat-5", "flat-6", "flat-7"],
    }
}

/// The blades as a table, lengths in the shop's unit.
#[must_use]
pub fn rows(unit: Unit) -> Table {
    let heads = ["width", "body", "kerf", "hole", "smooth", "slow", "scraping"];
    let tail = match unit {
        Unit::Inch => "in",
        Unit::Mm => "mm",
    };
    let mut headers = vec!["blade".to_owned(), "tpi".to_owned()];
    headers.extend(heads.iter().map(|head| format!("{head} {tail}")));
    headers.push("source".to_owned());
    let mut table = Table { title: "Blades".to_owned(), headers, ..Table::default() };
    for blade in all() {
        let row = blade_row(&blade, unit, &mut table);
        table.rows.push(row);
    }
    table.notes.push("smooth, slow, scraping: smallest radius of the cut followed that way (derived)".to_owned());
    table.notes.push("hole: smallest entry hole for a plain end; a pin end needs 3/16 in (4.8 mm) at least".to_owned());
    table
}

fn blade_row(blade: &Blade, unit: Unit, table: &mut Table) -> Vec<String> {
    let show = |length: Mm| match unit {
        Unit::Inch => format!("{:.3}", length.inches()),
        Unit::Mm => format!("{:.2}", length.get()),
    };
    let teeth = blade.teeth_per_inch.map_or_else(|| "-".to_owned(), |tpi| format!("{tpi}"));
    let mut row = vec![blade.name.clone(), teeth];
    row.extend([blade.width, blade.thickness, blade.kerf, blade.hole_needed(BladeEnd::Plain)].map(show));
    let limit = |radius: Mm| if radius == Mm::ZERO { "any".to_owned() } else { show(radius) };
    row.extend([Pass::Smooth, Pass::Slow, Pass::Scraping].map(|pass| limit(blade.tightest(pass))));
    let mark = table.cite(blade.source);
    row.push(mark);
    row
}

#[cfg(test)]
mod tests;
