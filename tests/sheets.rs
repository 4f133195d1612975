//! The template on paper: true to size, inside the margins, nothing over
//! anything else, the same on every run.

#![expect(clippy::unwrap_used, reason = "a test that cannot be set up should fail loudly")]

mod support;

use std::collections::BTreeMap;
use std::process::Command;

use fretgrin::diag::{Finding, FindingKind, Severity};
use fretgrin::face::Panel;
use fretgrin::font::{CAP_HEIGHT, DESCENT};
use fretgrin::outcome::Outcome;
use fretgrin::pipeline;
use fretgrin::settings::{Length, Settings, Shop, sections::PanelSection};
use fretgrin::sheet::layout::{Info, Layout, Printer, Tile};
use fretgrin::sheet::{Layer, Mark, Request, Shape, Sheet, pages, picture, ruler, template};
use fretgrin::trade::papers;
use fretgrin::units::{Mm, Unit};
use fretgrin::write::{Meta, pdf};
use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use support::pdf::{Page, read};
use support::sample;

/// What a printed length may be off, mm.
const TRUE: f64 = 0.01;

fn printer(paper: &str) -> Printer {
    Printer::true_to_size(papers::find(paper, Unit::Mm).unwrap())
}

fn request<'a>(outcome: &'a Outcome, printer: &'a Printer) -> Request<'a> {
    Request { outcome, name: "Cat", printer, unit: Unit::Inch, nails: &[], cautions: &[], copies: 1 }
}

fn sheets(outcome: &Outcome, printer: &Printer) -> (Layout, Vec<Sheet>) {
    let request = request(outcome, printer);
    (template::layout(&request).unwrap(), pages(&request).unwrap())
}

fn panel(width: f64, height: f64) -> Panel {
    Panel { width: Mm::new(width), height: Mm::new(height), ..sample::panel() }
}

/// Panels and papers that between them use every layout.
fn cases() -> Vec<(Outcome, &'static str)> {
    let usual = || sample::cat_on(sample::panel());
    let mut all: Vec<(Outcome, &str)> = ["a4", "letter", "legal", "a3", "tabloid"].map(|paper| (usual(), paper)).into();
    all.push((sample::cat_on(panel(190.0, 230.0)), "a4"));
    all.push((sample::cat_on(panel(192.0, 268.0)), "a4"));
    all.push((sample::cat_on(panel(254.0, 250.0)), "letter"));
    all.push((sample::cat_on(panel(300.0, 280.0)), "a4"));
    all.push((usual(), "148x210mm"));
    all.push((usual(), "100x150mm"));
    all
}

fn near(page: &Page, layer: &str, wanted: Rect) -> f64 {
    let off = |path: &BezPath| {
        let b = path.bounding_box();
        [b.x0 - wanted.x0, b.y0 - wanted.y0, b.x1 - wanted.x1, b.y1 - wanted.y1]
            .map(f64::abs)
            .into_iter()
            .fold(0.0, f64::max)
    };
    page.on(layer).map(off).fold(f64::INFINITY, f64::min)
}

#[test]
fn outline_rulers_holes_and_cut_lines_are_true() {
    let outcome = sample::cat();
    for paper in ["a4", "letter", "a3"] {
        let printer = printer(paper);
        let (layout, sheets) = sheets(&outcome, &printer);
        let page = &read(&pdf(&sheets, &Meta::default()).unwrap())[0];
        let shift = layout.tiles[0].shift;
        let hole = |at: Point, d: f64| Rect::from_center_size(at + shift, (d, d));
        for h in &outcome.holes {
            let off = near(page, "Entry holes", hole(h.at, h.diameter));
            assert!(off < TRUE, "{paper}: hole {} is off by {off}", h.id);
        }
        let (a, b) = (layout.across, layout.upright);
        for (name, wanted) in [
            ("100 mm across", Rect::new(a.x, a.y, a.x + 100.0, a.y)),
            ("4 in across", Rect::new(a.x, a.y, a.x + 101.6, a.y)),
            ("100 mm upright", Rect::new(b.x, b.y, b.x, b.y + 100.0)),
            ("4 in upright", Rect::new(b.x, b.y, b.x, b.y + 101.6)),
        ] {
            let off = near(page, "Rulers", wanted);
            assert!(off < TRUE, "{paper}: {name} is off by {off}");
        }
        let whole = page.on("Panel outline").map(BezPath::bounding_box).reduce(|a, b| a.union(b)).unwrap();
        let wanted = outcome.face.panel.rect() + shift;
        for (got, want) in [(whole.x0, wanted.x0), (whole.y0, wanted.y0), (whole.x1, wanted.x1), (whole.y1, wanted.y1)]
        {
            assert!((got - want).abs() < TRUE, "{paper}: outline {whole:?} for {wanted:?}");
        }
        for cutout in &outcome.face.cutouts {
            for ring in cutout.piece.rings() {
                let off = near(page, "Cut lines", ring.bounds() + shift);
                assert!(off < TRUE, "{paper}: cut-out {} is off by {off}", cutout.id);
            }
        }
    }
}

