//! How wide a bridge of wood must be.
//!
//! Two things are asked of a bridge and the larger answer counts: the width
//! that practice holds to be the least worth sawing (the *floor*), and the
//! width at which a hand push in the shop leaves it whole.
//!
//! # The floor
//!
//! Common practice, no source, for 1/2 to 3/4 in softwood: along the grain
//! 3 mm whatever its length (3/16 in, 4.8 mm, is comfortable and not asked
//! for); across it 6 mm, and 3/8 in (9.5 mm) once longer than wide. Between the
//! two directions see [`by_angle`]. Between a free length of 6 mm and one of
//! 12 mm the floor grows from the short figure to the long one. Thinner stock
//! than 1/2 in gets more (see [`thin_factor`]).
//!
//! # The push
//!
//! 1. Strength at an angle to the grain: Hankinson's formula between bending
//!    strength along the grain and tension strength across it, both at the value
//!    one piece in twenty falls below (Wood Handbook Tables 5-3b and 5-6).
//! 2. Divided by a factor for a hand push in the shop.
//! 3. Beam formulas for a rectangular bar of the bridge's width and the stock's
//!    thickness, pushed by a design force out of the panel's plane, then in it.
//!
//! Derived, with `b` width, `T` thickness, `L` length, `F` push, `M` greatest
//! moment, `V` greatest shear force:
//! out of plane `σ = 6M/(b·T²)`, in plane `σ = 6M/(T·b²)`, shear
//! `τ = 1.5·V/(b·T)`; held at one end and pushed at the other `M = F·L`,
//! `V = F`; held at both ends and pushed in the middle `M = F·L/8`, `V = F/2`. Of a
//! bridge that alone carries a wider body of wood, `L` reaches to that body's far end,
//! where a hand may push (derived: moment is push times distance).
//!
//! # Where the rule ends
//!
//! Beyond [`CAP`] times the floor, widening is not the cure: a longer bridge
//! across the grain wants to be shortened, turned along the grain, or held at
//! its other end. The needed width stops there and says so ([`Needed::capped`]).

//! # What will fail
//!
//! A bridge may lack something and still be sawn with care. It will fail, for all
//! one can know before, when the push breaks an average board: step 1 with the
//! mean strengths and no factor. Derived: against bending in the panel's plane, at
//! redcedar's figures, that is 0.63 of the needed width across the grain and 0.70
//! along it. Where the push asks for less, [`STOP_RATIO`] of the needed width
//! counts. See [`Needed::stop_width`].

mod steps;

use std::borrow::Cow;

use serde::Serialize;

use super::woods::{Wood, WoodKind, cov, five_percent};
use crate::units::Mm;

/// Floor for a short bridge along the grain: common practice, no source.
pub const FLOOR_ALONG: Mm = Mm::new(3.0);
/// Floor for a short bridge across the grain: common practice, no source.
pub const FLOOR_ACROSS: Mm = Mm::new(6.0);
/// Floor for a long bridge along the grain: common practice, no source, names
/// one figure for any length.
pub const LONG_FLOOR_ALONG: Mm = FLOOR_ALONG;
/// Floor for a long bridge across the grain, 3/8 in: common practice, no source.
pub const LONG_FLOOR_ACROSS: Mm = Mm::from_inches(3.0 / 8.0);
/// Up to this free length a bridge is short; from twice it on it is long.
/// Derived from the practice that 3/8 in is wanted across the grain once the
/// bridge is longer than its 6 mm width.
pub const SHORT: Mm = Mm::new(6.0);
/// In plywood the floor across the face grain over that along it: no short
/// grain there, only fewer plies the right way. Assumption.
const PLYWOOD_FLOOR_ACROSS: f64 = 4.0 / 3.0;
/// Thickness from which the floor needs no thin-stock factor: the 1/2 in from
/// which practice speaks.
const THICK_ENOUGH_MM: f64 = 12.7;
/// Greatest thin-stock factor. Assumption.
const MOST_THIN_FACTOR: f64 = 1.5;
/// Times the floor at which the needed width stops growing. Assumption.
pub const CAP: f64 = 2.5;
/// Bridges under this fraction of the needed width stop the work, whatever the push
/// says. Ours: what practice asks for, less what a maker may shave off it knowingly.
pub const STOP_RATIO: f64 = 0.6;
/// Shear strength across the fibres (rolling shear) over that along them: low
/// end of the 18 % to 28 % in Wood Handbook ch. 5; from memory.
const ROLLING_SHEAR: f64 = 0.18;
/// Least thickness reckoned with, mm, so that a nonsense thickness gives a
/// large width and not an infinite one.
const THINNEST_MM: f64 = 1.0;

