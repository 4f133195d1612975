//! The way from a folder to a file, as it can be remembered.

use std::fs;
use std::path::{Component, Path, PathBuf, absolute};

/// The way from `folder` to the file at `path`, with `/` between its parts, so
/// that it stays true when both are moved together: `../faces/owl.svg`. From
/// another disk the whole path. `None` when it is no plain text, or the file is
/// not there.
#[must_use]
pub fn way(folder: &Path, path: &Path) -> Option<String> {
    let (folder, file) = (real(&absolute(folder).ok()?)?, fs::canonicalize(path).ok()?);
    let shared = folder.components().zip(file.components()).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        return file.to_str().map(str::to_owned);
    }
    let up = folder.components().skip(shared).map(|_| Some(".."));
    let down = file.components().skip(shared).map(|part: Component<'_>| part.as_os_str().to_str());
    up.chain(down).collect::<Option<Vec<_>>>().map(|parts| parts.join("/"))
}

/// A path with its links followed, as far as it is there: the folder of projects
/// may still have to be made.
fn real(path: &Path) -> Option<PathBuf> {
    fs::canonicalize(path).ok().or_else(|| Some(real(path.parent()?)?.join(path.file_name()?)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_leads_from_the_folder_to_the_file() {
        let root = tempfile::tempdir().unwrap();
        let at = |name: &str| root.path().join(name);
        fs::create_dir_all(at("art/old")).unwrap();
        fs::write(at("art/old/owl.svg"), "").unwrap();
        let file = at("art/../art/old/owl.svg");
        for (folder, told) in [
            ("art/old", "owl.svg"),
            ("art", "old/owl.svg"),
            ("", "art/old/owl.svg"),
            ("not/yet", "../../art/old/owl.svg"),
        ] {
            assert_eq!(way(&at(folder), &file).as_deref(), Some(told), "from {folder}");
        }
        assert_eq!(way(root.path(), &at("none.svg")), None, "no file");
    }
}