#[test]
fn correction_factors_stretch_the_drawing_and_nothing_else() {
    let outcome = sample::cat();
    let mut printer = printer("letter");
    (printer.scale_x, printer.scale_y) = (1.004, 0.998);
    let (layout, sheets) = sheets(&outcome, &printer);
    assert!(!layout.turned && sheets[0].width == Mm::from_inches(8.5), "the paper stays as it is");
    let page = &read(&pdf(&sheets, &Meta::default()).unwrap())[0];
    let (a, b) = (layout.across, layout.upright);
    let across = Rect::new(a.x * 1.004, a.y * 0.998, (a.x + 100.0) * 1.004, a.y * 0.998);
    let upright = Rect::new(b.x * 1.004, b.y * 0.998, b.x * 1.004, (b.y + 100.0) * 0.998);
    assert!(near(page, "Rulers", across) < TRUE && near(page, "Rulers", upright) < TRUE, "100 mm comes out at 100 mm");
}

/// Boxes of everything on a sheet, words apart from the rest.
fn boxes(marks: &[Mark]) -> (Vec<Rect>, Vec<(String, Rect)>) {
    let (mut shapes, mut words) = (Vec::new(), Vec::new());
    for mark in marks {
        match &mark.shape {
            Shape::Path(path) => {
                let half = path.stroke.as_ref().map_or(0.0, |stroke| stroke.width / 2.0);
                shapes.push(path.path.bounding_box().inflate(half, half));
            }
            Shape::Text(text) if text.content.is_empty() => {}
            Shape::Text(text) => words.push((text.content.clone(), text.bounds())),
            Shape::Clip { outline, marks } => {
                let seen = outline.bounding_box();
                let (inner, inner_words) = boxes(marks);
                shapes.extend(
                    inner.into_iter().map(|b| b.intersect(seen)).filter(|b| b.width() >= 0.0 && b.height() >= 0.0),
                );
                words.extend(inner_words);
            }
        }
    }
    (shapes, words)
}

#[test]
fn everything_is_inside_the_printers_reach() {
    for (outcome, paper) in cases() {
        let printer = printer(paper);
        let (_, sheets) = sheets(&outcome, &printer);
        let margin = printer.paper.margin.get() - 0.26;
        for sheet in &sheets {
            let reach = sheet.rect().inset(-margin);
            let (shapes, words) = boxes(&sheet.marks);
            for b in shapes.iter().chain(words.iter().map(|(_, b)| b)) {
                assert_eq!(reach.union(*b), reach, "{paper}, sheet {}: {b:?} outside {reach:?}", sheet.name);
            }
        }
    }
}

/// The demo faces as the shop's own settings read them.
fn demo_faces() -> impl Iterator<Item = Outcome> {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    ["owl", "fox", "moon", "gourd", "cat", "moth"].into_iter().map(move |name| {
        let file = format!("{}/demo-faces/{name}.svg", env!("CARGO_MANIFEST_DIR"));
        pipeline::check(&std::fs::read(&file).unwrap(), &file, &settings).unwrap()
    })
}

