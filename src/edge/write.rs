//! Writing a set of files, all or nothing.
//!
//! Everything is first written into a hidden folder beside the targets; only
//! then is each file renamed into place, which is one step for the file system.
//! A failure half way puts back what stood there before. A process killed half
//! way leaves whole files and its hidden folder; the next run sweeps that up:
//! it is recognised by a lock no living process holds.
//!
//! Outputs are not forced down to the disk: that took 30 ms for four files, as
//! long as everything else together, and what a power cut may take is made again
//! from the art. A project is the maker's own work and is ([`write_kept`]).

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use super::mark::{is_ours_in, stamped};
use super::work::{Work, sweep};
use super::{shown, trouble};
use crate::diag::Error;

/// A file to write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewFile {
    /// Its name in the folder.
    pub name: String,
    /// Its content.
    pub bytes: Vec<u8>,
}

impl NewFile {
    /// A file called `name`, carrying our mark where its kind takes one.
    #[must_use]
    pub fn new(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        let name = name.into();
        let bytes = stamped(&name, bytes.into());
        Self { name, bytes }
    }
}

/// Writes `files` into `folder`, making it if needed: all of them, or none.
/// Returns their paths.
///
/// A file that stands there already is replaced when it carries our mark (see
/// [`super::mark::is_ours`]), any other only under `force`.
///
/// # Errors
/// [`Error::File`] when a file is in the way or the system refuses; nothing is
/// left behind then.
pub fn write_all(folder: &Path, files: &[NewFile], force: bool) -> Result<Vec<PathBuf>, Error> {
    let mut set = FileSet::begin(folder, force)?;
    files.iter().try_for_each(|file| set.may_add(&file.name))?;
    files.iter().try_for_each(|file| set.add(file))?;
    set.commit()
}

/// Whether a file of one of these names stands in `folder`.
#[must_use]
pub fn any_stands(folder: &Path, files: &[NewFile]) -> bool {
    files.iter().any(|file| stands(&folder.join(&file.name)))
}

fn stands(target: &Path) -> bool {
    fs::symlink_metadata(target).is_ok()
}

/// As [`write_all`] with `force`, for what cannot be made again: the files are
/// on the disk before they take their places, and their places after.
///
/// # Errors
/// As [`write_all`].
pub fn write_kept(folder: &Path, files: &[NewFile]) -> Result<Vec<PathBuf>, Error> {
    let mut set = FileSet::begin(folder, true)?;
    files.iter().try_for_each(|file| set.add(file))?;
    if let Some(work) = &set.work {
        work.settle(files.len()).map_err(|e| trouble(folder, "write it", &e))?;
    }
    let written = set.commit()?;
    // Not every system lets a folder be opened for this; the files are whole either way.
    drop(File::open(folder).and_then(|folder| folder.sync_all()));
    Ok(written)
}

/// A set of files on its way into a folder, one after another, so that they need
/// not all be held in memory. Only [`FileSet::commit`] makes them appear; a set
/// dropped before leaves nothing behind.
#[derive(Debug)]
pub struct FileSet {
    folder: PathBuf,
    force: bool,
    /// Folders made for it, outermost first.
    made: Vec<PathBuf>,
    work: Option<Work>,
    targets: Vec<PathBuf>,
}

impl FileSet {
    /// A set for `folder`, which is made if needed.
    ///
    /// # Errors
    /// [`Error::File`] when nothing can be written there.
    pub fn begin(folder: &Path, force: bool) -> Result<Self, Error> {
        let made = make_folder(folder)?;
        let mut set = Self { folder: folder.to_owned(), force, made, work: None, targets: Vec::new() };
        sweep(folder);
        set.work = Some(Work::begin(folder)?);
        Ok(set)
    }

    /// Whether a file of this name may be written.
    ///
    /// # Errors
    /// [`Error::File`] when somebody else's file is in the way.
    pub fn may_add(&self, name: &str) -> Result<(), Error> {
        may_write(&self.folder.join(name), name, self.force)
    }

    /// Adds a file; it is written, but not yet where it goes.
    ///
    /// # Errors
    /// [`Error::File`] when a file is in the way or the system refuses.
    pub fn add(&mut self, file: &NewFile) -> Result<(), Error> {
        self.add_as_made(&file.name, |out| out.write_all(&file.bytes))
    }

