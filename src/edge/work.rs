//! The hidden folder beside the targets in which files stand until all of them
//! can be renamed into place, and the sweeping up of those a killed run left.

use std::fs::{self, File, TryLockError};
use std::io::{self, BufWriter, Seek as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use super::trouble;
use crate::diag::Error;

/// What hidden working folders are called.
const PREFIX: &str = ".fretgrin-";
/// The file whose lock says that a working folder is in use.
const LOCK: &str = "lock";
/// Times a working folder is made anew when another run, sweeping, takes it for
/// a leftover in the moment before it is locked.
const TRIES: u32 = 5;

/// Bytes gathered before they go to the disk.
const BUFFER: usize = 64 * 1024;

/// Removes working folders whose process is gone. Best effort: what cannot be
/// removed is left for the next time.
pub(super) fn sweep(folder: &Path) {
    for entry in fs::read_dir(folder_or_here(folder)).into_iter().flatten().flatten() {
        let name = entry.file_name();
        if name.to_string_lossy().starts_with(PREFIX) && entry.path().is_dir() {
            sweep_one(&entry.path());
        }
    }
}

fn sweep_one(work: &Path) {
    match File::open(work.join(LOCK)) {
        // Ours now: whoever made it is gone, and whoever is just making it sees
        // that the lock is taken and makes another.
        Ok(lock) if lock.try_lock().is_ok() => clear(work),
        Ok(_) => {}
        // The lock is made first and removed last, so this one is empty, or not ours to empty.
        Err(_) => drop(fs::remove_dir(work)),
    }
}

/// Removes a working folder, its lock last: at no moment does it stand without
/// a lock and with files.
fn clear(work: &Path) {
    for entry in fs::read_dir(work).into_iter().flatten().flatten().filter(|entry| entry.file_name() != LOCK) {
        drop(fs::remove_file(entry.path()));
    }
    drop(fs::remove_file(work.join(LOCK)));
    drop(fs::remove_dir(work));
}

/// The folder to be read: an empty path is the current one.
pub(super) fn folder_or_here(folder: &Path) -> &Path {
    if folder.as_os_str().is_empty() { Path::new(".") } else { folder }
}

/// A hidden folder with the files to come and the files that were; removed when
/// dropped.
#[derive(Debug)]
pub(super) struct Work {
    folder: PathBuf,
    /// Held, and its lock with it, for as long as the folder is in use.
    _lock: File,
}

impl Work {
    pub(super) fn begin(beside: &Path) -> Result<Self, Error> {
        let refuse = |e: io::Error| trouble(folder_or_here(beside), "write into the folder", &e);
        for _ in 0..TRIES {
            if let Some(work) = Self::make(beside).map_err(refuse)? {
                return Ok(work);
            }
        }
        Err(refuse(io::ErrorKind::ResourceBusy.into()))
    }

    /// Makes and locks a folder; `None` when another run swept it away in
    /// between.
    fn make(beside: &Path) -> io::Result<Option<Self>> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let run = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = beside.join(format!("{PREFIX}{}-{run}", std::process::id()));
        match fs::create_dir(&folder) {
            // A dead process had our number; the next count is free.
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => return Ok(None),
            made => made?,
        }
        let lock = match File::create_new(folder.join(LOCK)) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(e) => {
                drop(fs::remove_dir(&folder));
                return Err(e);
            }
            Ok(lock) => lock,
        };
        let taken = matches!(lock.try_lock(), Err(TryLockError::WouldBlock));
        if taken || !folder.join(LOCK).exists() {
            return Ok(None);
        }
        // Some network disks know no locks; then only the sweeping of leftovers suffers.
        Ok(Some(Self { folder, _lock: lock }))
    }

    fn new_file(&self, i: usize) -> PathBuf {
        self.folder.join(format!("{i}.new"))
    }

    fn old_file(&self, i: usize) -> PathBuf {
        self.folder.join(format!("{i}.old"))
    }

    /// Writes the content of file `i`. Some network disks tell that they are
    /// full only by a file that is too short once closed.
    pub(super) fn stage(&self, i: usize, make: impl FnOnce(&mut dyn io::Write) -> io::Result<()>) -> io::Result<()> {
        let path = self.new_file(i);
        let mut file = BufWriter::with_capacity(BUFFER, File::create_new(&path)?);
        make(&mut file)?;
        let written = file.stream_position()?;
        drop(file.into_inner()?);
        let whole = fs::metadata(&path)?.len() == written;
        if whole { Ok(()) } else { Err(io::ErrorKind::StorageFull.into()) }
    }

    /// Forces the first `count` staged files down to the disk.
    pub(super) fn settle(&self, count: usize) -> io::Result<()> {
        (0..count).try_for_each(|i| File::options().append(true).open(self.new_file(i))?.sync_all())
    }

    /// Renames every staged file into place; undoes it all if one fails.
    pub(super) fn commit(&self, targets: &[PathBuf]) -> Result<(), Error> {
        for (i, target) in targets.iter().enumerate() {
            let placed = self.keep_old(i, target).and_then(|()| fs::rename(self.new_file(i), target));
            if let Err(e) = placed {
                (0..i).rev().for_each(|done| self.undo(done, &targets[done]));
                return Err(trouble(target, "write it", &e));
            }
        }
        Ok(())
    }

    /// Keeps a second name (or copy) of what stands at `target`, for undoing.
    fn keep_old(&self, i: usize, target: &Path) -> io::Result<()> {
        match fs::hard_link(target, self.old_file(i)) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(()),
            Err(_) => fs::copy(target, self.old_file(i)).map(drop),
            Ok(()) => Ok(()),
        }
    }

    fn undo(&self, i: usize, target: &Path) {
        // Nothing more can be done about a failure while undoing.
        drop(match fs::rename(self.old_file(i), target) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => fs::remove_file(target),
            other => other,
        });
    }
}

