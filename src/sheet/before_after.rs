//! The face as drawn and as mended, side by side, every change numbered.

use kurbo::{Affine, BezPath, Point, Rect, RoundedRect, Shape as _};

use super::flow::line;
use super::picture::{AROUND, board};
use super::{Ink, Layer, Mark, Path, Shape, Sheet, Stroke, Text};
use crate::font::{Weight, width};
use crate::outcome::Outcome;
use crate::units::Mm;

/// One change, as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// What it is called: an edit's number, a bridge placed by hand's name.
    pub name: String,
    /// Its place, panel space.
    pub at: Point,
    /// What it changes.
    pub shape: BezPath,
    /// Whether it gives wood back; it opens waste otherwise.
    pub gives_back: bool,
}

/// Wood given back.
const GIVEN: Ink = Ink::rgb(36, 120, 96);
/// Waste opened.
const OPENED: Ink = Ink::rgb(190, 92, 20);
/// Grounds for the two, against wood and against the dark of an opening.
const GIVEN_TINT: Ink = Ink::rgb(148, 190, 140);
const OPENED_TINT: Ink = Ink::rgb(122, 58, 20);
/// Height of the words over the panels, mm.
const HEAD: f64 = 9.0;
/// Width of the column of labels on each side of the mended panel, mm.
const COLUMN: f64 = 13.0;
/// Height of a label and of its type where there is room for that, mm.
const LABEL: (f64, f64) = (4.6, 3.2);
/// Changes of one kind this far from each other's mirror image, mm, are a pair.
const PAIRED: f64 = 0.5;

/// The two panels on one sheet, `before` left. Every change is numbered in the
/// columns beside the mended panel, so that no label lies on what it names.
#[must_use]
pub fn before_after(before: &Outcome, after: &Outcome, changes: &[Change], name: &str) -> Sheet {
    let panel = before.face.panel.rect();
    let around = panel.inflate(AROUND, AROUND);
    let (w, h) = (around.width(), around.height());
    let mut sheet = Sheet::new(name, Mm::new(2.0 * (w + COLUMN)), Mm::new(h + HEAD));
    sheet.push(Layer::Title, Path::fill(sheet.rect().to_path(1e-3), Ink::rgb(250, 248, 244)));
    let halves = [(0.0, before, "as drawn"), (w + COLUMN, after, "mended")];
    for (left, outcome, words) in halves {
        let shift = Affine::translate((left + AROUND, AROUND));
        // The grain runs on past the board; it ends with the ground round it.
        let clip =
            Shape::Clip { outline: (around + shift.translation()).to_path(1e-3), marks: moved(board(outcome), shift) };
        sheet.push(Layer::Wood, clip);
        if left > 0.0 {
            sheet.marks.extend(moved(marks(panel, changes), shift));
            let start = left + AROUND + width("mended", 5.0, Weight::Bold) + 6.0;
            sheet.marks.extend(key(changes, Point::new(start, h + 0.5), sheet.width.get() - 2.0));
        }
        sheet.push(Layer::Title, Text::new(words, (left + AROUND, h + 0.5), 5.0).bold());
    }
    sheet
}

/// What the two colours mean, of those there are, in a line from `at` to `end`.
fn key(changes: &[Change], at: Point, end: f64) -> Vec<Mark> {
    let kinds = [(true, "wood given back"), (false, "opened, to be sawn too")];
    let kinds = kinds.into_iter().filter(|(gives, _)| changes.iter().any(|change| change.gives_back == *gives));
    let kinds: Vec<(bool, &str)> = kinds.collect();
    let wide = |words: &str, size: f64| size * 3.0 + width(words, size, Weight::Regular);
    let whole: f64 = kinds.iter().map(|(_, words)| wide(words, LABEL.1)).sum();
    let size = LABEL.1 * ((end - at.x) / whole.max(1e-9)).min(1.0);
    let (mut marks, mut x) = (Vec::new(), at.x);
    for (gives_back, words) in kinds {
        let (tint, ink) = colours(gives_back);
        let patch = Rect::new(x, at.y, x + size * 1.2, at.y + size * 0.8).to_path(1e-3);
        marks.push(Mark::new(Layer::Title, Path::fill(patch, tint).outlined(Stroke::new(0.35, ink))));
        marks.push(Mark::new(Layer::Title, Text::new(words, (x + size * 1.7, at.y), size)));
        x += wide(words, size);
    }
    marks
}

fn moved(marks: Vec<Mark>, shift: Affine) -> Vec<Mark> {
    marks.iter().map(|mark| mark.transformed(shift)).collect()
}

/// The changes and their numbers, panel space.
fn marks(panel: Rect, changes: &[Change]) -> Vec<Mark> {
    let mut marks: Vec<Mark> = changes.iter().map(outlined).collect();
    let (left, right) = sided(labels(changes, panel), panel.center().x);
    marks.extend(column(left, panel, -1.0));
    marks.extend(column(right, panel, 1.0));
    marks
}

