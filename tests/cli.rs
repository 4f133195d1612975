//! The real binary, run in folders of its own: words, exit codes, files.
#![expect(clippy::unwrap_used, reason = "a test stops where its own bench is broken")]
#![expect(clippy::print_stderr, reason = "a skipped test says why")]

use std::ffi::OsStr;
use std::fs;
use std::io::Write as _;
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

    /// Runs with `input` on standard input.
    fn fed(&self, args: &[&str], input: &[u8]) -> Ran {
        let mut command = self.command();
        let piped = command.args(args).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = piped.spawn().unwrap();
        // A command that stops early closes the pipe; that is its right.
        drop(child.stdin.take().unwrap().write_all(input));
        Ran::from(child.wait_with_output().unwrap())
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
    bench.run(&["shop", "new"]).refused("shop.toml: this shop file exists");
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
        bench.run(&["ruler", "--paper", "a4", "--measured", "169.5,260.0"]).done().contains("scale_x = 1.0029"),
        "factors"
    );
    bench.run(&["ruler", "--measured", "17,25"]).refused("more than a printer strays");
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
            Err(error) => {
                let required = std::env::var_os("REQUIRE_EXTERNAL").is_some();
                assert!(!required, "root writes anywhere and cannot become nobody here: {error}");
                eprintln!("skipped: root writes anywhere and cannot become nobody here: {error}");
            }
        }
    }
    assert!(names(&folder).is_empty(), "nothing left");
}

/// Two eyes and a mouth: what `prepare` takes without complaint.
const FACE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="90mm" viewBox="0 0 80 90">
<circle cx="20" cy="25" r="9"/><circle cx="60" cy="25" r="9"/><ellipse cx="40" cy="70" rx="25" ry="9"/></svg>"#;

const OUTPUTS: [&str; 4] = ["face-picture.png", "face-picture.svg", "face-report.json", "face-template.pdf"];

#[test]
fn a_face_is_prepared_and_the_files_are_named_after_it() {
    let bench = Bench::new();
    let art = bench.put("art/face.svg", FACE);
    let ran = bench.run(&["prepare", "art/face.svg", "--out", "out"]);
    let told = ran.done();
    for word in ["face.svg on a panel 5-1/4 x 10 in", "3 cut-outs", "Written", "face-template.pdf", "Next"] {
        assert!(told.contains(word), "{word}: {told}");
    }
    assert_eq!(names(&bench.path("out")), OUTPUTS, "four files, nothing hidden");
    assert_eq!(names(art.parent().unwrap()), ["face.svg"], "nothing beside the art");
    assert_eq!(fs::read_to_string(&art).unwrap(), FACE, "the art is untouched");
}

#[test]
fn the_same_art_gives_the_same_bytes_and_writes_over_its_own() {
    let bench = Bench::new();
    bench.put("face.svg", FACE);
    bench.run(&["prepare", "face.svg", "--out", "a"]).done();
    let read = |folder: &str| OUTPUTS.map(|name| fs::read(bench.path(folder).join(name)).unwrap());
    let first = read("a");
    bench.run(&["prepare", "face.svg", "--out", "a"]).done();
    bench.run(&["prepare", "face.svg", "--out", "b/c"]).done();
    assert!(first == read("a") && first == read("b/c"), "byte for byte");
}

#[test]
fn json_is_all_that_goes_to_standard_output() {
    let bench = Bench::new();
    bench.put("face.svg", FACE);
    for args in [&["check", "face.svg", "--json"][..], &["prepare", "face.svg", "--json"]] {
        let ran = bench.run(args);
        let report: serde_json::Value = serde_json::from_str(ran.done()).unwrap();
        assert_eq!(report["cutouts"].as_array().unwrap().len(), 3, "{args:?}");
        assert_eq!(report["art"]["file"], "face.svg", "{args:?}");
    }
    let file = fs::read_to_string(bench.path("face-report.json")).unwrap();
    assert_eq!(file, bench.run(&["check", "face.svg", "--json"]).out, "the same report");
}

#[test]
fn art_comes_from_standard_input_too() {
    let bench = Bench::new();
    let ran = bench.fed(&["check", "-", "--json"], FACE.as_bytes());
    let report: serde_json::Value = serde_json::from_str(ran.done()).unwrap();
    assert_eq!((report["art"]["file"].as_str(), bench.names().len()), (Some("-"), 0), "checked, nothing written");
    bench.fed(&["prepare", "-"], FACE.as_bytes()).done();
    assert_eq!(bench.names(), OUTPUTS, "named face");
    bench.fed(&["check", "-"], b"").refused("the file is empty");
}

