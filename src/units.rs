//! Lengths, angles and money as the shop writes them.
//!
//! Inside the program every length is millimetres. [`Mm`] carries a length
//! across stage borders; inside `geom` a bare `f64` is millimetres too. The
//! numbers 25.4, 72 and 96 appear only in this file.

mod money;
mod parse;

use std::fmt;
use std::ops::{Add, Div, Mul, Neg, Sub};

use serde::{Deserialize, Serialize};

pub use money::Cents;
pub use parse::{not_a_length, other_size, parse_length, parse_size};

/// Millimetres in an inch. Exact: the international inch of 1959.
pub const MM_PER_INCH: f64 = 25.4;
/// PDF points in an inch (ISO 32000-1, 8.3.2.3: default user space unit 1/72 in).
pub const PT_PER_INCH: f64 = 72.0;
/// CSS pixels in an inch (CSS Values and Units Level 3, absolute lengths).
pub const PX_PER_INCH: f64 = 96.0;

/// A tenth of a millimetre, the step of most figures shown.
const TENTH: f64 = 0.1;
/// Part of a step that is the noise of reckoning, not length.
const NOISE: f64 = 1e-6;

/// Which way a figure is rounded that somebody works to.
#[derive(Clone, Copy)]
enum Toward {
    /// A least: to the next above.
    Up,
    /// A most: to the next below.
    Down,
}

/// A length in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Mm(f64);

impl Mm {
    /// No length at all.
    pub const ZERO: Self = Self(0.0);

    /// A length of `mm` millimetres.
    #[must_use]
    pub const fn new(mm: f64) -> Self {
        Self(mm)
    }

    /// A length of `inches` inches.
    #[must_use]
    pub const fn from_inches(inches: f64) -> Self {
        Self(inches * MM_PER_INCH)
    }

    /// A length of `pt` PDF points.
    #[must_use]
    pub const fn from_pt(pt: f64) -> Self {
        Self(pt * MM_PER_INCH / PT_PER_INCH)
    }

    /// The number of millimetres.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The number of inches.
    #[must_use]
    pub const fn inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }

    /// The number of PDF points.
    #[must_use]
    pub const fn pt(self) -> f64 {
        self.0 * PT_PER_INCH / MM_PER_INCH
    }

    /// The length without its sign.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// The smaller of two lengths.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self(self.0.min(other.0))
    }

    /// The larger of two lengths.
    #[must_use]
    pub const fn max(self, other: Self) -> Self {
        Self(self.0.max(other.0))
    }

    /// The length to the nearest 1/`denominator` inch as a shop writes it:
    /// `5-1/4 in`, `7/8 in`, `10 in`, `0 in`. A length too small for that is told in
    /// hundredths, `0.02 in`: something is not nothing.
    #[must_use]
    pub fn fraction(self, denominator: u32) -> String {
        /// Half a hundredth of an inch, which rounds to one.
        const LEAST_INCHES: f64 = 0.005;
        let sign = if self.0 < 0.0 { "-" } else { "" };
        let parts = (self.inches().abs() * f64::from(denominator)).round() as u64;
        let (whole, rest) = (parts / u64::from(denominator), parts % u64::from(denominator));
        let shared = gcd(rest, u64::from(denominator));
        match (whole, rest) {
            (0, 0) if self.inches().abs() >= LEAST_INCHES => format!("{:.2} in", self.inches()),
            (0, 0) => "0 in".to_owned(),
            (_, 0) => format!("{sign}{whole} in"),
            (0, _) => format!("{sign}{}/{} in", rest / shared, u64::from(denominator) / shared),
            _ => format!("{sign}{whole}-{}/{} in", rest / shared, u64::from(denominator) / shared),
        }
    }

    /// The length in both of the shop's languages, the preferred one first:
    /// `5-1/4 in (133.4 mm)` or `133.4 mm (5-1/4 in)`.
    #[must_use]
    pub fn both(self, unit: Unit) -> String {
        match unit {
            Unit::Inch => format!("{} ({self:.1})", self.fraction(16)),
            Unit::Mm => format!("{self:.1} ({})", self.fraction(16)),
        }
    }

    /// The length in the shop's unit alone.
    #[must_use]
    pub fn text(self, unit: Unit) -> String {
        match unit {
            Unit::Inch => self.fraction(32),
            Unit::Mm => format!("{self:.1}"),
        }
    }

    /// The length in the shop's unit, finely, with millimetres beside inches:
    /// `27/32 in (21.4 mm)` or `21.4 mm`.
    #[must_use]
    pub fn fine(self, unit: Unit) -> String {
        match unit {
            Unit::Inch => format!("{} ({self:.1})", self.text(unit)),
            Unit::Mm => self.text(unit),
        }
    }

    /// A length to reach, in both languages: each figure is no less than the
    /// length, so that whoever works to it has enough. A tenth of a millimetre
    /// and a sixteenth of an inch are the steps, as in [`Self::both`].
    #[must_use]
    pub fn both_at_least(self, unit: Unit) -> String {
        self.both_toward(unit, Toward::Up)
    }

    /// A length not to pass, in both languages: neither figure is more than it.
    #[must_use]
    pub fn both_at_most(self, unit: Unit) -> String {
        self.both_toward(unit, Toward::Down)
    }

    /// A length to reach, to the next step the shop's unit is told in: 1/32 in or
    /// a tenth of a millimetre.
    #[must_use]
    pub fn at_least(self, unit: Unit) -> Self {
        let step = match unit {
            Unit::Inch => MM_PER_INCH / 32.0,
            Unit::Mm => TENTH,
        };
        self.toward(step, Toward::Up)
    }

    /// A length to reach, in the shop's unit alone: never less than it.
    #[must_use]
    pub fn text_at_least(self, unit: Unit) -> String {
        self.at_least(unit).text(unit)
    }

    /// A length and the least it falls short of, each in both languages, rounded
    /// so that no figure of the one is that of the other.
    #[must_use]
    pub fn short_of(self, least: Self, unit: Unit) -> (String, String) {
        let near = [self.fraction(16), format!("{self:.1}")];
        let up = [least.toward(MM_PER_INCH / 16.0, Toward::Up).fraction(16), least.tenths_at_least()];
        let same = near.iter().zip(&up).any(|(near, up)| near == up);
        (if same { self.both_at_most(unit) } else { self.both(unit) }, least.both_at_least(unit))
    }

    /// A length to reach, to the next tenth of a millimetre.
    #[must_use]
    pub fn tenths_at_least(self) -> String {
        format!("{:.1}", self.toward(TENTH, Toward::Up))
    }

    /// A length not to pass, to the next tenth of a millimetre below.
    #[must_use]
    pub fn tenths_at_most(self) -> String {
        format!("{:.1}", self.toward(TENTH, Toward::Down))
    }

    fn both_toward(self, unit: Unit, way: Toward) -> String {
        let inch = self.toward(MM_PER_INCH / 16.0, way).fraction(16);
        let mm = self.toward(TENTH, way);
        match unit {
            Unit::Inch => format!("{inch} ({mm:.1})"),
            Unit::Mm => format!("{mm:.1} ({inch})"),
        }
    }

    /// The next whole number of `step` mm, up or down; a length that is one but
    /// for the noise of reckoning stays.
    fn toward(self, step: f64, way: Toward) -> Self {
        let parts = self.0 / step;
        let whole = match way {
            Toward::Up => (parts - NOISE).ceil(),
            Toward::Down => (parts + NOISE).floor(),
        };
        Self(whole * step)
    }
}

