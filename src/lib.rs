//! fretgrin: from a face drawing to a true-size scroll-saw template, a lantern
//! box and its price.

pub mod art;
pub mod boxes;
pub mod check;
pub mod cli;
pub mod diag;
pub mod drawing;
pub mod edge;
pub mod entry;
pub mod face;
pub mod fit;
pub mod font;
pub mod geom;
pub mod interpret;
pub mod mend;
pub mod order;
pub mod outcome;
pub mod pipeline;
pub mod project;
pub mod settings;
pub mod sheet;
pub mod survey;
pub mod trace;
pub mod trade;
pub mod units;
pub mod web;
pub mod write;
