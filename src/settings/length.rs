//! A length as it stands in the shop file, before the shop's unit is known.

use serde::{Deserialize, Serialize};

use crate::diag::{Error, Place};
use crate::units::{Mm, Unit, not_a_length, parse_length};

/// A length as written: `"5-1/4in"`, `"133.35mm"`, or a bare number that counts
/// in the shop's unit. [`Length::resolve`] turns it into millimetres.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "wanted a length, like \"5-1/4in\", \"133.35mm\" or a number")]
pub enum Length {
    /// A bare number in the shop's unit.
    Number(f64),
    /// A text with or without a unit.
    Text(String),
}

impl Length {
    /// A length written as text.
    #[must_use]
    pub fn text(text: &str) -> Self {
        Self::Text(text.to_owned())
    }

    /// Whether it is written in this unit, or bare.
    pub(super) fn is_in(&self, unit: Unit) -> bool {
        let text = self.to_string().to_lowercase();
        let (is_metric, is_bare) =
            (text.ends_with("mm") || text.ends_with("cm"), self.resolve(Unit::Inch) != self.resolve(Unit::Mm));
        is_bare || is_metric == (unit == Unit::Mm)
    }

    /// [`Length::resolve`] for the setting called `key`.
    ///
    /// # Errors
    /// [`Error::Setting`]: what was written, and how to write it as its advice.
    pub fn of_key(&self, key: &str, unit: Unit) -> Result<Mm, Error> {
        self.resolve(unit).map_err(|refused| {
            let (what, advice) = refused.rsplit_once("; ").unwrap_or((&refused, ""));
            Error::setting(Place { element: Some(key.to_owned()), ..Place::default() }, what, advice)
        })
    }

    /// The length in millimetres; a number without a unit counts in `unit`.
    ///
    /// # Errors
    /// A sentence that says what was written and how to write it.
    pub fn resolve(&self, unit: Unit) -> Result<Mm, String> {
        match self {
            Self::Text(text) => parse_length(text, unit),
            Self::Number(number) if !number.is_finite() => Err(not_a_length(number)),
            Self::Number(number) => Ok(match unit {
                Unit::Inch => Mm::from_inches(*number),
                Unit::Mm => Mm::new(*number),
            }),
        }
    }
}

impl std::fmt::Display for Length {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Text(text) => f.write_str(text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bare_numbers_count_in_the_shops_unit() {
        assert_eq!(Length::Number(2.0).resolve(Unit::Inch), Ok(Mm::new(50.8)), "inches");
        assert_eq!(Length::Number(2.0).resolve(Unit::Mm), Ok(Mm::new(2.0)), "millimetres");
        assert_eq!(Length::text("2").resolve(Unit::Inch), Ok(Mm::new(50.8)), "text without a unit");
        assert_eq!(Length::text("2mm").resolve(Unit::Inch), Ok(Mm::new(2.0)), "text with a unit");
        assert!(Length::Number(f64::NAN).resolve(Unit::Mm).is_err(), "not a number");
    }
}
