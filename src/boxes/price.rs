//! What a batch costs and what a box should bring, in whole cents.

use serde::Serialize;

use super::design::setting;
use super::hardware::{money, number};
use crate::diag::Error;
use crate::settings::batch::PriceSettings;
use crate::units::Cents;

/// The shop's rates, resolved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rates {
    /// Currency sign.
    pub currency: String,
    /// Pay for an hour.
    pub hourly: Cents,
    /// Overhead for an hour.
    pub overhead_hourly: Cents,
    /// Overhead for a batch.
    pub overhead_batch: Cents,
    /// Stall fee for a batch.
    pub stall: Cents,
    /// Selling fee, share of the price.
    pub fee: f64,
    /// Fixed fee for a sale.
    pub fee_each: Cents,
    /// Wished margin, share of the price.
    pub margin: f64,
    /// Price asked, if the shop set one.
    pub price: Option<Cents>,
}

impl Rates {
    /// The rates of the shop file.
    ///
    /// # Errors
    /// [`Error::Setting`] naming the key whose value is wrong; also when fee
    /// and margin leave nothing of the price.
    pub fn new(asked: &PriceSettings) -> Result<Self, Error> {
        number("price.fee_percent", asked.fee_percent, [0.0, 100.0])?;
        number("price.margin_percent", asked.margin_percent, [0.0, 100.0])?;
        if asked.fee_percent + asked.margin_percent >= 100.0 {
            let text = "fee and margin together leave nothing of the price";
            return Err(setting("price.margin_percent", text, "give less than 100 percent together"));
        }
        Ok(Self {
            currency: asked.currency.clone(),
            hourly: money("price.hourly_rate", &asked.hourly_rate)?,
            overhead_hourly: money("price.overhead_per_hour", &asked.overhead_per_hour)?,
            overhead_batch: money("price.overhead_per_batch", &asked.overhead_per_batch)?,
            stall: money("price.stall_fee", &asked.stall_fee)?,
            fee: asked.fee_percent / 100.0,
            fee_each: money("price.fee_per_sale", &asked.fee_per_sale)?,
            margin: asked.margin_percent / 100.0,
            price: asked.price.as_ref().map(|p| money("price.price", p)).transpose()?,
        })
    }

    /// Fees on one sale: the share rounded to the cent, and the fixed fee.
    #[must_use]
    pub fn fees(&self, price: Cents) -> Cents {
        Cents((price.0 as f64 * self.fee).round() as i64) + self.fee_each
    }

    /// Profit on one sale.
    #[must_use]
    pub fn profit(&self, price: Cents, unit_cost: Cents) -> Cents {
        price - self.fees(price) - unit_cost
    }

    /// Margin: profit as a share of the price.
    #[must_use]
    pub fn margin_at(&self, price: Cents, unit_cost: Cents) -> f64 {
        if price.0 == 0 { 0.0 } else { self.profit(price, unit_cost).0 as f64 / price.0 as f64 }
    }

    /// The least price whose profit is at least the wished margin. Before
    /// rounding it is (cost + fixed fee)/(1 - margin - fee).
    #[must_use]
    pub fn price_for_margin(&self, unit_cost: Cents) -> Cents {
        let raw = (unit_cost + self.fee_each).0 as f64 / (1.0 - self.margin - self.fee);
        // Rounding fees to the cent moves the answer by a few cents at most.
        let room = (2.0 / (1.0 - self.margin - self.fee)).ceil() as i64;
        let enough = |p: i64| self.profit(Cents(p), unit_cost).0 as f64 >= self.margin * p as f64 - 1e-6;
        let from = (raw.floor() as i64 - room).max(0);
        (from..=from + 2 * room + 2).find(|&p| enough(p)).map_or(Cents(raw.ceil() as i64), Cents)
    }
}

/// What a line of cost is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Group {
    /// Boards.
    Boards,
    /// Hardware and consumables.
    Supplies,
    /// Work.
    Work,
    /// Overhead and stall.
    Overhead,
}

/// One line of cost for the whole batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CostLine {
    /// What it is for.
    pub group: Group,
    /// Its name.
    pub name: String,
    /// The sum.
    pub amount: Cents,
}

/// What a batch costs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Costs {
    /// Boxes in the batch.
    pub boxes: u32,
    /// Every line; they add up to the total to the cent.
    pub lines: Vec<CostLine>,
}

impl Costs {
    /// The whole batch.
    #[must_use]
    pub fn total(&self) -> Cents {
        self.lines.iter().map(|l| l.amount).sum()
    }

    /// One box, rounded up to the cent so that no cent is lost.
    #[must_use]
    pub fn unit(&self) -> Cents {
        let boxes = i64::from(self.boxes.max(1));
        Cents(self.total().0.div_euclid(boxes) + i64::from(self.total().0.rem_euclid(boxes) > 0))
    }

    /// The sum of one group.
    #[must_use]
    pub fn group(&self, group: Group) -> Cents {
        self.lines.iter().filter(|l| l.group == group).map(|l| l.amount).sum()
    }
}

