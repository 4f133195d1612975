//! Projects at the command line: opened, kept apart, read in place of a drawing.
#![expect(clippy::unwrap_used, reason = "a test stops where its own bench is broken")]

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use fretgrin::face::Face;
use fretgrin::mend::{EditKind, Hand, Ruling};
use fretgrin::pipeline::{Repaired, Wishes, mended};
use fretgrin::project::{LARGEST_ART, Mends, Placed, Project, Settled};
use fretgrin::settings::{Length, Settings, Shop};
use kurbo::Shape as _;
use serde_json::Value;

/// A folder of its own for one test; gone afterwards.
struct Bench(tempfile::TempDir);

/// What a run said and how it ended; `None` for one that was stopped.
#[derive(Debug)]
struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

impl Bench {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        fs::create_dir_all(self.path(name).parent().unwrap()).unwrap();
        fs::write(self.path(name), content).unwrap();
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(folder)).unwrap();
        let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
        command.current_dir(self.0.path()).args(args).env("COLUMNS", "100").stdin(Stdio::null());
        command
    }

    fn run(&self, args: &[&str]) -> Ran {
        let output = self.command(args).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Ran { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    /// Runs `open` until the bench is open, then stops it.
    fn open(&self, args: &[&str]) -> Ran {
        let mut command = self.command(&[&["open", "--no-browser"], args].concat());
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut out = String::new();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        while !out.contains("Stop it with") && lines.read_line(&mut out).unwrap() > 0 {}
        if out.contains("Stop it with") {
            child.kill().unwrap();
        }
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        Ran { code: child.wait().unwrap().code(), out, err }
    }

    /// The report that `check` gives.
    fn report(&self, args: &[&str]) -> Value {
        let ran = self.run(&[&["check", "--json"], args].concat());
        serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{ran:?}"))
    }
}

impl Ran {
    #[track_caller]
    fn refused(&self, what: &str) {
        assert_eq!((self.code, self.out.as_str()), (Some(2), ""), "{self:?}");
        assert!(self.err.contains(what), "`{what}` is not said: {}", self.err);
    }

    #[track_caller]
    fn opened(&self) -> &Self {
        assert!(self.out.contains("The bench is open"), "{self:?}");
        self
    }
}

/// Two eyes and a mouth, as wide as `mouth`.
fn face(mouth: u32) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='80mm' height='90mm' viewBox='0 0 80 90'><circle cx='20' cy='25' \
         r='9'/><circle cx='60' cy='25' r='9'/><ellipse cx='40' cy='70' rx='{mouth}' ry='9'/></svg>"
    )
}

fn project(shop: Shop) -> Project {
    let (art_name, art) = ("face.svg".to_owned(), face(25).into_bytes());
    Project { revision: 1, art_name, art, from: None, shop, mend: Mends::default() }
}

fn demo(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces").join(name)).unwrap()
}

#[test]
fn drawings_of_one_name_in_two_folders_have_a_project_each() {
    let bench = Bench::new();
    bench.put("a/face.svg", face(25));
    bench.put("b/face.svg", face(20));
    bench.open(&["a/face.svg", "--projects", "p"]).opened();
    let first = bench.read("p/face.fretgrin.toml");
    assert!(first.contains("from = \"../a/face.svg\""), "{first}");
    for _ in 0..2 {
        bench.open(&["b/face.svg", "--projects", "p"]).opened();
        assert_eq!(bench.read("p/face.fretgrin.toml"), first, "the first drawing's is as it was");
        assert_eq!(bench.names("p"), ["face-2.fretgrin.toml", "face.fretgrin.toml"], "one more, once");
    }
    bench.put("a/face.svg", face(22));
    bench.open(&["a/face.svg", "--projects", "p"]).opened();
    assert!(bench.read("p/face.fretgrin.toml").contains("rx='22'"), "its own drawing, redrawn");
}

#[test]
fn a_drawing_too_large_for_a_project_is_refused_at_once() {
    let bench = Bench::new();
    bench.put("big.bmp", [b"BM".to_vec(), vec![0; LARGEST_ART]].concat());
    let ran = bench.open(&["big.bmp"]);
    ran.refused("big.bmp: the drawing has 16.0 MB, more than the 16.0 MB a project of the bench takes");
    assert!(ran.err.contains("fretgrin prepare"), "what to do: {}", ran.err);
    assert_eq!(bench.names(""), ["big.bmp"], "no project that could not be read again");
}

