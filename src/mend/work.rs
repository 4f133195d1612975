//! The face under work: what every mender reads.

use kurbo::{Point, Rect, Vec2};

use super::candidates::Span;
use super::symmetry::Mirror;
use super::wood::Wood;
use super::{Aim, EditKind, Options, Ruling};
use crate::check;
use crate::face::Face;
use crate::geom::Region;
use crate::trade::blades::Pass;
use crate::trade::strength;
use crate::units::Mm;

/// Margin above a needed width, mm, so that a mended place measures sound:
/// three times the finest length a report states.
pub(super) const MARGIN: f64 = 0.03;

/// An edit not yet numbered.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) kind: EditKind,
    pub(super) finding: Option<String>,
    pub(super) at: Point,
    pub(super) change: super::Change,
    pub(super) width: Option<f64>,
    pub(super) length: Option<f64>,
    pub(super) why: String,
    /// Whether the next draft is its mirror image.
    pub(super) paired: bool,
}

/// Edits of one kind nearer than this are at the same place, mm: half the
/// smallest bridge.
pub const SAME_PLACE: f64 = 1.5;

/// How freely weak bars are propped. None is best for every face: props cost
/// least, but one calls for another in crowded art.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Props {
    /// Wherever that costs least.
    Free,
    /// Not a bar that a prop of an earlier round stands against.
    Once,
    /// Never.
    Never,
}

/// The face as it stands in one round.
pub(super) struct Work<'a> {
    pub(super) face: &'a Face,
    pub(super) wood: Wood,
    pub(super) mirror: Option<Mirror>,
    pub(super) options: &'a Options,
    pub(super) rulings: &'a [Ruling],
    pub(super) props: Props,
    /// Middles of the props of earlier rounds.
    pub(super) stood: Vec<Point>,
    /// Rounds made before.
    pub(super) round: u32,
}

/// What would fail is widened to this many times the width under which it does: read
/// back from its file a free length or an angle comes out a little otherwise, and the
/// width with it. Ours; on silhouettes it was up to 6 %, mostly under 3.
pub(super) const SURE: f64 = 1.05;

impl Work<'_> {
    /// Unit vector along the grain.
    pub(super) fn grain(&self) -> Vec2 {
        Vec2::from_angle(self.face.panel.grain_deg.to_radians())
    }

    /// Angle of a direction to the grain, degrees, 0 to 90.
    pub(super) fn grain_deg(&self, dir: Vec2) -> f64 {
        let cosine = dir.normalize().dot(self.grain()).abs().min(1.0);
        libm::acos(cosine).to_degrees()
    }

    fn rule(&self, span: Span) -> strength::Needed {
        let Span { length, grain_deg, hold, reach } = span;
        let (free_length, reach) = (Mm::new(length), Mm::new(reach));
        let span = strength::Span { thickness: self.face.panel.thickness, free_length, reach, grain_deg, hold };
        self.options.checks.bridge.needed(&self.options.checks.wood, &span)
    }

    /// Width the rule asks for, mm.
    pub(super) fn needed(&self, span: Span) -> f64 {
        self.rule(span).width.get()
    }

    /// Width wood that is there already is widened to over a span, mm.
    pub(super) fn asked_over(&self, span: Span) -> f64 {
        let needed = self.rule(span);
        match self.options.aim {
            Aim::Sound => needed.width.get(),
            Aim::Stops => SURE * needed.stop_width().get(),
        }
    }

    /// Margin above the width a weak bridge needs, mm: where edits keep falling
    /// short of each other by a hair it grows.
    pub(super) fn margin(&self) -> f64 {
        MARGIN * f64::from(1 + self.round / 4)
    }

    /// Width a weak bridge is widened to, mm.
    pub(super) fn asked(&self, bridge: &check::Bridge) -> f64 {
        match self.options.aim {
            Aim::Sound => bridge.needed,
            Aim::Stops => SURE * bridge.stop_width,
        }
    }

    /// Radius of a bend round the waste that the blade follows turned slowly.
    pub(super) fn inside_radius(&self) -> f64 {
        let blade = &self.options.checks.blade;
        (blade.tightest(Pass::Slow) + blade.kerf / 2.0).get()
    }

    /// Radius of the flares at the ends of bridges, mm.
    pub(super) fn fillet(&self) -> f64 {
        /// Flares smaller than this are not worth drawing, larger ones show.
        const SEEN: (f64, f64) = (0.6, 2.5);
        self.options.fillet.map_or_else(|| self.inside_radius().clamp(SEEN.0, SEEN.1), Mm::get)
    }

    /// Where waste may be opened up: in the window, and as far past it as the openings
    /// reach already; on a symmetric face only where that holds of the mirror image too.
    pub(super) fn room(&self) -> Rect {
        let openings = self.face.cutouts.iter().map(|cutout| cutout.piece.bounds());
        let room = openings.fold(self.face.window(), |room, opening| room.union(opening));
        self.mirror.map_or(room, |mirror| room.intersect(mirror.affine().transform_rect_bbox(room)))
    }

    /// The ruling on an edit of `kind` at `at`.
    pub(super) fn ruling(&self, kind: EditKind, at: Point) -> Option<&Ruling> {
        self.rulings.iter().find(|r| r.kind == kind && r.at.distance(at) < SAME_PLACE)
    }

    /// Whether an edit of `kind` at `at` was refused.
    pub(super) fn refused(&self, kind: EditKind, at: Point) -> bool {
        self.ruling(kind, at).is_some_and(|ruling| ruling.width.is_none())
    }

    /// Whether a boundary spot lies on the panel's own edge.
    pub(super) fn on_panel(&self, p: Point) -> bool {
        let panel = self.face.panel.rect();
        let near = |a: f64, b: f64| (a - b).abs() < 1e-3;
        near(p.x, panel.x0) || near(p.x, panel.x1) || near(p.y, panel.y0) || near(p.y, panel.y1)
    }
}

