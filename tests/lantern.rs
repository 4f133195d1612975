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

/// A folder with a shop file of its own and the demo's faces.
fn own(text: &str) -> tempfile::TempDir {
    let folder = shop("");
    fs::write(folder.path().join("shop.toml"), text).unwrap();
    folder
}

fn stock(name: &str, size: [&str; 3], rest: &str) -> String {
    let [length, width, thickness] = size;
    format!(
        "[[boards.stock]]\nname=\"{name}\"\nlength=\"{length}\"\nwidth=\"{width}\"\nthickness=\"{thickness}\"\n{rest}\n"
    )
}

fn owls(boxes: u32) -> String {
    format!("[[batch.faces]]\nart=\"owl.svg\"\nboxes={boxes}\n")
}

/// What `batch` says, and its plan; the run has to end well.
fn planned(text: &str) -> (String, Value) {
    let folder = own(text);
    let ran = run(folder.path(), &["batch", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(0), "{}", said(&ran.stderr));
    let plan = fs::read(folder.path().join("out/batch-plan.json")).unwrap();
    (said(&ran.stdout), serde_json::from_slice(&plan).unwrap())
}

fn refused(text: &str, command: &str) -> String {
    let folder = own(text);
    let ran = run(folder.path(), &[command, "--out", "out"]);
    assert_eq!(ran.status.code(), Some(2), "{}", said(&ran.stdout));
    said(&ran.stderr)
}

/// How many pieces of each line of the cut list the layouts hold, beside how
/// many are wanted.
fn pieces(plan: &Value) -> Vec<(u64, u64)> {
    let batch = &plan["batch"];
    let mut cut = vec![0; batch["cut_list"].as_array().unwrap().len()];
    for layout in batch["boards"]["layouts"].as_array().unwrap() {
        for piece in layout["pieces"].as_array().unwrap() {
            cut[piece["row"].as_u64().unwrap() as usize] += layout["copies"].as_u64().unwrap();
        }
    }
    let wanted = batch["cut_list"].as_array().unwrap().iter().map(|row| row["count"].as_u64().unwrap());
    cut.into_iter().zip(wanted).collect()
}

/// Sixteen boards of a yard: the sums of their prices are too many to look at.
#[test]
fn a_yards_list_of_boards_is_planned_in_no_time() {
    let mut text = "units=\"inch\"\n[box]\n".to_owned();
    let prices = [
        ("48in", ["2.43", "3.57", "4.54", "5.68"]),
        ("72in", ["3.39", "5.11", "6.65", "8.37"]),
        ("96in", ["4.43", "6.73", "8.70", "11.07"]),
        ("120in", ["5.40", "8.27", "10.82", "13.69"]),
    ];
    for (length, row) in prices {
        for (width, price) in ["3.5in", "5.5in", "7.25in", "9.25in"].into_iter().zip(row) {
            text += &stock(&format!("{width} by {length}"), [length, width, "5/8in"], &format!("price={price}"));
        }
    }
    let started = std::time::Instant::now();
    let folder = own(&(text + &owls(50)));
    let mut child = Command::new(env!("CARGO_BIN_EXE_fretgrin"))
        .current_dir(folder.path())
        .args(["batch", "--out", "out"])
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let ended = loop {
        match child.try_wait().unwrap() {
            Some(status) => break Some(status),
            None if started.elapsed().as_secs() > 60 => break None,
            None => std::thread::sleep(std::time::Duration::from_millis(50)),
        }
    };
    if ended.is_none() {
        child.kill().unwrap();
    }
    assert!(ended.is_some_and(|status| status.success()), "done within a minute: {ended:?}");
}

#[test]
fn a_board_as_wide_as_no_board_is_asked_about_but_not_a_sheet() {
    let asked = |width: &str, wood: &str| {
        let board = stock("wide one", ["8ft", width, "5/8in"], "price=40");
        let text = format!("units=\"inch\"\n{wood}[box]\n{board}{}", owls(4));
        planned(&text).0.contains("care board-width-wide-one: wide one is 60 in (1524.0 mm) wide")
    };
    assert!(asked("5ft", ""), "a slip for 5 in");
    assert!(!asked("5in", "") && !asked("24in", ""), "boards");
    assert!(!asked("5ft", "[wood]\nspecies=\"birch-plywood\"\n"), "sheets are as wide");
}

#[test]
fn parts_of_nearly_one_thickness_are_cut_once() {
    let text = "units=\"mm\"\n[box]\nthickness=16.0\nbase_thickness=16.8\n[box.lid]\nthickness=16.4\n";
    let board = stock("A", ["1800mm", "180mm", "16.4mm"], "price=4\navailable=6");
    let (_, plan) = planned(&(text.to_owned() + &board + &owls(4)));
    for (row, (cut, wanted)) in pieces(&plan).into_iter().enumerate() {
        assert_eq!(cut, wanted, "row {row} of {}", plan["batch"]["cut_list"]);
    }
}

#[test]
fn a_part_is_cut_from_every_board_that_is_as_thick() {
    let text = "units=\"mm\"\n[box]\nthickness=16.0\nbase_thickness=16.4\n";
    // The base fits the wide board only, whose thickness the walls do not have.
    let boards = stock("narrow", ["1800mm", "140mm", "16.0mm"], "price=4")
        + &stock("wide", ["1800mm", "200mm", "16.8mm"], "price=6");
    let (_, plan) = planned(&(text.to_owned() + &boards + &owls(1)));
    let rows = plan["batch"]["cut_list"].as_array().unwrap();
    for layout in plan["batch"]["boards"]["layouts"].as_array().unwrap() {
        for piece in layout["pieces"].as_array().unwrap() {
            let row = &rows[piece["row"].as_u64().unwrap() as usize];
            let thick = if layout["board"] == "wide" { 16.8 } else { 16.0 };
            assert!((row["thickness_mm"].as_f64().unwrap() - thick).abs() <= 0.5, "{row} from {}", layout["board"]);
        }
    }
    assert!(pieces(&plan).iter().all(|(cut, wanted)| cut == wanted), "every part");
}

/// Boards shown and money shown are the same boards.
#[test]
fn boards_and_spares_are_told_apart_each_with_its_sum() {
    let folder = tempfile::tempdir().unwrap();
    let ran = run(folder.path(), &["batch", "--shop", &demo_shop(), "--out", "out"]);
    let text = said(&ran.stdout);
    let (boards, rest) = text.split_once("Boards ").unwrap().1.split_once(" To spare ").unwrap();
    let spare = rest.split_once(" Work ").unwrap().0;
    for line in [boards, spare] {
        let (names, sum) = line.split_once(": $").unwrap();
        let sum: f64 = sum.split(',').next().unwrap().parse().unwrap();
        let each = names.split(", ").map(|item| {
            let (count, name) = item.split_once(" x ").unwrap();
            let price = if name == "fence picket" { 3.98 } else { 8.49 };
            count.parse::<f64>().unwrap() * price
        });
        assert!((each.sum::<f64>() - sum).abs() < 0.005, "{line}");
    }
}

#[test]
fn no_more_boards_are_bought_than_there_are() {
    let text = "units=\"inch\"\n[box]\n[boards]\nspare_percent=50\n".to_owned();
    let board = stock("picket", ["72in", "7-1/4in", "5/8in"], "price=4\navailable=3");
    let (text, plan) = planned(&(text + &board + &owls(4)));
    let buy = &plan["batch"]["boards"]["buy"][0];
    assert_eq!((buy["cut"].as_u64(), buy["spare"].as_u64()), (Some(3), Some(0)), "{buy}");
    assert!(text.contains("wished for to spare"), "{text}");
}

#[test]
fn how_many_sales_pay_for_the_batch_is_told() {
    let (text, plan) = planned(&("units=\"inch\"\n[box]\n".to_owned() + &owls(24)));
    let price = &plan["batch"]["price"];
    let cents = |value: &Value| value.as_i64().unwrap();
    let left = cents(&price["price_cents"]) - cents(&price["fees_cents"]);
    let sold = (cents(&plan["batch"]["cost_cents"]) + left - 1) / left;
    assert!(text.contains(&format!("the first {sold} sold pay for this batch")), "{sold}: {text}");
}

#[test]
fn stems_come_whole_from_dowels() {
    let text = |stem: &str| format!("units=\"inch\"\n[box]\n[box.lid]\nstem_length=\"{stem}\"\n{}", owls(4));
    let (_, plan) = planned(&text("25in"));
    let supplies = plan["batch"]["supplies"].as_array().unwrap();
    let dowel = supplies.iter().find(|supply| supply["name"] == "dowel").unwrap();
    assert_eq!(dowel["packs"].as_u64(), Some(4), "one 25 in stem from each 48 in dowel: {dowel}");
    let told = refused(&text("60in"), "batch");
    assert!(told.contains("the stem is 60 in") && told.contains("dowels only 48 in"), "{told}");
}

#[test]
fn a_box_on_level_grain_is_refused() {
    let told = refused("units=\"inch\"\n[panel]\ngrain=\"horizontal\"\n[box]\n", "box");
    assert!(told.contains("panel.grain") && told.contains("grain upright"), "{told}");
}

#[test]
fn slips_of_the_keyboard_are_refused_by_key() {
    let cases = [
        ("[box]\nheight=\"10000in\"\n", "box.height"),
        ("[box]\n[nails]\ndiameter=\"0.001mm\"\n", "nails.diameter"),
        ("[box]\n[time]\nglue_box=1e30\n", "time.glue_box"),
        ("[box]\n[price]\nhourly_rate=99999999999\n", "price.hourly_rate"),
        ("[box]\n[hardware]\nfinish_m2_per_litre=1e-300\n", "hardware.finish_m2_per_litre"),
        ("[box]\n[hardware]\nlights_per_box=4000000000\n", "hardware.lights_per_box"),
    ];
    for (lines, key) in cases {
        let told = refused(&format!("units=\"inch\"\n{lines}{}", owls(2)), "batch");
        assert!(told.contains(key), "{key}: {told}");
    }
}

#[test]
fn strips_and_sound_ends_are_named_for_what_they_are() {
    let text = "units=\"inch\"\n[box]\n[boards]\nend_loss=0\n".to_owned() + &owls(1);
    let (_, plan) = planned(&text);
    let layouts = plan["batch"]["boards"]["layouts"].as_array().unwrap();
    let steps = || layouts.iter().flat_map(|layout| layout["steps"].as_array().unwrap());
    assert!(steps().any(|step| step["yields"].as_str().unwrap().contains("× base strip")), "{layouts:?}");
    assert!(steps().all(|step| step["setting_mm"].as_f64().unwrap() > 0.0), "no cut at 0: {layouts:?}");
}

#[test]
fn a_base_glued_up_with_a_filler_saves_a_board() {
    let (text, plan) = planned(&("units=\"inch\"\n[box]\n".to_owned() + &owls(4)));
    let batch = &plan["batch"];
    assert_eq!(
        batch["boards"]["count"].as_u64(),
        Some(3),
        "halves of a base would take four: {}",
        batch["boards"]["buy"]
    );
    let filler = batch["cut_list"].as_array().unwrap().iter().find(|row| row["filler"] == true).unwrap();
    assert_eq!((filler["count"].as_u64(), filler["width_mm"].as_f64()), (Some(4), Some(9.525)), "{filler}");
    assert!(text.contains("for this cut list"), "what is proved: {text}");
    assert!(pieces(&plan).iter().all(|(cut, wanted)| cut == wanted), "every strip");
}

#[test]
fn a_face_on_no_box_stops_nothing() {
    let none = "[[batch.faces]]\nart=\"fox.svg\"\nboxes=0\n";
    let (text, _) = planned(&format!("units=\"inch\"\n[box]\n{none}{}", owls(1)));
    assert!(!text.contains("faces-unsawable"), "{text}");
    assert!(text.starts_with("1 lantern owl"), "one is not many: {text}");
}

#[test]
fn brads_in_plywood_are_given_no_figure_of_solid_wood() {
    let text = "units=\"mm\"\n[panel]\nthickness=6\n[wood]\nspecies=\"birch-plywood\"\n[nails]\nlength=18\n[box]\n";
    let folder = own(text);
    let ran = run(folder.path(), &["box", "--json"]);
    let plan: Value = serde_json::from_slice(&ran.stdout).unwrap();
    let rows = plan["box"]["nails"]["rows"].as_array().unwrap();
    assert!(!rows.is_empty() && rows.iter().all(|row| row["withdrawal_n"].is_null()), "{rows:?}");
}

#[test]
fn boards_that_cannot_be_told_apart_or_have_no_length_are_refused_by_key() {
    let twice = ["72in", "96in"].map(|length| stock("picket", [length, "5-1/2in", "5/8in"], "price=4")).concat();
    let told = refused(&format!("units=\"inch\"\n[box]\n{twice}{}", owls(1)), "batch");
    assert!(told.contains("two boards are called `picket`"), "{told}");
    let told = refused(&("units=\"inch\"\n[box]\n[boards]\nend_loss=\"40in\"\n".to_owned() + &owls(1)), "batch");
    assert!(told.contains("boards.end_loss") && told.contains("line 4"), "{told}");
}

#[test]
fn a_board_called_like_a_length_keeps_its_name() {
    let folder = own(&("units=\"mm\"\n[box]\n".to_owned() + &stock("6in", ["72in", "6in", "5/8in"], "price=3")));
    let shown = run(folder.path(), &["shop", "show"]);
    let text = said(&shown.stdout);
    assert!(text.contains("name = \"6in\"") && text.contains("width = \"152.4mm\""), "{text}");
}

#[test]
fn every_sum_has_a_name_of_its_own() {
    let folder = own("units=\"inch\"\n[panel]\nwidth=\"3in\"\nheight=\"4in\"\n[box]\n");
    let ran = run(folder.path(), &["box", "--json"]);
    let plan: Value = serde_json::from_slice(&ran.stdout).unwrap_or_default();
    let sums = plan["box"]["sums"]
        .as_array()
        .map_or(0, |sums| sums.iter().filter(|sum| sum["what"] == "outside depth").count());
    assert_eq!(sums, 1, "one sum for the outside depth: {plan}");
}

#[test]
fn boxes_alone_are_planned_without_a_face() {
    let (text, plan) = planned("units=\"inch\"\n[box]\n[batch]\nboxes=3\n");
    assert!(text.contains("3 of 3 boxes have no face"), "{text}");
    assert_eq!(plan["batch"]["faces"].as_array().map(Vec::len), Some(0), "none is made up");
}

#[test]
fn faces_of_one_name_are_told_apart_in_a_batch() {
    let folder = own("[[batch.faces]]\nart=\"owl.svg\"\nboxes=2\n[[batch.faces]]\nart=\"old/owl.svg\"\nboxes=3\n");
    fs::create_dir(folder.path().join("old")).unwrap();
    let fox = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces/fox.svg");
    fs::copy(fox, folder.path().join("old/owl.svg")).unwrap();
    let ran = run(folder.path(), &["batch", "--out", "out"]);
    let told = said(&ran.stdout);
    assert!(told.contains("old/owl.svg on 3") && told.contains(" owl.svg on 2"), "{told}");
    let named = "a-long-name-for-an-owl-by-moonlight";
    fs::copy(folder.path().join("owl.svg"), folder.path().join(format!("{named}.svg"))).unwrap();
    let faces = format!("{}[[batch.faces]]\nart=\"{named}.svg\"\nboxes=3\n", owls(2));
    fs::write(folder.path().join("shop.toml"), faces).unwrap();
    let told = run(folder.path(), &["batch", "--out", "out"]).stdout;
    let column = |label: &str, value: &str| {
        let told = String::from_utf8_lossy(&told);
        let line = told.lines().find(|line| line.trim_start().starts_with(label));
        line.and_then(|line| line.find(value)).unwrap_or_else(|| panic!("{label} {value}: {told}"))
    };
    let columns = [("owl ", "on 2"), (named, "on 3"), ("Pays", "the first")].map(|(label, value)| column(label, value));
    assert!(columns.iter().all(|at| *at == columns[0]), "one column: {columns:?}");
    let twice = "[[batch.faces]]\nart=\"owl.svg\"\nboxes=2\n[[batch.faces]]\nart=\"./owl.svg\"\nboxes=3\n";
    fs::write(folder.path().join("shop.toml"), twice).unwrap();
    let told = said(&run(folder.path(), &["batch", "--out", "out"]).stdout);
    assert!(told.contains("5 lanterns owl on 5 Boards"), "one face, however its file is spelled: {told}");
}

#[test]
fn sheets_of_a_longer_plan_do_not_stay() {
    let folder = shop("");
    let sheets = |faces: &str| {
        fs::write(folder.path().join("shop.toml"), format!("units=\"inch\"\n[box]\n{faces}")).unwrap();
        let ran = run(folder.path(), &["batch", "--out", "out"]);
        assert!(ran.status.code().is_some_and(|code| code < 2), "{}", said(&ran.stderr));
        let names = fs::read_dir(folder.path().join("out")).unwrap().map(|entry| entry.unwrap().file_name());
        names.filter(|name| name.to_string_lossy().ends_with(".png")).count()
    };
    let owls = |boxes| format!("[[batch.faces]]\nart=\"owl.svg\"\nboxes={boxes}\n");
    let short = sheets(&owls(1));
    assert!(sheets(&owls(100)) > short, "more ways to cut boards need more sheets");
    assert_eq!(sheets(&owls(1)), short, "the longer plan's are gone");
}

#[test]
fn a_box_keeps_the_clearance_asked_for_and_names_where_more_is_said() {
    let folder = shop("");
    let ran = run(folder.path(), &["box", "--clear", "2in"]);
    assert!(
        said(&ran.stdout).contains("1-1/4 in x 6 in, by the clearance asked for at the left"),
        "{}",
        said(&ran.stdout)
    );
    let ran = run(folder.path(), &["box", "owl.svg", "--width", "5in", "--out", "out"]);
    assert_eq!(ran.status.code(), Some(1), "the face runs into the nails");
    let nail = "it meets front left corner, nail 3, which makes way for it";
    assert!(said(&ran.stdout).contains(nail), "not where it is any more: {}", said(&ran.stdout));
    assert!(
        said(&ran.stdout).contains("more: all stand on the sheets and in out/box-plan.json"),
        "{}",
        said(&ran.stdout)
    );
}

/// A clearance smaller than the box needs laid the face into the nails, and the face
/// was then stopped for it.
#[test]
fn a_face_in_a_box_keeps_clear_of_its_nails_whatever_smaller_is_asked() {
    let folder = shop("");
    let window = |more: &[&str]| {
        let ran = run(folder.path(), &[&["check", "owl.svg", "--json"], more].concat());
        let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
        (ran.status.code(), report["window"]["width_mm"].clone())
    };
    let (code, own) = window(&[]);
    assert_eq!((code, &window(&["--clear", "2mm"])), (Some(0), &(code, own.clone())), "the box's is larger");
    let (_, narrow) = window(&["--clear", "2in"]);
    assert!(narrow.as_f64() < own.as_f64(), "and the larger holds: {narrow} of {own}");
}
