//! Clip paths and masks, as regions that keep what lies inside them.

use std::rc::Rc;

use kurbo::{Affine, BezPath, PathSeg, Rect, Shape};
use usvg::{ClipPath, Group, Mask, MaskType, Node};

use super::Inked;
use super::paint::{affine, path_of};
use super::walk::Walk;
use crate::diag::Place;
use crate::geom::boolean::{self, Rule};
use crate::geom::{Piece, Region};

/// The region inside everything that clips a shape; `None` clips nothing.
pub(super) type Clip = Option<Rc<Region>>;

/// Whether `region` is an upright rectangle that holds all of `bounds`: the
/// clip every nested `svg` and `symbol` brings along and hardly ever needs.
pub(super) fn holds(region: &Region, bounds: Rect) -> bool {
    let [Piece { outer, holes }] = region.pieces.as_slice() else { return false };
    let upright = |seg: &PathSeg| matches!(seg, PathSeg::Line(l) if l.p0.x == l.p1.x || l.p0.y == l.p1.y);
    holes.is_empty() && outer.segs().len() == 4 && outer.segs().iter().all(upright) && {
        let bounds_of = outer.bounds();
        bounds_of.union(bounds) == bounds_of
    }
}

/// What `clip` keeps, in art units; `user` takes the clipped group's own
/// coordinates there.
pub(super) fn clip_region(walk: &mut Walk, clip: &ClipPath, user: Affine) -> Region {
    let own = user * affine(clip.transform());
    let region = group_region(walk, clip.root(), own);
    match clip.clip_path() {
        Some(further) => boolean::intersect(&region, &clip_region(walk, further, user)),
        None => region,
    }
}

fn group_region(walk: &mut Walk, group: &Group, parent: Affine) -> Region {
    let own = parent * affine(group.transform());
    let mut parts = Vec::new();
    for node in group.children() {
        match node {
            Node::Group(g) => parts.push(group_region(walk, g, own)),
            Node::Path(path) if path.is_visible() => {
                let rule = path.fill().map_or(Rule::NonZero, |fill| rule_of(fill.rule()));
                let path = own * path_of(path.data());
                if walk.admits(&path, &Place::default()) {
                    parts.push(boolean::resolve(&path, rule));
                }
            }
            _ => {}
        }
    }
    let all = boolean::union_all(&parts);
    match group.clip_path() {
        Some(clip) => boolean::intersect(&all, &clip_region(walk, clip, own)),
        None => all,
    }
}

/// What `mask` keeps, in art units: where it is more light than not. The second
/// part tells whether the mask is soft, so that this is a guess.
pub(super) fn mask_region(walk: &mut Walk, mask: &Mask, user: Affine) -> (Region, bool) {
    let shapes = walk.apart(mask.root(), user);
    let light = |s: &Inked| if mask.kind() == MaskType::Alpha { 1.0 } else { 1.0 - s.darkness };
    let soft = shapes.iter().any(|s| (0.15..0.85).contains(&(light(s) * s.opacity)));
    let mut kept = light_region(&shapes, light);
    let rect = mask.rect().to_rect();
    let frame: BezPath =
        Rect::new(rect.left().into(), rect.top().into(), rect.right().into(), rect.bottom().into()).to_path(0.1);
    kept = boolean::intersect(&kept, &boolean::resolve(&(user * frame), Rule::NonZero));
    match mask.mask() {
        Some(further) => {
            let (region, further_soft) = mask_region(walk, further, user);
            (boolean::intersect(&kept, &region), soft || further_soft)
        }
        None => (kept, soft),
    }
}

/// Paints `shapes` over black; keeps what ends up at least half light.
fn light_region(shapes: &[Inked], light: impl Fn(&Inked) -> f64) -> Region {
    let adds = |s: &Inked| {
        let (light, opacity) = (light(s), s.opacity);
        if light * opacity >= 0.5 {
            Some(true)
        } else if 1.0 - opacity * (1.0 - light) >= 0.5 {
            None
        } else {
            Some(false)
        }
    };
    let mut kept = Region::default();
    let marked: Vec<(bool, &Inked)> = shapes.iter().filter_map(|s| Some((adds(s)?, s))).collect();
    for run in marked.chunk_by(|a, b| a.0 == b.0) {
        let parts: Vec<Region> = run.iter().map(|(_, s)| boolean::resolve(&s.path, s.rule)).collect();
        let all = boolean::union_all(&parts);
        kept = if run[0].0 { boolean::union(&kept, &all) } else { boolean::subtract(&kept, &all) };
    }
    kept
}

/// The library's fill rule as ours.
pub(super) const fn rule_of(rule: usvg::FillRule) -> Rule {
    match rule {
        usvg::FillRule::NonZero => Rule::NonZero,
        usvg::FillRule::EvenOdd => Rule::EvenOdd,
    }
}
