//! Reading drawings from outside the crate, as the pipeline does.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use fretgrin::art;
use fretgrin::diag::{Error, Noted};
use fretgrin::interpret::{self, Cutting};

fn read(svg: &str) -> Result<Noted<art::Art>, Error> {
    art::read(svg.as_bytes(), "face.svg", &art::Options::default())
}

fn cut(svg: &str) -> Noted<Cutting> {
    interpret::interpret(&read(svg).unwrap().value, &interpret::Options::default()).unwrap()
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
