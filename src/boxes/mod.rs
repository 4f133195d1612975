//! The whole lantern: box, nails, boards, batch and price.
//!
//! ```text
//! settings -> design -> parts -> window
//!                         |-> nails
//!                         |-> boards -> batch -> price
//! ```
//!
//! **The box's frame:** millimetres; x from the left wall's outside to the
//! right, y up from the underside of the walls, z from the front face to the
//! back. The front panel's own frame is panel space: its lower-left corner is
//! the origin. What the planner needs to know of a face comes in as
//! [`face::FaceFacts`]; nothing here reads art.

pub mod batch;
pub mod boards;
pub mod design;
pub mod face;
pub mod hardware;
pub mod job;
pub mod nails;
pub mod over;
pub mod papers;
pub mod parts;
mod plane;
pub mod price;
pub mod report;
pub mod window;

pub use design::Design;
pub use face::FaceFacts;
pub use nails::NailPlan;
pub use parts::{Part, PartKind, Parts};
pub use window::Window;
