//! Every place where a bridge to an island might go, with what it would cost.

use kurbo::{Point, Vec2};

use super::grid::Hit;
use super::links::APART;
use super::symmetry::Mirror;
use super::wood::Wood;
use crate::trade::strength::Hold;

/// One end of a bridge: a spot on the boundary of a piece of wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Foot {
    /// The spot.
    pub at: Point,
    /// The ring it lies on.
    pub ring: usize,
    /// Where along the ring.
    pub place: f64,
}

/// A straight bridge that might be built.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The wood on either side, as node numbers: the island it was looked for
    /// from, then the other.
    pub nodes: [usize; 2],
    /// The two ends of its middle line, in the order of `nodes`.
    pub feet: [Foot; 2],
    /// Width needed when other bridges help to hold the island, mm.
    pub width: f64,
    /// Width needed when it holds the island alone, mm; `None` where there is no
    /// room for that.
    pub alone: Option<f64>,
    /// Longest line along it within its width, mm: the free length.
    pub length: f64,
    /// Angle to the grain, degrees, 0 along to 90 across.
    pub grain_deg: f64,
    /// Wood given back, mm².
    pub area: f64,
    /// What it costs the picture, in mm² of plain wood given back.
    pub cost: f64,
}

/// A length of wood to be made strong enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Free length, mm.
    pub length: f64,
    /// Angle to the grain, degrees, 0 along to 90 across.
    pub grain_deg: f64,
    /// How its ends are held.
    pub hold: Hold,
    /// From it to the far end of the wood it holds alone, mm; 0 when both its ends
    /// are held.
    pub reach: f64,
}

impl Span {
    /// A span held at both ends.
    #[must_use]
    pub const fn held(length: f64, grain_deg: f64) -> Self {
        Self { length, grain_deg, hold: Hold::BothEnds, reach: 0.0 }
    }
}

/// What the search works under.
pub struct Ground<'a> {
    /// The wood.
    pub wood: &'a Wood,
    /// Unit vector along the grain.
    pub grain: Vec2,
    /// Width needed for a span, mm.
    pub needed: &'a dyn Fn(Span) -> f64,
    /// The mirror axis the face keeps, if it does.
    pub mirror: Option<Mirror>,
    /// Candidates not to be offered.
    pub barred: &'a dyn Fn(&Candidate) -> bool,
}

impl std::fmt::Debug for Ground<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Ground").field("grain", &self.grain).field("mirror", &self.mirror).finish_non_exhaustive()
    }
}

/// Distance between the spots an island's boundary is looked over at, mm.
const STEP: f64 = 1.0;
/// Most spots looked over on one island.
const MOST_SPOTS: f64 = 360.0;
/// Arm over which the direction of a boundary is taken, mm.
const ARM: f64 = 0.5;
/// Two candidates whose feet are this near are the same one, mm.
const SAME: f64 = 1.4;
/// Most candidates kept for an island, and most in each twelfth of the circle
/// round its centre beyond the cheapest ones.
const KEEP: usize = 26;
const CHEAPEST: usize = 8;
const IN_SECTOR: usize = 2;
/// Lines tried across the width of a candidate, each side of the middle.
const LINES: i32 = 3;
/// A bend of the outline sharper than this is a corner, radians (30°).
const CORNER: f64 = 0.52;

/// Weights of the look. All are judgement, no source; tried on faces and
/// looked at.
mod weight {
    /// A bridge costs this length more than it has, mm: fewer beats shorter.
    pub(super) const EACH: f64 = 2.0;
    /// Extra for lying across the grain instead of along.
    pub(super) const ACROSS: f64 = 0.3;
    /// Extra for each length of this many mm: long bridges show.
    pub(super) const LONG: f64 = 25.0;
    /// Factor where it carries a tip on in its own direction: it looks drawn.
    pub(super) const FLOWS: f64 = 0.8;
    /// Factor where it lands by a corner.
    pub(super) const BY_CORNER: f64 = 1.25;
    /// Extra where the wood behind a foot is thinner than the bridge is wide.
    pub(super) const THIN_BEHIND: f64 = 1.5;
}

