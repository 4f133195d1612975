//! Writers: a sheet or an outcome becomes the bytes of a file. Writers know
//! nothing of wood, blades or checks beyond the figures they are handed.

pub mod dxf;
pub mod json;
pub mod night;
pub mod pdf;
pub mod png;
pub mod survey;
pub mod svg;

pub use dxf::dxf;
pub use pdf::{Meta, pdf};
pub use png::png;
pub use svg::svg;
