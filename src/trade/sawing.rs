//! How long sawing takes.
//!
//! There is no published feed rate for a scroll saw, so everything here is an
//! assumption to start from: time one face of your own and set your own figures.
//!
//! The feed is given for 3/4 in pine and an ordinary #5 to #7 blade. From it:
//!
//! * it falls with thickness, `feed ∝ 1/T` (practice has 1/2 in about 1.5 times
//!   as fast as 3/4 in, which is that law exactly), up to [`THIN_LIMIT`] times,
//!   where the hand and not the blade sets the pace;
//! * it falls with density, `feed ∝ G^-0.8` (practice has cedar about 1.2 times
//!   as fast as pine: derived from `(0.40/0.32)^0.8 = 1.195`);
//! * a finer blade is slower, `feed ∝ (12.5 / teeth per inch)^0.5` (assumption),
//!   and a spiral blade runs at 0.8 (assumption).

use serde::Serialize;

use super::blades::{Blade, BladeKind};
use super::woods::Wood;
use crate::units::Mm;

/// Thickness the feed is given for: 3/4 in.
const REFERENCE_THICKNESS: Mm = Mm::from_inches(0.75);
/// Specific gravity the feed is given for: ponderosa pine, Wood Handbook Table
/// 5-3b (second-hand copy), taken for the "pine" of practice.
const REFERENCE_GRAVITY: f64 = 0.40;
/// See the module's text.
const DENSITY_EXPONENT: f64 = 0.8;
/// Teeth per inch the feed is given for: #5.
const REFERENCE_TEETH: f64 = 12.5;
/// Pace of a spiral blade over a flat one: assumption.
const SPIRAL_PACE: f64 = 0.8;
/// Most that thin stock speeds the feed over that in 3/4 in: assumption.
pub const THIN_LIMIT: f64 = 3.0;
/// Slowest feed reckoned with, mm a minute, so that a nonsense wood or
/// thickness gives a long time and not an endless one.
const SLOWEST: f64 = 1.0;

/// How the shop works; every figure is the shop's to set.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Pace {
    /// Line sawn in a minute in 3/4 in pine. The default 4 in is for a face,
    /// detail and easy curves mixed: common practice, no source, has 2 to 5 in
    /// a minute on detail and 6 to 10 on easy curves.
    pub feed: Mm,
    /// Minutes to drill one entry hole: 0.25; common practice, no source, 10 to 20 s.
    pub drill: f64,
    /// Minutes to thread, clamp, tension and free the blade once: 1.2; common
    /// practice, no source, 40 to 90 s to thread and 15 to 20 s to free.
    pub thread: f64,
    /// Minutes to get round one corner: 0.15; common practice, no source, 5 to 15 s.
    pub corner: f64,
}

impl Default for Pace {
    fn default() -> Self {
        Self { feed: Mm::from_inches(4.0), drill: 0.25, thread: 1.2, corner: 0.15 }
    }
}

impl Pace {
    /// Line sawn in a minute in `wood` of this thickness (of the whole stack,
    /// when several panels are sawn at once) with `blade`.
    #[must_use]
    pub fn feed_in(&self, wood: &Wood, thickness: Mm, blade: &Blade) -> Mm {
        let thick = (REFERENCE_THICKNESS / thickness.max(Mm::new(0.1))).min(THIN_LIMIT);
        let dense = libm::pow(REFERENCE_GRAVITY / wood.specific_gravity.max(0.01), DENSITY_EXPONENT);
        let feed = self.feed * thick * dense * pace_of(blade);
        feed.max(Mm::new(SLOWEST))
    }
}

fn pace_of(blade: &Blade) -> f64 {
    match (blade.kind, blade.teeth_per_inch) {
        (BladeKind::Spiral, _) => SPIRAL_PACE,
        (BladeKind::Flat, Some(teeth)) if teeth > 0.0 => (REFERENCE_TEETH / teeth).sqrt(),
        (BladeKind::Flat, _) => 1.0,
    }
}

