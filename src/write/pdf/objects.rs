//! A PDF file written object by object (ISO 32000-1, 7.5): what is written is
//! forgotten, but for where it stands.

use std::io::{self, Write};

use lopdf::{Dictionary, Object, Stream, StringFormat};

/// The version: the first with layers and everything else our files use.
const VERSION: &str = "1.7";
/// ISO 32000-1, 7.5.2: four bytes over 127 after the first line tell that the
/// file is not text.
const BINARY: &[u8] = b"%\xbb\xad\xc0\xde\n";

/// A file on its way out.
pub(super) struct Objects<'a> {
    out: &'a mut dyn Write,
    /// Bytes written.
    written: u64,
    /// Where each object begins, from object 1.
    places: Vec<Option<u64>>,
    /// Of all drawings so far.
    print: Print,
}

impl<'a> Objects<'a> {
    pub(super) fn begin(out: &'a mut dyn Write) -> io::Result<Self> {
        let mut file = Self { out, written: 0, places: Vec::new(), print: Print::default() };
        file.put(format!("%PDF-{VERSION}\n").as_bytes())?;
        file.put(BINARY)?;
        Ok(file)
    }

    /// The number of the next object.
    pub(super) fn next(&self) -> u32 {
        self.places.len() as u32 + 1
    }

    /// Writes a page's drawing as the next object.
    pub(super) fn drawing(&mut self, content: Vec<u8>) -> io::Result<()> {
        self.print.add(&content);
        let mut stream = Stream::new(Dictionary::new(), content);
        stream.compress().map_err(io::Error::other)?;
        self.object(&Object::Stream(stream))
    }

    /// Writes the objects of `frame`, which are numbered from the next one on,
    /// then the table of all and the trailer.
    pub(super) fn end(mut self, mut frame: lopdf::Document) -> io::Result<()> {
        for ((number, _), object) in std::mem::take(&mut frame.objects) {
            // Numbers left out stand nowhere.
            self.places.resize((number as usize).saturating_sub(1).max(self.places.len()), None);
            self.object(&object)?;
        }
        let (table, size) = (self.written, self.next());
        self.put(format!("xref\n0 {size}\n0000000000 65535 f \n").as_bytes())?;
        for place in std::mem::take(&mut self.places) {
            // 7.5.4: an entry that is not in use, and never to be.
            let entry = place.map_or("0000000000 65535 f \n".to_owned(), |place| format!("{place:010} 00000 n \n"));
            self.put(entry.as_bytes())?;
        }
        // 14.4 asks only that different files differ.
        let id = || Object::String(self.print.0.to_be_bytes().to_vec(), StringFormat::Hexadecimal);
        frame.trailer.set("ID", Object::Array(vec![id(), id()]));
        frame.trailer.set("Size", i64::from(size));
        let mut trailer = b"trailer\n".to_vec();
        dictionary(&mut trailer, &frame.trailer);
        trailer.extend(format!("\nstartxref\n{table}\n%%EOF").bytes());
        self.put(&trailer)
    }

    fn object(&mut self, object: &Object) -> io::Result<()> {
        self.places.push(Some(self.written));
        let mut bytes = format!("{} 0 obj\n", self.places.len()).into_bytes();
        write(&mut bytes, object);
        bytes.extend(b"\nendobj\n");
        self.put(&bytes)
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.written += bytes.len() as u64;
        self.out.write_all(bytes)
    }
}

/// An object as it stands in the file (7.3).
fn write(out: &mut Vec<u8>, object: &Object) {
    match object {
        Object::Null => out.extend(b"null"),
        Object::Boolean(value) => out.extend(value.to_string().bytes()),
        Object::Integer(value) => out.extend(value.to_string().bytes()),
        Object::Real(value) => out.extend(value.to_string().bytes()),
        Object::Name(bytes) => name(out, bytes),
        Object::String(bytes, StringFormat::Literal) => literal(out, bytes),
        Object::String(bytes, StringFormat::Hexadecimal) => {
            let digits: String = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
            out.extend(format!("<{digits}>").bytes());
        }
        Object::Array(items) => {
            out.push(b'[');
            for (i, item) in items.iter().enumerate() {
                out.extend(if i > 0 { &b" "[..] } else { b"" });
                write(out, item);
            }
            out.push(b']');
        }
        Object::Dictionary(entries) => dictionary(out, entries),
        Object::Stream(stream) => {
            dictionary(out, &stream.dict);
            out.extend(b"\nstream\n");
            out.extend(&stream.content);
            out.extend(b"\nendstream");
        }
        Object::Reference((number, generation)) => out.extend(format!("{number} {generation} R").bytes()),
    }
}

fn dictionary(out: &mut Vec<u8>, entries: &Dictionary) {
    out.extend(b"<<");
    for (key, value) in entries {
        name(out, key);
        out.push(b' ');
        write(out, value);
    }
    out.extend(b">>");
}

/// 7.3.5: anything but plain characters by its number.
fn name(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'/');
    for &byte in bytes {
        if byte.is_ascii_graphic() && !b"()<>[]{}/%#".contains(&byte) {
            out.push(byte);
        } else {
            out.extend(format!("#{byte:02X}").bytes());
        }
    }
}

/// 7.3.4.2: brackets and the backslash after a backslash, and the end of a line,
/// which would be read as another.
fn literal(out: &mut Vec<u8>, bytes: &[u8]) {
    out.push(b'(');
    for &byte in bytes {
        match byte {
            b'(' | b')' | b'\\' => out.extend([b'\\', byte]),
            b'\r' => out.extend(b"\\r"),
            _ => out.push(byte),
        }
    }
    out.push(b')');
}

/// A 128-bit FNV-1a hash, as the file's identifier.
struct Print(u128);

impl Default for Print {
    fn default() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }
}

impl Print {
    fn add(&mut self, bytes: &[u8]) {
        const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;
        self.0 = bytes.iter().fold(self.0, |hash, byte| (hash ^ u128::from(*byte)).wrapping_mul(PRIME));
    }
}
