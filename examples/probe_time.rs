use fretgrin::*;
use std::time::Instant;
fn best<T>(name: &str, mut f: impl FnMut() -> T) -> T {
    let mut least = f64::MAX;
    let mut out = None;
    for _ in 0..40 {
        let t = Instant::now();
        let r = f();
        least = least.min(t.elapsed().as_secs_f64() * 1e3);
        out = Some(r);
    }
    println!("  {name}: {least:.2} ms");
    out.unwrap()
}
fn main() {
    let settings = settings::Settings::resolve(&settings::Shop::default()).unwrap();
    for n in ["owl", "fox", "moth"] {
        println!("{n}");
        let bytes = std::fs::read(format!("demo-faces/{n}.svg")).unwrap();
        let outcome = best("check", || pipeline::check(&bytes, n, &settings).unwrap());
        let flaps = sheet::Flaps::default();
        best("panel::draw", || sheet::panel::draw(&outcome, &flaps, &[]));
        let sheets = best("sheets", || pipeline::template_sheets(&outcome, &settings).unwrap());
        let pdf = best("pdf", || write::pdf(&sheets, &Default::default()).unwrap());
        let pic = best("picture", || sheet::picture(&outcome, "x"));
        let svg = best("svg", || write::svg(&pic));
        let o = best("svg outlines", || write::svg::svg_with(&pic, write::svg::Letters::Outlines));
        let tree = best("usvg", || usvg::Tree::from_str(&o, &usvg::Options::default()).unwrap());
        let px = best("render", || {
            let mut p = resvg::tiny_skia::Pixmap::new(567, 1023).unwrap();
            resvg::render(&tree, resvg::tiny_skia::Transform::from_scale(1.0, 1.0), &mut p.as_mut());
            p
        });
        let png = best("png all", || write::png(&pic, 96.0).unwrap());
        let _ = px;
        println!("  {} {} {} {}", pdf.len(), svg.len(), o.len(), png.len());
    }
}
