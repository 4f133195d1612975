//! `box` and `batch` from the command line, on the demo shop and on shops that
//! cannot be.
#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fretgrin")).current_dir(folder).args(args).output().unwrap()
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn demo_shop() -> String {
    root().join("demo-faces/shop.toml").to_string_lossy().into_owned()
}

/// A folder with a shop file in which `line` is added to the demo's box.
fn shop(line: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let text = fs::read_to_string(demo_shop()).unwrap().replace("[box]\n", &format!("[box]\n{line}\n"));
    fs::write(folder.path().join("shop.toml"), text).unwrap();
    for face in ["owl", "fox", "moon", "gourd", "cat", "moth"] {
        let name = format!("{face}.svg");
        fs::copy(root().join("demo-faces").join(&name), folder.path().join(&name)).unwrap();
    }
    folder
}

#[test]
fn the_demo_batch_gives_a_complete_set_of_papers() {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(folder.path(), &["batch", "--mend", "--shop", &demo_shop(), "--out", "out"]);
    assert_eq!(ran.status.code(), Some(0), "{}", said(&ran.stderr));
    let text = said(&ran.stdout);
    for word in ["24 lanterns", "owl on 6", "moth on 2", "fence picket", "wide fence board", "proved at least"] {
        assert!(text.contains(word), "{word}: {text}");
    }
    let out = folder.path().join("out");
    for name in ["batch-papers.pdf", "batch-plan.json", "batch-cut-list.csv", "batch-papers-1.png"] {
        assert!(fs::metadata(out.join(name)).unwrap().len() > 200, "{name} is there");
    }
    let plan: Value = serde_json::from_slice(&fs::read(out.join("batch-plan.json")).unwrap()).unwrap();
    let boards = &plan["batch"]["boards"];
    assert!(boards["cost"].as_i64() >= boards["bound"].as_i64(), "never under the bound: {boards}");
    let list = fs::read_to_string(out.join("batch-cut-list.csv")).unwrap();
    assert!(list.contains("F,front,24,254,133.35"), "24 fronts, 10 by 5-1/4 in: {list}");
}

#[test]
fn faces_that_cannot_be_sawn_are_named_in_the_plan() {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(folder.path(), &["batch", "--shop", &demo_shop(), "--out", "out"]);
    let text = said(&ran.stdout);
    assert_eq!(ran.status.code(), Some(1), "{text}");
    assert!(text.contains("faces-unsawable: fox (") && text.contains("moth ("), "{text}");
    assert!(!text.contains("owl ("), "the owl can be sawn: {text}");
    // The box alone, and as mended.
    let (art, shop) = (root().join("demo-faces/fox.svg"), demo_shop());
    for (more, code) in [(&[][..], 1), (&["--mend"][..], 0)] {
        let args = [&["box", art.to_str().unwrap(), "--shop", &shop, "--out", "box"][..], more].concat();
        let ran = run(folder.path(), &args);
        assert_eq!(ran.status.code(), Some(code), "{more:?}: {}", said(&ran.stdout));
    }
}

#[test]
fn the_boxs_own_stock_is_what_the_face_is_checked_in() {
    let thin = shop("thickness = \"1/4in\"");
    let ran = run(thin.path(), &["check", "owl.svg", "--json"]);
    let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
    assert_eq!(report["panel"]["thickness_mm"], 6.35, "as [box] states it");
}

#[test]
fn what_is_said_of_every_box_is_not_said_of_a_face() {
    let folder = shop("");
    let ids = |art: &[&str]| -> Vec<String> {
        let ran = run(folder.path(), &[&["box", "--json"], art].concat());
        let plan: Value = serde_json::from_slice(&ran.stdout).unwrap();
        let list = plan["findings"].as_array().unwrap();
        list.iter().map(|finding| finding["id"].as_str().unwrap().to_owned()).collect()
    };
    let of_box = ids(&[]);
    assert!(!of_box.is_empty(), "the demo box has remarks of its own");
    let ran = run(folder.path(), &["check", "owl.svg", "--json"]);
    let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
    let of_face = report["findings"].as_array().unwrap();
    for finding in of_face {
        assert!(!of_box.iter().any(|id| *id == finding["id"].as_str().unwrap()), "{finding}");
    }
}

#[test]
fn the_same_batch_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    for out in ["a", "b"] {
        run(folder.path(), &["batch", "--shop", &demo_shop(), "--out", out]);
    }
    for entry in fs::read_dir(folder.path().join("a")).unwrap() {
        let name = entry.unwrap().file_name();
        let read = |out: &str| fs::read(folder.path().join(out).join(&name)).unwrap();
        assert!(read("a") == read("b"), "{} differs", name.display());
    }
}

#[test]
fn a_face_five_by_seven_runs_into_both_nail_rows() {
    let folder = shop("");
    let args = ["check", "owl.svg", "--width", "5in", "--height", "7in", "--stretch", "1", "--json"];
    let ran = run(folder.path(), &args);
    assert_eq!(ran.status.code(), Some(1), "{}", said(&ran.stderr));
    let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
    let met: Vec<&str> = report["findings"].as_array().unwrap().iter().filter_map(|f| f["message"].as_str()).collect();
    for corner in ["front left corner, nail", "front right corner, nail"] {
        assert!(met.iter().any(|message| message.contains(corner)), "{corner}: {met:?}");
    }
}

#[test]
fn the_window_comes_from_the_joinery_and_says_so() {
    let folder = shop("");
    let ran = run(folder.path(), &["check", "owl.svg", "--json"]);
    let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
    let window = &report["window"];
    // Side board 15.875, drift 1/16 in, kerf 0.559 and an eighth of wood.
    let left = window["clear_mm"]["left"].as_f64().unwrap();
    assert!((left - (15.875 + 1.5875 + 0.559 + 3.175)).abs() < 0.05, "{window}");
    assert_eq!(window["made_by"].as_array().unwrap().len(), 4, "each edge says what made it: {window}");
}

#[test]
fn impossible_boxes_are_refused_in_words_and_leave_nothing() {
    let cases =
        [("depth = \"1in\"", "deep"), ("panel_width = \"1in\"", "window"), ("panel_height = \"96in\"", "board")];
    for (line, word) in cases {
        let folder = shop(line);
        let ran = run(folder.path(), &["batch", "--out", "out"]);
        assert_eq!(ran.status.code(), Some(2), "{line}: {}", said(&ran.stdout));
        assert!(said(&ran.stderr).contains(word), "{line}: {}", said(&ran.stderr));
        assert!(!folder.path().join("out").exists(), "{line}: nothing is left behind");
    }
}

#[test]
fn a_nail_longer_than_both_pieces_is_refused() {
    let folder = shop("");
    let path = folder.path().join("shop.toml");
    let text = fs::read_to_string(&path).unwrap() + "\n[nails]\nlength = \"6in\"\n";
    fs::write(&path, text).unwrap();
    let ran = run(folder.path(), &["box", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(2), "{}", said(&ran.stdout));
    assert!(said(&ran.stderr).contains("nail") || said(&ran.stderr).contains("brad"), "{}", said(&ran.stderr));
}

#[test]
fn a_batch_without_faces_says_what_to_add() {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(folder.path(), &["batch"]);
    assert_eq!(ran.status.code(), Some(2), "not done");
    assert!(said(&ran.stderr).contains("[[batch.faces]]"), "{}", said(&ran.stderr));
}
