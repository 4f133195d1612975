//! `completions` and `man`: made from the command line's own definition.

use std::path::Path;

use clap::CommandFactory as _;
use clap_complete::Shell;
use clap_mangen::Man;

use super::console::{Console, Halt};
use super::{Cli, Exit};
use crate::diag::{Error, Place};
use crate::edge::{NewFile, write_all};
use crate::trade::nearest;

/// Options of `completions`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct CompletionArgs {
    /// The shell to complete in
    shell: Shell,
}

/// Options of `man`.
#[derive(clap::Args, Clone, Debug)]
pub(super) struct ManArgs {
    /// The command to explain; the whole program when left out
    command: Option<String>,
    /// Write every page into this folder instead
    #[arg(long, value_name = "FOLDER", conflicts_with = "command")]
    out: Option<String>,
    /// Replace pages that fretgrin did not write
    #[arg(long)]
    force: bool,
}

/// Prints the completion script of a shell.
pub(super) fn completions(args: &CompletionArgs, console: &mut Console) -> Result<Exit, Halt> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "fretgrin", &mut script);
    console.print(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Clean)
}

/// Prints one manual page, or writes them all.
pub(super) fn man(args: &ManArgs, console: &mut Console) -> Result<Exit, Halt> {
    let mut whole = Cli::command();
    whole.build();
    if let Some(folder) = &args.out {
        let pages = all_pages(&whole)?;
        let written = write_all(Path::new(folder), &pages, args.force)?;
        console.print(&format!("{} manual pages written to {folder}\n", written.len()))?;
        return Ok(Exit::Clean);
    }
    let command = match &args.command {
        None => &whole,
        Some(name) => whole.find_subcommand(name).ok_or_else(|| unknown(name, &whole))?,
    };
    console.print(&String::from_utf8_lossy(&page(command)?.bytes))?;
    Ok(Exit::Clean)
}

fn unknown(name: &str, whole: &clap::Command) -> Error {
    let advice = match nearest(name, whole.get_subcommands().map(clap::Command::get_name)) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "`fretgrin help` lists them all".to_owned(),
    };
    Error::setting(Place::default(), format!("there is no command `{name}`"), advice)
}

/// The page of a command and of every command below it.
fn all_pages(command: &clap::Command) -> Result<Vec<NewFile>, Error> {
    let mut pages = vec![page(command)?];
    for below in command.get_subcommands().filter(|below| below.get_name() != "help") {
        pages.extend(all_pages(below)?);
    }
    Ok(pages)
}

/// The page of one command, called as manual pages are: `fretgrin-prepare.1`.
fn page(command: &clap::Command) -> Result<NewFile, Error> {
    let name = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
    let mut text = Vec::new();
    Man::new(command.clone())
        .render(&mut text)
        .map_err(|e| Error::Internal { what: format!("the manual page could not be made: {e}") })?;
    Ok(NewFile::new(format!("{name}.1"), text))
}
