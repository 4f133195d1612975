//! Drawings written out by hand, by the DXF reference.

use kurbo::{ParamCurve, Shape};

use super::{is_dxf, read};
use crate::art::{Art, Limits};
use crate::diag::{Error, FindingKind, Noted, Severity};
use crate::drawing::Kind;

/// A drawing of the given sections' bodies, pairs parted by blanks and pairs'
/// halves by `=`: `0=LINE 8=0 10=1.5`.
fn dxf(header: &str, tables: &str, blocks: &str, entities: &str) -> Vec<u8> {
    let section = |name: &str, body: &str| format!("0=SECTION 2={name} {body} 0=ENDSEC ");
    let all = [("HEADER", header), ("TABLES", tables), ("BLOCKS", blocks), ("ENTITIES", entities)];
    let text: String = all.iter().map(|(name, body)| section(name, body)).collect();
    pairs(&format!("{text}0=EOF"))
}

fn pairs(text: &str) -> Vec<u8> {
    let pair = |pair: &str| pair.replacen('=', "\r\n", 1) + "\r\n";
    text.split_ascii_whitespace().map(pair).collect::<String>().into_bytes()
}

fn drawn(entities: &str) -> Noted<Art> {
    read_all(&dxf("9=$INSUNITS 70=4", "", "", entities))
}

fn read_all(bytes: &[u8]) -> Noted<Art> {
    assert_eq!(Kind::of(bytes), Kind::Dxf, "told by its first bytes");
    read(bytes, "face.dxf", &Limits::default()).unwrap()
}

fn refused(bytes: &[u8]) -> Error {
    read(bytes, "face.dxf", &Limits::default()).expect_err("it is refused")
}

/// Area and box (mm) of the only line.
fn only(art: &Art) -> (f64, [f64; 2]) {
    assert_eq!(art.shapes.len(), 1, "one line: {:?}", art.shapes);
    let line = &art.shapes[0].line.as_ref().unwrap().centre;
    let size = line.bounding_box().size() * art.unit_mm;
    (line.area().abs() * art.unit_mm * art.unit_mm, [size.width, size.height])
}

fn close(got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{got}, not {want}");
}

const PI: f64 = std::f64::consts::PI;

#[test]
fn circles_and_ellipses_enclose_what_they_should() {
    let (area, size) = only(&drawn("0=CIRCLE 8=0 10=50 20=60 40=20").value);
    close(area, PI * 400.0, 0.01);
    close(size[0], 40.0, 1e-3);
    let (area, size) = only(&drawn("0=ELLIPSE 8=0 10=5 20=6 11=0 21=40 40=0.5 41=0 42=6.283185307179586").value);
    close(area, PI * 800.0, 0.05);
    close(size[0], 40.0, 1e-3);
    close(size[1], 80.0, 1e-3);
}

#[test]
fn polylines_old_and_new_take_bulges() {
    // A square of 40 with a half circle out of its right side.
    let light = "0=LWPOLYLINE 8=0 90=4 70=1 10=0 20=0 10=40 20=0 42=1 10=40 20=40 10=0 20=40";
    let heavy = "0=POLYLINE 8=0 66=1 70=1 10=0 20=0 0=VERTEX 8=0 10=0 20=0 0=VERTEX 8=0 10=40 20=0 42=1 \
                 0=VERTEX 8=0 10=40 20=40 0=VERTEX 8=0 10=0 20=40 0=SEQEND 8=0";
    for entities in [light, heavy] {
        let (area, size) = only(&drawn(entities).value);
        close(area, 1600.0 + PI * 200.0, 0.01);
        close(size[0], 60.0, 1e-3);
    }
}

