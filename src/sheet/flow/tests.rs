use super::super::Shape as Drawn;
use super::*;

fn a4() -> Frames {
    Frames::columns("notes", 210.0, 297.0, Rect::new(10.0, 10.0, 200.0, 287.0), 2)
}

fn texts(sheet: &Sheet) -> Vec<&Text> {
    let shapes = sheet.marks.iter().map(|mark| &mark.shape);
    shapes.filter_map(|shape| if let Drawn::Text(text) = shape { Some(text) } else { None }).collect()
}

#[test]
fn a_unit_stays_with_its_number_where_both_fit() {
    let width = |text: &str| font::width(text, style::BODY, Weight::Regular);
    let lines = |room: f64| wrap("3-1/2 in (88.9 mm)", style::BODY, Weight::Regular, room);
    assert_eq!(lines(width("3-1/2 in (88.9")), ["3-1/2 in", "(88.9 mm)"], "together");
    assert_eq!(lines(width("(88.9")), ["3-1/2", "in", "(88.9", "mm)"], "no room for both");
}

#[test]
fn wrapped_lines_fit_and_lose_nothing() {
    let text = "a bridge between the left eye and the beak is thin and Donaudampfschifffahrtsgesellschaft";
    for width in [12.0, 30.0, 80.0] {
        let lines = wrap(text, 2.9, Weight::Regular, width);
        assert!(lines.iter().all(|l| font::width(l, 2.9, Weight::Regular) <= width), "{lines:?}");
        let letters = |t: &str| t.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        assert_eq!(letters(&lines.concat()), letters(text), "every letter kept");
    }
}

#[test]
fn flowing_text_stays_in_its_frames_and_never_overlaps() {
    let mut flow = Flow::new(a4());
    let mut table = Table::new(&[("no.", Align::Right), ("what", Align::Left), ("mm", Align::Right)]).stretching(1);
    for i in 0..120 {
        table.row([i.to_string(), format!("a hole in row {i} of a table with a long story to tell"), "12.70".into()]);
    }
    flow.heading("Findings");
    for i in 0..30 {
        flow.item(
            &format!("{i}"),
            "wood falls out inside cut-out 3, about 120 mm² at 33.0, 120.0 from the corner",
            "bridge it",
        );
    }
    flow.heading("Holes");
    flow.table(&table);
    let sheets = flow.finish();
    assert!(sheets.len() > 1, "runs on to another sheet");
    for sheet in &sheets {
        let boxes: Vec<Rect> = texts(sheet).iter().filter(|t| !t.content.is_empty()).map(|t| t.bounds()).collect();
        for (i, a) in boxes.iter().enumerate() {
            assert!(a.x0 >= 9.9 && a.x1 <= 200.1 && a.y0 >= 9.0 && a.y1 <= 287.1, "inside the frames: {a:?}");
            for b in &boxes[i + 1..] {
                let shared = a.inset(-0.05).intersect(b.inset(-0.05));
                assert!(shared.width() <= 0.0 || shared.height() <= 0.0, "{a:?} over {b:?}");
            }
        }
    }
}

/// Whatever is left of a frame, a heading has its first item under it, and no
/// paragraph leaves one line behind or ahead.
#[test]
fn nothing_stands_alone_at_the_foot_or_the_head_of_a_frame() {
    let long = "a word and another word that together make up a few lines of a column ".repeat(5);
    for filled in 0..60 {
        let mut flow = Flow::new(a4());
        flow.space(1.0);
        flow.y = flow.rect().y1 - 200.0 - f64::from(filled);
        flow.heading("Noticed");
        flow.item("stop", &long, "what to do");
        flow.paragraph(&long);
        let sheets = flow.finish();
        let texts: Vec<&Text> = sheets.iter().flat_map(texts).collect();
        let column = |t: &Text| t.at.x > 105.0;
        let heading = texts.iter().find(|t| t.content == "Noticed").unwrap();
        let stop = texts.iter().find(|t| t.content == "stop").unwrap();
        assert_eq!(column(heading), column(stop), "{filled}: the heading stands alone");
        let paragraph: Vec<_> = texts.iter().rev().take_while(|t| (t.at.x % 98.5 - 10.0).abs() < 0.1).collect();
        let left = paragraph.iter().filter(|t| !column(t)).count();
        assert!(left != 1 && paragraph.len() - left != 1, "{filled}: one line of {} alone", paragraph.len());
    }
}

/// A few words under a heading do not part it from the table they lead to.
#[test]
fn a_heading_and_its_remark_stand_with_the_tables_first_row() {
    let mut table = Table::new(&[("hole", Align::Left), ("drill", Align::Left)]);
    table.row(["h1".to_owned(), "#52".to_owned()]);
    for filled in 0..60 {
        let mut flow = Flow::new(a4());
        flow.y -= 230.0 + f64::from(filled);
        flow.heading("Entry holes");
        flow.remark("From the panel's lower-left corner.");
        flow.table(&table);
        let sheets = flow.finish();
        let left: Vec<f64> = sheets.iter().flat_map(texts).map(|text| text.at.x).filter(|x| *x < 105.0).collect();
        let all: usize = sheets.iter().map(|sheet| texts(sheet).len()).sum();
        assert!(left.is_empty() || left.len() == all, "{filled}: {} of {all} texts at the foot", left.len());
    }
}

#[test]
fn a_figure_as_high_as_can_be_stands_under_its_heading_and_over_its_caption() {
    let mut flow = Flow::new(a4());
    let caption = "a word and another word that together make up a few lines of a caption ".repeat(3);
    flow.y -= 1.0;
    flow.heading("Nails");
    flow.captioned(flow.highest(&caption), &caption, |_| Vec::new());
    let sheets = flow.finish();
    let all: Vec<&Text> = sheets.iter().flat_map(texts).collect();
    assert!(all.len() > 2 && all.iter().all(|text| text.at.x > 105.0), "all in the second column: {all:?}");
}

#[test]
fn shortened_text_fits() {
    let short = shortened("a very long title that will not fit at all", 5.6, Weight::Bold, 40.0);
    assert!(short.ends_with('…') && font::width(&short, 5.6, Weight::Bold) <= 40.0, "{short}");
    assert_eq!(shortened("owl", 5.6, Weight::Bold, 40.0), "owl", "untouched when it fits");
}
