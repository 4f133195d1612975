//! The real binary, run in folders of its own: words, exit codes, files.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// A folder of its own for one test; gone afterwards.
struct Bench(tempfile::TempDir);

impl Bench {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, content: &str) -> PathBuf {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, content).unwrap();
        path
    }

    fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
        command.current_dir(self.0.path()).env_remove("NO_COLOR").env("COLUMNS", "100").stdin(Stdio::null());
        command
    }

    fn run<S: AsRef<OsStr>>(&self, args: &[S]) -> Ran {
        Ran::from(self.command().args(args).output().unwrap())
    }

    /// Names of everything in the folder, hidden files too.
    fn names(&self) -> Vec<String> {
        names(self.0.path())
    }
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// What a run said and how it ended.
#[derive(Debug)]
struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("all output is UTF-8");
        Self { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }
}

impl Ran {
    /// Asserts a refusal: code 2, nothing on standard output, an error that
    /// contains `what`, and no sign of a crash.
    #[track_caller]
    fn refused(&self, what: &str) {
        assert_eq!(self.code, Some(2), "{self:?}");
        assert_eq!(self.out, "", "standard output stays empty: {self:?}");
        assert!(self.err.contains(what), "`{what}` is not said: {}", self.err);
        assert!(!self.err.contains("panicked"), "{}", self.err);
    }

    #[track_caller]
    fn done(&self) -> &str {
        assert_eq!(self.code, Some(0), "{self:?}");
        assert_eq!(self.err, "", "{self:?}");
        &self.out
    }
}

#[test]
fn help_names_every_command_and_the_exit_codes() {
    let bench = Bench::new();
    let ran = bench.run(&["--help"]);
    let help = ran.done();
    for word in ["blades", "woods", "drills", "papers", "shop", "completions", "man", "Exit code", "--help"] {
        assert!(help.contains(word), "{word}: {help}");
    }
    assert!(bench.run(&["--version"]).done().starts_with("fretgrin "), "version");
}

#[test]
fn tables_print_and_give_json() {
    let bench = Bench::new();
    for (table, row) in [("blades", "flat-5"), ("woods", "western-redcedar"), ("drills", "#52"), ("papers", "a4")] {
        assert!(bench.run(&[table]).done().contains(row), "{table}");
        let ran = bench.run(&[table, "--json"]);
        let value: serde_json::Value = serde_json::from_str(ran.done()).unwrap();
        let columns = value["columns"].as_array().unwrap().len();
        let rows = value["rows"].as_array().unwrap();
        assert!(rows.iter().all(|row| row.as_array().unwrap().len() == columns), "{table} is square");
        assert!(!value["notes"].as_array().unwrap().is_empty(), "{table} names its sources");
    }
    assert!(bench.run(&["papers", "--units", "mm"]).done().contains("297"), "in the unit asked for");
}

#[test]
fn wrong_commands_and_options_are_refused_with_a_suggestion() {
    let bench = Bench::new();
    bench.run(&["balades"]).refused("blades");
    bench.run(&["blades", "--jason"]).refused("--json");
    bench.run(&["blades", "--units", "furlong"]).refused("furlong");
    bench.run(&["man", "blade"]).refused("did you mean `blades`?");
    bench.run(&["completions", "abacus"]).refused("abacus");
    let nothing: [&str; 0] = [];
    assert_eq!(bench.run(&nothing).code, Some(2), "a command is needed");
    assert!(bench.names().is_empty(), "nothing was written");
}

