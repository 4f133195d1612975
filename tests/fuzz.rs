//! Every reader against files that were damaged at random: an answer or an
//! error, never a panic, never a hang. A fixed seed, so that a failure comes
//! again; `FRETGRIN_FUZZ=20000 cargo test --release --test fuzz` runs longer.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fretgrin::project::Project;
use fretgrin::settings::{Settings, Shop, read};
use fretgrin::{pipeline, trace};

/// Longest any damaged file may take: a hostile megabyte must end in 2 s on an
/// idle machine; these are a hundredth of it, on a busy one.
const LONGEST: Duration = Duration::from_secs(10);

fn rounds() -> u64 {
    std::env::var("FRETGRIN_FUZZ").ok().and_then(|n| n.parse().ok()).unwrap_or(120)
}

/// `SplitMix64` (Steele, Lea, Flood 2014): small, seeded, good enough to damage files.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % sides.max(1) as u64) as usize
    }
}

/// Pieces that have broken readers of such files before.
const TOKENS: &[&str] = &[
    "NaN",
    "1e308",
    "-1e-308",
    "0",
    "<g>",
    "</g>",
    "<use href=\"#a\"/>",
    "clip-path=\"url(#a)\"",
    "id=\"a\"",
    "z",
    "M",
    "A1 1 0 0 1 9 9",
    "&#x0;",
    "&lt;",
    "\"",
    "]",
    "[[",
    "= ",
    "1/0in",
    "\u{feff}",
    "transform=\"scale(0)\"",
    "99999999",
    "\n0\nINSERT\n2\nA\n",
    "\n0\nENDBLK\n",
    "\n0\nSEQEND\n",
    "\n70\n-1\n",
    "\n42\n1e9\n",
    "\n230\n-1\n",
];

fn damaged(bytes: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = bytes.to_vec();
    for _ in 0..=dice.roll(6) {
        let at = dice.roll(bytes.len());
        match dice.roll(6) {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << dice.roll(8),
            1 if !bytes.is_empty() => drop(bytes.drain(at..(at + 1 + dice.roll(40)).min(bytes.len()))),
            2 => bytes.truncate(at),
            3 => {
                let end = (at + dice.roll(200)).min(bytes.len());
                let copy = bytes[at..end].to_vec();
                let to = dice.roll(bytes.len());
                bytes.splice(to..to, copy);
            }
            _ => {
                let token = TOKENS[dice.roll(TOKENS.len())];
                bytes.splice(at..at, token.bytes());
            }
        }
    }
    bytes
}

fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let all = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut found: Vec<PathBuf> = all.filter(|path| path.extension().is_some_and(|e| e == ending)).collect();
    found.sort();
    assert!(!found.is_empty(), "there is something to damage");
    found
}

/// Damages every seed in turn and hands it to `run`; returns how many were
/// still read.
fn batter(seeds: &[Vec<u8>], mut run: impl FnMut(&[u8]) -> bool) -> u64 {
    let (mut dice, mut read) = (Dice(20_261_125), 0);
    for round in 0..rounds() {
        let bytes = damaged(&seeds[round as usize % seeds.len()], &mut dice);
        let started = Instant::now();
        read += u64::from(run(&bytes));
        let took = started.elapsed();
        if took > LONGEST {
            let kept = std::env::temp_dir().join("fretgrin-slow-input");
            fs::write(&kept, &bytes).unwrap();
            panic!("round {round} took {took:?}; the input is in {}", kept.display());
        }
    }
    read
}

#[test]
fn damaged_drawings_are_read_or_refused() {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let seeds: Vec<Vec<u8>> = ["demo-faces", "tests/silhouettes"]
        .iter()
        .flat_map(|f| files(f, "svg"))
        .map(|p| fs::read(p).unwrap())
        .collect();
    let read = batter(&seeds, |bytes| pipeline::check(bytes, "damaged.svg", &settings).is_ok());
    assert!(read > 0 && read < rounds(), "some are read, some refused: {read} of {}", rounds());
}

#[test]
fn damaged_pictures_are_read_or_refused() {
    let mut seeds = Vec::new();
    for format in [image::ImageFormat::Png, image::ImageFormat::Gif, image::ImageFormat::Bmp, image::ImageFormat::WebP]
    {
        let drawn = image::RgbImage::from_fn(64, 64, |x, y| {
            let inside = (i64::from(x) - 32).pow(2) + (i64::from(y) - 30).pow(2) < 400;
            image::Rgb([if inside { 0 } else { 255 }; 3])
        });
        let mut bytes = std::io::Cursor::new(Vec::new());
        image::DynamicImage::from(drawn).write_to(&mut bytes, format).unwrap();
        seeds.push(bytes.into_inner());
    }
    let read = batter(&seeds, |bytes| trace::trace(bytes, "damaged", &trace::Options::default()).is_ok());
    assert!(read > 0 && read < rounds(), "some are read, some refused: {read} of {}", rounds());
}

