//! What the checks are told about the shop.

use crate::trade::blades::{self, Blade};
use crate::trade::strength::Limit;
use crate::trade::woods::{self, Wood};
use crate::units::{Mm, Unit};

/// Wood, blade and limits to check against.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The wood of the panel.
    pub wood: Wood,
    /// How wide a bridge must be: the derived rule, or one fixed width.
    pub bridge: Limit,
    /// The blade in the saw.
    pub blade: Blade,
    /// Every blade of the shop, to name those that would do.
    pub drawer: Vec<Blade>,
    /// The smallest drill of the shop, for holes in corners.
    pub smallest_drill: Option<Mm>,
    /// How far the sawn line may leave the drawn one in a turn.
    pub line_tolerance: Mm,
    /// From the blade to the back of the saw's arm.
    pub throat: Mm,
    /// The unit people read.
    pub unit: Unit,
}

/// Line tolerance when nothing is said: a quarter of a millimetre, half the
/// width of a pencil line (common practice, no source).
pub const LINE_TOLERANCE: Mm = Mm::new(0.25);
/// Throat of a common bench scroll saw, 16 in (common practice, no source).
pub const THROAT: Mm = Mm::from_inches(16.0);

impl Default for Options {
    fn default() -> Self {
        let find = |name: &str| blades::all().into_iter().find(|blade| blade.name == name);
        let blade = find(blades::DEFAULT).unwrap_or_else(|| blades::all().swap_remove(0));
        Self {
            wood: woods::all()[0].clone(),
            bridge: Limit::default(),
            blade,
            drawer: blades::default_drawer(),
            smallest_drill: Some(Mm::new(1.0)),
            line_tolerance: LINE_TOLERANCE,
            throat: THROAT,
            unit: Unit::Mm,
        }
    }
}
