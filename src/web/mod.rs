//! The bench page.
pub mod guard;
pub mod http;
pub mod pool;
