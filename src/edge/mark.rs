//! Our own mark in the files we write.
//!
//! A file that carries it may be written again; any other is somebody's work
//! and is left alone unless `--force` is given. A shop file carries none: it is
//! the maker's own from the moment it is written.

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
/// | CSV | a first line beginning `# fretgrin` |
/// | HTML | a generator `meta` element beginning `fretgrin` |
/// | DXF | a comment (group code 999) beginning `fretgrin` |
#[must_use]
pub fn is_ours(name: &str, bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(HEAD)];
    let kind = name.rsplit_once('.').map_or("", |(_, kind)| kind).to_lowercase();
    match kind.as_str() {
        "pdf" => follows(bytes, b"/Creator", b"(") || follows(bytes, b"/Producer", b"("),
        "svg" => follows(head, b"<!--", b"") || follows(head, b"data-generator=\"", b""),
        "png" => follows(bytes, b"tEXtSoftware\0", b""),
        "json" => follows(bytes, b"\"generator\":", b"\""),
        "csv" => head.strip_prefix(b"#").is_some_and(|rest| begins(rest, b"")),
        "html" => follows(head, b"name=\"generator\" content=\"", b""),
        "dxf" => follows(head, b"999", b""),
        _ => false,
    }
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
    fn marked_files_are_ours_and_others_are_not() {
        let ours: [(&str, &[u8]); 8] = [
            ("a.pdf", b"%PDF-1.7 ... /Creator (fretgrin 0.1.0) /Title (owl)"),
            ("a.svg", b"<?xml version=\"1.0\"?>\n<!-- fretgrin 0.1.0 -->\n<svg/>"),
            ("A.SVG", b"<svg data-generator=\"fretgrin\"/>"),
            ("a.png", b"\x89PNG....tEXtSoftware\0fretgrin"),
            ("a.json", b"{\n  \"art\": {},\n  \"generator\": \"fretgrin\"\n}"),
            ("a.csv", b"# fretgrin cut list\npart,count"),
            ("a.html", b"<meta name=\"generator\" content=\"fretgrin\">"),
            ("a.dxf", b"999\nfretgrin\n0\nSECTION"),
        ];
        for (name, bytes) in ours {
            assert!(is_ours(name, bytes), "{name}");
        }
        let others: [(&str, &[u8]); 7] = [
            ("a.pdf", b"%PDF-1.7 /Creator (Writer) /Title (fretgrin)"),
            ("a.svg", b"<svg docname=\"fretgrin.svg\"/>"),
            ("a.png", b"\x89PNG....tEXtComment\0fretgrin"),
            ("a.json", b"{\"name\": \"fretgrin\"}"),
            ("a.csv", b"fretgrin,1"),
            ("shop.toml", b"# fretgrin"),
            ("noextension", b"fretgrin"),
        ];
        for (name, bytes) in others {
            assert!(!is_ours(name, bytes), "{name} {}", String::from_utf8_lossy(bytes));
        }
    }

    #[test]
    fn an_empty_file_is_nobodys() {
        for kind in ["pdf", "svg", "png", "json", "csv", "html", "dxf"] {
            assert!(!is_ours(&format!("a.{kind}"), b""), "{kind}");
        }
    }
}
