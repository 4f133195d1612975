//! The drawings of a folder.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::trouble;
use super::work::folder_or_here;
use crate::diag::Error;

/// Kinds of drawing, by the ending of the file's name.
const KINDS: [&str; 8] = ["svg", "png", "jpg", "jpeg", "webp", "gif", "bmp", "dxf"];

/// Kinds that hold a drawing and are not read; their owner would miss them.
const UNREAD: [&str; 9] = ["svgz", "tif", "tiff", "heic", "heif", "avif", "pdf", "eps", "dwg"];

/// What stands in a folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listing {
    /// The drawings, by name. A broken link and a folder that cannot be looked
    /// through stand here too, so that reading them says so.
    pub faces: Vec<PathBuf>,
    /// Files of kinds that hold a drawing and are not read, by name.
    pub unread: Vec<PathBuf>,
}

/// The drawings in `folder`; with `deep`, those of the folders inside it, too.
/// Hidden files and folders are left alone, and a link to a folder is not
/// followed: it may lead back.
///
/// # Errors
/// [`Error::File`] when `folder` itself cannot be read.
pub fn faces(folder: &Path, deep: bool) -> Result<Listing, Error> {
    let mut found = Listing::default();
    let mut waiting = vec![folder.to_owned()];
    while let Some(next) = waiting.pop() {
        match list(&next, &mut found) {
            Err(error) if next == folder => return Err(trouble(folder, "look through it", &error)),
            Err(_) => found.faces.push(next),
            Ok(inner) if deep => waiting.extend(inner),
            Ok(_) => {}
        }
    }
    found.faces.sort();
    found.unread.sort();
    Ok(found)
}

/// Names of the files in `folder` that end so, in order; none where it cannot be read.
#[must_use]
pub fn ending(folder: &Path, end: &str) -> Vec<String> {
    let entries = fs::read_dir(folder_or_here(folder)).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries.filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.retain(|name| name.ends_with(end));
    names.sort();
    names
}

/// Adds the drawings of one folder; returns the folders inside it.
fn list(folder: &Path, found: &mut Listing) -> io::Result<Vec<PathBuf>> {
    let mut inner = Vec::new();
    for entry in fs::read_dir(folder)?.flatten() {
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        match entry.file_type() {
            Ok(kind) if kind.is_dir() => inner.push(path),
            _ if path.metadata().is_ok_and(|about| !about.is_file()) => {}
            _ if is_of(&path, &KINDS) => found.faces.push(path),
            _ if is_of(&path, &UNREAD) => found.unread.push(path),
            _ => {}
        }
    }
    Ok(inner)
}

fn is_of(path: &Path, kinds: &[&str]) -> bool {
    let kind = path.extension().map(|kind| kind.to_string_lossy().to_lowercase());
    kind.is_some_and(|kind| kinds.contains(&kind.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_drawings_are_found_and_inner_folders_when_asked() {
        let root = tempfile::tempdir().unwrap();
        fs::create_dir_all(root.path().join("autumn/.old")).unwrap();
        for name in ["owl.svg", "a.PNG", "notes.txt", ".hidden.svg", "autumn/moth.svg", "autumn/.old/moth.svg"] {
            fs::write(root.path().join(name), "x").unwrap();
        }
        fs::create_dir(root.path().join("inner.svg")).unwrap();
        let names = |deep| -> Vec<String> {
            let found = faces(root.path(), deep).unwrap().faces;
            found.iter().map(|p| p.strip_prefix(root.path()).unwrap().display().to_string()).collect()
        };
        assert_eq!(names(false), ["a.PNG", "owl.svg"], "the folder itself");
        assert_eq!(names(true), ["a.PNG", "autumn/moth.svg", "owl.svg"], "and those inside");
        assert!(faces(&root.path().join("none"), false).unwrap_err().to_string().contains("no such"), "none");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_back_is_not_followed() {
        let root = tempfile::tempdir().unwrap();
        fs::write(root.path().join("owl.svg"), "x").unwrap();
        std::os::unix::fs::symlink(root.path(), root.path().join("again")).unwrap();
        assert_eq!(faces(root.path(), true).unwrap().faces.len(), 1, "once");
    }

    #[cfg(unix)]
    #[test]
    fn what_cannot_be_read_is_not_lost() {
        let root = tempfile::tempdir().unwrap();
        std::os::unix::fs::symlink(root.path().join("gone"), root.path().join("owl.svg")).unwrap();
        for name in ["scan.TIF", "face.svgz", "notes.txt"] {
            fs::write(root.path().join(name), "x").unwrap();
        }
        let Listing { faces, unread } = faces(root.path(), false).unwrap();
        assert_eq!(faces, [root.path().join("owl.svg")], "a link that leads nowhere");
        assert_eq!(unread, ["face.svgz", "scan.TIF"].map(|name| root.path().join(name)), "kinds not read");
    }
}
