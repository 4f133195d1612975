//! What the signs mean, beside a sample of each.

use kurbo::{Point, Rect, Shape as _, Vec2};

use super::flow::{line, wrap};
use super::panel::{Drawing, Shown};
use super::{Ink, Layer, Mark, Path, Stroke, Text, hatch, style, symbols};
use crate::diag::Severity;
use crate::font::Weight;

/// Width kept for a sample, mm.
const SAMPLE: f64 = 9.5;
/// Height of a row of one line, mm.
const ROW: f64 = 5.6;

/// The rows for what a drawing shows, filled into `columns` columns of `area`
/// from the top; returns the marks and the height used.
#[must_use]
pub(super) fn lay(area: Rect, drawing: &Drawing, columns: usize, grain_deg: f64) -> (Vec<Mark>, f64) {
    let shown: Vec<Shown> = drawing.shown.iter().copied().collect();
    let gap = 4.0;
    let width = (area.width() - gap * (columns - 1) as f64) / columns as f64;
    let lines = |item: &Shown| wrap(&words(*item, drawing), style::SMALL, Weight::Regular, width - SAMPLE);
    let height = |item: &Shown| ROW + (lines(item).len() - 1) as f64 * style::SMALL * 1.2;
    let total: f64 = shown.iter().map(height).sum();
    let (mut marks, mut column, mut y, mut deepest) = (Vec::new(), 0, area.y1, 0.0f64);
    for item in &shown {
        let tall = height(item);
        if area.y1 - y + tall / 2.0 > total / columns as f64 && column + 1 < columns {
            (column, y) = (column + 1, area.y1);
        }
        let x = area.x0 + column as f64 * (width + gap);
        marks.extend(sample(*item, Point::new(x + SAMPLE / 2.0 - 1.0, y - tall / 2.0), grain_deg));
        marks.extend(words_at(lines(item), Point::new(x + SAMPLE, y - tall / 2.0)));
        y -= tall;
        deepest = deepest.max(area.y1 - y);
    }
    (marks, deepest)
}

/// [`lay`], with what black and white signs mean below it.
pub(super) fn with_note(area: Rect, drawing: &Drawing, columns: usize, grain_deg: f64) -> (Vec<Mark>, f64) {
    let (mut marks, mut tall) = lay(area, drawing, columns, grain_deg);
    tall += 1.0;
    for content in wrap(WEIGHT_NOTE, style::SMALL, Weight::Regular, area.width()) {
        tall += style::SMALL * 1.28;
        let at = (area.x0, area.y1 - tall + 0.3);
        marks.push(Mark::new(Layer::Notes, Text::new(content, at, style::SMALL).ink(style::QUIET)));
    }
    (marks, tall)
}

fn words_at(lines: Vec<String>, middle: Point) -> impl Iterator<Item = Mark> {
    let leading = style::SMALL * 1.2;
    let first = middle.y + (lines.len() - 1) as f64 * leading / 2.0 - style::SMALL * crate::font::CAP_HEIGHT / 2.0;
    lines.into_iter().enumerate().map(move |(i, content)| {
        let at = (middle.x, first - i as f64 * leading);
        Mark::new(Layer::Notes, Text::new(content, at, style::SMALL).ink(style::INK))
    })
}

fn words(shown: Shown, drawing: &Drawing) -> String {
    let words = match shown {
        Shown::CutLine => "saw on this line",
        Shown::Waste => "waste, sawn out",
        Shown::Hole => match &drawing.drill {
            Some(drill) => return format!("entry hole: drill {drill}"),
            None => "entry hole and its drill",
        },
        Shown::Order => "order of sawing",
        Shown::Island => "falls out",
        Shown::Bridge => "weak spot, mm wide",
        Shown::Contact => "openings touch: no wood",
        Shown::Turn => "tight turn",
        Shown::SlightTurn => "slight turn: saw it slowly",
        Shown::Slot => "narrower than the cut",
        Shown::NoEntry => "no room for an entry hole",
        Shown::Over => "reaches into what is kept clear",
        Shown::Zone => "keep clear: nails",
        Shown::Nail => "nail",
        Shown::EdgeNail => "nail driven in from the edge",
        Shown::Fold => "fold back over the edge",
        Shown::Centre => "middle of the panel",
        Shown::Grain => "grain of the wood",
    };
    words.to_owned()
}

