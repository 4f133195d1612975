#[path = "../tests/support/sample.rs"]
mod sample;
use fretgrin::face::*;
use fretgrin::sheet::{self, layout::*, *};
use fretgrin::trade::papers;
use fretgrin::units::*;
use std::time::Instant;
fn main() {
    let out = std::path::PathBuf::from(std::env::args().nth(1).unwrap());
    std::fs::create_dir_all(&out).unwrap();
    let cautions: Vec<String> = [
        "Eye protection and a dust mask; the dust of redcedar sensitises.",
        "Saw off and unplugged while you thread the blade.",
        "Hold-down just clear of the work, fingers to the side of the line.",
    ]
    .map(String::from)
    .into();
    let nails: Vec<Nail> = [
        (6.0, 20.0),
        (6.0, 80.0),
        (6.0, 174.0),
        (6.0, 234.0),
        (127.35, 20.0),
        (127.35, 80.0),
        (127.35, 174.0),
        (127.35, 234.0),
    ]
    .map(|p| Nail { at: p.into() })
    .into();
    let big = Panel { width: Mm::new(300.0), height: Mm::new(280.0), ..sample::panel() };
    let wide = Panel { width: Mm::new(254.0), height: Mm::new(250.0), grain_deg: 0.0, ..sample::panel() };
    let a3p = Panel { width: Mm::new(190.0), height: Mm::new(230.0), grain_deg: 30.0, ..sample::panel() };
    for (tag, outcome, paper, unit, nails) in [
        ("letter", sample::cat(), "letter", Unit::Inch, &nails[..]),
        ("a4", sample::cat(), "a4", Unit::Mm, &[][..]),
        ("legal", sample::cat(), "legal", Unit::Mm, &[][..]),
        ("a3", sample::cat(), "a3", Unit::Mm, &[][..]),
        ("tiled", sample::cat_on(big), "a4", Unit::Mm, &[][..]),
        ("band", sample::cat_on(a3p), "a4", Unit::Mm, &[]),
        ("wide", sample::cat_on(wide), "letter", Unit::Inch, &[]),
    ] {
        let printer = Printer::true_to_size(papers::find(paper, Unit::Mm).unwrap());
        let request =
            Request { outcome: &outcome, name: "Cat", printer: &printer, unit, nails, cautions: &cautions, copies: 1 };
        let t = Instant::now();
        let pages = sheet::pages(&request).unwrap();
        let t1 = t.elapsed();
        let pdf =
            fretgrin::write::pdf(&pages, &fretgrin::write::Meta { title: "Cat".into(), subject: "template".into() })
                .unwrap();
        let t2 = t.elapsed();
        std::fs::write(out.join(format!("{tag}.pdf")), &pdf).unwrap();
        println!("{tag}: {} pages, pages {t1:?}, pdf {:?}, {} bytes", pages.len(), t2 - t1, pdf.len());
    }
    let outcome = sample::cat();
    let t = Instant::now();
    let picture = sheet::picture(&outcome, "cat");
    let t1 = t.elapsed();
    let svg = fretgrin::write::svg(&picture);
    let t2 = t.elapsed();
    let png = fretgrin::write::png(&picture, 96.0).unwrap();
    let t3 = t.elapsed();
    println!("picture {t1:?} svg {:?} {} png {:?} {}", t2 - t1, svg.len(), t3 - t2, png.len());
    std::fs::write(out.join("cat.svg"), svg).unwrap();
    std::fs::write(out.join("cat.png"), png).unwrap();
    for p in ["letter", "a4"] {
        let r = sheet::ruler::page(&papers::find(p, Unit::Mm).unwrap()).unwrap();
        std::fs::write(out.join(format!("ruler-{p}.pdf")), fretgrin::write::pdf(&[r], &Default::default()).unwrap())
            .unwrap();
    }
}
