//! From the SVG library's tree to inked shapes.

use std::collections::BTreeSet;
use std::rc::Rc;

use kurbo::{Affine, BezPath, Rect, Shape};
use usvg::{BlendMode, Group, Node, Paint, PaintOrder, Path};

use super::arcs;
use super::clip::{self, Clip};
use super::dropped::Notes;
use super::paint::{affine, path_of, tone};
use super::places::{Places, Spot};
use super::{Inked, Limits, Stroked, crossings, source, stroke};
use crate::diag::{Place, Severity};
use crate::geom::boolean::{self, Rule};
use crate::geom::{Piece, Region};

/// Farthest a coordinate may lie from the origin, in working units. Art is
/// brought to about a hundred units, so what lies beyond this is a mistake.
const FARTHEST: f64 = 1e5;
/// Largest coordinate in the file's own units: beyond it `f32` cannot tell
/// neighbouring ones apart, and such numbers come from a fault.
const LARGEST: f64 = 1e9;
/// Paint fainter than this is not there.
const FAINTEST: f64 = 0.02;

/// A walk over the tree.
#[derive(Debug)]
pub(super) struct Walk<'a> {
    /// What has been found, in paint order.
    pub(super) shapes: Vec<Inked>,
    /// Ids of all paths met, painted or not.
    pub(super) seen: BTreeSet<String>,
    /// Remarks.
    pub(super) notes: &'a mut Notes,
    /// Dashes that may still be drawn.
    pub(super) dashes: u64,
    /// Where a limit was reached, and which.
    pub(super) over: Option<(Place, String)>,
    crossings: u64,
    /// Segments of clips that may still be worked on.
    clipping: u64,
    last_clip: Option<LastClip>,
    places: &'a Places,
}

/// The clip worked out last.
#[derive(Debug)]
struct LastClip {
    /// The library's object, by address: the tree outlives the walk.
    which: *const (),
    user: Affine,
    region: Rc<Region>,
    soft: bool,
}

/// What a group hands down.
#[derive(Clone, Debug)]
struct Inherited {
    /// Takes the group's coordinates to art units.
    to_art: Affine,
    opacity: f64,
    clip: Clip,
    spot: Spot,
}

impl<'a> Walk<'a> {
    pub(super) fn new(places: &'a Places, notes: &'a mut Notes, limits: &Limits) -> Self {
        let (dashes, crossings, clipping) = (limits.dashes, limits.crossings, limits.clipping);
        Self {
            shapes: Vec::new(),
            seen: BTreeSet::new(),
            notes,
            dashes,
            over: None,
            crossings,
            clipping,
            last_clip: None,
            places,
        }
    }

    /// Whether `path` may be handed to the boolean engine; notes when not.
    pub(super) fn admits(&mut self, path: &BezPath, place: &Place) -> bool {
        let tangled = crossings::too_many(std::iter::once(path), self.crossings);
        if tangled && self.over.is_none() {
            self.over = Some((place.clone(), crossings::message(self.crossings)));
        }
        !tangled
    }

    /// Collects the shapes of the whole tree; `to_art` takes pixels to art units.
    pub(super) fn tree(&mut self, root: &Group, to_art: Affine, place: Place) {
        self.group(root, &Inherited { to_art, opacity: 1.0, clip: None, spot: Spot { place, ..Spot::default() } });
    }

    /// The shapes of a mask, apart from those collected so far.
    pub(super) fn apart(&mut self, root: &Group, to_art: Affine) -> Vec<Inked> {
        let before = std::mem::take(&mut self.shapes);
        self.group(root, &Inherited { to_art, opacity: 1.0, clip: None, spot: Spot::default() });
        std::mem::replace(&mut self.shapes, before)
    }