#[test]
fn no_words_lie_on_other_words_and_none_are_too_small() {
    let real = demo_faces().flat_map(|outcome| [(outcome.clone(), "letter"), (outcome, "148x210mm")]);
    for (outcome, paper) in cases().into_iter().chain(real) {
        let (_, sheets) = sheets(&outcome, &printer(paper));
        for sheet in &sheets {
            let (_, words) = boxes(&sheet.marks);
            for (i, (a, box_a)) in words.iter().enumerate() {
                let upright = box_a.height().min(box_a.width());
                assert!(upright >= 2.45 * (CAP_HEIGHT + DESCENT) || a.len() < 3, "{paper}: `{a}` is {upright} mm high");
                for (b, box_b) in &words[i + 1..] {
                    let shared = box_a.inset(-0.1).intersect(box_b.inset(-0.1));
                    assert!(
                        shared.width() <= 0.0 || shared.height() <= 0.0,
                        "{paper}, sheet {}: `{a}` on `{b}`",
                        sheet.name
                    );
                }
            }
        }
    }
}

fn words_of(sheet: &Sheet) -> Vec<String> {
    boxes(&sheet.marks).1.into_iter().map(|(text, _)| text).collect()
}

#[test]
fn a_face_that_is_not_ready_says_so_on_every_sheet() {
    for (outcome, paper) in cases() {
        let (layout, mut with) = sheets(&outcome, &printer(paper));
        let mut sound = outcome.clone();
        sound.findings.retain(|finding| finding.severity != Severity::Stop);
        let without = sheets(&sound, &printer(paper)).1;
        let told = |sheet: &Sheet| words_of(sheet).join(" ").contains("NOT READY TO SAW");
        with.truncate(layout.tiles.len());
        assert!(with.iter().all(told), "{paper}: every sheet of the template");
        assert!(!without.iter().any(told), "{paper}: not a sound one");
    }
}

#[test]
fn places_without_a_hole_or_over_a_clearance_are_marked_and_not_ordered() {
    let mut outcome = sample::cat();
    let gone = outcome.holes.remove(0);
    let finding = |id: &str, kind, severity| Finding::new(id, kind, severity, "a place", "mend it").at(gone.at);
    outcome.findings.push(finding("no-entry-1", FindingKind::NoEntry, Severity::Stop));
    outcome.findings.push(finding("over-clearance-1", FindingKind::OverClearance, Severity::Care));
    let (_, sheets) = sheets(&outcome, &printer("letter"));
    let words = words_of(&sheets[0]);
    for name in ["E1", "C1"] {
        // Once where it is, once in the legend.
        assert_eq!(words.iter().filter(|word| *word == name).count(), 2, "{name}: {words:?}");
    }
    let bench = sheets[1..].iter().flat_map(words_of).collect::<Vec<_>>().join(" ");
    assert!(bench.contains("cannot be sawn yet: no entry hole"), "{bench}");
}

#[test]
fn turns_the_bench_sheet_speaks_of_are_named_on_the_template() {
    let mut outcome = sample::cat();
    outcome.findings.retain(|finding| finding.id == "turn-15");
    let (_, sheets) = sheets(&outcome, &printer("letter"));
    assert!(words_of(&sheets[0]).iter().any(|word| word == "T15"), "beyond the worst twelve");
}

#[test]
fn a_face_larger_than_its_panel_is_cut_off_at_its_edge() {
    let outcome = sample::cat_on(panel(90.0, 150.0));
    let (layout, sheets) = sheets(&outcome, &printer("letter"));
    let board = (outcome.face.panel.rect() + layout.tiles[0].shift).inflate(0.3, 0.3);
    let face = [Layer::CutLines, Layer::Waste, Layer::EntryHoles];
    let of_face: Vec<Mark> = sheets[0].marks.iter().filter(|mark| face.contains(&mark.layer)).cloned().collect();
    let (mut seen, _) = boxes(&of_face);
    // What a clip leaves nothing of.
    seen.retain(|b| !b.is_zero_area());
    let legend = seen.iter().filter(|b| b.x0 > board.x1 + 10.0).count();
    assert!(seen.len() > legend && legend <= 4, "the legend's samples stand by themselves: {legend}");
    let seen = seen.iter().filter(|b| b.x0 <= board.x1 + 10.0);
    seen.for_each(|b| assert_eq!(board.union(*b), board, "nothing over flaps, legend and rulers"));
    assert!(of_face.iter().any(|mark| matches!(mark.shape, Shape::Clip { .. })), "it does reach beyond");
}