#[test]
fn damaged_shop_files_are_read_or_refused_with_a_place() {
    let text = fretgrin::settings::new_text(&Shop::default());
    let demo = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces/shop.toml")).unwrap();
    let read = batter(&[text.into_bytes(), demo], |bytes| {
        let text = String::from_utf8_lossy(bytes);
        match read(&text, "shop.toml") {
            Ok((shop, _)) => Settings::resolve(&shop).is_ok(),
            Err(error) => {
                assert!(error.to_string().contains("shop.toml"), "{error}");
                false
            }
        }
    });
    assert!(read > 0 && read < rounds(), "some are read, some refused: {read} of {}", rounds());
}

/// One of every kind of line, a block within a block, and a demo face exported.
fn dxf_seeds(settings: &Settings) -> Vec<Vec<u8>> {
    let owl = fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-faces/owl.svg")).unwrap();
    let exported = pipeline::outlines(&pipeline::check(&owl, "owl", settings).unwrap()).remove(1).bytes;
    let pairs = "0=SECTION 2=HEADER 9=$INSUNITS 70=4 0=ENDSEC 0=SECTION 2=TABLES 0=TABLE 2=LAYER 0=LAYER 2=X 70=0 62=7 0=ENDTAB \
        0=ENDSEC 0=SECTION 2=BLOCKS 0=BLOCK 2=A 10=1 20=1 0=CIRCLE 10=1 20=1 40=6 0=ENDBLK 0=BLOCK 2=B 0=INSERT 2=A 41=2 \
        0=ENDBLK 0=ENDSEC 0=SECTION 2=ENTITIES 0=INSERT 8=X 2=B 10=40 20=40 50=30 70=2 71=2 44=30 45=30 \
        0=LINE 10=0 20=0 11=20 21=0 0=ARC 10=10 20=0 40=10 50=0 51=180 0=ELLIPSE 10=0 20=90 11=20 21=0 40=0.5 \
        0=LWPOLYLINE 70=1 10=-40 20=0 42=0.5 10=-20 20=0 10=-20 20=30 0=SPLINE 70=8 71=2 40=0 40=0 40=0 40=1 40=2 40=2 40=2 \
        10=-60 20=0 10=-60 20=40 10=-90 20=40 10=-60 20=0 0=POLYLINE 66=1 70=1 0=VERTEX 10=9 20=-9 0=VERTEX 10=30 20=-9 \
        42=1 0=VERTEX 10=30 20=-40 0=SEQEND 0=TEXT 1=owl 0=ENDSEC 0=EOF";
    let all = pairs.split_ascii_whitespace().map(|pair| pair.replacen('=', "\n", 1) + "\n").collect::<String>();
    vec![all.into_bytes(), exported]
}

#[test]
fn damaged_dxf_files_are_read_or_refused() {
    let settings = Settings::resolve(&Shop::default()).unwrap();
    let seeds = dxf_seeds(&settings);
    for seed in &seeds {
        assert!(pipeline::check(seed, "whole.dxf", &settings).is_ok(), "a whole file is read");
    }
    let read = batter(&seeds, |bytes| pipeline::check(bytes, "damaged.dxf", &settings).is_ok());
    assert!(read > 0 && read < rounds(), "some are read, some refused: {read} of {}", rounds());
}

#[test]
fn damaged_projects_are_read_or_refused_with_a_place() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let shop = read(&fs::read_to_string(root.join("demo-faces/shop.toml")).unwrap(), "shop.toml").unwrap().0;
    let art = fs::read(root.join("demo-faces/cat.svg")).unwrap();
    let mend = Default::default();
    let project =
        Project { revision: 3, art_name: "cat.svg".to_owned(), art, from: Some("cat.svg".to_owned()), shop, mend };
    let picture = Project { art: vec![0x89, b'P', 0xff, 0], ..project.clone() };
    let seeds = [project, picture].map(|p| p.text().unwrap().into_bytes());
    let read = batter(&seeds, |bytes| match Project::read(&String::from_utf8_lossy(bytes), "a.fretgrin.toml") {
        Ok(project) => Settings::resolve(&project.shop).is_ok(),
        Err(error) => {
            assert!(error.to_string().contains("a.fretgrin.toml"), "{error}");
            false
        }
    });
    assert!(read > 0 && read < rounds(), "some are read, some refused: {read}");
}