#[test]
fn options_count_in_the_unit_asked_for_and_a_project_keeps_its_size() {
    let bench = Bench::new();
    let mut shop = Shop::default();
    (shop.panel.width, shop.panel.thickness) = (Length::Number(6.0), Length::text("3/4"));
    bench.put("owl.fretgrin.toml", project(shop).text().unwrap());
    let panel = |args: &[&str]| bench.report(&[&["owl.fretgrin.toml"], args].concat())["panel"].clone();
    let own = panel(&[]);
    assert_eq!((&own["width_mm"], &own["thickness_mm"]), (&152.4.into(), &19.05.into()), "in inches");
    assert_eq!(panel(&["--units", "mm"]), own, "the unit alone changes no size");
    let thin = panel(&["--units", "mm", "--thickness", "15"]);
    assert_eq!((&thin["width_mm"], &thin["thickness_mm"]), (&152.4.into(), &15.0.into()), "15 mm");
    let ran = bench.run(&["check", "owl.fretgrin.toml", "--units", "mm"]);
    assert!(ran.out.contains("on a panel 152.4 x 254 mm"), "shown in the unit asked for: {ran:?}");
    assert!(ran.out.contains("fretgrin open owl.fretgrin.toml"), "what to open is the project: {ran:?}");
}

/// `thickness = 0.625` of an inch shop became 0.6 mm.
#[test]
fn a_shop_file_keeps_its_size_under_another_unit() {
    let bench = Bench::new();
    bench.put("owl.svg", face(25));
    bench.put("shop.toml", "units = \"inch\"\n[panel]\nwidth = 6\nthickness = 0.625\n");
    let panel = |args: &[&str]| bench.report(&[&["owl.svg"], args].concat())["panel"].clone();
    let own = panel(&[]);
    assert_eq!((&own["width_mm"], &own["thickness_mm"]), (&152.4.into(), &15.875.into()), "in inches");
    assert_eq!(panel(&["--units", "mm"]), own, "the unit alone changes no size");
    let thin = panel(&["--units", "mm", "--thickness", "12"]);
    assert_eq!((&thin["width_mm"], &thin["thickness_mm"]), (&152.4.into(), &12.0.into()), "12 mm");
}

#[test]
fn a_project_is_read_from_standard_input_too() {
    let bench = Bench::new();
    let text = project(Shop::default()).text().unwrap();
    bench.put("owl.fretgrin.toml", &text);
    let mut command = bench.command(&["check", "-", "--json"]);
    command.stdin(fs::File::open(bench.path("owl.fretgrin.toml")).unwrap());
    let output = command.output().unwrap();
    let report: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{output:?}"));
    assert_eq!(report["cutouts"], bench.report(&["owl.fretgrin.toml"])["cutouts"]);
}

#[test]
fn a_shop_file_beside_a_project_is_refused() {
    let bench = Bench::new();
    bench.put("owl.fretgrin.toml", project(Shop::default()).text().unwrap());
    for command in ["check", "prepare", "mend", "export", "box"] {
        let ran = bench.run(&[command, "owl.fretgrin.toml", "--shop", "none.toml"]);
        ran.refused("owl.fretgrin.toml is a project and has its own shop settings");
    }
    assert_eq!(bench.names(""), ["owl.fretgrin.toml"], "nothing is written");
}

#[test]
fn options_that_do_not_reach_an_existing_project_are_told() {
    let bench = Bench::new();
    bench.put("owl.svg", face(25));
    let asked = ["owl.svg", "--wood", "redwood", "--panel", "6x9in"];
    assert_eq!(bench.open(&asked).opened().err, "", "a new project takes them");
    assert_eq!(bench.open(&asked).opened().err, "", "and has them");
    assert_eq!(bench.open(&["owl.svg"]).opened().err, "", "nothing asked");
    for art in ["owl.svg", "owl.fretgrin.toml"] {
        let ran = bench.open(&[art, "--wood", "western-redcedar"]);
        let said =
            "owl.fretgrin.toml was there already and keeps its own settings; --wood counts only for new projects";
        assert!(ran.opened().err.contains(said), "{ran:?}");
    }
    let project = bench.read("owl.fretgrin.toml");
    assert!(project.contains("species = \"redwood\"") && project.contains("revision = 1\n"), "{project}");
    bench.open(&["owl.fretgrin.toml", "--projects", "."]).opened();
    bench.put("q/x.txt", "");
    bench
        .open(&["owl.fretgrin.toml", "--projects", "q"])
        .refused("--projects: a project is kept where it stands, in .");
}

