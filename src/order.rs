//! The order of sawing, and how long it takes.
//!
//! Small and central cut-outs first, while the panel is stiff; those that leave
//! the weakest bridges last (common practice, no source).

use kurbo::Point;

use crate::check::{Bank, Bridge, Checks};
use crate::diag::Severity;
use crate::entry::EntryHole;
use crate::face::{CutOut, Face};
use crate::trade::sawing::{Pace, Work};
use crate::units::Mm;

/// One cut-out in its turn.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// The cut-out, by number: of a judged face its place in the order.
    pub cutout: u32,
    /// Length of line to saw, mm.
    pub length: f64,
    /// Minutes for drilling, threading, sawing and corners.
    pub minutes: f64,
    /// Why it stands here: `small and central`, `leaves bridge 2 weak` …
    pub why: String,
}

/// The whole order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Order {
    /// The steps, first to last.
    pub steps: Vec<Step>,
    /// Total length to saw, mm.
    pub length: f64,
    /// Total minutes at the saw and drill.
    pub minutes: f64,
}

/// Accuracy of the lengths, mm: far under what a minute of sawing shows.
const LENGTH_ACCURACY: f64 = 0.01;

/// Orders the cut-outs of `face` and times them at the shop's `pace` and the
/// `feed` it makes in this wood.
#[must_use]
pub fn order(face: &Face, checks: &Checks, holes: &[EntryHole], pace: &Pace, feed: Mm) -> Order {
    let mut order = Order::default();
    for (rank, cutout) in ranked(face, checks) {
        let length = cutout.piece.length(LENGTH_ACCURACY);
        let minutes = work(cutout.id, length, checks, holes).minutes(pace, feed).total();
        order.length += length;
        order.minutes += minutes;
        order.steps.push(Step { cutout: cutout.id, length, minutes, why: rank.why });
    }
    order
}

/// The cut-outs of `face`, by number, in the order of sawing.
#[must_use]
pub fn sequence(face: &Face, checks: &Checks) -> Vec<u32> {
    ranked(face, checks).into_iter().map(|(_, cutout)| cutout.id).collect()
}

/// The cut-outs in their order, each with what puts it there.
fn ranked<'a>(face: &'a Face, checks: &Checks) -> Vec<(Rank, &'a CutOut)> {
    let areas = face.cutouts.iter().map(|cutout| cutout.piece.area());
    let largest = areas.fold(0.0, f64::max);
    let mut ranked: Vec<(Rank, &CutOut)> = face.cutouts.iter().map(|c| (rank(c, largest, face, checks), c)).collect();
    ranked.sort_by(|(a, x), (b, y)| a.key().total_cmp(&b.key()).then(x.id.cmp(&y.id)));
    ranked
}

struct Rank {
    /// Width of the weakest bridge it leaves against what is needed; `None`
    /// when it leaves none weak.
    weakest: Option<f64>,
    /// Size and distance from the middle, each `0.0..=1.0`, added.
    size_and_place: f64,
    why: String,
}

impl Rank {
    /// Sound cut-outs first by size and place, then weak ones, weakest last.
    fn key(&self) -> f64 {
        self.weakest.map_or(self.size_and_place, |ratio| 10.0 - ratio.min(1.0))
    }
}

fn rank(cutout: &CutOut, largest: f64, face: &Face, checks: &Checks) -> Rank {
    let size = (cutout.piece.area() / largest.max(1e-9)).clamp(0.0, 1.0).sqrt();
    let place = cutout.piece.bounds().center().distance(middle(face)) / half_diagonal(face);
    let weakest = weakest(cutout.id, &checks.bridges);
    let why = match weakest {
        Some(bridge) => format!("leaves bridge {} weak, so late", bridge.id),
        None => match (size < 0.5, place < 0.5) {
            (true, true) => "small and central",
            (true, false) => "small",
            (false, true) => "large but central",
            (false, false) => "large and outer",
        }
        .to_owned(),
    };
    Rank { weakest: weakest.map(|b| b.width / b.needed.max(1e-9)), size_and_place: size + place, why }
}

fn middle(face: &Face) -> Point {
    let all = face.cutouts.iter().map(|c| c.piece.bounds()).reduce(|a, b| a.union(b));
    all.map_or(face.panel.center(), |bounds| bounds.center())
}

