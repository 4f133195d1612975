//! The first look at a file: bytes and brackets, before any parser.
//!
//! Costs one pass over the text and no memory. It turns away what is not SVG
//! text at all, and what would make the XML parser itself costly: entity
//! tricks, extreme nesting, elements with thousands of attributes.

use super::Limits;
use super::places::Lines;
use crate::diag::{Error, Place};

/// A text that is safe to hand to the XML parser.
#[derive(Debug)]
pub(super) struct Lexed {
    /// The text, byte for byte as long as the file's. A document type
    /// declaration without entities is blanked out.
    pub(super) text: String,
    /// Whether entities are declared (all of them short and plain).
    pub(super) has_entities: bool,
    /// Where the document type declaration ends; 0 when there is none.
    pub(super) body: usize,
    /// How deep elements are nested.
    pub(super) depth: u32,
}

/// Longest value of one entity. The namespace addresses that drawing programs
/// write as entities are under a hundred bytes long.
const ENTITY_BYTES: usize = 1024;
/// Most bytes all entity references together may grow to.
const ENTITY_TOTAL: usize = 1 << 20;
/// Most namespace declarations times elements (each element looks through all).
const NAMESPACE_LOOKUPS: usize = 20_000_000;

/// Decodes and looks through `bytes`.
///
/// # Errors
/// [`Error::Art`] for whatever is not a safe, well-bracketed SVG text.
pub(super) fn lex(bytes: &[u8], name: &str, limits: &Limits) -> Result<Lexed, Error> {
    let mut text = decode(bytes, name, limits)?;
    let (range, has_entities) = doctype(&text, name)?;
    if !has_entities {
        blank(&mut text, &range);
    }
    let body = range.end;
    let depth = brackets(&text, body, name, limits)?;
    Ok(Lexed { text, has_entities, body, depth })
}

pub(super) fn whole(name: &str) -> Place {
    Place { file: Some(name.to_owned()), ..Place::default() }
}

fn at(name: &str, text: &str, offset: usize) -> Place {
    Lines::of(text).place(name, offset)
}

fn decode(bytes: &[u8], name: &str, limits: &Limits) -> Result<String, Error> {
    let refuse = |what: String, advice: &str| Err(Error::art(whole(name), what, advice));
    if bytes.len() > limits.file_bytes {
        let megabytes = |n: usize| n as f64 / 1e6;
        return refuse(
            format!(
                "the file is {:.1} MB; at most {:.0} MB is read",
                megabytes(bytes.len()),
                megabytes(limits.file_bytes)
            ),
            "simplify the drawing or take bitmaps out of it",
        );
    }
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return refuse("the file is empty".to_owned(), "export the drawing again");
    }
    if let Some(kind) = known_binary(bytes) {
        return refuse(format!("this is {kind}, which is not read"), "save the face as plain SVG, or as PNG or JPEG");
    }
    let text = match bytes {
        [0xFF, 0xFE, rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => utf16(rest, u16::from_be_bytes),
        // The mark is replaced by spaces so that columns and offsets hold.
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8(rest.to_vec()).ok(),
        _ => String::from_utf8(bytes.to_vec()).ok(),
    };
    let text = text.filter(|t| !t.contains('\0'));
    let Some(text) = text else {
        return refuse(
            "the file is not text (neither UTF-8 nor UTF-16)".to_owned(),
            "save the face as plain SVG, UTF-8",
        );
    };
    if !text.contains("svg") {
        return refuse("there is no <svg> element in the file".to_owned(), "save the face as plain SVG");
    }
    Ok(text)
}

/// What drawings come in and is not read, by its first bytes.
fn known_binary(bytes: &[u8]) -> Option<&'static str> {
    // ISO/IEC 14496-12, 4.3: a file of this family names itself at its fifth byte.
    if bytes.get(4..8) == Some(b"ftyp") {
        return Some("a HEIC or AVIF picture");
    }
    let kinds: [(&[u8], &str); 11] = [
        (b"\x89PNG", "a PNG picture"),
        (b"\xFF\xD8\xFF", "a JPEG picture"),
        (b"GIF8", "a GIF picture"),
        (b"BM", "a BMP picture"),
        (b"RIFF", "a WebP picture"),
        (b"II*\0", "a TIFF picture"),
        (b"MM\0*", "a TIFF picture"),
        (b"%PDF", "a PDF file"),
        (b"%!PS", "a PostScript file"),
        (b"\x1F\x8B", "a compressed file"),
        (b"PK\x03\x04", "a ZIP archive"),
    ];
    kinds.iter().find(|(magic, _)| bytes.starts_with(magic)).map(|&(_, kind)| kind)
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Option<String> {
    let pairs = bytes.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return None;
    }
    let units: Vec<u16> = pairs.map(|p| unit([p[0], p[1]])).collect();
    String::from_utf16(&units).ok()
}

