//! Weak bridges widened, and points of contact made into bridges or opened.

use kurbo::{Point, Vec2};

use super::candidates::Span;
use super::lean::{Bite, Spoils};
use super::march::{March, Stop, both_ways, through_contact};
use super::prop::LARGEST_LOST;
use super::sweep::{Knot, sweep};
use super::wood::FLAT;
use super::work::{Draft, Work};
use super::{Aim, Change, Contacts, EditKind};
use crate::check::{Bridge, LONGEST, ROOT, TOUCH};
use crate::geom::Piece;
use crate::trade::strength::Hold;
use crate::units::Mm;

/// A strip so many times as wide somewhere as at its neck is told with both widths. Ours.
const SEEN_WIDER: f64 = 1.05;

/// Rounds of width and free length, each of which depends on the other.
const SETTLE: u32 = 5;

/// The edit that widens `bridge`, or opens it where openings touch; `None` when
/// it was refused or the wood cannot be followed.
pub(super) fn draft(work: &Work<'_>, bridge: &Bridge, bar: &Bar, finding: Option<String>) -> Draft {
    let unit = work.options.checks.unit;
    let hangs =
        if bridge.loose_area > 0.0 { format!(", {:.0} mm² hang on it", bridge.loose_area) } else { String::new() };
    let at_neck = bar.width_at(middle(bridge));
    let (now, from) = (Mm::new(at_neck), Mm::new(bridge.width));
    let (length, grain) = (Mm::new(bar.length()), bridge.grain_deg);
    let most = if bar.width > SEEN_WIDER * at_neck {
        format!(" and up to {:.2} beside it", Mm::new(bar.width))
    } else {
        String::new()
    };
    let shape = sweep(&bar.knots);
    let spoils = spoils(&bar.bites);
    let why = if bridge.width < TOUCH {
        format!(
            "openings that touch are parted by a bridge {} wide, {grain:.0}° to the grain{hangs}{spoils}",
            now.text(unit)
        )
    } else {
        format!(
            "widened from {from:.2} to {now:.2} ({}){most} over {length:.1}, {grain:.0}° to the grain{hangs}{spoils}",
            now.fraction(32)
        )
    };
    Draft {
        kind: EditKind::Widen,
        finding,
        at: middle(bridge),
        change: Change::GiveBack(shape),
        width: Some(at_neck),
        length: Some(bar.length()),
        why,
        paired: false,
    }
}

/// Words for the openings a strip fills or parts; none are worth telling that are smaller
/// than what may be left out.
fn spoils(bites: &[Bite]) -> String {
    let word = |bite: &Bite| match bite.how {
        Spoils::Fills if bite.of > LARGEST_LOST => {
            Some(format!("; most of an opening of {:.0} mm² is filled", bite.of))
        }
        Spoils::Parts => Some("; an opening is parted in two".to_owned()),
        _ => None,
    };
    bites.iter().filter_map(word).collect()
}

/// The middle of the bridge's narrowest line.
pub(super) fn middle(bridge: &Bridge) -> Point {
    bridge.feet[0].midpoint(bridge.feet[1])
}

/// How a bridge is held as it stands.
pub(super) fn hold(bridge: &Bridge) -> Hold {
    if bridge.loose_area > 0.0 { Hold::OneEnd } else { Hold::BothEnds }
}

/// The wood along a bridge, and the strip that makes it wide enough.
#[derive(Clone, Debug)]
pub(super) struct Bar {
    /// Stops along the whole of it, from root to root.
    pub(super) stops: Vec<Stop>,
    /// Width needed at each, mm.
    pub(super) needs: Vec<f64>,
    /// The stop at the neck.
    pub(super) here: usize,
    /// The strip.
    pub(super) knots: Vec<Knot>,
    /// Wood between the strip and the outline it keeps off at the neck, mm.
    pub(super) inside: f64,
    /// Greatest width of the bar with the strip, mm.
    pub(super) width: f64,
    /// What the strip takes of each opening; not looked at while it is but drafted.
    pub(super) bites: Vec<Bite>,
    /// Wood the strip gives back, mm², roughly.
    pub(super) cost: f64,
}