#[test]
fn names_in_other_letters_are_drawn_and_long_ones_have_room() {
    let (outcome, printer) = (sample::cat(), printer("letter"));
    let named = |name: &str| pages(&Request { name, ..request(&outcome, &printer) }).unwrap();
    let sheets = named("Großmutters Kürbis ночь");
    assert!(words_of(&sheets[0]).join(" ").contains("Großmutters Kürbis ночь"), "{:?}", words_of(&sheets[0]));
    let file = read(&pdf(&sheets, &Meta::default()).unwrap());
    assert!(file.iter().flat_map(|page| &page.words).all(|(_, word)| !word.contains('?')), "no letter is lost");
    let plain = read(&pdf(named("Cat"), &Meta::default()).unwrap());
    assert!(file[0].on("Title").count() > plain[0].on("Title").count(), "the others are drawn as outlines");
    assert!(words_of(&named("猫")[0]).join(" ").contains("its name cannot be printed"), "said when none can be");
}

/// Words that name a cross and where it stands, panel space, on each tile.
fn crosses(layout: &Layout, sheets: &[Sheet]) -> BTreeMap<String, Vec<Point>> {
    let mut found: BTreeMap<String, Vec<Point>> = BTreeMap::new();
    for (tile, sheet) in layout.tiles.iter().zip(sheets) {
        for mark in &sheet.marks {
            if let (Layer::Registration, Shape::Text(text)) = (mark.layer, &mark.shape) {
                found.entry(text.content.clone()).or_default().push(text.at - tile.shift);
            }
        }
    }
    found
}

#[test]
fn neighbouring_sheets_carry_crosses_at_the_same_points() {
    for (w, h, joins) in [(300.0, 280.0, 4), (600.0, 250.0, 3), (420.0, 420.0, 7)] {
        let outcome = sample::cat_on(panel(w, h));
        let (layout, sheets) = sheets(&outcome, &printer("a4"));
        let found = crosses(&layout, &sheets);
        assert!(found.len() >= joins * 2, "two crosses on every join: {found:?}");
        for (letter, places) in &found {
            assert_eq!(places.len(), 2, "cross {letter} stands on two sheets");
            assert!(places[0].distance(places[1]) < 1e-9, "cross {letter} at one point: {places:?}");
        }
        let overlaps = layout.overlap;
        assert!((10.0..=15.0).contains(&overlaps), "{overlaps}");
    }
}

#[test]
fn joined_sheets_show_every_cut_line_whole() {
    let outcome = sample::cat_on(panel(300.0, 280.0));
    let (layout, sheets) = sheets(&outcome, &printer("a4"));
    let file = read(&pdf(&sheets, &Meta::default()).unwrap());
    for cutout in &outcome.face.cutouts {
        let bounds = cutout.piece.outer.bounds();
        let on = |(tile, page): (&Tile, &Page)| near(page, "Cut lines", bounds + tile.shift) < TRUE;
        assert!(layout.tiles.iter().zip(&file).any(on), "cut-out {} is on a sheet", cutout.id);
    }
}

#[test]
fn copies_repeat_the_template_and_not_the_bench_sheet() {
    let (outcome, printer) = (sample::cat(), printer("letter"));
    let one = pages(&request(&outcome, &printer)).unwrap();
    let three = pages(&Request { copies: 3, ..request(&outcome, &printer) }).unwrap();
    assert_eq!(three.len(), one.len() + 2, "two more template sheets");
    assert!(three[..3].iter().all(|sheet| *sheet == one[0]) && three[3..] == one[1..], "in order");
    assert!(pages(&Request { copies: 201, ..request(&outcome, &printer) }).is_err(), "a slip of the finger");
}

