//! The projects open on the bench: their states, undo and redo, and their
//! files.
//!
//! Every change is written at once, beside the file and then renamed over it,
//! so that a crash loses nothing. A change names the revision it was made on;
//! one made on an older revision, or over a file that somebody else changed, is
//! a conflict and is shown, not merged.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::diag::Error;
use crate::edge;
use crate::project::{self, Mends, Project};
use crate::settings::Shop;

/// Projects kept in memory; the one longest unused goes first and is read from
/// its file when wanted again.
const OPEN: usize = 48;
/// States kept for undo.
const UNDO: usize = 200;
/// Longest name given to a project, in characters, its number aside.
const NAME: usize = 55;
/// Longest name of a project opened, in characters: no disk takes a longer one.
const LONGEST: usize = 240;

/// A drawing as it came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Art {
    /// Its file's name.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// The file it was read from, in a project seen from the project's folder;
    /// `None` when it came another way.
    pub from: Option<String>,
}

/// Everything of a project that can be undone.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// The drawing.
    pub art: Arc<Art>,
    /// The shop's settings, those of the face among them.
    pub shop: Shop,
    /// What is mended.
    pub mend: Mends,
}

/// A project as the page is told of it.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// Its name: the file's, without the ending.
    pub name: String,
    /// Its revision.
    pub revision: u64,
    /// Its state.
    pub state: Arc<State>,
    /// Whether there is something to undo.
    pub undo: bool,
    /// Whether there is something to redo.
    pub redo: bool,
}

/// Why a change was not made.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// Another tab was faster.
    Tab,
    /// Another program changed the file.
    File,
    /// There is no such project.
    Unknown,
    /// It could not be read or written.
    Failed(Error),
}

impl From<Error> for Refusal {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

/// What to do to a project.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// A new state.
    To(Box<State>),
    /// Back one state.
    Undo,
    /// Forward again.
    Redo,
}

#[derive(Debug)]
struct Doc {
    name: String,
    revision: u64,
    states: Vec<Arc<State>>,
    at: usize,
    /// The file's text as we last wrote or read it.
    written: String,
}

impl Doc {
    fn snapshot(&self) -> Snapshot {
        Snapshot {
            name: self.name.clone(),
            revision: self.revision,
            state: Arc::clone(&self.states[self.at]),
            undo: self.at > 0,
            redo: self.at + 1 < self.states.len(),
        }
    }

    /// States and place after `change`.
    fn after(&self, change: Change) -> (Vec<Arc<State>>, usize) {
        match change {
            Change::Undo => (self.states.clone(), self.at.saturating_sub(1)),
            Change::Redo => (self.states.clone(), (self.at + 1).min(self.states.len() - 1)),
            Change::To(state) => {
                let mut states = self.states[..=self.at].to_vec();
                states.push(Arc::from(state));
                let over = states.len().saturating_sub(UNDO);
                states.drain(..over);
                let at = states.len() - 1;
                (states, at)
            }
        }
    }
}

/// The projects of one folder.
#[derive(Debug)]
pub struct Store {
    folder: PathBuf,
    docs: Mutex<Docs>,
}

#[derive(Debug, Default)]
struct Docs {
    open: BTreeMap<String, Arc<Mutex<Doc>>>,
    /// Names, longest unused first.
    used: Vec<String>,
}

impl Store {
    /// The projects of `folder`.
    #[must_use]
    pub fn new(folder: PathBuf) -> Self {
        Self { folder, docs: Mutex::default() }
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Names of all projects in the folder, in order.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        let files = entries.filter_map(|entry| entry.file_name().into_string().ok());
        let stems = files.filter_map(|file| file.strip_suffix(project::ENDING).map(str::to_owned));
        let mut names: Vec<String> = stems.filter(|name| is_name(name)).collect();
        names.sort();
        names
    }

    /// A new project with this drawing, named after it and written at once.
    ///
    /// # Errors
    /// [`Refusal::Failed`] when it cannot be written.
    pub fn create(&self, art: Art, shop: Shop) -> Result<Snapshot, Refusal> {
        let mut docs = lock(&self.docs);
        let name = self.free_name(&art.name, &docs);
        let state = Arc::new(State { art: Arc::new(art), shop, mend: Mends::default() });
        let written = self.write(&name, 1, &state)?;
        let doc = Doc { name, revision: 1, states: vec![state], at: 0, written };
        let snapshot = doc.snapshot();
        docs.keep(doc);
        Ok(snapshot)
    }