impl Bar {
    /// Its width at `at`, mm: its shortest chord there, which on a bend is more than its
    /// knot says.
    fn width_at(&self, at: Point) -> f64 {
        let nearest = self.knots.iter().min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)));
        let shape = sweep(&self.knots);
        let rings: Vec<_> = shape.pieces.iter().flat_map(Piece::rings).map(|ring| ring.flatten(FLAT)).collect();
        let chord = |dir: Vec2| {
            let mut ends = [f64::INFINITY; 2];
            for (a, b) in rings.iter().flat_map(|ring| ring.edges()) {
                let (from, to) = (dir.cross(a - at), dir.cross(b - at));
                if (from > 0.0) != (to > 0.0) {
                    let far = (a.lerp(b, from / (from - to)) - at).dot(dir);
                    let end = &mut ends[usize::from(far > 0.0)];
                    *end = end.min(far.abs());
                }
            }
            ends[0] + ends[1]
        };
        let chords = (0..180).step_by(3).map(|deg| chord(Vec2::from_angle(f64::from(deg).to_radians())));
        chords.fold(self.width, f64::min).max(nearest.map_or(0.0, |knot| 2.0 * knot.1)) + self.inside
    }

    fn length(&self) -> f64 {
        self.knots.windows(2).map(|k| k[0].0.distance(k[1].0)).sum()
    }
}

/// Follows the wood of `bridge` and finds the width each place of it needs, held
/// as `hold` says. The width depends on the free length, which grows with the
/// width.
pub(super) fn bar(work: &Work<'_>, bridge: &Bridge, hold: Hold, asked: Option<f64>) -> Option<Bar> {
    let at = middle(bridge);
    let across = bridge.feet[1] - bridge.feet[0];
    let dir = if across.hypot() > TOUCH {
        Vec2::new(-across.y, across.x).normalize()
    } else {
        through_contact(at, |p| work.wood.contains(p))?
    };
    let as_held = hold == self::hold(bridge);
    let asked_here = work.asked(bridge);
    let least = if as_held { asked_here } else { bridge.width };
    let mut width = asked.unwrap_or(least);
    let (mut stops, mut needs) = (Vec::new(), Vec::new());
    for _ in 0..SETTLE {
        let march = March { most: ROOT * width, longest: LONGEST };
        stops = both_ways(&work.wood.grid, at, dir, &march);
        needs = match asked {
            Some(asked) => vec![asked; stops.len()],
            None => needs_of(work, &stops, hold, bridge.tip),
        };
        let most = match work.options.aim {
            Aim::Sound => needs.iter().copied().fold(least.min(width), f64::max),
            // Only what would fail is asked for: what is narrow farther on, where the
            // bar turns across the grain, is a bridge of its own if it would.
            Aim::Stops => needs[nearest(&stops, at)?].max(least.min(width)),
        };
        if most <= width + 1e-3 {
            break;
        }
        width = most;
    }
    let here = nearest(&stops, at)?;
    if as_held && asked.is_none() {
        // The check's own figure holds where it was taken.
        for (stop, need) in stops.iter().zip(&mut needs) {
            if stop.at.distance(at) < asked_here {
                *need = need.max(asked_here + work.margin());
            }
        }
    }
    Some(strip_of(work, stops, needs, here))
}

fn nearest(stops: &[Stop], at: Point) -> Option<usize> {
    (0..stops.len()).min_by(|&a, &b| stops[a].at.distance(at).total_cmp(&stops[b].at.distance(at)))
}

/// Wood that is missing along the stops, mm², roughly.
pub(super) fn shortfall(stops: &[Stop], needs: &[f64]) -> f64 {
    let step = |i: usize| stops[i].at.distance(stops[i + 1].at);
    let short = |i: usize| (needs[i] - stops[i].thickness).max(0.0);
    (0..stops.len().saturating_sub(1)).map(|i| f64::midpoint(short(i), short(i + 1)) * step(i)).sum()
}