/// Labels parted into those left and right of the panel: each on the side of
/// what it names; those of pairs, who have a place on both, where fewer stand.
fn sided(labels: Vec<Label>, middle: f64) -> (Vec<Label>, Vec<Label>) {
    let (pairs, single): (Vec<Label>, Vec<Label>) = labels.into_iter().partition(|label| label.twin.is_some());
    let (mut left, mut right): (Vec<Label>, Vec<Label>) = single.into_iter().partition(|label| label.at.x < middle);
    for label in pairs {
        let goes_left = left.len() < right.len();
        let places = label.twin.into_iter().chain([label.at]);
        let at = places.reduce(|a, b| if (a.x < b.x) == goes_left { a } else { b }).unwrap_or(label.at);
        let side = if goes_left { &mut left } else { &mut right };
        side.push(Label { at, ..label });
    }
    (left, right)
}

/// What one label says and where what it names is.
struct Label {
    text: String,
    at: Point,
    /// Where the other of a pair is.
    twin: Option<Point>,
    ink: Ink,
}

/// A label for each change; the two of a pair share one.
fn labels(changes: &[Change], panel: Rect) -> Vec<Label> {
    let mirrored = |p: Point| Point::new(panel.x0 + panel.x1 - p.x, p.y);
    let mut is_told = vec![false; changes.len()];
    let mut labels = Vec::new();
    for (i, change) in changes.iter().enumerate() {
        if std::mem::replace(&mut is_told[i], true) {
            continue;
        }
        let twin = (i + 1..changes.len()).find(|&k| {
            let other = &changes[k];
            !is_told[k] && other.gives_back == change.gives_back && other.at.distance(mirrored(change.at)) < PAIRED
        });
        let text = match twin {
            Some(k) => {
                is_told[k] = true;
                format!("{}, {}", change.name, changes[k].name)
            }
            None => change.name.clone(),
        };
        let twin = twin.map(|k| changes[k].at);
        labels.push(Label { text, at: change.at, twin, ink: ink(change) });
    }
    labels
}

/// Labels one above another beside the panel, in the order of what they name,
/// so that their leaders do not cross; `side` is -1 left, 1 right.
fn column(mut labels: Vec<Label>, panel: Rect, side: f64) -> Vec<Mark> {
    let room = panel.inflate(0.0, AROUND - 1.0);
    labels.sort_by(|a, b| a.at.y.total_cmp(&b.at.y).then(a.at.x.total_cmp(&b.at.x)));
    let step = LABEL.0.min(room.height() / labels.len().max(1) as f64);
    let size = LABEL.1 * step / LABEL.0;
    let heights = spread(&labels.iter().map(|label| label.at.y).collect::<Vec<_>>(), step, room.y0, room.y1);
    let edge = if side < 0.0 { panel.x0 } else { panel.x1 } + side * (AROUND - 3.0);
    labels.iter().zip(heights).flat_map(|(label, y)| labelled(label, Point::new(edge, y), size, step, side)).collect()
}

/// Heights at least `step` apart between `low` and `high`, as near as may be to
/// those wanted, which come in rising order: neighbours too near each other are
/// put together about the mean of what they want.
fn spread(wanted: &[f64], step: f64, low: f64, high: f64) -> Vec<f64> {
    // Each group by how many it holds and the height its first would like best.
    let mut groups: Vec<(usize, f64)> = Vec::new();
    let bounded = |count: usize, first: f64| {
        let most = high - step / 2.0 - (count - 1) as f64 * step;
        first.min(most).max(low + step / 2.0)
    };
    for &want in wanted {
        let mut now = (1, bounded(1, want));
        while let Some(&(count, first)) = groups.last().filter(|(n, first)| first + *n as f64 * step > now.1) {
            groups.pop();
            let all = count + now.0;
            let like = (first * count as f64 + (now.1 - count as f64 * step) * now.0 as f64) / all as f64;
            now = (all, bounded(all, like));
        }
        groups.push(now);
    }
    groups.into_iter().flat_map(|(count, first)| (0..count).map(move |i| first + i as f64 * step)).collect()
}

/// A leader from the change to its number at `foot`, the label's inner edge.
fn labelled(label: &Label, foot: Point, size: f64, step: f64, side: f64) -> Vec<Mark> {
    let wide = width(&label.text, size, Weight::Bold) + size * 0.7;
    let far = foot.x + side * wide;
    let rect = Rect::new(foot.x.min(far), foot.y - step * 0.46, foot.x.max(far), foot.y + step * 0.46);
    let plate = RoundedRect::from_rect(rect, size * 0.35).to_path(1e-2);
    let leader = |ink: Ink, wide: f64| Path::stroke(line(label.at, foot), Stroke::new(wide, ink));
    let dot = Path::fill(super::symbols::circle(label.at, 0.5), label.ink);
    vec![
        Mark::new(Layer::Numbers, leader(Ink::WHITE, 0.3)),
        Mark::new(Layer::Numbers, leader(label.ink, 0.2)),
        Mark::new(Layer::Numbers, dot),
        Mark::new(Layer::Numbers, Path::fill(plate, label.ink)),
        Mark::new(Layer::Numbers, Text::new(&label.text, rect.center(), size).bold().ink(Ink::WHITE).centred()),
    ]
}

