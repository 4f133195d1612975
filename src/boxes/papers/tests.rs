use kurbo::Rect;

use super::*;
use crate::boxes::job;
use crate::settings::Settings;
use crate::settings::boxes::BoxSettings;
use crate::settings::sections::Shop;
use crate::sheet::{Mark, Shape};

fn settings() -> Settings {
    let shop = Shop { lantern: Some(BoxSettings::default()), ..Shop::default() };
    Settings::resolve(&shop).unwrap()
}

fn faces() -> Vec<(crate::boxes::FaceFacts, u32)> {
    let face = |name: &str, n| {
        let facts = crate::boxes::FaceFacts {
            name: name.to_owned(),
            cut_length_mm: 900.0,
            corners: 24,
            holes: 7,
            open_area_mm2: 3000.0,
            ..Default::default()
        };
        (facts, n)
    };
    vec![face("owl", 4), face("fox", 4), face("moon", 4), face("gourd", 4), face("cat", 4), face("moth", 4)]
}

fn papers() -> Vec<Sheet> {
    let settings = settings();
    let asked = settings.lantern.clone().unwrap();
    let noted = job::batch(&settings, &asked, &faces()).unwrap();
    batch(&noted.value, &Request::of(&settings, &noted.findings, "autumn walk"))
}

/// The papers of one box round a panel of this size, inches.
fn box_papers(width: f64, height: f64) -> Vec<Sheet> {
    let mut settings = settings();
    let length = |inches: f64| Some(crate::settings::Length::Number(inches));
    let asked = BoxSettings { panel_width: length(width), panel_height: length(height), ..BoxSettings::default() };
    settings.lantern = Some(asked.clone());
    let noted = job::lantern(&settings, &asked, None).unwrap();
    lantern(&noted.value, &Request::of(&settings, &noted.findings, "box"))
}

#[test]
fn the_papers_of_one_box_say_what_to_mind() {
    let all: Vec<String> = box_papers(5.25, 10.0).iter().flat_map(|s| texts(&s.marks)).map(|(text, _)| text).collect();
    for text in ["Mind", "brad nailer", "scroll saw"] {
        assert_eq!(all.iter().filter(|t| *t == text).count().min(1), 1, "`{text}` is missing: {all:?}");
    }
    assert!(all.join(" ").contains("manual"), "the tools' manuals come first");
}

#[test]
fn the_windows_millimetres_are_its_own_and_not_those_of_rounded_inches() {
    let settings = settings();
    let noted = job::lantern(&settings, &settings.lantern.clone().unwrap(), None).unwrap();
    let papers = lantern(&noted.value, &Request::of(&settings, &noted.findings, "box"));
    let all: Vec<String> = papers.iter().flat_map(|sheet| texts(&sheet.marks)).map(|(text, _)| text).collect();
    let said = all.iter().find(|text| text.starts_with("It is")).unwrap();
    let figures: Vec<f64> = said.split('(').skip(1).map(|t| t.split(' ').next().unwrap().parse().unwrap()).collect();
    let rect = noted.value.window.rect();
    assert_eq!(figures.len(), 2, "{said}");
    for (told, is) in figures.iter().zip([rect.width(), rect.height()]) {
        assert!(*told <= is && is - told < 0.3, "{said}, the window is {rect:?}");
    }
}

#[test]
fn what_was_noticed_stands_worst_first_and_else_as_it_was_numbered() {
    let settings = settings();
    let noted = job::lantern(&settings, &settings.lantern.clone().unwrap(), None).unwrap();
    let finding = |n: u32| {
        let severity = if n == 11 { Severity::Stop } else { Severity::Care };
        Finding::new(format!("clearance-{n}"), crate::diag::FindingKind::Plan, severity, format!("no. {n}"), "")
    };
    let findings: Vec<Finding> = (1..12).map(finding).collect();
    let sheets = lantern(&noted.value, &Request::of(&settings, &findings, "box"));
    let all = sheets.iter().flat_map(|sheet| texts(&sheet.marks)).map(|(text, _)| text);
    let told: Vec<String> = all.filter(|text| text.starts_with("no. ")).collect();
    let wanted: Vec<String> = [11].into_iter().chain(1..11).map(|n| format!("no. {n}")).collect();
    assert_eq!(told, wanted);
}

#[test]
fn a_small_sheet_has_more_than_a_heading_on_it() {
    let mut settings = settings();
    settings.print.paper = crate::trade::papers::find("200x130mm", Unit::Mm).unwrap();
    let noted = job::lantern(&settings, &settings.lantern.clone().unwrap(), None).unwrap();
    for sheet in lantern(&noted.value, &Request::of(&settings, &noted.findings, "box")) {
        let all: Vec<String> = texts(&sheet.marks).into_iter().map(|(text, _)| text).collect();
        // Three stand in every sheet's head.
        assert!(all.len() > 4, "{}: {all:?}", sheet.name);
    }
}

