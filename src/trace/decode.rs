//! Bytes of a picture become grey levels.

use std::io::Cursor;

use image::metadata::Orientation;
use image::{DynamicImage, GenericImageView as _, ImageDecoder as _, ImageReader, Limits, Pixel as _};

use super::{exif, header};

/// A picture in grey levels, `0.0` black to `1.0` white.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// `width × height` levels, row by row from the top.
    pub levels: Vec<f32>,
    /// Dots in an inch, across and down, when the file says.
    pub dpi: Option<(f64, f64)>,
}

impl Picture {
    /// The level at column `x`, row `y`; outside the picture is paper.
    #[must_use]
    pub fn at(&self, x: i64, y: i64) -> f32 {
        let inside = x >= 0 && y >= 0 && (x as usize) < self.width && (y as usize) < self.height;
        if inside { self.levels[y as usize * self.width + x as usize] } else { 1.0 }
    }

    /// Row `y` with one pixel of paper on either side; all paper outside the
    /// picture. `row` is `width + 2` long, its ends are paper already.
    pub(super) fn padded_row(&self, y: i64, row: &mut [f32]) {
        let inner = &mut row[1..=self.width];
        match usize::try_from(y).ok().and_then(|y| self.levels.get(y * self.width..(y + 1) * self.width)) {
            Some(levels) => inner.copy_from_slice(levels),
            None => inner.fill(1.0),
        }
    }
}

/// Most pixels a picture may have: 40 million, an A4 scan at 600 dots in an
/// inch with room to spare.
const MOST_PIXELS: u64 = 40_000_000;
/// Pictures with more are halved, so that a large one costs no more than this:
/// a face 3,000 pixels high is drawn finer than any blade follows.
const ENOUGH_PIXELS: usize = 12_000_000;
/// Most memory the decoder itself may take.
const DECODER_MEMORY: u64 = 200 << 20;

/// Decodes PNG, JPEG, WebP, GIF (first frame) or BMP, the right way up. Alpha is
/// seen on white paper; of light art in one tone, which would vanish there, the
/// alpha is the ink. Levels are those of sRGB, in which drawing programs
/// blend edges.
///
/// # Errors
/// What is wrong, and what to do.
pub fn decode(bytes: &[u8]) -> Result<Picture, Unread> {
    let reader = || ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|e| broken(e.into()));
    let (width, height) = reader()?.into_dimensions().map_err(broken)?;
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(too_large(format!("the picture is {width} by {height} pixels, too large")));
    }
    if header::is_cut_short(bytes) {
        return Err(damaged("the picture's file ends before its picture does".to_owned()));
    }
    let (stored, held, exif_dpi) = stored(reader()?).map_err(broken)?;
    let size = stored.dimensions();
    let turned = exif::on_its_side(held);
    let (width, height) = if turned { (size.1 as usize, size.0 as usize) } else { (size.0 as usize, size.1 as usize) };
    if width == 0 || height == 0 {
        return Err(damaged("the picture has no pixels".to_owned()));
    }
    let halves = width * height > ENOUGH_PIXELS;
    let dpi = header::dpi(bytes).or(exif_dpi.filter(header::plausible));
    let dpi = dpi.map(|(x, y)| if turned { (y, x) } else { (x, y) });
    let dpi = dpi.map(|(x, y)| if halves { (x / 2.0, y / 2.0) } else { (x, y) });
    let stored_level = levels(&stored);
    let level = |x, y| {
        let (x, y) = exif::stored_at(held, size, (x, y));
        stored_level(x, y)
    };
    if !halves {
        let levels = (0..height as u32).flat_map(|y| (0..width as u32).map(move |x| (x, y))).map(|(x, y)| level(x, y));
        return Ok(Picture { width, height, levels: levels.collect(), dpi });
    }
    let (width, height) = (width / 2, height / 2);
    let places = (0..height as u32).flat_map(|y| (0..width as u32).map(move |x| (2 * x, 2 * y)));
    let mean = |(x, y)| (level(x, y) + level(x + 1, y) + level(x, y + 1) + level(x + 1, y + 1)) / 4.0;
    Ok(Picture { width, height, levels: places.map(mean).collect(), dpi })
}