#[test]
fn a_project_with_a_dot_in_its_name_opens() {
    let bench = Bench::new();
    bench.put("face.old.fretgrin.toml", project(Shop::default()).text().unwrap());
    bench.open(&["face.old.fretgrin.toml"]).opened();
    bench.open(&["face.new.fretgrin.toml"]).refused("face.new.fretgrin.toml: there is no such project");
}

#[test]
fn a_survey_and_a_batch_say_that_a_project_is_no_drawing() {
    let bench = Bench::new();
    bench.put("owl.fretgrin.toml", project(Shop::default()).text().unwrap());
    bench.put("shop.toml", "[[batch.faces]]\nart = \"owl.fretgrin.toml\"\nboxes = 2\n");
    let ran = bench.run(&["batch"]);
    ran.refused("owl.fretgrin.toml: this is a project of the bench, and a drawing is wanted here");
    assert!(ran.err.contains("fretgrin export"), "what to give instead: {}", ran.err);
    let ran = bench.run(&["survey", "owl.fretgrin.toml"]);
    assert_eq!(ran.code, Some(1), "a row with its error: {ran:?}");
    assert!(bench.read("survey.csv").contains("this is a project of the bench"), "{}", bench.read("survey.csv"));
    // What is given instead is the face as the project has it.
    bench.run(&["export", "owl.fretgrin.toml"]);
    bench.put("shop.toml", "[[batch.faces]]\nart = \"owl-outlines.svg\"\nboxes = 2\n");
    assert_ne!(bench.run(&["batch"]).code, Some(2), "does");
}

#[test]
fn a_name_in_a_project_reaches_the_terminal_clean() {
    let bench = Bench::new();
    for name in ["\u{1b}[31mX.svg", "a\0b.svg"] {
        let project = Project { art_name: name.to_owned(), ..project(Shop::default()) };
        bench.put("p.fretgrin.toml", project.text().unwrap());
        for command in ["check", "prepare", "mend", "export"] {
            let ran =
                bench.run(&[command, "p.fretgrin.toml", "--out", "out"][..if command == "check" { 2 } else { 4 }]);
            assert_ne!(ran.code, Some(2), "{command}: {ran:?}");
            assert!(!ran.out.contains(['\u{1b}', '\0']) && !ran.err.contains(['\u{1b}', '\0']), "{command}: {ran:?}");
        }
    }
}

#[test]
fn files_of_two_projects_of_one_drawing_stand_side_by_side() {
    let bench = Bench::new();
    for name in ["p1", "p2"] {
        bench.put(&format!("{name}.fretgrin.toml"), project(Shop::default()).text().unwrap());
        for command in ["prepare", "mend", "export"] {
            let ran = bench.run(&[command, &format!("{name}.fretgrin.toml"), "--out", "out"]);
            assert_eq!(ran.code, Some(0), "{ran:?}");
        }
    }
    let names = bench.names("out");
    let of = |project: &str| names.iter().filter(|name| name.starts_with(project)).count();
    assert_eq!((of("p1-"), of("p2-"), names.len()), (10, 10, 20), "{names:?}");
    assert_eq!(bench.report(&["p1.fretgrin.toml"])["art"]["file"], "face.svg", "the report names the art");
}

/// The cat mended with its first bridge refused and one placed by hand there, in
/// panel places; and the same as a project has it.
fn bridged_by_hand() -> (Repaired, Mends) {
    let (art, settings) = (demo("cat.svg"), Settings::default());
    let plain = mended(&art, "cat.svg", &settings, |_| Ok(Wishes::default())).unwrap();
    let edit = &plain.mended.edits[0];
    assert_eq!(edit.kind, EditKind::Bridge, "to an island");
    let at = edit.at;
    let wishes = Wishes {
        rulings: vec![Ruling { kind: EditKind::Bridge, at, width: None }],
        hands: vec![Hand { at, width: None, direction_deg: None }],
        ..Wishes::default()
    };
    let repaired = mended(&art, "cat.svg", &settings, |_| Ok(wishes)).unwrap();
    let own = plain.before.face.frame().inverse() * at;
    let settled = vec![Settled { kind: "bridge".to_owned(), x: own.x, y: own.y, width_mm: None }];
    let placed = |x: f64, y: f64| Placed { x, y, width_mm: None, direction_deg: None };
    // The second stands outside every opening.
    let mends = Mends { settled, bridges: vec![placed(own.x, own.y), placed(900.0, 0.0)], ..Mends::default() };
    (repaired, mends)
}

