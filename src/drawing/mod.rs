//! A drawing of any kind becomes [`Art`]: SVG is read as it is, a bitmap is
//! traced, DXF is read as lines. Told apart by their first bytes, never by name.

mod bitmap;
mod dxf;
mod pen;

use crate::art::{self, Art};
use crate::diag::{Error, Finding, FindingKind, Noted, Place, Severity};
use crate::face::layer;
use crate::geom::guard;
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
    /// DXF, text or not, or DWG; the DXF reader says which it reads.
    Dxf,
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
        if BITMAPS.iter().any(|start| bytes.starts_with(start)) {
            Self::Bitmap
        } else if dxf::is_dxf(bytes) {
            Self::Dxf
        } else {
            Self::Svg
        }
    }
}

/// What the format of the bench's own projects begins with; it stands near the
/// start of their files.
pub const PROJECT: &str = "fretgrin-project-";

/// Whether `bytes` begin like one of the bench's own projects.
#[must_use]
pub fn is_project(bytes: &[u8]) -> bool {
    /// Bytes of a file looked at.
    const START: usize = 2048;
    let start = &bytes[..bytes.len().min(START)];
    start.windows(PROJECT.len()).any(|part| part == PROJECT.as_bytes())
}

/// Refuses a project: its face is more than its drawing, so the drawing alone
/// would be another one.
fn no_project(bytes: &[u8], name: &str) -> Result<(), Error> {
    if !is_project(bytes) {
        return Ok(());
    }
    let place = Place { file: Some(name.to_owned()), ..Place::default() };
    let advice = "give the drawing, or the outlines that `fretgrin export` makes of the project: they are its face as \
                  laid and mended there";
    Err(Error::art(place, "this is a project of the bench, and a drawing is wanted here", advice))
}

/// Reads a drawing. `name` is what it is called in messages.
///
/// # Errors
/// [`Error::Art`] when it cannot be read; [`Error::Internal`] when a library
/// failed on it.
pub fn read(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    no_project(bytes, name)?;
    let mut noted = match Kind::of(bytes) {
        Kind::Svg => art::read(bytes, name, &options.art)?,
        Kind::Dxf => dxf::read(bytes, name, &options.art.limits)?,
        Kind::Bitmap => guarded(name, || bitmap::read(bytes, name, &options.trace))?,
    };
    if noted.value.placed {
        leave_out_guides(&mut noted);
    }
    Ok(noted)
}

/// An exported face brings its panel and entry holes along, on layers of their
/// own; both are found anew.
fn leave_out_guides(noted: &mut Noted<Art>) {
    let is_guide = |id: &String| [layer::PANEL, layer::HOLES].iter().any(|guide| id.eq_ignore_ascii_case(guide));
    let before = noted.value.shapes.len();
    noted.value.shapes.retain(|shape| !shape.ids.iter().any(is_guide));
    if noted.value.shapes.len() < before {
        let message = "the panel and entry holes the drawing brings along were left off; they are found anew";
        let advice = "nothing, if the picture is right";
        noted.findings.push(Finding::new("left-out-guides", FindingKind::LeftOut, Severity::Note, message, advice));
    }
}

/// Runs a reader whose library may fail on a file made to break it.
fn guarded(name: &str, reader: impl FnOnce() -> Result<Noted<Art>, Error>) -> Result<Noted<Art>, Error> {
    let failed = |_| Error::Internal { what: format!("a library failed while reading {name}") };
    guard::guarded(reader).map_err(failed)?
}
