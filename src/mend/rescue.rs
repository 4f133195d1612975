//! Bridges of last resort: every island the plan left loose gets the best
//! single bridge there is. What that bridge then lacks in strength the next
//! round sees and mends like any weak bridge.

use std::collections::BTreeMap;

use super::candidates::{Candidate, Ground, any_sights, candidates};
use super::links::collide;
use super::strip::strip;
use super::sweep::sweep;
use super::work::{MARGIN, Work};
use crate::geom::Region;

/// Crossing or crowding another bridge costs this many times as much. Judgement,
/// no source.
const CROWDED: f64 = 3.0;

/// A bridge of last resort with its shape.
pub(super) struct Rescue {
    pub(super) candidate: Candidate,
    pub(super) width: f64,
    pub(super) shape: Region,
}

/// Which pieces of wood hang together.
struct Joined(Vec<usize>);

impl Joined {
    /// All ground is one; `together` are the bridges built.
    fn new(work: &Work<'_>, together: impl Iterator<Item = [usize; 2]>) -> Self {
        let mut joined = Self((0..work.wood.nodes.len()).collect());
        let ground: Vec<usize> = (0..work.wood.nodes.len()).filter(|&n| work.wood.nodes[n].ground).collect();
        ground.windows(2).for_each(|pair| joined.join(pair[0], pair[1]));
        together.for_each(|[a, b]| joined.join(a, b));
        joined
    }

    fn find(&self, mut n: usize) -> usize {
        while self.0[n] != n {
            n = self.0[n];
        }
        n
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// A bridge each for the islands in `wanted` that `built` does not join to held
/// wood.
pub(super) fn rescues(work: &Work<'_>, ground: &Ground<'_>, wanted: &[usize], built: &[Candidate]) -> Vec<Rescue> {
    let mut joined = Joined::new(work, built.iter().map(|c| c.nodes));
    let held = (0..work.wood.nodes.len()).find(|&n| work.wood.nodes[n].ground);
    let mut standing = built.to_vec();
    let mut known: BTreeMap<usize, Vec<Candidate>> = BTreeMap::new();
    let mut rescues = Vec::new();
    for &island in wanted {
        let loose = held.is_none_or(|held| joined.find(held) != joined.find(island));
        if !loose {
            continue;
        }
        let group: Vec<usize> = wanted.iter().copied().filter(|&n| joined.find(n) == joined.find(island)).collect();
        let mut offers: Vec<Candidate> = Vec::new();
        for &n in &group {
            offers.extend(known.entry(n).or_insert_with(|| candidates(ground, n)).iter().cloned());
        }
        let found = best(work, &offers, &joined, &standing).or_else(|| {
            let sights: Vec<Candidate> = group.iter().flat_map(|&n| any_sights(ground, n)).collect();
            best(work, &sights, &joined, &standing)
        });
        if let Some(rescue) = found {
            joined.join(rescue.candidate.nodes[0], rescue.candidate.nodes[1]);
            standing.push(rescue.candidate.clone());
            rescues.push(rescue);
        }
    }
    rescues
}

/// The cheapest of `offers` that leads to wood not yet joined.
fn best(work: &Work<'_>, offers: &[Candidate], joined: &Joined, standing: &[Candidate]) -> Option<Rescue> {
    let leads_on = |c: &&Candidate| joined.find(c.nodes[0]) != joined.find(c.nodes[1]);
    let cost = |c: &Candidate| c.cost * if standing.iter().any(|s| collide(s, c)) { CROWDED } else { 1.0 };
    let candidate = offers.iter().filter(leads_on).min_by(|a, b| cost(a).total_cmp(&cost(b)))?;
    let width = candidate.alone.unwrap_or(candidate.width) + MARGIN;
    let shape = strip(&work.wood, candidate, width, work.fillet()).unwrap_or_else(|| plain(candidate, width));
    Some(Rescue { candidate: candidate.clone(), width, shape })
}

/// The bridge as a plain strip, round at both ends, where no shape with flares
/// can be drawn.
fn plain(candidate: &Candidate, width: f64) -> Region {
    sweep(&candidate.feet.map(|foot| (foot.at, width / 2.0)))
}
