//! How large a drawing is, in millimetres, as it says itself.
//!
//! The SVG library works in pixels and forgets the units, so the root's own
//! `width` and `height` are read again here.

use kurbo::Rect;
use usvg::roxmltree::Node;

use super::css;
use crate::units::{MM_PER_INCH, Mm, PX_PER_INCH};

/// Millimetres of one pixel, and of the page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Size {
    /// Millimetres of one of the library's pixels.
    pub(super) px_mm: f64,
    /// The page in millimetres, when the drawing states one.
    pub(super) page: Option<Rect>,
}

/// Reads the size off the root element; `px` is what the library made of it.
pub(super) fn of(root: Node, px: usvg::Size) -> Size {
    let (px_width, px_height) = (f64::from(px.width()), f64::from(px.height()));
    let width = root.attribute("width").and_then(absolute_mm);
    let height = root.attribute("height").and_then(absolute_mm);
    if let Some(px_mm) = styled(root, (px_width, px_height)) {
        return Size { px_mm, page: Some(Rect::new(0.0, 0.0, px_width * px_mm, px_height * px_mm)) };
    }
    // From the stated length, not from 96 dpi: the library's pixels are `f32`,
    // and a 100 mm drawing should come back 100 mm wide.
    let px_mm = match (width, height) {
        (Some(mm), _) => mm / px_width,
        (None, Some(mm)) => mm / px_height,
        (None, None) => MM_PER_INCH / PX_PER_INCH,
    };
    let stated = root.has_attribute("viewBox") || (width.is_some() && height.is_some());
    let page = stated.then(|| Rect::new(0.0, 0.0, px_width * px_mm, px_height * px_mm));
    Size { px_mm, page }
}

/// Millimetres of a pixel of a root whose size its style states, which comes
/// before its attributes (SVG 2, 7.1); with a view box the library leaves such a
/// style to us. The drawing is as large as fits (SVG 2, 8.6: `xMidYMid meet`).
fn styled(root: Node, (px_width, px_height): (f64, f64)) -> Option<f64> {
    let css = root.attribute("style").filter(|_| root.has_attribute("viewBox"))?;
    let stated = |side: &str| {
        let found = css::declarations(css, 0..css.len()).filter(|(name, _)| *name == side).last();
        found.and_then(|(_, value)| absolute_mm(&css[value]))
    };
    let sides = [stated("width").map(|mm| mm / px_width), stated("height").map(|mm| mm / px_height)];
    sides.into_iter().flatten().reduce(f64::min)
}

/// A length with an absolute unit, or none, in millimetres (CSS Values and
/// Units 3, absolute lengths).
fn absolute_mm(text: &str) -> Option<f64> {
    let text = text.trim();
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | 'e' | 'E'));
    let number = &text[..text.len() - unit.len()];
    // `1em` loses its `e` to the number; such a number does not parse.
    let number: f64 = number.parse().ok()?;
    let unit = if unit.trim().is_empty() { "px" } else { unit.trim() };
    (number > 0.0 && number.is_finite()).then_some(number * unit_mm(unit)?)
}

/// Millimetres of one unit of length, whatever its case (CSS Values 4, 6.2).
pub(super) fn unit_mm(unit: &str) -> Option<f64> {
    Some(match unit.to_ascii_lowercase().as_str() {
        "px" => MM_PER_INCH / PX_PER_INCH,
        "mm" => 1.0,
        "cm" => 10.0,
        "q" => 0.25,
        "in" => MM_PER_INCH,
        "pt" => Mm::from_pt(1.0).get(),
        "pc" => Mm::from_pt(12.0).get(),
        _ => return None,
    })
}

/// Largest side of drawings that are worked on at their own size, mm.
const OWN_SIZE: std::ops::RangeInclusive<f64> = 32.0..=2000.0;

/// Millimetres of one working unit for art whose larger side is `side` mm: 1,
/// or the power of two that brings the side between 64 and 128 units.
#[must_use]
pub fn unit_for(side: f64) -> f64 {
    if OWN_SIZE.contains(&side) || !side.is_finite() || side <= 0.0 {
        return 1.0;
    }
    libm::exp2((libm::log2(side) - 6.0).floor())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn absolute_lengths() {
        let cases = [
            ("100mm", Some(100.0)),
            (" 10 cm", Some(100.0)),
            ("1in", Some(25.4)),
            ("96", Some(25.4)),
            ("72pt", Some(25.4)),
            ("6pc", Some(25.4)),
            ("40Q", Some(10.0)),
            ("1e2mm", Some(100.0)),
            ("50%", None),
            ("1em", None),
            ("-4mm", None),
            ("wide", None),
        ];
        for (text, want) in cases {
            let got = absolute_mm(text);
            let same = match (got, want) {
                (Some(a), Some(b)) => (a - b).abs() < 1e-12,
                (a, b) => a == b,
            };
            assert!(same, "{text}: {got:?}, not {want:?}");
        }
    }

    #[test]
    fn working_units() {
        for (side, unit) in
            [(100.0, 1.0), (32.0, 1.0), (2000.0, 1.0), (8.47, 0.125), (0.26, 1.0 / 256.0), (1e5, 1024.0)]
        {
            assert_eq!(unit_for(side), unit, "{side} mm");
        }
    }
}
