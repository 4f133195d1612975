//! From inked shapes to what will be sawn.
//!
//! A drawing says what is dark; the saw needs to know what is waste. Four
//! readings are possible ([`Reading`]); [`interpret`] takes the one asked for
//! or chooses, and says why in words.

mod choose;
mod doubles;
mod gather;
mod layers;
mod lines;
mod nest;
mod pale;
mod scale;
mod tidy;
mod visible;

use kurbo::Rect;

use crate::art::{Art, Inked};
use crate::diag::{Error, Finding, FindingKind, Noted, Place, Severity};
use crate::geom::Piece;
use choose::Choice;
use layers::TooManyLayers;
pub use scale::Laying;

/// What of a drawing is cut out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Reading {
    /// What looks dark is cut.
    Dark,
    /// What is light inside the outer silhouette is cut; dark is wood.
    Light,
    /// Lines are the saw's path; nested outlines alternate.
    Lines,
    /// The outermost silhouette is left off and what is inside it is cut.
    Features,
}

impl Reading {
    /// Every reading, in the order they are offered.
    pub const ALL: [Self; 4] = [Self::Dark, Self::Light, Self::Lines, Self::Features];

    /// The name used on the command line and in reports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Light => "light",
            Self::Lines => "lines",
            Self::Features => "features",
        }
    }
}

impl std::str::FromStr for Reading {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim().to_ascii_lowercase();
        let found = Self::ALL.into_iter().find(|r| r.name() == text);
        found.ok_or_else(|| format!("`{text}` is not a reading; write dark, light, lines or features"))
    }
}

/// How to interpret a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The reading to take; `None` chooses.
    pub reading: Option<Reading>,
    /// Paint at least this dark is dark, 0 to 1.
    pub threshold: f64,
    /// Largest gap in an outline that is closed, mm on the panel.
    pub gap: f64,
    /// Width of the saw's cut, mm on the panel; what is smaller is a speck.
    pub kerf: f64,
    /// How the face will be laid on the panel, to know the sizes above on the
    /// drawing. `None`: the drawing is at its true size.
    pub laying: Option<Laying>,
    /// Ids of elements or findings to leave out.
    pub drop: Vec<String>,
    /// Ids of strays to keep.
    pub keep: Vec<String>,
    /// Whether specks are cut too.
    pub keep_specks: bool,
    /// Whether everything belongs to the face, however far off it stands.
    pub keep_strays: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            reading: None,
            // The middle of the lightness scale.
            threshold: 0.5,
            // Derived: half a millimetre is what a pencil line hides.
            gap: 0.5,
            kerf: 1.0,
            laying: None,
            drop: Vec::new(),
            keep: Vec::new(),
            keep_specks: false,
            keep_strays: false,
        }
    }
}

/// One opening, in the drawing's own space.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// The opening, y down, in the art's units.
    pub piece: Piece,
    /// The element it came from, when one made it.
    pub place: Option<Place>,
}

/// A reading not taken.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Alternative {
    /// The reading.
    pub reading: Reading,
    /// Why it was not taken.
    pub why_not: String,
}

/// What will be sawn, in the drawing's own space (y down, see [`Art`]).
#[derive(Clone, Debug, PartialEq)]
pub struct Cutting {
    /// The openings; they do not overlap.
    pub openings: Vec<Opening>,
    /// The reading taken.
    pub reading: Reading,
    /// Why, in words.
    pub why: String,
    /// The other readings, and why not.
    pub alternatives: Vec<Alternative>,
    /// Box round the openings, in the art's units.
    pub extent: Rect,
    /// Millimetres of one of the art's units at the drawing's own size.
    pub unit_mm: f64,
}

