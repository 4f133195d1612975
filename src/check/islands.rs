//! Wood that falls out.

use kurbo::Point;

use super::Island;
use super::site::{EDGE, Owner, Site};
use crate::geom::Spot;
use crate::geom::cells::Cells;
use crate::geom::inside::{deepest, is_inside};
use crate::geom::medial::Medial;

/// How near to the best an island's inner point must be, mm …
const DEEPEST: f64 = 0.05;
/// … and by what factor: a label stands as well with a twentieth less room.
const ENOUGH: f64 = 1.05;
/// Discs this near to the largest are as large. Derived: the 0.01 mm outlines are
/// flattened to, on a disc of 5 mm.
const AS_LARGE: f64 = 1.002;

/// The islands, and which part of the wood each is.
pub(crate) struct Islands {
    pub(crate) found: Vec<Island>,
    /// For every part, the number of the island it is.
    of_part: Vec<Option<u32>>,
}

impl Islands {
    /// The island that touches the boundary at `spot`.
    pub(crate) fn at(&self, parts: &Cells, spot: Spot) -> Option<u32> {
        self.of_part[parts.at(spot)? as usize]
    }
}

/// Every part of the wood but the one the panel's edge holds. Where cut-outs
/// part the panel's own edge the largest part counts as held.
pub(crate) fn islands(site: &Site<'_>, parts: &Cells, discs: &Medial) -> Islands {
    let area = |part: u32| parts.cells[part as usize].area;
    let held = parts.of_ring(EDGE).into_iter().max_by(|&a, &b| area(a).total_cmp(&area(b)).then(b.cmp(&a)));
    let mut loose: Vec<(u32, Point)> = (0..parts.cells.len() as u32)
        .filter(|&part| Some(part) != held)
        .map(|part| (part, inner_point(site, parts, discs, part)))
        .collect();
    // Numbered as cut-outs are: from the top down, then from the left.
    loose.sort_by(|(_, a), (_, b)| downward(*a, *b));
    let mut of_part = vec![None; parts.cells.len()];
    for (id, (part, _)) in (1..).zip(&loose) {
        of_part[*part as usize] = Some(id);
    }
    let mut islands = Islands { found: Vec::new(), of_part };
    for (id, (part, at)) in (1..).zip(loose) {
        let island = island(site, parts, &islands, id, part, at);
        islands.found.push(island);
    }
    islands
}

fn island(site: &Site<'_>, parts: &Cells, islands: &Islands, id: u32, part: u32, at: Point) -> Island {
    let around = around(site, parts, part);
    let mut within: Vec<u32> = around.iter().filter_map(|&ring| site.cutout(ring)).collect();
    within.sort_unstable();
    within.dedup();
    let beyond = around.iter().flat_map(|&ring| parts.of_ring(outer_ring(site, ring))).find(|&other| other != part);
    let inside_island = beyond.and_then(|other| islands.of_part[other as usize]);
    Island { id, within, area: parts.cells[part as usize].area, at, inside_island }
}

/// The rings round the outside of a part: holes of cut-outs, or, where several
/// cut-outs that touch ring it together, those whose outlines bound another
/// part too.
fn around(site: &Site<'_>, parts: &Cells, part: u32) -> Vec<u32> {
    let rings = &parts.cells[part as usize].rings;
    let holes: Vec<u32> =
        rings.iter().copied().filter(|&r| matches!(site.owners[r as usize], Owner::Hole(_))).collect();
    if !holes.is_empty() {
        return holes;
    }
    rings.iter().copied().filter(|&ring| parts.of_ring(ring).len() > 1).collect()
}

/// The outer ring of the cut-out that `ring` is a hole of.
fn outer_ring(site: &Site<'_>, ring: u32) -> u32 {
    let mut outer = ring;
    while outer > EDGE && matches!(site.owners[outer as usize], Owner::Hole(_)) {
        // Holes follow their cut-out's outer ring.
        outer -= 1;
    }
    outer
}

/// A point well inside: of the discs along the part's rings as large as any, the
/// middle of the uppermost. Where those are as large as any looked for, or the
/// part hangs together with others at points only, of the largest there is.
fn inner_point(site: &Site<'_>, parts: &Cells, discs: &Medial, part: u32) -> Point {
    let stations = parts.cells[part as usize].rings.iter().flat_map(|&ring| discs.of_ring(ring));
    let own = stations.map(|i| discs.station(i)).filter(|s| parts.at(site.all.spot(s.sample)) == Some(part));
    let largest = own.clone().map(|s| s.radius).fold(0.0, f64::max);
    let roomy = own.filter(|s| s.radius * AS_LARGE >= largest).map(|s| site.all.center(s));
    let loops = parts.loops(&site.all, part);
    let upmost = roomy.min_by(|a, b| downward(*a, *b)).filter(|&at| largest < discs.cap && is_inside(&loops, at));
    let middle = loops.first().and_then(|ring| ring.first()).copied().unwrap_or_default();
    upmost.or_else(|| deepest(&site.all, &loops, DEEPEST, ENOUGH).map(|(at, _)| at)).unwrap_or(middle)
}

/// From the top down, then from the left; level within half a millimetre, so that
/// the two of a pair come left and right.
fn downward(a: Point, b: Point) -> std::cmp::Ordering {
    let level = |p: Point| -(p.y * 2.0).round();
    level(a).total_cmp(&level(b)).then(a.x.total_cmp(&b.x))
}
