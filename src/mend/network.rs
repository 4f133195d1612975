//! Which bridges to build: the cheapest set that holds every island safely,
//! over all islands at once.
//!
//! The islands, the candidate bridges between them, and the wood around them
//! form a graph. A set of bridges is safe when every group of islands keeps a
//! hold on the rest after losing any one bridge (two bridges at least leave the
//! group; 2-edge-connectivity), or when a small island hangs on a single bridge
//! that is strong enough alone. Among safe sets the one with the least sum of
//! bridge costs and of penalties for overhang is wanted.
//!
//! The search is exact among sets that give an island one or two bridges, or a
//! third beside the best pairs, beyond those its neighbours bring: islands are settled one after the other,
//! each with every set of further bridges that could still win, and a branch is
//! left when its cost plus the least the unsettled islands can cost reaches the
//! best answer known. A bridge between two islands counts half for each, which
//! keeps that bound true. Work is bounded by [`MOST_STEPS`]; past it the best
//! answer found so far is returned and said to be unproven.

use std::collections::BTreeMap;
use std::rc::Rc;

use kurbo::Point;

use super::candidates::{Candidate, Ground, reach};
use super::links::{Link, groups, holds, links, stands_for_pair};
use super::stance::Stance;
use super::wood::Wood;

/// A bridge to build.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    /// The candidate.
    pub candidate: Candidate,
    /// Whether it holds its island alone.
    pub alone: bool,
    /// Whether it is the mirror image of the bridge before it.
    pub mirrored: bool,
}

impl Chosen {
    /// Width to build it with, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.candidate.alone.filter(|_| self.alone).unwrap_or(self.candidate.width)
    }
}

/// The bridges to build, and the islands nothing could be found for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// The bridges.
    pub bridges: Vec<Chosen>,
    /// Islands (node numbers) that stay loose.
    pub loose: Vec<usize>,
    /// Whether the search ran to its end, so that no cheaper safe set exists
    /// among the candidates.
    pub proven: bool,
}

/// Most sets of bridges weighed in one connected group of islands.
const MOST_STEPS: usize = 20_000;
/// Penalty for each mm that wood reaches beyond its supports, in widths of
/// bridge. Judgement, tried on faces: it pays 0.6 mm of longer bridge for each
/// mm less overhang.
const OVERHANG: f64 = 0.6;
/// Overhang that is never penalised, mm: two widths of the smallest bridge. Ours.
const FREE_OVERHANG: f64 = 6.0;
/// A bridge that holds alone costs this much more than its area: its island
/// chatters under the saw.
const LONELY: f64 = 1.25;
/// Longest lever of a bridge that holds alone, in its own widths, along and
/// across the grain (common practice, no source: bridges no longer than three
/// and one and a half widths).
const ALONE_ALONG: f64 = 3.0;
const ALONE_ACROSS: f64 = 1.5;
/// Most bridges added for one island at once.
const MOST_NEW: usize = 3;
/// Pairs of bridges to which a third is tried.
const BEAM: usize = 40;

/// Plans the bridges for all islands of `ground`'s wood but those in `skip`.
#[must_use]
pub fn plan(ground: &Ground<'_>, skip: &[usize]) -> Plan {
    let mut plan = Plan { proven: true, ..Plan::default() };
    let found = ground.mirror.and_then(|mirror| mirror.partners(ground.wood));
    let mirror = ground.mirror.filter(|_| found.is_some());
    let ground = &Ground { mirror, ..*ground };
    let partners = found.unwrap_or_else(|| (0..ground.wood.nodes.len()).collect());
    let wanted: Vec<usize> = ground.wood.islands().filter(|island| !skip.contains(island)).collect();
    let links = links(ground, &wanted, &partners);
    for group in groups(&wanted, &links, &partners) {
        let mut search = Search::new(ground.wood, &group, &links, &partners);
        search.settle(0, 0.0);
        plan.proven &= search.steps < MOST_STEPS;
        search.report(&group, &mut plan);
    }
    plan
}

/// An island to settle; one of a mirrored pair stands for both.
struct Island<'a> {
    node: usize,
    /// 2 for a mirrored pair.
    weight: f64,
    stance: Stance,
    all: &'a [Link],
    /// Links that help to hold it.
    links: Vec<Hold>,
    /// The least it can cost.
    least: f64,
}

/// What a link does for one island.
struct Hold {
    link: usize,
    feet: Vec<Point>,
    share: f64,
    width: f64,
}

