//! What the PDF says when it is read back, length by length.

use kurbo::{Circle, Rect, Shape as _};
use lopdf::content::Content;

use super::*;
use crate::sheet::flow::line;

const MM_PER_POINT: f64 = 25.4 / 72.0;

fn sheet(width: Mm, height: Mm) -> Sheet {
    let mut sheet = Sheet::new("A1", width, height);
    sheet.push(Layer::Rulers, Path::stroke(line((20.0, 30.0), (120.0, 30.0)), Stroke::new(0.2, Ink::BLACK)));
    let ring = |x: f64| Circle::new((x, 150.0), 20.0).to_path(1e-2);
    let both: BezPath = ring(60.0).into_iter().chain(ring(140.0)).collect();
    sheet.push(Layer::CutLines, Path::fill(both, Ink::grey(230)).outlined(Stroke::new(0.22, Ink::BLACK).round()));
    sheet.push(Layer::Title, Text::new("Owl – 5-1/4 × 10 in", (20.0, 250.0), 5.0).bold());
    let inside = Mark::new(Layer::Waste, Path::stroke(line((0.0, 0.0), (50.0, 50.0)), Stroke::new(0.1, Ink::BLACK)));
    sheet.push(
        Layer::Waste,
        Shape::Clip { outline: Rect::new(10.0, 10.0, 40.0, 40.0).to_path(1e-3), marks: vec![inside] },
    );
    sheet
}

fn letter() -> Sheet {
    sheet(Mm::from_inches(8.5), Mm::from_inches(11.0))
}

fn read(bytes: &[u8]) -> lopdf::Document {
    lopdf::Document::load_mem(bytes).unwrap()
}

fn operations(doc: &lopdf::Document, page: u32) -> Vec<(String, Vec<f64>)> {
    let id = doc.get_pages()[&page];
    let content = Content::decode(&doc.get_page_content(id)).unwrap();
    let numbers = |operands: &[Object]| operands.iter().filter_map(|o| o.as_float().ok()).map(f64::from).collect();
    content.operations.iter().map(|op| (op.operator.clone(), numbers(&op.operands))).collect()
}

#[test]
fn page_boxes_are_exact() {
    let cases = [
        (letter(), 612.0, 792.0),
        (sheet(Mm::new(210.0), Mm::new(297.0)), 595.276, 841.890),
        (sheet(Mm::from_inches(8.5), Mm::from_inches(14.0)), 612.0, 1008.0),
        (sheet(Mm::new(297.0), Mm::new(420.0)), 841.890, 1190.551),
        (sheet(Mm::from_inches(17.0), Mm::from_inches(11.0)), 1224.0, 792.0),
    ];
    for (sheet, width, height) in cases {
        let doc = read(&pdf(&[sheet], &Meta::default()).unwrap());
        let page = doc.get_dictionary(doc.get_pages()[&1]).unwrap();
        for name in [b"MediaBox".as_slice(), b"CropBox", b"TrimBox"] {
            let numbers: Vec<f64> =
                page.get(name).unwrap().as_array().unwrap().iter().map(|o| f64::from(o.as_float().unwrap())).collect();
            let exact = numbers[0] == 0.0 && numbers[1] == 0.0;
            assert!(exact && (numbers[2] - width).abs() < 1e-3 && (numbers[3] - height).abs() < 1e-3, "{numbers:?}");
        }
    }
}

#[test]
fn lengths_are_true_to_a_hundredth_of_a_millimetre() {
    let doc = read(&pdf(&[letter()], &Meta::default()).unwrap());
    let ops = operations(&doc, 1);
    let start = ops.iter().position(|(op, _)| op == "m").unwrap();
    let (from, to) = (&ops[start].1, &ops[start + 1].1);
    assert!(((to[0] - from[0]) * MM_PER_POINT - 100.0).abs() < 1e-3, "100 mm: {from:?} {to:?}");
    assert!((from[0] * MM_PER_POINT - 20.0).abs() < 1e-3 && (from[1] * MM_PER_POINT - 30.0).abs() < 1e-3, "placed");
    let ends = ops.iter().filter(|(op, _)| op == "c").map(|(_, n)| n[4] * MM_PER_POINT);
    let (least, most) = ends.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    assert!((least - 40.0).abs() < 1e-3 && (most - 160.0).abs() < 1e-3, "circles span {least} to {most}");
}

#[test]
fn every_ring_is_closed_and_stays_a_curve() {
    let ops = operations(&read(&pdf(&[letter()], &Meta::default()).unwrap()), 1);
    let stroked: Vec<_> = ops.iter().filter(|(op, _)| matches!(op.as_str(), "s" | "h")).collect();
    assert!(stroked.len() >= 3, "one close for the fill, one for each stroked ring: {stroked:?}");
    assert!(ops.iter().filter(|(op, _)| op == "c").count() >= 16, "curves");
    assert!(ops.iter().filter(|(op, _)| op == "l").count() < 8, "no facets");
}

#[test]
fn printing_is_never_scaled_and_nothing_foreign_is_said() {
    let bytes = pdf(&[letter()], &Meta { title: "Owl".into(), subject: "template".into() }).unwrap();
    let doc = read(&bytes);
    assert_eq!(doc.version, "1.7", "layers and PrintScaling need it");
    let preferences = doc.catalog().unwrap().get(b"ViewerPreferences").unwrap().as_dict().unwrap();
    assert_eq!(preferences.get(b"PrintScaling").unwrap().as_name().unwrap(), b"None", "no scaling");
    let info = doc.get_dictionary(doc.trailer.get(b"Info").unwrap().as_reference().unwrap()).unwrap();
    assert!(info.get(b"GTS_PDFXVersion").is_err() && info.get(b"CreationDate").is_err(), "no standard, no date");
    let text = String::from_utf8_lossy(&bytes).into_owned();
    assert!(!text.contains("printpdf") && !text.contains("Adobe"), "no vendor strings");
}

#[test]
fn layers_are_named_and_balanced() {
    let doc = read(&pdf(&[letter()], &Meta::default()).unwrap());
    let groups = doc.catalog().unwrap().get(b"OCProperties").unwrap().as_dict().unwrap().get(b"OCGs").unwrap();
    let name = |o: &Object| {
        let group = doc.get_dictionary(o.as_reference().unwrap()).unwrap();
        String::from_utf8_lossy(group.get(b"Name").unwrap().as_str().unwrap()).into_owned()
    };
    let names: Vec<String> = groups.as_array().unwrap().iter().map(name).collect();
    assert_eq!(names, ["Waste", "Cut lines", "Rulers", "Title"], "in painting order");
    let ops = operations(&doc, 1);
    let mut depth = (0, 0);
    for (op, _) in &ops {
        match op.as_str() {
            "BDC" => depth.0 += 1,
            "EMC" => depth.0 -= 1,
            "q" => depth.1 += 1,
            "Q" => depth.1 -= 1,
            _ => {}
        }
        assert!((0..=1).contains(&depth.0) && depth.1 >= 0, "layers do not nest");
    }
    assert_eq!(depth, (0, 0), "balanced");
}

#[test]
fn the_same_sheets_give_the_same_bytes() {
    let meta = Meta { title: "Owl".into(), subject: String::new() };
    let one = pdf(&[letter(), letter()], &meta).unwrap();
    assert_eq!(one, pdf(&[letter(), letter()], &meta).unwrap(), "deterministic");
    assert_eq!(read(&one).get_pages().len(), 2, "copies are pages repeated");
}
