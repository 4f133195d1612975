//! Published rules for nails in wood.
//!
//! Spacings, end and edge distances: Eurocode 5 (EN 1995-1-1) Table 8.2,
//! second-hand copy of the standard, formula by formula. Lengths in
//! millimetres, densities in kg/m³, angles in radians.

use serde::Serialize;

use crate::units::{MM_PER_INCH, Mm};

/// Kilograms a cubic metre of water.
const WATER: f64 = 1000.0;
/// Newtons in a pound-force: 0.453 592 37 kg x 9.806 65 m/s².
const NEWTONS_PER_POUND: f64 = crate::trade::woods::NEWTONS_PER_POUND;

/// What the nail rules need to know of the wood.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct NailWood {
    /// Specific gravity, oven-dry weight by volume at 12 % moisture.
    pub specific_gravity: f64,
    /// Whether the wood is prone to splitting at nails.
    pub prone: bool,
    /// Whether it is plywood, whose edges no figure for solid wood is for.
    pub plywood: bool,
}

impl NailWood {
    /// Mean density at 12 % moisture: oven-dry weight and 12 % water.
    #[must_use]
    pub fn density(&self) -> f64 {
        WATER * self.specific_gravity * 1.12
    }

    /// Characteristic density: the 5 % value, with the 10 % coefficient of
    /// variation of Wood Handbook FPL-GTR-282 Table 5-6 (second-hand copy).
    #[must_use]
    pub fn characteristic_density(&self) -> f64 {
        crate::trade::woods::five_percent(self.density(), crate::trade::woods::cov::SPECIFIC_GRAVITY)
    }
}

/// The row of Eurocode 5 Table 8.2 that applies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Driving {
    /// Not pre-drilled, characteristic density up to 420 kg/m³.
    Light,
    /// Not pre-drilled, characteristic density over 420 and up to 500 kg/m³.
    Heavy,
    /// Pre-drilled. Wood over 500 kg/m³ has to be (from memory, believed in
    /// Eurocode 5 8.3.1.1(2)).
    Predrilled,
}

impl Driving {
    /// The row for a characteristic density; over 500 kg/m³ only pre-drilled
    /// holes are allowed.
    #[must_use]
    pub fn of(density: f64, predrilled: bool) -> Self {
        match density {
            _ if predrilled => Self::Predrilled,
            d if d <= 420.0 => Self::Light,
            d if d <= 500.0 => Self::Heavy,
            _ => Self::Predrilled,
        }
    }
}

/// Least distances, millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Spacings {
    /// Between nails along the grain, a1.
    pub along: f64,
    /// Between nails across the grain, a2.
    pub across: f64,
    /// From a loaded end, a3,t.
    pub loaded_end: f64,
    /// From an unloaded end, a3,c.
    pub free_end: f64,
    /// From a loaded edge, a4,t.
    pub loaded_edge: f64,
    /// From an unloaded edge, a4,c.
    pub free_edge: f64,
}

/// Eurocode 5 Table 8.2 for nails thinner than 5 mm; `angle` lies between the
/// load and the grain. The cosine counts for spacings and ends, the sine for
/// edges.
#[must_use]
pub fn spacings(diameter: f64, driving: Driving, angle: f64) -> Spacings {
    let (sin, cos) = (libm::sin(angle).abs(), libm::cos(angle));
    let cos_abs = cos.abs();
    let d = diameter;
    match driving {
        Driving::Light => Spacings {
            along: (5.0 + 5.0 * cos_abs) * d,
            across: 5.0 * d,
            loaded_end: (10.0 + 5.0 * cos) * d,
            free_end: 10.0 * d,
            loaded_edge: (5.0 + 2.0 * sin) * d,
            free_edge: 5.0 * d,
        },
        Driving::Heavy => Spacings {
            along: (7.0 + 8.0 * cos_abs) * d,
            across: 7.0 * d,
            loaded_end: (15.0 + 5.0 * cos) * d,
            free_end: 15.0 * d,
            loaded_edge: (7.0 + 2.0 * sin) * d,
            free_edge: 7.0 * d,
        },
        Driving::Predrilled => Spacings {
            along: (4.0 + cos_abs) * d,
            across: (3.0 + sin) * d,
            loaded_end: (7.0 + 5.0 * cos) * d,
            free_end: 7.0 * d,
            loaded_edge: (3.0 + 2.0 * sin) * d,
            free_edge: 3.0 * d,
        },
    }
}

/// The largest of each distance over all load directions: what holds however
/// the box is lifted. The distances along the grain are largest at 0, those
/// across it at 90 degrees.
#[must_use]
pub fn worst_spacings(diameter: f64, driving: Driving) -> Spacings {
    let along = spacings(diameter, driving, 0.0);
    let across = spacings(diameter, driving, std::f64::consts::FRAC_PI_2);
    Spacings { across: across.across.max(along.across), loaded_edge: across.loaded_edge, ..along }
}

/// Least thickness of wood that is not pre-drilled: Eurocode 5 8.3.1.2(6), or
/// (7) for wood prone to splitting (second-hand copy).
#[must_use]
pub fn least_thickness(diameter: f64, density: f64, prone: bool) -> f64 {
    let (diameters, divisor) = if prone { (14.0, 200.0) } else { (7.0, 400.0) };
    (diameters * diameter).max((13.0 * diameter - 30.0) * density / divisor)
}