/// A way to hold an island beyond what is built already.
struct Way {
    new: Vec<usize>,
    alone: bool,
    cost: f64,
}

impl<'a> Island<'a> {
    fn new(wood: &Wood, node: usize, partners: &[usize], all: &'a [Link], clear: &Clear<'_>) -> Self {
        let hold = |link: usize| {
            let feet: Vec<Point> = all[link].feet(wood, node).collect();
            let (share, width) = (all[link].share(wood, node), all[link].members[0].width);
            (!feet.is_empty()).then_some(Hold { link, feet, share, width })
        };
        let links: Vec<Hold> = (0..all.len()).filter_map(hold).collect();
        let stance = Stance::of(&wood.outer(node).points);
        let weight = if partners[node] == node { 1.0 } else { 2.0 };
        let mut island = Self { node, weight, stance, all, links, least: 0.0 };
        let every: Vec<usize> = (0..island.links.len()).collect();
        island.least = island.ways(wood, &[], &every, clear).first().map_or(0.0, |way| way.cost);
        island
    }

    /// The ways to hold it, cheapest first: its links `built` stand already, its
    /// links `open` may be added (both as indices into `links`).
    fn ways(&self, wood: &Wood, built: &[usize], open: &[usize], clear: &Clear<'_>) -> Vec<Way> {
        let mut ways: Vec<Way> = Vec::new();
        if built.is_empty() {
            ways.extend(open.iter().filter_map(|&l| self.hanging(wood, self.links[l].link)));
        }
        let mut best = ways.iter().map(|way| way.cost).fold(f64::INFINITY, f64::min);
        // Sets of new links as places in `open`, with what they cost.
        let mut sets: Vec<(Vec<usize>, f64)> = vec![(Vec::new(), 0.0)];
        for size in 0..=MOST_NEW {
            for (set, cost) in &mut sets {
                let new: Vec<usize> = set.iter().map(|&i| open[i]).collect();
                if let Some(way) = self.way(built, &new) {
                    best = best.min(way.cost);
                    *cost = way.cost;
                    ways.push(way);
                }
            }
            // A third bridge is only worth trying where two leave it badly held,
            // and then beside the best twos.
            let mut limit = f64::INFINITY;
            if size == 2 {
                limit = best;
                sets.sort_by(|a, b| a.1.total_cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
                sets.truncate(BEAM);
            }
            sets = self.grown(&sets, open, limit, clear);
        }
        ways.sort_by(|a, b| a.cost.total_cmp(&b.cost).then_with(|| a.new.cmp(&b.new)));
        if ways.is_empty() && built.is_empty() {
            ways.extend(self.last_resort(open));
        }
        ways
    }

    /// Every set with one more link, whose links do not collide and whose share
    /// stays under `limit`.
    fn grown(
        &self,
        sets: &[(Vec<usize>, f64)],
        open: &[usize],
        limit: f64,
        clear: &Clear<'_>,
    ) -> Vec<(Vec<usize>, f64)> {
        let mut grown = Vec::new();
        for (set, _) in sets {
            let share: f64 = set.iter().map(|&i| self.links[open[i]].share).sum();
            // Pairs are cut to the best, so a third may be any other.
            let from = if set.len() < 2 { set.last().map_or(0, |last| last + 1) } else { 0 };
            for i in (from..open.len()).filter(|i| !set.contains(i)) {
                let hold = &self.links[open[i]];
                let total = share + hold.share;
                if total < limit && set.iter().all(|&other| clear(self.links[open[other]].link, hold.link)) {
                    let mut set = [set.as_slice(), &[i]].concat();
                    set.sort_unstable();
                    grown.push((set, total));
                }
            }
        }
        grown.sort_by(|a, b| a.0.cmp(&b.0));
        grown.dedup_by(|a, b| a.0 == b.0);
        grown
    }

    /// Holding it by the built and the new links; `None` with fewer than two
    /// feet.
    fn way(&self, built: &[usize], new: &[usize]) -> Option<Way> {
        let all = || built.iter().chain(new).map(|&l| &self.links[l]);
        let feet: Vec<Point> = all().flat_map(|hold| hold.feet.iter().copied()).collect();
        if feet.len() < 2 {
            return None;
        }
        let share: f64 = all().map(|hold| hold.share).sum();
        let width = all().map(|hold| hold.width).fold(f64::INFINITY, f64::min);
        let over = (self.stance.overhang(&feet) - self.stance.half_width.max(FREE_OVERHANG)).max(0.0);
        let new = new.iter().map(|&l| self.links[l].link).collect();
        Some(Way { new, alone: false, cost: share + OVERHANG * width * over })
    }

    /// The link as the only support of a small island, where the rule allows it.
    fn hanging(&self, wood: &Wood, link: usize) -> Option<Way> {
        let [candidate] = self.all[link].members.as_slice() else { return None };
        let both = holds(wood, candidate, 0).is_some() && holds(wood, candidate, 1).is_some();
        let end = usize::from(holds(wood, candidate, 0) != Some(self.node));
        let lever = candidate.length + reach(wood, self.node, candidate.feet[end].at);
        let (across, width) = (candidate.grain_deg.to_radians().sin(), candidate.alone?);
        let limit = (ALONE_ALONG + (ALONE_ACROSS - ALONE_ALONG) * across) * width;
        let cost = candidate.cost * LONELY * width / candidate.width;
        (!both && lever <= limit).then(|| Way { new: vec![link], alone: true, cost })
    }

    /// A single bridge past the rule, for an island nothing else reaches: better
    /// held poorly and said so than falling out.
    fn last_resort(&self, open: &[usize]) -> Option<Way> {
        let cost = |l: usize| self.links[l].share;
        let l = open.iter().copied().min_by(|&a, &b| cost(a).total_cmp(&cost(b)))?;
        Some(Way { new: vec![self.links[l].link], alone: true, cost: 2.0 * cost(l) })
    }
}

/// Whether two links can both be built.
type Clear<'a> = dyn Fn(usize, usize) -> bool + 'a;

/// A set of decisions: for each link whether it is built, `None` while open;
/// for each settled island whether it hangs on one bridge.
#[derive(Clone, Default)]
struct Answer {
    decided: Vec<Option<bool>>,
    alone: Vec<bool>,
}

/// Ways to hold an island, by island, built and open links.
type Known = BTreeMap<(usize, Vec<usize>, Vec<usize>), Rc<Vec<Way>>>;

/// The search over one group.
struct Search<'a> {
    wood: &'a Wood,
    links: &'a [Link],
    partners: &'a [usize],
    islands: Vec<Island<'a>>,
    /// Which links collide, row by row.
    collisions: Vec<Vec<bool>>,
    known: Known,
    now: Answer,
    steps: usize,
    best: Option<(f64, Answer)>,
}

