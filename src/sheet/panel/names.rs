//! Names beside the signs, flags and leaders.

use kurbo::Point;

use super::{MOST_SIGNS, Pen, Shown};
use crate::diag::{FindingKind, Severity};
use crate::entry::EntryHole;
use crate::font::{self, Weight};
use crate::outcome::Outcome;
use crate::sheet::picture::short_name;
use crate::sheet::place::{self, Spot};
use crate::sheet::{Layer, Mark, Text, apart, style, symbols};

/// Type size of names beside signs, mm.
pub(super) const NAME: f64 = style::SMALL;

/// A sign to be named: its layer, middle, half-width and how bad it is.
#[derive(Clone, Copy)]
struct Sign {
    layer: Layer,
    at: Point,
    gap: f64,
    severity: Severity,
}

impl Pen<'_> {
    pub(super) fn names(&mut self) {
        for island in self.outcome.checks.islands.iter().take(MOST_SIGNS) {
            let name = format!("I{}", island.id);
            if let Some(spot) = self.on_or_beside(island.at, symbols::island_size(&name)) {
                self.leader(Layer::Islands, &spot, false);
                self.over.extend(symbols::island(spot.rect.center(), &name));
                self.shown.insert(Shown::Island);
            }
        }
        let shared = shared_drill(self.outcome).is_some();
        for hole in &self.outcome.holes {
            let mut parts = vec![(format!("h{}", hole.id), Weight::Bold)];
            if !shared {
                parts.push((hole.drill.clone(), Weight::Regular));
            }
            self.hole_name(hole, &parts);
        }
        for bridge in self.outcome.checks.bridges.iter().take(MOST_SIGNS) {
            let name = format!("B{}", bridge.id);
            let name = self.told.contains(&name).then_some((name, Weight::Bold));
            let parts = name.into_iter().chain([(format!("{:.1}", bridge.width), Weight::Regular)]);
            let middle = bridge.feet[0].midpoint(bridge.feet[1]);
            let sign = Sign { layer: Layer::WeakSpots, at: middle, gap: 1.6, severity: bridge.severity };
            self.name(sign, &parts.collect::<Vec<_>>());
        }
        for slot in self.outcome.checks.slots.iter().take(MOST_SIGNS) {
            let sign = Sign { layer: Layer::Turns, at: slot.at, gap: 1.8, severity: slot.severity };
            self.told_name(sign, format!("S{}", slot.id));
        }
    }

    /// A box on the point itself when that covers nothing, beside it and joined to it
    /// otherwise.
    fn on_or_beside(&mut self, at: Point, size: (f64, f64)) -> Option<Spot> {
        match self.placer.first_clear([at], size) {
            Some(rect) => Some(Spot::free(rect)),
            None => {
                let spot = self.placer.beside(at, size, 1.0, |_| 0.0)?;
                Some(Spot { leader: Some((at, apart::foot(at, spot.rect))), ..spot })
            }
        }
    }

    /// A hole's name, off the waste of other cut-outs; a leader joins them where
    /// another hole is nearer.
    fn hole_name(&mut self, hole: &EntryHole, parts: &[(String, Weight)]) {
        let (size, gap) = (name_size(parts), hole.diameter / 2.0 + 1.4);
        let openings = &self.openings;
        let Some(mut spot) =
            self.placer.beside_alone(hole.at, size, gap, place::WORTH.0, |rect| openings.cost(hole.cutout, rect))
        else {
            return;
        };
        let away = |p: Point| apart::foot(p, spot.rect).distance(p);
        let nearest = |other: &EntryHole| away(other.at) < away(hole.at) + 0.5;
        if self.outcome.holes.iter().any(|other| other.id != hole.id && nearest(other)) {
            spot.leader = spot.leader.or(Some((hole.at, apart::foot(hole.at, spot.rect))));
        }
        self.named(Layer::EntryHoles, &spot, parts);
    }

    /// A name of a few words beside a sign, on a plate; left out where it could only
    /// lie on another or far off. The bench sheet has every name that is drawn, and
    /// every place it names.
    fn name(&mut self, sign: Sign, parts: &[(String, Weight)]) {
        let Sign { layer, at, gap, severity } = sign;
        let worth = if severity == Severity::Stop { place::WORTH.1 } else { place::WORTH.0 };
        if let Some(spot) = self.placer.beside_alone(at, name_size(parts), gap, worth, |_| 0.0) {
            self.named(layer, &spot, parts);
        }
    }

    /// The name of a sign, if it is told.
    fn told_name(&mut self, sign: Sign, name: String) {
        if self.told.contains(&name) {
            self.name(sign, &[(name, Weight::Bold)]);
        }
    }

    fn named(&mut self, layer: Layer, spot: &Spot, parts: &[(String, Weight)]) {
        self.leader(layer, spot, true);
        self.plates.push(symbols::plate(spot.rect));
        let mut x = spot.rect.x0 + 0.35;
        for (text, weight) in parts {
            let shown = Text { weight: *weight, ..Text::new(text, (x, spot.rect.y0 + 0.45), NAME) };
            self.over.push(Mark::new(layer, shown));
            x += part_width(text, *weight) + SPACE;
        }
    }

    /// Names of turns: of each group the one it is told by.
    pub(super) fn turn_names(&mut self) {
        for (turn, sign) in self.outcome.checks.turns.iter().zip(self.turn_signs.clone()) {
            if let Some(at) = sign {
                let sign = Sign { layer: Layer::Turns, at, gap: 1.5, severity: turn.severity };
                self.told_name(sign, format!("T{}", turn.id));
            }
        }
    }

    /// Where a hole has no room and where the face reaches too far, by name.
    pub(super) fn flags(&mut self) {
        let panel = self.outcome.face.panel.rect();
        for finding in self.outcome.findings.iter().take(MOST_SIGNS) {
            let (shown, layer) = match finding.kind {
                FindingKind::NoEntry => (Shown::NoEntry, Layer::EntryHoles),
                FindingKind::OverClearance => (Shown::Over, Layer::NailZones),
                _ => continue,
            };
            let Some(at) = finding.at else { continue };
            let at = Point::new(at.x.clamp(panel.x0, panel.x1), at.y.clamp(panel.y0, panel.y1));
            let name = short_name(finding);
            if let Some(spot) = self.on_or_beside(at, symbols::flag_size(&name)) {
                self.leader(layer, &spot, false);
                self.over.extend(symbols::flag(spot.rect, layer, &name, finding.severity));
                self.shown.insert(shown);
            }
        }
    }

    /// The leader of a name to a `sign`, or to a place that has none.
    fn leader(&mut self, layer: Layer, spot: &Spot, sign: bool) {
        if let Some((from, to)) = spot.leader {
            self.leaders.extend(symbols::leader(layer, from, to, sign));
            self.placer.leader(from, to);
        }
    }
}

/// The one drill of all holes, if there is one.
pub(super) fn shared_drill(outcome: &Outcome) -> Option<String> {
    let first = outcome.holes.first()?;
    outcome.holes.iter().all(|hole| hole.drill == first.drill).then(|| first.drill.clone())
}

/// Space between the words of a name, mm.
const SPACE: f64 = NAME * 0.28;

fn part_width(text: &str, weight: Weight) -> f64 {
    font::width(&font::printable(text), NAME, weight)
}

/// Size of a name's plate, mm.
fn name_size(parts: &[(String, Weight)]) -> (f64, f64) {
    let words: f64 = parts.iter().map(|(text, weight)| part_width(text, *weight)).sum();
    (words + SPACE * (parts.len() - 1) as f64 + 0.7, NAME * font::CAP_HEIGHT + 0.9)
}
