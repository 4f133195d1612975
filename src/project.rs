//! A project: one face, the shop it is made in and the mends chosen, in one
//! plain file that the page and the commands both read.
//!
//! The file is TOML. `[shop]` has the sections of a shop file; `[art]` holds
//! the drawing itself, as text where it is text, so that a project is whole
//! wherever it is carried.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use kurbo::{Affine, Point, Vec2};
use serde::{Deserialize, Serialize};

use crate::diag::{Error, Place};
use crate::mend::{Aim, Contacts, EditKind, Hand, Ruling};
use crate::pipeline::{Wishes, file_name};
use crate::settings::Shop;
use crate::units::Mm;

/// What project files are called: `owl.fretgrin.toml`.
pub const ENDING: &str = ".fretgrin.toml";
/// Largest drawing a project takes, bytes. Ours: every change writes it anew.
pub const LARGEST_ART: usize = 16 * 1024 * 1024;
/// Largest project file read or written, bytes: the largest drawing in base64 and
/// then some.
pub const LARGEST: u64 = 24 * 1024 * 1024;
/// Longest name of an art file kept, characters.
const LONGEST_NAME: usize = 240;
/// Name and version of the format.
pub const FORMAT: &str = "fretgrin-project-1";

const HEAD: &str = "\
# A fretgrin project: a face, the shop's settings and the mends chosen.
# `fretgrin open` shows it; the other commands read it in place of a drawing.

";

/// A project.
#[derive(Clone, Debug, PartialEq)]
pub struct Project {
    /// Counts changes, from 1.
    pub revision: u64,
    /// Name of the art file as it came.
    pub art_name: String,
    /// The art file's content.
    pub art: Vec<u8>,
    /// Where the art file was read, from the project's folder: `../faces/owl.svg`.
    /// `None` when it came another way, or the project is an older one.
    pub from: Option<String>,
    /// The shop's settings, those of the face among them.
    pub shop: Shop,
    /// What is mended.
    pub mend: Mends,
}

/// What the maker settled about mending. Places are in the drawing's own
/// millimetres about its middle, y up, unturned and unmirrored
/// ([`crate::face::Face::frame`]), so that they stay on their spot of the
/// drawing when it is moved.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Mends {
    /// Whether the mended face is what is printed and sawn.
    pub on: bool,
    /// Whether only what would fail or cannot be sawn is mended.
    pub only_stops: bool,
    /// Whether openings that touch are made one instead of bridged.
    pub open_contacts: bool,
    /// Edits refused, and widths asked for.
    pub settled: Vec<Settled>,
    /// Bridges placed by hand.
    pub bridges: Vec<Placed>,
}

/// An edit refused or given another width.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settled {
    /// Kind of edit: `bridge`, `widen` …
    pub kind: String,
    /// Its place across.
    pub x: f64,
    /// Its place upward.
    pub y: f64,
    /// Its width, real millimetres; refused when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
}

/// A bridge placed by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placed {
    /// A spot it runs through, across.
    pub x: f64,
    /// The same, upward.
    pub y: f64,
    /// Its width, real millimetres; the needed one when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_mm: Option<f64>,
    /// Its direction, degrees anticlockwise from level as drawn; the one that
    /// needs least wood when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub direction_deg: Option<f64>,
}

impl Mends {
    /// Most entries of each list; more than any face has.
    const MOST: usize = 2000;