/// Strength at `angle_deg` to the grain by Hankinson's formula,
/// `N = P·Q / (P·sinⁿθ + Q·cosⁿθ)`, never less than `across`.
///
/// `along` is P and `across` is Q, in the same unit. The exponent `n` lies
/// between 1.5 and 2 for tension and for bending (Wood Handbook ch. 5, "Slope of
/// grain"; form published, range second-hand). With `n` below 2 the bare formula
/// dips a little under Q just before 90°; the bound takes that out, so that the
/// strength never grows with the angle.
#[must_use]
pub fn hankinson(along: f64, across: f64, angle_deg: f64, n: f64) -> f64 {
    let radians = folded(angle_deg).to_radians();
    let (sin, cos) = libm::sincos(radians);
    let (sin, cos) = (power(sin.max(0.0), n), power(cos.max(0.0), n));
    (along * across / (along * sin + across * cos)).max(across.min(along))
}

/// `x` to the power of `n`; quick for the two exponents in use.
fn power(x: f64, n: f64) -> f64 {
    match n {
        1.5 => x * x.sqrt(),
        2.0 => x * x,
        _ => libm::pow(x, n),
    }
}

/// An angle between two lines, folded into 0° to 90°; anything that is no
/// number is taken for the worst, 90°.
fn folded(angle_deg: f64) -> f64 {
    let turn = angle_deg.abs() % 180.0;
    let folded = if turn > 90.0 { 180.0 - turn } else { turn };
    if folded.is_finite() { folded } else { 90.0 }
}

/// How the ends of a bridge are held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hold {
    /// It joins two bodies of wood that are both held.
    #[default]
    BothEnds,
    /// It alone carries what hangs on it, as the one bridge to an island.
    OneEnd,
}

impl Hold {
    /// Greatest moment over push times length.
    const fn moment(self) -> f64 {
        match self {
            Self::BothEnds => 1.0 / 8.0,
            Self::OneEnd => 1.0,
        }
    }

    /// Greatest shear force over push.
    const fn shear(self) -> f64 {
        match self {
            Self::BothEnds => 0.5,
            Self::OneEnd => 1.0,
        }
    }
}

/// A bridge as the rule sees it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Span {
    /// Stock thickness.
    pub thickness: Mm,
    /// The length over which it stands free, without the roots where the wood
    /// opens out: the caller measures the stretch that is narrow. Zero for the
    /// neck between two round holes, which is narrow at a point only.
    pub free_length: Mm,
    /// How far from the narrow place what hangs on it alone reaches: a push at its far
    /// end bears on the bridge by this lever where it is more than the free length.
    /// Zero when both ends are held.
    pub reach: Mm,
    /// Angle between the bridge's own direction and the grain, degrees: 0 along,
    /// 90 across. Folded into that range.
    pub grain_deg: f64,
    /// How its ends are held.
    pub hold: Hold,
}

/// What is asked of a bridge; every figure can be set by the shop.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Demand {
    /// Push the bridge must stand, newtons. The default 20 N (4.5 lbf) is a firm
    /// fingertip, or the drag of a dull blade: assumption, no source.
    pub push_n: f64,
    /// Divides the strength one piece in twenty falls below. The default 1.5 is
    /// for a hand push in the shop, common practice, no source; 2.1 (ASTM D245
    /// adjustment for bending and tension, from memory) suits a lasting load.
    pub factor: f64,
    /// Hankinson's exponent: 1.5 cautious (default), 2 nominal.
    pub exponent: f64,
}

impl Default for Demand {
    fn default() -> Self {
        Self { push_n: 20.0, factor: 1.5, exponent: 1.5 }
    }
}

/// What the needed width is taken from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Limit {
    /// The rule of this module.
    Derived(Demand),
    /// One width for every bridge, as the maker asked.
    Fixed(Mm),
}

impl Default for Limit {
    fn default() -> Self {
        Self::Derived(Demand::default())
    }
}

impl Limit {
    /// The width a bridge of `wood` needs under this limit.
    #[must_use]
    pub fn needed(&self, wood: &Wood, span: &Span) -> Needed {
        match *self {
            Self::Derived(demand) => needed_width(wood, span, &demand),
            Self::Fixed(width) => {
                let derived = needed_width(wood, span, &Demand::default());
                Needed { width, governed_by: Governor::Fixed, capped: false, ..derived }
            }
        }
    }
}

