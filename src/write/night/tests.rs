use super::*;
use crate::face::{Clearances, Fit, Panel, number_cutouts};
use crate::geom::boolean::{Rule, resolve};
use crate::units::Mm;
use image::{ImageReader, RgbImage};
use std::io::Cursor;

/// A round opening in the middle of a 100 by 200 mm panel.
fn face(thickness: f64) -> Face {
    let mm = Mm::new;
    let circle = kurbo::Shape::to_path(&kurbo::Circle::new((50.0, 100.0), 20.0), 1e-6);
    let pieces = resolve(&circle, Rule::NonZero).pieces;
    Face {
        panel: Panel { width: mm(100.0), height: mm(200.0), thickness: mm(thickness), grain_deg: 90.0 },
        clear: Clearances::all(mm(12.0)),
        cutouts: number_cutouts(pieces.into_iter().map(|p| (p, None)).collect()),
        fit: Fit::AS_DRAWN,
    }
}

fn small() -> View {
    View { height_px: 300, ..View::default() }
}

fn image(night: &Night) -> RgbImage {
    ImageReader::new(Cursor::new(&night.png)).with_guessed_format().unwrap().decode().unwrap().into_rgb8()
}

#[test]
fn the_opening_is_bright_the_wood_dark_and_the_night_darker() {
    let shown = night(&face(15.9), &small()).unwrap();
    let picture = image(&shown);
    let (w, h) = picture.dimensions();
    assert_eq!(h, 300, "height asked for");
    let bright = |x: u32, y: u32| picture.get_pixel(x, y).0.iter().map(|&c| u32::from(c)).sum::<u32>();
    let (open, wood, dark) = (bright(w / 2, h / 2), bright(w / 2, h / 8), bright(2, 2));
    assert!(open > 450 && wood < 220 && dark < 60 && dark < wood, "{open} {wood} {dark}");
}

#[test]
fn shares_follow_the_openings_and_the_thickness() {
    let open = std::f64::consts::PI * 400.0 / 20_000.0;
    let thin = night(&face(0.1), &small()).unwrap();
    assert!((thin.open_share - open).abs() < 1e-4, "open {} against {open}", thin.open_share);
    assert!((thin.lit_share - open).abs() < 0.002, "a thin board hides nothing: {}", thin.lit_share);
    let thick = night(&face(19.0), &small()).unwrap();
    assert!(thick.lit_share < thin.lit_share - 0.003, "a thick one hides some: {}", thick.lit_share);
}

#[test]
fn the_same_face_gives_the_same_picture() {
    assert_eq!(night(&face(15.9), &small()), night(&face(15.9), &small()), "twice");
}

#[test]
fn senseless_sizes_are_refused() {
    for height_px in [0, 40_000] {
        assert!(night(&face(15.9), &View { height_px, ..View::default() }).is_err(), "{height_px}");
    }
}