/// Least reach of a smooth nail into the second piece: 8 diameters (Eurocode 5
/// 8.3.2, second-hand copy).
#[must_use]
pub fn least_reach(diameter: f64) -> f64 {
    8.0 * diameter
}

/// Hole to pre-drill: at most 75 % of the nail, 90 % in wood of specific
/// gravity over 0.6 (NDS, National Design Specification for Wood Construction).
#[must_use]
pub fn predrill(diameter: f64, specific_gravity: f64) -> f64 {
    diameter * if specific_gravity > 0.6 { 0.9 } else { 0.75 }
}

/// Ultimate withdrawal load of one smooth nail just driven into side grain, in
/// newtons: 6900 G^(5/2) D pounds for each inch of reach, D in inches (FPL
/// Technical Note 236 of 1958, reissued as Research Note FPL-093 of 1965).
#[must_use]
pub fn withdrawal(diameter: Mm, reach: Mm, specific_gravity: f64) -> f64 {
    let pounds_per_inch = 6900.0 * libm::pow(specific_gravity, 2.5) * diameter.get() / MM_PER_INCH;
    pounds_per_inch * reach.inches().max(0.0) * NEWTONS_PER_POUND
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published figures for an 18 gauge brad of 1.207 mm.
    #[test]
    fn spacings_match_the_published_formulas() {
        let d = 1.207;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} is not {b}");
        let light = spacings(d, Driving::Light, 0.0);
        near(light.along, 10.0 * d);
        near(light.across, 5.0 * d);
        near(light.loaded_end, 15.0 * d);
        near(light.free_end, 10.0 * d);
        near(light.free_edge, 5.0 * d);
        let right = spacings(d, Driving::Light, std::f64::consts::FRAC_PI_2);
        near(right.along, 5.0 * d);
        near(right.loaded_end, 10.0 * d);
        near(right.loaded_edge, 7.0 * d);
        let heavy = worst_spacings(d, Driving::Heavy);
        near(heavy.along, 15.0 * d);
        near(heavy.across, 7.0 * d);
        near(heavy.loaded_end, 20.0 * d);
        near(heavy.free_end, 15.0 * d);
        near(heavy.loaded_edge, 9.0 * d);
        near(heavy.free_edge, 7.0 * d);
        let drilled = worst_spacings(d, Driving::Predrilled);
        near(drilled.along, 5.0 * d);
        near(drilled.across, 4.0 * d);
        near(drilled.loaded_end, 12.0 * d);
        near(drilled.free_end, 7.0 * d);
        near(drilled.loaded_edge, 5.0 * d);
        near(drilled.free_edge, 3.0 * d);
    }

    #[test]
    fn rows_follow_density() {
        assert_eq!(Driving::of(420.0, false), Driving::Light, "up to 420");
        assert_eq!(Driving::of(420.1, false), Driving::Heavy, "over 420");
        assert_eq!(Driving::of(500.1, false), Driving::Predrilled, "over 500 only pre-drilled");
        assert_eq!(Driving::of(350.0, true), Driving::Predrilled, "pre-drilled");
    }

    #[test]
    fn thickness_reach_and_holes_match_the_published_formulas() {
        assert!((least_thickness(1.207, 350.0, false) - 8.449).abs() < 1e-9, "7 d governs for brads");
        assert!((least_thickness(1.207, 350.0, true) - 16.898).abs() < 1e-9, "14 d: just over 5/8 in");
        assert!((least_thickness(4.0, 350.0, false) - 28.0).abs() < 1e-9, "7 d = 28 over 22 x 350/400");
        assert!((least_thickness(4.9, 500.0, false) - (63.7 - 30.0) * 1.25).abs() < 1e-9, "the density term governs");
        assert!((least_reach(1.207) - 9.656).abs() < 1e-9, "8 d");
        assert!((predrill(1.2, 0.32) - 0.9).abs() < 1e-12, "75 %");
        assert!((predrill(1.2, 0.65) - 1.08).abs() < 1e-12, "90 %");
    }

    /// 19 lb for each inch in western redcedar (0.32), 17.5 in northern
    /// white-cedar (0.31), 33 in ponderosa pine (0.40), each rounded.
    #[test]
    fn withdrawal_matches_worked_values() {
        let per_inch = |g: f64| withdrawal(Mm::from_inches(0.0475), Mm::from_inches(1.0), g) / NEWTONS_PER_POUND;
        for (gravity, pounds) in [(0.32, 19.0), (0.31, 17.5), (0.35, 24.0), (0.40, 33.0)] {
            assert!((per_inch(gravity) - pounds).abs() < 0.6, "{gravity}: {}", per_inch(gravity));
        }
    }

    #[test]
    fn density_is_weight_at_twelve_percent() {
        let wood = NailWood { specific_gravity: 0.32, prone: true, plywood: false };
        assert!((wood.density() - 358.4).abs() < 1e-9, "358 kg/m3");
        assert!((wood.characteristic_density() - 358.4 * 0.8355).abs() < 1e-9, "5 % value");
    }
}
