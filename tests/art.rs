//! Reading drawings from outside the crate, as the pipeline does.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use fretgrin::art;
use fretgrin::diag::{Error, FindingKind, Noted};
use fretgrin::interpret::{self, Cutting, Laying, Options};

fn read(svg: &str) -> Result<Noted<art::Art>, Error> {
    art::read(svg.as_bytes(), "face.svg", &art::Options::default())
}

fn cut(svg: &str) -> Noted<Cutting> {
    interpret::interpret(&read(svg).unwrap().value, &Options::default()).unwrap()
}

fn area_mm2(cutting: &Cutting) -> f64 {
    cutting.openings.iter().map(|o| o.piece.area()).sum::<f64>() * cutting.unit_mm * cutting.unit_mm
}

#[test]
fn a_square_in_millimetres_is_its_size() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">
<g><rect x="10" y="20" width="30" height="40"/></g></svg>"#;
    let cutting = cut(svg).value;
    assert!((area_mm2(&cutting) - 1200.0).abs() < 1e-3, "{}", area_mm2(&cutting));
    assert!((cutting.extent.x0 - 10.0).abs() < 1e-5 && (cutting.extent.y1 - 60.0).abs() < 1e-5, "{:?}", cutting.extent);
    let place = cutting.openings[0].place.clone().unwrap();
    assert_eq!((place.line, place.column), (Some(2), Some(4)), "{place:?}");
}

