//! The files of a drawer, read and judged.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::UNIX_EPOCH;

use super::shelf::Book;
use crate::diag::Error;
use crate::edge::mark::{is_ours, is_ours_in, stamped};
use crate::edge::{self, FileSet, NewFile};
use crate::pipeline::{Surveyed, stem, survey_face, survey_ground};
use crate::settings::Settings;
use crate::survey::memory::{self, Ground, Remembered};
use crate::survey::{Found, Measured, Refused, Row, parallel};

/// The files to look at.
pub(super) struct Drawer {
    files: Vec<File>,
    /// Names of files of kinds that are not read.
    pub(super) unread: Vec<String>,
}

struct File {
    path: PathBuf,
    /// The file's name without folder.
    name: String,
    /// What it is called in the survey: with its folder where another has its name.
    label: String,
    /// Whether it was named itself, not found in a folder.
    named: bool,
    /// What its mended copy is called.
    copy: String,
}

impl Drawer {
    /// Finds the drawings of every folder, folders as named, names in order; a
    /// file met twice counts once.
    ///
    /// # Errors
    /// A folder that cannot be read, or that no drawing is found at all.
    pub(super) fn open(places: &[PathBuf], deep: bool) -> Result<Self, Error> {
        let (mut found, mut unread): (Vec<(PathBuf, bool)>, Vec<PathBuf>) = (Vec::new(), Vec::new());
        for place in places {
            if place.is_file() {
                found.push((place.clone(), true));
            } else {
                let listing = edge::faces(place, deep)?;
                found.extend(listing.faces.into_iter().map(|path| (path, false)));
                unread.extend(listing.unread.into_iter().filter(|path| !is_own(path)));
            }
        }
        let mut met = BTreeSet::new();
        found.retain(|(path, _)| met.insert(path.clone()));
        let unread: Vec<String> = unread.iter().map(|path| bare(path)).collect();
        if found.is_empty() {
            let shown: Vec<String> = places.iter().map(|place| edge::shown(place)).collect();
            let advice = "name a folder of SVG, PNG, JPEG, WebP, GIF, BMP or DXF files; --deep looks into the folders inside, too";
            let what = match unread.as_slice() {
                [] => "there is no drawing in it".to_owned(),
                [first, ..] => format!("there is no drawing in it of a kind that is read ({first} is none)"),
            };
            return Err(Error::file(shown.join(", "), what, advice));
        }
        Ok(Self { files: named(found), unread })
    }

    pub(super) fn len(&self) -> usize {
        self.files.len()
    }
}

/// A file's name without its folder.
fn bare(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| edge::shown(Path::new(name)))
}

/// Whether fretgrin wrote this file of a kind it does not read.
fn is_own(path: &Path) -> bool {
    fs::File::open(path).and_then(|file| is_ours_in(&bare(path), file)).unwrap_or(false)
}

/// Ends the name of a mended copy. Not as `mend` calls its file: there the maker
/// chose which edits are made, and a survey is not to replace that.
pub(super) const COPY_END: &str = "-survey-mended.svg";

/// Gives every file its name and its mended copy's: `owl-survey-mended.svg`, and
/// `owl-2-survey-mended.svg` for the next owl.
fn named(found: Vec<(PathBuf, bool)>) -> Vec<File> {
    let mut taken = BTreeSet::new();
    let (mut once, mut twice) = (BTreeSet::new(), BTreeSet::new());
    for (path, _) in &found {
        if !once.insert(bare(path)) {
            twice.insert(bare(path));
        }
    }
    let mut copy = |name: &str| {
        let stem = stem(name);
        let numbered = (2u32..).map(|n| format!("{stem}-{n}{COPY_END}"));
        let mut names = std::iter::once(format!("{stem}{COPY_END}")).chain(numbered);
        // Names differ without their case, too, as some disks want it.
        names.find(|name| taken.insert(name.to_lowercase())).unwrap_or_default()
    };
    let file = |(path, named): (PathBuf, bool)| {
        let name = bare(&path);
        let label = if twice.contains(&name) { edge::shown(&path) } else { name.clone() };
        File { copy: copy(&name), name, label, path, named }
    };
    found.into_iter().map(file).collect()
}

/// How the drawer is judged.
pub(super) struct Judging<'a> {
    pub(super) settings: &'a Settings,
    pub(super) mending: bool,
    /// Where mended copies go, and stand from earlier runs.
    pub(super) out: &'a Path,
    pub(super) memory: Book,
    pub(super) threads: usize,
}

/// A drawer judged.
pub(super) struct Judged {
    pub(super) rows: Vec<Row>,
    /// What to remember, by key.
    pub(super) remembered: Vec<(String, Remembered)>,
    pub(super) passed_over: usize,
    /// Faces looked at anew.
    pub(super) fresh: usize,
}

/// What came of one file.
enum Came {
    /// Fretgrin wrote it itself.
    PassedOver,
    /// It was remembered, under this key.
    Known(String, Remembered),
    /// It was judged: its key, and its mended copy where that is to be written.
    Judged(String, Remembered, Option<NewFile>),
    /// It could not be read.
    Unread(Refused),
}

