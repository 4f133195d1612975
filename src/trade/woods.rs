//! Strength and stiffness of the woods a lantern is made from.
//!
//! The figures are kept in pounds and inches, the units of the primary table;
//! accessors give MPa. They are *means of small, clear, straight-grained
//! pieces*, not allowable stresses: see [`five_percent`] and
//! [`super::strength`] for what may be asked of a board.

use std::borrow::Cow;
use std::sync::LazyLock;

use serde::Serialize;

use super::{Table, unknown};
use crate::diag::Error;
use crate::units::{MM_PER_INCH, Unit};

/// Newtons in a pound of force. Exact: international pound (0.453 592 37 kg)
/// times standard gravity (9.806 65 m/s²).
pub const NEWTONS_PER_POUND: f64 = 4.448_221_615_260_5;
/// Megapascals in a pound per square inch: exact from the inch and the pound.
pub const MPA_PER_PSI: f64 = NEWTONS_PER_POUND / (MM_PER_INCH * MM_PER_INCH);

const HANDBOOK: &str = "Wood Handbook, FPL-GTR-282 (2021), Table 5-3b, about 12 % moisture; second-hand copy";
const HANDBOOK_GREEN: &str =
    "Wood Handbook, FPL-GTR-282 (2021), Table 5-3b, green; second-hand copy, compression from memory";
const HANDBOOK_CANADA: &str = "Wood Handbook, FPL-GTR-282 (2021), Table 5-4b (Canadian samples); second-hand copy";
const HANDBOOK_MEMORY: &str = "Wood Handbook, FPL-GTR-282 (2021), Table 5-3b, about 12 % moisture; from memory";
const HANDBOOK_PLYWOOD: &str = "Wood Handbook, FPL-GTR-282 (2021), Table 12-2; second-hand copy";
const BIRCH_PLYWOOD: &str = "suppliers' sheets and EN 12369-type data; from memory, low end of the range";

/// Coefficients of variation of clear wood between trees, as fractions.
///
/// Wood Handbook, FPL-GTR-282, Table 5-6 (second-hand copy, from green tests of
/// 50 species).
pub mod cov {
    /// Bending strength (modulus of rupture).
    pub const MOR: f64 = 0.16;
    /// Stiffness in bending (modulus of elasticity).
    pub const MOE: f64 = 0.22;
    /// Compression along the grain.
    pub const COMPRESSION_PARALLEL: f64 = 0.18;
    /// Compression across the grain.
    pub const COMPRESSION_PERPENDICULAR: f64 = 0.28;
    /// Shear along the grain.
    pub const SHEAR: f64 = 0.14;
    /// Tension along the grain.
    pub const TENSION_PARALLEL: f64 = 0.25;
    /// Tension across the grain: not in the table; common practice, no source,
    /// taken like tension along the grain.
    pub const TENSION_PERPENDICULAR: f64 = 0.25;
    /// Side hardness.
    pub const HARDNESS: f64 = 0.20;
    /// Specific gravity.
    pub const SPECIFIC_GRAVITY: f64 = 0.10;
}

/// The value one piece in twenty falls below, from a mean and a coefficient of
/// variation: `mean · (1 − 1.645 · cov)`, normal distribution, never negative.
///
/// Derived; 1.645 is the one-sided 95 % point of the normal distribution.
#[must_use]
pub fn five_percent(mean: f64, cov: f64) -> f64 {
    (mean * (1.0 - 1.645 * cov)).max(0.0)
}

/// Solid wood or plywood: decides what "across the grain" means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WoodKind {
    /// Solid wood: across the grain it parts in tension.
    Solid,
    /// Plywood: across the face grain the inner plies carry.
    Plywood,
}

