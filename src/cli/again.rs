//! The options of a run, as they are typed for the next one.

use std::ffi::OsString;
use std::path::Path;

use clap::Args as _;

use super::console::HELD;
use super::flags::FaceFlags;
use crate::edge::shown;

/// The drawing that was given and, after it, the options of the face among `args`, the
/// words of the command line: whoever types what a command says comes next means the
/// same panel, size and wood.
#[must_use]
pub fn again(art: &str, args: &[OsString]) -> String {
    let command = FaceFlags::augment_args(clap::Command::new("face"));
    let of_face = |name: &str| command.get_arguments().find(|option| option.get_long() == Some(name));
    let mut said = typed(&shown(Path::new(art)));
    let mut words = args.iter().map(|word| word.to_string_lossy());
    while let Some(word) = words.next() {
        let Some(option) = word.strip_prefix("--").filter(|option| !option.is_empty()) else { continue };
        let (name, value) =
            option.split_once('=').map_or((option, None), |(name, value)| (name, Some(value.to_owned())));
        let Some(of_face) = of_face(name) else { continue };
        said.push_str(&format!(" --{name}"));
        if of_face.get_action().takes_values() {
            let value = value.or_else(|| words.next().map(std::borrow::Cow::into_owned)).unwrap_or_default();
            said.push_str(&format!(" {}", typed(&value)));
        }
    }
    said
}

/// A word as it is typed after a command, to be told by [`super::console::wrapped`].
fn typed(word: &str) -> String {
    let word = if cfg!(windows) { in_windows(word) } else { in_a_shell(word) };
    word.replace(' ', &HELD.to_string())
}

fn is_plain(word: &str, also: &str) -> bool {
    !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || also.contains(c))
}

/// A word no POSIX shell changes: within single quotes nothing has a meaning but their
/// end, so a foot mark stands outside them.
fn in_a_shell(word: &str) -> String {
    if is_plain(word, "/._-+:,") { word.to_owned() } else { format!("'{}'", word.replace('\'', r"'\''")) }
}

/// The same for a program started in Windows: an inch mark within double quotes is
/// escaped, as are the backslashes right before a mark or the end.
fn in_windows(word: &str) -> String {
    if is_plain(word, "/._-+:\\,") {
        return word.to_owned();
    }
    let (mut said, mut slashes) = (String::from("\""), 0);
    for c in word.chars() {
        if c == '"' {
            said.push_str(&"\\".repeat(slashes + 1));
        }
        slashes = if c == '\\' { slashes + 1 } else { 0 };
        said.push(c);
    }
    format!("{said}{}\"", "\\".repeat(slashes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::console::wrapped;

    fn said(line: &str) -> String {
        let args: Vec<OsString> = line.split(' ').map(OsString::from).collect();
        again("my owl.svg", &args)
    }

    #[test]
    fn the_next_command_has_the_options_of_the_face_and_no_others() {
        let owl = typed("my owl.svg");
        assert_eq!(said("fretgrin check my_owl.svg"), owl);
        let line = "fretgrin prepare x --panel 3x6in --json --out o --thickness=1/4in --mirror --paper a4 --clear 1,1,2,2 --mend";
        assert_eq!(said(line), format!("{owl} --panel 3x6in --thickness 1/4in --mirror --clear 1,1,2,2"));
        assert_eq!(said("fretgrin check x --turn -5 --shop s.toml"), format!("{owl} --turn -5 --shop s.toml"));
    }

    #[test]
    fn no_line_is_broken_within_a_quoted_word() {
        let told = wrapped(&format!("Next fretgrin check {}", typed("my  owl.svg")), 24, 2);
        let quote = if cfg!(windows) { '"' } else { '\'' };
        assert_eq!(told, format!("  Next fretgrin check\n  {quote}my  owl.svg{quote}"));
    }

    #[test]
    fn a_windows_command_takes_marks_and_paths_as_they_are() {
        let words = ["3x6in", "C:\\faces\\owl.svg", "my owl.svg", "5-1/4\"x10\"", "my faces\\", ""];
        let said = words.map(in_windows);
        let wanted = ["3x6in", "C:\\faces\\owl.svg", "\"my owl.svg\"", r#""5-1/4\"x10\"""#, r#""my faces\\""#, "\"\""];
        assert_eq!(said, wanted);
    }

    /// The shell itself is asked what it makes of the words.
    #[test]
    #[cfg(unix)]
    fn a_shell_takes_every_word_as_it_is() {
        for word in ["3x6in", "my owl.svg", "5-1/4\"x10\"", "5'x10'", "5' 6\"", "$HOME", "a`b`", "a\\b", "!x", "*", ""]
        {
            let line = format!("printf %s {}", in_a_shell(word));
            let ran = std::process::Command::new("sh").args(["-c", &line]).output().unwrap();
            assert_eq!(String::from_utf8(ran.stdout).unwrap(), word, "{line}");
        }
    }
}
