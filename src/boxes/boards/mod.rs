//! Which boards to buy and how to cut them.

mod knapsack;
mod pricing;
pub mod problem;
mod relax;
pub mod search;

#[cfg(test)]
mod tests;