    /// Adds a file that `make` writes piece by piece, so that it need never be
    /// held whole; its kind must not be one that takes a stamp.
    ///
    /// # Errors
    /// As [`FileSet::add`], and what `make` says.
    pub fn add_as_made(
        &mut self,
        name: &str,
        make: impl FnOnce(&mut dyn io::Write) -> io::Result<()>,
    ) -> Result<(), Error> {
        self.may_add(name)?;
        let target = self.folder.join(name);
        if let Some(work) = &self.work {
            work.stage(self.targets.len(), make).map_err(|e| trouble(&target, "write it", &e))?;
        }
        self.targets.push(target);
        Ok(())
    }

    /// Whether a file of the name of one of these stands where it goes.
    #[must_use]
    pub fn any_stands(&self) -> bool {
        self.targets.iter().any(|target| stands(target))
    }

    /// Puts every file in its place and returns their paths.
    ///
    /// # Errors
    /// [`Error::File`] when one cannot be placed; then none is.
    pub fn commit(mut self) -> Result<Vec<PathBuf>, Error> {
        if let Some(work) = &self.work {
            work.commit(&self.targets)?;
        }
        self.made.clear();
        Ok(std::mem::take(&mut self.targets))
    }
}

impl Drop for FileSet {
    fn drop(&mut self) {
        // First the working folder, then the folders made here, and only while
        // empty: what fails to go was not ours.
        drop(self.work.take());
        self.made.iter().rev().for_each(|folder| drop(fs::remove_dir(folder)));
    }
}

/// Makes `folder` and those above it that are missing; returns the ones made,
/// outermost first.
fn make_folder(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let missing: Vec<&Path> = folder.ancestors().take_while(|f| !f.as_os_str().is_empty() && !f.exists()).collect();
    let mut made = Vec::new();
    for path in missing.into_iter().rev() {
        match fs::create_dir(path) {
            Ok(()) => made.push(path.to_owned()),
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => {}
            Err(e) => {
                made.iter().rev().for_each(|folder| drop(fs::remove_dir(folder)));
                return Err(trouble(path, "make the folder", &e));
            }
        }
    }
    if folder.is_dir() || folder.as_os_str().is_empty() {
        return Ok(made);
    }
    Err(Error::file(shown(folder), "this is not a folder", "name a folder with --out"))
}

/// Whether `target` may be written: nothing stands there, or a file of ours.
fn may_write(target: &Path, name: &str, force: bool) -> Result<(), Error> {
    let about = match fs::symlink_metadata(target) {
        Ok(about) => about,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(e) => return Err(trouble(target, "write it", &e)),
    };
    if about.is_dir() {
        return Err(Error::file(shown(target), "a folder of this name is in the way", "choose another with --out"));
    }
    if about.permissions().readonly() && !force {
        let advice = "give --force to replace it all the same, or choose another folder with --out";
        return Err(Error::file(shown(target), "this file is write-protected", advice));
    }
    if force || File::open(target).and_then(|file| is_ours_in(name, file)).is_ok_and(|ours| ours) {
        return Ok(());
    }
    let what = "this file exists and was not written by fretgrin";
    Err(Error::file(shown(target), what, "give --force to replace it, or choose another folder with --out"))
}