#[test]
fn a_cubic_spline_is_exact_and_a_weighted_one_a_circle() {
    // One Bézier arch and its chord, as a clamped spline.
    let knots = "40=0 40=0 40=0 40=0 40=1 40=1 40=1 40=1";
    let arch = format!("0=SPLINE 8=0 70=0 71=3 {knots} 10=0 20=0 10=0 20=40 10=40 20=40 10=40 20=0");
    let noted = drawn(&arch);
    let path = &noted.value.shapes[0].line.as_ref().unwrap().centre;
    assert_eq!(path.segments().count(), 1, "one span is one curve");
    let middle = path.segments().next().unwrap().eval(0.5);
    close(middle.x, 20.0, 1e-9);
    // The quarter-weights circle of nine points (Piegl and Tiller, 7.5).
    let w = std::f64::consts::FRAC_1_SQRT_2;
    let around = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)];
    let points: String = around.iter().map(|(x, y)| format!("10={} 20={} ", 30 * x, 30 * y)).collect();
    let weights: String = (0..9).map(|i| format!("41={} ", if i % 2 == 0 { 1.0 } else { w })).collect();
    let knots = "40=0 40=0 40=0 40=1 40=1 40=2 40=2 40=3 40=3 40=4 40=4 40=4";
    let noted = drawn(&format!("0=SPLINE 8=0 70=4 71=2 {knots} {weights} {points}"));
    let (area, _) = only(&noted.value);
    close(area, PI * 900.0, 0.01);
    assert!(noted.value.shapes[0].line.as_ref().unwrap().centre.segments().count() < 80, "few curves");
}

#[test]
fn a_periodic_spline_closes() {
    let knots: String = (0..11).map(|k| format!("40={k} ")).collect();
    let corner = ["0 0", "40 0", "40 40", "0 40", "0 0", "40 0", "40 40"];
    let points: String =
        corner.iter().map(|c| c.split_once(' ').unwrap()).map(|(x, y)| format!("10={x} 20={y} ")).collect();
    let noted = drawn(&format!("0=SPLINE 8=0 70=3 71=3 {knots} {points}"));
    let path = &noted.value.shapes[0].line.as_ref().unwrap().centre;
    assert_eq!(path.elements().last(), Some(&kurbo::PathEl::ClosePath), "{path:?}");
    assert_eq!(path.segments().filter(|s| matches!(s, kurbo::PathSeg::Cubic(_))).count(), 4, "four spans");
}

#[test]
fn what_is_seen_from_below_is_mirrored() {
    let noted = drawn("0=ARC 8=0 10=10 20=0 40=5 50=0 51=90 230=-1 0=LINE 8=0 10=0 20=0 11=1 21=0");
    // From above, the arc's centre is at -10 and it runs from -15 to the top.
    let bounds = noted.value.bounds();
    close(bounds.width() * noted.value.unit_mm, 16.0, 1e-3);
    let tilted = drawn("0=CIRCLE 8=0 10=1 20=1 40=5 210=1 230=0 0=LINE 8=0 10=0 20=0 11=1 21=0");
    assert!(tilted.findings[0].message.contains("1 × CIRCLE, tilted"), "{:?}", tilted.findings);
}

#[test]
fn blocks_are_put_turned_scaled_and_in_rows() {
    let block = "0=BLOCK 2=eye 10=5 20=5 0=CIRCLE 8=0 10=5 20=5 40=1 0=ENDBLK";
    let insert = "0=INSERT 8=CUTS 2=EYE 10=100 20=100 41=2 42=2 50=90 70=3 71=2 44=10 45=30";
    let noted = read_all(&dxf("9=$INSUNITS 70=4", "", block, insert));
    assert_eq!(noted.value.shapes.len(), 6, "three columns, two rows");
    assert!(noted.value.shapes.iter().all(|s| s.ids[0] == "CUTS"), "layer 0 takes the insertion's layer");
    let size = noted.value.bounds().size() * noted.value.unit_mm;
    close(size.width, 34.0, 1e-3);
    close(size.height, 24.0, 1e-3);
}