#[test]
fn the_same_face_gives_the_same_bytes() {
    let (outcome, printer) = (sample::cat(), printer("a4"));
    let make = || pdf(pages(&request(&outcome, &printer)).unwrap(), &Meta::default()).unwrap();
    assert_eq!(make(), make(), "template");
}

#[test]
fn the_printer_check_has_bars_of_the_stated_length() {
    for paper in ["a4", "letter"] {
        let paper = papers::find(paper, Unit::Mm).unwrap();
        let (x, y) = ruler::bars(&paper);
        let page = &read(&pdf(&[ruler::page(&paper).unwrap()], &Meta::default()).unwrap())[0];
        let spans: Vec<Rect> = page.on("Rulers").map(BezPath::bounding_box).collect();
        for (name, want) in [("across", x.get()), ("along", y.get())] {
            let got = spans.iter().map(|b| if name == "across" { b.width() } else { b.height() });
            let off = got.map(|got| (got - want).abs()).fold(f64::INFINITY, f64::min);
            assert!(off < TRUE && want >= 150.0, "{name}: {want} is off by {off}");
        }
        assert!(page.words.iter().any(|(_, text)| text.contains(&format!("{:.0} mm", x.get()))), "says so");
    }
    let tiny = papers::find("60x60mm", Unit::Mm).unwrap();
    assert!(ruler::page(&tiny).is_err(), "too small to measure anything");
}

/// The words of a page, one a line with their layer: what a reviewer reads.
fn dump(pages: &[Page]) -> String {
    let mut out = String::new();
    for (number, page) in (1..).zip(pages) {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for drawn in &page.paths {
            *counts.entry(drawn.layer.as_str()).or_default() += 1;
        }
        out += &format!("page {number}\n");
        for (layer, count) in counts {
            out += &format!("  {layer}: {count} paths\n");
        }
        for (layer, text) in &page.words {
            out += &format!("  {layer}: {text}\n");
        }
    }
    out
}

#[test]
fn the_template_says_what_it_said() {
    let (outcome, printer) = (sample::cat(), printer("letter"));
    let got = dump(&read(&pdf(pages(&request(&outcome, &printer)).unwrap(), &Meta::default()).unwrap()));
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/golden/template-words.txt");
    if std::env::var_os("UPDATE_FIXTURES").is_some() {
        std::fs::write(file, &got).unwrap();
        panic!("rewrote {file}; read the change, then run again without UPDATE_FIXTURES");
    }
    let want = std::fs::read_to_string(file).unwrap();
    assert!(got.len() < 20_000 && got == want, "differs from {file}; UPDATE_FIXTURES=1 rewrites it. Now:\n{got}");
}

/// What the outside readers are asked to find on a page.
fn expected(outcome: &Outcome, layout: &Layout, sheet: &Sheet) -> serde_json::Value {
    let shift = layout.tiles[0].shift;
    let panel = outcome.face.panel.rect() + shift;
    let (a, b) = (layout.across, layout.upright);
    let line = |x0: f64, y0: f64, x1: f64, y1: f64| serde_json::json!([x0, y0, x1, y1]);
    let circles: serde_json::Map<String, serde_json::Value> = outcome
        .holes
        .iter()
        .map(|h| (format!("hole {}", h.id), serde_json::json!([h.at.x + shift.x, h.at.y + shift.y, h.diameter])))
        .collect();
    let rings = outcome.face.cutouts.iter().flat_map(|cutout| cutout.piece.rings());
    let curves = rings.flat_map(|ring| ring.segs()).filter(|seg| matches!(seg, kurbo::PathSeg::Cubic(_)));
    let ends: Vec<[f64; 2]> = curves.map(|seg| kurbo::ParamCurve::end(seg) + shift).map(|p| [p.x, p.y]).collect();
    serde_json::json!({
        "page": 0,
        "size_pt": [sheet.width.pt(), sheet.height.pt()],
        "lines": {
            "100 mm across": line(a.x, a.y, a.x + 100.0, a.y),
            "4 in across": line(a.x, a.y, a.x + 101.6, a.y),
            "100 mm upright": line(b.x, b.y, b.x, b.y + 100.0),
            "4 in upright": line(b.x, b.y, b.x, b.y + 101.6),
            "left edge": line(panel.x0, panel.y0, panel.x0, panel.y1),
            "right edge": line(panel.x1, panel.y0, panel.x1, panel.y1),
            "lower edge": line(panel.x0, panel.y0, panel.x1, panel.y0),
            "upper edge": line(panel.x0, panel.y1, panel.x1, panel.y1),
        },
        "circles": circles,
        "curve_ends": ends,
    })
}

