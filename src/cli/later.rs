//! Options built when their command is named, not before.

use std::ops::Deref;

use clap::{ArgMatches, Args, Command, Error, FromArgMatches};

/// The options of one command. A run names one command of sixteen; building the
/// options of the others costs a seventh of the time the program takes to start.
/// Not for a command with commands of its own: completions would miss those.
#[derive(Debug)]
pub(super) struct Later<T>(Box<T>);

impl<T> Deref for Later<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: FromArgMatches> FromArgMatches for Later<T> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        T::from_arg_matches(matches).map(|args| Self(Box::new(args)))
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        self.0.update_from_arg_matches(matches)
    }
}

impl<T: Args> Args for Later<T> {
    fn augment_args(command: Command) -> Command {
        command.defer(|command| titled(command, T::augment_args))
    }

    fn augment_args_for_update(command: Command) -> Command {
        command.defer(|command| titled(command, T::augment_args_for_update))
    }
}

/// Adds options and keeps what the command says it does; options come with a title
/// of their own.
fn titled(command: Command, add: fn(Command) -> Command) -> Command {
    let about = command.get_about().cloned();
    let command = add(command);
    match about {
        Some(about) => command.about(about).long_about(None),
        None => command,
    }
}