/// The candidates for holding island `island`, cheapest first.
#[must_use]
pub fn candidates(ground: &Ground<'_>, island: usize) -> Vec<Candidate> {
    let mut rough: Vec<Candidate> = sights(ground, island);
    rough.sort_by(|a, b| a.cost.total_cmp(&b.cost).then_with(|| order(a, b)));
    let center = ground.wood.nodes[island].center;
    let mut kept: Vec<Candidate> = Vec::new();
    let (mut sectors, mut tried) = ([0_usize; 12], 0);
    for mut candidate in rough {
        let sector = sector(center, candidate.feet[0].at);
        let full = kept.len() >= CHEAPEST && sectors[sector] >= IN_SECTOR;
        if full || kept.iter().any(|k| same(k, &candidate)) || (ground.barred)(&candidate) {
            continue;
        }
        tried += 1;
        if shape_up(ground, &mut candidate).is_some() {
            sectors[sector] += 1;
            kept.push(candidate);
        }
        if kept.len() >= KEEP || tried > 20 * KEEP {
            break;
        }
    }
    kept.sort_by(|a, b| a.cost.total_cmp(&b.cost).then_with(|| order(a, b)));
    kept
}

fn order(a: &Candidate, b: &Candidate) -> std::cmp::Ordering {
    let key = |c: &Candidate| [c.feet[0].at.y, c.feet[0].at.x, c.feet[1].at.y, c.feet[1].at.x];
    key(a).iter().zip(key(b)).map(|(x, y)| x.total_cmp(&y)).find(|o| o.is_ne()).unwrap_or(std::cmp::Ordering::Equal)
}

fn same(a: &Candidate, b: &Candidate) -> bool {
    a.nodes[1] == b.nodes[1] && a.feet[0].at.distance(b.feet[0].at) < SAME && a.feet[1].at.distance(b.feet[1].at) < SAME
}

fn sector(center: Point, at: Point) -> usize {
    let turn = (at - center).atan2() / std::f64::consts::TAU + 0.5;
    ((turn * 12.0) as usize).min(11)
}

/// Every straight line of sight from the island to other wood, whether a whole
/// bridge fits along it or not.
#[must_use]
pub fn any_sights(ground: &Ground<'_>, island: usize) -> Vec<Candidate> {
    sights(ground, island).into_iter().filter(|candidate| !(ground.barred)(candidate)).collect()
}

/// Looks out from spots all round the island, each in a few telling directions.
fn sights(ground: &Ground<'_>, island: usize) -> Vec<Candidate> {
    let wood = ground.wood;
    let ring = wood.nodes[island].rings[0];
    let bound = &wood.rings[ring];
    let count = (bound.length() / STEP).clamp(12.0, MOST_SPOTS).round();
    let mut found = Vec::new();
    for i in 0..count as usize {
        let place = bound.length() * (i as f64 + 0.5) / count;
        let foot = Foot { at: bound.at(place), ring, place };
        for dir in directions(ground, island, &foot) {
            found.extend(look(ground, island, foot, dir));
        }
    }
    for place in tips(wood, ring) {
        let foot = Foot { at: bound.at(place), ring, place };
        found.extend(look(ground, island, foot, bound.outward(place, ARM)));
    }
    found.extend(on_axis(ground, island));
    found.retain(|candidate| keeps_mirror(ground, candidate));
    found
}

/// Whether the candidate and its mirror image can both be built: it keeps clear
/// of the axis, or is its own image.
fn keeps_mirror(ground: &Ground<'_>, candidate: &Candidate) -> bool {
    let Some(mirror) = ground.mirror else { return true };
    let [a, b] = candidate.feet.map(|foot| foot.at.x - mirror.axis);
    let clear = a.abs().min(b.abs()) > f64::midpoint(candidate.width, APART) && (a > 0.0) == (b > 0.0);
    let level = (candidate.feet[0].at.y - candidate.feet[1].at.y).abs() < 0.01 && (a + b).abs() < 0.04;
    clear || level || a.abs().max(b.abs()) < 1e-6
}

/// Straight out, along the grain, level or upright where the mirror asks for
/// it, and to the nearest other wood.
fn directions(ground: &Ground<'_>, island: usize, foot: &Foot) -> Vec<Vec2> {
    let bound = &ground.wood.rings[foot.ring];
    let out = bound.outward(foot.place, ARM);
    let side = |v: Vec2| if v.dot(out) < 0.0 { -v } else { v };
    let mut dirs = vec![out, side(ground.grain)];
    if ground.mirror.is_some() {
        dirs.push(side(Vec2::new(1.0, 0.0)));
        dirs.push(side(Vec2::new(0.0, 1.0)));
    }
    let wood = ground.wood;
    let nearest = wood.grid.nearest(foot.at, 60.0, |edge| wood.rings[edge.ring].node != island);
    dirs.extend(nearest.filter(|hit| hit.distance > 1e-6).map(|hit| (hit.at - foot.at) / hit.distance));
    dirs.retain(|dir| dir.dot(out) > 0.35);
    dirs
}

