//! The command line: options in, words and files out, exit code.
//!
//! Thin over the pipeline. A command is one file here with its `Args` and a
//! `run`; adding one takes that file, a line in [`Command`] and a line in
//! [`Command::run`].

pub mod again;
mod check;
pub mod console;
mod export;
pub mod flags;
mod lantern;
mod later;
pub mod load;
mod manual;
mod mend;
pub mod mending;
mod open;
mod prepare;
mod ruler;
mod shop;
pub mod summary;
mod survey;
mod tables;

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::diag::{Error, Severity};
use crate::edge::{NewFile, any_stands, write_all};
use crate::outcome::Outcome;
use crate::pipeline::Made;
use crate::settings::Settings;
use console::{Console, Halt};
use later::Later;

/// What the exit code says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done, and nothing found that stops the job.
    Clean,
    /// Done, and the face has a fault that must be put right.
    Faults,
    /// Not done.
    NotDone,
}

impl Exit {
    /// The code itself.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Clean => 0,
            Self::Faults => 1,
            Self::NotDone => 2,
        }
    }
}

const EXIT_CODES: &str = "\
Exit code:
  0  done; nothing found that stops the job
  1  done; something found that must be put right (with --strict: that needs care)
  2  not done: a wrong option, setting or file; nothing is left behind

Lengths are written 5-1/4in, 6ft, 5ft 6in or 133.35mm; a bare number counts in the
shop's unit. Settings the shop always uses go into shop.toml: `fretgrin shop new`
writes one.";

/// From a face drawing to a true-size scroll-saw template.
///
/// Reads a face drawing, lays it on the panel of a lantern box, finds what would
/// fall out, snap or not be reached by the blade, and writes a template to tape
/// on the wood and saw.
#[derive(Debug, Parser)]
#[command(name = "fretgrin", version, after_help = EXIT_CODES, propagate_version = true)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write the template, picture and report of a face, and tell what was found
    Prepare(Later<prepare::Args>),
    /// Tell what is found in a face, and write nothing
    Check(Later<check::Args>),
    /// Open the bench: a page in the browser to look, change and print
    Open(Later<open::Args>),
    /// Mend a face: bridge what falls out, widen what is weak, and show it before, after and lit
    Mend(Later<mend::Args>),
    /// Write the outlines at true size as SVG and DXF, for other machines
    Export(Later<export::Args>),
    /// Survey a drawer full of faces: a table, and a contact sheet on paper and as a page
    Survey(Later<survey::Args>),
    /// Plan the lantern box: parts, window, nails, and papers to work from
    Box(Later<lantern::BoxArgs>),
    /// Plan a batch: boards, hardware, time and price, and papers to work from
    Batch(Later<lantern::BatchArgs>),
    /// List the blades, with their measures and where those come from
    Blades(Later<tables::Args>),
    /// List the woods, with their strength and its source
    Woods(Later<tables::Args>),
    /// List the drills
    Drills(Later<tables::Args>),
    /// List the papers
    Papers(Later<tables::Args>),
    /// Write a sheet that finds the printer's correction
    Ruler(Later<ruler::Args>),
    /// Write or show the shop's settings
    Shop(shop::Args),
    /// Print the completions of a shell
    Completions(Later<manual::CompletionArgs>),
    /// Print the manual page
    Man(Later<manual::ManArgs>),
}

impl Command {
    fn run(self, console: &mut Console) -> Result<Exit, Halt> {
        match self {
            Self::Prepare(args) => prepare::run(&args, console),
            Self::Check(args) => check::run(&args, console),
            Self::Open(args) => open::run(&args, console),
            Self::Mend(args) => mend::run(&args, console),
            Self::Export(args) => export::run(&args, console),
            Self::Survey(args) => survey::run(&args, console),
            Self::Box(args) => lantern::run_box(&args, console),
            Self::Batch(args) => lantern::run_batch(&args, console),
            Self::Blades(args) => tables::run(&args, crate::trade::blades::rows, console),
            Self::Woods(args) => tables::run(&args, crate::trade::woods::rows, console),
            Self::Drills(args) => tables::run(&args, crate::trade::drills::rows, console),
            Self::Papers(args) => tables::run(&args, crate::trade::papers::rows, console),
            Self::Ruler(args) => ruler::run(&args, console),
            Self::Shop(args) => shop::run(&args, console),
            Self::Completions(args) => manual::completions(&args, console),
            Self::Man(args) => manual::man(&args, console),
        }
    }
}

/// The exit code a face deserves.
fn exit(outcome: &Outcome, strict: bool) -> Exit {
    let least = if strict { Severity::Care } else { Severity::Stop };
    if outcome.worst().is_some_and(|worst| worst >= least) { Exit::Faults } else { Exit::Clean }
}

/// The folder for the files; empty for the current one, so that paths told are
/// short.
fn folder(settings: &Settings) -> &Path {
    Path::new(if settings.folder == "." { "" } else { &settings.folder })
}

/// What came of writing files.
#[derive(Clone, Debug, Default)]
pub struct Put {
    /// `Replaced` where such files stood there: of an earlier run, or of another
    /// drawing of the same name, whose owner is to see it.
    pub word: &'static str,
    /// The files, in the order they matter.
    pub names: Vec<String>,
}

/// Writes what was `made`.
fn put(made: Vec<Made>, settings: &Settings, force: bool) -> Result<Put, Error> {
    let files: Vec<NewFile> = made.into_iter().map(|file| NewFile::new(file.name, file.bytes)).collect();
    let word = if any_stands(folder(settings), &files) { "Replaced" } else { "Written" };
    let written = write_all(folder(settings), &files, force)?;
    Ok(Put { word, names: written.iter().map(|path| path.display().to_string()).collect() })
}

/// Runs the process's own command line.
#[must_use]
pub fn main() -> ExitCode {
    crate::geom::guard::keep_quiet();
    let exit = run(std::env::args_os(), &mut Console::standard());
    ExitCode::from(exit.code())
}

/// Runs one command line, the program's name first.
pub fn run(args: impl IntoIterator<Item = OsString>, console: &mut Console) -> Exit {
    console.args = args.into_iter().collect();
    let cli = match Cli::try_parse_from(&console.args) {
        Ok(cli) => cli,
        Err(said) => return usage(&said, console),
    };
    match cli.command.run(console) {
        Ok(exit) => exit,
        Err(Halt::PipeClosed) => Exit::Clean,
        Err(Halt::Error(error)) => {
            console.error(&error);
            Exit::NotDone
        }
    }
}

/// Help and version go to standard output, mistakes to standard error.
fn usage(said: &clap::Error, console: &mut Console) -> Exit {
    let look = console.look;
    let text = |colour: bool| if colour { said.render().ansi().to_string() } else { said.render().to_string() };
    if said.use_stderr() {
        let text = text(console.err_look().colour);
        console.remark(&text);
        return Exit::NotDone;
    }
    match console.print(&text(look.colour)) {
        Err(Halt::Error(error)) => {
            console.error(&error);
            Exit::NotDone
        }
        Ok(()) | Err(Halt::PipeClosed) => Exit::Clean,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory as _;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn every_option_says_what_it_does() {
        let mut whole = Cli::command();
        whole.build();
        for command in whole.get_subcommands() {
            assert!(command.get_about().is_some(), "{}", command.get_name());
            for option in command.get_arguments() {
                assert!(option.get_help().is_some(), "{} {}", command.get_name(), option.get_id());
            }
        }
    }
}
