//! Measuring and drawing text.
//!
//! The typeface is Liberation Sans 2.1.5 (SIL Open Font License 1.1, licence
//! beside the files), whose advance widths are those of Helvetica, one of the
//! standard fonts of PDF (ISO 32000-1, 9.6.2.2). So what is measured here holds
//! for the PDF, for an SVG viewer that has Helvetica, Arial or Liberation Sans,
//! and for the rasterised picture.

use std::sync::OnceLock;

use kurbo::{Affine, BezPath, Point};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

static REGULAR: &[u8] = include_bytes!("font/LiberationSans-Regular.ttf");
static BOLD: &[u8] = include_bytes!("font/LiberationSans-Bold.ttf");

/// Height of a capital letter, as a part of the type size (measured on `H` of
/// the vendored font: 1409 of 2048 units).
pub const CAP_HEIGHT: f64 = 1409.0 / 2048.0;
/// How far `g`, `p`, `y` reach below the baseline, as a part of the type size
/// (431 of 2048 units).
pub const DESCENT: f64 = 431.0 / 2048.0;

/// How heavy the letters are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Body text.
    #[default]
    Regular,
    /// Headings and numbers that must be found.
    Bold,
}

/// Width of `text` set in `size` mm type, in mm.
#[must_use]
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    let table = advances(weight);
    text.chars().map(|c| table.get(c as usize).copied().unwrap_or_else(|| advance(c, weight))).sum::<f64>() * size
}

/// The outline of `text` with its baseline's left end at `at`, y up.
#[must_use]
pub fn outline(text: &str, at: Point, size: f64, weight: Weight) -> BezPath {
    let Some(face) = face(weight) else { return BezPath::new() };
    let unit = size / f64::from(face.units_per_em());
    let (mut path, mut x) = (BezPath::new(), at.x);
    for c in text.chars() {
        let glyph = face.glyph_index(c).unwrap_or(GlyphId(0));
        let mut pen = Pen { place: Affine::translate((x, at.y)) * Affine::scale(unit), path: &mut path };
        face.outline_glyph(glyph, &mut pen);
        x += f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) * unit;
    }
    path
}

/// `text` in letters this typeface has: typographic signs that the standard
/// fonts lack are spelled out (`≥` as `>=`, `−` as a hyphen), controls become
/// spaces, and what neither has a letter nor a spelling becomes `?`.
#[must_use]
pub fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match spelled(c) {
            Some(plain) => out.push_str(plain),
            None if c.is_control() => out.push(' '),
            None if in_windows_1252(c) || has_glyph(c) => out.push(c),
            None => out.push('?'),
        }
    }
    out
}

/// How a sign outside Windows-1252 is written instead.
const fn spelled(c: char) -> Option<&'static str> {
    Some(match c {
        '≥' => ">=",
        '≤' => "<=",
        '≈' => "about ",
        '−' | '\u{2010}' | '\u{2011}' => "-",
        '→' => "->",
        '←' => "<-",
        '″' => "\"",
        '′' => "'",
        '∅' | '⌀' => "Ø",
        '\u{2009}' | '\u{202f}' => " ",
        _ => return None,
    })
}

/// Whether the typeface itself draws the letter, in both weights.
fn has_glyph(c: char) -> bool {
    [Weight::Regular, Weight::Bold].iter().all(|weight| face(*weight).is_some_and(|face| face.glyph_index(c).is_some()))
}

/// Whether any letter or figure of `text` can be printed.
#[must_use]
pub fn has_letters(text: &str) -> bool {
    text.chars().any(|c| c.is_alphanumeric() && (in_windows_1252(c) || has_glyph(c)))
}

/// Whether all of `text` is in Windows-1252, so that the standard fonts of PDF
/// print it; other letters are to be drawn as outlines.
#[must_use]
pub fn is_standard(text: &str) -> bool {
    text.chars().all(in_windows_1252)
}