/// A drawing of 80 mm by 80 mm.
fn sheet(inside: &str) -> String {
    format!(r#"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">{inside}</svg>"#)
}

/// What is said of a drawing, reading and interpreting.
fn said(svg: &str) -> Vec<String> {
    let read = read(svg).unwrap();
    let cutting = interpret::interpret(&read.value, &Options::default()).unwrap();
    read.findings.into_iter().chain(cutting.findings).map(|f| format!("{:?}: {}", f.severity, f.message)).collect()
}

fn says(svg: &str, words: &str) -> bool {
    said(svg).iter().any(|message| message.starts_with("Care") && message.contains(words))
}

/// Boxes of the openings (mm), left to right, top to bottom.
fn boxes(cutting: &Cutting) -> Vec<[f64; 4]> {
    let mm = cutting.unit_mm;
    let sides = |o: &interpret::Opening| {
        let b = o.piece.bounds();
        [b.x0, b.y0, b.x1, b.y1].map(|v| (v * mm * 100.0).round() / 100.0)
    };
    let mut all: Vec<[f64; 4]> = cutting.openings.iter().map(sides).collect();
    all.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    all
}

/// SVG 2, 13.5.7: subpaths of no length are painted where caps are round or
/// square; with butt caps they are not.
#[test]
fn dots_drawn_as_lines_of_no_length_are_cut() {
    let dots = r##"<g fill="none" stroke="#000" stroke-width="10"><g stroke-linecap="round">
<line x1="20" y1="20" x2="20" y2="20"/><path d="M40 20z"/><path d="M60 20h0"/></g>
<path d="M20 60h0" stroke-linecap="square"/><path d="M60 60h0"/></g>"##;
    let cutting = cut(&sheet(dots)).value;
    let want = [[15.0, 15.0, 25.0, 25.0], [15.0, 55.0, 25.0, 65.0], [35.0, 15.0, 45.0, 25.0], [55.0, 15.0, 65.0, 25.0]];
    assert_eq!(boxes(&cutting), want);
    let area = 3.0 * std::f64::consts::PI * 25.0 + 100.0;
    assert!((area_mm2(&cutting) - area).abs() < 0.1, "{} mm², not {area}", area_mm2(&cutting));
}

/// SVG 2, 13.5.6: a dash of no length is painted as its caps.
#[test]
fn dotted_lines_are_cut_dot_by_dot() {
    for (cap, area) in [("round", std::f64::consts::PI * 9.0), ("square", 36.0)] {
        let line = format!(
            r##"<path d="M10 40h55" stroke="#000" stroke-width="6" stroke-linecap="{cap}" stroke-dasharray="0 10"/>"##
        );
        let cutting = cut(&sheet(&line)).value;
        assert_eq!(cutting.openings.len(), 6, "{cap}");
        assert!((area_mm2(&cutting) - 6.0 * area).abs() < 0.5, "{cap}: {} mm²", area_mm2(&cutting));
        assert!((boxes(&cutting)[3][0] - 37.0).abs() < 0.02, "{cap}: {:?}", boxes(&cutting));
    }
    let ring = r##"<circle cx="40" cy="40" r="28" fill="none" stroke="#000" stroke-width="6" stroke-linecap="round"
stroke-dasharray="0 11"/>"##;
    assert_eq!(cut(&sheet(ring)).value.openings.len(), 16, "round a circle of 176 mm");
}

#[test]
fn openings_beside_a_head_of_lines_are_cut() {
    let face = r##"<g fill="none" stroke="#000" stroke-width=".3"><circle cx="40" cy="46" r="30"/>
<circle cx="28" cy="42" r="5"/><circle cx="52" cy="42" r="5"/><path d="M36 3h8v9h-8z"/></g>"##;
    let Noted { value: cutting, findings } = cut(&sheet(face));
    assert_eq!(cutting.reading, interpret::Reading::Features);
    assert_eq!(cutting.openings.len(), 3, "two eyes and the stalk: {:?}", boxes(&cutting));
    assert!(boxes(&cutting).contains(&[36.0, 3.0, 44.0, 12.0]), "the stalk: {:?}", boxes(&cutting));
    assert!(findings.iter().any(|f| f.message.contains("2 inside it and 1 beside it")), "{findings:?}");
}

/// CSS Transforms 1, 12.1 and 4 (transform-origin), in a style and in a sheet.
#[test]
fn transforms_in_styles_move_shapes() {
    let eye = r#"<rect x="20" y="20" width="10" height="10""#;
    let cases = [
        format!(r#"{eye} style="transform:translate(30px,0)"/>"#),
        format!("<style>.e{{transform: translate(10px, 0) /* and */ translateX(20px) }}</style>{eye} class='e'/>"),
        format!(r#"{eye} style="transform:rotate(90deg);transform-origin:40px 40px;fill:black"/>"#),
        format!(
            r#"<g style="transform: scale(50%)"><g style="transform:translate(60px,20px)">{eye} style="transform:scale(2)"/></g></g>"#
        ),
    ];
    for (number, case) in cases.into_iter().enumerate() {
        let moved = &boxes(&cut(&sheet(&case)).value)[0];
        assert!((moved[0] - 50.0).abs() < 0.01, "case {number}: {moved:?} from {case}");
    }
}

/// CSS Variables 1, 3; Selectors 4, 14.1.
#[test]
fn variables_and_the_root_are_read() {
    let eyes = r#"<circle cx="25" cy="30" r="10"/><circle cx="55" cy="30" r="10"/>"#;
    let paper = r#"<rect class="p" width="80" height="80"/>"#;
    let styles = [
        ":root{--paper:#fff}.p{fill:var(--paper)}",
        ".p{fill:var(--paper, white)}",
        ":root .p{fill:#fff}",
        "svg{--paper : white !important} .p{fill : var( --paper )}",
    ];
    for style in styles {
        let svg = sheet(&format!("<style>{style}</style>{paper}{eyes}"));
        assert_eq!(cut(&svg).value.openings.len(), 2, "{style}");
        assert!(!said(&svg).iter().any(|m| m.starts_with("Care")), "{style}: {:?}", said(&svg));
    }
}

/// What changes the picture and is not understood is told.
#[test]
fn styles_not_understood_are_told() {
    let plain = r##"<rect x="5" y="60" width="20" height="10"/>"##;
    let cases = [
        (
            r##"<rect x="20" y="20" width="9" height="9" style="transform:translate(50%)"/>"##,
            "the transform `translate(50%)`",
        ),
        (r##"<rect x="20" y="20" width="9" height="9" style="transform-box:fill-box"/>"##, "transform-box"),
        (r##"<rect x="20" y="20" width="9" height="9" style="rotate:9deg"/>"##, "the style `rotate`"),
        (
            r##"<path d="M4 4h9v9" fill="none" stroke="#000" stroke-width="4" vector-effect="non-scaling-stroke"/>"##,
            "non-scaling",
        ),
        (
            r##"<g stroke="#000" stroke-width="4" style="stroke-dasharray:2 2"><path d="M4 4h9v9" pathLength="6"/></g>"##,
            "pathLength",
        ),
        (r##"<rect x="20" y="20" width="9" height="9" fill="oklch(95% 0 0)"/>"##, "colour `oklch"),
        (r##"<rect x="20" y="20" width="9" height="9" style="fill:lab(95% 0 0)"/>"##, "colour `lab"),
        (r##"<rect x="20" y="20" width="9" height="9" style="fill:var(--x)"/>"##, "variable"),
        (r##"<rect x="20" y="20" width="9" height="9" style="clip-path:circle(3px)"/>"##, "not clipped"),
        (r##"<style>rect:not(.k){fill:#fff}</style>"##, "rect:not(.k)"),
        (r##"<style>rect:nth-child(3){fill:#fff}</style>"##, "rect:nth-child(3)"),
        (r##"<style>circle{r:9px}</style><circle cx="40" cy="40" r="4"/>"##, "`r` is given by a style"),
        (r##"<style>@media (min-width:3px){rect{fill:#fff}}</style>"##, "@media"),
        (r##"<rect x="20" y="20" width="calc(9px + 1px)" height="9"/>"##, "calc("),
        (
            r##"<linearGradient id="g"><stop offset=".5"/><stop offset=".5" stop-color="#fff"/></linearGradient>
<circle cx="40" cy="40" r="12" fill="url(#g)"/>"##,
            "a gradient is dark on one part",
        ),
    ];
    for (case, words) in cases {
        let svg = sheet(&format!("{plain}{case}"));
        assert!(says(&svg, words), "{case}: {:?}", said(&svg));
    }
    let quiet = [
        r##"<rect x="20" y="20" width="9" height="9" vector-effect="non-scaling-stroke"/>"##,
        r##"<g fill="none" stroke="#000" stroke-width="4"><path d="M9 9h30v9z" vector-effect="none" pathLength="6"/></g>"##,
        r##"<style>rect:hover,a:link{fill:#fff} @media print{rect{fill:#fff}} svg{width:100%} text{x:4px}</style>"##,
        r##"<style>@keyframes k{to{transform:rotate(50%)}} .r{text-transform:none;transform-box:view-box}</style>"##,
        r##"<style>.g{clip-path:url(#c);mask:none}</style><clipPath id="c"><rect width="50" height="50"/></clipPath>"##,
        r##"<linearGradient id="g"><stop/><stop offset="1" stop-color="#333"/></linearGradient>
<circle cx="40" cy="40" r="12" fill="url(#g)"/>"##,
    ];
    for case in quiet {
        let said = said(&sheet(&format!("{plain}{case}")));
        assert!(!said.iter().any(|m| m.starts_with("Care")), "{case}: {said:?}");
    }
}

/// SVG 2, 5.6 (use) and 5.9 (switch): text and bitmaps that are shown by way of
/// them are named like others; what a switch passes over is not.
#[test]
fn text_and_bitmaps_shown_indirectly_are_named() {
    let eye = r#"<rect x="10" y="10" width="40" height="30"/>"#;
    let image = r#"<image width="2" height="2" href="data:image/png;base64,iVBORw0KGgo="/>"#;
    let cases = [
        (format!(r#"<switch><g>{eye}<text y="70">Hi</text></g></switch>"#), "the text `Hi`"),
        (format!(r##"<defs><g id="t"><text y="70">Hi</text></g></defs>{eye}<use href="#t"/>"##), "the text `Hi`"),
        (
            format!(
                r##"<symbol id="t"><g>{image}</g></symbol>{eye}<use href="#u"/><defs><use id="u" href="#t"/></defs>"##
            ),
            "a bitmap",
        ),
    ];
    for (case, words) in cases {
        assert!(says(&sheet(&case), words), "{case}: {:?}", said(&sheet(&case)));
    }
    let passed = [
        format!(r##"<defs><g id="t"><text y="70">Hi</text></g></defs>{eye}"##),
        format!(r#"<switch><foreignObject requiredExtensions="x"/><g>{eye}</g><text>Hi</text></switch>"#),
    ];
    for case in passed {
        assert!(!said(&sheet(&case)).iter().any(|m| m.starts_with("Care")), "{case}: {:?}", said(&sheet(&case)));
    }
}

/// Laid on a window of 200 mm by 100 mm.
fn laying() -> Laying {
    Laying {
        window: (200.0, 100.0),
        turn_deg: 0.0,
        mirror: false,
        width: None,
        height: None,
        scale: None,
        true_size: false,
    }
}

#[test]
fn specks_are_told_by_the_size_they_come_out_at() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
<rect x="10" y="10" width="30" height="80"/><rect x="160" y="10" width="30" height="80"/>
<rect x="90" y="30" width="1.2" height="1.2"/></svg>"#;
    let art = read(svg).unwrap().value;
    let openings = |laying: Laying| {
        let options = Options { laying: Some(laying), ..Options::default() };
        interpret::interpret(&art, &options).unwrap().value.openings.len()
    };
    // The face is 180 mm wide and 80 mm high; the small square is 1.2 mm.
    assert_eq!(openings(laying()), 3, "scaled up a little");
    assert_eq!(openings(Laying { turn_deg: 90.0, ..laying() }), 2, "180 mm on 100 mm: 0.67 mm is a speck");
    assert_eq!(openings(Laying { turn_deg: 90.0, true_size: true, ..laying() }), 3, "1.2 mm as drawn");
    assert_eq!(openings(Laying { width: Some(18.0), ..laying() }), 2, "a tenth of the size");
    assert_eq!(openings(Laying { width: Some(500.0), height: Some(8.0), ..laying() }), 2, "the smaller of two");
    assert_eq!(openings(Laying { scale: Some(0.5), ..laying() }), 2, "half the size");
    assert_eq!(openings(Laying { height: Some(80.0), ..laying() }), 3, "as drawn");
}

#[test]
fn paint_too_pale_to_be_cut_is_told() {
    let eyes = r#"<rect x="20" y="20" width="20" height="20"/><rect x="60" y="20" width="20" height="20"/>"#;
    let told = |more: &str| {
        let noted = cut(&sheet(&format!("{eyes}{more}")));
        let finding = noted.findings.iter().find(|f| f.id == "left-out-pale").cloned();
        (noted.value.openings.len(), finding)
    };
    // Red is 47 % dark: BT.709 luminance 0.213, CIE lightness 53.
    let (cut_out, finding) = told(r##"<rect id="mouth" x="20" y="60" width="60" height="15" fill="#f00"/>"##);
    let finding = finding.unwrap();
    assert_eq!(cut_out, 2, "the mouth is not cut");
    assert_eq!(finding.place.unwrap().element.as_deref(), Some("mouth"));
    assert!((finding.measured.unwrap() - 0.468).abs() < 0.005, "{:?}", finding.measured);
    assert!(
        finding.message.contains("46 % dark, where 50 %") && finding.advice.contains("0.46"),
        "{}",
        finding.message
    );
    let silent = [
        ("a highlight on the dark", r##"<rect x="25" y="25" width="5" height="5" fill="#bbb"/>"##),
        ("paint hardly darker than paper", r##"<rect x="20" y="60" width="60" height="15" fill="#ddd"/>"##),
        ("a line of colour thinner than the saw", r##"<rect x="20" y="60" width="60" height="0.5" fill="#f00"/>"##),
    ];
    for (what, more) in silent {
        assert_eq!(told(more).1, None, "{what}");
    }
    let ground = format!(r##"<rect x="5" y="5" width="90" height="90" fill="#e80"/>{eyes}"##);
    assert!(!says(&sheet(&ground), "too pale"), "a coloured background is none of the face");
}

#[test]
fn a_white_background_changes_nothing() {
    let face = r##"<g fill="none" stroke="#000" stroke-width="3"><circle cx="190" cy="190" r="10"/>
<circle cx="220" cy="190" r="10"/><path d="M180 215q25 20 50 0"/></g>"##;
    let cut_on = |paper: &str| {
        let svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">{paper}{face}</svg>"#
        );
        let options = Options { laying: Some(Laying { window: (150.0, 150.0), ..laying() }), ..Options::default() };
        interpret::interpret(&read(&svg).unwrap().value, &options).unwrap().value
    };
    let (bare, white) = (cut_on(""), cut_on(r##"<rect width="400" height="400" fill="#fff"/>"##));
    assert_eq!((white.reading, boxes(&white)), (bare.reading, boxes(&bare)));
}

#[test]
fn lines_off_the_page_hidden_or_dashed_are_told() {
    let lines = |inside: &str, fill: &str| {
        sheet(&format!(r##"<g fill="{fill}" stroke="#000" stroke-width=".3">{inside}</g>"##))
    };
    let cut_boxes = |svg: &str| boxes(&cut(svg).value);
    let eye = r#"<circle cx="20" cy="40" r="10"/>"#;

    let across = lines(&format!(r#"<circle cx="80" cy="40" r="20"/>{eye}"#), "none");
    assert!(says(&across, "an outline reaches past the drawing's page; it was taken whole"), "{:?}", said(&across));
    assert!(!says(&across, "cut off"), "{:?}", said(&across));
    let beyond = lines(&format!(r#"<circle cx="120" cy="40" r="20"/>{eye}"#), "none");
    assert_eq!(cut_boxes(&beyond), [[10.0, 30.0, 30.0, 50.0]]);
    assert!(says(&beyond, "an outline lies outside the drawing's page"), "{:?}", said(&beyond));

    let hidden = r#"<circle cx="40" cy="40" r="10"/><rect x="20" y="20" width="40" height="40"/><circle cx="10" cy="70" r="5"/>"#;
    let hidden = lines(hidden, "#fff");
    assert_eq!(cut_boxes(&hidden), [[5.0, 65.0, 15.0, 75.0], [20.0, 20.0, 60.0, 60.0]]);
    assert!(says(&hidden, "a line lies hidden under lighter paint; it was left out"), "{:?}", said(&hidden));
    let partly = lines(r#"<circle cx="40" cy="40" r="30"/><circle cx="55" cy="40" r="26"/>"#, "#fff");
    assert!(says(&partly, "partly hidden"), "{:?}", said(&partly));
    let apart = lines(&format!(r#"{eye}<circle cx="60" cy="40" r="10"/>"#), "#fff");
    assert!(!said(&apart).iter().any(|m| m.starts_with("Care")), "{:?}", said(&apart));

    let dashed = lines(&format!(r#"{eye}<circle cx="60" cy="40" r="10" stroke-dasharray="2 2"/>"#), "none");
    assert!(says(&dashed, "a line is drawn in dashes; it was taken as a solid outline"), "{:?}", said(&dashed));
}

#[test]
fn kinds_of_file_not_read_are_named() {
    for (bytes, kind) in [
        (&b"II*\0\x08\0\0\0"[..], "a TIFF picture"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "a HEIC or AVIF picture"),
        (b"%PDF-1.7\n", "a PDF file"),
    ] {
        let error = fretgrin::drawing::read(bytes, "face", &fretgrin::drawing::Options::default()).unwrap_err();
        assert!(error.to_string().contains(kind) && error.advice().contains("PNG or JPEG"), "{kind}: {error}");
    }
}

/// Keeping specks is no advice to one who keeps them.
#[test]
fn a_face_of_dust_is_not_told_to_keep_specks() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="0.1mm" height="0.1mm" viewBox="0 0 100 100">
<circle cx="50" cy="50" r="14"/></svg>"#;
    let art = read(svg).unwrap().value;
    let options = Options { keep_specks: true, ..Options::default() };
    let error = interpret::interpret(&art, &options).unwrap_err();
    assert_eq!(error.advice(), "make the face larger", "{error}");
}

/// The same outline again, a little beside itself, cut a ring of no width with
/// an island in it.
#[test]
fn an_outline_drawn_twice_is_one() {
    let circle = |x: f64, r: f64| {
        format!(r##"<circle cx="{x}" cy="40" r="{r}" fill="none" stroke="#000" stroke-width="0.2"/>"##)
    };
    for (more, islands) in [(0.0, 0), (1e-4, 0), (0.01, 0), (0.05, 0), (0.5, 1)] {
        let drawn = [circle(20.0, 12.0), circle(20.0, 12.0 + more), circle(60.0, 12.0)].concat();
        let Noted { value, findings } = cut(&sheet(&drawn));
        let holes: usize = value.openings.iter().map(|o| o.piece.holes.len()).sum();
        assert_eq!((value.openings.len(), holes), (2, islands), "{more} mm larger");
        let told = findings.iter().any(|f| f.id == "left-out-double");
        assert_eq!(told, islands == 0, "{more} mm larger: {findings:?}");
    }
}

/// Circles drawn on paper in pixels of 0.1 mm, each a line as wide as said.
fn circles_in_pixels(circles: &[(f64, f64, f64, f64)]) -> Vec<u8> {
    let level = |x: u32, y: u32| {
        let off = |&(cx, cy, r, wide): &(f64, f64, f64, f64)| {
            ((f64::from(x) + 0.5 - cx).hypot(f64::from(y) + 0.5 - cy) - r).abs() - wide / 2.0
        };
        let near = circles.iter().map(off).fold(f64::MAX, f64::min);
        image::Luma([(255.0 * (near + 0.5).clamp(0.0, 1.0)) as u8])
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    image::GrayImage::from_fn(800, 800, level).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    bytes.into_inner()
}

fn cut_pixels(circles: &[(f64, f64, f64, f64)]) -> Cutting {
    let mut options = fretgrin::drawing::Options::default();
    options.trace.dpi = Some(254.0);
    let art = fretgrin::drawing::read(&circles_in_pixels(circles), "face.png", &options).unwrap().value;
    interpret::interpret(&art, &Options::default()).unwrap().value
}

/// A line drawing on paper, scanned: each line was sawn as a slot round an
/// island, or with a head round it the whole head fell out.
#[test]
fn a_scanned_line_drawing_is_read_as_lines() {
    let (left, right, head) = ((250.0, 300.0, 90.0, 5.0), (550.0, 300.0, 90.0, 5.0), (400.0, 400.0, 370.0, 5.0));
    let eyes = 2.0 * std::f64::consts::PI * 8.75 * 8.75;
    let face = cut_pixels(&[left, right]);
    assert_eq!((face.reading, face.openings.len()), (interpret::Reading::Lines, 2), "{}", face.why);
    assert!((area_mm2(&face) - eyes).abs() < 0.5, "inside the lines: {} of {eyes} mm²", area_mm2(&face));
    let face = cut_pixels(&[left, right, head]);
    assert_eq!((face.reading, face.openings.len()), (interpret::Reading::Features, 2), "{}", face.why);
    assert!((area_mm2(&face) - eyes).abs() < 0.5, "the head is left off: {} of {eyes} mm²", area_mm2(&face));
    // An ear that touches the head is an outline, too; what is filled is cut as it is.
    let (head, ear, nose) = ((400.0, 400.0, 350.0, 5.0), (400.0, 27.0, 22.0, 5.0), (400.0, 600.0, 15.0, 30.0));
    let face = cut_pixels(&[left, right, head, ear, nose]);
    assert_eq!((face.reading, face.openings.len()), (interpret::Reading::Features, 4), "{}", face.why);
}

#[test]
fn broad_rings_are_still_cut_as_they_are_drawn() {
    let face = cut_pixels(&[(250.0, 300.0, 90.0, 40.0), (550.0, 300.0, 90.0, 40.0)]);
    assert_eq!(face.reading, interpret::Reading::Dark, "{}", face.why);
    // A glint makes no line of an eye.
    let face = cut_pixels(&[(250.0, 300.0, 15.0, 16.0), (550.0, 300.0, 15.0, 16.0)]);
    assert_eq!(face.reading, interpret::Reading::Dark, "{}", face.why);
}

/// Closed paths drawn with a pen `wide` mm wide, in pixels of 0.1 mm; the last has
/// a gap of `gap` mm.
fn pen_drawn(paths: &[&[(f64, f64)]], wide: f64, gap: f64, options: &Options) -> Result<Noted<Cutting>, Error> {
    let mut drawn = String::new();
    for (i, path) in paths.iter().enumerate() {
        let points = path.iter().map(|(x, y)| format!("{x} {y}")).collect::<Vec<_>>().join("L");
        // The gap stands at the start of the path.
        let end = if gap > 0.0 && i + 1 == paths.len() {
            format!("L{} {}", path[0].0 - gap, path[0].1)
        } else {
            "z".to_owned()
        };
        drawn += &format!("M{points}{end}");
    }
    let mut picture = resvg::tiny_skia::Pixmap::new(800, 800).unwrap();
    picture.fill(resvg::tiny_skia::Color::WHITE);
    let svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="800" height="800" viewBox="0 0 80 80"><path d="{drawn}" fill="none" stroke="#000" stroke-width="{wide}" stroke-linecap="round" stroke-linejoin="round"/></svg>"##
    );
    let tree = usvg::Tree::from_str(&svg, &usvg::Options::default()).unwrap();
    resvg::render(&tree, resvg::tiny_skia::Transform::default(), &mut picture.as_mut());
    let mut reading = fretgrin::drawing::Options::default();
    reading.trace.dpi = Some(254.0);
    let art = fretgrin::drawing::read(&picture.encode_png().unwrap(), "face.png", &reading).unwrap().value;
    interpret::interpret(&art, options)
}

const EYE: &[(f64, f64)] = &[(12.0, 15.0), (30.0, 15.0), (30.0, 30.0), (12.0, 30.0)];
const OTHER_EYE: &[(f64, f64)] = &[(50.0, 15.0), (68.0, 15.0), (68.0, 30.0), (50.0, 30.0)];
const MOUTH: &[(f64, f64)] = &[(42.0, 50.0), (65.0, 50.0), (55.0, 68.0), (25.0, 68.0), (15.0, 50.0)];

/// A gap in a scanned outline made the pen's line itself the cut-out.
#[test]
fn a_gap_in_a_scanned_outline_is_told_or_closed() {
    let paths = [EYE, OTHER_EYE, MOUTH];
    let drawn = |gap: f64, allowed: f64| {
        let noted = pen_drawn(&paths, 0.6, gap, &Options { gap: allowed, ..Options::default() }).unwrap();
        let kind = |kind| noted.findings.iter().find(|f| f.kind == kind).cloned();
        (noted.value, kind(FindingKind::OpenOutline), kind(FindingKind::ClosedGap))
    };
    let (whole, open, closed) = drawn(0.0, 0.5);
    assert_eq!((whole.openings.len(), open, closed), (3, None, None), "{}", whole.why);

    let (face, open, closed) = drawn(3.0, 0.5);
    assert_eq!((face.openings.len(), closed), (2, None), "the mouth is left out: {}", face.why);
    // Round ends reach half a line's width into the gap on either side.
    let apart = open.unwrap().measured.unwrap();
    assert!((2.4..3.0).contains(&apart), "{apart}");

    let (face, open, closed) = drawn(3.0, 4.0);
    assert_eq!((face.openings.len(), open), (3, None), "the gap is closed: {}", face.why);
    assert!((2.4..3.0).contains(&closed.unwrap().measured.unwrap()));
    let (area, want) = (area_mm2(&face), area_mm2(&whole));
    assert!((area - want).abs() < 1.0, "{area} mm² of {want}");
}

#[test]
fn an_outline_with_a_gap_is_read_where_nothing_else_is_drawn() {
    let noted = pen_drawn(&[MOUTH], 0.6, 1.0, &Options { gap: 2.0, ..Options::default() }).unwrap();
    assert_eq!((noted.value.reading, noted.value.openings.len()), (interpret::Reading::Lines, 1));
    assert!(noted.value.openings[0].piece.area() * noted.value.unit_mm.powi(2) > 500.0, "its field, not its line");
}

/// Features drawn with a felt pen, without a head, were sawn as rings: every one
/// fell out.
#[test]
fn features_drawn_with_a_felt_pen_are_lines() {
    let drawn = |kerf: f64| {
        pen_drawn(&[EYE, OTHER_EYE, MOUTH], 2.5, 0.0, &Options { kerf, ..Options::default() }).unwrap().value
    };
    let face = drawn(0.7);
    assert_eq!((face.reading, face.openings.len()), (interpret::Reading::Lines, 3), "{}", face.why);
    assert!(face.openings.iter().all(|o| o.piece.holes.is_empty()), "no islands");
    let face = drawn(0.5);
    assert_eq!(face.reading, interpret::Reading::Dark, "broad rings are cut as they are drawn: {}", face.why);
    let lines = face.alternatives.iter().find(|a| a.reading == interpret::Reading::Lines).unwrap();
    assert!(lines.why_not.contains("2.5 mm wide"), "{}", lines.why_not);
}

/// Rules within rules, meshes and other files were passed over without a word.
#[test]
fn what_other_viewers_draw_and_we_do_not_is_told() {
    let eye = r#"<rect class="a" x="10" y="10" width="40" height="30"/>"#;
    let nested = sheet(&format!("<style>g{{.a{{fill:#fff}}}}</style><g>{eye}</g>{eye}"));
    assert!(says(&nested, "the style rules inside that for `g` were not read"), "{:?}", said(&nested));
    let mesh = sheet(&format!(r#"{eye}<meshgradient id="m"/><circle cx="60" cy="60" r="9" fill="url(#m)"/>"#));
    assert!(says(&mesh, "a <meshgradient>, which is not read as paint"), "{:?}", said(&mesh));
    for address in ["other.svg#x", "./other.svg#x", "/other.svg#x"] {
        let error = read(&sheet(&format!(r#"{eye}<use href="{address}"/>"#))).unwrap_err();
        assert!(error.to_string().contains("fetched"), "{address}: {error}");
    }
    let quiet = [
        format!(r##"<a href="#">{eye}</a>"##),
        format!(r##"<linearGradient id="g"><stop/></linearGradient><g fill="url(#g)">{eye}</g>"##),
        format!("{eye}<use href=\"\"/>"),
    ];
    for case in quiet {
        assert!(!said(&sheet(&case)).iter().any(|m| m.starts_with("Care")), "{case}: {:?}", said(&sheet(&case)));
    }
}

/// SVG 2, 7.1: the size of the root is a property, which a style may state.
#[test]
fn the_size_a_style_gives_the_drawing_is_its_size() {
    let drawn = |root: &str| {
        let svg = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 50 50" {root}><rect x="10" y="10" width="20" height="10"/></svg>"#
        );
        area_mm2(&cut(&svg).value)
    };
    for (root, area) in [
        (r#"width="100mm" height="100mm""#, 800.0),
        (r#"style="width:100mm;height:100mm""#, 800.0),
        (r#"style="height: 5cm""#, 200.0),
        (r#"width="100mm" height="100mm" style="width:100%""#, 800.0),
        (r#"style="width:200mm;height:100mm""#, 800.0),
    ] {
        assert!((drawn(root) - area).abs() < 1e-3, "{root}: {} mm²", drawn(root));
    }
}

#[test]
fn a_dark_edge_of_a_picture_is_told() {
    let told = |circles: &[(f64, f64, f64, f64)]| {
        let traced =
            fretgrin::trace::trace(&circles_in_pixels(circles), "face.png", &fretgrin::trace::Options::default());
        traced.unwrap().findings.iter().any(|f| f.id == "dark-edge")
    };
    assert!(!told(&[(250.0, 300.0, 60.0, 100.0)]), "an eye on a sheet");
    // A line as broad as the picture, its middle on the left edge.
    assert!(told(&[(250.0, 300.0, 60.0, 100.0), (-9e5, 400.0, 9e5, 40.0)]), "a scanner's lid at the left");
}
