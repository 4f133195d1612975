use fretgrin::*;
use std::time::Instant;
fn main() {
    let out = std::path::PathBuf::from(std::env::args().nth(1).unwrap());
    std::fs::create_dir_all(&out).unwrap();
    let settings = settings::Settings::resolve(&settings::Shop::default()).unwrap();
    let mut files: Vec<_> = std::env::args().skip(2).collect();
    if files.is_empty() {
        files = ["owl", "fox", "moon", "gourd", "cat", "moth"].map(|n| format!("demo-faces/{n}.svg")).into();
    }
    for file in files {
        let bytes = std::fs::read(&file).unwrap();
        let t = Instant::now();
        let outcome = pipeline::check(&bytes, &file, &settings).unwrap();
        let t1 = t.elapsed();
        let sheets = pipeline::template_sheets(&outcome, &settings).unwrap();
        let t2 = t.elapsed();
        let pdf = pipeline::template_pdf(&outcome, &settings).unwrap();
        let t3 = t.elapsed();
        let panel = sheet::picture(&outcome, "x");
        let svg = write::svg(&panel);
        let t4 = t.elapsed();
        let png = write::png(&panel, 96.0).unwrap();
        let t5 = t.elapsed();
        println!(
            "{file}: check {t1:?} sheets {:?} pdf {:?} svg {:?} png {:?}; {} pages, {} findings; {} {} {}",
            t2 - t1,
            t3 - t2 - (t2 - t1),
            t4 - t3,
            t5 - t4,
            sheets.len(),
            outcome.findings.len(),
            pdf.len(),
            svg.len(),
            png.len()
        );
        let stem = pipeline::stem(&file);
        std::fs::write(out.join(format!("{stem}.pdf")), pdf).unwrap();
        std::fs::write(out.join(format!("{stem}.svg")), svg).unwrap();
        std::fs::write(out.join(format!("{stem}.png")), png).unwrap();
    }
}