/// Finds the document type declaration; checks its entities. Gives its range
/// (empty at 0 when there is none) and whether it declares entities.
fn doctype(text: &str, name: &str) -> Result<(std::ops::Range<usize>, bool), Error> {
    let Some(start) = text.find("<!DOCTYPE") else { return Ok((0..0, false)) };
    let refuse = |offset: usize, what: &str| {
        Err(Error::art(at(name, text, offset), what, "save the face as plain SVG, without a document type"))
    };
    let bytes = text.as_bytes();
    let (mut i, mut inside, mut quote) = (start, false, None);
    while let Some(&b) = bytes.get(i) {
        match (quote, b) {
            (Some(q), _) if q == b => quote = None,
            (Some(_), _) => {}
            (None, b'"' | b'\'') => quote = Some(b),
            (None, b'[') => inside = true,
            (None, b']') => inside = false,
            (None, b'>') if !inside => break,
            (None, _) => {}
        }
        i += 1;
    }
    if i >= bytes.len() {
        return refuse(start, "the document type declaration does not end");
    }
    let range = start..i + 1;
    let has_entities = entities(text, &range, name)?;
    Ok((range, has_entities))
}

/// Checks every `<!ENTITY` in the declaration: internal, short, and without
/// markup or references of its own, so that nothing can grow.
fn entities(text: &str, range: &std::ops::Range<usize>, name: &str) -> Result<bool, Error> {
    let declaration = &text[range.clone()];
    let refuse = |offset: usize, what: &str| {
        let advice = "save the face as plain SVG, without entities";
        Err(Error::art(at(name, text, range.start + offset), what, advice))
    };
    let mut longest = None::<usize>;
    for (offset, _) in declaration.match_indices("<!ENTITY") {
        let rest = &declaration[offset + "<!ENTITY".len()..];
        let head = &rest[..rest.find(['"', '\'']).unwrap_or(rest.len())];
        if head.contains('%') || head.contains("SYSTEM") || head.contains("PUBLIC") {
            return refuse(offset, "the drawing declares an entity that stands for another file");
        }
        let Some(quote) = rest.find(['"', '\'']) else { return refuse(offset, "an entity has no value") };
        let value = &rest[quote + 1..];
        let end = value.find(rest.as_bytes()[quote] as char);
        let Some(value) = end.map(|end| &value[..end]) else { return refuse(offset, "an entity has no end") };
        if value.contains(['&', '<', '%']) || value.len() > ENTITY_BYTES {
            return refuse(
                offset,
                "the drawing declares an entity made of markup, of other entities, or of a long text",
            );
        }
        longest = Some(longest.unwrap_or(0).max(value.len()));
    }
    let uses = text[range.end..].bytes().filter(|&b| b == b'&').count();
    match longest {
        Some(longest) if longest.saturating_mul(uses) > ENTITY_TOTAL => {
            refuse(0, "the drawing's entities would grow it beyond a megabyte")
        }
        longest => Ok(longest.is_some()),
    }
}

/// Overwrites `range` with spaces, keeping line ends so that places hold.
fn blank(text: &mut String, range: &std::ops::Range<usize>) {
    let spaces: String = text[range.clone()].bytes().map(|b| if b == b'\n' { '\n' } else { ' ' }).collect();
    text.replace_range(range.clone(), &spaces);
}

/// Walks the tags of the body: number of nodes, attributes of one tag, and the
/// greatest depth, which is returned.
fn brackets(text: &str, body: usize, name: &str, limits: &Limits) -> Result<u32, Error> {
    let refuse = |offset: usize, what: String| {
        Err(Error::art(at(name, text, offset), what, "simplify the drawing: flatten its groups and effects"))
    };
    let bytes = text.as_bytes();
    let (mut depth, mut deepest, mut nodes, mut i) = (0u32, 0u32, 0u32, body);
    while let Some(open) = text[i..].find('<').map(|found| i + found) {
        nodes += 1;
        if nodes > limits.nodes / 2 {
            return refuse(open, format!("the drawing has more than {} elements", limits.nodes / 2));
        }
        let tag = &text[open..];
        let skip = |start: &str, end: &str| {
            tag.starts_with(start).then(|| tag.find(end).map_or(text.len(), |found| open + found + end.len()))
        };
        let passed = skip("<!--", "-->").or_else(|| skip("<![CDATA[", "]]>")).or_else(|| skip("<?", "?>"));
        if let Some(after) = passed {
            i = after;
            continue;
        }
        let (close, attributes) = tag_end(bytes, open);
        if attributes > limits.attributes {
            return refuse(open, format!("one element has more than {} attributes", limits.attributes));
        }
        if tag.starts_with("</") {
            depth = depth.saturating_sub(1);
        } else if bytes.get(close.wrapping_sub(1)) != Some(&b'/') {
            depth += 1;
            deepest = deepest.max(depth);
            if depth > limits.depth {
                return refuse(open, format!("elements are nested more than {} deep", limits.depth));
            }
        }
        i = (close + 1).min(text.len());
        while !text.is_char_boundary(i) {
            i += 1;
        }
    }
    let namespaces = text.matches("xmlns").count();
    if namespaces > 64 && namespaces.saturating_mul(nodes as usize) > NAMESPACE_LOOKUPS {
        return refuse(body, format!("the drawing declares {namespaces} namespaces"));
    }
    Ok(deepest)
}

/// Where the tag that opens at `open` closes, and how many attributes it has.
fn tag_end(bytes: &[u8], open: usize) -> (usize, u32) {
    let (mut quote, mut attributes) = (None, 0);
    for (i, &b) in bytes.iter().enumerate().skip(open + 1) {
        match (quote, b) {
            (Some(q), _) if q == b => quote = None,
            (Some(_), _) => {}
            (None, b'"' | b'\'') => {
                quote = Some(b);
                attributes += 1;
            }
            (None, b'>') => return (i, attributes),
            (None, _) => {}
        }
    }
    (bytes.len(), attributes)
}
