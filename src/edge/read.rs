//! Reading files, never more than is reasonable.

use std::fs::{self, File};
use std::io::{self, Read, Seek as _, SeekFrom};
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::{shown, trouble};
use crate::diag::{Error, Place};
use crate::trade::nearest;

/// Largest drawing read: photographs of 50 megapixels fit, a film does not.
const LARGEST_ART: u64 = 64 * 1024 * 1024;
/// Name given to art from standard input.
pub const STANDARD_INPUT: &str = "-";

/// The bytes of a drawing and its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Art {
    /// The file as given; `-` for standard input.
    pub name: String,
    /// The content.
    pub bytes: Vec<u8>,
}

/// Reads a drawing; `-` reads standard input.
///
/// # Errors
/// [`Error::File`] when it cannot be read, [`Error::Art`] when it is empty or
/// larger than any drawing.
pub fn read_art(path: &str) -> Result<Art, Error> {
    if path == STANDARD_INPUT {
        let bytes = bounded(io::stdin().lock()).map_err(|e| trouble(Path::new("standard input"), "read it", &e))?;
        return checked(Art { name: path.to_owned(), bytes });
    }
    read_drawing(Path::new(path))
}

/// Reads a drawing by its path, whatever letters that is made of.
///
/// # Errors
/// As [`read_art`].
pub fn read_drawing(path: &Path) -> Result<Art, Error> {
    let bytes = open(path).and_then(|file| bounded(file).map_err(|e| trouble(path, "read it", &e)))?;
    checked(Art { name: shown(path), bytes })
}