    fn group(&mut self, group: &Group, outer: &Inherited) {
        let mut own = outer.clone();
        own.to_art = outer.to_art * affine(group.transform());
        own.opacity *= f64::from(group.opacity().get());
        if let Some(spot) = self.places.get(group.id()) {
            own.spot = spot.clone();
        }
        self.note_effects(group, &own.spot.place);
        if let Some(path) = group.clip_path() {
            let region = self.kept_region(std::ptr::from_ref(path).cast(), own.to_art, |walk| {
                (clip::clip_region(walk, path, own.to_art), false)
            });
            own.clip = self.narrowed(&own.clip, region.0);
        }
        if let Some(mask) = group.mask() {
            let (region, soft) = self.kept_region(std::ptr::from_ref(mask).cast(), own.to_art, |walk| {
                clip::mask_region(walk, mask, own.to_art)
            });
            if soft {
                self.notes.care(
                    own.spot.place.clone(),
                    "a mask fades gradually; it was cut off where it is half light",
                    "look at the picture; draw the edge as an outline where it is not what you want",
                );
            }
            own.clip = self.narrowed(&own.clip, region);
        }
        for node in group.children() {
            match node {
                Node::Group(inner) => self.group(inner, &own),
                Node::Path(path) => self.path(path, &own),
                // Found again, with their line, when the source is searched.
                Node::Image(_) | Node::Text(_) => {}
            }
        }
    }

    /// The region of a clip or mask; many elements in a row tend to share one.
    fn kept_region(
        &mut self,
        which: *const (),
        user: Affine,
        work_out: impl FnOnce(&mut Self) -> (Region, bool),
    ) -> (Rc<Region>, bool) {
        if let Some(last) = self.last_clip.as_ref().filter(|last| last.which == which && last.user == user) {
            return (last.region.clone(), last.soft);
        }
        let (region, soft) = work_out(self);
        self.spend(&region);
        let region = Rc::new(region);
        self.last_clip = Some(LastClip { which, user, region: region.clone(), soft });
        (region, soft)
    }

    /// `outer` narrowed to `inner`.
    fn narrowed(&mut self, outer: &Clip, inner: Rc<Region>) -> Clip {
        Some(match outer {
            Some(outer) if !Rc::ptr_eq(outer, &inner) => {
                self.spend(outer);
                self.spend(&inner);
                Rc::new(boolean::intersect(outer, &inner))
            }
            _ => inner,
        })
    }

    /// Takes the cost of working on `region` off the budget.
    fn spend(&mut self, region: &Region) {
        let segments: usize = region.pieces.iter().flat_map(Piece::rings).map(|ring| ring.segs().len()).sum();
        self.clipping = self.clipping.saturating_sub(segments as u64 + 1);
        if self.clipping == 0 && self.over.is_none() {
            self.over = Some((Place::default(), "its clip paths and masks are too many or too intricate".to_owned()));
        }
    }

    fn note_effects(&mut self, group: &Group, place: &Place) {
        if !group.filters().is_empty() {
            self.notes.care(
                place.clone(),
                "a filter (blur, shadow …) was left off; the shape under it was used as drawn",
                "look at the picture; redraw the effect as shapes where it matters",
            );
        }
        if group.blend_mode() != BlendMode::Normal {
            self.notes.care(
                place.clone(),
                "a blend mode was left off; paint simply covers what is below",
                "look at the picture; redraw the overlap as shapes where it matters",
            );
        }
    }

    fn path(&mut self, path: &Path, outer: &Inherited) {
        let mut spot = outer.spot.clone();
        if !path.id().is_empty() {
            self.seen.insert(path.id().to_owned());
            if let Some(own) = self.places.get(path.id()) {
                spot = own.clone();
            }
        }
        if !path.is_visible() {
            return;
        }
        let mut own = path_of(path.data());
        if source::is_marked_round(path) {
            own = arcs::finer_quarters(&own);
        }
        let reachable = largest(&own) <= LARGEST && within_reach(outer.to_art * own.bounding_box().to_path(0.1));
        if !reachable {
            self.notes.care(
                spot.place,
                "a shape lies impossibly far out or has coordinates that are not numbers; it was left out",
                "delete it, or draw it again near the rest",
            );
            return;
        }
        let inherited = Inherited { spot, ..outer.clone() };
        let (fill_first, parts) = (path.paint_order() == PaintOrder::FillAndStroke, (path.fill(), path.stroke()));
        if fill_first {
            self.fill(path, &own, &inherited);
        }
        if parts.1.is_some() {
            self.stroke(path, &own, &inherited);
        }
        if !fill_first {
            self.fill(path, &own, &inherited);
        }
    }