/// What decided the needed width.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Governor {
    /// Common practice.
    Floor,
    /// A push square to the panel.
    OutOfPlaneBending,
    /// A push in the panel's plane.
    InPlaneBending,
    /// Shear.
    Shear,
    /// The maker's own limit.
    Fixed,
}

impl Governor {
    /// The words shown to people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Floor => "common practice",
            Self::OutOfPlaneBending => "bending out of the panel",
            Self::InPlaneBending => "bending in the panel's plane",
            Self::Shear => "shear",
            Self::Fixed => "the limit you set",
        }
    }
}

/// The needed width of a bridge and how it came about.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Needed {
    /// The width needed.
    #[serde(rename = "width_mm")]
    pub width: Mm,
    /// What decided it.
    pub governed_by: Governor,
    /// Whether the push asks for more than [`CAP`] times the floor, where
    /// widening stops being the cure.
    pub capped: bool,
    /// The width practice asks for.
    #[serde(rename = "floor_mm")]
    pub floor: Mm,
    /// Widths the push asks for: bending out of plane, bending in plane, shear.
    #[serde(rename = "push_mm")]
    pub push: [Mm; 3],
    /// The width at which the push breaks an average board.
    #[serde(skip)]
    pub breaking: Mm,
    /// Bending strength at this angle to the grain, MPa, one piece in twenty weaker.
    pub strength_mpa: f64,
    /// `strength_mpa` over the factor.
    pub allowable_mpa: f64,
    /// Strength at this angle over strength along the grain.
    pub grain_ratio: f64,
    /// Free length, or the reach where that is more, with the roots added.
    #[serde(rename = "reckoned_length_mm")]
    pub reckoned_length: Mm,
    /// What was asked.
    #[serde(skip)]
    pub span: Span,
    /// What was asked of it.
    #[serde(skip)]
    pub demand: Demand,
    /// The wood's name.
    #[serde(skip)]
    pub wood: Cow<'static, str>,
    /// Mean strengths along and across, MPa.
    #[serde(skip)]
    pub means_mpa: [f64; 2],
}

/// The width a bridge of `wood` needs; see the module's text.
///
/// Never shrinks when the free length, the angle to the grain or the push
/// grows, or the thickness shrinks. Lengths below zero count as zero.
#[must_use]
pub fn needed_width(wood: &Wood, span: &Span, demand: &Demand) -> Needed {
    let thickness = span.thickness.get().max(THINNEST_MM);
    let weak = Board::one_in_twenty(wood, span.grain_deg, demand.exponent);
    let average = Board::average(wood, span.grain_deg, demand.exponent);
    let allowable = weak.over(demand.factor);
    let reckoned = reckoned_length(wood.kind, span).get();
    let load = Load {
        moment: span.hold.moment() * demand.push_n * reckoned,
        shear: span.hold.shear() * demand.push_n,
        thickness,
    };
    let push = load.widths(allowable);
    let floor = floor_width(wood.kind, span);
    let (width, governed_by) = governing(floor, push);
    let cap = floor * CAP;
    Needed {
        width: width.min(cap),
        governed_by,
        capped: width > cap,
        floor,
        push: push.map(Mm::new),
        breaking: Mm::new(load.widths(average).into_iter().fold(0.0, f64::max)),
        strength_mpa: weak.bending,
        allowable_mpa: allowable.bending,
        grain_ratio: weak.bending / weak.along,
        reckoned_length: Mm::new(reckoned),
        span: *span,
        demand: *demand,
        wood: wood.name.clone(),
        means_mpa: [wood.mor_mpa(), wood.across_mpa()],
    }
}

fn governing(floor: Mm, push: [f64; 3]) -> (Mm, Governor) {
    let names = [Governor::OutOfPlaneBending, Governor::InPlaneBending, Governor::Shear];
    let asked = push.into_iter().map(Mm::new).zip(names);
    asked.fold((floor, Governor::Floor), |best, next| if next.0 > best.0 { next } else { best })
}

/// A board's strengths at one angle to the grain, MPa.
#[derive(Clone, Copy)]
struct Board {
    /// In bending, along the grain.
    along: f64,
    /// In bending, at the angle.
    bending: f64,
    shear: f64,
}

impl Board {
    /// The one of which one piece in twenty is weaker.
    fn one_in_twenty(wood: &Wood, grain_deg: f64, exponent: f64) -> Self {
        let along = five_percent(wood.mor_mpa(), cov::MOR);
        let across = five_percent(wood.across_mpa(), wood.across_cov());
        Self {
            along,
            bending: hankinson(along, across, grain_deg, exponent),
            shear: five_percent(wood.shear_mpa(), cov::SHEAR) * shear_ratio(wood.kind, grain_deg),
        }
    }

