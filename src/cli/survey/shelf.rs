//! Where a survey's files go, and where it remembers.

use std::path::{Path, PathBuf};

use super::drawer::program;
use crate::diag::Error;
use crate::edge::{self, FileSet, NewFile};
use crate::pipeline::{SURVEY_FILES, survey_documents};
use crate::settings::Settings;
use crate::survey::memory::{self, Ground, Issue, Memory, Remembered};
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

/// What came of writing.
pub(super) struct Put {
    /// The files, in the order they matter.
    pub(super) files: Vec<String>,
    /// Mended copies among those written.
    pub(super) copies: usize,
    /// Whether they stood there already, the same.
    pub(super) stood: bool,
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
    pub(super) fn memory(&self) -> Memory {
        let path = self.folder.join(memory::FILE);
        let text = edge::read_text(&path, memory::LARGEST).ok().filter(|_| self.remembers);
        text.map(Memory::read).unwrap_or_default()
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
            return Ok(Put { files: names, copies, stood: true });
        }
        let mut prints = Vec::new();
        let files = &mut self.files;
        survey_documents(survey, settings, |made| {
            let file = NewFile::new(made.name, made.bytes);
            prints.push(memory::finger_print(&file.bytes));
            files.add(&file)
        })?;
        if self.remembers {
            let entries = remembered.iter().map(|(key, remembered)| (key.as_str(), remembered));
            let text = memory::text(&Issue { ground, prints }, entries);
            self.files.add(&NewFile::new(memory::FILE, text))?;
        }
        let copies = self.files.commit()?.len() - names.len();
        Ok(Put { files: names, copies, stood: false })
    }

    /// Finger prints of the files as they stand; shorter when one is gone.
    fn prints(&self) -> Vec<String> {
        let read = |name| edge::read_bytes(&self.folder.join(name), LARGEST).ok();
        SURVEY_FILES.into_iter().map_while(read).map(|bytes| memory::finger_print(&bytes)).collect()
    }
}

/// The key of everything the files are made from.
fn ground(survey: &Survey, settings: &Settings, remembered: &[(String, Remembered)]) -> String {
    let whole = format!("{:?} {:?} {} {}", survey.setup, settings.print, survey.of, survey.passed_over);
    let mut words = vec![program(), whole, survey.chosen.clone()];
    for row in &survey.rows {
        let refused = match &row.found {
            Found::Face(_) => None,
            Found::Refused(refused) => Some(refused),
        };
        words.push(format!("{} {} {:?} {:?} {refused:?}", row.number, row.path, row.copy, row.double));
    }
    words.extend(remembered.iter().map(|(key, _)| key.clone()));
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    Ground::new(&words).key("survey", b"")
}
