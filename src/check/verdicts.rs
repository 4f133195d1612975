//! Which blades of the drawer do this face.

use super::options::Options;
use super::slots::Narrow;
use super::technique::technique;
use super::turns::Found;
use super::{BladeVerdict, TurnKind};
use crate::diag::Severity;
use crate::trade::blades::{Blade, BladeKind, usual_for};
use crate::units::Mm;

/// Every blade of the drawer, best first: those that do the whole face before
/// those that do not, then flat before spiral (a cleaner edge), then fewer
/// curves it cannot follow, then the blades usual for the thickness, then the
/// widest (it wanders least). Corners do not count in the ranking: no blade
/// turns one, and the way round is the same for all.
pub(crate) fn verdicts(turns: &[Found], narrow: &[Narrow], thickness: Mm, options: &Options) -> Vec<BladeVerdict> {
    let usual = usual_for(thickness);
    let mut judged: Vec<(Rank, BladeVerdict)> = options
        .drawer
        .iter()
        .map(|blade| {
            let verdict = verdict(blade, turns, narrow, options);
            let curves = turns.iter().filter(|t| t.kind == TurnKind::Curve && t.is_too_tight_for(blade)).count();
            let rank = Rank {
                fails: !verdict.does_it,
                spiral: blade.kind == BladeKind::Spiral,
                slots: verdict.narrow_slots,
                curves,
                unusual: !usual.contains(&blade.name.as_str()),
                width: -blade.width.get(),
            };
            (rank, verdict)
        })
        .collect();
    judged
        .sort_by(|(a, x), (b, y)| a.key().cmp(&b.key()).then(a.width.total_cmp(&b.width)).then(x.blade.cmp(&y.blade)));
    judged.into_iter().map(|(_, verdict)| verdict).collect()
}

struct Rank {
    fails: bool,
    spiral: bool,
    slots: u32,
    curves: usize,
    unusual: bool,
    /// Negative, so that the widest comes first.
    width: f64,
}

impl Rank {
    const fn key(&self) -> (bool, bool, u32, usize, bool) {
        (self.fails, self.spiral, self.slots, self.curves, self.unusual)
    }
}

fn verdict(blade: &Blade, turns: &[Found], narrow: &[Narrow], options: &Options) -> BladeVerdict {
    let kerf = blade.kerf.get();
    let tight = || turns.iter().filter(|turn| turn.is_too_tight_for(blade));
    let slots = || narrow.iter().filter(|n| n.width < kerf);
    let stops = tight().any(|turn| technique(turn, blade, options).1 == Severity::Stop);
    let stuck = slots().any(|n| (kerf - n.width) / 2.0 > options.line_tolerance.get());
    BladeVerdict {
        blade: blade.name.clone(),
        tight_turns: tight().count() as u32,
        narrow_slots: slots().count() as u32,
        does_it: !stops && !stuck,
    }
}
