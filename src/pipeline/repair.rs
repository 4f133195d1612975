//! A face checked, mended and checked again.

use super::{Laid, check_options, entry_options, judge};
use crate::check;
use crate::mend::{self, Built, Hand, Mended, Ruling};
use crate::outcome::Outcome;
use crate::settings::Settings;

/// What the maker wishes of the mending, places in panel millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wishes {
    /// Edits refused, and widths asked for.
    pub rulings: Vec<Ruling>,
    /// Bridges placed by hand, built before anything is mended.
    pub hands: Vec<Hand>,
}

/// A face before and after mending.
#[derive(Clone, Debug)]
pub struct Repaired {
    /// The face as drawn, checked.
    pub before: Outcome,
    /// The face mended, checked.
    pub after: Outcome,
    /// The edits.
    pub mended: Mended,
    /// The bridges placed by hand, as built.
    pub built: Vec<Built>,
}

/// Checks a laid face, mends it as wished, and checks the result.
#[must_use]
pub fn repair(laid: Laid, settings: &Settings, wishes: &Wishes) -> Repaired {
    let rulings = wishes.rulings.clone();
    let entry = Some(entry_options(settings));
    let options = mend::Options { rulings, ..mend::Options::new(check_options(settings), entry) };
    let before = judge(laid.clone(), settings);
    let (face, built) = mend::by_hand(&laid.face, &wishes.hands, &options);
    let mended = if built.is_empty() {
        mend::mend(&face, &before.checks, &options)
    } else {
        mend::mend(&face, &check::run(&face, &options.checks), &options)
    };
    let after = judge(Laid { face: mended.face.clone(), ..laid }, settings);
    Repaired { before, after, mended, built }
}
