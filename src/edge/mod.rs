//! The edge to the file system: the only place, with the command line and the
//! page, that touches files.
//!
//! Reading is bounded; writing is all or nothing, and never over a file that is
//! not ours.

mod list;
pub mod mark;
mod read;
mod way;
mod work;
mod write;

pub use list::{ending, faces};
pub use read::{
    Art, STANDARD_INPUT, Stretches, find_upward, read_art, read_bytes, read_drawing, read_text, read_through,
};
pub use way::way;
pub use write::{FileSet, NewFile, any_stands, clear_series, write_all, write_kept};

use std::io;
use std::path::Path;

use crate::diag::Error;

/// A path as shown to people.
#[must_use]
pub fn shown(path: &Path) -> String {
    let text = path.display().to_string();
    let clean: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).collect();
    if clean.is_empty() { ".".to_owned() } else { clean }
}

/// What the system said, in plain words with what to do about it.
fn trouble(path: &Path, tried: &str, error: &io::Error) -> Error {
    use io::ErrorKind as Kind;
    let (said, advice) = match error.kind() {
        Kind::NotFound => ("there is no such file or folder".to_owned(), "check the spelling of the path"),
        Kind::PermissionDenied if tried.starts_with("read") => {
            ("this is not allowed".to_owned(), "change its rights, or copy it to a folder of your own")
        }
        Kind::PermissionDenied => {
            ("this is not allowed".to_owned(), "choose another folder with --out, or change its rights")
        }
        Kind::ReadOnlyFilesystem => ("the disk can only be read".to_owned(), "choose another folder with --out"),
        Kind::StorageFull => ("the disk is full".to_owned(), "make room, or choose another folder with --out"),
        Kind::QuotaExceeded => {
            ("your share of the disk is full".to_owned(), "make room, or choose another folder with --out")
        }
        Kind::IsADirectory => ("it is a folder".to_owned(), "name a file"),
        Kind::NotADirectory => {
            ("part of the path is a file, not a folder".to_owned(), "check the spelling of the path")
        }
        Kind::InvalidFilename => {
            ("the file system does not take this name".to_owned(), "give the art a shorter, simpler name")
        }
        _ => (error.to_string(), "check the disk and the path"),
    };
    Error::file(shown(path), format!("cannot {tried}: {said}"), advice)
}