#[test]
fn units_give_the_true_size_and_their_want_is_told() {
    let line = "0=CIRCLE 8=0 10=0 20=0 40=1";
    for (code, mm) in [(1, 25.4), (4, 1.0), (5, 10.0), (14, 100.0)] {
        let art = read_all(&dxf(&format!("9=$ACADVER 1=AC1015 9=$INSUNITS 70={code}"), "", "", line)).value;
        close(art.bounds().width() * art.unit_mm, 2.0 * mm, 1e-3 * mm);
    }
    let noted = read_all(&dxf("", "", "", line));
    close(noted.value.bounds().width() * noted.value.unit_mm, 2.0, 1e-3);
    assert!(noted.findings.iter().any(|f| f.message.contains("no unit")), "{:?}", noted.findings);
}

#[test]
fn hidden_layers_paper_space_and_doubles_are_left_out() {
    let layers = "0=TABLE 2=LAYER 0=LAYER 2=Off 70=0 62=-7 0=LAYER 2=Ice 70=1 62=7 0=ENDTAB";
    let circle = |layer: &str, x: i32, more: &str| format!("0=CIRCLE 8={layer} 10={x} 20=0 40=1 {more} ");
    let entities = [
        circle("0", 0, ""),
        circle("OFF", 10, ""),
        circle("ice", 20, ""),
        circle("0", 30, "67=1"),
        circle("0", 40, "60=1"),
        circle("0", 0, ""),
        "0=LINE 8=0 10=0 20=9 11=9 21=9 0=LINE 8=0 10=9 20=9 11=0 21=9".to_owned(),
    ];
    let noted = read_all(&dxf("9=$INSUNITS 70=4", layers, "", &entities.concat()));
    assert_eq!(noted.value.shapes.len(), 2, "the circle and the line, once each");
    assert_eq!(noted.findings.iter().filter(|f| f.message.contains("switched off")).count(), 2, "{:?}", noted.findings);
}

#[test]
fn what_is_no_line_is_counted_and_told() {
    let circle = "0=CIRCLE 8=0 10=0 20=0 40=9 ";
    let noted =
        drawn(&format!("{circle} 0=TEXT 8=0 1=owl 0=MTEXT 8=0 1=owl 0=HATCH 8=0 0=3DSOLID 8=0 0=INSERT 2=GONE"));
    let told: Vec<&str> = noted.findings.iter().map(|f| f.message.as_str()).collect();
    for words in ["2 × text,", "1 × HATCH (a fill)", "3DSOLID", "1 × insertion of the block `GONE`"] {
        assert!(told.iter().any(|t| t.contains(words)), "{words}: {told:?}");
    }
    let fit = drawn(&format!("{circle} 0=SPLINE 71=3 74=2 11=0 21=0 11=5 21=5"));
    assert_eq!(fit.findings[0].severity, Severity::Stop, "{:?}", fit.findings);
    let none = refused(&dxf("", "", "", "0=TEXT 8=0 1=owl"));
    assert!(none.to_string().contains("no outline to saw (1 × text,"), "{none}");
}

#[test]
fn numbers_that_cannot_be_cost_their_entity_only() {
    let good = "0=CIRCLE 8=0 10=0 20=0 40=9 ";
    for bad in [
        "0=CIRCLE 10=nan 20=0 40=9",
        "0=CIRCLE 10=0 20=0 40=-9",
        "0=LINE 10=1e300 20=0 11=0 21=0",
        "0=LINE 10=a 20=0 11=0 21=0",
        "0=ELLIPSE 10=0 20=0 11=0 21=0 40=1",
        "0=LWPOLYLINE 70=1 10=0 20=inf 10=1 20=1",
        "0=POLYLINE 70=1 0=VERTEX 10=0 20=inf 0=VERTEX 10=1 20=1 0=SEQEND",
        "0=SPLINE 71=3 40=0 40=1 10=0 20=0",
        "0=SPLINE 71=-3",
        "0=SPLINE 71=1 40=0 40=0 40=1 40=1 41=-1 41=1 10=0 20=0 10=9 20=9",
    ] {
        let noted = drawn(&format!("{good}{bad}"));
        assert_eq!(noted.value.shapes.len(), 1, "{bad}");
        let told = noted.findings.iter().any(|f| f.kind == FindingKind::LeftOut && f.severity == Severity::Stop);
        assert!(told, "{bad}: {:?}", noted.findings);
    }
}

