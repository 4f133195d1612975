//! Reading a shop file: unknown keys and bad values are errors with line and
//! suggestion, never ignored.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use serde::Deserialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::describe::Field;
use super::layout;
use super::position::Positions;
use super::sections::Shop;
use crate::diag::{Error, Place};
use crate::trade::nearest;

/// Where each setting was given, so that an error found later can say so.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origins {
    file: String,
    /// Key such as `panel.width` to the line and column of its value.
    lines: BTreeMap<String, (u32, u32)>,
    /// Key to the option that overrides it.
    flags: BTreeMap<String, &'static str>,
}

impl Origins {
    /// Notes that `key` was given by the option `flag`.
    pub fn flag(&mut self, key: &str, flag: &'static str) {
        self.flags.insert(key.to_owned(), flag);
    }

    /// The options that gave a setting, in order of their names.
    #[must_use]
    pub fn flags(&self) -> BTreeSet<&'static str> {
        self.flags.values().copied().collect()
    }

    /// The name of the shop file; empty when there is none.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Where `key` was given: an option, a line of the shop file, or nowhere
    /// (a default).
    #[must_use]
    pub fn of(&self, key: &str) -> Origin {
        if let Some(flag) = self.flags.get(key) {
            return Origin::Flag(flag);
        }
        self.lines.get(key).map_or(Origin::Default, |&(line, column)| Origin::Line { line, column })
    }

    /// The error with the place where its setting was given. An error of a
    /// setting names its key in `place.element`; any other is left as it is.
    #[must_use]
    pub fn locate(&self, error: Error) -> Error {
        let Error::Setting { place: Place { file: None, element: Some(key), .. }, what, advice } = error else {
            return error;
        };
        match self.of(&key) {
            Origin::Flag(flag) => Error::setting(Place::default(), format!("{flag}: {what}"), advice),
            Origin::Line { line, column } => {
                Error::setting(self.place(Some((line, column))), format!("{key}: {what}"), advice)
            }
            Origin::Default => Error::setting(Place::default(), format!("{key}: {what}"), advice),
        }
    }

    fn place(&self, at: Option<(u32, u32)>) -> Place {
        let (line, column) = at.unzip();
        Place { file: Some(self.file.clone()), line, column, element: None }
    }
}

/// Who gave a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// An option on the command line.
    Flag(&'static str),
    /// The shop file.
    Line {
        /// Line, from 1.
        line: u32,
        /// Column, from 1.
        column: u32,
    },
    /// Nobody: the built-in value.
    Default,
}

/// Reads the text of a shop file called `file`.
///
/// # Errors
/// [`Error::Setting`] with file and line: text that is not TOML, a key nobody
/// knows (with the nearest one that exists), a value of the wrong kind.
pub fn read(text: &str, file: &str) -> Result<(Shop, Origins), Error> {
    let mut reader = Reader {
        places: Positions::of(text),
        origins: Origins { file: file.to_owned(), ..Origins::default() },
        spans: Vec::new(),
    };
    let table = DeTable::parse(text).map_err(|e| reader.syntax(&e))?;
    reader.walk("", "", table.get_ref())?;
    let shop = Shop::deserialize(toml::de::Deserializer::from(table)).map_err(|e| reader.bad_value(&e))?;
    Ok((shop, reader.origins))
}

struct Reader<'t> {
    places: Positions<'t>,
    origins: Origins,
    /// Value spans with their keys, outer before inner.
    spans: Vec<(Range<usize>, String)>,
}