/// One wood, with figures in the pounds and inches of the primary table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wood {
    /// The name to write in options: `western-redcedar`.
    pub slug: Cow<'static, str>,
    /// The name to show: `western redcedar`.
    pub name: Cow<'static, str>,
    /// Solid or plywood.
    pub kind: WoodKind,
    /// Specific gravity, oven-dry weight by volume at 12 % moisture (green: at green volume).
    pub specific_gravity: f64,
    /// Bending strength along the grain (modulus of rupture), psi.
    pub mor_psi: f64,
    /// Bending stiffness along the grain (modulus of elasticity), psi.
    pub moe_psi: f64,
    /// Crushing strength along the grain, psi, where the table has it.
    pub compression_parallel_psi: Option<f64>,
    /// Proportional limit across the grain in compression, psi, where the table has it.
    pub compression_perpendicular_psi: Option<f64>,
    /// Shear along the grain, psi.
    pub shear_psi: f64,
    /// Strength across the grain, psi: tension perpendicular to grain for solid
    /// wood, bending across the face grain for plywood.
    pub across_psi: f64,
    /// Side hardness, lbf, where the table has it.
    pub hardness_lbf: Option<f64>,
    /// Which figures stand in for gaps in the table; empty when none do.
    pub fallback: Cow<'static, str>,
    /// Where the figures come from.
    pub source: Cow<'static, str>,
}

impl Wood {
    /// Bending strength along the grain, MPa.
    #[must_use]
    pub fn mor_mpa(&self) -> f64 {
        self.mor_psi * MPA_PER_PSI
    }

    /// Bending stiffness along the grain, MPa.
    #[must_use]
    pub fn moe_mpa(&self) -> f64 {
        self.moe_psi * MPA_PER_PSI
    }

    /// Shear strength along the grain, MPa.
    #[must_use]
    pub fn shear_mpa(&self) -> f64 {
        self.shear_psi * MPA_PER_PSI
    }

    /// Strength across the grain, MPa; see [`Wood::across_psi`].
    #[must_use]
    pub fn across_mpa(&self) -> f64 {
        self.across_psi * MPA_PER_PSI
    }

    /// Coefficient of variation that goes with [`Wood::across_psi`].
    #[must_use]
    pub const fn across_cov(&self) -> f64 {
        match self.kind {
            WoodKind::Solid => cov::TENSION_PERPENDICULAR,
            WoodKind::Plywood => cov::MOR,
        }
    }

    /// Side hardness, N, where the table has it.
    #[must_use]
    pub fn hardness_n(&self) -> Option<f64> {
        self.hardness_lbf.map(|lbf| lbf * NEWTONS_PER_POUND)
    }

    /// Mean density at 12 % moisture, kg/m³: specific gravity × 1000 × 1.12
    /// (Wood Handbook ch. 4, density = 1000 G (1 + M); from memory).
    #[must_use]
    pub fn density_kg_m3(&self) -> f64 {
        self.specific_gravity * 1000.0 * 1.12
    }

    /// A cedar by name, whose dust calls for its own caution.
    #[must_use]
    pub fn is_cedar(&self) -> bool {
        self.slug.contains("cedar")
    }
}

/// Slug, name, specific gravity, MOR psi, MOE million psi, compression along and
/// across psi, shear psi, tension across psi, side hardness lbf.
type Row = (&'static str, &'static str, f64, f64, f64, f64, f64, f64, f64, f64);

