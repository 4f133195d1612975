//! Reading DXF, the open exchange format of drawing programs, as lines.
//!
//! A reader of our own: what a face needs of the format are seven kinds of
//! line and blocks of them, in a text of number-and-value pairs, and the file
//! is somebody else's, so every loop here is bounded. A library for the whole
//! format keeps every object of every kind in memory, follows no limit, and
//! leaves arcs, bulges, splines and blocks to be turned into curves all the same.
//!
//! Text files only; the binary form and DWG are named and refused. What is not
//! a line is counted and told.

mod curves;
mod entities;
mod expand;
mod records;
mod spline;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Rect, Shape as _};

use crate::art::{self, Art, Inked, Limits, Stroked};
use crate::diag::{Error, Finding, FindingKind, Noted, Place, Severity};
use crate::face::layer;
use crate::geom::boolean::Rule;
use crate::geom::tolerance::REPORT;
use crate::units::MM_PER_INCH;
use expand::Line;

/// First bytes of a binary DXF (DXF reference, "Binary DXF Files").
const BINARY: &[u8] = b"AutoCAD Binary DXF";
/// First bytes of a DWG: its version.
const DWG: &[u8] = b"AC10";

/// Whether `bytes` begin like DXF of any form: a record, or a comment, which is
/// a line with nothing but the code 0 or 999.
pub(super) fn is_dxf(bytes: &[u8]) -> bool {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    let line = &text[..text.iter().position(|b| matches!(b, b'\n' | b'\r')).unwrap_or(text.len())];
    bytes.starts_with(BINARY) || bytes.starts_with(DWG) || matches!(line.trim_ascii(), b"0" | b"999")
}

/// Reads a DXF drawing; `name` is what it is called in messages.
///
/// # Errors
/// [`Error::Art`] when it is not text, is broken, goes over a limit or holds no
/// line.
pub(super) fn read(bytes: &[u8], name: &str, limits: &Limits) -> Result<Noted<Art>, Error> {
    refuse(bytes, name, limits)?;
    let text = String::from_utf8_lossy(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes));
    let mut contents = entities::contents(&text, name)?;
    let lines = expand::lines(&mut contents, name)?;
    let mut findings = Vec::new();
    if !contents.whole {
        findings.push(cut_off(name));
    }
    let unit = unit(contents.unit);
    if unit.is_none() {
        findings.push(no_unit());
    }
    findings.splice(0..0, std::mem::take(&mut contents.left).findings(name));
    if lines.is_empty() {
        return Err(nothing_drawn(name, &findings));
    }
    if art::crossings::too_many(lines.iter().map(|line| &line.path), limits.crossings) {
        let what = art::crossings::message(limits.crossings);
        return Err(Error::art(whole(name), what, "simplify the drawing: delete lines drawn over one another"));
    }
    Ok(Noted { value: laid(name, &lines, unit.unwrap_or(1.0)), findings })
}

fn whole(name: &str) -> Place {
    Place { file: Some(name.to_owned()), ..Place::default() }
}

fn refuse(bytes: &[u8], name: &str, limits: &Limits) -> Result<(), Error> {
    let refused = |what: &str, advice: &str| Err(Error::art(whole(name), what, advice));
    if bytes.starts_with(BINARY) {
        return refused("this is a binary DXF; only text DXF is read", "save the drawing as DXF in text (ASCII) form");
    }
    if bytes.starts_with(DWG) {
        return refused("this is a DWG, not a DXF", "save the drawing as DXF in text (ASCII) form");
    }
    if bytes.len() > limits.file_bytes {
        let what = format!("the DXF is larger than {} MB", limits.file_bytes / 1_000_000);
        return refused(&what, "keep only the face's outlines in the file");
    }
    Ok(())
}

/// Millimetres of one unit of `$INSUNITS` (DXF reference, header variables);
/// `None` when the drawing has none.
fn unit(code: i64) -> Option<f64> {
    Some(match code {
        1 => MM_PER_INCH,
        2 => MM_PER_INCH * 12.0,
        4 => 1.0,
        5 => 10.0,
        6 => 1000.0,
        8 => MM_PER_INCH * 1e-6,
        9 => MM_PER_INCH * 1e-3,
        10 => MM_PER_INCH * 36.0,
        13 => 1e-3,
        14 => 100.0,
        _ => return None,
    })
}