/// Places on a ring where the wood has a tip.
fn tips(wood: &Wood, ring: usize) -> Vec<f64> {
    let bound = &wood.rings[ring];
    let sharp = |i: usize| bound.turn(bound.along[i], ARM) > CORNER * 1.5;
    (0..bound.len()).filter(|&i| sharp(i)).map(|i| bound.along[i]).collect()
}

/// Sight lines up and down the mirror axis, which mirror onto themselves.
fn on_axis(ground: &Ground<'_>, island: usize) -> Vec<Candidate> {
    let Some(mirror) = ground.mirror else { return Vec::new() };
    let wood = ground.wood;
    let ring = wood.nodes[island].rings[0];
    let bound = &wood.rings[ring];
    let mut found = Vec::new();
    for i in 0..bound.len() {
        let (a, b) = bound.edge(i);
        if (a.x > mirror.axis) == (b.x > mirror.axis) {
            continue;
        }
        let at = a.lerp(b, (mirror.axis - a.x) / (b.x - a.x));
        let at = Point::new(mirror.axis, at.y);
        let foot = Foot { at, ring, place: bound.place(i, at) };
        let up = if b.x > a.x { -1.0 } else { 1.0 };
        found.extend(look(ground, island, foot, Vec2::new(0.0, up)));
    }
    found
}

/// The candidate seen from `foot` along `dir` on other wood, with a first idea
/// of its cost.
fn look(ground: &Ground<'_>, island: usize, foot: Foot, dir: Vec2) -> Option<Candidate> {
    sight(ground, foot, dir).filter(|candidate| candidate.nodes[1] != island)
}

/// The candidate seen from `foot` along `dir`, be it on the same wood.
fn sight(ground: &Ground<'_>, foot: Foot, dir: Vec2) -> Option<Candidate> {
    let wood = ground.wood;
    let hit = wood.cast(foot.at + dir * 1e-3, dir, 400.0)?;
    let nodes = [wood.rings[foot.ring].node, wood.node_of(&hit)];
    if !faces(wood, &hit, dir) {
        return None;
    }
    let length = hit.distance + 1e-3;
    let cosine = dir.dot(ground.grain).abs().min(1.0);
    let grain_deg = cosine.acos().to_degrees();
    let width = (ground.needed)(Span::held(length, grain_deg));
    let end = Foot { at: hit.at, ring: hit.ring, place: wood.rings[hit.ring].place(hit.index, hit.at) };
    let area = length * width;
    let cost = look_cost(length, width, grain_deg);
    let feet = [foot, end];
    Some(Candidate { nodes, feet, width, alone: None, length, grain_deg, area, cost })
}

/// Props from `foot` to wood that `accepts` the far end, each tried over its
/// whole width.
#[must_use]
pub fn props(ground: &Ground<'_>, foot: Foot, accepts: impl Fn(&Foot) -> bool) -> Vec<Candidate> {
    let node = ground.wood.rings[foot.ring].node;
    let sights = directions(ground, node, &foot).into_iter().filter_map(|dir| sight(ground, foot, dir));
    let wanted = |c: &Candidate| {
        accepts(&c.feet[1]) && keeps_mirror(ground, c) && !(ground.barred)(c) && leaves_room(ground.wood, c)
    };
    sights.filter(wanted).filter_map(|mut c| shape_up(ground, &mut c).map(|()| c)).collect()
}

/// Whether what is left of the opening on either side of a prop, at its middle, is room
/// for a blade and its entry hole: one beside a bridge that stands already would leave
/// a slot.
fn leaves_room(wood: &Wood, candidate: &Candidate) -> bool {
    /// Room beside a prop, mm: the hole a 3/64 in bit drills and a little. Ours; the
    /// [`APART`] of bridges to islands made silhouettes change by a tenth more.
    const BESIDE: f64 = 1.5;
    let [a, b] = candidate.feet.map(|foot| foot.at);
    let along = (b - a).normalize();
    let across = Vec2::new(-along.y, along.x);
    let least = candidate.width / 2.0 + BESIDE;
    [across, -across].into_iter().all(|dir| wood.cast(a.midpoint(b), dir, least).is_none())
}

fn look_cost(length: f64, width: f64, grain_deg: f64) -> f64 {
    let across = grain_deg.to_radians().sin().powi(2);
    width * (length + weight::EACH) * (1.0 + weight::ACROSS * across) * (1.0 + length / weight::LONG)
}

