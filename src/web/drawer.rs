//! The drawer: the faces in the folders named when the program was started. The
//! page knows them by number only.

use std::path::{Path, PathBuf};

use super::store::Art;
use crate::diag::Error;
use crate::edge;
use crate::project;

/// Faces shown of all folders together; a drawer is looked through by eye.
const MOST: usize = 2000;

/// A face in the drawer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its file's name.
    pub name: String,
    /// The folder it lies in, as named at the start.
    pub folder: String,
    path: PathBuf,
}

/// Every face of the folders, found at the start.
#[derive(Clone, Debug, Default)]
pub struct Drawer {
    entries: Vec<Entry>,
}

impl Drawer {
    /// Looks through `folders`, not the folders inside them.
    ///
    /// # Errors
    /// [`Error::File`] for a folder that cannot be read.
    pub fn new(folders: &[PathBuf]) -> Result<Self, Error> {
        let mut entries = Vec::new();
        for folder in folders {
            entries.extend(faces(folder)?);
        }
        entries.truncate(MOST);
        Ok(Self { entries })
    }

    /// The faces, in order; the place is the number.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Reads face `number`.
    ///
    /// # Errors
    /// [`Error::File`] when there is none, or it cannot be read any more;
    /// [`Error::Art`] when it is larger than a project takes.
    pub fn read(&self, number: usize) -> Result<Art, Error> {
        let missing = || Error::file(format!("face {number}"), "it is not in the drawer", "look through it again");
        let entry = self.entries.get(number).ok_or_else(missing)?;
        let read = edge::read_drawing(&entry.path)?;
        project::takes(&entry.name, read.bytes.len())?;
        Ok(Art { name: entry.name.clone(), bytes: read.bytes, from: entry.path.to_str().map(str::to_owned) })
    }
}

fn faces(folder: &Path) -> Result<Vec<Entry>, Error> {
    let shown = folder.display().to_string();
    let entry = |path: PathBuf| {
        let name = path.file_name()?.to_str()?.to_owned();
        Some(Entry { name, folder: shown.clone(), path })
    };
    Ok(edge::faces(folder, false)?.faces.into_iter().filter_map(entry).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    #[test]
    fn only_drawings_of_the_folder_itself_are_in_it() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("inner.svg")).unwrap();
        for name in ["owl.svg", "a.PNG", "notes.txt", ".hidden.svg", "owl.fretgrin.toml"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        let drawer = Drawer::new(&[folder.path().to_owned()]).unwrap();
        let names: Vec<&str> = drawer.entries().iter().map(|e| e.name.as_str()).collect();
        assert_eq!(names, ["a.PNG", "owl.svg"], "faces");
        assert_eq!(drawer.read(1).unwrap().bytes, b"x", "by number");
        assert!(drawer.read(2).is_err(), "no such number");
        fs::write(folder.path().join("owl.svg"), vec![b' '; project::LARGEST_ART + 1]).unwrap();
        assert!(drawer.read(1).unwrap_err().to_string().contains("16.0 MB"), "grown too large");
        assert!(Drawer::new(&[folder.path().join("none")]).is_err(), "no such folder");
    }
}