/// `region` mirrored.
pub(super) fn mirrored(region: &Region, mirror: Mirror) -> Region {
    region.transformed(mirror.affine())
}

/// Keeps symmetry: each draft right of the axis (or left of it with no like
/// draft on the right) is followed by its mirror image; one on the axis is made
/// its own image. Without a mirror, the drafts as they are.
pub(super) fn in_pairs(drafts: Vec<Draft>, mirror: Option<Mirror>) -> Vec<Draft> {
    let Some(mirror) = mirror else { return drafts };
    let has_image = |draft: &Draft| {
        let image = mirror.of(draft.at);
        drafts.iter().find(|d| d.kind == draft.kind && d.at.distance(image) < SAME_PLACE)
    };
    let mut paired = Vec::new();
    for draft in &drafts {
        let off = draft.at.x - mirror.axis;
        let image = has_image(draft);
        if off < -SAME_PLACE / 2.0 && image.is_some() {
            continue;
        }
        let finding = image.and_then(|d| d.finding.clone());
        if off.abs() <= SAME_PLACE / 2.0 || is_own_image(draft, mirror) {
            paired.push(self_mirrored(draft, mirror));
        } else {
            paired.push(Draft { paired: true, ..draft.clone() });
            paired.push(Draft { finding, ..image_of(draft, mirror) });
        }
    }
    paired
}

/// Whether a draft reaches as far on both sides of the axis: its neck may lie beside it.
fn is_own_image(draft: &Draft, mirror: Mirror) -> bool {
    let bounds = draft.change.shape().bounds();
    let image = mirror.affine().transform_rect_bbox(bounds);
    (bounds.x0 - image.x0).abs() < SAME_PLACE
}

fn self_mirrored(draft: &Draft, mirror: Mirror) -> Draft {
    use super::Change::{GiveBack, OpenUp};
    let both = |r: &Region| crate::geom::boolean::union(r, &mirrored(r, mirror));
    let change = match &draft.change {
        GiveBack(r) => GiveBack(both(r)),
        OpenUp(r) => OpenUp(both(r)),
    };
    Draft { change, ..draft.clone() }
}

/// The mirror image of a draft.
pub(super) fn image_of(draft: &Draft, mirror: Mirror) -> Draft {
    use super::Change::{GiveBack, OpenUp};
    let change = match &draft.change {
        GiveBack(r) => GiveBack(mirrored(r, mirror)),
        OpenUp(r) => OpenUp(mirrored(r, mirror)),
    };
    Draft { at: mirror.of(draft.at), change, paired: false, ..draft.clone() }
}
