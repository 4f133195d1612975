//! fretgrin: from a face drawing to a true-size scroll-saw template, a lantern
//! box and its price.

pub mod diag;
pub mod units;
