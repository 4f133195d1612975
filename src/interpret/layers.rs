//! Paint order: what is still dark when the last shape has been painted.
//!
//! Dark paint adds to the dark region, lighter paint over it takes away. Done
//! one shape at a time that is quadratic, so shapes are gathered into layers:
//! a shape only has to wait for earlier shapes of the other kind that its box
//! touches. A face has a handful of layers however many shapes it has.

use crate::art::Inked;
use crate::geom::Region;
use crate::geom::boolean;

/// What paint does to the region.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Effect {
    /// Makes dark.
    Adds,
    /// Makes light what was dark.
    Takes,
}

/// What `shape` does at `threshold`; `None` when it changes nothing: paint too
/// thin to darken paper and too thin to lighten what is dark.
pub(super) fn effect(shape: &Inked, threshold: f64) -> Option<Effect> {
    let on_paper = shape.darkness * shape.opacity;
    let on_dark = 1.0 - shape.opacity * (1.0 - shape.darkness);
    if on_paper >= threshold {
        Some(Effect::Adds)
    } else if on_dark < threshold {
        Some(Effect::Takes)
    } else {
        None
    }
}

/// What is dark when everything is painted.
pub(super) fn dark_region(shapes: &[&Inked], threshold: f64) -> Region {
    let acting: Vec<(Effect, &Inked)> = shapes.iter().filter_map(|s| Some((effect(s, threshold)?, *s))).collect();
    let mut dark = Region::default();
    for (effect, members) in layers(&acting) {
        let areas: Vec<Region> = members.iter().map(|s| boolean::resolve(&s.path, s.rule)).collect();
        dark = match effect {
            Effect::Adds if dark.is_empty() && areas.len() == 1 => areas.into_iter().next().unwrap_or_default(),
            Effect::Adds => boolean::union_all(areas.iter().chain([&dark])),
            Effect::Takes => boolean::subtract(&dark, &boolean::union_all(&areas)),
        };
    }
    dark
}

/// Sorts shapes into layers; layer by layer gives the same picture as shape by
/// shape. Layers alternate between adding and taking.
fn layers<'a>(acting: &[(Effect, &'a Inked)]) -> Vec<(Effect, Vec<&'a Inked>)> {
    let mut layers: Vec<(Effect, Vec<&Inked>)> = Vec::new();
    for &(effect, shape) in acting {
        // The topmost layer with a touching shape decides how low this one may go.
        let touching = layers
            .iter()
            .rposition(|(_, members)| members.iter().any(|m| m.bounds.inflate(1e-3, 1e-3).overlaps(shape.bounds)));
        let lowest = match touching {
            None if effect == Effect::Takes => continue,
            None => 0,
            Some(index) if layers[index].0 == effect => index,
            Some(index) => index + 1,
        };
        match layers.iter().skip(lowest).position(|(e, _)| *e == effect) {
            Some(ahead) => layers[lowest + ahead].1.push(shape),
            None => layers.push((effect, vec![shape])),
        }
    }
    layers
}