/// Cost of so many minutes at an hourly rate, rounded once.
#[must_use]
pub fn for_minutes(minutes: f64, hourly: Cents) -> Cents {
    Cents((minutes * hourly.0 as f64 / 60.0).round() as i64)
}

/// How many boxes have to be sold at `price` until they have paid for a batch
/// that costs `cost`; nothing when a sale leaves nothing.
#[must_use]
pub fn sold_to_pay(rates: &Rates, price: Cents, cost: Cents) -> Option<u32> {
    let left = (price - rates.fees(price)).0;
    if left <= 0 { None } else { u32::try_from((cost.0 + left - 1) / left).ok() }
}

/// Boxes looked at for a break-even.
pub(super) const MOST_BOXES: u32 = 2_000;

/// The least number of boxes whose takings at `price` cover their cost;
/// `cost` gives the cost of a batch of n. Nothing when none up to 2 000 does.
///
/// # Errors
/// Those of `cost`.
pub fn break_even(
    rates: &Rates,
    price: Cents,
    cost: &dyn Fn(u32) -> Result<Cents, Error>,
) -> Result<Option<u32>, Error> {
    let left = price - rates.fees(price);
    for n in 1..=MOST_BOXES {
        if left * i64::from(n) >= cost(n)? {
            return Ok(Some(n));
        }
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rates(fee: f64, each: i64, margin: f64) -> Rates {
        let mut rates = Rates::new(&PriceSettings::default()).unwrap();
        (rates.fee, rates.fee_each, rates.margin) = (fee, Cents(each), margin);
        rates
    }

    proptest! {
        #[test]
        fn the_price_is_the_least_that_leaves_the_margin(
            cost in 1i64..200_000, fee in 0.0f64..0.3, each in 0i64..100, margin in 0.0f64..0.6,
        ) {
            let rates = rates(fee, each, margin);
            let price = rates.price_for_margin(Cents(cost));
            prop_assert!(rates.margin_at(price, Cents(cost)) >= margin - 1e-6);
            let less = price - Cents(1);
            // A cent less falls short, unless rounding the fee gave the cent back.
            let short = rates.profit(less, Cents(cost)).0 as f64 - margin * less.0 as f64;
            prop_assert!(short < 1.0 + 1e-6, "{price:?} is not the least: {short}");
            let sum = rates.profit(price, Cents(cost)) + rates.fees(price) + Cents(cost);
            prop_assert_eq!(sum, price, "cost, fees and profit make up the price to the cent");
        }
    }

    #[test]
    fn prices_match_the_formula() {
        // 20.00 at 30 % and no fee: 28.57 leaves 8.57 = 29.997 %, so 28.58.
        assert_eq!(rates(0.0, 0, 0.3).price_for_margin(Cents(2000)), Cents(2858), "20/0.7");
        assert_eq!(rates(0.0, 0, 0.5).price_for_margin(Cents(2000)), Cents(4000), "50 % margin is 100 % markup");
        let price = rates(0.03, 10, 0.3).price_for_margin(Cents(2000));
        assert!((price.0 as f64 - 2010.0 / 0.67).abs() < 2.0, "{price:?}");
    }

    #[test]
    fn lines_add_up_and_units_cover_the_total() {
        let line = |amount| CostLine { group: Group::Work, name: "work".into(), amount: Cents(amount) };
        let costs = Costs { boxes: 7, lines: vec![line(1000), line(33), line(-1)] };
        assert_eq!(costs.total(), Cents(1032), "to the cent");
        assert_eq!(costs.unit(), Cents(148), "1032/7 = 147.4 rounds up");
        assert!(costs.unit() * 7 >= costs.total(), "no cent is lost");
        assert_eq!(for_minutes(90.0, Cents(2000)), Cents(3000), "an hour and a half");
    }

    #[test]
    fn break_even_is_the_first_batch_that_pays() {
        let rates = rates(0.0, 0, 0.3);
        let cost = |n: u32| Ok(Cents(5000 + 1000 * i64::from(n)));
        let break_even = |rates: &Rates, price, cost: &dyn Fn(u32) -> _| break_even(rates, price, cost).unwrap();
        assert_eq!(break_even(&rates, Cents(2000), &cost), Some(5), "5000/(2000 - 1000)");
        assert_eq!(break_even(&rates, Cents(1999), &cost), Some(6), "a cent short");
        assert_eq!(break_even(&rates, Cents(1000), &cost), None, "never");
    }

    #[test]
    fn the_first_boxes_sold_pay_for_the_batch() {
        let rates = rates(0.0, 0, 0.3);
        assert_eq!(sold_to_pay(&rates, Cents(2000), Cents(30_000)), Some(15), "15 x 20");
        assert_eq!(sold_to_pay(&rates, Cents(2000), Cents(30_001)), Some(16), "a cent more");
        assert_eq!(sold_to_pay(&rates, Cents(0), Cents(30_000)), None, "given away");
    }

    #[test]
    fn impossible_margins_are_refused() {
        let bad = PriceSettings { margin_percent: 98.0, ..PriceSettings::default() };
        assert!(Rates::new(&bad).unwrap_err().to_string().contains("price.margin_percent"), "98 + 3");
    }
}