    /// The wishes on a face laid by `frame`.
    ///
    /// # Errors
    /// [`Error::Setting`] for a kind of edit there is not, or a number that is
    /// no length.
    pub fn wishes(&self, frame: Affine) -> Result<Wishes, Error> {
        let wrong = |what: &str| {
            let place = Place { element: Some("mend".to_owned()), ..Place::default() };
            Error::setting(place, what, "leave it out and settle it again on the bench")
        };
        let sane = |v: f64| v.is_finite() && v.abs() < 1e6;
        let width = |width: Option<f64>| width.is_none_or(|w| (0.01..=500.0).contains(&w));
        let settled = self.settled.iter().all(|s| sane(s.x) && sane(s.y) && width(s.width_mm));
        let placed = |p: &Placed| sane(p.x) && sane(p.y) && width(p.width_mm) && p.direction_deg.is_none_or(sane);
        if !settled || !self.bridges.iter().all(placed) || self.settled.len().max(self.bridges.len()) > Self::MOST {
            return Err(wrong("a place or width in the mends is no length"));
        }
        let ruling = |s: &Settled| {
            let kind = EditKind::named(&s.kind).ok_or_else(|| wrong("a mend is of a kind there is not"))?;
            Ok(Ruling { kind, at: frame * Point::new(s.x, s.y), width: s.width_mm })
        };
        let turned = |deg: f64| {
            (frame * Vec2::from_angle(deg.to_radians()).to_point() - frame * Point::ORIGIN).atan2().to_degrees()
        };
        let hand = |p: &Placed| Hand {
            at: frame * Point::new(p.x, p.y),
            width: p.width_mm.map(Mm::new),
            direction_deg: p.direction_deg.map(turned),
        };
        let rulings = self.settled.iter().map(ruling).collect::<Result<_, _>>()?;
        Ok(Wishes {
            rulings,
            leave: Vec::new(),
            contacts: if self.open_contacts { Contacts::Open } else { Contacts::Bridge },
            aim: if self.only_stops { Aim::Stops } else { Aim::Sound },
            hands: self.bridges.iter().map(hand).collect(),
        })
    }
}

/// The file's layout.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: String,
    revision: u64,
    art: ArtFile,
    #[serde(default)]
    mend: Mends,
    #[serde(default)]
    shop: Shop,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ArtFile {
    name: String,
    /// The file the art was read from, seen from the project's folder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    from: Option<String>,
    /// The art as text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    /// The art in base64 (RFC 4648), when it is no plain text.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    base64: Option<String>,
}

impl Project {
    /// Reads a project file; `name` is the file's name, for messages.
    ///
    /// # Errors
    /// [`Error::Setting`] with line and column when it is no project file.
    pub fn read(text: &str, name: &str) -> Result<Self, Error> {
        let at = |line| Place { file: Some(name.to_owned()), line, ..Place::default() };
        let refuse = |what: String, line, advice: &str| Error::setting(at(line), what, advice);
        let file: File = toml::from_str(text).map_err(|e| {
            let line = e.span().map(|span| line_of(text, span.start));
            let said = e.message().trim().replace(|c: char| c.is_control() && c != '\n', "?");
            refuse(said, line, "mend the line, or open an older copy of the project")
        })?;
        if file.format != FORMAT {
            let what = format!("this project is of the format `{}`", clean(&file.format));
            return Err(refuse(what, None, "a newer fretgrin may read it"));
        }
        let art = match (file.art.text, file.art.base64) {
            (Some(text), None) => Some(text.into_bytes()),
            (None, Some(code)) => STANDARD.decode(code.split_ascii_whitespace().collect::<String>()).ok(),
            _ => None,
        };
        let art = art.ok_or_else(|| {
            refuse("the project holds no drawing".to_owned(), None, "give [art] either text or base64")
        })?;
        let (art_name, from) = (clean(&file.art.name), file.art.from);
        Ok(Self { revision: file.revision, art_name, art, from, shop: file.shop, mend: file.mend })
    }

    /// The text of the project's file.
    ///
    /// # Errors
    /// [`Error::Internal`] when a setting cannot be written as TOML.
    pub fn text(&self) -> Result<String, Error> {
        let text = plain_text(&self.art).map(str::to_owned);
        let base64 = text.is_none().then(|| in_lines(&STANDARD.encode(&self.art)));
        let file = File {
            format: FORMAT.to_owned(),
            revision: self.revision,
            art: ArtFile { name: self.art_name.clone(), from: self.from.clone(), text, base64 },
            mend: self.mend.clone(),
            shop: self.shop.clone(),
        };
        let body = toml::to_string_pretty(&file).map_err(|e| Error::Internal { what: e.to_string() })?;
        Ok(format!("{HEAD}{body}"))
    }
}

/// Whether `name` is the name of a project file.
#[must_use]
pub fn is_project(name: &str) -> bool {
    name.strip_suffix(ENDING).is_some_and(|stem| !stem.is_empty() && !stem.ends_with(['/', '\\']))
}