/// A Python with the readers, from `FRETGRIN_PYTHON` or the path. `None` when
/// there is none; a failure instead when `REQUIRE_EXTERNAL` is set.
fn python() -> Option<String> {
    let python = std::env::var("FRETGRIN_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let ready = Command::new(&python).args(["-c", "import pymupdf, pypdfium2, numpy"]).output();
    let ready = ready.is_ok_and(|output| output.status.success());
    assert!(ready || std::env::var_os("REQUIRE_EXTERNAL").is_none(), "{python} has no PDF readers");
    ready.then_some(python)
}

#[test]
fn two_outside_readers_measure_the_same() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/external/measure_pdf.py");
    for (outcome, paper) in
        [(sample::cat(), "letter"), (sample::cat(), "a4"), (sample::cat_on(panel(254.0, 133.35)), "a3")]
    {
        let (layout, sheets) = sheets(&outcome, &printer(paper));
        let (file, wanted) = (folder.path().join("template.pdf"), folder.path().join("expected.json"));
        std::fs::write(&file, pdf(&sheets, &Meta::default()).unwrap()).unwrap();
        std::fs::write(&wanted, expected(&outcome, &layout, &sheets[0]).to_string()).unwrap();
        let output = Command::new(&python).arg(script).arg(&file).arg(&wanted).output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() && said.matches("measures").count() == 2, "{paper}: {said}");
    }
}

/// How to print is said on every template sheet, however little room there is and
/// however long the name; so is what the flaps are for, where there are any.
#[test]
fn every_template_sheet_says_how_to_print() {
    let sizes = [
        (184.0, 235.0, "letter"),
        (178.0, 247.0, "letter"),
        (165.0, 241.0, "a4"),
        (133.35, 254.0, "100x150mm"),
        (101.6, 139.7, "148x210mm"),
        (190.5, 203.2, "letter"),
        (190.0, 230.0, "a4"),
        (300.0, 280.0, "a4"),
        (133.35, 254.0, "legal"),
    ];
    let long = "autumn lantern walk gourd with the crooked grin and the leaf over its left eye, second version";
    let mut kinds = [0; 3];
    for (width, height, paper) in sizes {
        let (outcome, printer) = (sample::cat_on(panel(width, height)), printer(paper));
        for name in ["Cat", long] {
            let request = Request { name, ..request(&outcome, &printer) };
            let (layout, sheets) = (template::layout(&request).unwrap(), pages(&request).unwrap());
            kinds[match layout.info {
                Info::Column(_) => 0,
                Info::Band(_) => 1,
                Info::Strip(_) => 2,
            }] += 1;
            let is_strip = matches!(layout.info, Info::Strip(_));
            for sheet in &sheets[..layout.tiles.len()] {
                let words = words_of(sheet).join(" ");
                let told = |what: &str| assert!(words.contains(what), "{width} x {height} on {paper}: {words}");
                told("Print at 100 %");
                if !is_strip && layout.flaps.any() {
                    told("Cut round the flaps");
                }
                if !is_strip {
                    told("Black signs: stop. White signs: care.");
                }
            }
        }
    }
    assert!(kinds.iter().all(|count| *count >= 2), "column, band and strip: {kinds:?}");
}