    /// The project of a drawing: of those named after it the one that holds this
    /// very drawing, or an older state of the same file that `renew` allows to be
    /// brought up to date; else a new one. One made from another file is never
    /// touched, whatever the names.
    ///
    /// # Errors
    /// [`Refusal::Failed`] when it cannot be read or written.
    pub fn adopt(&self, mut art: Art, shop: Shop, renew: bool) -> Result<Snapshot, Refusal> {
        art.from = art.from.and_then(|path| edge::way(&self.folder, Path::new(&path)));
        let named_after = self.named_after(&art.name);
        // One that cannot be read is not this drawing's to open or to write over.
        let readable = named_after.iter().filter_map(|name| self.open(name).ok());
        let kin = readable.filter_map(|found| Some((kinship(&found.state.art, &art, renew)?, found)));
        match kin.min_by_key(|(kinship, _)| *kinship) {
            None => self.create(art, shop),
            Some((Kinship::Older, found)) => {
                let state = State { art: Arc::new(art), ..(*found.state).clone() };
                self.change(&found.name, found.revision, Change::To(Box::new(state)), false)
            }
            Some((_, found)) => self.learn(found, art.from),
        }
    }

    /// Remembers with a project's next change where its drawing stands now.
    fn learn(&self, found: Snapshot, from: Option<String>) -> Result<Snapshot, Refusal> {
        if from.is_none() || found.state.art.from == from {
            return Ok(found);
        }
        let doc = self.doc(&found.name)?;
        let mut doc = lock(&doc);
        let at = doc.at;
        let state = (*doc.states[at]).clone();
        doc.states[at] = Arc::new(State { art: Arc::new(Art { from, ..(*state.art).clone() }), ..state });
        Ok(doc.snapshot())
    }

    /// Projects named after the drawing `art`, with and without a number.
    fn named_after(&self, art: &str) -> Vec<String> {
        let base = base_name(art);
        let is_number = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
        let numbered = |rest: &str| rest.strip_prefix('-').is_some_and(is_number);
        let ours = |name: &String| name.strip_prefix(&base).is_some_and(|rest| rest.is_empty() || numbered(rest));
        self.names().into_iter().filter(ours).collect()
    }

    /// The project called `name`.
    ///
    /// # Errors
    /// [`Refusal::Unknown`] or [`Refusal::Failed`].
    pub fn open(&self, name: &str) -> Result<Snapshot, Refusal> {
        let doc = self.doc(name)?;
        let doc = lock(&doc);
        Ok(doc.snapshot())
    }

    /// Changes a project that stands at `revision`; `force` puts the change
    /// over whatever another tab or program did.
    ///
    /// # Errors
    /// [`Refusal`]; the project is then as it was.
    pub fn change(&self, name: &str, revision: u64, change: Change, force: bool) -> Result<Snapshot, Refusal> {
        let doc = self.doc(name)?;
        let mut doc = lock(&doc);
        if revision != doc.revision && !force {
            return Err(Refusal::Tab);
        }
        if self.text(name)?.is_some_and(|text| text != doc.written) && !force {
            return Err(Refusal::File);
        }
        let (states, at) = doc.after(change);
        let next = doc.revision + 1;
        doc.written = self.write(name, next, &states[at])?;
        (doc.states, doc.at, doc.revision) = (states, at, next);
        Ok(doc.snapshot())
    }

    /// Forgets what is in memory of a project and reads its file again.
    ///
    /// # Errors
    /// As [`Store::open`]; what is in memory then stays.
    pub fn reload(&self, name: &str) -> Result<Snapshot, Refusal> {
        let doc = self.doc(name)?;
        let mut doc = lock(&doc);
        // In its place, not beside it: a tab that is saving just now waits for this very one.
        *doc = self.read(name)?;
        Ok(doc.snapshot())
    }

    fn doc(&self, name: &str) -> Result<Arc<Mutex<Doc>>, Refusal> {
        if !is_name(name) {
            return Err(Refusal::Unknown);
        }
        let mut docs = lock(&self.docs);
        if let Some(doc) = docs.open.get(name).map(Arc::clone) {
            docs.touch(name);
            return Ok(doc);
        }
        Ok(docs.keep(self.read(name)?))
    }

    fn read(&self, name: &str) -> Result<Doc, Refusal> {
        let text = self.text(name)?.ok_or(Refusal::Unknown)?;
        let Project { revision, art_name, art, from, shop, mend } = Project::read(&text, &file_name(name))?;
        let art = Arc::new(Art { name: art_name, bytes: art, from });
        let states = vec![Arc::new(State { art, shop, mend })];
        Ok(Doc { name: name.to_owned(), revision, states, at: 0, written: text })
    }

