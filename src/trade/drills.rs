//! Drill bits: number, letter, fraction and metric sizes.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{Table, unknown};
use crate::diag::Error;
use crate::units::{Mm, Unit, parse_length};

const NUMBER_SOURCE: &str = "number sizes as in ASME B94.11M; second-hand copy of a shop table";
const LETTER_SOURCE: &str = "letter sizes as in ASME B94.11M; second-hand copy of a shop table";
const FRACTION_SOURCE: &str = "inch fractions by 1/64, exact";
const METRIC_SOURCE: &str = "ISO 235 jobber series; from memory";

/// Number sizes, inches, from #1 to #80.
#[rustfmt::skip]
const NUMBER: [f64; 80] = [
    0.2280, 0.2210, 0.2130, 0.2090, 0.2055, 0.2040, 0.2010, 0.1990, 0.1960, 0.1935,
    0.1910, 0.1890, 0.1850, 0.1820, 0.1800, 0.1770, 0.1730, 0.1695, 0.1660, 0.1610,
    0.1590, 0.1570, 0.1540, 0.1520, 0.1495, 0.1470, 0.1440, 0.1405, 0.1360, 0.1285,
    0.1200, 0.1160, 0.1130, 0.1110, 0.1100, 0.1065, 0.1040, 0.1015, 0.0995, 0.0980,
    0.0960, 0.0935, 0.0890, 0.0860, 0.0820, 0.0810, 0.0785, 0.0760, 0.0730, 0.0700,
    0.0670, 0.0635, 0.0595, 0.0550, 0.0520, 0.0465, 0.0430, 0.0420, 0.0410, 0.0400,
    0.0390, 0.0380, 0.0370, 0.0360, 0.0350, 0.0330, 0.0320, 0.0310, 0.0292, 0.0280,
    0.0260, 0.0250, 0.0240, 0.0225, 0.0210, 0.0200, 0.0180, 0.0160, 0.0145, 0.0135,
];

/// Letter sizes, inches, from A to Z.
#[rustfmt::skip]
const LETTER: [f64; 26] = [
    0.234, 0.238, 0.242, 0.246, 0.250, 0.257, 0.261, 0.266, 0.272, 0.277, 0.281, 0.290, 0.295,
    0.302, 0.316, 0.323, 0.332, 0.339, 0.348, 0.358, 0.368, 0.377, 0.386, 0.397, 0.404, 0.413,
];

/// Largest bit taken for one that drills an entry hole, inches: the end of the
/// fraction series (1/16 steps to 3 in; second-hand copy of a shop table).
const LARGEST_IN: f64 = 3.0;
/// Smallest bit of any series here, mm; common practice.
const SMALLEST_MM: f64 = 0.3;

/// Which row of sizes a bit belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Series {
    /// #1 to #80.
    Number,
    /// A to Z.
    Letter,
    /// Inch fractions.
    Fraction,
    /// Millimetres.
    Metric,
}

/// One drill bit. Reads and writes as its name: `1/16 in`, `#52`, `1.6 mm`, `A`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Drill {
    /// The name on the bit, one spelling for each: `1/16 in`, `#52`, `1.6 mm`, `A`.
    pub name: String,
    /// The row of sizes it belongs to.
    pub series: Series,
    /// The hole it drills.
    pub diameter: Mm,
}

impl Drill {
    fn number(number: usize) -> Option<Self> {
        let inches = NUMBER.get(number.checked_sub(1)?)?;
        Some(Self { name: format!("#{number}"), series: Series::Number, diameter: Mm::from_inches(*inches) })
    }

    fn letter(letter: char) -> Option<Self> {
        let index = u32::from(letter.to_ascii_uppercase()).checked_sub(u32::from('A'))?;
        let inches = LETTER.get(usize::try_from(index).ok()?)?;
        let name = letter.to_ascii_uppercase().to_string();
        Some(Self { name, series: Series::Letter, diameter: Mm::from_inches(*inches) })
    }

