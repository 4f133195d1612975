//! The panel as the template shows it, in panel space: cut lines, waste, entry
//! holes, numbers, weak spots, zones, nails, centre marks and grain.

mod names;

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::edges::{Flaps, centre_marks, centres, outline};
use super::flow::line;
use names::{NAME, shared_drill};

use super::numbers::{self, Openings};
use super::picture::within;
use super::place::Placer;
use super::{Layer, Mark, Path, Shape, Stroke, Text, hatch, style, symbols};
use crate::check::{Bank, Bridge};
use crate::diag::Severity;
use crate::font::{self, Weight};
use crate::outcome::Outcome;

/// Distance between hatch lines, mm.
const HATCH_SPACING: f64 = 1.7;
/// Signs of one kind drawn, worst first; more would hide the face.
const MOST_SIGNS: usize = 300;
/// A nail's place on the panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nail {
    /// Centre of its head, panel millimetres.
    pub at: Point,
    /// Where its point comes to; the same place for one driven square to the panel.
    pub to: Point,
}

/// What a drawing shows, for its legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shown {
    /// Lines to saw.
    CutLine,
    /// Hatched waste.
    Waste,
    /// Entry holes.
    Hole,
    /// Order numbers.
    Order,
    /// Islands.
    Island,
    /// Weak bridges.
    Bridge,
    /// Openings that touch.
    Contact,
    /// Tight turns.
    Turn,
    /// Turns the blade follows when it is led slowly.
    SlightTurn,
    /// Narrow slots.
    Slot,
    /// Places with no room for an entry hole.
    NoEntry,
    /// Places where the face reaches into a clearance.
    Over,
    /// Clearances.
    Zone,
    /// Nails.
    Nail,
    /// Nails driven in from the panel's edge.
    EdgeNail,
    /// Folds.
    Fold,
    /// Centre marks.
    Centre,
    /// The grain.
    Grain,
}

/// The panel's marks, panel space, and what they show.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// In painting order.
    pub marks: Vec<Mark>,
    /// For the legend.
    pub shown: BTreeSet<Shown>,
    /// The drill of all holes, when they share one; names then leave it out.
    pub drill: Option<String>,
}

/// Draws the face of `outcome` with its flaps and nails. Of weak spots, slots and turns
/// those in `told` are named; a name that is told nowhere helps nobody.
#[must_use]
pub fn draw(outcome: &Outcome, flaps: &Flaps, nails: &[Nail], told: &BTreeSet<String>) -> Drawing {
    let mut pen = Pen::new(outcome, told);
    pen.ground(flaps);
    pen.signs(nails);
    pen.order_numbers();
    pen.turns();
    pen.flags();
    pen.names();
    pen.turn_names();
    pen.grain();
    pen.zone_word();
    pen.finish()
}

struct Pen<'a> {
    outcome: &'a Outcome,
    told: &'a BTreeSet<String>,
    placer: Placer,
    openings: Openings,
    under: Vec<Mark>,
    /// Under plates and discs, so that none strikes a number through.
    leaders: Vec<Mark>,
    plates: Vec<Mark>,
    over: Vec<Mark>,
    shown: BTreeSet<Shown>,
    /// The middle of each turn's sign, by its place in the list.
    turn_signs: Vec<Option<Point>>,
}

impl<'a> Pen<'a> {
    fn new(outcome: &'a Outcome, told: &'a BTreeSet<String>) -> Self {
        let mut placer = Placer::new(outcome.face.panel.rect());
        for cutout in &outcome.face.cutouts {
            placer.line(&cutout.piece.to_path());
        }
        let (panel, window) = (outcome.face.panel.rect(), outcome.face.window());
        if window.width() > 0.0 && window.height() > 0.0 && window != panel {
            placer.guide(&window.to_path(1e-3));
        }
        for at in centres(panel) {
            placer.take(Rect::from_center_size(at, (4.0, 4.0)));
        }
        Self {
            outcome,
            told,
            placer,
            openings: Openings::of(outcome, Affine::IDENTITY),
            under: Vec::new(),
            leaders: Vec::new(),
            plates: Vec::new(),
            over: Vec::new(),
            shown: BTreeSet::new(),
            turn_signs: Vec::new(),
        }
    }

    fn finish(self) -> Drawing {
        let cuts = self.outcome.face.cutouts.iter();
        let cuts = cuts.map(|cutout| Mark::new(Layer::CutLines, Path::stroke(cutout.piece.to_path(), style::cut())));
        let marks = self.under.into_iter().chain(self.leaders).chain(self.plates).chain(cuts).chain(self.over);
        // What lies off the panel is not sawn, and would cover legend and rulers.
        let panel = self.outcome.face.panel.rect();
        let marks = marks.map(|mark| if is_of_the_face(mark.layer) { within(panel, mark) } else { mark }).collect();
        Drawing { marks, shown: self.shown, drill: shared_drill(self.outcome) }
    }

