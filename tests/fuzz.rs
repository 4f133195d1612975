//! Every reader against files that were damaged at random: an answer or an
//! error, never a panic, never a hang. A fixed seed, so that a failure comes
//! again; `FRETGRIN_FUZZ=20000 cargo test --release --test fuzz` runs longer.

#![expect(clippy::unwrap_used, reason = "a test fails loudly")]

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

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
    assert!(read < rounds(), "some are refused: {read}");
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
    assert!(read < rounds(), "some are refused: {read}");
}
