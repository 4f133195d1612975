//! Check rulers, and the page that finds the printer's correction factors.

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use super::flow::{Align, Flow, Frames, Table, line};
use super::{Anchor, Ink, Layer, Mark, Path, Sheet, Stroke, Text, style};
use crate::diag::Error;
use crate::trade::papers::Paper;
use crate::units::{MM_PER_INCH, Mm};

/// What a check ruler measures: whole centimetres above, whole inches below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ruler {
    /// Length of the metric side, mm.
    pub mm: u32,
    /// Length of the inch side, inches.
    pub inches: u32,
}

impl Ruler {
    /// The usual one: 100 mm and 4 in.
    pub const FULL: Self = Self { mm: 100, inches: 4 };
    /// For paper too small for the usual one.
    pub const SHORT: Self = Self { mm: 50, inches: 2 };

    /// Space it takes along, its words included, mm.
    #[must_use]
    pub fn length(self) -> f64 {
        f64::from(self.mm).max(f64::from(self.inches) * MM_PER_INCH) + 11.5
    }

    /// Lying along x from `start`, which is its zero; [`HEIGHT`] mm high,
    /// centred on `start`.
    #[must_use]
    pub fn across(self, start: Point) -> Vec<Mark> {
        self.marks().iter().map(|mark| mark.transformed(Affine::translate(start.to_vec2()))).collect()
    }

    /// Standing along y from `start`, its metric side to the left.
    #[must_use]
    pub fn upright(self, start: Point) -> Vec<Mark> {
        let turn = Affine::translate(start.to_vec2()) * Affine::rotate(std::f64::consts::FRAC_PI_2);
        self.marks().iter().map(|mark| mark.transformed(turn)).collect()
    }

    fn marks(self) -> Vec<Mark> {
        let (metric, inch) = (f64::from(self.mm), f64::from(self.inches) * MM_PER_INCH);
        let base = Stroke::new(0.25, Ink::BLACK);
        let path = |path: BezPath, stroke: &Stroke| Mark::new(Layer::Rulers, Path::stroke(path, stroke.clone()));
        let words = |text: String, y: f64| {
            Mark::new(Layer::Rulers, Text::new(text, (metric.max(inch) + 1.2, y), style::SMALL).ink(style::INK))
        };
        let mut ticks = BezPath::new();
        for i in 0..=self.mm / 5 {
            let height = if i % 2 == 0 { 2.2 } else { 1.2 };
            tick(&mut ticks, f64::from(i) * 5.0, height);
        }
        for i in 0..=self.inches * 4 {
            let height = if i % 4 == 0 { -2.2 } else { -1.2 };
            tick(&mut ticks, f64::from(i) * MM_PER_INCH / 4.0, height);
        }
        vec![
            path(line((0.0, 0.0), (metric, 0.0)), &base),
            path(line((0.0, 0.0), (inch, 0.0)), &base),
            path(ticks, &Stroke::new(0.2, Ink::BLACK)),
            words(format!("{} mm", self.mm), 0.35),
            words(format!("{} in", self.inches), -0.35 - style::SMALL * crate::font::CAP_HEIGHT),
        ]
    }
}

/// Height of a ruler with its words, mm.
pub const HEIGHT: f64 = 5.2;

fn tick(path: &mut BezPath, x: f64, height: f64) {
    path.move_to((x, 0.0));
    path.line_to((x, height));
}

/// The page that finds `printer.scale_x` and `printer.scale_y`. It is drawn
/// without any correction, so that what it measures is the whole correction.
///
/// # Errors
/// [`Error::Sizes`] when the paper is too small for a bar worth measuring.
pub fn page(paper: &Paper) -> Result<Sheet, Error> {
    let (w, h, margin) = (paper.width.get(), paper.height.get(), paper.margin.get());
    let area = Rect::new(margin, margin, w - margin, h - margin);
    let (bar_x, bar_y) = bars(paper);
    let (bar_x, bar_y) = (bar_x.get(), bar_y.get());
    if bar_x < 50.0 || bar_y < 100.0 {
        return Err(too_small(paper));
    }
    let mut sheet = Sheet::new("printer check", paper.width, paper.height);
    let corner = Point::new(area.x0 + 9.0, area.y0 + 9.0);
    sheet.marks.extend(bar(corner, Vec2::new(1.0, 0.0), bar_x, "X"));
    sheet.marks.extend(bar(corner, Vec2::new(0.0, 1.0), bar_y, "Y"));
    let text = Rect::new(corner.x + 10.0, corner.y + 12.0, area.x1 - 2.0, area.y1 - 2.0);
    // Small paper leaves out what can be reckoned; no step is ever cut off.
    let told = [Told::All, Told::Steps, Told::Brief].into_iter().map(|told| {
        let frames = Frames::columns("printer check", w, h, text, 1);
        instructions(frames, paper, (bar_x, bar_y), told)
    });
    let Some(page) = told.into_iter().find(|pages| pages.len() == 1) else { return Err(too_small(paper)) };
    sheet.marks.extend(page.into_iter().flat_map(|page| page.marks));
    Ok(sheet)
}

