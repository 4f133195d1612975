//! A drawing of any kind becomes [`Art`]: SVG is read as it is, a bitmap is
//! traced, DXF is read as lines. Told apart by their first bytes, never by name.

mod bitmap;

use std::panic::{AssertUnwindSafe, catch_unwind};

use crate::art::{self, Art};
use crate::diag::{Error, Noted};
use crate::trace;

/// How to read a drawing of each kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// SVG.
    pub art: art::Options,
    /// Bitmaps.
    pub trace: trace::Options,
}

/// What a file is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// PNG, JPEG, WebP, GIF or BMP.
    Bitmap,
    /// Anything else; the SVG reader says what is wrong with it.
    Svg,
}

/// First bytes of the bitmaps read: PNG (its specification, 5.2), JPEG (ITU-T
/// T.81, B.1.1.3), GIF (GIF89a, 17), WebP (RFC 9649, 2.4) and BMP.
const BITMAPS: [&[u8]; 5] = [b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"GIF8", b"RIFF", b"BM"];

impl Kind {
    /// What `bytes` are.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        if BITMAPS.iter().any(|start| bytes.starts_with(start)) { Self::Bitmap } else { Self::Svg }
    }
}

/// Reads a drawing. `name` is what it is called in messages.
///
/// # Errors
/// [`Error::Art`] when it cannot be read; [`Error::Internal`] when a library
/// failed on it.
pub fn read(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    match Kind::of(bytes) {
        Kind::Svg => art::read(bytes, name, &options.art),
        Kind::Bitmap => guarded(name, || bitmap::read(bytes, name, &options.trace)),
    }
}

/// Runs a reader whose library may fail on a file made to break it.
fn guarded(name: &str, reader: impl FnOnce() -> Result<Noted<Art>, Error>) -> Result<Noted<Art>, Error> {
    let failed = |_| Error::Internal { what: format!("a library failed while reading {name}") };
    catch_unwind(AssertUnwindSafe(reader)).map_err(failed)?
}