/// The name of the project in the file at `path`: the file's own, without its
/// ending. `None` for another file.
#[must_use]
pub fn name(path: &str) -> Option<String> {
    let file = file_name(path);
    is_project(file).then(|| clean(file.strip_suffix(ENDING).unwrap_or(file)))
}

/// The name of a file as it may be shown: one line without controls, no longer
/// than disks take. Anybody may have written the project.
fn clean(name: &str) -> String {
    /// Characters that turn the direction of the text round them (Unicode 16,
    /// 23.2 and UAX 9, 2): they make a name look like another.
    const TURNS: [char; 12] = [
        '\u{61c}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}', '\u{2066}',
        '\u{2067}', '\u{2068}', '\u{2069}',
    ];
    let shown = |c: char| if c.is_control() || TURNS.contains(&c) { '?' } else { c };
    let clean: String = name.chars().map(shown).take(LONGEST_NAME).collect();
    if clean.trim().is_empty() { "face".to_owned() } else { clean }
}

/// Refuses a drawing of `length` bytes, called `name`, that no project takes.
///
/// # Errors
/// [`Error::Art`] that says how large it is and may be.
pub fn takes(name: &str, length: usize) -> Result<(), Error> {
    if length <= LARGEST_ART {
        return Ok(());
    }
    let place = Place { file: Some(name.to_owned()), ..Place::default() };
    let what = format!(
        "the drawing has {}, more than the {} a project of the bench takes",
        megabytes(length as u64),
        megabytes(LARGEST_ART as u64)
    );
    let advice =
        "open a smaller one: a picture as PNG or JPEG, 2000 dots wide at most; `fretgrin prepare` takes it as it is";
    Err(Error::art(place, what, advice))
}

/// `21.0 MB`.
#[must_use]
pub fn megabytes(bytes: u64) -> String {
    format!("{:.1} MB", bytes as f64 / (1024.0 * 1024.0))
}

/// The bytes as text, when TOML keeps every one of them: reading a TOML file
/// may turn CR LF into LF.
fn plain_text(bytes: &[u8]) -> Option<&str> {
    let text = std::str::from_utf8(bytes).ok()?;
    text.chars().all(|c| !c.is_control() || matches!(c, '\n' | '\t')).then_some(text)
}

/// Lines of 76 characters, as mail has them (RFC 2045, 6.8).
fn in_lines(code: &str) -> String {
    let lines = code.as_bytes().chunks(76).map(String::from_utf8_lossy);
    lines.fold(String::from("\n"), |all, line| all + &line + "\n")
}