impl<'a> Search<'a> {
    fn new(wood: &'a Wood, group: &[usize], links: &'a [Link], partners: &'a [usize]) -> Self {
        let collisions: Vec<Vec<bool>> = links.iter().map(|a| links.iter().map(|b| a.collides(b)).collect()).collect();
        let clear = |a: usize, b: usize| !collisions[a][b];
        let first = group.iter().filter(|&&n| stands_for_pair(wood, n, partners));
        let islands = first.map(|&n| Island::new(wood, n, partners, links, &clear));
        // An island no link reaches is left loose; the others go on.
        let mut islands: Vec<Island<'a>> = islands.filter(|i| !i.links.is_empty()).collect();
        // The island with the fewest links first: the search stays narrow.
        islands.sort_by_key(|island| (island.links.len(), island.node));
        let now = Answer { decided: vec![None; links.len()], alone: Vec::new() };
        Self { wood, links, partners, islands, collisions, known: Known::new(), now, steps: 0, best: None }
    }

    fn beaten(&self, cost: f64) -> bool {
        self.best.as_ref().is_some_and(|(best, _)| cost >= best - 1e-9)
    }

    /// The ways to hold island `i` as things stand, cheapest first.
    fn ways(&mut self, i: usize) -> Rc<Vec<Way>> {
        let island = &self.islands[i];
        let built_now = |l: usize| self.now.decided[l] == Some(true);
        let clear = |a: usize, b: usize| !self.collisions[a][b];
        let free = |l: usize| (0..self.links.len()).all(|b| !built_now(b) || clear(l, b));
        let (mut built, mut open) = (Vec::new(), Vec::new());
        for (place, hold) in island.links.iter().enumerate() {
            if built_now(hold.link) {
                built.push(place);
            } else if self.now.decided[hold.link].is_none() && free(hold.link) {
                open.push(place);
            }
        }
        let key = (i, built, open);
        if let Some(ways) = self.known.get(&key) {
            return Rc::clone(ways);
        }
        let ways = Rc::new(island.ways(self.wood, &key.1, &key.2, &clear));
        self.steps += ways.len() / 8;
        self.known.insert(key, Rc::clone(&ways));
        ways
    }