/// Whether `dir` meets the boundary from the opening's side.
fn faces(wood: &Wood, hit: &Hit, dir: Vec2) -> bool {
    let (a, b) = wood.rings[hit.ring].edge(hit.index);
    dir.dot(Vec2::new(b.y - a.y, a.x - b.x)) < 0.0
}

/// Tries the whole width of the candidate, not its middle line only: the free
/// length is the longest line, and every line must end on the same two pieces
/// of wood. Sets its true figures and cost; `None` when it cannot be built.
fn shape_up(ground: &Ground<'_>, candidate: &mut Candidate) -> Option<()> {
    let (mut longest, mut mean) = (candidate.length, candidate.length);
    for _ in 0..3 {
        let width = (ground.needed)(Span::held(longest, candidate.grain_deg));
        let lines = corridor(ground.wood, candidate, width)?;
        mean = lines.iter().sum::<f64>() / lines.len() as f64;
        let longest_now = lines.iter().copied().fold(0.0, f64::max);
        candidate.width = width;
        if longest_now <= longest + 0.01 {
            break;
        }
        longest = longest_now;
    }
    if longest > 2.5 * candidate.length + 3.0 * candidate.width {
        return None;
    }
    candidate.length = longest;
    let lever = reach(ground.wood, candidate.nodes[0], candidate.feet[0].at);
    let reach = longest + lever;
    let grain_deg = candidate.grain_deg;
    let alone = (ground.needed)(Span { length: longest, grain_deg, hold: Hold::OneEnd, reach });
    candidate.alone = corridor(ground.wood, candidate, alone).map(|_| alone);
    candidate.area = mean * candidate.width;
    candidate.cost = look_cost(mean, candidate.width, candidate.grain_deg) * surroundings(ground, candidate);
    Some(())
}

/// Farthest spot of a node's boundary from `from`, mm.
#[must_use]
pub fn reach(wood: &Wood, node: usize, from: Point) -> f64 {
    wood.outer(node).points.iter().map(|p| p.distance(from)).fold(0.0, f64::max)
}

/// Lengths of lines along the candidate, from one side to the other; `None`
/// when a line ends elsewhere than on its two pieces of wood.
fn corridor(wood: &Wood, candidate: &Candidate, width: f64) -> Option<Vec<f64>> {
    let [a, b] = candidate.feet.map(|foot| foot.at);
    let along = (b - a).normalize();
    let across = Vec2::new(-along.y, along.x);
    let mut lengths = vec![(b - a).hypot()];
    for side in [-1.0, 1.0] {
        let mut from = a.midpoint(b);
        for _ in 1..=LINES {
            from += across * (side * width / 2.0 / f64::from(LINES));
            let (ahead, behind) = (wood.cast(from, along, 400.0)?, wood.cast(from, -along, 400.0)?);
            let ends = [wood.node_of(&behind), wood.node_of(&ahead)];
            if ends != candidate.nodes || !faces(wood, &ahead, along) || !faces(wood, &behind, -along) {
                return None;
            }
            lengths.push(ahead.distance + behind.distance);
            from = behind.at.midpoint(ahead.at);
        }
    }
    Some(lengths)
}

/// Factor for what stands round the feet: corners, tips it carries on, thin
/// wood behind.
fn surroundings(ground: &Ground<'_>, candidate: &Candidate) -> f64 {
    let wood = ground.wood;
    let along = (candidate.feet[1].at - candidate.feet[0].at).normalize();
    let mut factor = 1.0;
    for (foot, out) in candidate.feet.iter().zip([along, -along]) {
        let bound = &wood.rings[foot.ring];
        let tip = bound.turn(foot.place, 1.0);
        let flows = tip > CORNER && bound.outward(foot.place, 1.0).dot(out) > 0.9;
        if flows {
            factor *= weight::FLOWS;
        } else if corner_within(wood, foot, candidate.width / 2.0 + 1.0) {
            factor *= weight::BY_CORNER;
        }
        let depth = wood.depth(foot.at, -out, candidate.width);
        factor *= 1.0 + weight::THIN_BEHIND * (1.0 - depth / candidate.width);
    }
    factor
}

fn corner_within(wood: &Wood, foot: &Foot, reach: f64) -> bool {
    let bound = &wood.rings[foot.ring];
    (-4..=4).any(|i| bound.turn(foot.place + reach * f64::from(i) / 4.0, 0.6).abs() > CORNER)
}
