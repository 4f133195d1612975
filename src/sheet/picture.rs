//! The picture: the face as it will look in wood, with what was found.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::flow::line;
use super::numbers::{self, Openings};
use super::place::Placer;
use super::{Ink, Layer, Mark, Path, Sheet, Stroke, Text, style, symbols};
use crate::diag::{Finding, FindingKind, Severity};
use crate::outcome::Outcome;
use crate::units::Mm;

/// Fresh cedar.
const WOOD: Ink = Ink::rgb(222, 184, 135);
/// Its darker lines.
const GRAIN: Ink = Ink::rgb(208, 166, 115);
/// The dark inside seen through an opening.
const INSIDE: Ink = Ink::rgb(62, 44, 32);
/// The shadowed edge of the board.
const EDGE: Ink = Ink::rgb(150, 112, 72);
/// The board's shadow on the ground.
const SHADOW: Ink = Ink::rgb(216, 208, 196);
/// The ground the board lies on.
const TABLE: Ink = Ink::rgb(250, 248, 244);

/// Space round the panel, mm.
pub(super) const AROUND: f64 = 8.0;
/// Findings marked; the rest would bury the face.
const MARKED: usize = 24;

/// The panel in wood, its openings, and the findings by name.
#[must_use]
pub fn picture(outcome: &Outcome, name: &str) -> Sheet {
    let panel = outcome.face.panel.rect();
    let (width, height) = (panel.width() + 2.0 * AROUND, panel.height() + 2.0 * AROUND);
    let mut sheet = Sheet::new(name, Mm::new(width), Mm::new(height));
    let shift = Affine::translate((AROUND, AROUND));
    let marks = board(outcome).into_iter().chain(findings(outcome));
    sheet.marks.extend(marks.map(|mark| mark.transformed(shift)));
    sheet
}

/// The board with its openings, panel space. The grain runs past the board and
/// is covered by the ground round it: cheaper to draw than a clip.
pub(super) fn board(outcome: &Outcome) -> Vec<Mark> {
    let panel = outcome.face.panel.rect();
    let outline = panel.to_path(1e-3);
    let round: BezPath =
        panel.inflate(AROUND, AROUND).to_path(1e-3).into_iter().chain(outline.reverse_subpaths()).collect();
    let (right, low) = (Vec2::new(0.9, 0.0), Vec2::new(0.0, -0.9));
    let corners = [Point::new(panel.x0, panel.y0), Point::new(panel.x1, panel.y0), Point::new(panel.x1, panel.y1)];
    let [a, b, c] = corners;
    let shadow = symbols::polygon(&[a + right + low, b + right + low, c + right + low, c + low, b, a + right]);
    let cuts: BezPath = outcome.face.cutouts.iter().flat_map(|cutout| cutout.piece.to_path()).collect();
    vec![
        Mark::new(Layer::Wood, Path::fill(outline.clone(), WOOD)),
        Mark::new(Layer::Wood, Path::stroke(grain(panel, outcome.face.panel.grain_deg), Stroke::new(0.3, GRAIN))),
        Mark::new(Layer::Wood, Path::fill(round, TABLE)),
        Mark::new(Layer::Wood, Path::fill(shadow, SHADOW)),
        Mark::new(Layer::Wood, Path::stroke(outline, Stroke::new(0.5, EDGE))),
        Mark::new(Layer::CutLines, Path::fill(cuts, INSIDE).outlined(Stroke::new(0.35, EDGE))),
    ]
}

/// Quiet lines along the grain: always the same, so that pictures are.
fn grain(panel: Rect, grain_deg: f64) -> BezPath {
    let middle = panel.center();
    let (sin, cos) = grain_deg.to_radians().sin_cos();
    let half = |along: f64, across: f64| (panel.width() * along.abs() + panel.height() * across.abs()) / 2.0;
    let (reach, side) = (half(cos, sin), half(sin, cos));
    let turn = Affine::translate(middle.to_vec2()) * Affine::rotate(grain_deg.to_radians());
    let mut lines = BezPath::new();
    let mut y = -side;
    let mut step = 0u32;
    while y < side {
        let sway = 1.6 * (f64::from(step) * 1.7).sin();
        lines.move_to(turn * Point::new(-reach, y));
        let third = reach * 2.0 / 3.0;
        lines.curve_to(
            turn * Point::new(-reach + third, y + sway),
            turn * Point::new(reach - third, y - sway),
            turn * Point::new(reach, y),
        );
        y += 4.2 + 1.9 * (f64::from(step) * 2.3).sin();
        step += 1;
    }
    lines
}

/// Short name of a finding: `bridge-3` as `B3`; one without a sign by its kind.
#[must_use]
pub fn short_name(finding: &Finding) -> String {
    let letter = match finding.kind {
        FindingKind::Island => "I",
        FindingKind::WeakBridge => "B",
        FindingKind::TightTurn => "T",
        FindingKind::NarrowSlot => "S",
        FindingKind::NoEntry => "E",
        FindingKind::OverClearance => "C",
        kind => return kind.name().replace('-', " "),
    };
    match finding.id.rsplit_once('-') {
        Some((_, number)) if number.parse::<u32>().is_ok() => format!("{letter}{number}"),
        _ => finding.id.clone(),
    }
}