/// Table 5-3b, row by row. A gap in the table holds the figure named in [`GAPS`].
#[rustfmt::skip]
const SOLID: [Row; 29] = [
    ("western-redcedar",     "western redcedar",      0.32,  7500.0, 1.11, 4560.0, 460.0,  990.0, 220.0,  350.0),
    ("northern-white-cedar", "northern white-cedar",  0.31,  6500.0, 0.80, 3960.0, 310.0,  850.0, 240.0,  320.0),
    ("eastern-redcedar",     "eastern redcedar",      0.47,  8800.0, 0.88, 6020.0, 920.0, 1010.0, 330.0,  650.0),
    ("atlantic-white-cedar", "Atlantic white-cedar",  0.32,  6800.0, 0.93, 4700.0, 410.0,  800.0, 220.0,  350.0),
    ("incense-cedar",        "incense-cedar",         0.37,  8000.0, 1.04, 5200.0, 590.0,  880.0, 270.0,  470.0),
    ("port-orford-cedar",    "Port-Orford-cedar",     0.43, 12700.0, 1.70, 6250.0, 720.0, 1370.0, 400.0,  630.0),
    ("yellow-cedar",         "yellow (Alaska) cedar", 0.44, 11100.0, 1.42, 6310.0, 620.0, 1130.0, 360.0,  580.0),
    ("baldcypress",          "baldcypress",           0.46, 10600.0, 1.44, 6360.0, 730.0, 1000.0, 270.0,  510.0),
    ("eastern-white-pine",   "eastern white pine",    0.35,  8600.0, 1.24, 4800.0, 440.0,  900.0, 310.0,  380.0),
    ("ponderosa-pine",       "ponderosa pine",        0.40,  9400.0, 1.29, 5320.0, 580.0, 1130.0, 420.0,  460.0),
    ("sugar-pine",           "sugar pine",            0.36,  8200.0, 1.19, 4460.0, 500.0, 1130.0, 350.0,  380.0),
    ("lodgepole-pine",       "lodgepole pine (SPF)",  0.41,  9400.0, 1.34, 5370.0, 610.0,  880.0, 290.0,  480.0),
    ("jack-pine",            "jack pine (SPF)",       0.43,  9900.0, 1.35, 5660.0, 580.0, 1170.0, 420.0,  570.0),
    ("red-pine",             "red pine",              0.46, 11000.0, 1.63, 6070.0, 600.0, 1210.0, 460.0,  560.0),
    ("white-spruce",         "white spruce (SPF)",    0.36,  9400.0, 1.43, 5180.0, 430.0,  970.0, 360.0,  410.0),
    ("engelmann-spruce",     "Engelmann spruce (SPF)",0.35,  9300.0, 1.30, 4480.0, 410.0, 1200.0, 350.0,  390.0),
    ("red-spruce",           "red spruce (SPF)",      0.40, 10800.0, 1.66, 5540.0, 550.0, 1290.0, 350.0,  530.0),
    ("black-spruce",         "black spruce (SPF)",    0.42, 10800.0, 1.61, 5960.0, 550.0, 1230.0, 100.0,  530.0),
    ("sitka-spruce",         "Sitka spruce",          0.40, 10200.0, 1.57, 5610.0, 580.0, 1150.0, 370.0,  510.0),
    ("balsam-fir",           "balsam fir (SPF)",      0.35,  9200.0, 1.45, 5280.0, 400.0,  940.0, 180.0,  380.0),
    ("white-fir",            "white fir",             0.39,  9800.0, 1.50, 5800.0, 530.0, 1100.0, 300.0,  480.0),
    ("western-hemlock",      "western hemlock",       0.45, 11300.0, 1.63, 7200.0, 550.0, 1290.0, 340.0,  540.0),
    ("redwood-old-growth",   "redwood, old growth",   0.40, 10000.0, 1.34, 6150.0, 700.0,  940.0, 240.0,  480.0),
    ("redwood",              "redwood, young growth", 0.35,  7900.0, 1.10, 5220.0, 520.0, 1110.0, 250.0,  420.0),
    ("yellow-poplar",        "yellow-poplar",         0.42, 10100.0, 1.58, 5540.0, 500.0, 1190.0, 540.0,  540.0),
    ("basswood",             "American basswood",     0.37,  8700.0, 1.46, 4730.0, 370.0,  990.0, 350.0,  410.0),
    ("quaking-aspen",        "quaking aspen",         0.38,  8400.0, 1.18, 4250.0, 370.0,  850.0, 260.0,  350.0),
    ("paper-birch",          "paper birch",           0.55, 12300.0, 1.59, 5690.0, 600.0, 1210.0, 380.0,  910.0),
    ("yellow-birch",         "yellow birch",          0.62, 16600.0, 2.01, 8170.0, 970.0, 1880.0, 920.0, 1260.0),
];

