//! A drawer surveyed from the command line: every figure that of a single check,
//! whatever the number of threads, remembered or not; bad files among good ones;
//! doubles found by their outlines.

#![expect(clippy::unwrap_used, reason = "a test that cannot be set up should fail loudly")]

#[path = "support/schema.rs"]
mod schema;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

use fretgrin::settings::{Settings, Shop};
use fretgrin::write::survey::json::SURVEY_SCHEMA;
use serde_json::Value;

const FILES: [&str; 5] = ["survey.cache", "survey.csv", "survey.html", "survey.json", "survey.pdf"];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A drawer and a folder for what comes of it.
struct Bench(tempfile::TempDir);

impl Bench {
    fn new() -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        fs::create_dir(bench.path("drawer")).unwrap();
        bench
    }

    /// A bench with these demo faces in its drawer.
    fn with(faces: &[&str]) -> Self {
        let bench = Self::new();
        for face in faces {
            fs::copy(root().join(format!("demo-faces/{face}.svg")), bench.path(&format!("drawer/{face}.svg"))).unwrap();
        }
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        fs::write(self.path(name), content).unwrap();
    }

    fn run(&self, args: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
        command.current_dir(self.0.path()).env("COLUMNS", "100").arg("survey").args(args).output().unwrap()
    }

    /// Surveys the drawer into `out` and returns its JSON.
    fn survey(&self, out: &str, args: &[&str]) -> Value {
        let ran = self.run(&[&["drawer", "--out", out], args].concat());
        assert!(matches!(ran.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&ran.stderr));
        let value: Value = serde_json::from_slice(&fs::read(self.path(out).join("survey.json")).unwrap()).unwrap();
        let mut wrong = Vec::new();
        schema::check(&serde_json::from_str(SURVEY_SCHEMA).unwrap(), &value, out, &mut wrong);
        assert!(wrong.is_empty(), "against the schema:\n{}", wrong.join("\n"));
        value
    }
}

/// Every file of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entry = |entry: fs::DirEntry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap());
    fs::read_dir(folder).unwrap().map(|e| entry(e.unwrap())).collect()
}

/// The row of a file.
fn row<'a>(survey: &'a Value, name: &str) -> &'a Value {
    survey["faces"].as_array().unwrap().iter().find(|row| row["name"] == name).unwrap()
}

fn names(survey: &Value) -> Vec<&str> {
    survey["faces"].as_array().unwrap().iter().map(|row| row["name"].as_str().unwrap()).collect()
}

#[test]
fn every_figure_is_that_of_a_single_check() {
    let bench = Bench::with(&["owl", "fox", "moon", "gourd", "cat", "moth"]);
    let survey = bench.survey("out", &[]);
    assert_eq!(names(&survey), ["cat.svg", "fox.svg", "gourd.svg", "moon.svg", "moth.svg", "owl.svg"], "all, in order");
    for name in names(&survey) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
        let ran = command.current_dir(bench.0.path()).args(["check", &format!("drawer/{name}"), "--json"]);
        let report: Value = serde_json::from_slice(&ran.output().unwrap().stdout).unwrap();
        let (face, totals) = (&row(&survey, name)["face"], &report["totals"]);
        for key in ["cutouts", "entry_holes", "cut_length_mm", "minutes", "stop", "care", "note"] {
            assert_eq!(face[key], totals[key], "{name}: {key}");
        }
        for key in ["width_mm", "height_mm", "scale"] {
            assert_eq!(face[key], report["fit"][key], "{name}: {key}");
        }
        assert_eq!(face["reading"], report["art"]["reading"], "{name}: reading");
        if face["best_blade_does_it"] == true {
            assert_eq!(face["best_blade"], report["setup"]["recommended_blade"], "{name}: blade");
        } else {
            assert!(report["setup"]["recommended_blade"].is_null(), "{name}: no blade does it");
        }
        let hardest = |key: &str| report["turns"].get(0).map_or(Value::Null, |turn| turn[key].clone());
        for key in ["radius_mm", "limit_mm", "technique", "kind", "x_mm", "y_mm"] {
            assert_eq!(face["hardest_turn"][key], hardest(key), "{name}: hardest turn's {key}");
        }
        assert_eq!(faults(face), faults_of_report(&report), "{name}: faults by kind");
        let of_the_blade = |f: &Value| f["kind"] == "tight-turn" || f["kind"] == "narrow-slot";
        let stops = || report["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == "stop");
        let other_blade = stops().all(of_the_blade) && !report["setup"]["recommended_blade"].is_null();
        let sound = stops().count() == 0 || other_blade;
        assert_eq!(row(&survey, name)["verdict"] == "saw-as-is", sound, "{name}: verdict");
    }
}