    fn fill(&mut self, path: &Path, own: &BezPath, outer: &Inherited) {
        let Some(fill) = path.fill() else { return };
        let (tone, divided) = tone(fill.paint(), f64::from(fill.opacity().get()) * outer.opacity, own);
        self.note_flattened(fill.paint(), divided, &outer.spot.place);
        let area = outer.to_art * own.clone();
        self.ink(Inked::area(area, clip::rule_of(fill.rule()), tone, &outer.spot), outer);
    }

    fn stroke(&mut self, path: &Path, own: &BezPath, outer: &Inherited) {
        let Some(style) = path.stroke() else { return };
        let (tone, divided) = tone(style.paint(), f64::from(style.opacity().get()) * outer.opacity, own);
        self.note_flattened(style.paint(), divided, &outer.spot.place);
        if !self.admits(own, &outer.spot.place) {
            return;
        }
        let (area, solid) = stroke::area(own, style, outer.to_art, &mut self.dashes);
        if solid {
            self.notes.care(
                outer.spot.place.clone(),
                "a dashed line has too many dashes; it was taken as solid",
                "draw it solid, or with longer dashes",
            );
        }
        let width = f64::from(style.width().get()) * outer.to_art.determinant().abs().sqrt();
        let mut inked = Inked::area(area, Rule::NonZero, tone, &outer.spot);
        let (dashed, filled) = (style.dasharray().is_some() && !solid, path.fill().is_some());
        inked.line = Some(Stroked { centre: outer.to_art * own.clone(), width, dashed, filled });
        self.ink(inked, outer);
    }

    fn note_flattened(&mut self, paint: &Paint, divided: bool, place: &Place) {
        if matches!(paint, Paint::Pattern(_)) {
            self.notes.care(
                place.clone(),
                "a pattern was taken as one flat tone",
                "fill the shape plain black or white, or draw the pattern's shapes out",
            );
        } else if divided {
            self.notes.care(
                place.clone(),
                "a gradient is dark on one part of the shape and light on another; it was taken as one flat tone",
                "fill the shape plain black or white, or draw the dark part as a shape of its own",
            );
        }
    }

    /// Keeps a shape, clipped, if there is anything of it to see.
    fn ink(&mut self, mut inked: Inked, outer: &Inherited) {
        let seen = inked.opacity >= FAINTEST && within_reach(inked.bounds.to_path(0.1));
        if !seen || !self.admits(&inked.path, &outer.spot.place) {
            return;
        }
        if let Some(region) = outer.clip.as_deref().filter(|region| !clip::holds(region, inked.bounds)) {
            self.spend(region);
            if self.over.is_some() {
                return;
            }
            let area = boolean::resolve(&inked.path, inked.rule);
            inked.path = boolean::intersect(&area, region).to_path();
            inked.rule = Rule::NonZero;
            inked.bounds = inked.path.bounding_box();
            inked.line = None;
        }
        if !inked.path.elements().is_empty() {
            self.shapes.push(inked);
        }
    }
}

fn largest(path: &BezPath) -> f64 {
    let b = path.bounding_box();
    [b.x0, b.y0, b.x1, b.y1]
        .iter()
        .fold(0.0, |most: f64, v| if v.is_finite() { most.max(v.abs()) } else { f64::INFINITY })
}

fn within_reach(path: BezPath) -> bool {
    let bounds: Rect = path.bounding_box();
    [bounds.x0, bounds.y0, bounds.x1, bounds.y1].iter().all(|v| v.is_finite() && v.abs() <= FARTHEST)
}

impl Notes {
    /// A remark that something may come out other than drawn.
    pub(super) fn care(&mut self, place: Place, message: &str, advice: &str) {
        self.left_out(Severity::Care, place, message, advice);
    }
}