fn line_of(text: &str, at: usize) -> u32 {
    let before = text.as_bytes().iter().take(at).filter(|&&b| b == b'\n').count();
    u32::try_from(before).unwrap_or(u32::MAX).saturating_add(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Length;

    fn project(art: &[u8]) -> Project {
        let mut shop = Shop::default();
        shop.panel.width = Length::text("5-1/2in");
        let settled = vec![Settled { kind: "bridge".to_owned(), x: 1.5, y: -2.0, width_mm: Some(6.0) }];
        let bridges = vec![Placed { x: 0.25, y: 3.0, width_mm: None, direction_deg: Some(90.0) }];
        let mend = Mends { on: true, only_stops: true, open_contacts: true, settled, bridges };
        let (art_name, from) = ("moon.svg".to_owned(), Some("../faces/moon.svg".to_owned()));
        Project { revision: 7, art_name, art: art.to_vec(), from, shop, mend }
    }

    #[test]
    fn a_project_reads_back_as_it_was() {
        let arts: [&[u8]; 5] = [
            b"<svg xmlns='http://www.w3.org/2000/svg'>\n\t<path d=\"M0 0h9v9z\"/>\n</svg>\n",
            b"'''\"\"\"\\u0041 text that looks like TOML = [[\n\n",
            b"line\r\nline\r\n",
            b"\x89PNG\r\n\x1a\n\0\0\xff\xfe",
            "ünïcode \u{2028} \u{feff}".as_bytes(),
        ];
        for art in arts {
            let project = project(art);
            let text = project.text().unwrap();
            assert_eq!(Project::read(&text, "a").unwrap(), project, "{text}");
        }
    }

    #[test]
    fn a_drawing_that_is_text_stays_readable() {
        let text = project(b"<svg>\n <g/>\n</svg>\n").text().unwrap();
        assert!(text.contains("<svg>\n <g/>\n</svg>\n") && text.starts_with("# A fretgrin project"), "{text}");
        assert!(text.contains("width = \"5-1/2in\""), "{text}");
    }

    #[test]
    fn what_is_no_project_is_refused_with_its_line() {
        let good = project(b"<svg/>").text().unwrap();
        for (text, hint) in [
            ("", "missing field"),
            ("format = 3", "line 1"),
            ("\"\\u001b[31m\" = 3", "`?[31m`"),
            (&good.replace("project-1", "project-9"), "fretgrin-project-9"),
            (&good.replace("text = ", "base64 = "), "no drawing"),
            (&good.replace("[shop.panel]", "[shop.pannel]"), "pannel"),
            (&good.replace("text = ", "txet = "), "txet"),
        ] {
            let error = Project::read(text, "owl.fretgrin.toml").unwrap_err().to_string();
            assert!(error.contains("owl.fretgrin.toml") && error.contains(hint), "{hint}: {error}");
        }
    }

    #[test]
    fn wishes_follow_the_drawing() {
        let mends = project(b"<svg/>").mend;
        let frame = Affine::translate((50.0, 80.0)) * Affine::rotate(std::f64::consts::FRAC_PI_2) * Affine::scale(2.0);
        let wishes = mends.wishes(frame).unwrap();
        assert!(wishes.rulings[0].at.distance(Point::new(54.0, 83.0)) < 1e-9, "{wishes:?}");
        assert_eq!((wishes.rulings[0].kind, wishes.rulings[0].width), (EditKind::Bridge, Some(6.0)), "as settled");
        assert_eq!((wishes.aim, wishes.contacts), (Aim::Stops, Contacts::Open), "as chosen");
        let direction = wishes.hands[0].direction_deg.unwrap();
        assert!((direction - 180.0).abs() < 1e-9, "upright as drawn lies level once turned: {direction}");
        for bad in [f64::NAN, f64::INFINITY, 1e300] {
            let mut mends = mends.clone();
            mends.bridges[0].x = bad;
            assert!(mends.wishes(frame).is_err(), "{bad}");
        }
        let mut mends = mends;
        mends.settled[0].kind = "glue".to_owned();
        assert!(mends.wishes(frame).is_err(), "no such kind");
    }

    #[test]
    fn the_name_of_the_art_is_clean_whoever_wrote_it() {
        for (name, clean) in [
            ("\u{1b}[31mX.svg", "?[31mX.svg"),
            ("a\0b\nc.svg", "a?b?c.svg"),
            ("\u{202e}gvs.lwo", "?gvs.lwo"),
            (" ", "face"),
            ("Grüner Fuchs (2).svg", "Grüner Fuchs (2).svg"),
        ] {
            let text = Project { art_name: name.to_owned(), ..project(b"<svg/>") }.text().unwrap();
            assert_eq!(Project::read(&text, "a").unwrap().art_name, clean, "{name:?}");
        }
        let long = Project { art_name: "n".repeat(100_000), ..project(b"<svg/>") }.text().unwrap();
        assert_eq!(Project::read(&long, "a").unwrap().art_name.len(), LONGEST_NAME, "bounded");
    }

    #[test]
    fn the_largest_drawing_fits_into_the_largest_project() {
        let text = project(&vec![0xff; LARGEST_ART]).text().unwrap();
        assert!(text.len() as u64 <= LARGEST, "{}", text.len());
        assert!(takes("a.bmp", LARGEST_ART).is_ok(), "the largest");
        let error = takes("a.bmp", LARGEST_ART + 1).unwrap_err().to_string();
        assert!(error.contains("a.bmp") && error.contains("16.0 MB"), "{error}");
    }

    #[test]
    fn project_files_are_known_by_name() {
        assert_eq!(name("a/owl-2.fretgrin.toml").as_deref(), Some("owl-2"), "its own name");
        assert_eq!((name("a/owl.svg"), name("a/.fretgrin.toml")), (None, None), "no project");
        assert!(FORMAT.starts_with(crate::drawing::PROJECT), "and by content");
        assert!(is_project("owl.fretgrin.toml") && !is_project("shop.toml") && !is_project(".fretgrin.toml"));
    }
}