    /// A bit of `parts`/64 in.
    fn sixty_fourths(parts: u32) -> Self {
        let diameter = Mm::from_inches(f64::from(parts) / 64.0);
        Self { name: diameter.fraction(64), series: Series::Fraction, diameter }
    }

    fn metric(mm: f64) -> Self {
        let diameter = Mm::new(mm);
        // Two decimals name every size of the series; needless zeros go.
        let digits = format!("{mm:.2}");
        let name = format!("{} mm", digits.trim_end_matches('0').trim_end_matches('.'));
        Self { name, series: Series::Metric, diameter }
    }

    /// Where the size comes from.
    #[must_use]
    pub const fn source(&self) -> &'static str {
        match self.series {
            Series::Number => NUMBER_SOURCE,
            Series::Letter => LETTER_SOURCE,
            Series::Fraction => FRACTION_SOURCE,
            Series::Metric => METRIC_SOURCE,
        }
    }
}

impl fmt::Display for Drill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

impl From<Drill> for String {
    fn from(drill: Drill) -> Self {
        drill.name
    }
}

impl TryFrom<String> for Drill {
    type Error = Error;
    fn try_from(name: String) -> Result<Self, Error> {
        name.parse()
    }
}

impl FromStr for Drill {
    type Err = Error;

    /// Reads `1/16`, `1/16in`, `#52`, `no. 52`, `A`, `1.6mm`.
    ///
    /// # Errors
    /// [`Error::Setting`] with how to write it: a bare number could be a number
    /// size or millimetres and is refused.
    fn from_str(text: &str) -> Result<Self, Error> {
        read(text.trim()).ok_or_else(|| {
            let examples = ["1/16in", "#52", "1.6mm", "A"];
            let bare = text.trim();
            match bare.parse::<f64>() {
                Ok(_) => unknown("drill", text, [format!("#{bare}").as_str()], &format!("{bare}mm` or `#{bare}")),
                Err(_) => unknown("drill", text, examples, "fretgrin drills"),
            }
        })
    }
}

fn read(text: &str) -> Option<Drill> {
    let lower = text.to_lowercase();
    let mut letters = text.chars();
    if let (Some(letter), None) = (letters.next(), letters.next())
        && letter.is_ascii_alphabetic()
    {
        return Drill::letter(letter);
    }
    if let Some(number) = ["#", "no.", "no "].iter().find_map(|mark| lower.strip_prefix(mark)) {
        return Drill::number(number.trim().parse().ok()?);
    }
    if lower.ends_with("mm") {
        let length = parse_length(&lower, Unit::Mm).ok()?;
        return in_range(length).then(|| Drill::metric(length.get()));
    }
    let in_inches = lower.contains('/') || lower.ends_with(['"', '″']) || lower.ends_with("in");
    in_inches.then(|| read_fraction(&lower))?
}

fn read_fraction(lower: &str) -> Option<Drill> {
    let length = parse_length(lower, Unit::Inch).ok().filter(|&l| in_range(l))?;
    let parts = length.inches() * 64.0;
    let whole = (parts - parts.round()).abs() < 1e-9;
    whole.then(|| Drill::sixty_fourths(parts.round() as u32))
}

fn in_range(length: Mm) -> bool {
    length >= Mm::new(SMALLEST_MM) && length <= Mm::from_inches(LARGEST_IN)
}

/// Every built-in size to 1 in, smallest first within its series: numbers,
/// letters, fractions by 1/64 in, metric (0.05 mm steps to 3 mm, 0.1 to 13 mm).
#[must_use]
pub fn all() -> Vec<Drill> {
    let numbers = (1..=NUMBER.len()).rev().filter_map(Drill::number);
    let letters = ('A'..='Z').filter_map(Drill::letter);
    let fractions = (1..=64).map(Drill::sixty_fourths);
    let fine = (6..60).map(|step| Drill::metric(f64::from(step) / 20.0));
    let coarse = (30..=130).map(|step| Drill::metric(f64::from(step) / 10.0));
    numbers.chain(letters).chain(fractions).chain(fine).chain(coarse).collect()
}