fn ink(change: &Change) -> Ink {
    colours(change.gives_back).1
}

/// Ground and line of a change that gives wood back, or opens waste.
const fn colours(gives_back: bool) -> (Ink, Ink) {
    if gives_back { (GIVEN_TINT, GIVEN) } else { (OPENED_TINT, OPENED) }
}

fn outlined(change: &Change) -> Mark {
    let (tint, ink) = colours(change.gives_back);
    let shape = Path::fill(change.shape.clone(), tint).outlined(Stroke::new(0.35, ink));
    Mark::new(Layer::WeakSpots, shape)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(id: u32, x: f64, y: f64) -> Change {
        Change { name: id.to_string(), at: Point::new(x, y), shape: BezPath::new(), gives_back: true }
    }

    fn texts(marks: &[Mark]) -> Vec<&Text> {
        marks.iter().filter_map(|mark| if let Shape::Text(text) = &mark.shape { Some(text) } else { None }).collect()
    }

    #[test]
    fn every_change_is_numbered_beside_the_panel_and_no_two_labels_meet() {
        let panel = Rect::new(0.0, 0.0, 133.35, 254.0);
        let changes: Vec<Change> =
            (0..160).map(|i| change(i + 1, f64::from(i * 37 % 133), 100.0 + f64::from(i * 53 % 60))).collect();
        let marks = marks(panel, &changes);
        let told: Vec<u32> =
            texts(&marks).iter().flat_map(|text| text.content.split(", ")).filter_map(|id| id.parse().ok()).collect();
        assert!((1..=160).all(|id| told.contains(&id)), "all are told: {told:?}");
        let boxes: Vec<Rect> = texts(&marks).iter().map(|text| text.bounds()).collect();
        for (i, a) in boxes.iter().enumerate() {
            assert!(panel.intersect(*a).is_zero_area(), "beside the panel: {a:?}");
            assert!(a.x0 > -AROUND - COLUMN && a.x1 < panel.x1 + AROUND + COLUMN, "on the sheet: {a:?}");
            assert!(boxes[i + 1..].iter().all(|b| a.intersect(*b).is_zero_area()), "apart: {a:?}");
        }
    }

    #[test]
    fn labels_stand_as_near_as_may_be_to_what_they_name() {
        let near = |got: Vec<f64>, want: &[f64]| got.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-9);
        assert!(near(spread(&[10.0, 50.0], 4.0, 0.0, 100.0), &[10.0, 50.0]), "where there is room: there");
        assert!(near(spread(&[50.0, 50.0, 50.0], 4.0, 0.0, 100.0), &[46.0, 50.0, 54.0]), "about the middle");
        assert!(near(spread(&[99.0, 99.0], 4.0, 0.0, 100.0), &[94.0, 98.0]), "inside");
        assert!(near(spread(&[0.0, 0.0, 7.0], 4.0, 0.0, 100.0), &[2.0, 6.0, 10.0]), "from the foot up");
    }

    #[test]
    fn the_key_names_the_colours_that_are_there_and_stays_on_the_sheet() {
        let opened = Change { gives_back: false, ..change(2, 5.0, 5.0) };
        for end in [200.0, 60.0] {
            let marks = key(&[change(1, 0.0, 0.0), opened.clone()], Point::new(20.0, 100.0), end);
            let words: Vec<&str> = texts(&marks).iter().map(|text| text.content.as_str()).collect();
            assert_eq!(words, ["wood given back", "opened, to be sawn too"]);
            assert!(texts(&marks).iter().all(|text| text.bounds().x1 <= end), "to {end}");
        }
        let marks = key(&[opened], Point::new(20.0, 100.0), 200.0);
        assert_eq!(texts(&marks).len(), 1, "green is not there");
        assert!(key(&[], Point::ORIGIN, 100.0).is_empty(), "nothing changed");
    }

    #[test]
    fn a_pair_shares_one_label() {
        let panel = Rect::new(0.0, 0.0, 100.0, 100.0);
        let changes = [change(1, 30.0, 50.0), change(2, 50.0, 20.0), change(3, 70.1, 50.0)];
        let labels: Vec<String> = labels(&changes, panel).into_iter().map(|label| label.text).collect();
        assert_eq!(labels, ["1, 3", "2"]);
    }
}