/// Decides what of `art` is cut.
///
/// Findings carry places in the drawing's own space, see [`crate::fit::lay`].
///
/// # Errors
/// [`Error::Art`] when nothing is left to saw; [`Error::Setting`] when an id to
/// drop or keep names nothing.
pub fn interpret(art: &Art, options: &Options) -> Result<Noted<Cutting>, Error> {
    let shapes: Vec<&Inked> = art.shapes.iter().filter(|s| !named(s, &options.drop)).collect();
    if shapes.len() > MOST_SHAPES {
        return Err(crowded(art, shapes.len(), "painted shapes", MOST_SHAPES));
    }
    let mut gathered = gather::gather(art, &shapes, options).map_err(|error| layered(art, error))?;
    let choice = match options.reading {
        Some(reading) => gathered.material.forced(reading),
        None => gathered.material.chosen(),
    };
    if choice.pieces.is_empty() {
        return Err(unclosed(&gathered.line_findings).unwrap_or_else(|| nothing(art, &choice)));
    }
    if choice.pieces.len() > MOST_OPENINGS {
        return Err(crowded(art, choice.pieces.len(), "openings", MOST_OPENINGS));
    }
    let mut findings = std::mem::take(&mut gathered.findings);
    let by_lines = gathered.material.is_line_art && choice.reading != Reading::Dark;
    findings.append(if by_lines { &mut gathered.line_findings } else { &mut gathered.area_findings });
    if !by_lines && choice.reading != Reading::Light {
        findings.extend(gathered.pale.take());
    }
    let openings = traced(&shapes, choice.pieces.clone());
    let count = openings.len();
    let (openings, mut tidied) = tidied(openings, options, gathered.strays, art)?;
    findings.append(&mut tidied);
    let Some(extent) = openings.iter().map(|o| o.piece.bounds()).reduce(|a, b| a.union(b)) else {
        return Err(all_specks(art, count, options));
    };
    if options.reading.is_none() && choice.reading != Reading::Dark {
        findings.push(told(&choice));
    }
    let Choice { reading, why, alternatives, .. } = choice;
    Ok(Noted { value: Cutting { openings, reading, why, alternatives, extent, unit_mm: art.unit_mm }, findings })
}

/// Most openings a face may have, specks and all. Ours: the richest of 1,500
/// icons has some hundred, and a saw takes minutes for each.
const MOST_OPENINGS: usize = 5000;
/// Most painted shapes they may be made of. Ours.
const MOST_SHAPES: usize = 20_000;

fn crowded(art: &Art, count: usize, what: &str, most: usize) -> Error {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    let what = format!("the drawing has {count} {what}, more than {most}");
    Error::art(place, what, "leave off patterns and specks; draw what is to be sawn")
}

/// Whether `shape` or anything it stands in has one of `ids`.
fn named(shape: &Inked, ids: &[String]) -> bool {
    !ids.is_empty() && shape.ids.iter().any(|id| ids.contains(id))
}

/// Leaves out specks and strays. `strays` is how many were found before.
fn tidied(
    openings: Vec<Opening>,
    options: &Options,
    strays: usize,
    art: &Art,
) -> Result<(Vec<Opening>, Vec<Finding>), Error> {
    let mm = scale::of_openings(&openings, options, art.unit_mm);
    // Strays first: the face alone is what fills the window, and the specks of
    // a caption are not the face's.
    let (mut face, groups) = if options.keep_strays { (openings, Vec::new()) } else { tidy::strays(openings) };
    let around = face.iter().map(|o| o.piece.bounds()).reduce(|a, b| a.union(b)).unwrap_or_default();
    let mut findings = Vec::new();
    let count = strays + groups.len();
    check_names(art, options, count)?;
    for (group, number) in groups.into_iter().zip(strays + 1..) {
        if options.keep.contains(&format!("stray-{number}")) {
            face.extend(group);
        } else {
            findings.push(tidy::stray_finding(number, &group, around, mm));
        }
    }
    let mm = scale::of_openings(&face, options, art.unit_mm);
    let (face, mut specks) = tidy::without_specks(face, options, mm);
    findings.append(&mut specks);
    Ok((face, findings))
}

