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