/// What black and white signs mean.
pub(super) const WEIGHT_NOTE: &str = "Black signs: stop. White signs: care.";

/// A sample of the sign, centred on `at`.
fn sample(shown: Shown, at: Point, grain_deg: f64) -> Vec<Mark> {
    let half = Vec2::new(3.4, 0.0);
    let one = |path: Path| vec![Mark::new(Layer::Notes, path)];
    match shown {
        Shown::CutLine => one(Path::stroke(line(at - half, at + half), style::cut())),
        Shown::Waste => {
            let patch = Rect::from_center_size(at, (6.8, 3.6)).to_path(0.1);
            let lines = Path::stroke(hatch::hatch(&patch, 1.2, 45.0), Stroke::new(style::HAIR, style::HATCH));
            vec![
                Mark::new(Layer::Notes, lines),
                Mark::new(Layer::Notes, Path::stroke(patch, Stroke::new(style::FINE, Ink::BLACK))),
            ]
        }
        Shown::Hole => symbols::hole(at, 1.6),
        Shown::Order => symbols::order_number(at, 1).into(),
        Shown::Island => symbols::island(at, "I1"),
        Shown::Bridge => {
            let foot = Vec2::new(1.1, 0.0);
            symbols::bridge([at - foot, at + foot], [false; 2], [symbols::HEAD.0; 2], Severity::Care)
        }
        Shown::Contact => symbols::bridge([at; 2], [false; 2], [symbols::HEAD.0; 2], Severity::Care),
        Shown::Turn => symbols::turn(at + Vec2::new(-1.2, 0.0), Vec2::new(1.0, 0.0), Severity::Care),
        Shown::SlightTurn => symbols::turn(at + Vec2::new(-1.2, 0.0), Vec2::new(1.0, 0.0), Severity::Note),
        Shown::Slot => symbols::slot(at, Severity::Care),
        Shown::NoEntry => flag(at, "E1", Severity::Stop),
        Shown::Over => flag(at, "C1", Severity::Care),
        Shown::Zone => {
            let dots = Stroke::new(0.25, style::QUIET).round().dashed(&[0.01, 1.3]);
            one(Path::stroke(line(at - half, at + half), dots))
        }
        Shown::Nail => symbols::nail(at),
        Shown::EdgeNail => symbols::edge_nail(at - Vec2::new(0.0, 2.0), at + Vec2::new(0.0, 2.0)),
        Shown::Fold => one(Path::stroke(line(at - half, at + half), style::fold())),
        Shown::Centre => {
            let fine = Stroke::new(0.2, Ink::BLACK);
            [Vec2::new(1.8, 0.0), Vec2::new(0.0, 1.8)]
                .map(|d| Mark::new(Layer::Notes, Path::stroke(line(at - d, at + d), fine.clone())))
                .into()
        }
        Shown::Grain => grain_sample(at, grain_deg),
    }
}

fn flag(at: Point, name: &str, severity: Severity) -> Vec<Mark> {
    symbols::flag(Rect::from_center_size(at, symbols::flag_size(name)), Layer::Notes, name, severity)
}

/// The grain arrow without its word.
fn grain_sample(at: Point, grain_deg: f64) -> Vec<Mark> {
    let small = |mark: &Mark| !matches!(mark.shape, super::Shape::Text(_));
    let length = if (45.0..135.0).contains(&grain_deg) { 5.2 } else { 7.4 };
    symbols::grain(at, length, grain_deg).into_iter().filter(small).collect()
}
