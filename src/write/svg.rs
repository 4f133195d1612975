//! Sheets as SVG: millimetres, curves kept, one group for each run of a layer.

use std::fmt::Write as _;

use kurbo::{Affine, BezPath, PathEl, Point};

use crate::font::{self, Weight};
use crate::sheet::{Anchor, Cap, Ink, Layer, Mark, Path, Shape, Sheet, Stroke, Text};

/// How letters are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Letters {
    /// As text in Helvetica or a face of the same widths.
    Text,
    /// As outlines, for a reader without fonts.
    Outlines,
}

/// The sheet as an SVG document at true size: `width` and `height` in mm, one
/// user unit to the millimetre.
#[must_use]
pub fn svg(sheet: &Sheet) -> String {
    svg_with(sheet, Letters::Text)
}

/// The sheet as an SVG document, with letters as asked.
#[must_use]
pub fn svg_with(sheet: &Sheet, letters: Letters) -> String {
    let (w, h) = (sheet.width.get(), sheet.height.get());
    let flip = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, h]);
    let mut pen = Pen { out: String::with_capacity(64 * 1024), flip, letters, clips: 0 };
    let (w, h) = (number(w), number(h));
    pen.line(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">"
    ));
    pen.line(&format!("<title>{}</title>", escaped(&sheet.name)));
    pen.marks(&sheet.marks);
    pen.line("</svg>");
    pen.out
}

/// Writes elements; sheet space is y up, SVG is y down.
struct Pen {
    out: String,
    flip: Affine,
    letters: Letters,
    clips: u32,
}

impl Pen {
    fn line(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }

    fn marks(&mut self, marks: &[Mark]) {
        let mut open: Option<Layer> = None;
        for mark in marks {
            let layer = (!matches!(mark.shape, Shape::Clip { .. })).then_some(mark.layer);
            if open != layer {
                if open.is_some() {
                    self.line("</g>");
                }
                if let Some(layer) = layer {
                    self.line(&format!("<g class=\"{}\">", class(layer)));
                }
                open = layer;
            }
            self.shape(&mark.shape);
        }
        if open.is_some() {
            self.line("</g>");
        }
    }

    fn shape(&mut self, shape: &Shape) {
        match shape {
            Shape::Path(path) => self.path(path),
            Shape::Text(text) => self.text(text),
            Shape::Clip { outline, marks } => {
                self.clips += 1;
                let id = format!("clip{}", self.clips);
                let d = self.data(outline);
                self.line(&format!("<clipPath id=\"{id}\"><path d=\"{d}\"/></clipPath>"));
                self.line(&format!("<g clip-path=\"url(#{id})\">"));
                self.marks(marks);
                self.line("</g>");
            }
        }
    }

    fn path(&mut self, path: &Path) {
        let fill = path.fill.map_or_else(|| "none".to_owned(), color);
        let stroke = path.stroke.as_ref().map(stroke_attributes).unwrap_or_default();
        let d = self.data(&path.path);
        if !d.is_empty() {
            self.line(&format!("<path d=\"{d}\" fill=\"{fill}\"{stroke}/>"));
        }
    }

    fn text(&mut self, text: &Text) {
        if self.letters == Letters::Outlines {
            let place = Affine::translate(text.start().to_vec2()) * Affine::rotate(text.angle_deg.to_radians());
            let outline = place * font::outline(&text.content, Point::ORIGIN, text.size, text.weight);
            return self.path(&Path::fill(outline, text.ink));
        }
        let at = self.flip * text.at;
        let (x, y) = (number(at.x), number(at.y));
        let anchor = match text.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if text.weight == Weight::Bold { " font-weight=\"bold\"" } else { "" };
        let turn = match number(-text.angle_deg).as_str() {
            "0" => String::new(),
            turn => format!(" transform=\"rotate({turn} {x} {y})\""),
        };
        self.line(&format!(
            "<text x=\"{x}\" y=\"{y}\" font-family=\"Helvetica, Liberation Sans, Arial, sans-serif\" font-size=\"{}\"\
             {weight}{anchor}{turn} fill=\"{}\">{}</text>",
            number(text.size),
            color(text.ink),
            escaped(&text.content)
        ));
    }

    fn data(&self, path: &BezPath) -> String {
        let mut d = String::new();
        for el in path.elements() {
            match self.flip * *el {
                PathEl::MoveTo(p) => points(&mut d, 'M', &[p]),
                PathEl::LineTo(p) => points(&mut d, 'L', &[p]),
                PathEl::QuadTo(a, p) => points(&mut d, 'Q', &[a, p]),
                PathEl::CurveTo(a, b, p) => points(&mut d, 'C', &[a, b, p]),
                PathEl::ClosePath => d.push('Z'),
            }
        }
        d
    }
}