/// The bar of these stops, as wide as `needs` says.
fn strip_of(work: &Work<'_>, stops: Vec<Stop>, needs: Vec<f64>, here: usize) -> Bar {
    let knots = knots(&stops, &needs, here, |stop, width| knot(work, stop, width));
    let width = knots.iter().map(|k| 2.0 * k.1).fold(0.0, f64::max);
    // A strip that runs out to a free end is round beyond it.
    let cap = |i: usize| {
        let free = stops[i].thickness < needs[i];
        if free { std::f64::consts::PI / 8.0 * needs[i] * needs[i] } else { 0.0 }
    };
    let ends = if stops.len() > 1 { cap(0) + cap(stops.len() - 1) } else { cap(0) };
    let cost = shortfall(&stops, &needs) + ends;
    Bar { stops, needs, here, knots, inside: 0.0, bites: Vec::new(), width, cost }
}

/// Width needed at each stop: the free length is that of the whole walk, the
/// angle to the grain its own, and so is the lever to the `far` end of what hangs on the
/// bar if one end alone is held. None reaches past the tip of a tongue.
pub(super) fn needs_of(work: &Work<'_>, stops: &[Stop], hold: Hold, far: Option<Point>) -> Vec<f64> {
    let free: f64 = stops.windows(2).map(|s| s[0].at.distance(s[1].at)).sum();
    let to_tip = to_tip(work, stops);
    let dir = |i: usize| {
        let (a, b) = (i.saturating_sub(3), (i + 3).min(stops.len() - 1));
        stops[b].at - stops[a].at
    };
    let need = |i: usize| {
        let dir = dir(i);
        let grain_deg = if dir.hypot() > 1e-9 { work.grain_deg(dir) } else { 90.0 };
        let reach = far.filter(|_| hold == Hold::OneEnd).map_or(0.0, |far| far.distance(stops[i].at));
        (work.asked_over(Span { length: free, grain_deg, hold, reach }) + work.margin()).min(2.0 * to_tip[i])
    };
    (0..stops.len()).map(need).collect()
}

/// A walk that ends at a tip stops this near to it, mm, or nearer: it looks 1.2
/// steps ahead (derived from the walk).
const MOST_AHEAD: f64 = 1.2 * super::march::LONGEST_STEP;

/// How far each stop is from the nearer end of the walk that is the wood's own
/// tip, mm; infinite where neither is.
fn to_tip(work: &Work<'_>, stops: &[Stop]) -> Vec<f64> {
    let step = |i: usize| stops[i].at.distance(stops[i + 1].at);
    let ahead = |end: usize, before: usize| {
        let dir = stops[end].at - stops[before].at;
        let cast = |dir: Vec2| work.wood.grid.cast(stops[end].at, dir.normalize(), MOST_AHEAD);
        let hit = if dir.hypot() > 1e-9 { cast(dir) } else { None };
        hit.map_or(f64::INFINITY, |hit| hit.distance)
    };
    let last = stops.len().saturating_sub(1);
    let mut to_tip = vec![f64::INFINITY; stops.len()];
    if last == 0 {
        return to_tip;
    }
    let (mut from_first, mut from_last) = (ahead(0, 1), ahead(last, last - 1));
    for i in 0..=last {
        to_tip[i] = to_tip[i].min(from_first);
        to_tip[last - i] = to_tip[last - i].min(from_last);
        if i < last {
            from_first += step(i);
            from_last += step(last - 1 - i);
        }
    }
    to_tip
}

/// The run of stops round `here` that is thinner than needed, as knots.
pub(super) fn knots(stops: &[Stop], needs: &[f64], here: usize, knot: impl Fn(&Stop, f64) -> Knot) -> Vec<Knot> {
    let thin = |i: &usize| stops[*i].thickness < needs[*i];
    let first = (0..=here).rev().take_while(thin).last().unwrap_or(here);
    let last = (here..stops.len()).take_while(thin).last().unwrap_or(here);
    let mut knots: Vec<Knot> = Vec::new();
    if first > 0 {
        knots.push(knot(&between(&stops[first], &stops[first - 1], needs[first]), needs[first]));
    }
    knots.extend((first..=last).map(|i| knot(&stops[i], needs[i])));
    if last + 1 < stops.len() {
        knots.push(knot(&between(&stops[last], &stops[last + 1], needs[last]), needs[last]));
    }
    knots
}