#[test]
fn a_new_shop_file_is_written_read_and_not_overwritten() {
    let bench = Bench::new();
    assert!(bench.run(&["shop", "new"]).done().starts_with("shop.toml written"), "said");
    assert_eq!(bench.names(), ["shop.toml"], "one file, nothing hidden");
    let first = fs::read_to_string(bench.path("shop.toml")).unwrap();
    let ran = bench.run(&["shop", "show"]);
    let shown = ran.done();
    assert_eq!(shown.split_once("#\n").unwrap().1, first, "what is in force is what was written");
    bench.run(&["shop", "new"]).refused("--force");
    bench.put("shop.toml", "units = \"mm\"\n");
    bench.run(&["shop", "new"]).refused("shop.toml: this file exists");
    assert_eq!(fs::read_to_string(bench.path("shop.toml")).unwrap(), "units = \"mm\"\n", "left alone");
    bench.run(&["shop", "new", "--force"]).done();
    assert_eq!(fs::read_to_string(bench.path("shop.toml")).unwrap(), first, "forced");
}

#[test]
fn the_nearest_shop_file_above_counts() {
    let bench = Bench::new();
    bench.put("shop.toml", "units = \"mm\"\n");
    bench.put("faces/owl/here.txt", "");
    let mut command = bench.command();
    let ran = Ran::from(command.current_dir(bench.path("faces/owl")).args(["shop", "show"]).output().unwrap());
    assert!(ran.done().contains("units = \"mm\""), "{ran:?}");
    bench.put("other.toml", "[panel]\nwidth = 4\n");
    let ran = bench.run(&["shop", "show", "--shop", "other.toml"]);
    assert!(ran.done().contains("# Read from other.toml") && ran.out.contains("width = 4"), "{ran:?}");
}

#[test]
fn a_wrong_shop_file_names_its_line() {
    let bench = Bench::new();
    bench.put("shop.toml", "units = \"in\"\n\n[panel]\nwidht = 5\n");
    let ran = bench.run(&["shop", "show"]);
    ran.refused("shop.toml, line 4: [panel] has no key `widht`");
    assert!(ran.err.contains("did you mean `width`?"), "{ran:?}");
    bench.run(&["blades"]).refused("shop.toml, line 4");
    bench.run(&["blades", "--shop", "shp.toml"]).refused("did you mean `shop.toml`?");
    bench.run(&["blades", "--shop", "."]).refused("folder");
}

