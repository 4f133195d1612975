//! The drawings of a folder.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::trouble;
use crate::diag::Error;

/// Kinds of drawing, by the ending of the file's name.
const KINDS: [&str; 8] = ["svg", "png", "jpg", "jpeg", "webp", "gif", "bmp", "dxf"];

/// The drawings in `folder` by name; with `deep`, those of the folders inside it,
/// too. Hidden files and folders are left alone, and a link to a folder is not
/// followed: it may lead back.
///
/// # Errors
/// [`Error::File`] when `folder` itself cannot be read; one inside it that cannot
/// is passed over.
pub fn faces(folder: &Path, deep: bool) -> Result<Vec<PathBuf>, Error> {
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(next) = waiting.pop() {
        let inner = match list(&next, &mut found) {
            Err(error) if next == folder => return Err(trouble(folder, "look through it", &error)),
            listed => listed.unwrap_or_default(),
        };
        if deep {
            waiting.extend(inner);
        }
    }
    found.sort();
    Ok(found)
}

/// Adds the drawings of one folder; returns the folders inside it.
fn list(folder: &Path, found: &mut Vec<PathBuf>) -> io::Result<Vec<PathBuf>> {
    let mut inner = Vec::new();
    for entry in fs::read_dir(folder)?.flatten() {
        let path = entry.path();
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        match entry.file_type() {
            Ok(kind) if kind.is_dir() => inner.push(path),
            _ if is_drawing(&path) && path.is_file() => found.push(path),
            _ => {}
        }
    }
    Ok(inner)
}

fn is_drawing(path: &Path) -> bool {
    let kind = path.extension().map(|kind| kind.to_string_lossy().to_lowercase());
    kind.is_some_and(|kind| KINDS.contains(&kind.as_str()))
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
            let found = faces(root.path(), deep).unwrap();
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
        assert_eq!(faces(root.path(), true).unwrap().len(), 1, "once");
    }
}
