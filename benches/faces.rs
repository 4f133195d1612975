//! How long a face and a batch take. `cargo bench --bench faces` prints the
//! figures the README quotes.

use std::path::Path;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use fretgrin::boxes::FaceFacts;
use fretgrin::boxes::job;
use fretgrin::check;
use fretgrin::face::{Clearances, Face, Fit, Panel, number_cutouts};
use fretgrin::geom::boolean::polygon;
use fretgrin::geom::tolerance::FLATTEN;
use fretgrin::geom::{Piece, Ring};
use fretgrin::pipeline::{self, Wishes};
use fretgrin::settings::{Settings, Shop, read};
use fretgrin::units::Mm;
use kurbo::Point;

fn demo(name: &str) -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces").join(format!("{name}.svg"));
    std::fs::read(path).expect("the demo face is there")
}

fn settings() -> Settings {
    Settings::resolve(&Shop::default()).expect("the built-in settings hold")
}

fn vertices(face: &Face) -> usize {
    face.cutouts.iter().flat_map(|c| c.piece.rings()).map(|ring| ring.flatten(FLATTEN).len()).sum()
}

fn faces(c: &mut Criterion) {
    let settings = settings();
    let mut group = c.benchmark_group("face");
    for name in ["owl", "fox", "moon", "gourd", "cat", "moth"] {
        let bytes = demo(name);
        let outcome = pipeline::check(&bytes, name, &settings).expect("a demo face is checked");
        let id = BenchmarkId::new("check", format!("{name}, {} vertices", vertices(&outcome.face)));
        group.bench_function(id, |b| b.iter(|| pipeline::check(&bytes, name, &settings)));
        group.bench_function(BenchmarkId::new("documents", name), |b| {
            b.iter(|| pipeline::documents(&outcome, &settings));
        });
        group.sample_size(10);
        group.bench_function(BenchmarkId::new("mend", name), |b| {
            b.iter(|| pipeline::mended(&bytes, name, &settings, |_| Ok(Wishes::default())));
        });
    }
    group.finish();
}

/// A panel of round openings, 16 vertices each, far enough apart to be sound.
fn field(total: usize) -> Face {
    let side = ((total / 16) as f64).sqrt().ceil() as usize;
    let pitch = 12.0;
    let ring = |at: Point| {
        let corner = |i: u32| {
            let angle = f64::from(i) * std::f64::consts::TAU / 16.0;
            at + kurbo::Vec2::new(2.0 * angle.cos(), 2.0 * angle.sin())
        };
        polygon((0..16).map(corner)).map(|ring: Ring| Piece { outer: ring, holes: Vec::new() })
    };
    let spot = |i: usize| Point::new((i % side) as f64 * pitch + 10.0, (i / side) as f64 * pitch + 10.0);
    let pieces = (0..total / 16).filter_map(|i| ring(spot(i))).map(|piece| (piece, None)).collect();
    let size = Mm::new(side as f64 * pitch + 20.0);
    let extent = size.get();
    Face {
        panel: Panel { width: size, height: size, thickness: Mm::new(15.9), grain_deg: 90.0 },
        clear: Clearances::all(Mm::new(5.0)),
        cutouts: number_cutouts(pieces),
        fit: Fit { width_mm: extent, height_mm: extent, ..Fit::AS_DRAWN },
    }
}

fn scaling(c: &mut Criterion) {
    let options = pipeline::check_options(&settings());
    let mut group = c.benchmark_group("checks by vertices");
    group.sample_size(10);
    for total in [1_000, 10_000, 100_000, 1_000_000] {
        let face = field(total);
        group.bench_function(BenchmarkId::from_parameter(total), |b| b.iter(|| check::run(&face, &options)));
    }
    group.finish();
}

fn batch(c: &mut Criterion) {
    let text = String::from_utf8(std::fs::read("demo-faces/shop.toml").expect("the demo shop is there")).expect("text");
    let (shop, _) = read(&text, "shop.toml").expect("the demo shop reads");
    let settings = Settings::resolve(&shop).expect("the demo shop holds");
    let asked = settings.lantern.clone().expect("the demo shop plans a box");
    let face = FaceFacts { name: "owl".into(), cut_length_mm: 1500.0, corners: 40, holes: 18, ..FaceFacts::default() };
    let mut group = c.benchmark_group("boxes planned");
    group.sample_size(10);
    for boxes in [24, 500] {
        let faces = [(face.clone(), boxes)];
        group.bench_function(BenchmarkId::from_parameter(boxes), |b| b.iter(|| job::batch(&settings, &asked, &faces)));
    }
    group.finish();
}

criterion_group!(benches, faces, scaling, batch);
criterion_main!(benches);