    /// What lies under everything else: zones, waste, flaps, outline, centres.
    fn ground(&mut self, flaps: &Flaps) {
        self.zones();
        let all: BezPath = self.outcome.face.cutouts.iter().flat_map(|cutout| cutout.piece.to_path()).collect();
        let lines = hatch::hatch(&all, HATCH_SPACING, 45.0);
        if !lines.is_empty() {
            let stroke = Stroke::new(style::HAIR, style::HATCH);
            self.under.push(Mark::new(Layer::Waste, Path::stroke(lines, stroke)));
            self.shown.extend([Shown::CutLine, Shown::Waste]);
        }
        let panel = self.outcome.face.panel.rect();
        self.under.extend(outline(panel, flaps));
        self.under.extend(centre_marks(panel, flaps));
        self.shown.insert(Shown::Centre);
        if flaps.any() {
            self.shown.insert(Shown::Fold);
        }
    }

    fn zones(&mut self) {
        let (panel, window) = (self.outcome.face.panel.rect(), self.outcome.face.window());
        if window == panel || window.width() <= 0.0 || window.height() <= 0.0 {
            return;
        }
        let stroke = Stroke::new(0.25, style::QUIET).round().dashed(&[0.01, 1.3]);
        self.under.push(Mark::new(Layer::NailZones, Path::stroke(window.to_path(1e-3), stroke)));
        self.shown.insert(Shown::Zone);
    }

    /// Signs that can stand in one place only.
    fn signs(&mut self, nails: &[Nail]) {
        for nail in nails {
            let (sign, shown) = match nail.at.distance(nail.to) < 0.5 {
                true => (symbols::nail(nail.at), Shown::Nail),
                false => (symbols::edge_nail(nail.at, nail.to), Shown::EdgeNail),
            };
            self.over.extend(sign);
            self.placer.line(&line(nail.at, nail.to));
            self.placer.take(Rect::from_center_size(nail.at, (2.6, 2.6)));
            self.shown.insert(shown);
        }
        for hole in &self.outcome.holes {
            self.over.extend(symbols::hole(hole.at, hole.diameter));
            let side = hole.diameter + 2.6;
            self.placer.take(Rect::from_center_size(hole.at, (side, side)));
            self.shown.insert(Shown::Hole);
        }
        for bridge in self.outcome.checks.bridges.iter().take(MOST_SIGNS) {
            let heads = self.heads(bridge.feet);
            let edge = bridge.between.map(|bank| bank == Bank::Edge);
            self.under_lines(symbols::bridge(bridge.feet, edge, heads, bridge.severity));
            self.take_bridge(bridge);
            self.shown.insert(if symbols::is_contact(bridge.feet) { Shown::Contact } else { Shown::Bridge });
        }
        for slot in self.outcome.checks.slots.iter().take(MOST_SIGNS) {
            self.under_lines(symbols::slot(slot.at, slot.severity));
            self.placer.take(Rect::from_center_size(slot.at, (2.8, 2.8)));
            self.shown.insert(Shown::Slot);
        }
    }

    /// Signs that may meet a saw line lie under it, so that it is never hidden.
    fn under_lines(&mut self, marks: Vec<Mark>) {
        self.plates.extend(marks);
    }

    /// Lengths of a bridge's arrowheads: shorter where other lines are near.
    fn heads(&self, feet: [Point; 2]) -> [f64; 2] {
        let (long, short) = symbols::HEAD;
        let way = (feet[1] - feet[0]).normalize();
        let head = |base: Point| if self.placer.room(base, 1.2) >= 1.0 { long } else { short };
        if feet[0].distance(feet[1]) < 0.05 {
            [long; 2]
        } else {
            [head(feet[0] - way * long), head(feet[1] + way * long)]
        }
    }

    /// Keeps names off a bridge's sign: its bar is a line, its heads are boxes.
    fn take_bridge(&mut self, bridge: &Bridge) {
        let [a, b] = bridge.feet;
        self.placer.line(&line(a, b));
        let across = b - a;
        let out = if across.hypot() < 0.05 { Vec2::ZERO } else { across.normalize() * 1.2 };
        for head in [a - out, b + out] {
            self.placer.take(Rect::from_center_size(head, (2.2, 2.2)));
        }
    }

