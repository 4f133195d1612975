//! Exported outlines: both formats read back to the same face, and a DXF
//! library not ours reads and measures the DXF.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]
#![expect(clippy::print_stderr, reason = "a skipped test says why")]

use std::fs;
use std::path::Path;
use std::process::Command;

use fretgrin::face::Face;
use fretgrin::outcome::Outcome;
use fretgrin::pipeline::{self, Wishes};
use fretgrin::settings::{Length, Settings, Shop};
use fretgrin::write::dxf::ARC_TOLERANCE;
use kurbo::{ParamCurve, ParamCurveNearest, PathSeg};
use serde_json::json;

const FACES: [&str; 6] = ["owl", "fox", "moon", "gourd", "cat", "moth"];

fn settings() -> Settings {
    Settings::resolve(&Shop::default()).unwrap()
}

/// Every demo face as it stands, and mended.
fn outcomes() -> Vec<(String, Outcome)> {
    let settings = settings();
    let face = |name: &str| {
        let bytes = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("demo-faces/{name}.svg"))).unwrap();
        let repaired = pipeline::mended(&bytes, name, &settings, |_| Ok(Wishes::default())).unwrap();
        [(name.to_owned(), repaired.before), (format!("{name} mended"), repaired.after)]
    };
    FACES.iter().flat_map(|name| face(name)).collect()
}

fn area(face: &Face) -> f64 {
    face.cutouts.iter().map(|cutout| cutout.piece.area()).sum()
}

fn segs(face: &Face) -> Vec<PathSeg> {
    face.cutouts.iter().flat_map(|c| c.piece.rings()).flat_map(|ring| ring.segs().to_vec()).collect()
}

/// Farthest any of `here` lies from the nearest of `there`, mm.
fn farthest(here: &[PathSeg], there: &[PathSeg]) -> f64 {
    let reach = |seg: &PathSeg| kurbo::Shape::bounding_box(seg).inflate(0.1, 0.1);
    let boxes: Vec<_> = there.iter().map(reach).collect();
    let nearest = |p: kurbo::Point| {
        let near = there.iter().zip(&boxes).filter(|(_, b)| b.contains(p));
        near.map(|(seg, _)| seg.nearest(p, 1e-6).distance_sq).fold(f64::INFINITY, f64::min).sqrt()
    };
    here.iter().flat_map(|seg| [0.0, 0.2, 0.5, 0.8].map(|t| seg.eval(t))).map(nearest).fold(0.0, f64::max)
}

#[test]
fn entry_holes_lie_in_the_openings_they_serve() {
    for (name, outcome) in outcomes() {
        for hole in &outcome.holes {
            let path = outcome.face.cutouts[hole.cutout as usize - 1].piece.to_path();
            let from_line = path.segments().map(|seg| seg.nearest(hole.at, 1e-6).distance_sq.sqrt());
            let room = from_line.fold(f64::INFINITY, f64::min) - hole.diameter / 2.0;
            // A rim of 0.1 mm at least, but for a hair.
            assert!(kurbo::Shape::winding(&path, hole.at) != 0 && room > 0.08, "{name}: {room} mm beside {hole:?}");
        }
    }
}

#[test]
fn sizes_are_written_without_the_noise_of_reckoning() {
    let mut shop = Shop::default();
    // 3 x 25.4 is not quite 76.2 in binary.
    (shop.panel.width, shop.panel.height) = (Length::text("3in"), Length::text("6in"));
    let settings = Settings::resolve(&shop).unwrap();
    let art = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces/owl.svg")).unwrap();
    let outcome = pipeline::check(&art, "owl.svg", &settings).unwrap();
    let head = "width=\"76.2mm\" height=\"152.4mm\" viewBox=\"0 0 76.2 152.4\" data-fretgrin-panel=\"76.2 152.4\"";
    let outlines = String::from_utf8(pipeline::outlines(&outcome).remove(0).bytes).unwrap();
    assert!(outlines.contains(head) && outlines.contains("width=\"76.2\" height=\"152.4\""), "{outlines:.300}");
    let mended = pipeline::mended(&art, "owl.svg", &settings, |_| Ok(Wishes::default())).unwrap();
    let mended = fretgrin::mend::svg(&mended.after.face);
    assert!(mended.contains(head), "{mended:.300}");
}