/// Greatest common divisor; of 0 and 0 it is 1.
pub(crate) fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a.max(1) } else { gcd(b, a % b) }
}

impl fmt::Display for Mm {
    /// `133.35 mm`; a precision (`{:.1}`) sets the decimals, two by default.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let decimals = f.precision().unwrap_or(2);
        // Adding zero turns a rounded -0 into 0.
        let scale = 10f64.powi(i32::try_from(decimals).unwrap_or(2));
        // Halves are common, 3/4 in is 19.05 mm: the noise of reckoning decides none.
        let rounded = (self.0 * scale + NOISE.copysign(self.0)).round() / scale + 0.0;
        write!(f, "{rounded:.decimals$} mm")
    }
}

impl Add for Mm {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Sub for Mm {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Neg for Mm {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
impl Mul<f64> for Mm {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}
impl Div<f64> for Mm {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self(self.0 / divisor)
    }
}
impl Div for Mm {
    type Output = f64;
    fn div(self, other: Self) -> f64 {
        self.0 / other.0
    }
}
impl std::iter::Sum for Mm {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// The unit a shop thinks in; a bare number is read in it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Inches and fractions.
    #[default]
    #[serde(alias = "in", alias = "inches")]
    Inch,
    /// Millimetres.
    Mm,
}

impl std::str::FromStr for Unit {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim().to_ascii_lowercase().as_str() {
            "in" | "inch" | "inches" => Ok(Self::Inch),
            "mm" | "millimetre" | "millimetres" | "metric" => Ok(Self::Mm),
            _ => Err(format!("`{text}` is not a unit; write in or mm")),
        }
    }
}

/// A width and a height in one unit: `5-1/4 x 10 in`, to the nearest 1/32 as [`Mm::text`],
/// or `133.35 x 254 mm`, to the hundredth without trailing zeros.
#[must_use]
pub fn size_text(width: Mm, height: Mm, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{} x {}", width.fraction(32).trim_end_matches(" in"), height.fraction(32)),
        Unit::Mm => format!("{} x {} mm", hundredths(width), hundredths(height)),
    }
}

/// Millimetres to the hundredth, without trailing zeros: `133.35`, `254`.
fn hundredths(length: Mm) -> String {
    format!("{}", (length.0 * 100.0).round() / 100.0 + 0.0)
}

/// Minutes to the nearest whole one, as every sheet and screen tells them; work
/// that takes any time takes one at least.
#[must_use]
pub fn whole_minutes(minutes: f64) -> u64 {
    let least = if minutes > 0.0 { 1.0 } else { 0.0 };
    minutes.round().clamp(least, 1e9) as u64
}

/// A long length, mm, as people say it: metres, or feet for a shop in inches.
#[must_use]
pub fn long_text(mm: f64, unit: Unit) -> String {
    match unit {
        Unit::Mm => format!("{:.1} m", mm / 1000.0),
        Unit::Inch => format!("{:.1} ft", Mm::new(mm).inches() / 12.0),
    }
}

/// Minutes as people say them: `42 min`, from a hundred on `1 h 40 min`.
#[must_use]
pub fn minutes_text(minutes: f64) -> String {
    let whole = whole_minutes(minutes);
    if whole < 100 { format!("{whole} min") } else { format!("{} h {:02} min", whole / 60, whole % 60) }
}

#[cfg(test)]
mod tests;
