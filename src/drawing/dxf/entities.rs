//! Records become lines: what a DXF file holds, before its blocks are put where
//! they are inserted.

use std::collections::{BTreeMap, BTreeSet};

use kurbo::{Affine, BezPath, Point, Vec2};

use super::records::{Impossible, Record, Records};
use super::{curves, spline};
use crate::diag::{Error, Finding, FindingKind, Place, Severity};

/// What a file holds.
#[derive(Debug, Default)]
pub(super) struct Contents {
    /// `$INSUNITS`, the drawing's unit; 0 when none is stated.
    pub(super) unit: i64,
    /// Layers switched off or frozen, in capitals: layer names know no case.
    pub(super) hidden: BTreeSet<String>,
    /// Blocks by name, in capitals.
    pub(super) blocks: BTreeMap<String, Block>,
    /// What stands in the drawing itself.
    pub(super) entities: Vec<Entity>,
    /// What no line came from.
    pub(super) left: LeftOut,
    /// Whether the file says that it ends where it ends.
    pub(super) whole: bool,
}

/// A group of entities that is inserted by name.
#[derive(Debug, Default)]
pub(super) struct Block {
    /// The point of the block that is put at the place of insertion.
    pub(super) base: Vec2,
    pub(super) entities: Vec<Entity>,
}

/// One thing drawn.
#[derive(Debug)]
pub(super) struct Entity {
    /// Its layer, as spelled.
    pub(super) layer: String,
    /// Its line in the file, from 1.
    pub(super) line: u32,
    pub(super) what: What,
}

/// What is drawn.
#[derive(Debug)]
pub(super) enum What {
    /// A line; it ends with a close when it runs round.
    Path(BezPath),
    /// A block, once or in rows and columns.
    Insert(Insert),
}

/// Where a block is inserted.
#[derive(Debug)]
pub(super) struct Insert {
    /// The block's name, in capitals.
    pub(super) block: String,
    /// Takes the place of insertion's own frame to the drawing.
    pub(super) frame: Affine,
    /// Scale within that frame.
    pub(super) scale: Vec2,
    pub(super) columns: u64,
    pub(super) rows: u64,
    /// From one column and one row to the next.
    pub(super) spacing: Vec2,
}