fn open_area(face: &Face) -> f64 {
    face.cutouts.iter().map(|c| c.piece.area()).sum()
}

#[test]
fn what_edits_remove_is_told_by_the_findings_of_the_face_as_it_came() {
    let (repaired, _) = bridged_by_hand();
    let checks = &repaired.before.checks;
    let mut told = 0;
    for edit in &repaired.mended.edits {
        let Some((kind, id)) = edit.finding.as_deref().and_then(|f| f.rsplit_once('-')) else { continue };
        let id: u32 = id.parse().unwrap();
        let place = match kind {
            "bridge" => checks.bridges.iter().find(|b| b.id == id).map(|b| b.feet[0].midpoint(b.feet[1])),
            "slot" => checks.slots.iter().find(|s| s.id == id).map(|s| s.at),
            "turn" => checks.turns.iter().find(|t| t.id == id).map(|t| t.at),
            _ => continue,
        };
        let (place, strip) = (place.unwrap(), edit.change.shape());
        let away = place.distance(edit.at);
        // A prop stands off the bridge it holds; a strip may lie over more than one.
        let over = strip.pieces.iter().flat_map(|p| p.rings()).any(|ring| ring.to_path().winding(place) != 0);
        let near = away < if edit.kind == EditKind::Prop { 25.0 } else { 2.0 };
        assert!(near || over, "{} {}, {away} mm away: {:?}", edit.id, edit.why, edit.finding);
        told += 1;
    }
    assert!(told > 3, "edits that name a finding: {told}");
    let (before, after) = (open_area(&repaired.before.face), open_area(&repaired.after.face));
    let changed = repaired.mended.summary.area_changed_mm2;
    assert!(changed > before - after - 1e-3, "the bridge placed by hand counts: {changed} of {}", before - after);
}

#[test]
fn bridges_placed_by_hand_are_told_with_the_edits() {
    let (repaired, mend) = bridged_by_hand();
    let bench = Bench::new();
    let project = Project { art_name: "cat.svg".to_owned(), art: demo("cat.svg"), mend, ..project(Shop::default()) };
    bench.put("cat.fretgrin.toml", project.text().unwrap());
    let ran = bench.run(&["mend", "cat.fretgrin.toml"]);
    for words in ["and 1 bridge placed by hand", " H1 a bridge placed by hand, ", "left H2, a bridge placed by hand: "]
    {
        assert!(ran.out.contains(words), "{words}: {ran:?}");
    }
    let edits: Value = serde_json::from_str(&bench.read("cat-edits.json")).unwrap();
    let [by_hand] = edits["by_hand"].as_array().unwrap().as_slice() else { panic!("{edits}") };
    assert_eq!((&by_hand["id"], &edits["not_built"]), (&"H1".into(), &serde_json::json!(["H2"])), "{by_hand}");
    let width = by_hand["width_mm"].as_f64().unwrap();
    assert!((width - repaired.built[0].width).abs() < 1e-3 && by_hand["area_mm2"].as_f64() > Some(1.0), "{by_hand}");
}

#[test]
fn a_face_with_nothing_but_a_bridge_placed_by_hand_is_mended() {
    let bench = Bench::new();
    let bridges = vec![Placed { x: 0.0, y: -20.5, width_mm: Some(12.0), direction_deg: Some(90.0) }];
    let mend = Mends { bridges, ..Mends::default() };
    bench.put("face.fretgrin.toml", Project { mend, ..project(Shop::default()) }.text().unwrap());
    let ran = bench.run(&["mend", "face.fretgrin.toml"]);
    assert!(ran.out.starts_with("face.svg: mended with 1 bridge placed by hand\n"), "{ran:?}");
    assert!(!ran.out.contains("\n0.0 % of the open area") && !ran.out.contains("  0.0 % of"), "{ran:?}");
}
