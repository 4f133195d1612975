//! Bitmap art traced back to the outline it was drawn from. A part of what the
//! `trace` benchmark measures in full.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

#[path = "support/roundtrip.rs"]
mod roundtrip;

use fretgrin::diag::Error;
use fretgrin::trace::{self, Options};
use roundtrip::{Score, Way, draw, faces, ours, score, theirs};

fn scores(size: u32, way: Way) -> Vec<(String, Score)> {
    faces()
        .iter()
        .map(|(name, svg)| {
            let case = draw(svg, size, way);
            (name.clone(), score(&case.truth, &ours(&case).0))
        })
        .collect()
}

fn most(scores: &[(String, Score)], of: fn(&Score) -> f64) -> f64 {
    scores.iter().map(|(_, s)| of(s)).fold(0.0, f64::max)
}

#[test]
fn clean_art_comes_back_within_a_fraction_of_a_pixel() {
    for size in [600, 900] {
        let scores = scores(size, Way::Clean);
        for (name, s) in &scores {
            assert!(s.median <= 0.15, "{name} at {size}: median {} px", s.median);
            assert!(s.worst <= 1.0, "{name} at {size}: {} px off at {:?}", s.worst, s.worst_at);
            let ratio = s.segments.1 as f64 / s.segments.0 as f64;
            assert!(ratio <= 2.0, "{name} at {size}: {} segments for {}", s.segments.1, s.segments.0);
        }
        let corners: usize = scores.iter().map(|(_, s)| s.corners.0).sum();
        let kept: usize = scores.iter().map(|(_, s)| s.corners.1).sum();
        assert!(corners > 400 && kept * 200 >= corners * 199, "{kept} of {corners} corners kept at {size}");
    }
}

#[test]
fn spoilt_art_comes_back_nearly_as_well() {
    for (way, median, nearly_all) in
        [(Way::Hard, 0.3, 0.8), (Way::Jpeg, 0.15, 0.4), (Way::Turned, 0.15, 0.4), (Way::Lit, 0.15, 0.4)]
    {
        let scores = scores(600, way);
        assert!(most(&scores, |s| s.median) <= median, "{way:?}: {}", most(&scores, |s| s.median));
        assert!(most(&scores, |s| s.most) <= nearly_all, "{way:?}: {}", most(&scores, |s| s.most));
    }
}

#[test]
fn a_general_tracing_library_is_farther_off_with_more_segments() {
    let (name, svg) = faces().remove(1);
    let case = draw(&svg, 900, Way::Clean);
    let (own, library) = (score(&case.truth, &ours(&case).0), score(&case.truth, &theirs(&case).0));
    assert!(own.median * 3.0 < library.median, "{name}: {} against {}", own.median, library.median);
    assert!(own.segments.1 < library.segments.1, "{name}: {} against {}", own.segments.1, library.segments.1);
}

#[test]
fn no_picture_and_a_blank_one_are_errors() {
    let blank = image::GrayImage::from_pixel(300, 300, image::Luma([250]));
    let mut bytes = std::io::Cursor::new(Vec::new());
    blank.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    for bytes in [b"GIF89a".as_slice(), bytes.get_ref()] {
        let error = trace::trace(bytes, "face.png", &Options::default()).unwrap_err();
        assert!(matches!(&error, Error::Art { place, .. } if place.file.as_deref() == Some("face.png")), "{error}");
    }
}