/// Counts what no line came from, by reason.
#[derive(Debug, Default)]
pub(super) struct LeftOut(BTreeMap<(Severity, String, &'static str), (usize, u32)>);

impl LeftOut {
    /// One thing left out: `what` in words that follow "1 ×" and
    /// "2 ×" alike.
    pub(super) fn add(&mut self, severity: Severity, what: String, advice: &'static str, line: u32) {
        self.0.entry((severity, what, advice)).or_insert((0, line)).0 += 1;
    }

    /// One finding for each reason, worst first.
    pub(super) fn findings(self, file: &str) -> Vec<Finding> {
        let worst_first = self.0.into_iter().rev().zip(1..);
        worst_first
            .map(|(((severity, what, advice), (count, line)), number)| {
                let message = format!("{count} × {what}");
                let place = Place { file: Some(file.to_owned()), line: Some(line), ..Place::default() };
                Finding::new(format!("left-out-{number}"), FindingKind::LeftOut, severity, message, advice).place(place)
            })
            .collect()
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Section {
    Tables,
    Blocks,
    Entities,
    Other,
}

/// Reads every record of `text`.
///
/// # Errors
/// [`Error::Art`] where the file is not in the group-code format.
pub(super) fn contents(text: &str, file: &str) -> Result<Contents, Error> {
    let mut reader = Reader { section: Section::Other, block: None, polyline: None, found: Contents::default() };
    let mut records = Records::of(text, file);
    while let Some(record) = records.next()? {
        if record.kind == "EOF" {
            reader.found.whole = true;
            break;
        }
        reader.take(&record);
    }
    reader.end_polyline();
    Ok(reader.found)
}

/// A POLYLINE whose vertices are still coming.
#[derive(Debug)]
struct Polyline {
    layer: String,
    line: u32,
    flags: i64,
    frame: Option<Affine>,
    vertices: Vec<(Point, f64)>,
    broken: bool,
}

struct Reader {
    section: Section,
    block: Option<(String, Block)>,
    polyline: Option<Polyline>,
    found: Contents,
}

impl Reader {
    fn take(&mut self, record: &Record) {
        if !matches!(record.kind, "VERTEX") {
            self.end_polyline();
        }
        match (self.section, record.kind) {
            (_, "SECTION") => self.begin(record),
            (_, "ENDSEC") => self.section = Section::Other,
            (Section::Tables, "LAYER") => self.layer(record),
            (Section::Blocks, "BLOCK") => {
                let base = [10, 20].map(|code| record.number(code, 0.0).unwrap_or(0.0));
                let name = record.text(2).unwrap_or("").to_uppercase();
                self.block = Some((name, Block { base: Vec2::new(base[0], base[1]), entities: Vec::new() }));
            }
            (Section::Blocks, "ENDBLK") => self.found.blocks.extend(self.block.take()),
            (Section::Blocks, _) if self.block.is_none() => {}
            (Section::Blocks | Section::Entities, _) => self.entity(record),
            _ => {}
        }
    }

    fn begin(&mut self, record: &Record) {
        self.section = match record.text(2) {
            Some("TABLES") => Section::Tables,
            Some("BLOCKS") => Section::Blocks,
            Some("ENTITIES") => Section::Entities,
            _ => Section::Other,
        };
        if record.text(2) == Some("HEADER") {
            let mut pairs = record.pairs.iter().skip_while(|pair| **pair != (9, "$INSUNITS"));
            self.found.unit = pairs.nth(1).and_then(|(_, value)| value.parse().ok()).unwrap_or(0);
        }
    }

    /// A layer is off when its colour is less than nothing, frozen by its first
    /// flag (DXF reference, LAYER).
    fn layer(&mut self, record: &Record) {
        if record.flags(62) < 0 || record.flags(70) & 1 == 1 {
            self.found.hidden.extend(record.text(2).map(str::to_uppercase));
        }
    }

    fn entity(&mut self, record: &Record) {
        // Paper space holds the sheet round the drawing; 60 hides one entity.
        if record.flags(67) == 1 || record.flags(60) == 1 {
            return;
        }
        match record.kind {
            "POLYLINE" => {
                self.polyline = Some(Polyline {
                    layer: layer_of(record),
                    line: record.line,
                    flags: record.flags(70),
                    frame: frame(record).ok().flatten(),
                    vertices: Vec::new(),
                    broken: false,
                });
            }
            "VERTEX" => self.vertex(record),
            _ => match drawn(record) {
                Ok(Drawn::This(what)) => self.add(Entity { layer: layer_of(record), line: record.line, what }),
                Ok(Drawn::Quietly) => {}
                Ok(Drawn::Not(severity, what, advice)) => self.found.left.add(severity, what, advice, record.line),
                Err(Impossible) => self.impossible(record.kind, record.line),
            },
        }
    }

    fn add(&mut self, entity: Entity) {
        match (&mut self.block, self.section) {
            (Some((_, block)), Section::Blocks) => block.entities.push(entity),
            _ => self.found.entities.push(entity),
        }
    }

    fn impossible(&mut self, kind: &str, line: u32) {
        let what = format!("{} with numbers that cannot be; left out", shown(kind));
        self.found.left.add(Severity::Stop, what, "export the drawing again, or draw this again", line);
    }

    fn vertex(&mut self, record: &Record) {
        let Some(polyline) = &mut self.polyline else { return };
        // Control points of a smoothed polyline are not on it.
        if record.flags(70) & 16 != 0 {
            return;
        }
        let numbers = [10, 20, 42].map(|code| record.number(code, 0.0));
        match numbers {
            [Ok(x), Ok(y), Ok(bulge)] => polyline.vertices.push((Point::new(x, y), bulge)),
            _ => polyline.broken = true,
        }
    }

    fn end_polyline(&mut self) {
        let Some(polyline) = self.polyline.take() else { return };
        // 16 is a mesh, 64 a body of faces (DXF reference, POLYLINE).
        if polyline.flags & (16 | 64) != 0 {
            let what = "meshes (solid bodies); left out".to_owned();
            return self.found.left.add(Severity::Care, what, FLAT, polyline.line);
        }
        if polyline.broken {
            return self.impossible("POLYLINE", polyline.line);
        }
        let Some(frame) = polyline.frame else {
            return self.found.left.add(Severity::Care, tilted("POLYLINE"), FLAT, polyline.line);
        };
        let path = frame * curves::polyline(&polyline.vertices, polyline.flags & 1 == 1);
        if polyline.vertices.len() > 1 {
            self.add(Entity { layer: polyline.layer, line: polyline.line, what: What::Path(path) });
        }
    }
}

const FLAT: &str = "draw it flat, seen from above";

fn tilted(kind: &str) -> String {
    format!("{}, tilted out of the plane; left out", shown(kind))
}

/// The kind of an entity as told: a name made of letters, cut short.
fn shown(kind: &str) -> String {
    let clean: String = kind.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '_').take(24).collect();
    if clean.is_empty() { "nameless entity".to_owned() } else { clean }
}

fn layer_of(record: &Record) -> String {
    record.text(8).unwrap_or("0").to_owned()
}

/// What a record of its own came to.
enum Drawn {
    This(What),
    /// Nothing, and nothing to tell.
    Quietly,
    /// Nothing, told as so many of these.
    Not(Severity, String, &'static str),
}

fn drawn(record: &Record) -> Result<Drawn, Impossible> {
    let tilted = || Drawn::Not(Severity::Care, tilted(record.kind), FLAT);
    let path = |path| Drawn::This(What::Path(path));
    Ok(match record.kind {
        "LINE" => path(line(record)?),
        "ELLIPSE" => ellipse(record)?.map_or_else(tilted, path),
        "SPLINE" => match spline::path(record)? {
            Some(found) => path(found),
            None => {
                let what = "SPLINE given by the points it passes through alone; left out".to_owned();
                Drawn::Not(Severity::Stop, what, "convert splines to polylines in the drawing program")
            }
        },
        // It draws nothing, so nothing is lost.
        "CIRCLE" | "ARC" if record.number(40, 0.0)? == 0.0 => {
            Drawn::Not(Severity::Note, format!("{} of no radius; left out", shown(record.kind)), "nothing")
        }
        "CIRCLE" | "ARC" | "LWPOLYLINE" | "INSERT" => {
            let Some(frame) = frame(record)? else { return Ok(tilted()) };
            match record.kind {
                "INSERT" => Drawn::This(What::Insert(insert(record, frame)?)),
                "LWPOLYLINE" => path(frame * light_polyline(record)?),
                _ => path(frame * circle(record)?),
            }
        }
        "TEXT" | "MTEXT" | "ATTRIB" | "ATTDEF" => {
            Drawn::Not(Severity::Care, "text, left out".to_owned(), "convert text to outlines if it is to be sawn")
        }
        "HATCH" | "MPOLYGON" | "SOLID" | "TRACE" | "WIPEOUT" => {
            let what = format!("{} (a fill), left out; outlines are what is sawn", shown(record.kind));
            Drawn::Not(Severity::Note, what, "draw the outline too, if the fill is without one")
        }
        "DIMENSION" | "LEADER" | "MULTILEADER" | "TOLERANCE" | "POINT" | "RAY" | "XLINE" => {
            let what = format!("{} (a measure or a helping line), left out", shown(record.kind));
            Drawn::Not(Severity::Note, what, "nothing, if the picture is right")
        }
        "VIEWPORT" | "SEQEND" | "ACAD_PROXY_ENTITY" => Drawn::Quietly,
        kind => {
            let what = format!("{}: not outlines; left out", shown(kind));
            Drawn::Not(Severity::Care, what, "convert to lines, arcs or polylines in the drawing program")
        }
    })
}

/// From an entity's own plane to the drawing's: seen from above as it is, from
/// below mirrored (DXF reference, "Arbitrary Axis Algorithm"); `None` when the
/// plane is tilted.
fn frame(record: &Record) -> Result<Option<Affine>, Impossible> {
    let [x, y, z] = [record.number(210, 0.0)?, record.number(220, 0.0)?, record.number(230, 1.0)?];
    if x.hypot(y) > 1e-6 * z.abs() {
        return Ok(None);
    }
    Ok(Some(if z < 0.0 { Affine::FLIP_X } else { Affine::IDENTITY }))
}

fn point(record: &Record, x: i32, y: i32) -> Result<Point, Impossible> {
    Ok(Point::new(record.number(x, 0.0)?, record.number(y, 0.0)?))
}

fn line(record: &Record) -> Result<BezPath, Impossible> {
    let mut path = BezPath::new();
    path.move_to(point(record, 10, 20)?);
    path.line_to(point(record, 11, 21)?);
    Ok(path)
}

/// A CIRCLE, or an ARC, whose angles are degrees.
fn circle(record: &Record) -> Result<BezPath, Impossible> {
    let radius = record.number(40, 0.0)?;
    let (start, end) = match record.kind {
        "ARC" => (record.number(50, 0.0)?.to_radians(), record.number(51, 0.0)?.to_radians()),
        _ => (0.0, std::f64::consts::TAU),
    };
    if radius < 0.0 {
        return Err(Impossible);
    }
    let laid = Affine::translate(point(record, 10, 20)?.to_vec2()) * Affine::scale(radius);
    Ok(curves::arc(start, curves::sweep(start, end), laid))
}

/// An ELLIPSE: centre, the end of its longer axis from there, the part the
/// shorter one is of it, and the angles of its ends on the circle it is pressed
/// from.
fn ellipse(record: &Record) -> Result<Option<BezPath>, Impossible> {
    let Some(frame) = frame(record)? else { return Ok(None) };
    let (center, long) = (point(record, 10, 20)?, point(record, 11, 21)?.to_vec2());
    let ratio = record.number(40, 1.0)?;
    let side = if frame == Affine::IDENTITY { 1.0 } else { -1.0 };
    let short = ratio * side * Vec2::new(-long.y, long.x);
    if long.hypot2() == 0.0 || ratio <= 0.0 {
        return Err(Impossible);
    }
    let laid = Affine::new([long.x, long.y, short.x, short.y, center.x, center.y]);
    let (start, end) = (record.number(41, 0.0)?, record.number(42, std::f64::consts::TAU)?);
    Ok(Some(curves::arc(start, curves::sweep(start, end), laid)))
}

fn light_polyline(record: &Record) -> Result<BezPath, Impossible> {
    let mut vertices: Vec<(Point, f64)> = Vec::new();
    for (code, value) in &record.pairs {
        let last = vertices.last_mut();
        match (code, last) {
            (10, _) => vertices.push((Point::new(super::records::number(value)?, 0.0), 0.0)),
            (20, Some(last)) => last.0.y = super::records::number(value)?,
            (42, Some(last)) => last.1 = super::records::number(value)?,
            _ => {}
        }
    }
    if vertices.len() < 2 {
        return Err(Impossible);
    }
    Ok(curves::polyline(&vertices, record.flags(70) & 1 == 1))
}

fn insert(record: &Record, frame: Affine) -> Result<Insert, Impossible> {
    let at = point(record, 10, 20)?;
    let turn = Affine::rotate(record.number(50, 0.0)?.to_radians());
    let count = |code| u64::try_from(record.flags(code)).unwrap_or(1).max(1);
    Ok(Insert {
        block: record.text(2).unwrap_or("").to_uppercase(),
        frame: frame * Affine::translate(at.to_vec2()) * turn,
        scale: Vec2::new(record.number(41, 1.0)?, record.number(42, 1.0)?),
        columns: count(70),
        rows: count(71),
        spacing: Vec2::new(record.number(44, 0.0)?, record.number(45, 0.0)?),
    })
}