impl Reader<'_> {
    /// Checks the keys of one table and everything inside it, noting where each
    /// value stands. `path` is the table's own name, `shown` the same with list
    /// positions: `boards.stock` and `boards.stock[0]`.
    fn walk(&mut self, path: &str, shown: &str, table: &DeTable<'_>) -> Result<(), Error> {
        let mut keys: Vec<_> = table.iter().collect();
        keys.sort_by_key(|(key, _)| key.span().start);
        for (key, value) in keys {
            let name = key.get_ref().as_ref();
            if !layout::keys(path).any(|known| known == name) {
                return Err(self.unknown(path, name, key.span()));
            }
            self.enter(&join(path, name), &join(shown, name), value)?;
        }
        Ok(())
    }

    fn enter(&mut self, path: &str, shown: &str, value: &Spanned<DeValue<'_>>) -> Result<(), Error> {
        self.note(shown, value.span());
        match value.get_ref() {
            DeValue::Table(table) if layout::is_section(path) => self.walk(path, shown, table),
            DeValue::Array(items) => items.iter().enumerate().try_for_each(|(i, item)| {
                let shown = format!("{shown}[{i}]");
                self.note(&shown, item.span());
                match item.get_ref() {
                    DeValue::Table(table) if layout::is_list(path) => self.walk(path, &shown, table),
                    _ => Ok(()),
                }
            }),
            _ if layout::is_section(path) => {
                let what = format!("`{shown}` is a section, not a value");
                let at = Some(self.places.line_column(value.span().start));
                Err(Error::setting(self.origins.place(at), what, format!("write it as [{shown}] with its keys below")))
            }
            _ => Ok(()),
        }
    }

    fn note(&mut self, shown: &str, span: Range<usize>) {
        self.origins.lines.insert(shown.to_owned(), self.places.line_column(span.start));
        self.spans.push((span, shown.to_owned()));
    }

    fn unknown(&self, path: &str, name: &str, span: Range<usize>) -> Error {
        let name = &short(name);
        let (what, advice) = if path.is_empty() {
            (format!("no section is called `{name}`"), suggest(name, layout::keys("")))
        } else {
            (format!("[{path}] has no key `{name}`"), suggest_key(path, name))
        };
        Error::setting(self.origins.place(Some(self.places.line_column(span.start))), what, advice)
    }

    fn syntax(&self, error: &toml::de::Error) -> Error {
        let at = error.span().map(|span| self.places.line_column(span.start));
        let line = error.span().map_or("", |span| self.places.line(span.start));
        let advice = length_advice(line)
            .unwrap_or("a setting is written key = value, a text in \"quotes\", a section in [brackets]");
        let what = format!("this is not a shop file: {}", short(error.message().lines().next().unwrap_or_default()));
        Error::setting(self.origins.place(at), what, advice)
    }

    fn bad_value(&self, error: &toml::de::Error) -> Error {
        let at = error.span().map(|span| self.places.line_column(span.start));
        let inside = |span: &Range<usize>| error.span().is_some_and(|e| span.start <= e.start && e.end <= span.end);
        let key = self.spans.iter().rev().find(|(span, _)| inside(span)).map_or("", |(_, key)| key);
        let (said, advice) = plain_words(error.message());
        let what = if key.is_empty() { said } else { format!("{key}: {said}") };
        let advice = advice.unwrap_or_else(|| layout::about(key));
        Error::setting(self.origins.place(at), what, advice)
    }
}

/// What to write on a line that breaks off at a length.
fn length_advice(line: &str) -> Option<&'static str> {
    let value = line.split_once('=')?.1.trim();
    if value.starts_with(|c: char| c.is_ascii_digit()) {
        let bare = value.chars().all(|c| c.is_ascii_digit() || ".-+_ ".contains(c));
        return (!bare).then_some("a length with a unit or a fraction is a text in quotes: write \"5-1/4in\"");
    }
    let ends_at_mark = value.as_bytes().windows(3).any(|w| w[0].is_ascii_digit() && &w[1..] == b"\"\"");
    ends_at_mark.then_some("an inch mark ends the text: write \"5-1/4in\"")
}

fn join(path: &str, name: &str) -> String {
    if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") }
}

/// The deserialiser's message in the shop's words, and a suggestion if it
/// listed the words it knows.
fn plain_words(message: &str) -> (String, Option<String>) {
    if message.starts_with("unknown variant") {
        let words: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
        let (given, known) = words.split_first().unwrap_or((&"", &[]));
        let advice = suggest(given, known.iter().copied());
        return (format!("`{}` is not one of {}", short(given), listed(known)), Some(advice));
    }
    let said = match message.strip_prefix("invalid type: ").and_then(|m| m.split_once(", expected ")) {
        Some((found, wanted)) => format!("wanted {}, found {}", kind(wanted), short(found)),
        None => short(message.lines().next().unwrap_or_default()),
    };
    (said, None)
}

fn kind(wanted: &str) -> &str {
    match wanted {
        "f64" => "a number",
        "u8" | "u16" | "u32" | "u64" => "a whole number",
        "a string" | "string" => "a text in \"quotes\"",
        "a boolean" => "true or false",
        "a sequence" => "a list in [brackets]",
        other => other,
    }
}

fn suggest_key(path: &str, name: &str) -> String {
    let here: Vec<&str> = layout::keys(path).collect();
    if nearest(name, here.iter().copied()).is_some() {
        return suggest(name, here);
    }
    if name == layout::UNITS.name {
        return "units stands at the top of the file, before every [section]".to_owned();
    }
    // A right key in the wrong section is the next likely slip.
    match layout::sections_with(name).next() {
        Some(section) => format!("[{section}] has a key of that name"),
        None => format!("its keys are {}", listed(&here)),
    }
}

fn suggest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    match nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there are {}", listed(&known)),
    }
}

fn listed(words: &[&str]) -> String {
    match words {
        [] => "none".to_owned(),
        [one] => format!("`{one}`"),
        [most @ .., last] => {
            let most: Vec<String> = most.iter().map(|w| format!("`{w}`")).collect();
            format!("{} and `{last}`", most.join(", "))
        }
    }
}

/// A name or message of the file's own, as far as anybody reads it.
fn short(text: &str) -> String {
    const MOST: usize = 120;
    let cut: String = text.chars().take(MOST).collect();
    if cut.len() < text.len() { format!("{cut}…") } else { cut }
}

/// The first sentence of a key's description.
pub(super) fn first_sentence(field: &Field) -> String {
    let text = field.about.split_whitespace().collect::<Vec<_>>().join(" ");
    let end = text.find(". ").map_or(text.len(), |i| i + 1);
    text[..end].trim_end_matches('.').to_owned()
}
