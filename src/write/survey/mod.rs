//! A survey as data, as a table and as a page.

pub mod csv;
pub mod html;
pub mod json;
