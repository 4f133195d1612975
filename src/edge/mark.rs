//! Our own mark in the files we write.
//!
//! A file that carries it may be written again; any other is somebody's work
//! and is left alone unless `--force` is given. A shop file carries none: it is
//! the maker's own from the moment it is written.

use std::io::{self, Read};

/// The program's name, as every mark spells it.
pub const NAME: &str = "fretgrin";

/// How much of a text file is searched: marks stand near its head.
const HEAD: usize = 4096;

/// Whether the file called `name` with these bytes was written by fretgrin.
///
/// | file | mark |
/// |---|---|
/// | PDF | `/Creator` or `/Producer` beginning `fretgrin` |
/// | SVG | a comment beginning `fretgrin`, or `data-generator="fretgrin` |
/// | PNG | a `tEXt` chunk `Software` beginning `fretgrin` |
/// | JSON | `"generator": "fretgrin` |
/// | CSV | a last column called `fretgrin` |
/// | cache, CSV of old | a first line beginning `# fretgrin` |
/// | HTML | a generator `meta` element beginning `fretgrin` |
/// | manual page | the title `fretgrin` |
/// | DXF | a comment (group code 999) beginning `fretgrin` |
#[must_use]
pub fn is_ours(name: &str, bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(HEAD)];
    match kind(name).as_str() {
        "pdf" => follows(bytes, b"/Creator", b"(") || follows(bytes, b"/Producer", b"("),
        "svg" => follows(head, b"<!--", b"") || follows(head, b"data-generator=\"", b""),
        "png" => follows(bytes, b"tEXtSoftware\0", b""),
        "json" => follows(bytes, b"\"generator\":", b"\""),
        "csv" if is_last_title(head) => true,
        "csv" | "cache" => head.strip_prefix(b"#").is_some_and(|rest| begins(rest, b"")),
        "html" => follows(head, b"name=\"generator\" content=\"", b""),
        "1" => follows(head, b".TH", b""),
        "dxf" => follows(head, b"999", b""),
        _ => false,
    }
}

/// Whether the last of the titles in the first line is the program's name.
fn is_last_title(head: &[u8]) -> bool {
    let line = head.split(|byte| *byte == b'\n').next().unwrap_or_default().trim_ascii_end();
    line.rsplit(|byte| *byte == b',').next() == Some(NAME.as_bytes())
}

fn kind(name: &str) -> String {
    name.rsplit_once('.').map_or("", |(_, kind)| kind).to_lowercase()
}

/// [`is_ours`] of a file, never held whole.
///
/// # Errors
/// What the reader says.
pub fn is_ours_in(name: &str, mut file: impl Read) -> io::Result<bool> {
    /// Bytes looked at together.
    const WINDOW: u64 = 64 * 1024;
    let mut held = Vec::new();
    let mut is_head = true;
    loop {
        let read = file.by_ref().take(WINDOW).read_to_end(&mut held)?;
        if (is_head || is_anywhere(name)) && is_ours(name, &held) {
            return Ok(true);
        }
        if read == 0 || !is_anywhere(name) {
            return Ok(false);
        }
        // A mark may lie across two windows.
        held.drain(..held.len().saturating_sub(HEAD));
        is_head = false;
    }
}

/// Whether a file of this kind carries its mark anywhere, not only in its head.
fn is_anywhere(name: &str) -> bool {
    ["pdf", "png", "json"].contains(&kind(name).as_str())
}

/// The file with our mark, for the kinds whose writers set none themselves (SVG
/// and PNG); any other as it is.
#[must_use]
pub fn stamped(name: &str, bytes: Vec<u8>) -> Vec<u8> {
    if is_ours(name, &bytes) {
        return bytes;
    }
    match name.rsplit_once('.').map_or("", |(_, kind)| kind) {
        "svg" => stamped_svg(bytes),
        "png" => stamped_png(bytes),
        _ => bytes,
    }
}

fn stamp() -> String {
    format!("{NAME} {}", env!("CARGO_PKG_VERSION"))
}

/// A comment goes first, or second after an XML declaration.
fn stamped_svg(bytes: Vec<u8>) -> Vec<u8> {
    let end = b"?>";
    let declared = bytes.starts_with(b"<?xml").then(|| bytes.windows(2).position(|w| w == end)).flatten();
    let (head, rest) = bytes.split_at(declared.map_or(0, |i| i + end.len()));
    let line = if head.is_empty() { "" } else { "\n" };
    [head, format!("{line}<!-- {} -->{}", stamp(), if head.is_empty() { "\n" } else { "" }).as_bytes(), rest].concat()
}

/// Length of the PNG signature and its first chunk, `IHDR` (PNG specification,
/// 5.2 and 11.2.2: 8 bytes and 4 + 4 + 13 + 4).
const PNG_HEAD: usize = 33;

/// A `tEXt` chunk (PNG specification, 11.3.4.3) goes right after `IHDR`.
fn stamped_png(bytes: Vec<u8>) -> Vec<u8> {
    if bytes.len() < PNG_HEAD || !bytes.starts_with(b"\x89PNG") {
        return bytes;
    }
    let body = [&b"tEXtSoftware\0"[..], stamp().as_bytes()].concat();
    let length = (body.len() - 4) as u32;
    let (head, rest) = bytes.split_at(PNG_HEAD);
    [head, &length.to_be_bytes(), &body, &crc32(&body).to_be_bytes(), rest].concat()
}