#[test]
fn options_reach_the_report() {
    let bench = Bench::new();
    bench.put("face.svg", FACE);
    bench.put("shop.toml", "[panel]\nwidth = 6\n[wood]\nspecies = \"redwood\"\n[clear]\nall = \"1in\"\n");
    let report = |args: &[&str]| -> serde_json::Value {
        let ran = bench.run(&[&["check", "face.svg", "--json"], args].concat());
        serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"))
    };
    let plain = report(&[]);
    assert!((plain["panel"]["width_mm"].as_f64().unwrap() - 152.4).abs() < 1e-9, "the shop file counts");
    let options = ["--panel", "133.35x254mm", "--thickness", "15.9mm", "--clear", "10mm,11mm,12mm,13mm"];
    let flagged = report(&[&options[..], &["--grain", "horizontal", "--blade", "spiral-2"]].concat());
    assert_eq!(flagged["panel"]["width_mm"], 133.35, "panel");
    assert_eq!(flagged["panel"]["thickness_mm"], 15.9, "thickness");
    assert_eq!(flagged["panel"]["grain_deg"], 0.0, "grain");
    let clear = serde_json::json!({ "left": 10.0, "right": 11.0, "top": 12.0, "bottom": 13.0 });
    assert_eq!(flagged["window"]["clear_mm"], clear, "clearances");
    assert_eq!(flagged["setup"]["blade"], "spiral-2", "blade");
    assert_eq!(report(&["--width", "60mm"])["fit"]["width_mm"], 60.0, "forced width");
    assert_eq!(report(&["--mirror"])["fit"]["mirrored"], true, "mirror");
    assert_eq!(report(&["--turn", "-90"])["fit"]["turn_deg"], -90.0, "turn");
    assert_eq!(report(&["--cut", "dark"])["art"]["reading"], "dark", "reading");
    assert_eq!(report(&["--true-size"])["fit"]["scale"], 1.0, "own size");
}

