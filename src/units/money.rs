//! Amounts of money.

use std::ops::{Add, Mul, Sub};

use serde::{Deserialize, Serialize};

/// Money in whole cents (or any other hundredth of a currency).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Cents(pub i64);

impl Cents {
    /// The amount with its currency sign: `$12.05`, `-€3.00`.
    #[must_use]
    pub fn with_sign(self, sign: &str) -> String {
        let minus = if self.0 < 0 { "-" } else { "" };
        let value = self.0.unsigned_abs();
        format!("{minus}{sign}{}.{:02}", value / 100, value % 100)
    }
}
impl Add for Cents {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Sub for Cents {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}
impl Mul<i64> for Cents {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}
impl std::iter::Sum for Cents {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self(0), Add::add)
    }
}