/// The gaps of Table 5-3b at 12 % and what stands in: the green value of the
/// same species, which for these properties is the lower and so the safe one.
const GAPS: [(&str, &str); 3] = [
    ("eastern-redcedar", "shear, tension across and hardness: green values (no dry ones in the table)"),
    ("black-spruce", "tension across: green value (no dry one in the table)"),
    ("paper-birch", "tension across: green value (no dry one in the table)"),
];

/// Rows from other tables, with their source and what stands in for gaps.
#[rustfmt::skip]
const OTHER: [(Row, &str, &str); 5] = [
    (("western-redcedar-green", "western redcedar, wet", 0.31, 5200.0, 0.94, 2770.0, 240.0, 770.0, 230.0, 260.0),
        HANDBOOK_GREEN, ""),
    (("western-redcedar-canada", "western redcedar, Canadian", 0.32, 7800.0, 1.19, 4290.0, 500.0, 810.0, 220.0, 350.0),
        HANDBOOK_CANADA, "specific gravity, tension across and hardness: from the US row"),
    (("northern-white-cedar-canada", "northern white-cedar, Canadian", 0.31, 6100.0, 0.63, 3590.0, 390.0, 1000.0, 240.0, 320.0),
        HANDBOOK_CANADA, "specific gravity, tension across and hardness: from the US row"),
    (("douglas-fir", "Douglas-fir, coast", 0.48, 12400.0, 1.95, 7230.0, 800.0, 1130.0, 340.0, 710.0), HANDBOOK_MEMORY, ""),
    (("southern-pine", "southern pine (loblolly)", 0.51, 12800.0, 1.79, 7130.0, 790.0, 1390.0, 470.0, 690.0), HANDBOOK_MEMORY, ""),
];

/// Plywood: slug, name, specific gravity, MOR MPa along the face grain, MOE GPa,
/// shear psi, source.
///
/// Table 12-2 gives strength and stiffness only. Specific gravity is common
/// practice within the .4–.6 of Table 12-1. Shear is taken from the solid wood
/// of the species, or the lowest of Table 5-3b for lauan: cautious, since the
/// crossed plies add to it.
#[rustfmt::skip]
const PLYWOOD: [(&str, &str, f64, f64, f64, f64, &str); 4] = [
    ("western-redcedar-plywood", "western redcedar plywood", 0.40, 37.4, 8.55,  990.0, HANDBOOK_PLYWOOD),
    ("douglas-fir-plywood",      "Douglas-fir plywood",      0.50, 41.4, 7.45, 1130.0, HANDBOOK_PLYWOOD),
    ("lauan-plywood",            "lauan plywood",            0.45, 33.7, 7.43,  800.0, HANDBOOK_PLYWOOD),
    ("birch-plywood",            "birch plywood",            0.68, 40.0, 9.00, 1210.0, BIRCH_PLYWOOD),
];

/// Strength of plywood across its face grain over that along it: the low end
/// of 0.6 to 0.8, common practice, no source.
const PLYWOOD_ACROSS: f64 = 0.6;

/// The wood a shop has when it says nothing: the usual fence board.
pub const DEFAULT: &str = "western-redcedar";

static ALL: LazyLock<Vec<Wood>> = LazyLock::new(|| {
    let solid = SOLID.iter().map(|row| {
        let gap = GAPS.iter().find(|(slug, _)| *slug == row.0).map_or("", |(_, note)| note);
        from_row(row, HANDBOOK, gap)
    });
    let other = OTHER.iter().map(|(row, source, gap)| from_row(row, source, gap));
    solid.chain(other).chain(PLYWOOD.iter().map(from_plywood)).collect()
});

fn from_row(row: &Row, source: &'static str, fallback: &'static str) -> Wood {
    let (slug, name, specific_gravity, mor_psi, moe, parallel, perpendicular, shear_psi, across_psi, hardness) = *row;
    Wood {
        slug: slug.into(),
        name: name.into(),
        kind: WoodKind::Solid,
        specific_gravity,
        mor_psi,
        moe_psi: moe * 1e6,
        compression_parallel_psi: Some(parallel),
        compression_perpendicular_psi: Some(perpendicular),
        shear_psi,
        across_psi,
        hardness_lbf: Some(hardness),
        fallback: fallback.into(),
        source: source.into(),
    }
}