#[test]
fn what_comes_next_has_the_options_of_the_face() {
    let bench = Bench::new();
    bench.put(
        "ring.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">
<path fill-rule="evenodd" d="M10 10H70V70H10zM25 25V55H55V25z"/></svg>"#,
    );
    let ran = bench.run(&["check", "ring.svg", "--panel=3x6in", "--thickness", "1/2in", "--strict"]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let again = "ring.svg --panel 3x6in --thickness 1/2in";
    assert!(said.contains(&format!("fretgrin mend {again} puts right")), "{said}");
    assert!(said.ends_with(&format!("fretgrin open {again}")), "{said}");
    let next = |options: &[&str]| {
        let ran = bench.run(&[&["mend", "ring.svg", "--force", "--thickness", "1/2in"], options].concat());
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let stops = next(&["--stops"]);
    assert!(stops.contains("fretgrin prepare ring.svg --thickness 1/2in --mend --stops writes"), "{stops}");
    let left = next(&["--leave", "1"]);
    assert!(!left.contains("--mend"), "prepare takes no numbers of edits: {left}");
}

#[test]
fn how_far_to_mend_is_chosen_with_every_command_that_mends() {
    let bench = Bench::new();
    // Two openings 4 mm apart, less than the rule asks for and more than would fail.
    bench.put("face.svg", "<svg xmlns='http://www.w3.org/2000/svg' width='60mm' height='60mm' viewBox='0 0 60 60'><path d='M0 0h60v28h-60zM0 32h60v28h-60z'/></svg>");
    let open = |args: &[&str]| -> f64 {
        let ran =
            bench.run(&[&["prepare", "face.svg", "--true-size", "--json", "--out", "out", "--force"], args].concat());
        let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"));
        report["totals"]["open_area_mm2"].as_f64().unwrap()
    };
    let (drawn, whole, stops) = (open(&[]), open(&["--mend"]), open(&["--mend", "--stops"]));
    assert!(whole < stops && stops <= drawn, "{whole} {stops} {drawn}");
    for command in ["prepare", "export"] {
        for choice in ["--stops", "--open-contacts"] {
            bench.run(&[command, "face.svg", choice, "--out", "none"]).refused("--mend");
        }
    }
    assert_eq!(bench.names(), ["face.svg", "out"], "nothing of the refused");
}

#[test]
fn with_width_and_height_the_face_fits_inside_both_and_it_is_said_which_decides() {
    let bench = Bench::new();
    bench.put("face.svg", FACE);
    let told = |width: &str, height: &str| {
        let ran = bench.run(&["check", "face.svg", "--width", width, "--height", height]);
        ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let (wide, high) = (told("30mm", "150mm"), told("80mm", "20mm"));
    assert!(wide.contains("(30 x") && wide.contains("asked for the width decides"), "{wide}");
    assert!(high.contains("x 20 mm)") && high.contains("asked for the height decides"), "{high}");
}

#[test]
fn files_of_an_earlier_run_are_told_as_replaced() {
    let bench = Bench::new();
    bench.put("a/face.svg", FACE);
    bench.put("b/face.svg", &FACE.replace("60", "61"));
    for command in ["prepare", "mend", "export"] {
        let out = bench.run(&[command, "a/face.svg", "--out", "out"]).out;
        assert!(out.contains("Written ") && !out.contains("Replaced "), "{out}");
        let out = bench.run(&[command, "b/face.svg", "--out", "out"]).out;
        assert!(out.contains("Replaced ") && !out.contains("Written "), "{out}");
    }
    // Whatever the face, a box's papers have one name.
    let lines: [(&[&str], &str, &str); 3] = [
        (&["box"], "Written ", "Replaced "),
        (&["survey", "a"], "Written ", "Replaced "),
        (&["ruler"], "pdf written,", "pdf replaced,"),
    ];
    for (line, written, replaced) in lines {
        let out = |paper: &str| bench.run(&[line, &["--out", "more", "--paper", paper]].concat()).out;
        let (first, second) = (out("a4"), out("letter"));
        assert!(first.contains(written) && !first.contains(replaced), "{first}");
        assert!(second.contains(replaced) && !second.contains(written), "{second}");
    }
}

#[test]
fn wrong_options_are_refused_by_name_and_leave_nothing() {
    let bench = Bench::new();
    bench.put("face.svg", FACE);
    let cases: [(&[&str], &str); 25] = [
        (&["--panel", "5"], "--panel: `5` is not a size"),
        (&["--panel", "-5x10in"], "--panel: -127mm is less than nothing"),
        (&["--panel", "nanxnan"], "--panel"),
        (&["--panel", "5'x10'"], "--panel: no panel is `5'x10'`, 60 in (1524.0 mm) by 120 in (3048.0 mm)"),
        (&["--panel", "133x254"], "did you mean `133x254mm`?"),
        (&["--panel", "133x254", "--units", "mm", "--thickness", "1ft"], "--thickness: 1ft (304.8 mm) is too large"),
        (&["--thickness", "305mm"], "--thickness: 305mm (12.01 in) is too large"),
        (&["--thickness", "0"], "--thickness: 0 is no length"),
        (&["--thickness", "-5mm"], "--thickness: -5mm is less than nothing"),
        (&["--thickness", "1e99mm"], "--thickness"),
        (&["--clear", "1,2,3"], "--clear: `1,2,3` has 3 lengths"),
        (&["--clear", "3in"], "no window is left"),
        (&["--grain", "sideways"], "--grain: `sideways` is not a direction"),
        (&["--wood", "western-redceder"], "did you mean `western-redcedar`?"),
        (&["--blade", "flat-55"], "--blade: no blade is called `flat-55`"),
        (&["--bridge", "0mm"], "--bridge: 0mm is no length"),
        (&["--tolerance", "1in"], "--tolerance: 1in is too large"),
        (&["--cut", "drak"], "dark"),
        (&["--threshold", "7"], "--threshold: 7 is out of range"),
        (&["--threshold", "nan"], "--threshold: NaN is out of range"),
        (&["--stretch", "-1"], "--stretch: -1 is out of range"),
        (&["--align", "middel"], "did you mean `middle`?"),
        (&["--paper", "lettre"], "did you mean `letter`?"),
        (&["--paper", "8x1ft"], "--paper: `8x1ft` does not say the unit of its width"),
        (&["--copies", "0"], "--copies: 0 copies"),
    ];
    for (args, what) in cases {
        bench.run(&[&["prepare", "face.svg", "--out", "out"], args].concat()).refused(what);
    }
    bench.run(&["prepare", "face.svg", "--paper", "60x60mm", "--out", "out"]).refused("");
    bench.run(&["mend", "face.svg", "--leave", "99", "--out", "out"]).refused("there is no edit 99 to leave");
    assert_eq!(bench.names(), ["face.svg"], "nothing was written, no folder was made");
}

#[test]
fn an_edit_left_is_told_with_its_mirror_image() {
    let bench = Bench::new();
    let bars = r#"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
        <path d="M5 10h14v40h-14z M20.5 10h14v40h-14z M45.5 10h14v40h-14z M61 10h14v40h-14z"/></svg>"#;
    bench.put("face.svg", bars);
    let ran = bench.run(&["mend", "face.svg", "--leave", "2"]);
    assert!(ran.out.contains(" left 2 and its mirror image 1, as you asked\n"), "{ran:?}");
    let edits = fs::read_to_string(bench.path("face-edits.json")).unwrap();
    assert!(!edits.contains("\"id\": 1,") && !edits.contains("\"id\": 2,"), "{edits}");
    let ran = bench.run(&["mend", "face.svg", "--leave", "1,2", "--force"]);
    assert!(!ran.out.contains("mirror image"), "both were named: {ran:?}");
}

/// Drawings that cannot be used, each with a word of the reason.
fn nasty() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let svg = |body: &str| {
        format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 80 90\">{body}</svg>").into_bytes()
    };
    let bomb = "<!DOCTYPE svg [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;\">\
                <!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;\">]><svg xmlns=\"http://www.w3.org/2000/svg\">\
                <text>&c;</text></svg>";
    let uses = (1..40).fold("<path id=\"u0\" d=\"M0 0h1v1z\"/>".to_owned(), |text, i| {
        let below = i - 1;
        format!("{text}<g id=\"u{i}\"><use href=\"#u{below}\"/><use href=\"#u{below}\"/></g>")
    });
    vec![
        ("empty.svg", Vec::new(), "empty"),
        ("binary.svg", (0..=255).cycle().take(9000).collect(), ""),
        ("words.svg", b"a face, please".to_vec(), ""),
        ("cut-off.svg", b"<svg xmlns=\"http://www.w3.org/2000/svg\"><path d=\"M0".to_vec(), ""),
        ("other.svg", b"<html><body/></html>".to_vec(), ""),
        ("nothing.svg", svg(""), ""),
        ("unpainted.svg", svg("<rect width=\"9\" height=\"9\" fill=\"none\"/>"), ""),
        ("text.svg", svg("<text x=\"9\" y=\"9\">owl</text>"), ""),
        ("bitmap.svg", svg("<image href=\"data:image/png;base64,AAAA\" width=\"9\" height=\"9\"/>"), ""),
        ("nan.svg", svg("<path d=\"M0 0 L NaN 3 L 9 1e999 Z\"/>"), ""),
        ("huge.svg", svg("<rect width=\"1e308\" height=\"1e308\"/>"), ""),
        ("zero.svg", svg("<rect width=\"0\" height=\"0\"/>"), ""),
        ("flat.svg", b"<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"0\" height=\"9\"><rect/></svg>".to_vec(), ""),
        ("bomb.svg", bomb.as_bytes().to_vec(), ""),
        ("uses.svg", svg(&format!("<defs>{uses}</defs><use href=\"#u39\"/>")), ""),
        ("deep.svg", svg(&format!("{}{}", "<g>".repeat(100_000), "</g>".repeat(100_000))), ""),
        ("file.svg", svg("<image href=\"file:///etc/passwd\" width=\"9\" height=\"9\"/>"), ""),
        ("web.svg", svg("<use href=\"http://example.com/face.svg#owl\"/>"), ""),
    ]
}

#[test]
fn nasty_drawings_get_a_clear_error_and_leave_nothing_behind() {
    for (name, bytes, what) in nasty() {
        let bench = Bench::new();
        fs::write(bench.path(name), bytes).unwrap();
        let ran = bench.run(&["prepare", name, "--out", "out"]);
        ran.refused(what);
        let (first, rest) = ran.err.split_once('\n').unwrap();
        assert!(first.starts_with("error: ") && first.contains(name), "{name}: {}", ran.err);
        assert!(!rest.trim().is_empty(), "{name} gets advice: {}", ran.err);
        assert_eq!(bench.names(), [name], "{name}: nothing was written");
        bench.run(&["check", name]).refused(what);
    }
}

#[test]
fn a_missing_drawing_gets_the_nearest_name() {
    let bench = Bench::new();
    bench.put("faces/owl.svg", FACE);
    bench.run(&["check", "faces/owll.svg"]).refused("did you mean `faces/owl.svg`?");
    bench.run(&["check", "faces"]).refused("this is a folder");
    bench.run(&["check", ""]).refused("cannot read it");
}