/// It draws nothing; in an SVG it is a note, too.
#[test]
fn a_circle_of_no_radius_is_a_note() {
    let noted = drawn("0=CIRCLE 8=0 10=0 20=0 40=9 0=CIRCLE 8=0 10=30 20=0 40=0");
    let told: Vec<_> = noted.findings.iter().filter(|f| f.kind == FindingKind::LeftOut).collect();
    assert_eq!(told.len(), 1, "{:?}", noted.findings);
    assert!(told[0].severity == Severity::Note && told[0].message.contains("no radius"), "{told:?}");
}

#[test]
fn other_forms_and_broken_files_are_named() {
    for (bytes, words) in [
        (b"AutoCAD Binary DXF\r\n\x1a\0\0\0SECTION".to_vec(), "binary DXF"),
        (b"AC1027\0\0\0".to_vec(), "this is a DWG"),
        (b"0\nSECTION\n2\nENTITIES\nLINE\n8\n".to_vec(), "not `LINE`"),
        (b"0\n".to_vec(), "the file ends too soon"),
        (b"999\nhello\n".to_vec(), "the file ends too soon"),
        (dxf("", "", "", ""), "nothing is drawn"),
    ] {
        assert!(is_dxf(&bytes), "{words}");
        let error = refused(&bytes);
        assert!(error.to_string().contains(words), "{words}: {error}");
    }
    assert!(!is_dxf(b"<svg/>") && !is_dxf(b"") && !is_dxf(b"0.5"), "nothing else is taken for DXF");
    let mut cut = dxf("9=$INSUNITS 70=4", "", "", "0=CIRCLE 8=0 10=0 20=0 40=9 0=LINE 10=1 20=1 11=2 21=2");
    cut.truncate(cut.len() - 40);
    assert!(read_all(&cut).findings.iter().any(|f| f.message.contains("ends too soon")), "told");
}

#[test]
fn blocks_made_to_break_a_reader_are_refused() {
    let block = |name: &str, body: &str| format!("0=BLOCK 2={name} {body} 0=ENDBLK ");
    let itself = block("A", "0=INSERT 2=B") + &block("B", "0=INSERT 2=A");
    let deep: String = (0..40).map(|i| block(&format!("D{i}"), &format!("0=INSERT 2=D{}", i + 1))).collect();
    let ten = |below: u32| format!("0=INSERT 2=T{below} ").repeat(10);
    let bomb: String = (0..9).map(|i| block(&format!("T{i}"), &ten(i + 1))).collect::<String>() + &block("T9", "");
    let rows = block("E", "");
    for (blocks, entities, words) in [
        (&itself, "0=INSERT 2=A", "holds itself"),
        (&deep, "0=INSERT 2=D0", "too many others"),
        (&bomb, "0=INSERT 2=T0", "more than 200000 entities"),
        (&rows, "0=INSERT 2=E 70=2000000000 71=2000000000", "more than 200000 entities"),
    ] {
        let error = refused(&dxf("", "", blocks, entities));
        assert!(error.to_string().contains(words), "{words}: {error}");
    }
}

#[test]
fn curves_that_meet_at_their_ends_and_middles_are_two() {
    let spline = |up: &str, down: &str| {
        format!(
            "0=SPLINE 8=0 70=8 71=3 72=8 73=4 40=0 40=0 40=0 40=0 40=1 40=1 40=1 40=1 \
             10=0 20=0 10=20 20={up} 10=20 20={down} 10=40 20=0 "
        )
    };
    let one = spline("40", "-40");
    let both = drawn(&format!("{one}{}", spline("-40", "40"))).value;
    assert_eq!(both.shapes.len(), 2, "an S and its mirror image share three points");
    assert_eq!(drawn(&format!("{one}{one}")).value.shapes.len(), 1, "drawn twice");
}