/// Takes away what a longer run left of a series: `STEM-FROM.png` and those that
/// follow it, as far as each may be written over without force.
///
/// # Errors
/// [`Error::File`] when the system refuses to take one away.
pub fn clear_series(folder: &Path, stem: &str, from: usize) -> Result<(), Error> {
    for number in from.. {
        let name = format!("{stem}-{number}.png");
        let path = folder.join(&name);
        let is_file = fs::symlink_metadata(&path).is_ok_and(|about| about.is_file());
        if !is_file || may_write(&path, &name, false).is_err() {
            break;
        }
        fs::remove_file(&path).map_err(|e| trouble(&path, "take away this sheet of an earlier run", &e))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const OURS: &str = "<!-- fretgrin --><svg/>";

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn text(path: &Path) -> String {
        fs::read_to_string(path).unwrap()
    }

    #[test]
    fn sheets_of_a_longer_run_go_and_other_files_stay() {
        let root = tempfile::tempdir().unwrap();
        let png = NewFile::new("x.png", [&b"\x89PNG\r\n\x1a\n"[..], &[0; 40]].concat()).bytes;
        for name in ["p-1.png", "p-2.png", "p-3.png", "p-5.png", "q-2.png"] {
            fs::write(root.path().join(name), &png).unwrap();
        }
        fs::write(root.path().join("p-4.png"), "the maker's own").unwrap();
        clear_series(root.path(), "p", 2).unwrap();
        assert_eq!(names(root.path()), ["p-1.png", "p-4.png", "p-5.png", "q-2.png"], "up to one that is not ours");
    }

    #[test]
    fn files_arrive_together_in_a_new_folder() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("out/faces");
        let files = [NewFile::new("a.svg", OURS), NewFile::new("b.json", "{}")];
        let written = write_all(&folder, &files, false).unwrap();
        assert_eq!(written, [folder.join("a.svg"), folder.join("b.json")], "paths");
        assert_eq!(names(&folder), ["a.svg", "b.json"], "no working folder is left");
    }

    #[test]
    fn a_file_of_ours_is_replaced_and_another_is_not() {
        let root = tempfile::tempdir().unwrap();
        let (ours, theirs) = (root.path().join("a.svg"), root.path().join("b.svg"));
        fs::write(&ours, OURS).unwrap();
        fs::write(&theirs, "<svg/>").unwrap();
        let files = [NewFile::new("a.svg", "<!-- fretgrin new -->"), NewFile::new("b.svg", "<!-- fretgrin new -->")];
        let error = write_all(root.path(), &files, false).unwrap_err();
        assert!(error.to_string().contains("b.svg") && error.advice().contains("--force"), "{error}");
        assert_eq!((text(&ours).as_str(), text(&theirs).as_str()), (OURS, "<svg/>"), "neither was touched");
        write_all(root.path(), &files[..1], false).unwrap();
        assert!(text(&ours).contains("new"), "ours");
        write_all(root.path(), &files[1..], true).unwrap();
        assert!(text(&theirs).contains("new"), "forced");
        assert_eq!(names(root.path()), ["a.svg", "b.svg"], "nothing else");
    }

    #[test]
    fn a_write_protected_file_is_replaced_by_force_only() {
        let root = tempfile::tempdir().unwrap();
        let path = root.path().join("a.svg");
        fs::write(&path, OURS).unwrap();
        let mut rights = fs::metadata(&path).unwrap().permissions();
        rights.set_readonly(true);
        fs::set_permissions(&path, rights).unwrap();
        let files = [NewFile::new("a.svg", "<!-- fretgrin new -->")];
        let error = write_all(root.path(), &files, false).unwrap_err();
        assert!(error.to_string().contains("write-protected"), "{error}");
        write_all(root.path(), &files, true).unwrap();
        assert!(text(&path).contains("new"), "forced");
    }

    #[test]
    fn a_failure_takes_the_folders_it_made_with_it() {
        let root = tempfile::tempdir().unwrap();
        let folder = root.path().join("x/y");
        let files = [NewFile::new("no-such-folder/a.svg", OURS)];
        assert!(write_all(&folder, &files, false).is_err(), "the name is not a plain one");
        assert!(names(root.path()).is_empty(), "no folder is left");
    }

    #[test]
    fn many_runs_at_once_do_not_sweep_each_other_away() {
        let root = tempfile::tempdir().unwrap();
        std::thread::scope(|scope| {
            for i in 0..8 {
                let folder = root.path();
                scope.spawn(move || {
                    for _ in 0..50 {
                        write_all(folder, &[NewFile::new(format!("{i}.svg"), OURS)], false).unwrap();
                    }
                });
            }
        });
        assert_eq!(names(root.path()).len(), 8, "eight files, nothing hidden");
    }

    #[test]
    fn a_folder_in_the_way_is_not_replaced_even_by_force() {
        let root = tempfile::tempdir().unwrap();
        fs::create_dir(root.path().join("a.svg")).unwrap();
        let error = write_all(root.path(), &[NewFile::new("a.svg", OURS)], true).unwrap_err();
        assert!(error.to_string().contains("a folder of this name"), "{error}");
        let error = write_all(&root.path().join("a.svg/no"), &[], true).map(|_| ());
        assert!(error.is_ok(), "a missing folder is made");
    }
}