/// The place between a thin stop and a thick one where the wood has `width`.
fn between(thin: &Stop, thick: &Stop, width: f64) -> Stop {
    let rise = (thick.thickness - thin.thickness).max(1e-9);
    let part = ((width - thin.thickness) / rise).clamp(0.0, 1.0);
    Stop { at: thin.at.lerp(thick.at, part), ..*thin }
}

/// The strip's middle at a stop: midway between the openings; beside the
/// panel's edge, which cannot move, half the width from it.
pub(super) fn knot(work: &Work<'_>, stop: &Stop, width: f64) -> Knot {
    let edge = stop.banks.iter().flatten().find(|hit| work.on_panel(hit.at));
    let away = |from: Point| (stop.at - from).normalize() * (width / 2.0);
    let at = edge.filter(|hit| hit.distance > 1e-6).map_or(stop.at, |hit| hit.at + away(hit.at));
    (at, width / 2.0)
}

/// Openings that touch at a place where the wood cannot be followed parted by a
/// round of wood as wide as is needed.
pub(super) fn patched(work: &Work<'_>, bridge: &Bridge, finding: Option<String>) -> Option<Draft> {
    if bridge.width >= TOUCH {
        return None;
    }
    let width = work.asked(bridge) + work.margin();
    let (at, shown) = (middle(bridge), Mm::new(width).text(work.options.checks.unit));
    Some(Draft {
        kind: EditKind::Widen,
        finding,
        at,
        change: Change::GiveBack(sweep(&[(at, width / 2.0)])),
        width: Some(width),
        length: None,
        why: format!("openings that touch are parted by a round of wood {shown} across"),
        paired: false,
    })
}

/// Openings that touch joined by a passage a little wider than the kerf, where
/// that is asked for and nothing comes loose by it.
pub(super) fn open(work: &Work<'_>, bridge: &Bridge, finding: Option<String>) -> Option<Draft> {
    let at = middle(bridge);
    let wanted = bridge.width < TOUCH && work.options.contacts == Contacts::Open;
    if !wanted || work.refused(EditKind::Join, at) || bridge.loose_area > 0.0 {
        return None;
    }
    let along = through_contact(at, |p| work.wood.contains(p))?;
    let across = Vec2::new(-along.y, along.x);
    let width = 1.5 * work.options.checks.blade.kerf.get();
    let knots: Vec<Knot> = [-1.0, 0.0, 1.0].map(|s| (at + across * (s * width), width / 2.0)).to_vec();
    let why =
        format!("openings that touch are joined by a passage {} wide", Mm::new(width).text(work.options.checks.unit));
    Some(Draft {
        kind: EditKind::Join,
        finding,
        at,
        change: Change::OpenUp(sweep(&knots)),
        width: Some(width),
        length: None,
        why,
        paired: false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_width_told_is_the_one_at_the_neck() {
        let strip = |half: &[f64], step: f64| {
            let knots = half.iter().enumerate().map(|(i, half)| (Point::new(0.0, step * i as f64), *half)).collect();
            let width = 2.0 * half.iter().copied().fold(0.0, f64::max);
            Bar {
                stops: Vec::new(),
                needs: Vec::new(),
                here: 0,
                knots,
                inside: 0.0,
                bites: Vec::new(),
                width,
                cost: 0.0,
            }
        };
        assert_eq!(strip(&[1.5, 1.5, 1.5], 4.0).width_at(Point::new(0.2, 5.0)), 3.0, "alike all along");
        assert_eq!(strip(&[1.5], 4.0).width_at(Point::ZERO), 3.0, "a round");
        let far = strip(&[3.0, 1.5, 3.0], 8.0).width_at(Point::new(0.0, 8.0));
        assert!((3.0..3.3).contains(&far), "narrow at the neck: {far}");
    }
}