/// A number in another opening's waste would have that one sawn in its stead.
#[test]
fn order_numbers_stand_in_no_other_opening() {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let bytes = std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-faces/moth.svg")).unwrap();
    let wishes = |_| Ok(pipeline::Wishes::default());
    let outcome = pipeline::mended(&bytes, "moth.svg", &settings, wishes).unwrap().after;
    let (layout, sheets) = sheets(&outcome, &printer("letter"));
    let shift = layout.tiles[0].shift;
    let numbers = sheets[0].marks.iter().filter(|mark| mark.layer == Layer::Numbers);
    let texts = numbers.filter_map(|mark| if let Shape::Text(text) = &mark.shape { Some(text) } else { None });
    let placed: Vec<(u32, Point)> =
        texts.filter_map(|text| Some((text.content.parse().ok()?, text.bounds().center() - shift))).collect();
    assert!(placed.len() >= outcome.face.cutouts.len(), "all are numbered: {}", placed.len());
    for (number, at) in placed {
        let other = outcome.face.cutouts.iter().find(|c| c.id != number && c.piece.to_path().winding(at) != 0);
        assert!(other.is_none(), "{number} stands in {:?}", other.map(|c| c.id));
    }
}

/// A demo face on a panel of this size.
fn demo_face_on(name: &str, size: [&str; 3]) -> Outcome {
    let [width, height, thickness] = size.map(Length::text);
    let mut shop = Shop::default();
    shop.panel = PanelSection { width, height, thickness, ..shop.panel };
    let settings = Settings::resolve(&shop).unwrap();
    let file = format!("{}/demo-faces/{name}.svg", env!("CARGO_MANIFEST_DIR"));
    pipeline::check(&std::fs::read(&file).unwrap(), &file, &settings).unwrap()
}

/// Numbers with their places and the ends of the leaders among `marks`.
fn numbered<'a>(marks: impl Iterator<Item = &'a Mark>) -> (Vec<(u32, Rect)>, Vec<[Point; 2]>) {
    let (mut numbers, mut leaders) = (Vec::new(), Vec::new());
    for mark in marks {
        match &mark.shape {
            Shape::Text(text) => numbers.extend(text.content.parse().ok().map(|number| (number, text.bounds()))),
            Shape::Path(path) if path.path.elements().len() == 2 => {
                let bounds = path.path.segments().next().unwrap();
                leaders.push([kurbo::ParamCurve::start(&bounds), kurbo::ParamCurve::end(&bounds)]);
            }
            _ => {}
        }
    }
    (numbers, leaders)
}

/// Distance from the middle of `rect` to waste drawn by `place`, 0 within it.
fn off(piece: &BezPath, rect: Rect) -> f64 {
    use kurbo::ParamCurveNearest as _;
    if piece.winding(rect.center()) != 0 {
        return 0.0;
    }
    // Every half millimetre of the box's rim and its middle line.
    let steps = 12;
    let at = |i: i32, j: i32| {
        let part = |k: i32| f64::from(k) / f64::from(steps);
        Point::new(rect.x0 + rect.width() * part(i), rect.y0 + rect.height() * part(j))
    };
    let points = (0..=steps).flat_map(|i| [at(i, 0), at(i, steps), at(0, i), at(steps, i)]);
    let nearest = |p: Point| piece.segments().map(|seg| seg.nearest(p, 1e-3).distance_sq).fold(f64::INFINITY, f64::min);
    points.map(nearest).fold(f64::INFINITY, f64::min).sqrt()
}

/// A number that stands nearer another opening has that one sawn in its stead.
/// `shrunk` to its middle, a box stands for the disc round it.
fn assert_numbers_are_told_apart(what: &str, outcome: &Outcome, place: Affine, marks: &[Mark], shrunk: bool) {
    let (numbers, leaders) = numbered(marks.iter());
    let pieces: Vec<(u32, BezPath)> =
        outcome.face.cutouts.iter().map(|cutout| (cutout.id, place * cutout.piece.to_path())).collect();
    assert_eq!(numbers.len(), pieces.len(), "{what}: all are numbered once");
    for (number, rect) in numbers {
        let own = &pieces.iter().find(|(id, _)| *id == number).unwrap().1;
        let is_joined = leaders.iter().any(|ends| {
            let [from, to] = *ends;
            // Its disc or plate lies round the figures.
            own.winding(from) != 0 && rect.inflate(2.2, 2.2).contains(to)
        });
        let rect = if shrunk { Rect::from_center_size(rect.center(), (0.0, 0.0)) } else { rect };
        let away = off(own, rect);
        let other = pieces.iter().filter(|(id, _)| *id != number).map(|(id, piece)| (off(piece, rect), *id));
        let other = other.min_by(|a, b| a.0.total_cmp(&b.0));
        assert!(
            is_joined || other.is_none_or(|(far, _)| away < far),
            "{what}: {number} is {away:.2} mm off its own opening, and {other:?}"
        );
    }
}

