//! Paint order: what is still dark when the last shape has been painted.
//!
//! Dark paint adds to the dark region, lighter paint over it takes away. Done
//! one shape at a time that is quadratic, so shapes are gathered into layers:
//! a shape only has to wait for earlier shapes of the other kind that its box
//! touches. A face has a handful of layers however many shapes it has.

use std::collections::BTreeMap;

use kurbo::Rect;

use crate::art::Inked;
use crate::geom::boolean;
use crate::geom::{Piece, Region};

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

/// Most segments gone through in all layers beyond the first few. Ours: a face
/// has a handful of layers; a drawing that needs a thousand is a trap or an
/// accident, and each costs the whole drawing again.
const WORK: usize = 400_000;
/// Layers that are free.
const FREE: usize = 8;

/// Too many layers of dark and light paint over one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct TooManyLayers(pub(super) usize);

/// What is dark when everything is painted.
///
/// # Errors
/// [`TooManyLayers`] when the layers would cost too much.
pub(super) fn dark_region(shapes: &[&Inked], threshold: f64) -> Result<Region, TooManyLayers> {
    let acting: Vec<(Effect, &Inked)> = shapes.iter().filter_map(|s| Some((effect(s, threshold)?, *s))).collect();
    let (mut dark, mut work) = (Region::default(), 0);
    let layers = layers(&acting);
    let count = layers.len();
    for (number, (effect, members)) in layers.into_iter().enumerate() {
        let areas: Vec<Region> = members.iter().map(|s| boolean::resolve(&s.path, s.rule)).collect();
        if number >= FREE {
            work += segments(&dark) + areas.iter().map(segments).sum::<usize>();
        }
        if work > WORK {
            return Err(TooManyLayers(count));
        }
        dark = match effect {
            Effect::Adds => boolean::union_all(areas.iter().chain([&dark])),
            Effect::Takes => boolean::subtract_all(&dark, &areas),
        };
    }
    Ok(dark)
}

fn segments(region: &Region) -> usize {
    region.pieces.iter().flat_map(Piece::rings).map(|ring| ring.segs().len()).sum()
}

/// Shapes that can be painted together.
struct Layer<'a> {
    effect: Effect,
    members: Vec<&'a Inked>,
    /// Members' boxes, sorted into square cells for looking up.
    cells: BTreeMap<(i32, i32), Vec<Rect>>,
    /// Members too large for cells.
    large: Vec<Rect>,
    cell: f64,
}

impl<'a> Layer<'a> {
    const fn new(effect: Effect, cell: f64) -> Self {
        Self { effect, members: Vec::new(), cells: BTreeMap::new(), large: Vec::new(), cell }
    }

    fn push(&mut self, shape: &'a Inked) {
        self.members.push(shape);
        match self.span(shape.bounds) {
            Some(cells) => cells.for_each(|c| self.cells.entry(c).or_default().push(shape.bounds)),
            None => self.large.push(shape.bounds),
        }
    }

    fn touches(&self, bounds: Rect) -> bool {
        let hit = |boxes: &Vec<Rect>| boxes.iter().any(|b| b.overlaps(bounds));
        hit(&self.large)
            || match self.span(bounds) {
                Some(mut cells) => cells.any(|c| self.cells.get(&c).is_some_and(hit)),
                None => self.cells.values().any(hit),
            }
    }

    /// The cells a box lies in; `None` when they are more than a few.
    fn span(&self, bounds: Rect) -> Option<impl Iterator<Item = (i32, i32)> + use<>> {
        let at = |v: f64| (v / self.cell).floor() as i32;
        let (x0, x1, y0, y1) = (at(bounds.x0), at(bounds.x1), at(bounds.y0), at(bounds.y1));
        let few = x1 - x0 < 4 && y1 - y0 < 4;
        few.then(|| (x0..=x1).flat_map(move |x| (y0..=y1).map(move |y| (x, y))))
    }
}

/// Sorts shapes into layers; layer by layer gives the same picture as shape by
/// shape. Layers alternate between adding and taking.
fn layers<'a>(acting: &[(Effect, &'a Inked)]) -> Vec<(Effect, Vec<&'a Inked>)> {
    let all = acting.iter().map(|(_, s)| s.bounds).reduce(|a, b| a.union(b)).unwrap_or_default();
    let cell = (all.width().max(all.height()) / (acting.len() as f64).sqrt()).max(1e-6);
    let mut layers: Vec<Layer> = Vec::new();
    for &(effect, shape) in acting {
        // The topmost layer with a touching shape decides how low this one may go.
        let near = shape.bounds.inflate(1e-3, 1e-3);
        let lowest = match layers.iter().rposition(|layer| layer.touches(near)) {
            None if effect == Effect::Takes => continue,
            None => 0,
            Some(index) if layers[index].effect == effect => index,
            Some(index) => index + 1,
        };
        match layers.iter().skip(lowest).position(|layer| layer.effect == effect) {
            Some(ahead) => layers[lowest + ahead].push(shape),
            None => {
                let mut layer = Layer::new(effect, cell);
                layer.push(shape);
                layers.push(layer);
            }
        }
    }
    layers.into_iter().map(|layer| (layer.effect, layer.members)).collect()
}
