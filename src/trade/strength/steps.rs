//! The derivation of a needed width in words.

use super::{Governor, Hold, Needed, STOP_RATIO, folded};
use crate::units::{Mm, Unit};

impl Needed {
    /// Available width over needed width.
    #[must_use]
    pub fn ratio(&self, available: Mm) -> f64 {
        available / self.width
    }

    /// How the width came about, one sentence a step, with figures.
    #[must_use]
    pub fn steps(&self, unit: Unit) -> Vec<String> {
        let angle = folded(self.span.grain_deg);
        let mut steps = vec![self.strength_step(angle), self.push_step(unit)];
        let floor = self.floor.both_at_least(unit);
        steps.push(format!("common practice at {angle:.0}° to the grain and this length: at least {floor}"));
        let width = self.width.both_at_least(unit);
        steps.push(format!("needed: {width}, set by {}", self.governed_by.words()));
        if self.governed_by != Governor::Fixed && self.stop_width() > self.width * STOP_RATIO {
            let breaking = self.stop_width().text_at_least(unit);
            steps.push(format!("narrower than {breaking}, an average board breaks under that push"));
        }
        if self.capped {
            steps.push("the push asks for more still: shorten the bridge, turn it along the grain or hold its other end; widening is not the cure".to_owned());
        }
        steps
    }

    /// A bridge narrower than this stops the work: the push breaks an average board
    /// there, or it is under [`STOP_RATIO`] of the needed width. Under a limit the
    /// maker set the push is not asked.
    #[must_use]
    pub fn stop_width(&self) -> Mm {
        let least = self.width * STOP_RATIO;
        match self.governed_by {
            Governor::Fixed => least,
            _ => least.max(self.breaking.min(self.width)),
        }
    }

    fn strength_step(&self, angle: f64) -> String {
        let [along, across] = self.means_mpa;
        format!(
            "{}: {along:.1} MPa along the grain, {across:.1} across (means); one piece in twenty is weaker than \
             {:.1} MPa at {angle:.0}° (Hankinson, n = {}; {:.0} % of that along); over {} for a hand push: {:.1} MPa",
            self.wood,
            self.strength_mpa,
            self.demand.exponent,
            self.grain_ratio * 100.0,
            self.demand.factor,
            self.allowable_mpa
        )
    }

    fn push_step(&self, unit: Unit) -> String {
        let held = match self.span.hold {
            Hold::BothEnds => "held at both ends, pushed in the middle",
            Hold::OneEnd => "held at one end, pushed at the other",
        };
        let reach = self.span.reach;
        let lever = if reach > self.span.free_length {
            format!("{} to the far end of what hangs on it", reach.text(unit))
        } else {
            format!("{} free", self.span.free_length.text(unit))
        };
        let [out, within, shear] = self.push.map(|width| width.text_at_least(unit));
        format!(
            "{:.0} N over {} ({lever} and its roots), {held}: bending out of the panel needs {out}, in its plane \
             {within}, shear {shear}",
            self.demand.push_n,
            self.reckoned_length.text(unit)
        )
    }
}
