//! Geometry in the panel's plane. Knows nothing of wood, blades or files.
//!
//! Panel space: millimetres, origin at the panel's lower-left corner, x right,
//! y up, angles in radians unless a name says degrees. A bare `f64` length is
//! millimetres. Outlines stay Bézier curves ([`Ring`], [`Piece`], [`Region`]);
//! analysis works on [`FlatRing`]s, which remember the curve they came from.

pub mod ball;
pub mod bend;
pub mod boolean;
pub mod boundary;
pub mod cells;
pub mod closest;
pub mod flat;
pub mod grid;
pub mod guard;
pub mod hull;
pub mod inside;
pub mod medial;
mod monotone;
pub mod offset;
pub mod ring;
mod simple;
pub mod tolerance;
mod trim;

pub use boundary::{Boundary, Spot};
pub use flat::FlatRing;
pub use ring::{Piece, Region, Ring};