/// Refuses ids that name nothing in the drawing.
fn check_names(art: &Art, options: &Options, strays: usize) -> Result<(), Error> {
    let is_stray = |id: &String| (1..=strays).any(|n| *id == format!("stray-{n}"));
    let is_element = |id: &String| art.shapes.iter().any(|s| s.ids.contains(id));
    let unknown = options.drop.iter().map(|id| (id, "drop")).chain(options.keep.iter().map(|id| (id, "keep")));
    for (id, option) in unknown {
        if !(is_stray(id) || (option == "drop" && is_element(id))) {
            let place = Place { element: Some(option.to_owned()), ..Place::default() };
            let what = format!(
                "nothing in {} that can be {} is called `{id}`",
                art.name,
                if option == "drop" { "dropped" } else { "kept" }
            );
            return Err(Error::setting(place, what, "use an id of the drawing, or of a finding such as stray-1"));
        }
    }
    Ok(())
}

fn told(choice: &Choice) -> Finding {
    let message = format!("read as `{}`: {}", choice.reading.name(), choice.why);
    let advice = "look at the picture; ask for another reading by name if it is not what you want";
    Finding::new("reading-1", FindingKind::Reading, Severity::Note, message, advice)
}

fn all_specks(art: &Art, count: usize, options: &Options) -> Error {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    if options.keep_specks {
        let what = format!("none of the {count} openings is wide enough to be more than dust, laid on this panel");
        return Error::art(place, what, "make the face larger");
    }
    let kerf = options.kerf;
    let what = format!("none of the {count} openings is larger than the {kerf:.2} mm kerf, laid on this panel");
    Error::art(place, what, "make the face larger, use a finer blade, or keep specks")
}

fn layered(art: &Art, TooManyLayers(count): TooManyLayers) -> Error {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    let what = format!("dark and light paint lie over one another in {count} layers; that is too many to work out");
    Error::art(place, what, "flatten the drawing: merge shapes that cover one another")
}

/// The error for a drawing of lines none of which closes.
fn unclosed(findings: &[Finding]) -> Option<Error> {
    let mut open: Vec<&Finding> = findings.iter().filter(|f| f.kind == FindingKind::OpenOutline).collect();
    open.sort_by(|a, b| a.measured.unwrap_or(0.0).total_cmp(&b.measured.unwrap_or(0.0)));
    let nearest = open.first()?;
    let what = format!("no outline closes ({} lie open); the nearest to it: {}", open.len(), nearest.message);
    Some(Error::art(nearest.place.clone().unwrap_or_default(), what, nearest.advice.clone()))
}

fn nothing(art: &Art, choice: &Choice) -> Error {
    let place = Place { file: Some(art.name.clone()), ..Place::default() };
    let reason = choice.alternatives.iter().find(|a| a.reading == Reading::Dark).map_or("", |a| a.why_not.as_str());
    let what = match (choice.reading, reason) {
        (Reading::Dark, _) => "nothing dark is left to saw".to_owned(),
        (reading, _) => format!("read as `{}`, the drawing leaves nothing to saw", reading.name()),
    };
    Error::art(place, what, "fill what is to be cut with black, or ask for another reading")
}

/// Gives each piece the place of the smallest dark shape it lies within.
fn traced(shapes: &[&Inked], pieces: Vec<Piece>) -> Vec<Opening> {
    let mut by_size: Vec<&Inked> = shapes.to_vec();
    by_size.sort_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()));
    let place = |piece: &Piece| {
        let bounds = piece.bounds();
        let slack = TRACE * bounds.width().max(bounds.height());
        let holds = |s: &&&Inked| {
            let around = s.bounds.inflate(slack, slack);
            around.union(bounds) == around
        };
        by_size.iter().find(holds).map(|s| s.place.clone())
    };
    pieces.into_iter().map(|piece| Opening { place: place(&piece), piece }).collect()
}

/// A piece may stick out of the box of the shape it came from by this part of
/// its size: the accuracy of strokes.
const TRACE: f64 = 1e-3;