#[test]
fn numbers_without_a_leader_stand_nearest_their_own_opening() {
    let panels = [["5-1/4in", "10in", "5/8in"], ["3.5in", "6in", "3/8in"], ["4in", "7in", "5/8in"]];
    for name in ["owl", "fox", "moon", "gourd", "cat", "moth"] {
        for size in panels {
            let outcome = demo_face_on(name, size);
            let what = format!("{name} on {size:?}");
            let (layout, sheets) = sheets(&outcome, &printer("letter"));
            let of_order = |mark: &&Mark| mark.layer == Layer::Numbers;
            let shift = layout.tiles[0].shift;
            let board = outcome.face.panel.rect() + shift;
            let on_board = |mark: &Mark| match &mark.shape {
                Shape::Text(text) => board.contains(text.bounds().center()),
                _ => true,
            };
            let marks: Vec<Mark> = sheets[0].marks.iter().filter(of_order).filter(|m| on_board(m)).cloned().collect();
            assert_numbers_are_told_apart(&what, &outcome, Affine::translate(shift), &marks, true);
            // The bench sheet's picture, 96 mm high as there.
            let area = Rect::new(0.0, 0.0, 90.0, 96.0);
            let panel = outcome.face.panel.rect();
            let scale = (area.width() / panel.width()).min(area.height() / panel.height());
            let corner = (area.center().x - panel.width() * scale / 2.0, area.y1 - panel.height() * scale);
            let place = Affine::translate(corner) * Affine::scale(scale);
            assert_numbers_are_told_apart(
                &format!("picture of {what}"),
                &outcome,
                place,
                &picture::small(&outcome, area),
                false,
            );
        }
    }
}

/// What is named on the template is told on the bench sheet.
#[test]
fn the_bench_sheet_tells_every_name_on_the_template() {
    for (name, size) in [("owl", ["5-1/4in", "10in", "5/8in"]), ("moth", ["6in", "7in", "5/8in"])] {
        let outcome = demo_face_on(name, size);
        let (layout, sheets) = sheets(&outcome, &printer("a4"));
        let (template, bench) = sheets.split_at(layout.tiles.len());
        let told = bench.iter().flat_map(words_of).collect::<Vec<_>>().join(" ");
        let told: Vec<&str> = told.split(|c: char| !c.is_ascii_alphanumeric()).collect();
        let is_name = |word: &str| word.len() > 1 && "BTSEI".contains(&word[..1]) && word[1..].parse::<u32>().is_ok();
        let board = outcome.face.panel.rect() + layout.tiles[0].shift;
        let names =
            boxes(&template[0].marks).1.into_iter().filter(|(word, at)| is_name(word) && board.contains(at.center()));
        let names: Vec<String> = names.map(|(word, _)| word).collect();
        assert!(!names.is_empty(), "{name}: something is named");
        for word in names {
            assert!(told.contains(&word.as_str()), "{name}: {word} is on the template and not told");
        }
    }
}

/// Every kind of sign drawn is explained.
#[test]
fn the_legend_explains_slight_turns_and_contacts() {
    let explained = |outcome: &Outcome| {
        sheets(outcome, &printer("letter")).1.iter().flat_map(words_of).collect::<Vec<_>>().join(" ")
    };
    let mut outcome = sample::cat();
    assert!(!explained(&outcome).contains("openings touch"), "not where none do");
    let bridge = outcome.checks.bridges.first_mut().unwrap();
    bridge.feet = [bridge.feet[0]; 2];
    outcome.checks.turns.first_mut().unwrap().severity = Severity::Note;
    let words = explained(&outcome);
    assert!(words.contains("openings touch: no wood") && words.contains("slight turn: saw it slowly"), "{words}");
}