    fn average(wood: &Wood, grain_deg: f64, exponent: f64) -> Self {
        let along = wood.mor_mpa();
        Self {
            along,
            bending: hankinson(along, wood.across_mpa(), grain_deg, exponent),
            shear: wood.shear_mpa() * shear_ratio(wood.kind, grain_deg),
        }
    }

    fn over(self, factor: f64) -> Self {
        Self { along: self.along / factor, bending: self.bending / factor, shear: self.shear / factor }
    }
}

/// What bears on a bridge: greatest moment, N mm, and shear force, N, and its
/// thickness, mm.
struct Load {
    moment: f64,
    shear: f64,
    thickness: f64,
}

impl Load {
    /// Widths, mm, at which a bar of these strengths just stands it: bending out of
    /// plane, bending in plane, shear.
    fn widths(&self, board: Board) -> [f64; 3] {
        let thickness = self.thickness;
        [
            6.0 * self.moment / (board.bending * thickness * thickness),
            (6.0 * self.moment / (board.bending * thickness)).sqrt(),
            1.5 * self.shear / (board.shear * thickness),
        ]
    }
}

/// Shear strength at an angle to the grain over that along it: falling to rolling
/// shear across it with the square of the sine (assumption). Plywood has plies
/// both ways and is taken at its worst in every direction.
fn shear_ratio(kind: WoodKind, grain_deg: f64) -> f64 {
    let sin = libm::sin(folded(grain_deg).to_radians());
    let lost = match kind {
        WoodKind::Solid => sin * sin,
        WoodKind::Plywood => 1.0,
    };
    1.0 - (1.0 - ROLLING_SHEAR) * lost
}

/// The least width practice holds worth sawing.
#[must_use]
pub fn floor_width(kind: WoodKind, span: &Span) -> Mm {
    let short = short_floor(kind, span.grain_deg);
    let long = by_angle(kind, LONG_FLOOR_ALONG, LONG_FLOOR_ACROSS, span.grain_deg);
    let part = (span.free_length / SHORT - 1.0).clamp(0.0, 1.0);
    (short + (long - short) * part) * thin_factor(span.thickness)
}

fn short_floor(kind: WoodKind, grain_deg: f64) -> Mm {
    by_angle(kind, FLOOR_ALONG, FLOOR_ACROSS, grain_deg)
}

/// The floor at an angle to the grain, from the two figures of practice.
///
/// Derived: a bar's width against a push in the panel's plane goes with the
/// inverse root of its strength. Strengths that ask for the two widths of
/// practice, joined by Hankinson's formula with its nominal exponent 2, give
/// `b² = along²·cos²θ + across²·sin²θ`.
fn by_angle(kind: WoodKind, along: Mm, across: Mm, grain_deg: f64) -> Mm {
    let across = match kind {
        WoodKind::Solid => across,
        WoodKind::Plywood => along * PLYWOOD_FLOOR_ACROSS,
    };
    let (sin, cos) = libm::sincos(folded(grain_deg).to_radians());
    let (a, b) = (along.get() * cos, across.get() * sin);
    Mm::new((a * a + b * b).sqrt())
}

/// What the floor is multiplied by in thin stock: the root of 1/2 in over the
/// thickness, from 1 to 1.5. Assumption: practice speaks of 1/2 to 3/4 in only.
#[must_use]
pub fn thin_factor(thickness: Mm) -> f64 {
    (THICK_ENOUGH_MM / thickness.get().max(THINNEST_MM)).sqrt().clamp(1.0, MOST_THIN_FACTOR)
}

/// Free length, or the lever, plus one short floor width: the wood a bridge is rooted in gives
/// a little, about half a width at each end, and a neck narrow at one point
/// only still has that length. Assumption, after the rule that end effects in
/// a bar die away within its own width.
fn reckoned_length(kind: WoodKind, span: &Span) -> Mm {
    span.free_length.max(span.reach).max(Mm::ZERO) + short_floor(kind, span.grain_deg)
}

/// The push, newtons, that brings a bar of the given section and length to
/// `strength_mpa` in bending out of the panel's plane: `σ·b·T²/(6·m·L)` with
/// `m` = 1 held at one end, 1/8 held at both. Infinite at length zero.
#[must_use]
pub fn breaking_push_n(strength_mpa: f64, width: Mm, thickness: Mm, length: Mm, hold: Hold) -> f64 {
    strength_mpa * width.get() * thickness.get() * thickness.get() / (6.0 * hold.moment() * length.get().max(0.0))
}

#[cfg(test)]
mod tests;
