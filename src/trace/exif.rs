//! What a camera wrote beside the picture: which way up it was held, and how
//! many dots go to an inch (Exif, CIPA DC-008:2023).

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

/// The fields read here: XResolution, YResolution, ResolutionUnit.
const ACROSS: u16 = 0x011a;
const DOWN: u16 = 0x011b;
const UNIT: u16 = 0x0128;
/// What is written when the dots in an inch are not known (4.6.4 A,
/// XResolution): such a picture does not say its size.
const UNKNOWN: f64 = 72.0;

/// Dots in an inch, across and down, of the picture as stored.
pub(super) fn dpi(exif: &[u8]) -> Option<(f64, f64)> {
    let fields = Fields::of(exif)?;
    let (across, down) = (fields.ratio(ACROSS)?, fields.ratio(DOWN)?);
    let per_unit = match fields.entry(UNIT).and_then(|at| fields.short(at + 8)) {
        None | Some(2) => 1.0,
        Some(3) => MM_PER_INCH / 10.0,
        Some(_) => return None,
    };
    let known = across != UNKNOWN || down != UNKNOWN;
    known.then_some((across * per_unit, down * per_unit))
}

/// The first directory of fields (TIFF 6.0, section 2), twelve bytes each.
struct Fields<'a> {
    bytes: &'a [u8],
    /// Whether numbers stand with their low byte first.
    little: bool,
    first: usize,
    count: usize,
}

impl<'a> Fields<'a> {
    fn of(bytes: &'a [u8]) -> Option<Self> {
        let little = match bytes.get(..4)? {
            b"II\x2a\0" => true,
            b"MM\0\x2a" => false,
            _ => return None,
        };
        let mut fields = Self { bytes, little, first: 0, count: 0 };
        let directory = fields.long(4)? as usize;
        fields.count = usize::from(fields.short(directory)?);
        fields.first = directory.checked_add(2)?;
        Some(fields)
    }

    fn short(&self, at: usize) -> Option<u16> {
        let two = self.bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self.little { u16::from_le_bytes(two) } else { u16::from_be_bytes(two) })
    }

    fn long(&self, at: usize) -> Option<u32> {
        let four = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if self.little { u32::from_le_bytes(four) } else { u32::from_be_bytes(four) })
    }

    /// Where the field called `tag` starts.
    fn entry(&self, tag: u16) -> Option<usize> {
        (0..self.count).map(|i| self.first.saturating_add(12 * i)).find(|&at| self.short(at) == Some(tag))
    }

    /// A field that holds one fraction.
    fn ratio(&self, tag: u16) -> Option<f64> {
        let at = self.long(self.entry(tag)? + 8)? as usize;
        let (above, below) = (self.long(at)?, self.long(at.checked_add(4)?)?);
        (below > 0).then(|| f64::from(above) / f64::from(below))
    }
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
        for (tag, at) in [(ACROSS, 50u32), (DOWN, 58)] {
            exif.extend(tag.to_le_bytes().into_iter().chain([5, 0, 1, 0, 0, 0]).chain(at.to_le_bytes()));
        }
        exif.extend(UNIT.to_le_bytes().into_iter().chain([3, 0, 1, 0, 0, 0]).chain(unit.to_le_bytes()).chain([0; 6]));
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
