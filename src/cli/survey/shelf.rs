//! Where a survey's files go, and where it remembers.

use std::io;
use std::path::{Path, PathBuf};

use super::drawer::program;
use crate::diag::Error;
use crate::edge::{self, FileSet, Stretches};
use crate::pipeline::{SURVEY_FILES, survey_document};
use crate::settings::Settings;
use crate::survey::memory::{self, Ground, Issue, Memory, Printing, Remembered};
use crate::survey::{Found, Survey};

/// Largest file of a survey looked at to see whether it still stands.
const LARGEST: u64 = 256 * 1024 * 1024;

/// The folder written to.
pub(super) struct Shelf {
    folder: PathBuf,
    pub(super) files: FileSet,
    /// Whether the memory is ours to write.
    remembers: bool,
}

/// What an earlier survey remembered, and its file, in which most of it stays.
#[derive(Default)]
pub(super) struct Book {
    file: Option<Stretches>,
    memory: Memory,
}

impl Book {
    /// What is remembered under `key`.
    pub(super) fn get(&self, key: &str) -> Option<Remembered> {
        let file = self.file.as_ref()?;
        self.memory.get(key, |stretch| file.text(stretch))
    }

    /// The files the earlier survey wrote.
    pub(super) const fn issue(&self) -> Option<&Issue> {
        self.memory.issue()
    }
}

/// What came of writing.
pub(super) struct Put {
    /// The files, in the order they matter.
    pub(super) files: Vec<String>,
    /// Mended copies among those written.
    pub(super) copies: usize,
    /// `Unchanged` where they stood there already, the same; `Replaced` where others did.
    pub(super) word: &'static str,
}

impl Shelf {
    /// Opens the folder; what is in the way is told before the work is done, not
    /// after.
    ///
    /// # Errors
    /// A folder that cannot be written, a file there that is not ours.
    pub(super) fn open(folder: &Path, force: bool) -> Result<Self, Error> {
        let files = FileSet::begin(folder, force)?;
        SURVEY_FILES.iter().try_for_each(|name| files.may_add(name))?;
        let remembers = files.may_add(memory::FILE).is_ok();
        Ok(Self { folder: folder.to_owned(), files, remembers })
    }

    /// What an earlier survey remembered; nothing when there was none or it
    /// makes no sense.
    pub(super) fn memory(&self) -> Book {
        let path = self.folder.join(memory::FILE);
        let file = Stretches::open(&path, memory::LARGEST).ok().filter(|_| self.remembers);
        let memory = file.as_ref().and_then(|file| file.whole(|from| Memory::read(from)).ok());
        Book { file, memory: memory.unwrap_or_default() }
    }

    /// What to say when nothing is remembered.
    pub(super) fn remark(&self) -> Option<String> {
        let path = self.folder.join(memory::FILE);
        let why = "was not written by fretgrin and is left alone: nothing is remembered";
        (!self.remembers).then(|| format!("{} {why}\n", path.display()))
    }

    /// Writes the survey's files and what it remembers, unless the same stand
    /// there already.
    ///
    /// # Errors
    /// When one cannot be made or written.
    pub(super) fn put(
        mut self,
        survey: &Survey,
        settings: &Settings,
        known: Option<&Issue>,
        remembered: &[(String, Remembered)],
    ) -> Result<Put, Error> {
        let ground = ground(survey, settings, remembered);
        let all = SURVEY_FILES.into_iter().chain(self.remembers.then_some(memory::FILE));
        let names: Vec<String> = all.map(|name| self.folder.join(name).display().to_string()).collect();
        if known.is_some_and(|issue| issue.ground == ground && self.prints() == issue.prints) {
            let copies = self.files.commit()?.len();
            return Ok(Put { files: names, copies, word: "Unchanged" });
        }
        let mut prints = Vec::new();
        for name in SURVEY_FILES {
            self.files.add_as_made(name, |out| {
                let mut printing = Printing::new(out);
                survey_document(name, survey, settings, &mut printing)?;
                prints.push(printing.print());
                Ok(())
            })?;
        }
        if self.remembers {
            let entries = remembered.iter().map(|(key, remembered)| (key.as_str(), remembered));
            let issue = Issue { ground, prints };
            self.files.add_as_made(memory::FILE, |out| memory::write(out, &issue, entries))?;
        }
        let word = if self.files.any_stands() { "Replaced" } else { "Written" };
        let copies = self.files.commit()?.len() - names.len();
        Ok(Put { files: names, copies, word })
    }

    /// Finger prints of the files as they stand; shorter when one is gone.
    fn prints(&self) -> Vec<String> {
        let print = |name| {
            let mut printing = Printing::new(io::sink());
            edge::read_through(&self.folder.join(name), LARGEST, &mut printing).ok().map(|()| printing.print())
        };
        SURVEY_FILES.into_iter().map_while(print).collect()
    }
}

/// The key of everything the files are made from.
fn ground(survey: &Survey, settings: &Settings, remembered: &[(String, Remembered)]) -> String {
    let whole = format!("{:?} {:?} {} {}", survey.setup, settings.print, survey.of, survey.passed_over);
    let rows = survey.rows.iter().map(|row| {
        let refused = match &row.found {
            Found::Face(_) => None,
            Found::Refused(refused) => Some(refused),
        };
        format!("{} {} {:?} {:?} {refused:?}", row.number, row.path, row.copy, row.double)
    });
    let keys = remembered.iter().map(|(key, _)| key.clone());
    let words = [program(), whole, survey.chosen.clone()].into_iter().chain(rows).chain(keys);
    Ground::new(words).key("survey", b"")
}