    /// Settles island `i` and those after it; `cost` is that of the ones before.
    fn settle(&mut self, i: usize, cost: f64) {
        if i == self.islands.len() {
            if !self.beaten(cost) {
                self.best = Some((cost, self.now.clone()));
            }
            return;
        }
        let rest: f64 = self.islands[i + 1..].iter().map(|island| island.weight * island.least).sum();
        let weight = self.islands[i].weight;
        let mine: Vec<usize> = self.islands[i].links.iter().map(|hold| hold.link).collect();
        let closed: Vec<usize> = mine.into_iter().filter(|&l| self.now.decided[l].is_none()).collect();
        for way in self.ways(i).iter() {
            let total = cost + weight * way.cost;
            if self.beaten(total + rest) || self.steps >= MOST_STEPS {
                break;
            }
            self.steps += 1;
            for &l in &closed {
                self.now.decided[l] = Some(way.new.contains(&l));
            }
            self.now.alone.push(way.alone);
            if self.held() {
                self.settle(i + 1, total);
            }
            self.now.alone.pop();
        }
        for &l in &closed {
            self.now.decided[l] = None;
        }
    }

    /// Whether every group of settled islands is held by two bridges, those
    /// that hang alone aside: no single bridge parts them from the rest.
    fn held(&self) -> bool {
        let settled = self.islands.iter().zip(&self.now.alone);
        let mut nodes: Vec<usize> = Vec::new();
        let mut hanging: Vec<usize> = Vec::new();
        for (island, alone) in settled {
            let pair = [island.node, self.partners[island.node]];
            if *alone { hanging.extend(pair) } else { nodes.extend(pair) }
        }
        nodes.sort_unstable();
        nodes.dedup();
        let index = |n: Option<usize>| n.and_then(|n| nodes.binary_search(&n).ok()).unwrap_or(nodes.len());
        let built = self.links.iter().zip(&self.now.decided).filter(|(_, built)| **built == Some(true));
        let mut edges: Vec<(usize, usize)> = Vec::new();
        for candidate in built.flat_map(|(link, _)| &link.members) {
            let ends = [holds(self.wood, candidate, 0), holds(self.wood, candidate, 1)];
            if !ends.iter().flatten().any(|n| hanging.contains(n)) {
                edges.push((index(ends[0]), index(ends[1])));
            }
        }
        edges.retain(|(a, b)| a != b);
        connected(nodes.len() + 1, &edges, usize::MAX)
            && (0..edges.len()).all(|l| connected(nodes.len() + 1, &edges, l))
    }

    /// Writes the answer into `plan`.
    fn report(self, group: &[usize], plan: &mut Plan) {
        let Some((_, Answer { decided, alone })) = self.best else {
            plan.loose.extend(group);
            return;
        };
        let pair = |island: &Island<'_>| [island.node, self.partners[island.node]];
        let held: Vec<usize> = self.islands.iter().flat_map(pair).collect();
        let hanging: Vec<usize> =
            self.islands.iter().zip(&alone).filter(|(_, a)| **a).flat_map(|(i, _)| pair(i)).collect();
        for (link, _) in self.links.iter().zip(&decided).filter(|(_, built)| **built == Some(true)) {
            for (n, candidate) in link.members.iter().enumerate() {
                let ends = [holds(self.wood, candidate, 0), holds(self.wood, candidate, 1)];
                let alone = ends.iter().flatten().any(|node| hanging.contains(node));
                plan.bridges.push(Chosen { candidate: candidate.clone(), alone, mirrored: n > 0 });
            }
        }
        plan.loose.extend(group.iter().filter(|n| !held.contains(n)));
    }
}

/// Whether `size` nodes hang together by `edges` without edge `lost`.
fn connected(size: usize, edges: &[(usize, usize)], lost: usize) -> bool {
    let mut reached = vec![false; size];
    let mut stack = vec![size - 1];
    reached[size - 1] = true;
    while let Some(n) = stack.pop() {
        for (i, &(a, b)) in edges.iter().enumerate() {
            let other = if a == n { b } else { a };
            if i != lost && (a == n || b == n) && !reached[other] {
                reached[other] = true;
                stack.push(other);
            }
        }
    }
    reached.iter().all(|&r| r)
}