#[test]
fn both_formats_read_back_to_the_same_face() {
    let settings = settings();
    for (name, outcome) in outcomes() {
        let face = &outcome.face;
        for (file, within) in pipeline::outlines(&outcome).iter().zip([1e-3, ARC_TOLERANCE]) {
            let laid = pipeline::lay(&file.bytes, &file.name, &settings).unwrap();
            let (count, want) = (laid.face.cutouts.len(), face.cutouts.len());
            assert_eq!(count, want, "{name}: cut-outs of {}", file.name);
            assert_eq!(laid.art.reading, "lines", "{name}");
            assert!((laid.face.fit.scale - 1.0).abs() < 1e-9, "{name}: at its own size: {:?}", laid.face.fit);
            let length: f64 = face.cutouts.iter().map(|c| c.piece.length(0.01)).sum();
            let off = (area(&laid.face) - area(face)).abs();
            assert!(off < within * length, "{name}: {} is off by {off} mm² on {length} mm", file.name);
            let moved = farthest(&segs(&laid.face), &segs(face)).max(farthest(&segs(face), &segs(&laid.face)));
            assert!(moved <= within, "{name}: {} lies {moved} mm off", file.name);
            let guides = laid.findings.iter().filter(|f| f.id == "left-out-guides").count();
            assert_eq!(guides, 1, "{name}: it is told that panel and holes were left off");
            let again = pipeline::judge(laid, &settings).holes;
            assert_eq!(again.len(), outcome.holes.len(), "{name}: as many entry holes in {}", file.name);
        }
    }
}

/// `--align` and `--stretch` were passed over for a face that was laid before.
#[test]
fn what_is_asked_of_a_laid_face_is_done() {
    let (_, outcome) = outcomes().remove(0);
    let file = &pipeline::outlines(&outcome)[0];
    let around = |face: &Face| {
        let boxes = face.cutouts.iter().map(|cutout| cutout.piece.bounds());
        boxes.reduce(|a, b| a.union(b)).unwrap()
    };
    let stood = around(&outcome.face);
    let laid = |change: &dyn Fn(&mut Shop)| {
        let mut shop = Shop::default();
        change(&mut shop);
        let settings = Settings::resolve(&shop).unwrap();
        (around(&pipeline::lay(&file.bytes, &file.name, &settings).unwrap().face), settings)
    };
    let near = |a: f64, b: f64| (a - b).abs() < 0.01;
    let (low, settings) = laid(&|shop| shop.fit.align = "bottom".to_owned());
    assert!(near(low.y0, settings.clear.bottom.get()) && !near(stood.y0, low.y0), "at the bottom: {low:?}");
    assert!(near(low.x0, stood.x0) && near(low.width(), stood.width()), "no wider, no farther left: {low:?}");
    let (left, _) = laid(&|shop| shop.fit.align = "left".to_owned());
    assert!(near(left.x0, settings.clear.left.get()) && near(left.y0, stood.y0), "at the left: {left:?}");
    let (tall, _) = laid(&|shop| shop.fit.stretch = 10.0);
    assert!(tall.height() > 1.05 * stood.height(), "stretched: {tall:?} from {stood:?}");
}

