//! What the shop always uses: plain data read from `shop.toml`.

pub mod batch;
pub mod boxes;
pub mod length;
pub mod money;

pub use length::Length;
pub use money::Money;
