//! The options of a run, as they are typed for the next one.

use std::ffi::OsString;
use std::path::Path;

use clap::Args as _;

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

/// A word as it is typed after a command.
fn typed(word: &str) -> String {
    let plain = !word.is_empty() && word.chars().all(|c| c.is_alphanumeric() || "/._-+:\\,".contains(c));
    if plain { word.to_owned() } else { format!("\"{word}\"") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(line: &str) -> String {
        let args: Vec<OsString> = line.split(' ').map(OsString::from).collect();
        again("my owl.svg", &args)
    }

    #[test]
    fn the_next_command_has_the_options_of_the_face_and_no_others() {
        assert_eq!(said("fretgrin check my_owl.svg"), "\"my owl.svg\"");
        let line = "fretgrin prepare x --panel 3x6in --json --out o --thickness=1/4in --mirror --paper a4 --clear 1,1,2,2 --mend";
        assert_eq!(said(line), "\"my owl.svg\" --panel 3x6in --thickness 1/4in --mirror --clear 1,1,2,2");
        assert_eq!(said("fretgrin check x --turn -5 --shop s.toml"), "\"my owl.svg\" --turn -5 --shop s.toml");
    }
}
