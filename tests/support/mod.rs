//! What several test files share.

pub(crate) mod pdf;
pub(crate) mod sample;