/// Why a picture was not read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unread {
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub advice: &'static str,
}

fn damaged(what: String) -> Unread {
    Unread { what, advice: "copy the file again, or open the picture and save it as PNG" }
}

fn too_large(what: String) -> Unread {
    Unread {
        what,
        advice: "make it smaller in a picture program: half as many pixels across are plenty; 40 million are the most read",
    }
}

fn broken(error: image::ImageError) -> Unread {
    let what = format!("the picture cannot be read: {error}");
    if matches!(error, image::ImageError::Limits(_)) { too_large(what) } else { damaged(what) }
}

/// A picture as stored, which way up the camera was held, and the dots in an
/// inch the camera wrote down.
type Stored = (DynamicImage, Orientation, Option<(f64, f64)>);

fn stored(mut reader: ImageReader<Cursor<&[u8]>>) -> image::ImageResult<Stored> {
    let mut limits = Limits::default();
    limits.max_alloc = Some(DECODER_MEMORY);
    reader.limits(limits.clone());
    let mut decoder = reader.into_decoder()?;
    // The picture itself counts, as in the library's own `decode`.
    limits.reserve(decoder.total_bytes())?;
    decoder.set_limits(limits)?;
    // A picture is worth more than a broken note beside it.
    let exif = decoder.exif_metadata().ok().flatten().unwrap_or_default();
    let held = Orientation::from_exif_chunk(&exif).unwrap_or(Orientation::NoTransforms);
    Ok((DynamicImage::from_decoder(decoder)?, held, exif::dpi(&exif)))
}

/// The level of each pixel of a decoded picture, without a copy of it.
fn levels(decoded: &DynamicImage) -> Box<dyn Fn(u32, u32) -> f32 + '_> {
    match decoded {
        DynamicImage::ImageLuma8(grey) => Box::new(|x, y| f32::from(grey.get_pixel(x, y).0[0]) / 255.0),
        DynamicImage::ImageRgb8(colour) => Box::new(|x, y| f32::from(colour.get_pixel(x, y).to_luma().0[0]) / 255.0),
        _ => {
            let is_light = is_light_on_clear(decoded);
            Box::new(move |x, y| {
                let [grey, alpha] = decoded.get_pixel(x, y).to_luma_alpha().0;
                on_paper(if is_light { 0 } else { grey }, alpha)
            })
        }
    }
}

/// Art is light when its darkest tone is lighter than the middle of the scale, and
/// in one tone when its tones lie within a twelfth of it, the least that parts ink
/// from paper. Ours.
const LIGHT: u8 = 128;
const ONE_TONE: u8 = 21;

/// Whether a picture shows light art in one tone on nothing: white on clear.
fn is_light_on_clear(decoded: &DynamicImage) -> bool {
    if !decoded.color().has_alpha() {
        return false;
    }
    let (mut darkest, mut lightest, mut clear) = (u8::MAX, 0, false);
    for (_, _, pixel) in decoded.pixels() {
        let [grey, alpha] = pixel.to_luma_alpha().0;
        if alpha < 128 {
            clear = true;
        } else {
            (darkest, lightest) = (darkest.min(grey), lightest.max(grey));
        }
    }
    clear && darkest <= lightest && darkest >= LIGHT && lightest - darkest <= ONE_TONE
}

