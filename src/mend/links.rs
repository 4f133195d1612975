//! The decisions open to the bridge search: candidates, each tied to its mirror
//! image where the face is symmetric.

use kurbo::Point;

use super::candidates::{Candidate, Foot, Ground, candidates};
use super::symmetry::Mirror;
use super::wood::Wood;

/// Openings left between two bridges are at least this wide, mm: room for a
/// blade and its entry hole (common practice, no source).
pub const APART: f64 = 3.0;

/// One decision: a candidate, together with its mirror image where symmetry is
/// kept.
#[derive(Clone, Debug)]
pub struct Link {
    /// The candidate, then its image unless it is its own.
    pub members: Vec<Candidate>,
}

impl Link {
    /// Ends of its members that stand on the outer boundary of `island`.
    pub fn feet<'a>(&'a self, wood: &'a Wood, island: usize) -> impl Iterator<Item = Point> + 'a {
        let holds = move |candidate: &Candidate, end: usize| holds(wood, candidate, end) == Some(island);
        self.members.iter().flat_map(move |c| (0..2).filter(move |&e| holds(c, e)).map(move |e| c.feet[e].at))
    }

    /// Whether it helps to hold `island`.
    #[must_use]
    pub fn holds(&self, wood: &Wood, island: usize) -> bool {
        self.feet(wood, island).next().is_some()
    }

    /// Its share of the cost on `island`: the whole of a bridge to wood that
    /// is held otherwise, half of a bridge between two islands.
    #[must_use]
    pub fn share(&self, wood: &Wood, island: usize) -> f64 {
        let part = |c: &Candidate| {
            let ends = [holds(wood, c, 0), holds(wood, c, 1)];
            let mine = ends.iter().filter(|&&e| e == Some(island)).count() as f64;
            mine * c.cost / ends.iter().flatten().count().max(1) as f64
        };
        self.members.iter().map(part).sum()
    }

    /// Whether a member crosses or crowds one of `other`'s.
    #[must_use]
    pub fn collides(&self, other: &Self) -> bool {
        self.members.iter().any(|a| other.members.iter().any(|b| collide(a, b)))
    }
}

/// The island held by the candidate's end `end`: only an end on its outer
/// boundary holds an island, an end inside one of its openings does not.
#[must_use]
pub fn holds(wood: &Wood, candidate: &Candidate, end: usize) -> Option<usize> {
    let node = candidate.nodes[end];
    let outer = wood.nodes[node].rings[0] == candidate.feet[end].ring;
    (!wood.nodes[node].ground && outer).then_some(node)
}

/// All decisions for the wanted islands.
#[must_use]
pub fn links(ground: &Ground<'_>, wanted: &[usize], partners: &[usize]) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::new();
    for &island in wanted.iter().filter(|&&island| stands_for_pair(ground.wood, island, partners)) {
        for candidate in candidates(ground, island) {
            let Some(link) = with_image(ground, candidate, partners) else { continue };
            if !links.iter().any(|known| alike(known, &link)) {
                links.push(link);
            }
        }
    }
    links
}

/// Whether `island` is its own mirror image or the right-hand one of a pair,
/// which stands for both.
#[must_use]
pub fn stands_for_pair(wood: &Wood, island: usize, partners: &[usize]) -> bool {
    let other = partners[island];
    let (here, there) = (wood.nodes[island].center.x, wood.nodes[other].center.x);
    other == island || here > there || (here - there).abs() < 1e-9 && island < other
}

/// The candidate with its mirror image. `None` for one that would overlap its
/// image without being it.
fn with_image(ground: &Ground<'_>, candidate: Candidate, partners: &[usize]) -> Option<Link> {
    let Some(mirror) = ground.mirror else { return Some(Link { members: vec![candidate] }) };
    let image = image(ground.wood, mirror, &candidate, partners)?;
    let same = |a: &Candidate, b: &Candidate, swap: bool| {
        (0..2).all(|i| a.feet[i].at.distance(b.feet[if swap { 1 - i } else { i }].at) < 0.05)
    };
    if same(&candidate, &image, false) || same(&candidate, &image, true) {
        return Some(Link { members: vec![candidate] });
    }
    (!collide(&candidate, &image)).then(|| Link { members: vec![candidate, image] })
}

fn image(wood: &Wood, mirror: Mirror, candidate: &Candidate, partners: &[usize]) -> Option<Candidate> {
    let mut image = candidate.clone();
    for end in 0..2 {
        let node = partners[candidate.nodes[end]];
        let at = mirror.of(candidate.feet[end].at);
        let hit = wood.grid.nearest(at, 2.0, |edge| wood.rings[edge.ring].node == node)?;
        let place = wood.rings[hit.ring].place(hit.index, hit.at);
        image.nodes[end] = node;
        image.feet[end] = Foot { at, ring: hit.ring, place };
    }
    Some(image)
}

/// Whether two links are the same bridge seen from either end.
fn alike(a: &Link, b: &Link) -> bool {
    let reverse = |a: &Candidate, b: &Candidate| {
        a.nodes[0] == b.nodes[1]
            && a.nodes[1] == b.nodes[0]
            && a.feet[0].at.distance(b.feet[1].at) < 1.0
            && a.feet[1].at.distance(b.feet[0].at) < 1.0
    };
    a.members.iter().any(|a| reverse(a, &b.members[0]))
}

/// Whether two bridges cross or leave too little opening between them.
#[must_use]
pub fn collide(a: &Candidate, b: &Candidate) -> bool {
    let (a0, a1, b0, b1) = (a.feet[0].at, a.feet[1].at, b.feet[0].at, b.feet[1].at);
    let crosses = {
        let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
        side(a0, a1, b0) * side(a0, a1, b1) < 0.0 && side(b0, b1, a0) * side(b0, b1, a1) < 0.0
    };
    let near = crate::geom::flat::distance;
    let apart = near(a0, a1, b0).min(near(a0, a1, b1)).min(near(b0, b1, a0)).min(near(b0, b1, a1));
    crosses || apart < f64::midpoint(a.width, b.width) + APART
}

/// Islands that share a candidate, or are mirror images of such, in groups.
#[must_use]
pub fn groups(wanted: &[usize], links: &[Link], partners: &[usize]) -> Vec<Vec<usize>> {
    let mut root: Vec<usize> = (0..partners.len()).collect();
    let pairs = links.iter().flat_map(|l| l.members.iter().map(|c| (c.nodes[0], c.nodes[1])));
    for (a, b) in pairs.chain(wanted.iter().map(|&n| (n, partners[n]))) {
        if wanted.contains(&a) && wanted.contains(&b) {
            let (a, b) = (find(&mut root, a), find(&mut root, b));
            root[a.max(b)] = a.min(b);
        }
    }
    let mut groups: Vec<(usize, Vec<usize>)> = Vec::new();
    for &island in wanted {
        let r = find(&mut root, island);
        match groups.iter_mut().find(|(root, _)| *root == r) {
            Some((_, group)) => group.push(island),
            None => groups.push((r, vec![island])),
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

fn find(root: &mut [usize], mut n: usize) -> usize {
    while root[n] != n {
        root[n] = root[root[n]];
        n = root[n];
    }
    n
}
