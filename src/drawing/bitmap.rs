//! A traced bitmap as art.

use kurbo::{Affine, Rect, Shape as _};

use crate::art::{self, Art, Inked};
use crate::diag::{Error, Noted, Place};
use crate::geom::boolean::Rule;
use crate::trace::{self, Options, Traced};
use crate::units::{MM_PER_INCH, PX_PER_INCH};

/// Traces a picture: its ink is one black shape, its sheet the page. Without
/// dots in an inch a pixel counts as a CSS pixel, as in a drawing.
pub(super) fn read(bytes: &[u8], name: &str, options: &Options) -> Result<Noted<Art>, Error> {
    let Noted { value: traced, findings } = trace::trace(bytes, name, options)?;
    Ok(Noted { value: art(&traced, name), findings })
}

fn art(traced: &Traced, name: &str) -> Art {
    let (across, down) = traced.dpi.unwrap_or((PX_PER_INCH, PX_PER_INCH));
    let (width, height) =
        (f64::from(traced.width) * MM_PER_INCH / across, f64::from(traced.height) * MM_PER_INCH / down);
    let unit_mm = art::unit_for(width.max(height));
    let size = Affine::scale_non_uniform(MM_PER_INCH / across / unit_mm, MM_PER_INCH / down / unit_mm);
    let path = size * traced.path.clone();
    let shape = Inked {
        bounds: path.bounding_box(),
        path,
        rule: Rule::EvenOdd,
        darkness: 1.0,
        opacity: 1.0,
        line: None,
        place: Place { file: Some(name.to_owned()), ..Place::default() },
        ids: [].into(),
    };
    let page = Some(Rect::new(0.0, 0.0, width / unit_mm, height / unit_mm));
    Art { name: name.to_owned(), page, unit_mm, placed: false, shapes: vec![shape] }
}

#[cfg(test)]
mod tests {
    use crate::drawing::{Kind, Options, read};
    use image::{GrayImage, ImageFormat, Luma};
    use std::io::Cursor;

    /// A black square of 100 pixels on white, with the sheet's size stated.
    fn square(format: ImageFormat) -> Vec<u8> {
        let inside = |x: u32, y: u32| (50..150).contains(&x) && (70..170).contains(&y);
        let picture = GrayImage::from_fn(200, 240, |x, y| Luma([if inside(x, y) { 0 } else { 255 }]));
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn every_kind_of_bitmap_is_told_by_its_bytes() {
        for format in [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::Gif, ImageFormat::Bmp, ImageFormat::WebP] {
            let bytes = match format {
                // The encoders of these want colour.
                ImageFormat::Gif | ImageFormat::WebP => {
                    let colour = image::load_from_memory(&square(ImageFormat::Png)).unwrap().to_rgba8();
                    let mut bytes = Cursor::new(Vec::new());
                    colour.write_to(&mut bytes, format).unwrap();
                    bytes.into_inner()
                }
                _ => square(format),
            };
            assert_eq!(Kind::of(&bytes), Kind::Bitmap, "{format:?}");
            let art = read(&bytes, "square", &Options::default()).unwrap().value;
            let side = art.bounds().width() * art.unit_mm;
            assert!((side - 100.0 * 25.4 / 96.0).abs() < 0.03, "{format:?}: {side} mm at 96 dots in an inch");
            assert_eq!(art.shapes[0].path.segments().count(), 4, "{format:?}: four sides");
        }
        assert_eq!(Kind::of(b"<svg/>"), Kind::Svg, "svg");
    }

    #[test]
    fn dots_in_an_inch_give_the_true_size() {
        let mut options = Options::default();
        options.trace.dpi = Some(254.0);
        let art = read(&square(ImageFormat::Png), "square.png", &options).unwrap().value;
        assert!((art.bounds().width() * art.unit_mm - 10.0).abs() < 0.01, "{:?} × {}", art.bounds(), art.unit_mm);
        assert!((art.page.unwrap().height() * art.unit_mm - 24.0).abs() < 1e-9, "{:?}", art.page);
    }
}
