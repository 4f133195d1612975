//! What hangs on which bridge.

use crate::geom::cells::Cells;

/// What breaking one bridge would set loose.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Hangs {
    /// Area that would come loose, mm²; 0 when both sides stay held.
    pub(crate) loose: f64,
}

/// For every cut of `cells`, what its breaking sets loose. `holds` says which
/// cuts join wood (places of no width do not), `anchors` which parts are held by
/// the panel's edge.
///
/// The parts are the nodes and the bridges the edges of a graph. A bridge no
/// circle of others goes round is the only hold of what lies beyond it (the
/// bridges of a graph in the usual sense: Tarjan's low-link numbers, 1974).
pub(crate) fn hangs(cells: &Cells, holds: &[bool], anchors: &[u32]) -> Vec<Hangs> {
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
    walk.hangs
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
    seen: u32,
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
            seen: 0,
            hangs: vec![Hangs::default(); cells.sides.len()],
        }
    }

    fn enter(&mut self, node: u32, by: Option<u32>) -> Frame {
        self.order[node as usize] = self.seen;
        self.low[node as usize] = self.seen;
        self.seen += 1;
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
            self.hangs[cut as usize].loose = self.beyond[node];
        }
        self.low[before] = self.low[before].min(self.low[node]);
        self.beyond[before] += self.beyond[node];
    }
}
