//! Lengths as people write them.

use std::fmt;

use super::{MM_PER_INCH, Mm, PT_PER_INCH, Unit};

/// Reads a length: `5-1/4in`, `5 1/4"`, `7/8`, `6ft`, `5' 6-1/2"`, `133.35mm`,
/// `13.3cm`, or a bare number in the shop's unit.
///
/// # Errors
/// A sentence that says what was written and how to write it.
pub fn parse_length(text: &str, bare: Unit) -> Result<Mm, String> {
    let refuse = || not_a_length(text);
    let trimmed = text.trim().replace(['″', '”'], "\"").replace(['′', '’'], "'").replace('−', "-");
    // The page holds a length together by a mark that is not seen; copied, it comes along.
    let trimmed = trimmed.replace('\u{2060}', "");
    let lower = trimmed.to_ascii_lowercase();
    if let Some((feet, inches)) = split_feet(&lower) {
        let value = parse_feet(feet, inches).ok_or_else(refuse)?;
        return if value.is_finite() { Ok(Mm::from_inches(value)) } else { Err(refuse()) };
    }
    let suffixes: [(&str, f64); 7] = [
        ("inches", MM_PER_INCH),
        ("inch", MM_PER_INCH),
        ("in", MM_PER_INCH),
        ("\"", MM_PER_INCH),
        ("mm", 1.0),
        ("cm", 10.0),
        ("pt", MM_PER_INCH / PT_PER_INCH),
    ];
    let bare_scale = match bare {
        Unit::Inch => MM_PER_INCH,
        Unit::Mm => 1.0,
    };
    let (number, scale) = suffixes
        .iter()
        .find_map(|(suffix, scale)| lower.strip_suffix(suffix).map(|rest| (rest, *scale)))
        .unwrap_or((lower.as_str(), bare_scale));
    let value = parse_mixed(number.trim()).ok_or_else(refuse)? * scale;
    if value.is_finite() { Ok(Mm(value)) } else { Err(refuse()) }
}

/// What is said of a text that is none.
#[must_use]
pub fn not_a_length(text: impl fmt::Display) -> String {
    format!("`{text}` is not a length; write it like 5-1/4in, 6ft, 133.35mm or 13.3cm")
}

/// The number of feet and what stands behind it; `None` where no foot is named.
fn split_feet(text: &str) -> Option<(&str, &str)> {
    ["feet", "foot", "ft", "'"].iter().find_map(|word| text.split_once(word))
}

/// Inches of `5` feet and `6-1/2"`, `-6 in`, `6` or nothing behind them; a minus
/// sign before the feet covers the whole.
fn parse_feet(feet: &str, inches: &str) -> Option<f64> {
    const INCHES_PER_FOOT: f64 = 12.0;
    let feet = parse_mixed(feet.trim())?;
    let inches = inches.trim();
    // As in 5'-6": no minus sign.
    let inches = inches.strip_prefix('-').unwrap_or(inches).trim_start();
    let bare = ["inches", "inch", "in", "\""].iter().find_map(|word| inches.strip_suffix(word)).unwrap_or(inches);
    let more = if inches.is_empty() { 0.0 } else { parse_mixed(bare.trim()).filter(|more| *more >= 0.0)? };
    Some(feet * INCHES_PER_FOOT + more.copysign(feet))
}

/// Reads `5`, `5.25`, `5-1/4`, `5 1/4`, `1/4`, each with an optional minus sign.
fn parse_mixed(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text),
    };
    let unsigned = match text.split_once(['-', ' ']) {
        Some((whole, fraction)) => plain(whole)? + parse_fraction(fraction.trim())?,
        None if text.contains('/') => parse_fraction(text)?,
        None => plain(text)?,
    };
    Some(sign * unsigned)
}

fn parse_fraction(text: &str) -> Option<f64> {
    let (top, bottom) = text.split_once('/')?;
    let (top, bottom) = (plain(top.trim())?, plain(bottom.trim())?);
    (bottom > 0.0).then(|| top / bottom)
}

fn plain(text: &str) -> Option<f64> {
    let allowed = |c: char| c.is_ascii_digit() || c == '.';
    (!text.is_empty() && text.chars().all(allowed)).then(|| text.parse().ok())?
}

/// Reads a width and a height: `133.35x254mm`, `5-1/4in x 10in`, `5-1/4 x 10`.
/// A unit on the second length alone covers both, but never feet: few faces are
/// feet wide, so `5-1/4x1ft` is more likely 5-1/4 in wide than 5-1/4 ft.
///
/// # Errors
/// A sentence that says what was written and how to write it.
pub fn parse_size(text: &str, bare: Unit) -> Result<(Mm, Mm), String> {
    let refuse = || format!("`{text}` is not a size; write width x height, like 133.35x254mm or 5-1/4x10in");
    let (width, height) = text.split_once(['x', 'X', '×']).ok_or_else(refuse)?;
    let has_unit = |t: &str| {
        t.trim().ends_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '"' | '″' | '”' | '\'' | '′' | '’'))
    };
    if !has_unit(width) && split_feet(&height.to_ascii_lowercase().replace(['′', '’'], "'")).is_some() {
        return Err(format!("`{text}` does not say the unit of its width; write units on both, like 5-1/4in x 1ft"));
    }
    let unit_text: String = height.trim().chars().rev().take_while(|c| !c.is_ascii_digit() && *c != '.').collect();
    let unit_text: String = unit_text.chars().rev().collect();
    let width_text =
        if !has_unit(width) && has_unit(height) { format!("{}{unit_text}", width.trim()) } else { width.to_owned() };
    let size = (parse_length(&width_text, bare), parse_length(height, bare));
    match size {
        (Ok(w), Ok(h)) => Ok((w, h)),
        _ => Err(refuse()),
    }
}

/// A size without a unit, read in the unit that is not the shop's, and how that is
/// written.
#[must_use]
pub fn other_size(text: &str, bare: Unit) -> Option<((Mm, Mm), String)> {
    let (word, other) = match bare {
        Unit::Inch => ("mm", Unit::Mm),
        Unit::Mm => ("in", Unit::Inch),
    };
    let size = parse_size(text, other).ok()?;
    let is_bare = parse_size(text, bare).is_ok_and(|read| read != size);
    is_bare.then(|| (size, format!("{text}{word}")))
}