fn from_plywood(row: &(&'static str, &'static str, f64, f64, f64, f64, &'static str)) -> Wood {
    let (slug, name, specific_gravity, mor_mpa, moe_gpa, shear_psi, source) = *row;
    Wood {
        slug: slug.into(),
        name: name.into(),
        kind: WoodKind::Plywood,
        specific_gravity,
        mor_psi: mor_mpa / MPA_PER_PSI,
        moe_psi: moe_gpa * 1000.0 / MPA_PER_PSI,
        compression_parallel_psi: None,
        compression_perpendicular_psi: None,
        shear_psi,
        across_psi: PLYWOOD_ACROSS * mor_mpa / MPA_PER_PSI,
        hardness_lbf: None,
        fallback: "specific gravity, shear and strength across: common practice, no source".into(),
        source: source.into(),
    }
}

/// Every built-in wood, in the order of its table.
#[must_use]
pub fn all() -> &'static [Wood] {
    &ALL
}

/// The wood called `name`: its slug in any case, spaces for hyphens allowed.
///
/// # Errors
/// [`Error::Setting`] with the nearest spelling.
pub fn find(name: &str) -> Result<&'static Wood, Error> {
    let slug = name.trim().to_lowercase().replace([' ', '_'], "-");
    all()
        .iter()
        .find(|wood| wood.slug == slug)
        .ok_or_else(|| unknown("wood", name, all().iter().map(|w| w.slug.as_ref()), "fretgrin woods"))
}

/// The woods as a table: psi and lbf for an inch shop, MPa and N for a metric one.
#[must_use]
pub fn rows(unit: Unit) -> Table {
    let headers = match unit {
        Unit::Inch => {
            ["wood", "name", "SG", "bending psi", "stiffness Mpsi", "shear psi", "across psi", "hard lbf", "source"]
        }
        Unit::Mm => {
            ["wood", "name", "SG", "bending MPa", "stiffness GPa", "shear MPa", "across MPa", "hard N", "source"]
        }
    };
    let mut table = Table::new("Woods", &headers);
    for wood in all() {
        let row = wood_row(wood, unit, &mut table);
        table.rows.push(row);
    }
    table.notes.push("means of small, clear, straight-grained pieces, not allowable stresses".to_owned());
    table.notes.push("across: tension across the grain; for plywood, bending across the face grain".to_owned());
    for wood in all().iter().filter(|w| w.kind == WoodKind::Solid && !w.fallback.is_empty()) {
        table.notes.push(format!("{}: {}", wood.name, wood.fallback));
    }
    table
}

fn wood_row(wood: &Wood, unit: Unit, table: &mut Table) -> Vec<String> {
    let figures = match unit {
        Unit::Inch => [
            format!("{:.0}", wood.mor_psi),
            format!("{:.2}", wood.moe_psi / 1e6),
            format!("{:.0}", wood.shear_psi),
            format!("{:.0}", wood.across_psi),
            wood.hardness_lbf.map_or_else(|| "-".to_owned(), |h| format!("{h:.0}")),
        ],
        Unit::Mm => [
            format!("{:.1}", wood.mor_mpa()),
            format!("{:.1}", wood.moe_mpa() / 1000.0),
            format!("{:.1}", wood.shear_mpa()),
            format!("{:.1}", wood.across_mpa()),
            wood.hardness_n().map_or_else(|| "-".to_owned(), |h| format!("{h:.0}")),
        ],
    };
    let mut row = vec![wood.slug.to_string(), wood.name.to_string(), format!("{:.2}", wood.specific_gravity)];
    row.extend(figures);
    let mark = table.cite(&wood.source);
    row.push(mark);
    row
}

#[cfg(test)]
mod tests;