fn no_unit() -> Finding {
    let message = "the drawing states no unit of length; one of its units was taken for a millimetre";
    let advice = "nothing, unless it is sawn at its own size";
    Finding::new("reading-3", FindingKind::Reading, Severity::Note, message, advice)
}

fn cut_off(name: &str) -> Finding {
    let message = "the file ends too soon (its last record, EOF, is missing); what comes before was used";
    let advice = "export the drawing again";
    Finding::new("left-out-end", FindingKind::LeftOut, Severity::Stop, message, advice).place(whole(name))
}

fn nothing_drawn(name: &str, findings: &[Finding]) -> Error {
    let told = findings.iter().find(|f| f.kind == FindingKind::LeftOut);
    let what = match told {
        Some(finding) => format!("the DXF holds no outline to saw ({})", finding.message),
        None => "nothing is drawn in the DXF; no outline to saw".to_owned(),
    };
    let place = told.and_then(|f| f.place.clone()).unwrap_or_else(|| whole(name));
    Error::art(place, what, "export the face's outlines as lines, arcs, polylines or splines")
}

/// The lines as art: y down, the upper left corner at the origin.
fn laid(name: &str, lines: &[Line], unit: f64) -> Art {
    let panel = panel(lines);
    let bounds = panel.unwrap_or_else(|| around(lines.iter()));
    let unit_mm = art::unit_for(bounds.width().max(bounds.height()) * unit);
    let scale = unit / unit_mm;
    let flip = Affine::new([scale, 0.0, 0.0, -scale, -bounds.x0 * scale, bounds.y1 * scale]);
    let mut once = BTreeSet::new();
    let shapes: Vec<Inked> = lines
        .iter()
        .map(|line| (flip * line.path.clone(), line))
        .filter(|(path, _)| once.insert(likeness(path)))
        .map(|(path, line)| inked(path, line, name))
        .collect();
    let page = panel.map(|p| Rect::new(0.0, 0.0, p.width() * scale, p.height() * scale));
    Art { name: name.to_owned(), page, unit_mm, placed: panel.is_some(), shapes }
}

fn inked(path: BezPath, line: &Line, name: &str) -> Inked {
    Inked {
        bounds: path.bounding_box(),
        // A line of no width inks nothing.
        path: BezPath::new(),
        rule: Rule::NonZero,
        darkness: 1.0,
        opacity: 1.0,
        line: Some(Stroked { centre: path, width: 0.0, dashed: false, filled: false }),
        place: Place { file: Some(name.to_owned()), line: Some(line.line), ..Place::default() },
        ids: [line.layer.clone()].into(),
    }
}

fn around<'a>(lines: impl Iterator<Item = &'a Line>) -> Rect {
    lines.map(|line| line.path.bounding_box()).reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// The panel's outline, when the drawing is one that was laid on its panel: its
/// layers are those of our own export, and the panel holds all there is.
fn panel(lines: &[Line]) -> Option<Rect> {
    let on = |layer: &'static str| move |line: &&Line| line.layer.eq_ignore_ascii_case(layer);
    let all = around(lines.iter());
    let panel = around(lines.iter().filter(on(layer::PANEL)));
    let known =
        |line: &Line| [layer::CUT, layer::HOLES, layer::PANEL].iter().any(|l| line.layer.eq_ignore_ascii_case(l));
    let ours = lines.iter().all(known) && lines.iter().any(|line| on(layer::CUT)(&line)) && panel.area() > 0.0;
    (ours && panel.inflate(REPORT, REPORT).union(all) == panel.inflate(REPORT, REPORT)).then_some(panel)
}

/// Where along each piece of a line it is looked at: alike from both ends, and
/// not in the middle alone, where a curve and its mirror image may meet.
const LOOKED_AT: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// Lines that lie on one another have the same likeness, whichever way they
/// run: drawings come with lines drawn twice, and a pair of those would close
/// upon itself. Places to 1e-4 of the art's unit.
fn likeness(path: &BezPath) -> Vec<[i64; 2]> {
    use kurbo::ParamCurve as _;
    let place = |p: kurbo::Point| [p.x, p.y].map(|v| (v * 1e4).round() as i64);
    let mut places: Vec<[i64; 2]> = path.segments().flat_map(|seg| LOOKED_AT.map(|t| seg.eval(t))).map(place).collect();
    places.sort_unstable();
    places
}