fn texts(marks: &[Mark]) -> Vec<(String, Rect)> {
    marks
        .iter()
        .flat_map(|mark| match &mark.shape {
            Shape::Text(text) => vec![(text.content.clone(), text.bounds())],
            Shape::Clip { marks, .. } => texts(marks),
            Shape::Path(_) => Vec::new(),
        })
        .collect()
}

#[test]
fn every_mark_lies_inside_the_printable_area_and_no_texts_overlap() {
    let small = [(3.0, 4.0), (8.0, 3.5), (3.0, 20.0), (12.0, 100.0), (2.5, 2.5)]
        .into_iter()
        .flat_map(|(w, h)| box_papers(w, h));
    for sheet in papers().into_iter().chain(small) {
        let margin = 6.0;
        let inside = sheet.rect().inset(-margin);
        let all = texts(&sheet.marks);
        for (i, (text, bounds)) in all.iter().enumerate() {
            assert!(inside.contains_rect(*bounds), "{}: `{text}` at {bounds:?} leaves the paper", sheet.name);
            for (other, theirs) in &all[..i] {
                let both = bounds.intersect(*theirs);
                let overlap = both.width() > 0.05 && both.height() > 0.05 && !text.is_empty() && !other.is_empty();
                assert!(!overlap, "{}: `{text}` and `{other}` overlap at {both:?}", sheet.name);
            }
        }
        for mark in &sheet.marks {
            if let Shape::Path(path) = &mark.shape {
                let bounds = kurbo::Shape::bounding_box(&path.path);
                assert!(
                    inside.inset(0.5).contains_rect(bounds),
                    "{}: a line at {bounds:?} leaves the paper",
                    sheet.name
                );
            }
        }
    }
}

#[test]
fn the_papers_say_what_a_person_needs() {
    let sheets = papers();
    let all: String = sheets.iter().flat_map(|s| texts(&s.marks)).map(|(text, _)| text).collect::<Vec<_>>().join("\n");
    for text in [
        "job sheet",
        "Cut list",
        "Cost of the batch",
        "Fair price",
        "Mind",
        "owl",
        "moth",
        "Every nail",
        "Parts of one box",
    ] {
        assert!(all.contains(text), "`{text}` is missing");
    }
    for text in ["Board 1", "rip at", "crosscut at", "sheet 1 of"] {
        assert!(all.contains(text), "`{text}` is missing");
    }
}

#[test]
fn box_papers_draw_the_face_and_tell_what_is_wrong_with_it() {
    let settings = settings();
    let asked = settings.lantern.clone().unwrap();
    let outline = kurbo::Shape::to_path(&Rect::new(3.0, 30.0, 130.0, 200.0), 0.1);
    let cutouts = vec![crate::boxes::face::FaceCutout { id: "cut-out 1".into(), outline }];
    let face = crate::boxes::FaceFacts { cutouts, ..faces()[0].0.clone() };
    let noted = job::lantern(&settings, &asked, Some(&face)).unwrap();
    let sheets = lantern(&noted.value, &Request::of(&settings, &noted.findings, "box"));
    let all: String = sheets.iter().flat_map(|s| texts(&s.marks)).map(|(text, _)| text).collect::<Vec<_>>().join("\n");
    for text in ["Noticed", "cut-out 1 comes to", "2 things stop this box as it is"] {
        assert!(all.contains(text), "`{text}` is missing: {all}");
    }
    let sawn = sheets.iter().flat_map(|s| &s.marks).filter(|mark| mark.layer == Layer::CutLines).count();
    assert_eq!(sawn, 2, "on the front view and among the nails");
}

/// The papers of seventy-seven boxes from boards with long names and from sheets,
/// on small paper.
fn papers_from(name: &str, [length, width]: [f64; 2], paper: &str) -> Vec<Sheet> {
    let mut shop = Shop { lantern: Some(BoxSettings::default()), ..Shop::default() };
    let mm = crate::settings::Length::Number;
    let board = shop.boards.stock[0].clone();
    shop.units = Unit::Mm;
    shop.paper.size = paper.into();
    shop.boards.stock =
        vec![crate::settings::boxes::StockBoard { name: name.into(), length: mm(length), width: mm(width), ..board }];
    let settings = Settings::resolve(&shop).unwrap();
    let asked = settings.lantern.clone().unwrap();
    let noted = job::batch(&settings, &asked, &[(faces()[0].0.clone(), 77)]).unwrap();
    batch(&noted.value, &Request::of(&settings, &noted.findings, "walk"))
}