/// The check sum of a PNG chunk (PNG specification, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    const POLYNOMIAL: u32 = 0xEDB8_8320;
    let step = |c: u32| if c & 1 == 1 { POLYNOMIAL ^ (c >> 1) } else { c >> 1 };
    !bytes.iter().fold(!0, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), |c, _| step(c)))
}

/// Whether some `label` in `bytes` is followed, after white space, by `open`
/// and then the program's name.
fn follows(bytes: &[u8], label: &[u8], open: &[u8]) -> bool {
    let mut at = bytes.windows(label.len()).enumerate().filter(|(_, window)| *window == label);
    at.any(|(i, _)| begins(&bytes[i + label.len()..], open))
}

fn begins(rest: &[u8], open: &[u8]) -> bool {
    let rest = rest.trim_ascii_start();
    rest.strip_prefix(open).is_some_and(|rest| rest.trim_ascii_start().starts_with(NAME.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_found_wherever_a_large_file_has_it() {
        for gap in [0, 100, 65_530, 65_536, 131_070, 300_000] {
            let pdf = [&b"%PDF-1.7 "[..], &vec![b'x'; gap], b" /Creator (fretgrin 0.1.0)"].concat();
            assert!(is_ours_in("a.pdf", pdf.as_slice()).unwrap(), "after {gap} bytes");
            let csv = [&vec![b'x'; gap + 1], &b"# fretgrin"[..]].concat();
            assert!(!is_ours_in("a.csv", csv.as_slice()).unwrap(), "not at its head, after {gap} bytes");
        }
        assert!(!is_ours_in("a.pdf", &b""[..]).unwrap(), "empty");
        assert!(is_ours_in("a.csv", &b"# fretgrin survey\n1,2"[..]).unwrap(), "at its head");
    }

    #[test]
    fn marked_files_are_ours_and_others_are_not() {
        let ours: [(&str, &[u8]); 9] = [
            ("a.pdf", b"%PDF-1.7 ... /Creator (fretgrin 0.1.0) /Title (owl)"),
            ("a.svg", b"<?xml version=\"1.0\"?>\n<!-- fretgrin 0.1.0 -->\n<svg/>"),
            ("A.SVG", b"<svg data-generator=\"fretgrin\"/>"),
            ("a.png", b"\x89PNG....tEXtSoftware\0fretgrin"),
            ("a.json", b"{\n  \"art\": {},\n  \"generator\": \"fretgrin\"\n}"),
            ("a.csv", b"# fretgrin cut list\npart,count"),
            ("b.csv", b"part,count,fretgrin\r\nfront,4,cut list\r\n"),
            ("a.html", b"<meta name=\"generator\" content=\"fretgrin\">"),
            ("a.dxf", b"999\nfretgrin\n0\nSECTION"),
        ];
        for (name, bytes) in ours {
            assert!(is_ours(name, bytes), "{name}");
        }
        let others: [(&str, &[u8]); 8] = [
            ("a.pdf", b"%PDF-1.7 /Creator (Writer) /Title (fretgrin)"),
            ("a.svg", b"<svg docname=\"fretgrin.svg\"/>"),
            ("a.png", b"\x89PNG....tEXtComment\0fretgrin"),
            ("a.json", b"{\"name\": \"fretgrin\"}"),
            ("a.csv", b"fretgrin,1"),
            ("b.csv", b"part,count\r\nfront,fretgrin\r\n"),
            ("shop.toml", b"# fretgrin"),
            ("noextension", b"fretgrin"),
        ];
        for (name, bytes) in others {
            assert!(!is_ours(name, bytes), "{name} {}", String::from_utf8_lossy(bytes));
        }
    }

    #[test]
    fn pictures_are_stamped_once_and_stay_readable() {
        let mut png = Vec::new();
        let pixels = image::RgbImage::from_pixel(3, 2, image::Rgb([1, 2, 3]));
        pixels.write_to(&mut io::Cursor::new(&mut png), image::ImageFormat::Png).unwrap();
        let marked = stamped("a.png", png);
        assert!(is_ours("a.png", &marked), "png");
        assert_eq!(image::load_from_memory(&marked).unwrap().into_rgb8(), pixels, "the decoder checks the sum");
        assert_eq!(stamped("a.png", marked.clone()), marked, "once");
        for svg in [
            "<svg xmlns=\"http://www.w3.org/2000/svg\"/>",
            "<?xml version=\"1.0\"?><svg xmlns=\"http://www.w3.org/2000/svg\"/>",
        ] {
            let marked = stamped("a.svg", svg.into());
            assert!(is_ours("a.svg", &marked), "svg");
            assert!(usvg::roxmltree::Document::parse(std::str::from_utf8(&marked).unwrap()).is_ok(), "{svg}");
        }
    }

    #[test]
    fn the_check_sum_is_the_published_one() {
        // The check value of CRC-32/ISO-HDLC, of which PNG's is an instance.
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn an_empty_file_is_nobodys() {
        for kind in ["pdf", "svg", "png", "json", "csv", "html", "dxf"] {
            assert!(!is_ours(&format!("a.{kind}"), b""), "{kind}");
        }
    }
}