fn on_paper(level: u8, alpha: u8) -> f32 {
    let alpha = f32::from(alpha) / 255.0;
    f32::from(level) / 255.0 * alpha + (1.0 - alpha)
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{DynamicImage, GrayAlphaImage, ImageFormat, LumaA};

    #[test]
    fn clear_pixels_are_paper() {
        let mut image = GrayAlphaImage::from_pixel(2, 1, LumaA([0, 0]));
        image.put_pixel(1, 0, LumaA([0, 255]));
        let mut bytes = Cursor::new(Vec::new());
        DynamicImage::from(image).write_to(&mut bytes, ImageFormat::Png).unwrap();
        let picture = decode(bytes.get_ref()).unwrap();
        assert_eq!(picture.levels, [1.0, 0.0], "transparent is paper, opaque black is ink");
        assert_eq!(picture.dpi, None, "no size given");
    }

    /// White art for dark paper vanished on white.
    #[test]
    fn light_art_in_one_tone_on_nothing_is_ink() {
        let levels = |pixels: &[[u8; 2]]| {
            let raw = pixels.concat();
            let image = GrayAlphaImage::from_raw(pixels.len() as u32, 1, raw).unwrap();
            let mut bytes = Cursor::new(Vec::new());
            DynamicImage::from(image).write_to(&mut bytes, ImageFormat::Png).unwrap();
            decode(bytes.get_ref()).unwrap().levels
        };
        assert_eq!(levels(&[[0, 0], [255, 255]]), [1.0, 0.0], "white on nothing");
        assert_eq!(levels(&[[255, 0], [240, 255], [255, 255]]), [1.0, 0.0, 0.0], "nearly white");
        assert_eq!(levels(&[[255, 255], [255, 255]]), [1.0, 1.0], "a white sheet");
        assert_eq!(levels(&[[0, 0], [255, 255], [0, 255]]), [1.0, 1.0, 0.0], "black and white art");
    }

    /// A picture of 2 by 1 pixels, ink and paper, with an Exif note: the tags
    /// Orientation, XResolution, YResolution (fractions) and ResolutionUnit.
    fn noted_png(held: u16, across: u32, down: u32) -> Vec<u8> {
        let mut exif = b"MM\0\x2a\0\0\0\x08\0\x04".to_vec();
        let field = |tag: u16, kind: u16, value: [u8; 4]| {
            let head = tag.to_be_bytes().into_iter().chain(kind.to_be_bytes()).chain([0, 0, 0, 1]);
            head.chain(value).collect::<Vec<u8>>()
        };
        exif.extend(field(0x112, 3, [0, held as u8, 0, 0]));
        exif.extend(field(0x11a, 5, 62_u32.to_be_bytes()));
        exif.extend(field(0x11b, 5, 70_u32.to_be_bytes()));
        exif.extend(field(0x128, 3, [0, 2, 0, 0]));
        exif.extend([0; 4]);
        exif.extend([across, 1, down, 1].into_iter().flat_map(u32::to_be_bytes));
        let mut bytes = Vec::new();
        let mut encoder = image::codecs::png::PngEncoder::new(&mut bytes);
        image::ImageEncoder::set_exif_metadata(&mut encoder, exif).unwrap();
        image::ImageEncoder::write_image(encoder, &[0, 255], 2, 1, image::ExtendedColorType::L8).unwrap();
        bytes
    }

    /// Exif (CIPA DC-008), 4.6.4 A, Orientation: 2 is mirrored, 3 upside down,
    /// 6 a quarter turn to the right, 8 one to the left.
    #[test]
    fn a_picture_is_seen_the_way_the_camera_was_held() {
        for (held, width, levels) in
            [(1, 2, [0.0, 1.0]), (2, 2, [1.0, 0.0]), (3, 2, [1.0, 0.0]), (6, 1, [0.0, 1.0]), (8, 1, [1.0, 0.0])]
        {
            let picture = decode(&noted_png(held, 150, 300)).unwrap();
            assert_eq!((picture.width, picture.levels.as_slice()), (width, levels.as_slice()), "orientation {held}");
            let dpi = if width == 2 { (150.0, 300.0) } else { (300.0, 150.0) };
            assert_eq!(picture.dpi, Some(dpi), "dots in an inch turn with it, orientation {held}");
        }
    }

    /// The rest of such a picture was made up, in grey.
    #[test]
    fn half_a_jpeg_is_no_picture() {
        let mut bytes = Cursor::new(Vec::new());
        image::GrayImage::new(64, 64).write_to(&mut bytes, ImageFormat::Jpeg).unwrap();
        let bytes = bytes.into_inner();
        assert!(decode(&bytes).is_ok(), "whole");
        assert!(decode(&bytes[..bytes.len() - 8]).is_err(), "cut short");
    }

    #[test]
    fn nonsense_is_a_sentence() {
        for bytes in [&b""[..], b"hello", b"\x89PNG\r\n\x1a\n"] {
            assert!(decode(bytes).is_err(), "not a picture");
        }
    }
}