/// A long bar with ticks every 10 mm, its length written at the far end.
fn bar(from: Point, way: Vec2, length: f64, name: &str) -> Vec<Mark> {
    let side = Vec2::new(-way.y, way.x) * if way.x > way.y { -1.0 } else { 1.0 };
    let mut ticks = BezPath::new();
    for i in 0..=(length / 10.0).round() as u32 {
        let at = from + way * (f64::from(i) * 10.0);
        ticks.move_to(at);
        ticks.line_to(at + side * if i % 5 == 0 { 3.2 } else { 1.8 });
    }
    let angle = way.atan2().to_degrees();
    let word = |text: String, along: f64, anchor| {
        let out = if way.x > way.y { 6.4 } else { 4.2 };
        let at = from + way * along + side * out;
        Mark::new(Layer::Rulers, Text::new(text, at, style::BODY).anchor(anchor).turned(angle).ink(style::INK))
    };
    vec![
        Mark::new(Layer::Rulers, Path::stroke(line(from, from + way * length), Stroke::new(0.25, Ink::BLACK))),
        Mark::new(Layer::Rulers, Path::stroke(ticks, Stroke::new(0.2, Ink::BLACK))),
        word("0".to_owned(), 0.0, Anchor::Middle),
        word(format!("{name}: {length:.0} mm from the first line to the last"), length, Anchor::End),
    ]
}

fn too_small(paper: &Paper) -> Error {
    let what = format!("{} paper is too small for the printer check", paper.name);
    Error::sizes(what, "print it on A4 or Letter; the factors are the printer's, not the paper's")
}

/// How much the page tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Told {
    /// The steps, a table of factors and the lines of shop.toml.
    All,
    /// The steps.
    Steps,
    /// The steps that cannot be done without, without advice.
    Brief,
}

fn instructions(frames: Frames, paper: &Paper, (bar_x, bar_y): (f64, f64), told: Told) -> Vec<Sheet> {
    let mut flow = Flow::new(frames);
    flow.title(&format!("Printer check, {} paper", paper.name));
    if told != Told::Brief {
        flow.paragraph("Printers stretch or shrink a little, and not alike across and along the sheet. Print this page once on the paper you use for templates, then measure.");
        flow.heading("How to");
    }
    for (number, (text, advice)) in (1..).zip(steps(paper, (bar_x, bar_y), told)) {
        flow.item(&format!("{number}"), &text, if told == Told::Brief { "" } else { advice });
    }
    if told == Told::All {
        flow.heading("For these bars");
        flow.table(&factors(bar_x, bar_y));
        flow.remark("Any length between: divide. This page is never corrected itself.");
        flow.heading("In shop.toml");
        flow.paragraph("[printer]\nscale_x = 1.0000\nscale_y = 1.0000");
    }
    flow.finish()
}

/// What to do, each step with its advice.
fn steps(paper: &Paper, (bar_x, bar_y): (f64, f64), told: Told) -> Vec<(String, &'static str)> {
    let below = if told == Told::All { ", as below," } else { ", as scale_x = … and scale_y = …," };
    let mut steps = vec![
        ("Print at 100 %: no “fit to page”, no “shrink”, no “auto-rotate and centre”.".to_owned(), ""),
        (
            format!(
                "Measure bar X, from the edge of its first line to the same edge of its last. It should be {bar_x:.0} mm."
            ),
            "Use a steel rule and a good light; read to a fifth of a millimetre.",
        ),
        (format!("Measure bar Y the same way. It should be {bar_y:.0} mm."), ""),
        (format!("Let it be reckoned: {}", command(paper)), "X and Y are what you measured, in millimetres."),
        (
            format!(
                "Set both factors in shop.toml under [printer]{below} and print a template: both rulers on it must measure true."
            ),
            "Where the two lines stand already, change them there.",
        ),
    ];
    if told != Told::Brief {
        let by_hand = format!(
            "Or by hand: scale_x = {bar_x:.0} divided by what you measured; scale_y = {bar_y:.0} divided by what you measured."
        );
        steps.push((by_hand, ""));
    }
    steps
}

/// A few measured lengths with their factors.
fn factors(bar_x: f64, bar_y: f64) -> Table {
    let columns = [
        ("X measures", Align::Right),
        ("scale_x", Align::Right),
        ("Y measures", Align::Right),
        ("scale_y", Align::Right),
    ];
    let mut table = Table::new(&columns);
    for tenths in [-15, -10, -5, 0, 5, 10] {
        let off = f64::from(tenths) / 10.0;
        let (x, y) = (bar_x + off, bar_y + off);
        table.row([
            format!("{x:.1} mm"),
            format!("{:.4}", bar_x / x),
            format!("{y:.1} mm"),
            format!("{:.4}", bar_y / y),
        ]);
    }
    table
}

/// The command that reckons the correction for the page on `paper`: its bars are
/// that paper's own, so it names it.
#[must_use]
pub fn command(paper: &Paper) -> String {
    format!("fretgrin ruler --paper {} --measured X,Y", paper.slug)
}

/// Lengths of the bars on the page for `paper`, across and along, for tests and
/// for the words of the command line.
#[must_use]
pub fn bars(paper: &Paper) -> (Mm, Mm) {
    let long = |length: Mm| Mm::new(((length.get() - 2.0 * paper.margin.get() - 24.0) / 10.0).floor() * 10.0);
    (long(paper.width), long(paper.height))
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;
    use crate::trade::papers;
    use crate::units::Unit;

    fn words(sheet: &Sheet) -> String {
        let words = sheet.marks.iter().filter_map(|mark| match &mark.shape {
            Shape::Text(text) => Some(text.content.clone()),
            _ => None,
        });
        words.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_printer_check_tells_every_step_on_small_paper_too() {
        let mut without_table = 0;
        for size in ["letter", "a4", "a5", "148x210mm", "5.5x8.5in", "105x148mm", "100x150mm", "4x6in"] {
            let paper = papers::find(size, Unit::Mm).unwrap();
            let Ok(page) = page(&paper) else { continue };
            let words = words(&page);
            assert!(words.contains("--measured X,Y") && words.contains("must measure true"), "{size}: {words}");
            let has_lines = words.contains("scale_x = 1.0000");
            assert_eq!(words.contains("as below"), has_lines, "{size}: what it points to is there: {words}");
            without_table += u32::from(!has_lines);
        }
        assert!(without_table > 0, "small paper has no room for it");
    }
}
