//! What a picture's file says of itself: dots in an inch, and whether it is all
//! there.

use crate::units::MM_PER_INCH;

/// Dots in an inch from a PNG's `pHYs` chunk (PNG specification, third edition,
/// 11.3.4.3), a JPEG's JFIF header (ITU-T T.871, 10.1) or a BMP's header of 40
/// bytes or more, which gives dots in a metre.
pub(super) fn dpi(bytes: &[u8]) -> Option<(f64, f64)> {
    let found = match bytes {
        [0x89, b'P', b'N', b'G', ..] => png_dpi(bytes),
        [b'B', b'M', ..] => bmp_dpi(bytes),
        _ => jfif_dpi(bytes),
    };
    found.filter(plausible)
}

/// Whether these dots in an inch can be meant.
pub(super) fn plausible((x, y): &(f64, f64)) -> bool {
    (10.0..=10_000.0).contains(x) && (10.0..=10_000.0).contains(y)
}

fn bmp_dpi(bytes: &[u8]) -> Option<(f64, f64)> {
    let number = |at: usize| Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?));
    let inch = |per_metre: u32| f64::from(per_metre) * MM_PER_INCH / 1000.0;
    (number(14)? >= 40).then_some((inch(number(38)?), inch(number(42)?)))
}

fn png_dpi(bytes: &[u8]) -> Option<(f64, f64)> {
    let mut rest = bytes.get(8..)?;
    loop {
        let length = u32::from_be_bytes(rest.get(..4)?.try_into().ok()?) as usize;
        match rest.get(4..8)? {
            b"pHYs" => {
                let body = rest.get(8..17)?;
                let number = |at: usize| u32::from_be_bytes([body[at], body[at + 1], body[at + 2], body[at + 3]]);
                let inch = |per_metre: u32| f64::from(per_metre) * MM_PER_INCH / 1000.0;
                return (body[8] == 1).then(|| (inch(number(0)), inch(number(4))));
            }
            b"IDAT" => return None,
            _ => rest = rest.get(length.checked_add(12)?..)?,
        }
    }
}

fn jfif_dpi(bytes: &[u8]) -> Option<(f64, f64)> {
    let header = bytes.get(..18)?;
    if !header.starts_with(b"\xff\xd8\xff\xe0") || &header[6..11] != b"JFIF\0" {
        return None;
    }
    let number = |at: usize| f64::from(u16::from_be_bytes([header[at], header[at + 1]]));
    match header[13] {
        1 => Some((number(14), number(16))),
        2 => Some((number(14) * MM_PER_INCH / 10.0, number(16) * MM_PER_INCH / 10.0)),
        _ => None,
    }
}

/// Whether a JPEG ends before its end-of-image marker (ITU-T T.81, B.1.1.3): a
/// decoder makes up the rest of such a picture. What follows the marker does no
/// harm. Other kinds are found out by their decoders.
pub(super) fn is_cut_short(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\xff\xd8\xff") && !reaches_end(&bytes[2..])
}

/// Whether the segments of a JPEG, from the second on, come to the end marker.
/// A small picture within a segment has one of its own; it is passed over.
fn reaches_end(mut rest: &[u8]) -> bool {
    loop {
        // Coded data holds 0xff only before 0, a restart marker or a filling 0xff.
        let is_marker = |pair: &[u8]| pair[0] == 0xff && !matches!(pair[1], 0 | 1 | 0xd0..=0xd8 | 0xff);
        let Some(at) = rest.windows(2).position(is_marker) else { return false };
        if rest[at + 1] == 0xd9 {
            return true;
        }
        let Some(&[high, low]) = rest.get(at + 2..at + 4) else { return false };
        let length = usize::from(u16::from_be_bytes([high, low]));
        let Some(after) = rest.get(at + 2 + length..) else { return false };
        rest = after;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_give_the_size() {
        let mut bmp = vec![0; 54];
        bmp[..2].copy_from_slice(b"BM");
        bmp[14] = 40;
        for (at, per_metre) in [(38, 11_811_u32), (42, 5906)] {
            bmp[at..at + 4].copy_from_slice(&per_metre.to_le_bytes());
        }
        let (x, y) = dpi(&bmp).unwrap();
        assert!((x - 300.0).abs() < 0.01 && (y - 150.0).abs() < 0.05, "{x}, {y}");
        assert_eq!(dpi(&[&bmp[..38], &[0; 16]].concat()), None, "not said");
        let mut jfif = b"\xff\xd8\xff\xe0\0\x10JFIF\0\x01\x01\x01".to_vec();
        jfif.extend([1, 44, 1, 44, 0, 0]);
        assert_eq!(dpi(&jfif), Some((300.0, 300.0)), "300 dots in an inch");
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x09pHYs".to_vec();
        png.extend(11_811_u32.to_be_bytes());
        png.extend(11_811_u32.to_be_bytes());
        png.extend([1, 0, 0, 0, 0]);
        let (x, _) = dpi(&png).unwrap();
        assert!((x - 300.0).abs() < 0.01, "11811 a metre is 300 an inch, got {x}");
    }

    #[test]
    fn a_jpeg_without_its_end_is_cut_short() {
        let mut whole = std::io::Cursor::new(Vec::new());
        let picture = image::GrayImage::from_fn(64, 64, |x, y| image::Luma([if x * y < 900 { 0 } else { 255 }]));
        picture.write_to(&mut whole, image::ImageFormat::Jpeg).unwrap();
        let whole = whole.into_inner();
        assert!(!is_cut_short(&whole), "all there");
        assert!(!is_cut_short(&[&whole[..], b"more"].concat()), "what follows does no harm");
        for length in 3..whole.len() {
            assert!(is_cut_short(&whole[..length]), "{length} of {} bytes", whole.len());
        }
        // A thumbnail in a note of its own ends before the picture does.
        let note = [&whole[..2], b"\xff\xe1\0\x06\xff\xd8\xff\xd9", &whole[2..whole.len() - 2]].concat();
        assert!(is_cut_short(&note), "the thumbnail's end is not the picture's");
    }
}