/// Labels with leaders for the worst findings.
fn findings(outcome: &Outcome) -> Vec<Mark> {
    let panel = outcome.face.panel.rect();
    let mut placer = Placer::new(panel.inflate(AROUND - 1.0, AROUND - 1.0));
    for cutout in &outcome.face.cutouts {
        placer.line(&cutout.piece.to_path());
    }
    let placed = outcome.findings.iter().filter_map(|finding| finding.at.map(|at| (finding, at)));
    let placed: Vec<_> = placed.filter(|(finding, _)| finding.severity > Severity::Note).take(MARKED).collect();
    for (_, at) in &placed {
        placer.take(Rect::from_center_size(*at, (2.4, 2.4)));
    }
    let mut marks = Vec::new();
    for (finding, at) in placed {
        let (layer, ink) = look(finding);
        let name = short_name(finding);
        let size = (crate::font::width(&name, 3.4, crate::font::Weight::Bold) + 2.4, 4.6);
        let Some(spot) = placer.beside(at, size, 2.0, |_| 0.0) else { continue };
        let foot = Point::new(at.x.clamp(spot.rect.x0, spot.rect.x1), at.y.clamp(spot.rect.y0, spot.rect.y1));
        marks.push(Mark::new(layer, Path::stroke(line(at, foot), Stroke::new(0.4, Ink::WHITE))));
        marks.push(Mark::new(layer, Path::stroke(line(at, foot), Stroke::new(0.25, ink))));
        marks.push(Mark::new(layer, Path::fill(symbols::circle(at, 1.1), ink).outlined(Stroke::new(0.3, Ink::WHITE))));
        let plate = kurbo::RoundedRect::from_rect(spot.rect, 1.4).to_path(1e-2);
        marks.push(Mark::new(layer, Path::fill(plate, ink).outlined(Stroke::new(0.3, Ink::WHITE))));
        marks.push(Mark::new(layer, Text::new(name, spot.rect.center(), 3.4).bold().ink(Ink::WHITE).centred()));
    }
    marks
}

/// Layer and colour of a finding; the darker the worse, so that it reads in grey.
fn look(finding: &Finding) -> (Layer, Ink) {
    let layer = match finding.kind {
        FindingKind::Island => Layer::Islands,
        FindingKind::WeakBridge => Layer::WeakSpots,
        FindingKind::TightTurn | FindingKind::NarrowSlot => Layer::Turns,
        _ => Layer::Notes,
    };
    let ink = match finding.severity {
        Severity::Stop => Ink::rgb(156, 28, 28),
        Severity::Care => Ink::rgb(28, 92, 120),
        Severity::Note => style::QUIET,
    };
    (layer, ink)
}

/// `mark`, cut off at `frame` when it reaches beyond.
pub(super) fn within(frame: Rect, mark: Mark) -> Mark {
    let over = match &mark.shape {
        super::Shape::Path(path) => {
            let wide = frame.inflate(1e-6, 1e-6);
            wide.union(path.path.bounding_box()) != wide
        }
        _ => false,
    };
    if !over {
        return mark;
    }
    Mark::new(mark.layer, super::Shape::Clip { outline: frame.to_path(1e-3), marks: vec![mark] })
}

/// A small black-and-white picture with the cut-outs' numbers, inside `area`;
/// for the bench sheet.
#[must_use]
pub fn small(outcome: &Outcome, area: Rect) -> Vec<Mark> {
    let panel = outcome.face.panel.rect();
    let scale = (area.width() / panel.width()).min(area.height() / panel.height());
    let corner = Point::new(area.center().x - panel.width() * scale / 2.0, area.y1 - panel.height() * scale);
    let place = Affine::translate(corner.to_vec2()) * Affine::scale(scale);
    let cuts: BezPath = outcome.face.cutouts.iter().flat_map(|cutout| cutout.piece.to_path()).collect();
    let frame = place.transform_rect_bbox(panel);
    let openings = Path::fill(place * &cuts, Ink::grey(190)).outlined(Stroke::new(style::FINE, style::INK));
    let mut marks = vec![
        within(frame, Mark::new(Layer::Notes, openings)),
        Mark::new(Layer::Notes, Path::stroke(frame.to_path(1e-3), style::outline())),
    ];
    let mut placer = Placer::new(frame.inset(-0.6));
    placer.line(&(place * &cuts));
    let width = |number: u32| crate::font::width(&number.to_string(), style::SMALL, crate::font::Weight::Bold);
    let size = |number: u32| (width(number) + 1.0, 2.4);
    let numbers = Openings::of(outcome, place).numbers(&mut placer, numbers::Shape::Box, size);
    let leaders = numbers.iter().filter_map(|(_, spot)| spot.leader);
    marks.extend(leaders.flat_map(|(from, to)| symbols::leader(Layer::Notes, from, to, false)));
    for (number, spot) in numbers {
        let plate = kurbo::RoundedRect::from_rect(spot.rect, 0.8).to_path(1e-2);
        let figures = Text::new(number.to_string(), spot.rect.center(), style::SMALL).bold().ink(style::INK).centred();
        marks.extend([Mark::new(Layer::Notes, Path::fill(plate, Ink::WHITE)), Mark::new(Layer::Notes, figures)]);
    }
    marks
}