impl Drop for Work {
    fn drop(&mut self) {
        clear(&self.folder);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failure_half_way_puts_everything_back() {
        let root = tempfile::tempdir().unwrap();
        fs::write(root.path().join("a.svg"), "old a").unwrap();
        let work = Work::begin(root.path()).unwrap();
        work.stage(0, |out| out.write_all(b"new a")).unwrap();
        work.stage(1, |out| out.write_all(b"new b")).unwrap();
        // The third target lies in a folder that does not exist: its renaming fails.
        work.stage(2, |out| out.write_all(b"new c")).unwrap();
        let targets = ["a.svg", "b.svg", "gone/c.svg"].map(|name| root.path().join(name));
        assert!(work.commit(&targets).is_err(), "the third cannot be placed");
        drop(work);
        let text = fs::read_to_string(root.path().join("a.svg")).unwrap();
        assert_eq!(text, "old a", "the old file is back");
        assert_eq!(fs::read_dir(root.path()).unwrap().count(), 1, "the new one is gone");
    }

    #[test]
    fn what_a_killed_run_left_is_swept_and_a_living_runs_is_not() {
        let root = tempfile::tempdir().unwrap();
        let dead = root.path().join(format!("{PREFIX}1-0"));
        fs::create_dir(&dead).unwrap();
        fs::write(dead.join(LOCK), "").unwrap();
        fs::write(dead.join("0.new"), "torn").unwrap();
        let living = Work::begin(root.path()).unwrap();
        let begun = root.path().join(format!("{PREFIX}2-0"));
        fs::create_dir(&begun).unwrap();
        let strange = root.path().join(format!("{PREFIX}notes"));
        fs::create_dir(&strange).unwrap();
        fs::write(strange.join("mine.txt"), "mine").unwrap();
        sweep(root.path());
        assert!(!dead.exists(), "the dead one is gone");
        assert!(living.folder.exists(), "the living one stays");
        assert!(!begun.exists(), "an empty one is gone; its maker, if it lives, makes another");
        assert!(strange.join("mine.txt").exists(), "files without our lock are not touched");
    }
}