#[test]
fn no_cut_and_no_board_is_told_by_half() {
    let name = "larch lath, planed, second choice, with bark on one edge, from the yard by the old mill";
    for (size, paper) in [([3000.0, 120.0], "a5"), ([2000.0, 145.0], "a4"), ([2440.0, 1220.0], "a5")] {
        let sheets = papers_from(name, size, paper);
        let boards: Vec<_> = sheets.iter().filter(|sheet| sheet.name.starts_with("boards")).collect();
        let all: Vec<String> = boards.iter().flat_map(|s| texts(&s.marks)).map(|(text, _)| text).collect();
        assert!(all.iter().all(|text| !text.contains('…')), "{paper}: {all:?}");
        for (sheet, text) in sheets.iter().flat_map(|s| texts(&s.marks).into_iter().map(move |text| (s, text))) {
            let inside = sheet.rect().inset(-4.3);
            assert!(inside.contains_rect(text.1), "{}: `{}` leaves the paper at {:?}", sheet.name, text.0, text.1);
        }
    }
}

#[test]
fn a_sheet_is_drawn_as_wide_as_it_is() {
    let outlines = |sheets: &[Sheet]| {
        let paths = sheets.iter().filter(|s| s.name.starts_with("boards")).flat_map(|s| &s.marks);
        let wood = paths.filter(|mark| mark.layer == Layer::Wood);
        let bounds = wood.filter_map(|mark| match &mark.shape {
            Shape::Path(path) => Some(kurbo::Shape::bounding_box(&path.path)),
            _ => None,
        });
        bounds.reduce(|a, b| if b.area() > a.area() { b } else { a }).unwrap()
    };
    let said =
        |sheets: &[Sheet], text: &str| sheets.iter().flat_map(|s| texts(&s.marks)).any(|(line, _)| line.contains(text));
    let sheets = papers_from("ply sheet", [2440.0, 1220.0], "a4");
    let board = outlines(&sheets);
    assert!((board.width() / board.height() - 2.0).abs() < 0.01, "twice as long as wide: {board:?}");
    assert!(said(&sheets, "All are to one scale") && !said(&sheets, "Widths are drawn larger"), "and says so");
    let square = papers_from("ply sheet", [1525.0, 1525.0], "a5");
    let board = outlines(&square);
    assert!((board.width() / board.height() - 1.0).abs() < 0.01, "as long as wide: {board:?}");
    assert!(said(&papers_from("lath", [2000.0, 145.0], "a4"), "Widths are drawn larger"), "where they are");
}

#[test]
fn the_same_plan_is_drawn_the_same_way() {
    assert_eq!(papers(), papers(), "no clock, no chance");
}

#[test]
fn sheets_too_small_to_work_from_are_refused() {
    let fits = |name: &str| {
        let paper = crate::trade::papers::find(name, Unit::Mm).unwrap();
        let sheet = sheet(&paper, Unit::Mm).map_err(|error| error.advice().to_owned())?;
        Ok::<_, String>(sheet.width > sheet.height)
    };
    assert_eq!([fits("a5"), fits("letter"), fits("5.5x8.5in")], [Ok(false), Ok(false), Ok(false)], "large enough");
    assert_eq!([fits("135x130mm"), fits("130x135mm")], [Ok(true), Ok(true)], "one sheet, however it is named");
    for small in ["4x6in", "5x7in", "105x148mm", "148x105mm"] {
        assert!(fits(small).is_err_and(|advice| advice.contains("135.0 mm (5-3/8 in) by 130.0 mm")), "{small}");
    }
}

/// On a narrow sheet the drawings are lower, not as high as on a wide one with a gap above.
#[test]
fn the_views_leave_no_gap_on_a_narrow_sheet() {
    let mut settings = settings();
    for name in ["a5", "5.5x8.5in", "letter"] {
        settings.print.paper = crate::trade::papers::find(name, Unit::Mm).unwrap();
        let noted = job::lantern(&settings, &settings.lantern.clone().unwrap(), None).unwrap();
        let papers = lantern(&noted.value, &Request::of(&settings, &noted.findings, "box"));
        let parts = papers[0].marks.iter().filter(|mark| mark.layer == Layer::Parts);
        let top = parts.filter_map(|mark| match &mark.shape {
            Shape::Path(path) => Some(kurbo::Shape::bounding_box(&path.path).y1),
            _ => None,
        });
        let gap = area(&settings.print.paper).y1 - HEAD - top.fold(0.0, f64::max);
        assert!((0.0..8.0).contains(&gap), "{gap} mm above the views on {name}");
    }
}