#[test]
fn completions_and_manual_pages_come_out() {
    let bench = Bench::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(bench.run(&["completions", shell]).done().contains("fretgrin"), "{shell}");
    }
    assert!(bench.run(&["man"]).done().contains(".TH fretgrin 1"), "the program's page");
    assert!(bench.run(&["man", "blades"]).done().contains("\\-\\-units"), "a command's page");
    bench.run(&["man", "--out", "man1"]).done();
    bench.run(&["man", "--out", "man1"]).done();
    assert!(names(&bench.path("man1")).contains(&"fretgrin-shop-new.1".to_owned()), "pages are written, and again");
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let bench = Bench::new();
    let mut child = bench.command().args(["woods"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let ran = Ran::from(child.wait_with_output().unwrap());
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "quietly done");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_standard_output_is_told() {
    let bench = Bench::new();
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let ran = Ran::from(bench.command().args(["woods"]).stdout(full).output().unwrap());
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert!(ran.err.contains("the disk is full"), "{ran:?}");
}

#[test]
fn no_colour_goes_into_a_pipe() {
    let bench = Bench::new();
    for args in [&["woods"][..], &["--help"], &["nonsense"]] {
        let ran = bench.run(args);
        assert!(!ran.out.contains('\u{1b}') && !ran.err.contains('\u{1b}'), "{ran:?}");
    }
}

#[test]
fn the_ruler_sheet_is_written_and_its_measures_become_a_correction() {
    let bench = Bench::new();
    let ran = bench.run(&["ruler", "--paper", "a4", "--out", "print"]);
    assert!(ran.done().contains("for A4 paper"), "{ran:?}");
    let pdf = fs::read(bench.path("print/fretgrin-ruler.pdf")).unwrap();
    assert!(pdf.starts_with(b"%PDF-1."), "a PDF");
    bench.run(&["ruler", "--paper", "a4", "--out", "print"]).done();
    assert_eq!(names(&bench.path("print")), ["fretgrin-ruler.pdf"], "written again, nothing else");
    assert!(
        bench.run(&["ruler", "--paper", "a4", "--measured", "170.0,250.0"]).done().contains("scale_x = 1."),
        "factors"
    );
    bench.run(&["ruler", "--measured", "17,25"]).refused("more than a tenth off");
    bench.run(&["ruler", "--paper", "lettre"]).refused("--paper: no paper is called `lettre`");
    bench.run(&["ruler", "--paper", "-5x10mm"]).refused("--paper");
    bench.run(&["ruler", "--out", ""]).done();
    assert!(bench.names().contains(&"fretgrin-ruler.pdf".to_owned()), "no folder named: here");
}

#[test]
fn a_file_of_somebody_elses_is_left_alone() {
    let bench = Bench::new();
    bench.put("fretgrin-ruler.pdf", "%PDF-1.4 my own drawing");
    bench.run(&["ruler"]).refused("fretgrin-ruler.pdf: this file exists and was not written by fretgrin");
    assert_eq!(fs::read(bench.path("fretgrin-ruler.pdf")).unwrap(), b"%PDF-1.4 my own drawing", "untouched");
    assert_eq!(bench.names(), ["fretgrin-ruler.pdf"], "nothing left behind");
    bench.run(&["ruler", "--force"]).done();
    bench.put("out", "a file where a folder should be");
    bench.run(&["ruler", "--out", "out"]).refused("out: this is not a folder");
    bench.run(&["ruler", "--out", "out/deeper"]).refused("part of the path is a file");
}

/// Runs `ruler` into a disk of a few kilobytes; `None` where no such disk can be
/// made here.
#[cfg(target_os = "linux")]
fn on_a_tiny_disk(bench: &Bench) -> Option<Ran> {
    let disk = bench.path("disk");
    fs::create_dir(&disk).unwrap();
    let mount = |args: &[&OsStr]| Command::new("mount").args(args).stderr(Stdio::null()).status();
    let tmpfs: [&OsStr; 6] = ["-t", "tmpfs", "-o", "size=4k", "tmpfs"]
        .map(OsStr::new)
        .iter()
        .copied()
        .chain([disk.as_os_str()])
        .collect::<Vec<_>>()
        .try_into()
        .ok()?;
    if !mount(&tmpfs).is_ok_and(|status| status.success()) {
        return None;
    }
    let ran = bench.run(&["ruler", "--out", "disk"]);
    let left = names(&disk);
    Command::new("umount").arg(&disk).status().unwrap();
    assert!(left.is_empty(), "nothing is left on the full disk: {left:?}");
    Some(ran)
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told_and_left_clean() {
    let bench = Bench::new();
    match on_a_tiny_disk(&bench) {
        Some(ran) => ran.refused("the disk is full"),
        None => eprintln!("skipped: no right to mount a tiny tmpfs here"),
    }
}

/// Whether this user may write anywhere, whatever a folder's rights say.
#[cfg(unix)]
fn is_root(folder: &Path) -> bool {
    let probe = folder.join("probe");
    let wrote = fs::write(&probe, "").is_ok();
    drop(fs::remove_file(probe));
    wrote
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    use std::os::unix::process::CommandExt as _;
    /// The user and group `nobody` on Linux.
    const NOBODY: u32 = 65534;
    let bench = Bench::new();
    let folder = bench.path("locked");
    fs::create_dir(&folder).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    fs::set_permissions(bench.path(""), fs::Permissions::from_mode(0o755)).unwrap();
    let root = is_root(&folder);
    for out in ["locked", "locked/deeper"] {
        let mut command = bench.command();
        command.args(["ruler", "--out", out]);
        if root {
            command.uid(NOBODY).gid(NOBODY);
        }
        match command.output() {
            Ok(output) => Ran::from(output).refused("this is not allowed"),
            Err(error) => eprintln!("skipped: root writes anywhere and cannot become nobody here: {error}"),
        }
    }
    assert!(names(&folder).is_empty(), "nothing left");
}