    /// Order numbers stand in the waste when they fit, beside it when not. Their
    /// discs lie under the saw lines, as all grounds do.
    fn order_numbers(&mut self) {
        let side = |number: u32| 2.0 * symbols::disc_radius(number.to_string().len());
        let size = |number: u32| (side(number), side(number));
        for (number, spot) in self.openings.numbers(&mut self.placer, numbers::Shape::Disc, size) {
            let at = spot.rect.center();
            if let Some((from, _)) = spot.leader {
                let rim = at + (from - at).normalize() * side(number) / 2.0;
                let hole = self.outcome.holes.iter().find(|hole| hole.at.distance(from) < 0.01);
                let start = hole.map_or(from, |hole| from + (rim - from).normalize() * hole.diameter / 2.0);
                self.leaders.extend(symbols::leader(Layer::Numbers, start, rim, hole.is_some()));
            }
            let [disc, figures] = symbols::order_number(at, number);
            self.plates.push(disc);
            self.over.push(figures);
            self.shown.insert(Shown::Order);
        }
    }

    /// Turns: a sign where there is room for it.
    fn turns(&mut self) {
        for turn in self.outcome.checks.turns.iter().take(MOST_SIGNS) {
            let ways = (0..16).map(|i| Vec2::from_angle(f64::from(i) * std::f64::consts::TAU / 16.0));
            let centre = |way: Vec2| turn.at + way * 1.5;
            let room = |way: &Vec2| self.placer.room(centre(*way), 3.0);
            let way = ways.max_by(|a, b| room(a).total_cmp(&room(b)));
            self.turn_signs.push(way.map(centre));
            let Some(way) = way else { continue };
            self.under_lines(symbols::turn(turn.at, way, turn.severity));
            self.placer.take(Rect::from_center_size(centre(way), (1.9, 1.9)));
            let is_slight = turn.severity == Severity::Note;
            self.shown.insert(if is_slight { Shown::SlightTurn } else { Shown::Turn });
        }
    }

    /// The grain arrow, on wood, as long as there is room for.
    fn grain(&mut self) {
        let panel = self.outcome.face.panel;
        for length in [30.0, 22.0, 15.0] {
            let size = symbols::grain_size(length, panel.grain_deg);
            let openings = &self.openings;
            let on_wood = |p: Point| !openings.holds(p);
            if let Some(rect) = self.placer.first_clear_where(grid(panel.rect(), 3.0), size, on_wood) {
                self.over.extend(symbols::grain(rect.center(), length, panel.grain_deg));
                break;
            }
        }
        self.shown.insert(Shown::Grain);
    }

    /// The words `nail zone` in the widest clearance, where there is room.
    fn zone_word(&mut self) {
        let (panel, window) = (self.outcome.face.panel.rect(), self.outcome.face.window());
        if !self.shown.contains(&Shown::Zone) {
            return;
        }
        let (words, tall) = ("keep clear: nails", 3.0);
        let long = font::width(words, NAME, Weight::Regular) + 1.0;
        let bands = [
            (Rect::new(panel.x0, window.y1, panel.x1, panel.y1), 0.0),
            (Rect::new(panel.x0, panel.y0, panel.x1, window.y0), 0.0),
            (Rect::new(panel.x0, panel.y0, window.x0, panel.y1), 90.0),
            (Rect::new(window.x1, panel.y0, panel.x1, panel.y1), 90.0),
        ];
        for (band, angle) in bands {
            let size = if angle == 0.0 { (long, tall) } else { (tall, long) };
            if band.width() < size.0 + 1.0 || band.height() < size.1 + 1.0 {
                continue;
            }
            let (mid, slide) = (band.center(), if angle == 0.0 { Vec2::new(1.0, 0.0) } else { Vec2::new(0.0, 1.0) });
            let spots = [-0.25, 0.25, -0.33, 0.33, -0.15, 0.15]
                .map(|part| mid + slide * (part * band.width().max(band.height())));
            if let Some(rect) = self.placer.first_clear(spots, size) {
                let text = Text::new(words, rect.center(), NAME).ink(style::QUIET).turned(angle).centred();
                self.over.push(Mark::new(Layer::NailZones, Shape::Text(text)));
            }
        }
    }
}

/// Whether marks of this layer belong to the face, not to panel and flaps.
const fn is_of_the_face(layer: Layer) -> bool {
    matches!(
        layer,
        Layer::Waste
            | Layer::CutLines
            | Layer::EntryHoles
            | Layer::Numbers
            | Layer::Islands
            | Layer::WeakSpots
            | Layer::Turns
    )
}

/// Points every `step` mm, bottom row first.
fn grid(rect: Rect, step: f64) -> Vec<Point> {
    let count = |length: f64| (length / step).floor().max(0.0) as u32;
    let row = |j: u32| {
        (0..=count(rect.width())).map(move |i| Point::new(rect.x0 + f64::from(i) * step, rect.y0 + f64::from(j) * step))
    };
    (0..=count(rect.height())).flat_map(row).collect()
}