fn half_diagonal(face: &Face) -> f64 {
    let panel = face.panel.rect();
    (panel.size().to_vec2().hypot() / 2.0).max(1e-9)
}

/// A bridge narrower than this share of what it needs decides the order; ours:
/// nearer to sound, size and place matter more.
const WEAK: f64 = 0.8;

/// The weakest bridge that the cut-out borders, if one is weak enough to matter.
fn weakest(cutout: u32, bridges: &[Bridge]) -> Option<&Bridge> {
    let borders = |b: &&Bridge| {
        b.severity >= Severity::Care && b.width < WEAK * b.needed && b.between.contains(&Bank::CutOut(cutout))
    };
    bridges.iter().filter(borders).min_by(|a, b| (a.width / a.needed).total_cmp(&(b.width / b.needed)))
}

fn work(cutout: u32, length: f64, checks: &Checks, holes: &[EntryHole]) -> Work {
    let starts = holes.iter().filter(|hole| hole.cutout == cutout).count() as u32;
    let corners = checks.turns.iter().filter(|turn| turn.cutout == cutout).count() as u32;
    Work { length: Mm::new(length), holes: starts, corners }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::{Clearances, Fit, Panel, number_cutouts};
    use crate::geom::boolean::{Rule, resolve};
    use kurbo::BezPath;

    fn face() -> Face {
        // A big square low, a small one in the middle, a small one high.
        let path = BezPath::from_svg("M20 20h60v60h-60z M45 100h10v10h-10z M45 180h10v10h-10z").unwrap();
        let region = resolve(&path, Rule::NonZero);
        let panel = Panel { width: Mm::new(100.0), height: Mm::new(200.0), thickness: Mm::new(16.0), grain_deg: 90.0 };
        let cutouts = number_cutouts(region.pieces.into_iter().map(|p| (p, None)).collect());
        let fit = Fit { width_mm: 60.0, height_mm: 170.0, left_mm: 20.0, bottom_mm: 20.0, ..Fit::AS_DRAWN };
        Face { panel, clear: Clearances::all(Mm::new(10.0)), cutouts, fit }
    }

    fn bridge(cutout: u32) -> Bridge {
        Bridge {
            id: 1,
            width: 2.0,
            feet: [Point::ZERO; 2],
            between: [Bank::CutOut(cutout), Bank::Edge],
            grain_deg: 0.0,
            stretch: 1.0,
            free_length: 1.0,
            needed: 4.0,
            stop_width: 2.4,
            derivation: Vec::new(),
            loose_area: 0.0,
            tip: None,
            severity: Severity::Care,
        }
    }

    fn pace() -> (Pace, Mm) {
        (Pace { feed: Mm::new(100.0), drill: 0.25, thread: 1.0, corner: 0.1 }, Mm::new(100.0))
    }

    #[test]
    fn small_and_central_come_first_and_weak_ones_last() {
        let face = face();
        let plain = order(&face, &Checks::default(), &[], &pace().0, pace().1);
        let turns: Vec<u32> = plain.steps.iter().map(|s| s.cutout).collect();
        assert_eq!(turns, [2, 1, 3], "middle, top, big (numbered from the top)");
        let checks = Checks { bridges: vec![bridge(2)], ..Checks::default() };
        let weak = order(&face, &checks, &[], &pace().0, pace().1);
        assert_eq!(weak.steps.last().unwrap().cutout, 2, "the weak one is last");
        assert!(weak.steps.last().unwrap().why.contains("bridge 1"), "and says why");
    }

    #[test]
    fn times_add_up() {
        let face = face();
        let hole = EntryHole { id: 1, cutout: 2, at: Point::ZERO, diameter: 1.6, drill: "1.6 mm".to_owned() };
        let timed = order(&face, &Checks::default(), &[hole], &pace().0, pace().1);
        assert!((timed.length - 320.0).abs() < 0.1, "240 + 40 + 40 mm, got {}", timed.length);
        assert!((timed.minutes - (3.2 + 1.25)).abs() < 0.01, "sawing and one start, got {}", timed.minutes);
    }
}
