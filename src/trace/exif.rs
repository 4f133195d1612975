//! What a camera wrote beside the picture: which way up it was held, and how
//! many dots go to an inch (Exif, CIPA DC-008:2023).

use exif::{In, Reader, Tag, Value};
use image::metadata::Orientation;

use crate::units::MM_PER_INCH;

/// Pixels stored, across and down.
type Size = (u32, u32);

/// Whether a picture held so lies on its side: width and height change places.
pub(super) const fn on_its_side(held: Orientation) -> bool {
    use Orientation as O;
    matches!(held, O::Rotate90 | O::Rotate270 | O::Rotate90FlipH | O::Rotate270FlipH)
}

/// Where the pixel seen at `(x, y)` is stored, in a picture of `size` pixels
/// held so (4.6.4 A, Orientation). Looking it up costs no second picture.
pub(super) const fn stored_at(held: Orientation, size: Size, (x, y): (u32, u32)) -> (u32, u32) {
    let (right, bottom) = (size.0 - 1, size.1 - 1);
    match held {
        Orientation::NoTransforms => (x, y),
        Orientation::FlipHorizontal => (right - x, y),
        Orientation::Rotate180 => (right - x, bottom - y),
        Orientation::FlipVertical => (x, bottom - y),
        Orientation::Rotate90FlipH => (y, x),
        Orientation::Rotate90 => (y, bottom - x),
        Orientation::Rotate270FlipH => (right - y, bottom - x),
        Orientation::Rotate270 => (right - y, x),
    }
}

/// What is written when the dots in an inch are not known (4.6.4 A,
/// XResolution): such a picture does not say its size.
const UNKNOWN: f64 = 72.0;

/// Dots in an inch, across and down, of the picture as stored.
pub(super) fn dpi(exif: &[u8]) -> Option<(f64, f64)> {
    let fields = Reader::new().read_raw(exif.to_vec()).ok()?;
    let value = |tag| fields.get_field(tag, In::PRIMARY).map(|field| &field.value);
    let ratio = |tag| match value(tag)? {
        Value::Rational(ratios) => ratios.first().filter(|ratio| ratio.denom > 0).map(|ratio| ratio.to_f64()),
        _ => None,
    };
    let (across, down) = (ratio(Tag::XResolution)?, ratio(Tag::YResolution)?);
    let per_unit = match value(Tag::ResolutionUnit).and_then(|unit| unit.get_uint(0)) {
        None | Some(2) => 1.0,
        Some(3) => MM_PER_INCH / 10.0,
        Some(_) => return None,
    };
    let known = across != UNKNOWN || down != UNKNOWN;
    known.then_some((across * per_unit, down * per_unit))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{DynamicImage, GenericImageView as _, GrayImage, Luma};

    #[test]
    fn pixels_are_looked_up_where_turning_the_picture_would_bring_them() {
        let stored = GrayImage::from_fn(3, 2, |x, y| Luma([(10 * x + y) as u8]));
        for value in 1..=8 {
            let held = Orientation::from_exif(value).unwrap();
            let mut turned = DynamicImage::from(stored.clone());
            turned.apply_orientation(held);
            assert_eq!(on_its_side(held), turned.width() == 2, "orientation {value}");
            for (x, y, pixel) in turned.pixels() {
                let (u, v) = stored_at(held, (3, 2), (x, y));
                assert_eq!(pixel.0[0], stored.get_pixel(u, v).0[0], "orientation {value} at {x}, {y}");
            }
        }
    }

    /// A directory of XResolution, YResolution and ResolutionUnit, low byte first.
    pub(crate) fn resolution(across: u32, down: u32, unit: u16) -> Vec<u8> {
        let mut exif = b"II\x2a\0\x08\0\0\0\x03\0".to_vec();
        for (tag, at) in [(Tag::XResolution, 50u32), (Tag::YResolution, 58)] {
            exif.extend(tag.number().to_le_bytes().into_iter().chain([5, 0, 1, 0, 0, 0]).chain(at.to_le_bytes()));
        }
        exif.extend(
            Tag::ResolutionUnit
                .number()
                .to_le_bytes()
                .into_iter()
                .chain([3, 0, 1, 0, 0, 0])
                .chain(unit.to_le_bytes())
                .chain([0; 6]),
        );
        for number in [across, 1, down, 1] {
            exif.extend(number.to_le_bytes());
        }
        exif
    }

    #[test]
    fn resolutions_in_inches_centimetres_and_not_at_all() {
        assert_eq!(dpi(&resolution(150, 300, 2)), Some((150.0, 300.0)), "dots in an inch");
        assert_eq!(dpi(&resolution(100, 100, 3)), Some((254.0, 254.0)), "dots in a centimetre");
        // CIPA DC-008, 4.6.4 A: unknown is written as 72; unit 1 is no unit.
        assert_eq!((dpi(&resolution(72, 72, 2)), dpi(&resolution(150, 150, 1))), (None, None), "says nothing");
    }

    #[test]
    fn cut_off_and_wild_fields_say_nothing() {
        let whole = resolution(150, 150, 2);
        for end in 0..whole.len() {
            assert_eq!(dpi(&whole[..end]), None, "cut off at {end}");
        }
        let mut wild = whole;
        wild[18..22].copy_from_slice(&u32::MAX.to_le_bytes());
        assert_eq!(dpi(&wild), None, "a fraction outside the file");
    }
}
