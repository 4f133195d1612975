//! A sum of money as it stands in the shop file.

use serde::{Deserialize, Serialize};

use crate::units::Cents;

/// A sum as written: `3.48`, `"3.48"` or `12`. Never more than two decimals,
/// so that no cent is lost on reading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "wanted a sum of money, like 3.48 or \"3.48\"")]
pub enum Money {
    /// A whole number of units (dollars, euros …).
    Whole(i64),
    /// A number with decimals.
    Number(f64),
    /// A text with decimals.
    Text(String),
}

impl Money {
    /// A sum of so many cents.
    #[must_use]
    pub fn cents(cents: i64) -> Self {
        Self::Text(Cents(cents).with_sign(""))
    }

    /// The sum in whole cents.
    ///
    /// # Errors
    /// A sentence that says what was written and how to write it.
    pub fn resolve(&self) -> Result<Cents, String> {
        match self {
            Self::Whole(units) => whole_cents(&units.to_string()),
            Self::Number(number) => whole_cents(&number.to_string()),
            Self::Text(text) => whole_cents(text.trim()),
        }
    }
}

/// Reads decimal digits exactly; a float never takes part.
fn whole_cents(text: &str) -> Result<Cents, String> {
    let refuse = || format!("`{text}` is not a sum of money; write it like 3.48, with two decimals at most");
    let (minus, digits) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
    let (units, decimals) = digits.split_once('.').unwrap_or((digits, ""));
    let numeric = |t: &str| t.chars().all(|c| c.is_ascii_digit());
    if units.is_empty() || units.len() > 12 || decimals.len() > 2 || !numeric(units) || !numeric(decimals) {
        return Err(refuse());
    }
    let units: i64 = units.parse().map_err(|_| refuse())?;
    let decimals: i64 = format!("{decimals:0<2}").parse().map_err(|_| refuse())?;
    Ok(Cents(minus * (units * 100 + decimals)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_read_to_the_cent() {
        let cases = [
            (Money::Whole(12), 1200),
            (Money::Number(3.48), 348),
            (Money::Number(0.1), 10),
            (Money::Text("19.99".into()), 1999),
            (Money::Text("-0.05".into()), -5),
            (Money::cents(1205), 1205),
        ];
        for (money, cents) in cases {
            assert_eq!(money.resolve(), Ok(Cents(cents)), "{money:?}");
        }
        for bad in [Money::Number(1.234), Money::Text("$5".into()), Money::Text(String::new()), Money::Number(1e30)] {
            assert!(bad.resolve().is_err(), "{bad:?}");
        }
    }
}
