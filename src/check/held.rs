//! What hangs on which bridge.

use std::ops::Range;

use crate::geom::cells::Cells;

/// What breaking one bridge would set loose.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Hangs {
    /// Area that would come loose, mm²; 0 when both sides stay held.
    pub(crate) loose: f64,
    /// The parts of which it consists, as they were come to.
    parts: Range<u32>,
}

/// What hangs on every cut.
#[derive(Clone, Debug, Default)]
pub(crate) struct Held {
    /// Of each cut.
    pub(crate) cuts: Vec<Hangs>,
    /// The parts in the order they were come to.
    visited: Vec<u32>,
}

impl Held {
    /// The parts that come loose when a cut breaks.
    pub(crate) fn loose_parts(&self, cut: &Hangs) -> &[u32] {
        &self.visited[cut.parts.start as usize..cut.parts.end as usize]
    }
}

/// For every cut of `cells`, what its breaking sets loose. `holds` says which
/// cuts join wood (places of no width do not), `anchors` which parts are held by
/// the panel's edge.
///
/// The parts are the nodes and the bridges the edges of a graph. A bridge no
/// circle of others goes round is the only hold of what lies beyond it (the
/// bridges of a graph in the usual sense: Tarjan's low-link numbers, 1974).
pub(crate) fn hangs(cells: &Cells, holds: &[bool], anchors: &[u32]) -> Held {
    let graph = Graph::new(cells, holds);
    let mut walk = Walk::new(cells);
    let area = |node: &u32| cells.cells[*node as usize].area;
    let mut roots: Vec<u32> = (0..cells.cells.len() as u32).collect();
    // Anchored parts first, then the largest: what is not held by the panel
    // hangs on the largest part of its island.
    roots.sort_by(|a, b| {
        let free = |node: &u32| !anchors.contains(node);
        free(a).cmp(&free(b)).then(area(b).total_cmp(&area(a))).then(a.cmp(b))
    });
    for root in roots {
        walk.from(&graph, root);
    }
    Held { cuts: walk.hangs, visited: walk.visited }
}

/// Neighbours of every part: (cut, part beyond).
struct Graph {
    neighbours: Vec<Vec<(u32, u32)>>,
}

impl Graph {
    fn new(cells: &Cells, holds: &[bool]) -> Self {
        let mut neighbours = vec![Vec::new(); cells.cells.len()];
        for (cut, sides) in (0_u32..).zip(&cells.sides) {
            if let ([Some(a), Some(b)], true) = (*sides, holds[cut as usize])
                && a != b
            {
                neighbours[a as usize].push((cut, b));
                neighbours[b as usize].push((cut, a));
            }
        }
        Self { neighbours }
    }
}

const UNSEEN: u32 = u32::MAX;

/// A depth-first walk that keeps its own stack, since chains of bridges can be
/// long.
struct Walk {
    order: Vec<u32>,
    low: Vec<u32>,
    /// Area of the part and all that was reached through it.
    beyond: Vec<f64>,
    /// Parts in the order they were come to.
    visited: Vec<u32>,
    hangs: Vec<Hangs>,
}

struct Frame {
    node: u32,
    by: Option<u32>,
    next: usize,
}

impl Walk {
    fn new(cells: &Cells) -> Self {
        let count = cells.cells.len();
        Self {
            order: vec![UNSEEN; count],
            low: vec![UNSEEN; count],
            beyond: cells.cells.iter().map(|cell| cell.area).collect(),
            visited: Vec::with_capacity(count),
            hangs: vec![Hangs::default(); cells.sides.len()],
        }
    }

    fn enter(&mut self, node: u32, by: Option<u32>) -> Frame {
        let seen = self.visited.len() as u32;
        self.order[node as usize] = seen;
        self.low[node as usize] = seen;
        self.visited.push(node);
        Frame { node, by, next: 0 }
    }

    fn from(&mut self, graph: &Graph, root: u32) {
        if self.order[root as usize] != UNSEEN {
            return;
        }
        let mut stack = vec![self.enter(root, None)];
        while let Some(frame) = stack.last_mut() {
            let node = frame.node;
            match graph.neighbours[node as usize].get(frame.next) {
                Some(&(cut, beyond)) => {
                    frame.next += 1;
                    if Some(cut) == frame.by {
                        continue;
                    }
                    if self.order[beyond as usize] == UNSEEN {
                        let entered = self.enter(beyond, Some(cut));
                        stack.push(entered);
                    } else {
                        self.low[node as usize] = self.low[node as usize].min(self.order[beyond as usize]);
                    }
                }
                None => {
                    let by = frame.by;
                    stack.pop();
                    if let (Some(cut), Some(before)) = (by, stack.last()) {
                        self.leave(node, before.node, cut);
                    }
                }
            }
        }
    }

    fn leave(&mut self, node: u32, before: u32, cut: u32) {
        let (node, before) = (node as usize, before as usize);
        if self.low[node] > self.order[before] {
            // What was come to since belongs to it: the walk went there through it.
            let parts = self.order[node]..self.visited.len() as u32;
            self.hangs[cut as usize] = Hangs { loose: self.beyond[node], parts };
        }
        self.low[before] = self.low[before].min(self.low[node]);
        self.beyond[before] += self.beyond[node];
    }
}
