//! Where words go: standard output and standard error.

use std::io::{self, IsTerminal, Write};

use crate::diag::Error;

/// Columns text is wrapped to when the terminal does not say.
const COLUMNS: usize = 88;
/// Narrowest and widest lines: below, words no longer fit; above, lines are hard
/// to read.
const NARROWEST: usize = 40;
const WIDEST: usize = 110;

/// Why a command stopped before its end.
#[derive(Debug)]
pub enum Halt {
    /// The job could not be done.
    Error(Error),
    /// Nobody reads our output any more, as under `| head`; all is well.
    PipeClosed,
}

impl From<Error> for Halt {
    fn from(error: Error) -> Self {
        Self::Error(error)
    }
}

/// How text may look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Whether colour may be used.
    pub colour: bool,
    /// Columns to wrap to.
    pub columns: usize,
}

impl Look {
    /// No colour, usual width.
    pub const PLAIN: Self = Self { colour: false, columns: COLUMNS };

    /// The look a stream wants: colour on a terminal, unless `NO_COLOR` or a
    /// terminal without colours says otherwise.
    fn of(stream: &impl IsTerminal) -> Self {
        let set = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let dumb = set("TERM").is_some_and(|term| term == "dumb");
        let columns = set("COLUMNS").and_then(|columns| columns.to_str()?.parse::<usize>().ok()).unwrap_or(COLUMNS);
        Self {
            colour: stream.is_terminal() && set("NO_COLOR").is_none() && !dumb,
            columns: columns.clamp(NARROWEST, WIDEST),
        }
    }

    /// `text` in an ANSI style (`1` bold, `31` red …), when colour may be used.
    #[must_use]
    pub fn paint(self, style: &str, text: &str) -> String {
        if self.colour { format!("\u{1b}[{style}m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}

/// Standard output and standard error.
pub struct Console {
    out: Box<dyn Write>,
    err: Box<dyn Write>,
    /// The command line, the program's name first.
    pub args: Vec<std::ffi::OsString>,
    /// How standard output may look.
    pub look: Look,
    /// How standard error may look.
    err_look: Look,
    /// Whether somebody watches standard error.
    err_is_terminal: bool,
}

impl std::fmt::Debug for Console {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Console").field("look", &self.look).finish_non_exhaustive()
    }
}

impl Console {
    /// The process's own streams.
    #[must_use]
    pub fn standard() -> Self {
        let (out, err) = (io::stdout(), io::stderr());
        let (look, err_look) = (Look::of(&out), Look::of(&err));
        let err_is_terminal = err.is_terminal() && std::env::var_os("TERM").is_none_or(|term| term != "dumb");
        Self { out: Box::new(out), err: Box::new(err), args: Vec::new(), look, err_look, err_is_terminal }
    }

    /// How standard error may look.
    #[must_use]
    pub const fn err_look(&self) -> Look {
        self.err_look
    }

    /// Whether standard error is a terminal that a line can be drawn on anew.
    #[must_use]
    pub const fn err_is_terminal(&self) -> bool {
        self.err_is_terminal
    }

    /// Writes `text` to standard output.
    ///
    /// # Errors
    /// [`Halt::PipeClosed`] when its reader is gone, an error when the system
    /// refuses otherwise (a full disk behind a redirection).
    pub fn print(&mut self, text: &str) -> Result<(), Halt> {
        self.print_as_made(|out| out.write_all(text.as_bytes()))
    }

    /// Writes to standard output what `make` makes, piece by piece.
    ///
    /// # Errors
    /// As [`Console::print`].
    pub fn print_as_made(&mut self, make: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Result<(), Halt> {
        let mut out = io::BufWriter::new(&mut self.out);
        let written = make(&mut out).and_then(|()| out.flush());
        drop(out);
        written.map_err(|error| match error.kind() {
            io::ErrorKind::BrokenPipe => Halt::PipeClosed,
            io::ErrorKind::StorageFull => refused("the disk is full"),
            _ => refused(&error.to_string()),
        })
    }

    /// Tells an error and what to do about it, on standard error.
    pub fn error(&mut self, error: &Error) {
        let mut text = format!("{} {error}\n", self.err_look.paint("1;31", "error:"));
        if !error.advice().is_empty() {
            text.push_str(&format!("  {}\n", error.advice()));
        }
        self.remark(&text);
    }

    /// Writes `text` to standard error. When even that fails there is nobody
    /// left to tell.
    pub fn remark(&mut self, text: &str) {
        drop(self.err.write_all(text.as_bytes()).and_then(|()| self.err.flush()));
    }
}

fn refused(said: &str) -> Halt {
    let what = format!("cannot write it: {said}");
    Halt::Error(Error::file("standard output", what, "send the output somewhere else"))
}

/// Words that stay on the line of the number before them.
const UNITS: [&str; 7] = ["mm", "mm,", "mm²", "in", "%", "minutes", "h"];

/// Stands for a space within a quoted word of a command until [`wrapped`] writes it: a
/// line broken there would break the command.
pub const HELD: char = '\u{1f}';

/// `text` broken into lines of at most `columns` characters, each begun with
/// `indent` spaces; a longer word stands alone, a unit stays with its number.
#[must_use]
pub fn wrapped(text: &str, columns: usize, indent: usize) -> String {
    let mut lines = vec![String::new()];
    for word in words(text) {
        let line = lines.last().map_or(0, |line| line.chars().count());
        if line > 0 && indent + line + 1 + word.chars().count() > columns {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&word);
        }
    }
    let lines: Vec<String> = lines.iter().map(|line| format!("{:indent$}{line}", "")).collect();
    lines.join("\n").replace(HELD, " ")
}

/// The words of `text`, a number and its unit as one.
fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut() {
            Some(last) if UNITS.contains(&word) && last.ends_with(|c: char| c.is_ascii_digit()) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_wraps_at_words() {
        assert_eq!(wrapped("one two three", 9, 2), "  one two\n  three", "wrapped");
        assert_eq!(wrapped("incomprehensibilities a", 5, 0), "incomprehensibilities\na", "a long word stands alone");
        assert_eq!(wrapped("", 9, 0), "", "nothing");
        assert_eq!(wrapped("it is 3.0 mm wide", 9, 0), "it is\n3.0 mm\nwide", "a unit stays with its number");
    }

    #[test]
    fn paint_needs_leave() {
        assert_eq!(Look::PLAIN.paint("31", "stop"), "stop", "no colour");
        assert_eq!(Look { colour: true, columns: 80 }.paint("31", "stop"), "\u{1b}[31mstop\u{1b}[0m", "colour");
    }
}