fn points(d: &mut String, letter: char, points: &[Point]) {
    d.push(letter);
    for (index, p) in points.iter().enumerate() {
        if index > 0 {
            d.push(' ');
        }
        push_number(d, p.x);
        d.push(' ');
        push_number(d, p.y);
    }
}

fn stroke_attributes(stroke: &Stroke) -> String {
    let mut out = format!(" stroke=\"{}\" stroke-width=\"{}\"", color(stroke.ink), number(stroke.width));
    if stroke.cap == Cap::Round {
        out.push_str(" stroke-linecap=\"round\" stroke-linejoin=\"round\"");
    }
    if !stroke.dash.is_empty() {
        let dashes: Vec<String> = stroke.dash.iter().map(|&mm| number(mm)).collect();
        // Writing to a string cannot fail.
        let _ = write!(out, " stroke-dasharray=\"{}\"", dashes.join(" "));
    }
    out
}

fn color(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.red, ink.green, ink.blue)
}

/// The layer's name as a class: `cut-lines`.
fn class(layer: Layer) -> String {
    layer.name().to_ascii_lowercase().replace(' ', "-")
}

/// A number to a ten-thousandth of a millimetre, shortest form, never `-0`.
fn number(value: f64) -> String {
    let mut out = String::new();
    push_number(&mut out, value);
    out
}

/// [`number`] on to the end of `out`; by hand because a drawing has tens of
/// thousands of them.
fn push_number(out: &mut String, value: f64) {
    // Coordinates are sheet millimetres; beyond i64 only after a fault.
    let scaled = (value * 1e4).round() as i64;
    if scaled < 0 {
        out.push('-');
    }
    let (whole, mut part) = (scaled.unsigned_abs() / 10_000, scaled.unsigned_abs() % 10_000);
    // Writing to a string cannot fail.
    let _ = write!(out, "{whole}");
    if part > 0 {
        out.push('.');
        let mut unit = 1000;
        while part > 0 {
            out.push(char::from(b'0' + (part / unit) as u8));
            part %= unit;
            unit /= 10;
        }
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::flow::line;
    use crate::units::Mm;
    use kurbo::Circle;

    fn sheet() -> Sheet {
        let mut sheet = Sheet::new("A & B", Mm::new(100.0), Mm::new(80.0));
        let ring: BezPath = kurbo::Shape::to_path(&Circle::new((50.0, 40.0), 20.0), 1e-2);
        sheet.push(Layer::CutLines, Path::stroke(ring, Stroke::new(0.22, Ink::BLACK).round()));
        sheet.push(Layer::Rulers, Path::stroke(line((0.0, 10.0), (100.0, 10.0)), Stroke::new(0.2, Ink::BLACK)));
        sheet.push(Layer::Title, Text::new("owl <5 mm>", (10.0, 20.0), 5.0).turned(90.0));
        sheet
    }

    #[test]
    fn size_is_true_and_up_is_up() {
        let text = svg(&sheet());
        assert!(text.contains("width=\"100mm\" height=\"80mm\" viewBox=\"0 0 100 80\""), "{text}");
        assert!(text.contains("M0 70L100 70"), "10 mm from the bottom is 70 from the top: {text}");
        assert!(text.contains("rotate(-90 10 60)") && text.contains("owl &lt;5 mm&gt;"), "{text}");
        assert_eq!(text.matches('C').count() - text.matches("Cut").count(), 4, "a circle is four curves: {text}");
    }

    #[test]
    fn another_reader_finds_the_same_size() {
        let tree = usvg::Tree::from_str(&svg(&sheet()), &usvg::Options::default()).unwrap();
        let bounds = tree.root().abs_bounding_box();
        let scale = f64::from(tree.size().width()) / 100.0;
        assert!((f64::from(bounds.width()) / scale - 100.0).abs() < 1e-3, "the 100 mm line: {bounds:?}");
    }

    #[test]
    fn numbers_are_short() {
        for (value, text) in
            [(0.0, "0"), (-0.00001, "0"), (1.25, "1.25"), (-3.10004, "-3.1"), (100.0, "100"), (0.0305, "0.0305")]
        {
            assert_eq!(number(value), text, "{value}");
        }
    }
}