fn bounded(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LARGEST_ART + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn checked(art: Art) -> Result<Art, Error> {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    if art.bytes.is_empty() {
        return Err(Error::art(place, "the file is empty", "save the drawing again, as SVG"));
    }
    if art.bytes.len() as u64 > LARGEST_ART {
        let what = format!("the file is larger than {} MB", LARGEST_ART / (1024 * 1024));
        return Err(Error::art(place, what, "save the drawing alone, without other pages or pictures"));
    }
    Ok(art)
}

fn open(path: &Path) -> Result<File, Error> {
    let file = File::open(path).map_err(|e| missing(path, &e))?;
    let about = file.metadata().map_err(|e| trouble(path, "read it", &e))?;
    if about.is_dir() {
        return Err(Error::file(shown(path), "this is a folder, not a file", "name one file in it"));
    }
    Ok(file)
}

/// The error of a file that cannot be opened; a missing one gets the nearest
/// name in its folder.
fn missing(path: &Path, error: &io::Error) -> Error {
    let trouble = trouble(path, "read it", error);
    if error.kind() != io::ErrorKind::NotFound {
        return trouble;
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let listed = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut names: Vec<String> = listed.filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.sort_unstable();
    let wanted = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    match nearest(&wanted, names.iter().map(String::as_str)) {
        Some(near) => {
            let advice = format!("did you mean `{}`?", shown(&path.with_file_name(near)));
            Error::file(shown(path), "there is no such file", advice)
        }
        None => trouble,
    }
}

/// Reads a text file of at most `most` bytes.
///
/// # Errors
/// [`Error::File`] when it cannot be read, is larger, or is not UTF-8 text.
pub fn read_text(path: &Path, most: u64) -> Result<String, Error> {
    let bytes = read_bytes(path, most)?;
    String::from_utf8(bytes).map_err(|_| Error::file(shown(path), "this is not UTF-8 text", "save it again as UTF-8"))
}

/// Reads a file of at most `most` bytes.
///
/// # Errors
/// [`Error::File`] when it cannot be read or is larger.
pub fn read_bytes(path: &Path, most: u64) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let file = open(path)?;
    file.take(most + 1).read_to_end(&mut bytes).map_err(|e| trouble(path, "read it", &e))?;
    if bytes.len() as u64 > most {
        return Err(too_large(path, most));
    }
    Ok(bytes)
}

/// Reads a file of at most `most` bytes through `take`, piece by piece.
///
/// # Errors
/// [`Error::File`] when it cannot be read or is larger, and what `take` says.
pub fn read_through(path: &Path, most: u64, take: &mut dyn io::Write) -> Result<(), Error> {
    let file = bounded_file(path, most)?;
    io::copy(&mut file.take(most), take).map(drop).map_err(|e| trouble(path, "read it", &e))
}

fn bounded_file(path: &Path, most: u64) -> Result<File, Error> {
    let file = open(path)?;
    let length = file.metadata().map_err(|e| trouble(path, "read it", &e))?.len();
    if length > most { Err(too_large(path, most)) } else { Ok(file) }
}

fn too_large(path: &Path, most: u64) -> Error {
    Error::file(shown(path), format!("the file is larger than {} kB", most / 1024), "check that it is the right file")
}

/// A text file read in stretches, by any number of threads.
#[derive(Debug)]
pub struct Stretches(Mutex<File>);

impl Stretches {
    /// Opens a file of at most `most` bytes.
    ///
    /// # Errors
    /// [`Error::File`] when it cannot be read or is larger.
    pub fn open(path: &Path, most: u64) -> Result<Self, Error> {
        bounded_file(path, most).map(|file| Self(Mutex::new(file)))
    }

    /// All of it from the start, through a buffer.
    ///
    /// # Errors
    /// What the system or `read` says.
    pub fn whole<T>(&self, read: impl FnOnce(&mut dyn io::BufRead) -> io::Result<T>) -> io::Result<T> {
        let mut file = self.0.lock().map_err(|_| io::Error::other("another thread failed"))?;
        file.rewind()?;
        read(&mut io::BufReader::new(&*file))
    }

    /// The bytes of a stretch, when they are there and text.
    #[must_use]
    pub fn text(&self, stretch: Range<u64>) -> Option<String> {
        let mut file = self.0.lock().ok()?;
        file.seek(SeekFrom::Start(stretch.start)).ok()?;
        let mut text = String::new();
        (&*file).take(stretch.end - stretch.start).read_to_string(&mut text).ok()?;
        Some(text)
    }
}

/// The nearest `name` in `start` or a folder above it; a folder or a link that
/// leads nowhere is found, too, so that reading it says what it is.
#[must_use]
pub fn find_upward(start: &Path, name: &str) -> Option<PathBuf> {
    start.ancestors().map(|folder| folder.join(name)).find(|path| path.symlink_metadata().is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn art_keeps_its_name_as_given() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("little owl.svg");
        fs::write(&path, "<svg/>").unwrap();
        let art = read_art(path.to_str().unwrap()).unwrap();
        assert_eq!((art.name.as_str(), art.bytes.as_slice()), (path.to_str().unwrap(), &b"<svg/>"[..]), "art");
    }

    #[test]
    fn unreadable_art_says_why() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
        fs::write(at("owl.svg"), "<svg/>").unwrap();
        fs::write(at("empty.svg"), "").unwrap();
        let cases = [
            (at("empty.svg"), "empty", "save"),
            (at("owll.svg"), "no such file", "owl.svg`?"),
            (at("no/such/folder/x.svg"), "no such file", "spelling"),
            (at(""), "folder", "name one file"),
        ];
        for (path, reason, hint) in cases {
            let error = read_art(&path).expect_err(&path);
            assert!(error.to_string().contains(reason), "{error}");
            assert!(error.advice().contains(hint), "{error}: {}", error.advice());
        }
    }

    #[test]
    fn the_shop_file_is_found_in_the_nearest_folder_above() {
        let folder = tempfile::tempdir().unwrap();
        let deep = folder.path().join("a/b/c");
        fs::create_dir_all(&deep).unwrap();
        for at in ["", "a"] {
            fs::write(folder.path().join(at).join("shop.toml"), "").unwrap();
        }
        assert_eq!(find_upward(&deep, "shop.toml"), Some(folder.path().join("a/shop.toml")), "nearest");
        assert_eq!(find_upward(&deep, "no-such-shop.toml"), None, "none");
        fs::create_dir(deep.join("shop.toml")).unwrap();
        let odd = find_upward(&deep, "shop.toml").unwrap();
        let error = read_text(&odd, 9).unwrap_err();
        assert!(error.to_string().contains("a folder, not a file"), "not passed over: {error}");
    }

    #[test]
    fn text_is_bounded_and_utf8() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shop.toml");
        fs::write(&path, "abc").unwrap();
        assert_eq!(read_text(&path, 3).unwrap(), "abc", "fits");
        assert!(read_text(&path, 2).unwrap_err().to_string().contains("larger"), "too large");
        fs::write(&path, [0xff, 0xfe]).unwrap();
        assert!(read_text(&path, 9).unwrap_err().to_string().contains("UTF-8"), "not text");
    }
}