    fn text(&self, name: &str) -> Result<Option<String>, Refusal> {
        let path = self.folder.join(file_name(name));
        match fs::metadata(&path) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Ok(about) if about.len() > project::LARGEST => {
                return Err(too_large(
                    name,
                    about.len(),
                    "it is hardly one of the bench's: move it elsewhere, or open another",
                )
                .into());
            }
            _ => {}
        }
        let read = fs::read_to_string(&path);
        let advice = "see that it may be read and is a project of the bench, or open another";
        read.map(Some).map_err(|e| Refusal::Failed(Error::file(file_name(name), e.to_string(), advice)))
    }

    fn write(&self, name: &str, revision: u64, state: &State) -> Result<String, Refusal> {
        let State { art, shop, mend } = state.clone();
        let Art { name: art_name, bytes, from } = (*art).clone();
        let project = Project { revision, art_name, art: bytes, from, shop, mend };
        let text = project.text()?;
        if text.len() as u64 > project::LARGEST {
            return Err(too_large(name, text.len() as u64, "save the drawing smaller").into());
        }
        let file = edge::NewFile::new(file_name(name), text.clone());
        edge::write_kept(&self.folder, &[file])?;
        Ok(text)
    }

    /// A name after the drawing's that no project bears yet.
    fn free_name(&self, art: &str, docs: &Docs) -> String {
        let base = base_name(art);
        let taken = |name: &str| docs.open.contains_key(name) || self.folder.join(file_name(name)).exists();
        let numbered = (2..).map(|n| format!("{base}-{n}"));
        std::iter::once(base.clone()).chain(numbered).find(|name| !taken(name)).unwrap_or_default()
    }
}

impl Docs {
    fn touch(&mut self, name: &str) {
        self.used.retain(|used| used != name);
        self.used.push(name.to_owned());
    }

    fn keep(&mut self, doc: Doc) -> Arc<Mutex<Doc>> {
        let name = doc.name.clone();
        let doc = Arc::new(Mutex::new(doc));
        self.open.insert(name.clone(), Arc::clone(&doc));
        self.touch(&name);
        while self.open.len() > OPEN {
            // One that somebody is at stays: read anew, it would be there twice, each
            // with a lock of its own.
            let idle = |name: &String| self.open.get(name).is_none_or(|doc| Arc::strong_count(doc) == 1);
            let Some(oldest) = self.used.iter().position(idle) else { break };
            self.open.remove(&self.used.remove(oldest));
        }
        doc
    }
}

/// How a project's drawing is kin to one at hand, nearest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kinship {
    /// The same drawing from the same file.
    Same,
    /// The same drawing; where one of them came from is not known.
    Alike,
    /// An older state of the same file.
    Older,
    /// The same drawing from another file.
    Copy,
}

fn kinship(kept: &Art, art: &Art, renew: bool) -> Option<Kinship> {
    let same_file = art.from.is_some() && kept.from == art.from;
    match kept.name == art.name && kept.bytes == art.bytes {
        true if same_file => Some(Kinship::Same),
        true if kept.from.is_none() || art.from.is_none() => Some(Kinship::Alike),
        true => Some(Kinship::Copy),
        false => (same_file && renew).then_some(Kinship::Older),
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // Every change is made whole before the lock is left, so a poisoned lock guards sound data.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What could not be read again is not written either.
fn too_large(name: &str, length: u64, advice: &str) -> Error {
    let (size, most) = (project::megabytes(length), project::megabytes(project::LARGEST));
    Error::file(file_name(name), format!("a project of {size} is too large: it may have {most}"), advice)
}

fn file_name(name: &str) -> String {
    format!("{name}{}", project::ENDING)
}

/// What a project of the drawing `art` is called.
fn base_name(art: &str) -> String {
    let in_name = |c: &char| c.is_alphanumeric() || matches!(c, '-' | '_' | ' ');
    let stem = crate::pipeline::file_name(art);
    let stem = stem.split('.').find(|part| !part.is_empty()).unwrap_or("");
    // A dash in front would be taken for an option where the name is typed.
    let clean: String = stem.chars().filter(in_name).skip_while(|&c| c == '-').take(NAME).collect();
    let clean = clean.trim();
    if clean.is_empty() { "face".to_owned() } else { clean.to_owned() }
}

/// Whether `name` may name a project: one that stands as it is on every disk and
/// can never lead out of the folder.
#[must_use]
pub fn is_name(name: &str) -> bool {
    let plain = |c: char| !c.is_control() && !r#"/\:*?"<>|"#.contains(c);
    let length = name.chars().count();
    (1..=LONGEST).contains(&length) && name.trim() == name && !name.starts_with('.') && name.chars().all(plain)
}

#[cfg(test)]
mod tests;