#[test]
fn the_svg_has_a_path_for_each_cut_out_and_keeps_its_curves() {
    for (name, outcome) in outcomes() {
        let text = String::from_utf8(pipeline::outlines(&outcome).remove(0).bytes).unwrap();
        let count = |what: &str| text.matches(what).count();
        assert_eq!(count("<path id=\"cut-"), outcome.face.cutouts.len(), "{name}");
        assert_eq!(count("<circle id=\"hole-"), outcome.holes.len(), "{name}");
        assert_eq!([count("<g id=\"PANEL\""), count("<g id=\"CUT\""), count("<g id=\"HOLES\"")], [1, 1, 1], "{name}");
        let curves = segs(&outcome.face).iter().filter(|s| matches!(s, PathSeg::Cubic(_))).count();
        assert_eq!(count("C"), curves + 1, "{name}: each cubic is one curve (and one C is the layer's)");
        assert!(text.contains("width=\"133.35mm\" height=\"254mm\""), "{name}: true size");
    }
}

/// A Python with the DXF reader; `None` when there is none, a failure instead
/// when `REQUIRE_EXTERNAL` is set.
fn python() -> Option<String> {
    let python = std::env::var("FRETGRIN_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let ready = Command::new(&python).args(["-c", "import ezdxf, shapely"]).output();
    let ready = ready.is_ok_and(|output| output.status.success());
    assert!(ready || std::env::var_os("REQUIRE_EXTERNAL").is_none(), "{python} has no ezdxf and shapely");
    ready.then_some(python)
}

#[test]
fn an_outside_reader_audits_and_measures_the_dxf() {
    let Some(python) = python() else {
        eprintln!("skipped: no Python with ezdxf and shapely; set FRETGRIN_PYTHON");
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/external/read_dxf.py");
    for (name, outcome) in outcomes() {
        let panel = &outcome.face.panel;
        let expected = json!({
            "open_area": area(&outcome.face),
            "rings": outcome.face.cutouts.iter().map(|c| 1 + c.piece.holes.len()).sum::<usize>(),
            "panel": [panel.width.get(), panel.height.get()],
            "holes": outcome.holes.iter().map(|h| [h.at.x, h.at.y, h.diameter]).collect::<Vec<_>>(),
        });
        let (file, wanted) = (folder.path().join("outlines.dxf"), folder.path().join("expected.json"));
        fs::write(&file, &pipeline::outlines(&outcome)[1].bytes).unwrap();
        fs::write(&wanted, expected.to_string()).unwrap();
        let output = Command::new(&python).arg(script).arg(&file).arg(&wanted).output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && said.contains("outlines,"), "{name}: {said}");
        eprintln!("{name}: {}", said.trim());
    }
}

#[test]
fn the_command_writes_both_files_and_tells_of_faults() {
    let folder = tempfile::tempdir().unwrap();
    let cat = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-faces/cat.svg");
    let run = |args: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fretgrin"));
        let output = command.current_dir(folder.path()).args(args).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    let (code, said) = run(&["export", cat, "--out", "out"]);
    assert_eq!(code, Some(1), "the cat has islands: {said}");
    for word in ["133.35 x 254.00 mm", "CUT, HOLES and PANEL", "cat-outlines.svg", "cat-outlines.dxf", "--mend"] {
        assert!(said.contains(word), "{word}: {said}");
    }
    let read = |name: &str| fs::read(folder.path().join("out").join(name)).unwrap();
    let before = (read("cat-outlines.svg"), read("cat-outlines.dxf"));
    let (code, _) = run(&["export", cat, "--out", "out"]);
    assert_eq!(code, Some(1), "its own files are written again");
    assert!(before == (read("cat-outlines.svg"), read("cat-outlines.dxf")), "the same bytes");
    let (_, said) = run(&["export", cat, "--out", "out", "--mend"]);
    assert!(!said.contains("--mend"), "mended already: {said}");
    assert!(before.1 != read("cat-outlines.dxf"), "another face");
    let (_, said) = run(&["check", "out/cat-outlines.dxf", "--json"]);
    let report: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(report["islands"].as_array().unwrap().len(), 0, "the mended DXF has no island: {said}");
}