/// A small shop's bits: common practice, no source.
#[must_use]
pub fn default_drawer() -> Vec<Drill> {
    [3, 4, 5, 6, 8, 10, 12, 16].map(Drill::sixty_fourths).to_vec()
}

/// The drills as a table: every size to 1/4 in, by diameter.
#[must_use]
pub fn rows(unit: Unit) -> Table {
    let heads = match unit {
        Unit::Inch => ["drill", "in", "mm", "source"],
        Unit::Mm => ["drill", "mm", "in", "source"],
    };
    let mut table = Table::new("Drills to 1/4 in", &heads);
    let mut drills = all();
    drills.retain(|drill| drill.diameter.inches() <= 0.25);
    drills.sort_by(|a, b| a.diameter.get().total_cmp(&b.diameter.get()));
    for drill in drills {
        let (inches, mm) = (format!("{:.4}", drill.diameter.inches()), format!("{:.3}", drill.diameter.get()));
        let (first, second) = if unit == Unit::Inch { (inches, mm) } else { (mm, inches) };
        let mark = table.cite(drill.source());
        table.rows.push(vec![drill.name, first, second, mark]);
    }
    table.notes.push("any size to 3 in can be named: 5/16in, #7, A, 8.5mm".to_owned());
    table.notes.push("bits under 0.8 mm break easily in a hand drill (common practice)".to_owned());
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drill(name: &str) -> Drill {
        name.parse().unwrap()
    }

    #[test]
    fn sizes_agree_with_the_standard() {
        // ASME B94.11M: #80 .0135, #60 .0400, #52 .0635, #30 .1285, #7 .2010, #1 .2280, A .234, F .257, Z .413.
        let cases = [
            ("#80", 0.0135),
            ("#60", 0.04),
            ("#52", 0.0635),
            ("#30", 0.1285),
            ("#7", 0.201),
            ("#1", 0.228),
            ("A", 0.234),
            ("F", 0.257),
            ("Z", 0.413),
            ("1/16", 0.0625),
        ];
        for (name, inches) in cases {
            assert!((drill(name).diameter.inches() - inches).abs() < 1e-12, "{name}");
        }
    }

    #[test]
    fn number_and_letter_sizes_never_cross() {
        assert!(NUMBER.windows(2).all(|pair| pair[0] > pair[1]), "a higher number is a finer bit");
        assert!(LETTER.windows(2).all(|pair| pair[0] < pair[1]), "a later letter is a coarser bit");
        assert!(drill("A").diameter > drill("#1").diameter, "letters go on where numbers end");
    }

    #[test]
    fn names_read_back_as_themselves() {
        for bit in all() {
            assert_eq!(drill(&bit.name), bit, "{}", bit.name);
        }
        for (text, name) in
            [("no. 52", "#52"), (" 1/16in ", "1/16 in"), ("a", "A"), ("1.60mm", "1.6 mm"), ("2/32\"", "1/16 in")]
        {
            assert_eq!(drill(text).name, name, "{text}");
        }
    }

    #[test]
    fn unclear_names_are_refused_with_an_example() {
        for text in ["", "52", "1.6", "#0", "#81", "1/7in", "nanmm", "-1/16", "4in", "1e9mm", "Ä", "0.1mm"] {
            let error = text.parse::<Drill>().expect_err(text);
            assert!(!error.advice().is_empty(), "{text}");
        }
        let error = "52".parse::<Drill>().expect_err("could be either");
        assert!(error.advice().contains("#52") && error.advice().contains("52mm"), "{}", error.advice());
    }

    #[test]
    fn the_table_is_in_order_of_size() {
        let table = rows(Unit::Mm);
        let sizes: Vec<f64> = table.rows.iter().map(|row| row[1].parse().unwrap()).collect();
        assert!(sizes.windows(2).all(|pair| pair[0] <= pair[1]), "smallest first");
        assert!(table.rows.iter().any(|row| row[0] == "#52"), "number sizes stand in it");
    }
}