impl Came {
    /// The same, copied by the thread that keeps it: one small piece after
    /// another, not each among what a worker needed for its face, which would
    /// hold that memory for the whole run.
    fn kept(self) -> Self {
        let copied = |Remembered { found, copy }| {
            let found = match found {
                Found::Face(face) => Found::Face(Arc::new(Measured::clone(&face))),
                Found::Refused(refused) => Found::Refused(refused.clone()),
            };
            Remembered { found, copy: copy.as_deref().map(str::to_owned) }
        };
        match self {
            Self::PassedOver => Self::PassedOver,
            Self::Known(key, known) => Self::Known(key.as_str().to_owned(), copied(known)),
            Self::Judged(key, judged, copy) => Self::Judged(key.as_str().to_owned(), copied(judged), copy),
            Self::Unread(refused) => Self::Unread(refused.clone()),
        }
    }
}

impl Judging<'_> {
    /// Judges every file; mended copies go into `files` as they come.
    ///
    /// # Errors
    /// That a mended copy cannot be written.
    pub(super) fn run(
        &self,
        drawer: &Drawer,
        mut files: Option<&mut FileSet>,
        mut tell: impl FnMut(usize, &str),
    ) -> Result<Judged, Error> {
        let ground = survey_ground(self.settings, self.mending, &program());
        let mut came: Vec<Option<Came>> = drawer.files.iter().map(|_| None).collect();
        let (mut done, mut failed) = (0, None);
        let work = |i: usize| self.judge(&drawer.files[i], &ground);
        parallel::each(drawer.files.len(), self.threads, work, |i, mut one| {
            if let (Came::Judged(_, _, copy), Some(files)) = (&mut one, files.as_deref_mut()) {
                failed = copy.take().and_then(|copy| files.add(&copy).err());
            }
            came[i] = Some(one.kept());
            done += 1;
            tell(done, &drawer.files[i].name);
            failed.is_none()
        });
        match failed {
            Some(error) => Err(error),
            None => Ok(gathered(&drawer.files, came)),
        }
    }

    fn judge(&self, file: &File, ground: &Ground) -> Came {
        let bytes = match edge::read_drawing(&file.path) {
            Ok(art) => art.bytes,
            Err(error) => return Came::Unread(Refused::from(&error)),
        };
        if !file.named && is_ours(&file.name, &bytes) {
            return Came::PassedOver;
        }
        let key = ground.key(&file.name, &bytes);
        if let Some(known) = self.memory.get(&key).filter(|known| self.stands(known, &file.copy)) {
            return Came::Known(key, known);
        }
        let Surveyed { found, copy } = survey_face(&bytes, &file.name, self.settings, self.mending);
        let copy = copy.map(|svg| NewFile { name: file.copy.clone(), bytes: stamped(&file.copy, svg.into_bytes()) });
        let print = copy.as_ref().map(|file| memory::finger_print(&file.bytes));
        Came::Judged(key, Remembered { found, copy: print }, copy)
    }

    /// Whether the mended copy stands where it was written, unchanged.
    fn stands(&self, known: &Remembered, name: &str) -> bool {
        let content = |path: PathBuf| edge::read_drawing(&path).ok().map(|art| memory::finger_print(&art.bytes));
        known.copy.is_none() || content(self.out.join(name)) == known.copy
    }
}

fn gathered(files: &[File], came: Vec<Option<Came>>) -> Judged {
    let fresh = came.iter().filter(|one| matches!(one, Some(Came::Judged(..)))).count();
    let mut judged = Judged { rows: Vec::new(), remembered: Vec::new(), passed_over: 0, fresh };
    for (file, one) in files.iter().zip(came) {
        let (found, copy) = match one {
            Some(Came::Judged(key, remembered, _) | Came::Known(key, remembered)) => {
                let found = remembered.found.clone();
                let copy = remembered.copy.as_ref().map(|_| file.copy.clone());
                judged.remembered.push((key, remembered));
                (found, copy)
            }
            Some(Came::Unread(refused)) => (Found::Refused(refused), None),
            Some(Came::PassedOver) | None => {
                judged.passed_over += 1;
                continue;
            }
        };
        let (name, path) = (file.label.clone(), edge::shown(&file.path));
        judged.rows.push(Row { number: judged.rows.len() as u32 + 1, name, path, found, double: None, copy });
    }
    judged
}

/// The processor's cores.
pub(super) fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Tells this build of the program from another of the same version: its size
/// and age on the disk.
pub(super) fn program() -> String {
    let about = std::env::current_exe().and_then(fs::metadata).ok();
    let age = about.as_ref().and_then(|about| about.modified().ok()?.duration_since(UNIX_EPOCH).ok());
    format!("{} {}", about.map_or(0, |about| about.len()), age.map_or(0, |age| age.as_nanos()))
}