type Faults = BTreeMap<(String, String), u64>;

fn faults(face: &Value) -> Faults {
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let all = face["faults"].as_array().unwrap();
    all.iter().map(|f| ((text(&f["kind"]), text(&f["severity"])), f["count"].as_u64().unwrap())).collect()
}

/// Faults counted from a report: turns one by one, the rest by finding.
fn faults_of_report(report: &Value) -> Faults {
    let mut all = Faults::new();
    let mut count = |kind: &Value, severity: &Value| {
        *all.entry((kind.as_str().unwrap().to_owned(), severity.as_str().unwrap().to_owned())).or_default() += 1;
    };
    for finding in report["findings"].as_array().unwrap().iter().filter(|f| f["kind"] != "tight-turn") {
        count(&finding["kind"], &finding["severity"]);
    }
    for turn in report["turns"].as_array().unwrap() {
        count(&Value::from("tight-turn"), &turn["severity"]);
    }
    all
}

#[test]
fn a_bad_file_is_a_row_and_stops_nothing() {
    let bench = Bench::with(&["owl"]);
    bench.put("drawer/broken.svg", "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0");
    bench.put("drawer/empty.png", "");
    bench.put("drawer/letter.svg", "Dear Moth,");
    bench.put("drawer/cut.jpg", b"\xff\xd8\xff\xe0 and no more");
    bench.put("drawer/notes.txt", "not looked at");
    let ran = bench.run(&["drawer", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(1), "some could not be read");
    let survey = bench.survey("again", &[]);
    assert_eq!(names(&survey), ["broken.svg", "cut.jpg", "empty.png", "letter.svg", "owl.svg"], "all told");
    for name in ["broken.svg", "cut.jpg", "empty.png", "letter.svg"] {
        let row = row(&survey, name);
        assert_eq!(row["verdict"], "not-read", "{name}");
        assert!(row["face"].is_null() && row["error"]["what"].as_str().unwrap().contains(name), "{row}");
    }
    assert_eq!(row(&survey, "owl.svg")["verdict"], "saw-as-is", "the good one among them");
    let table = String::from_utf8(ran.stdout).unwrap();
    assert!(table.contains("broken.svg") && table.contains("not read"), "{table}");
}

#[test]
fn wrong_input_is_refused_and_leaves_nothing() {
    let bench = Bench::with(&["owl"]);
    fs::create_dir(bench.path("bare")).unwrap();
    let cases: [(&[&str], &str); 7] = [
        (&["bare", "--out", "out"], "there is no drawing in it"),
        (&["nowhere", "--out", "out"], "there is no such file or folder"),
        (&["drawer", "--out", "out", "--only", "pretty"], "--only: `pretty` is no condition"),
        (&["drawer", "--out", "out", "--only", "minutes<soon"], "--only: `minutes<soon` is no condition"),
        (&["drawer", "--out", "out", "--sort", "beauty"], "invalid value 'beauty'"),
        (&["drawer", "--out", "out", "--threads", "0"], "invalid value '0'"),
        (&["drawer", "--out", "out", "--wood", "chalk"], "no wood is called `chalk`"),
    ];
    for (args, said) in cases {
        let ran = bench.run(args);
        let err = String::from_utf8(ran.stderr).unwrap();
        assert_eq!(ran.status.code(), Some(2), "{args:?}: {err}");
        assert!(err.contains(said) && ran.stdout.is_empty(), "{args:?}: {err}");
        assert!(!bench.path("out").exists(), "{args:?} leaves nothing");
    }
}

#[test]
fn a_file_that_is_not_ours_is_not_replaced() {
    let bench = Bench::with(&["owl"]);
    fs::create_dir(bench.path("out")).unwrap();
    bench.put("out/survey.csv", "my own list");
    let ran = bench.run(&["drawer", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(2), "refused");
    assert_eq!(files(&bench.path("out")).len(), 1, "nothing beside it");
    let ran = bench.run(&["drawer", "--out", "out", "--force"]);
    assert_eq!(ran.status.code(), Some(0), "forced");
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let bench = Bench::with(&["owl", "fox", "moon", "gourd", "cat", "moth"]);
    bench.put("drawer/broken.svg", "<svg");
    bench.survey("one", &["--threads", "1"]);
    bench.survey("four", &["--threads", "4"]);
    let (one, four) = (files(&bench.path("one")), files(&bench.path("four")));
    assert_eq!(one.keys().collect::<Vec<_>>(), FILES.iter().collect::<Vec<_>>(), "files");
    for name in FILES {
        assert!(one[name] == four[name], "{name} differs with the threads");
    }
}

/// A face of its own for every `n`: three wavy leaves, some 200 points of outline.
fn leaves(n: usize) -> String {
    let leaf = |x: f64, y: f64, part: usize| {
        let at = |i: usize| {
            let turn = i as f64 * std::f64::consts::TAU / 24.0;
            let wave = 6.0 + ((i * (n + 3) + part) % 7) as f64 * 0.6;
            format!("{:.2} {:.2}", x + wave * turn.cos(), y + wave * 1.4 * turn.sin())
        };
        let points: Vec<String> = (0..24).map(at).collect();
        format!("<path d=\"M{}Z\"/>", points.join("L"))
    };
    let all = [leaf(20.0, 20.0, 0), leaf(60.0, 22.0, n % 5), leaf(40.0, 60.0, n % 3)].concat();
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"80mm\" height=\"80mm\" viewBox=\"0 0 80 80\"><desc>{n}</desc>{all}</svg>"
    )
}

/// The most memory a survey of so many faces held, kB, as the kernel counts it.
#[cfg(target_os = "linux")]
fn most_memory(faces: usize) -> u64 {
    let bench = Bench::new();
    (0..faces).for_each(|n| bench.put(&format!("drawer/leaves-{n}.svg"), leaves(n)));
    let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
    command.current_dir(bench.0.path()).args(["survey", "drawer", "--out", "out", "--threads", "2"]);
    let mut process = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
    let mut most = 0;
    while process.try_wait().unwrap().is_none() {
        let status = fs::read_to_string(format!("/proc/{}/status", process.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let high = line.and_then(|line| line.trim().trim_end_matches(" kB").parse().ok());
        most = most.max(high.unwrap_or(0));
        std::thread::sleep(Duration::from_millis(2));
    }
    assert_eq!(files(&bench.path("out")).len(), FILES.len(), "it came to its end");
    most
}

#[cfg(target_os = "linux")]
#[test]
fn a_larger_drawer_takes_hardly_more_memory() {
    /// What a face may add, kB: its row, its outline and its line in the table; the
    /// sheets and the page, some 50 kB a face when held, are written as they are made.
    const A_FACE: u64 = 8;
    let (few, many) = (most_memory(50), most_memory(400));
    assert!(few > 1000, "measured: {few} kB");
    let grown = many.saturating_sub(few);
    assert!(grown <= 350 * A_FACE, "350 faces more took {grown} kB more, {few} kB to {many} kB");
}

#[test]
fn a_second_run_remembers_and_gives_the_same_bytes() {
    let bench = Bench::with(&["owl", "moon", "moth"]);
    bench.survey("out", &[]);
    let first = files(&bench.path("out"));
    bench.survey("out", &[]);
    assert!(first == files(&bench.path("out")), "the second run");
    // Proof that it is read: a face remembered otherwise comes out otherwise.
    let memory = String::from_utf8(first["survey.cache"].clone()).unwrap();
    let changed: Vec<String> =
        memory.lines().filter(|line| !line.starts_with("files:")).map(remembered_otherwise).collect();
    bench.put("out/survey.cache", changed.join("\n"));
    let survey = bench.survey("out", &[]);
    assert!(survey["faces"].as_array().unwrap().iter().all(|row| row["face"]["cutouts"] == 77), "from memory");
    assert_ne!(bench.survey("out", &["--afresh"])["faces"][0]["face"]["cutouts"], 77, "afresh");
    assert!(first == files(&bench.path("out")), "and right again");
}

/// A line of the cache with another number of cut-outs and its check sum put right.
fn remembered_otherwise(line: &str) -> String {
    let Some((key, json)) = line.split_once(' ').and_then(|(key, rest)| Some((key, rest.split_once(' ')?.1))) else {
        return line.to_owned();
    };
    if key.len() != 64 {
        return line.to_owned();
    }
    let at = json.find("\"cutouts\":").unwrap() + "\"cutouts\":".len();
    let end = at + json[at..].find(',').unwrap();
    let json = format!("{}77{}", &json[..at], &json[end..]);
    let sum = fretgrin::survey::memory::finger_print(format!("{key} {json}").as_bytes());
    format!("{key} {} {json}", &sum[..16])
}

#[test]
fn a_torn_or_hostile_memory_is_harmless() {
    let bench = Bench::with(&["owl", "moth"]);
    bench.survey("out", &[]);
    let good = files(&bench.path("out"));
    let memory = good["survey.cache"].clone();
    let text = String::from_utf8(memory.clone()).unwrap();
    let head = text.lines().next().unwrap();
    let deep = format!("{head}\n{} 0123456789abcdef {}", "0".repeat(64), "[".repeat(200_000));
    let mut flipped = memory.clone();
    let middle = flipped.len() / 2;
    flipped[middle] ^= 1;
    let cases: [Vec<u8>; 6] = [
        memory[..memory.len() / 2].to_vec(),
        memory[..head.len() + 40].to_vec(),
        flipped,
        deep.into_bytes(),
        format!("{head}\n\u{e9}{}\n\n \n", "é".repeat(100)).into_bytes(),
        text.replace("dark", "ligh").into_bytes(),
    ];
    for (i, bad) in cases.iter().enumerate() {
        bench.put("out/survey.cache", bad);
        bench.survey("out", &[]);
        assert!(good == files(&bench.path("out")), "case {i} changed the result");
    }
    // Without our mark it is somebody's file: left alone, and said.
    bench.put("out/survey.cache", [0xff, 0xfe, 0]);
    let ran = bench.run(&["drawer", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(0), "it runs all the same");
    assert!(String::from_utf8(ran.stderr).unwrap().contains("nothing is remembered"), "and says so");
    assert_eq!(fs::read(bench.path("out/survey.cache")).unwrap(), [0xff, 0xfe, 0], "left alone");
}

#[test]
fn a_changed_setting_or_face_is_looked_at_anew() {
    let bench = Bench::with(&["owl", "gourd"]);
    let usual = bench.survey("out", &[]);
    let narrow = bench.survey("out", &["--panel", "100x180mm"]);
    assert_ne!(row(&usual, "owl.svg")["face"]["width_mm"], row(&narrow, "owl.svg")["face"]["width_mm"], "panel");
    let fresh = bench.survey("fresh", &["--panel", "100x180mm"]);
    assert_eq!(narrow, fresh, "as if there had been no other");
    fs::copy(root().join("demo-faces/moth.svg"), bench.path("drawer/gourd.svg")).unwrap();
    let changed = bench.survey("out", &["--panel", "100x180mm"]);
    assert_ne!(row(&changed, "gourd.svg")["face"], row(&narrow, "gourd.svg")["face"], "another drawing of that name");
}

#[test]
fn doubles_and_mirror_images_are_found_by_their_outlines() {
    let bench = Bench::with(&["owl", "moon", "gourd", "cat"]);
    let moon = fs::read_to_string(bench.path("drawer/moon.svg")).unwrap();
    // The same drawing inside another, mirrored, turned, and larger: no byte of its outline alike.
    let inner = |transform: &str| {
        let body = &moon[moon.find("<svg").unwrap()..];
        let size =
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" viewBox="-900 -900 1800 1800">"#;
        format!("{size}<g transform=\"{transform}\">{body}</g></svg>")
    };
    bench.put("drawer/moon-mirrored.svg", inner("scale(-1 1)"));
    bench.put("drawer/moon-small.svg", inner("scale(0.37) translate(11 -7)"));
    bench.put("drawer/moon-turned.svg", inner("rotate(-90)"));
    bench.put("drawer/night.svg", moon);
    let survey = bench.survey("out", &[]);
    let double = |name: &str| {
        let double = &row(&survey, name)["double"];
        (
            double["of"].as_str().map(str::to_owned),
            double["how"].as_str().map(str::to_owned),
            double["turned_deg"].clone(),
        )
    };
    let of = |how: &str, turned: f64| (Some("moon-mirrored.svg".to_owned()), Some(how.to_owned()), Value::from(turned));
    // The first by name is the one the others repeat.
    assert_eq!(double("moon.svg"), of("mirrored", 0.0), "mirrored");
    assert_eq!(double("night.svg"), of("mirrored", 0.0), "the same bytes");
    assert_eq!(double("moon-small.svg"), of("mirrored", 0.0), "another size");
    let turned = double("moon-turned.svg");
    assert_eq!(
        (turned.0.as_deref(), turned.1.as_deref()),
        (Some("moon-mirrored.svg"), Some("mirrored-and-turned")),
        "turned"
    );
    assert!((turned.2.as_f64().unwrap().abs() - 90.0).abs() <= 1.0, "by a quarter: {}", turned.2);
    for name in ["owl.svg", "gourd.svg", "cat.svg", "moon-mirrored.svg"] {
        assert!(row(&survey, name)["double"].is_null(), "{name} is in once");
    }
    let html = fs::read_to_string(bench.path("out/survey.html")).unwrap();
    assert!(html.contains("moon-mirrored.svg mirrored"), "on the page");
    assert_eq!(survey["totals"]["doubles"], 4, "counted");
}

#[test]
fn a_scan_of_a_face_is_the_same_face() {
    let bench = Bench::with(&["owl"]);
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let bytes = fs::read(bench.path("drawer/owl.svg")).unwrap();
    let outcome = fretgrin::pipeline::check(&bytes, "owl.svg", &settings).unwrap();
    let mut sheet = fretgrin::sheet::Sheet::new("scan", outcome.face.panel.width, outcome.face.panel.height);
    for cutout in &outcome.face.cutouts {
        let shape = fretgrin::sheet::Path::fill(cutout.piece.to_path(), fretgrin::sheet::Ink::BLACK);
        sheet.push(fretgrin::sheet::Layer::CutLines, shape);
    }
    bench.put("drawer/scan.png", fretgrin::write::png(&sheet, 120.0).unwrap());
    // Our own pictures carry our mark and are passed over in a folder; this one carries none.
    let survey = bench.survey("out", &["--cut", "dark"]);
    assert_eq!(row(&survey, "scan.png")["double"]["how"], "same", "{}", row(&survey, "scan.png"));
}

#[test]
fn what_fretgrin_wrote_is_passed_over_unless_named() {
    let bench = Bench::with(&["cat"]);
    let first = bench.survey("drawer", &["--mend"]);
    let copy = row(&first, "cat.svg")["mended_copy"].as_str().unwrap().to_owned();
    assert!(bench.path("drawer").join(&copy).is_file(), "{copy} is written");
    let second = bench.survey("drawer", &["--mend"]);
    assert_eq!(names(&second), ["cat.svg"], "the copy is not in the drawer");
    assert_eq!(second["totals"]["passed_over"], 1, "and that is said");
    let named = bench.run(&[&format!("drawer/{copy}"), "--json"]);
    let named: Value = serde_json::from_slice(&named.stdout).unwrap();
    assert_eq!(row(&named, &copy)["verdict"], "saw-as-is", "the mended copy is sound");
}

/// Nothing of a drawer is lost without a word.
#[test]
fn what_is_not_read_is_told_and_names_met_twice_carry_their_folder() {
    let bench = Bench::with(&["owl"]);
    fs::create_dir(bench.path("drawer/old")).unwrap();
    fs::copy(bench.path("drawer/owl.svg"), bench.path("drawer/old/owl.svg")).unwrap();
    bench.put("drawer/scan.tif", b"II*\0");
    bench.put("drawer/face.svgz", b"\x1f\x8b");
    bench.put("drawer/torn.svg", "<svg");
    let ran = bench.run(&["drawer", "--deep", "--out", "out"]);
    let told = String::from_utf8(ran.stdout).unwrap();
    assert!(told.contains("2 files of kinds not read passed over: face.svgz, scan.tif."), "{told}");
    assert!(told.contains("drawer/owl.svg") && told.contains("drawer/old/owl.svg"), "{told}");
    let torn = told.lines().find(|line| line.contains("torn.svg")).unwrap();
    assert_eq!(torn.matches("torn.svg").count(), 1, "the reason does not say the name again: {torn}");
    assert!(torn.contains("there is no <svg> element"), "but what is wrong: {torn}");
    // A folder of nothing but what fretgrin wrote.
    let own = Bench::new();
    fs::copy(root().join("demo-faces/owl.svg"), own.path("owl.svg")).unwrap();
    let export = Command::new(env!("CARGO_BIN_EXE_fretgrin"))
        .current_dir(own.path(""))
        .args(["export", "owl.svg", "--out", "drawer"])
        .output();
    assert!(export.unwrap().status.success(), "exported");
    let told = String::from_utf8(own.run(&["drawer", "--out", "out"]).stdout).unwrap();
    assert!(told.contains("no face but fretgrin's own"), "{told}");
}

#[test]
fn mending_is_tried_only_when_asked() {
    let bench = Bench::with(&["cat", "owl"]);
    let plain = bench.survey("plain", &[]);
    assert_eq!(row(&plain, "cat.svg")["verdict"], "needs-mending", "not tried");
    assert!(row(&plain, "cat.svg")["face"]["mended"].is_null() && plain["setup"]["mending"] == false, "nor told");
    let mended = bench.survey("mended", &["--mend"]);
    let cat = row(&mended, "cat.svg");
    assert_eq!(cat["verdict"], "sound-after-mending", "{cat}");
    let stops = |face: &Value| face["stop"].as_u64().unwrap();
    assert!(stops(&cat["face"]["mended"]) < stops(&cat["face"]), "{cat}");
    assert!(cat["face"]["mended"]["edits"].as_u64().unwrap() > 0, "{cat}");
    assert!(row(&mended, "owl.svg")["mended_copy"].is_null(), "nothing to mend");
    let after = &cat["face"]["mended"];
    assert_ne!(after["minutes"], cat["face"]["minutes"], "the case tells the two apart");
    let csv = fs::read_to_string(bench.path("mended/survey.csv")).unwrap();
    let told = csv.lines().find(|line| line.contains(",cat.svg,")).unwrap();
    assert!(
        told.contains(&format!(",{},", after["minutes"])) && told.contains(",after mending,\"survey for a panel "),
        "{told}"
    );
    let html = fs::read_to_string(bench.path("mended/survey.html")).unwrap();
    assert!(html.contains(&format!("data-minutes=\"{}\"", after["minutes"])), "the page sorts by them");
    assert!(html.matches("figures and drawing: after mending").count() == 1, "and says so, of the mended face only");
    let before = files(&bench.path("mended"));
    bench.survey("mended", &["--mend"]);
    assert!(before == files(&bench.path("mended")), "again, from memory");
    fs::remove_file(bench.path("mended/cat-survey-mended.svg")).unwrap();
    bench.survey("mended", &["--mend"]);
    assert!(before == files(&bench.path("mended")), "a copy that is gone is made again");
}

#[test]
fn a_survey_leaves_alone_what_mend_made_and_tells_the_copies_of_earlier_ones() {
    let bench = Bench::with(&["cat"]);
    let mend = ["mend", "drawer/cat.svg", "--leave", "1", "--out", "out"];
    let ran = Command::new(env!("CARGO_BIN_EXE_fretgrin")).current_dir(bench.path("")).args(mend).output().unwrap();
    assert!(ran.status.code().is_some_and(|code| code < 2), "mended with an edit left");
    let chosen = fs::read(bench.path("out/cat-mended.svg")).unwrap();
    bench.survey("out", &["--mend"]);
    assert!(fs::read(bench.path("out/cat-mended.svg")).unwrap() == chosen, "the maker's choice stands");
    fs::rename(bench.path("drawer/cat.svg"), bench.path("drawer/kitten.svg")).unwrap();
    let told = bench.run(&["drawer", "--mend", "--out", "out"]).stdout;
    let told = String::from_utf8(told).unwrap();
    assert!(told.contains("1 mended copy of an earlier survey left as found: cat-survey-mended.svg;"), "{told}");
    assert!(bench.path("out/cat-survey-mended.svg").is_file(), "and is left");
}

#[test]
fn faces_are_sorted_and_sifted() {
    let bench = Bench::with(&["owl", "fox", "moon", "gourd", "cat", "moth"]);
    let survey = bench.survey("out", &["--sort", "difficulty"]);
    let points: Vec<f64> = names(&survey)
        .iter()
        .map(|name| row(&survey, name)["face"]["difficulty"]["points"].as_f64().unwrap())
        .collect();
    assert!(points.is_sorted() && points[0] < points[5], "easiest first: {points:?}");
    let parts = |name: &str| {
        let parts = row(&survey, name)["face"]["difficulty"]["parts"].as_object().unwrap();
        parts.values().map(|part| part.as_f64().unwrap()).sum::<f64>()
    };
    for (name, points) in names(&survey).iter().zip(&points) {
        assert!((parts(name) - points).abs() < 1e-6, "{name}: the parts make the whole");
    }
    let back = bench.survey("out", &["--sort", "difficulty", "--reverse"]);
    let mut turned = names(&back);
    turned.reverse();
    assert_eq!(turned, names(&survey), "the other way round");
    let some = bench.survey("out", &["--only", "needs-mending", "--only", "difficulty<20"]);
    for name in names(&some) {
        let row = row(&some, name);
        assert!(
            row["verdict"] == "needs-mending" && row["face"]["difficulty"]["points"].as_f64().unwrap() < 20.0,
            "{row}"
        );
    }
    assert_eq!(some["totals"]["surveyed"], 6, "all were surveyed");
    let none = bench.survey("out", &["--only", "minutes<0"]);
    assert!(names(&none).is_empty(), "none");
}

#[test]
fn a_hostile_name_stays_a_name() {
    let bench = Bench::with(&["owl"]);
    let name = "=1+1 <img src=x onerror=alert(1)>&\"'.svg";
    fs::rename(bench.path("drawer/owl.svg"), bench.path("drawer").join(name)).unwrap();
    let survey = bench.survey("out", &[]);
    assert_eq!(names(&survey), [name], "as it is, in JSON");
    let html = fs::read_to_string(bench.path("out/survey.html")).unwrap();
    assert!(!html.contains("<img") && html.contains("&lt;img src=x"), "no markup on the page");
    let csv = fs::read_to_string(bench.path("out/survey.csv")).unwrap();
    assert!(csv.contains("\"'=1+1 <img") && csv.lines().count() == 2, "no formula in the table: {csv}");
}

#[test]
fn the_page_needs_nothing_else() {
    let bench = Bench::with(&["owl", "moth"]);
    bench.survey("out", &[]);
    let html = fs::read_to_string(bench.path("out/survey.html")).unwrap();
    for outside in ["http://", "https://", "src=", "@import", "url(h", "url(/"] {
        assert!(!html.contains(outside), "`{outside}` asks for something else");
    }
    assert!(html.contains("default-src 'none'"), "and may not");
    assert_eq!(html.matches("class=\"thumb\"").count(), 2, "a picture of each");
}