/// What there is to saw.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Work {
    /// Length of line.
    pub length: Mm,
    /// Entry holes, each drilled and threaded once.
    pub holes: u32,
    /// Corners and turns that need more than steering.
    pub corners: u32,
}

impl Work {
    /// How long it takes at `feed` (from [`Pace::feed_in`]), minutes.
    #[must_use]
    pub fn minutes(&self, pace: &Pace, feed: Mm) -> Minutes {
        Minutes {
            drilling: f64::from(self.holes) * pace.drill,
            threading: f64::from(self.holes) * pace.thread,
            sawing: self.length.max(Mm::ZERO) / feed.max(Mm::new(SLOWEST)),
            corners: f64::from(self.corners) * pace.corner,
        }
    }
}

/// Minutes at the drill and the saw, by what they go into.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Minutes {
    /// Drilling entry holes.
    pub drilling: f64,
    /// Threading and freeing the blade.
    pub threading: f64,
    /// Following the line.
    pub sawing: f64,
    /// Getting round corners.
    pub corners: f64,
}

impl Minutes {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.drilling + self.threading + self.sawing + self.corners
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::{blades, woods};

    fn feed_inches(wood: &str, thickness_in: f64, blade: &str) -> f64 {
        let (wood, blade) = (woods::find(wood).unwrap(), blades::find(blade).unwrap());
        Pace::default().feed_in(wood, Mm::from_inches(thickness_in), &blade).inches()
    }

    #[test]
    fn feeds_agree_with_the_ratios_of_practice() {
        let pine = feed_inches("ponderosa-pine", 0.75, "flat-5");
        assert!((pine - 4.0).abs() < 1e-9, "the reference itself: {pine}");
        // Practice: 1/2 in about 1.5 times 3/4 in, cedar about 1.2 times pine.
        assert!((feed_inches("ponderosa-pine", 0.5, "flat-5") / pine - 1.5).abs() < 1e-9, "half-inch stock");
        assert!((feed_inches("western-redcedar", 0.75, "flat-5") / pine - 1.2).abs() < 0.01, "cedar");
        // Practice: 2 to 10 in a minute covers detail to easy curves with #5 to #7.
        for blade in ["flat-5", "flat-6", "flat-7"] {
            assert!((2.0..10.0).contains(&feed_inches("western-redcedar", 0.625, blade)), "{blade}");
        }
    }

    #[test]
    fn a_hand_worked_face_adds_up() {
        // 60 in of line at 4 in a minute, 5 holes at 0.25 + 1.2, 20 corners at 0.15.
        let work = Work { length: Mm::from_inches(60.0), holes: 5, corners: 20 };
        let minutes = work.minutes(&Pace::default(), Mm::from_inches(4.0));
        assert!((minutes.sawing - 15.0).abs() < 1e-9, "sawing");
        assert!((minutes.total() - (15.0 + 7.25 + 3.0)).abs() < 1e-9, "all of it");
    }

    #[test]
    fn slower_things_are_slower() {
        let cedar = |thickness, blade| feed_inches("western-redcedar", thickness, blade);
        assert!(cedar(1.25, "flat-5") < cedar(0.625, "flat-5"), "a stack of two");
        assert!(cedar(0.625, "flat-2/0") < cedar(0.625, "flat-5"), "a fine blade");
        assert!(cedar(0.625, "spiral-2") < cedar(0.625, "flat-5"), "a spiral blade");
        assert!(feed_inches("yellow-birch", 0.625, "flat-5") < cedar(0.625, "flat-5"), "a hard wood");
        assert!((cedar(0.05, "flat-5") - cedar(0.1, "flat-5")).abs() < 1e-9, "thin stock is capped");
        assert!(cedar(f64::MAX, "flat-5") > 0.0, "never endless");
    }
}
