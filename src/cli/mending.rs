//! Options of the commands that mend a face.

use clap::Args;

use crate::project::Mends;

/// How a face is mended.
#[derive(Args, Clone, Debug)]
pub struct MendChoices {
    /// Mend only what would fail or cannot be sawn; wood that wants care stays as drawn
    #[arg(long)]
    pub stops: bool,
    /// Where openings touch at a point, make them one instead of a bridge
    #[arg(long)]
    pub open_contacts: bool,
}

impl MendChoices {
    /// Adds the choices to what a project may have settled.
    pub const fn settle(&self, mends: &mut Mends) {
        mends.only_stops |= self.stops;
        mends.open_contacts |= self.open_contacts;
    }
}

/// Options of the commands that can mend a face before they use it.
#[derive(Args, Clone, Debug)]
#[command(mut_arg("stops", |arg| arg.requires("mend")), mut_arg("open_contacts", |arg| arg.requires("mend")))]
pub struct MendFlags {
    /// Mend the face first and use the mended one
    #[arg(long)]
    pub mend: bool,
    /// How.
    #[command(flatten)]
    pub choices: MendChoices,
}

impl MendFlags {
    /// Adds what is asked for to what a project may have settled.
    pub const fn settle(&self, mends: &mut Mends) {
        mends.on |= self.mend;
        self.choices.settle(mends);
    }
}

/// Numbers of edits, by commas: each one, or from one to another like 3-5.
///
/// # Errors
/// What is wrong with the text.
pub fn edit_numbers(text: &str) -> Result<EditNumbers, String> {
    let wrong = || format!("`{text}` names no edits; write their numbers, like 3,5 or 3-8");
    let number = |part: &str| part.trim().parse::<u32>().map_err(|_| wrong());
    let mut numbers = Vec::new();
    for part in text.split(',') {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let (first, last) = (number(first)?, number(last)?);
        if first > last || last - first > MOST_EDITS {
            return Err(wrong());
        }
        numbers.extend(first..=last);
    }
    Ok(EditNumbers(numbers))
}

/// No range of edits is longer: more than any face has.
const MOST_EDITS: u32 = 10_000;

/// Numbers of edits as one option names them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct EditNumbers(pub Vec<u32>);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_are_named_one_by_one_and_in_runs() {
        assert_eq!(edit_numbers("3,5"), Ok(EditNumbers(vec![3, 5])), "by commas");
        assert_eq!(edit_numbers("3-5, 9"), Ok(EditNumbers(vec![3, 4, 5, 9])), "a run");
        for wrong in ["a", "", "5-3", "-3", "1-99999999", "3,,4"] {
            assert!(edit_numbers(wrong).is_err_and(|said| said.contains("3-8")), "{wrong}");
        }
    }
}