/// Whether the letter is in Windows-1252, the encoding PDF calls WinAnsi
/// (ISO 32000-1, Annex D).
const fn in_windows_1252(c: char) -> bool {
    matches!(c, ' '..='~' | '\u{a1}'..='\u{ac}' | '\u{ae}'..='ÿ'
        | '€' | '‚' | 'ƒ' | '„' | '…' | '†' | '‡' | 'ˆ' | '‰' | 'Š' | '‹' | 'Œ' | 'Ž'
        | '‘' | '’' | '“' | '”' | '•' | '–' | '—' | '˜' | '™' | 'š' | '›' | 'œ' | 'ž' | 'Ÿ')
}

fn face(weight: Weight) -> Option<&'static Face<'static>> {
    static FACES: [OnceLock<Option<Face<'static>>>; 2] = [OnceLock::new(), OnceLock::new()];
    let (cell, bytes) = match weight {
        Weight::Regular => (&FACES[0], REGULAR),
        Weight::Bold => (&FACES[1], BOLD),
    };
    cell.get_or_init(|| Face::parse(bytes, 0).ok()).as_ref()
}

/// Advance of one letter as a part of the type size.
fn advance(c: char, weight: Weight) -> f64 {
    let Some(face) = face(weight) else { return 1.0 };
    let glyph = face.glyph_index(c).unwrap_or(GlyphId(0));
    f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) / f64::from(face.units_per_em())
}

/// Advances of the first 256 characters, looked up once.
fn advances(weight: Weight) -> &'static [f64; 256] {
    static TABLES: [OnceLock<[f64; 256]>; 2] = [OnceLock::new(), OnceLock::new()];
    let cell = match weight {
        Weight::Regular => &TABLES[0],
        Weight::Bold => &TABLES[1],
    };
    cell.get_or_init(|| std::array::from_fn(|code| advance(char::from(code as u8), weight)))
}

/// Collects glyph outlines into a path.
struct Pen<'a> {
    place: Affine,
    path: &'a mut BezPath,
}

impl Pen<'_> {
    fn at(&self, x: f32, y: f32) -> Point {
        self.place * Point::new(f64::from(x), f64::from(y))
    }
}

impl OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.at(x, y));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.at(x, y));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.quad_to(self.at(x1, y1), self.at(x, y));
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path.curve_to(self.at(x1, y1), self.at(x2, y2), self.at(x, y));
    }
    fn close(&mut self) {
        self.path.close_path();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;

    #[test]
    fn widths_are_helveticas() {
        // Adobe's published metrics for Helvetica and Helvetica-Bold, in 1/1000
        // of the type size.
        let cases = [
            ('A', 667.0, 722.0),
            ('a', 556.0, 556.0),
            ('i', 222.0, 278.0),
            ('W', 944.0, 944.0),
            ('0', 556.0, 556.0),
            (' ', 278.0, 278.0),
            ('é', 556.0, 556.0),
        ];
        for (c, regular, bold) in cases {
            let text = c.to_string();
            assert!((width(&text, 1000.0, Weight::Regular) - regular).abs() < 0.6, "{c}");
            assert!((width(&text, 1000.0, Weight::Bold) - bold).abs() < 0.6, "{c} bold");
        }
    }

    #[test]
    fn signs_no_standard_font_has_are_spelled_out() {
        assert_eq!(printable("≥ 3 mm − ½\n× 2”"), ">= 3 mm - ½ × 2”", "spelled out");
    }

    #[test]
    fn letters_of_the_typeface_are_kept_and_others_queried() {
        assert_eq!(printable("Łódź ночь Αθήνα"), "Łódź ночь Αθήνα", "the typeface has them");
        assert!(is_standard("Großmutter – ½") && !is_standard("ночь"), "but not the standard fonts");
        assert_eq!(printable("猫"), "?", "no letter for it");
        assert!(has_letters("猫 a") && !has_letters("猫 🎃"), "a name is shown when any of it can be");
    }

    #[test]
    fn capitals_have_the_stated_height() {
        let bounds = outline("H", Point::new(3.0, 5.0), 10.0, Weight::Regular).bounding_box();
        assert!((bounds.y0 - 5.0).abs() < 1e-3 && (bounds.height() - 10.0 * CAP_HEIGHT).abs() < 1e-3, "{bounds:?}");
        let tail = outline("g", Point::ORIGIN, 10.0, Weight::Regular).bounding_box();
        assert!(tail.y0 >= -10.0 * DESCENT - 1e-3, "descender {}", tail.y0);
    }
}
