//! What is in the file and will not be sawn: named, with its line.

use std::collections::{BTreeMap, BTreeSet};

use usvg::roxmltree::{Document, Node};

use super::pathdata;
use super::places::Lines;
use super::source::{self, SHAPES, Seen};
use super::unread;
use crate::diag::{Error, Finding, FindingKind, Place, Severity};

/// Remarks collected while reading.
#[derive(Debug, Default)]
pub(super) struct Notes {
    findings: Vec<Finding>,
}

/// Findings with the same words are told one by one up to here, then counted.
const REPEATS: usize = 4;

impl Notes {
    /// A remark that something was not used, or not as drawn.
    pub(super) fn left_out(&mut self, severity: Severity, place: Place, message: &str, advice: &str) {
        let finding = Finding::new("", FindingKind::LeftOut, severity, message, advice).place(place);
        self.findings.push(finding);
    }

    /// The remarks, in file order, numbered `left-out-1` …, repeats counted.
    pub(super) fn finish(mut self) -> Vec<Finding> {
        self.findings.sort_by_key(|f| f.place.as_ref().map(|p| (p.line, p.column)));
        let mut told: Vec<(Finding, usize)> = Vec::new();
        for finding in self.findings {
            let same = told.iter().filter(|(t, _)| t.message == finding.message).count();
            match told.iter_mut().rev().find(|(t, _)| t.message == finding.message) {
                Some((_, more)) if same >= REPEATS => *more += 1,
                _ => told.push((finding, 0)),
            }
        }
        let numbered = told.into_iter().zip(1..);
        numbered
            .map(|((mut finding, more), number)| {
                finding.id = format!("left-out-{number}");
                if more > 0 {
                    finding.message = format!("{}; {more} more alike", finding.message);
                }
                finding
            })
            .collect()
    }
}

/// Looks for everything in `doc` that no shape will come from.
///
/// # Errors
/// [`Error::Art`] when the drawing wants a file or a network address opened to
/// be complete.
pub(super) fn survey(doc: &Document, text: &str, name: &str, notes: &mut Notes) -> Result<(), Error> {
    let lines = Lines::of(text);
    let ids: BTreeMap<&str, &str> =
        doc.descendants().filter_map(|n| Some((n.attribute("id")?, n.tag_name().name()))).collect();
    let rules = source::css_rules(doc);
    let seen = Seen::of(doc);
    for node in doc.descendants() {
        if node.is_pi() {
            if node.pi().is_some_and(|pi| pi.target == "xml-stylesheet") {
                let place = lines.place(name, node.range().start);
                notes.left_out(
                    Severity::Care,
                    place,
                    "a style sheet in another file was not read",
                    "put the styles into the drawing",
                );
            }
            continue;
        }
        if !node.is_element() {
            continue;
        }
        let place = || source::place(node, &lines, name);
        outside(node, place)?;
        element(node, &seen, place, notes);
        path_faults(node, place, notes);
        for reference in source::references(node, &rules) {
            match ids.get(reference.id) {
                None => missing(&reference, place(), notes),
                Some(tag) => unpaintable(&reference, tag, place(), notes),
            }
        }
    }
    unread::survey(doc, &lines, name, notes);
    Ok(())
}

/// Refuses what would have to be fetched from outside the drawing.
fn outside(node: Node, place: impl Fn() -> Place) -> Result<(), Error> {
    let draws = matches!(
        node.tag_name().name(),
        "image" | "use" | "feImage" | "linearGradient" | "radialGradient" | "pattern" | "textPath"
    );
    if let Some(css) = node.text().filter(|_| node.has_tag_name("style"))
        && let Some(address) = painted_by(css).find(|a| is_outside(a))
    {
        return Err(wants_fetching(place(), node, address));
    }
    for attribute in node.attributes() {
        let elsewhere = |address: &str| is_outside(address) || is_elsewhere(node, address);
        let by_link = draws && attribute.name() == "href" && elsewhere(attribute.value());
        let by_url = addresses(attribute.value()).any(is_outside);
        if by_link || by_url {
            return Err(wants_fetching(place(), node, attribute.value()));
        }
    }
    Ok(())
}

fn wants_fetching(place: Place, node: Node, address: &str) -> Error {
    let what = format!(
        "<{}> wants `{}` fetched; a drawing must be complete in itself",
        node.tag_name().name(),
        short(address)
    );
    Error::art(place, what, "put what it shows into the drawing, or delete the element")
}

/// The addresses in every `url(…)` of a text.
fn addresses(text: &str) -> impl Iterator<Item = &str> {
    text.split("url(").skip(1).map(|after| {
        let end = after.find(')').unwrap_or(after.len());
        after[..end].trim_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\''))
    })
}

/// The addresses a style sheet paints with. Fonts and further sheets it names
/// are not needed for outlines, and design programs name them freely.
fn painted_by(css: &str) -> impl Iterator<Item = &str> {
    let blocks = css.split('}').filter_map(|block| block.rsplit_once('{'));
    blocks.filter(|(selector, _)| !selector.contains("@font-face")).flat_map(|(_, body)| addresses(body))
}

fn is_outside(address: &str) -> bool {
    let address = address.trim();
    let scheme = address.split_once(':').map(|(scheme, _)| scheme.to_ascii_lowercase());
    address.starts_with("//") || matches!(scheme.as_deref(), Some("file" | "http" | "https" | "ftp"))
}

/// Whether what `node` draws stands in another file beside the drawing (URL
/// Standard, 4.3: an address without a scheme is relative). A bitmap beside it is
/// left out like one inside it, and told.
fn is_elsewhere(node: Node, address: &str) -> bool {
    let address = address.trim();
    let here = address.is_empty() || address.starts_with('#') || address.starts_with("data:");
    !here && !matches!(node.tag_name().name(), "image" | "feImage")
}

fn short(text: &str) -> String {
    let cut: String = text.chars().take(60).collect();
    if cut.len() < text.len() { format!("{cut}…") } else { cut }
}

/// Elements nothing is sawn from.
fn element(node: Node, seen: &Seen, place: impl Fn() -> Place, notes: &mut Notes) {
    let told = matches!(node.tag_name().name(), "text" | "image" | "foreignObject");
    let hidden = told && !seen.shows(node);
    let (severity, message, advice) = match node.tag_name().name() {
        "text" if !hidden => (
            Severity::Care,
            format!("the text `{}` was left out", short(&words(node))),
            "convert text to outlines in the drawing program if it is to be sawn",
        ),
        "image" if !hidden => (
            Severity::Care,
            "a bitmap inside the drawing was left out".to_owned(),
            "trace the bitmap to outlines, or give the bitmap file itself",
        ),
        "foreignObject" if !hidden => (
            Severity::Care,
            "a foreign object (web content) was left out".to_owned(),
            "convert it to outlines in the drawing program",
        ),
        "script" => (Severity::Note, "a script was not run".to_owned(), "nothing, if the picture is right"),
        "set" | "animate" | "animateTransform" | "animateMotion" | "animateColor" => (
            Severity::Note,
            "an animation was left out; its first picture was used".to_owned(),
            "nothing, if the picture is right",
        ),
        "style" if node.text().is_some_and(|css| css.contains("@import")) => (
            Severity::Note,
            "a style sheet imports another, which was not read".to_owned(),
            "put the styles into the drawing if the picture is not right",
        ),
        _ => return,
    };
    notes.left_out(severity, place(), &message, advice);
}

fn words(node: Node) -> String {
    let all: String = node.descendants().filter_map(|n| n.text().filter(|_| n.is_text())).collect();
    all.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Broken outline data: the library keeps what comes before the fault.
fn path_faults(node: Node, place: impl Fn() -> Place, notes: &mut Notes) {
    let fault = match node.tag_name().name() {
        "path" => node.attribute("d").and_then(|d| Some((d, pathdata::check(d).err()?))),
        "polyline" | "polygon" => node.attribute("points").and_then(|d| Some((d, pathdata::check_numbers(d).err()?))),
        _ => None,
    };
    if let Some((data, fault)) = fault {
        let near = short(data.get(fault.at..).unwrap_or("").trim());
        let message = if near.is_empty() {
            format!("the outline data end too soon ({}); what comes before was used", fault.what)
        } else {
            format!("the outline data are broken at `{near}` ({}); what comes before was used", fault.what)
        };
        notes.left_out(Severity::Stop, place(), &message, "export the drawing again, or redraw this outline");
    }
}

fn missing(reference: &source::Reference, place: Place, notes: &mut Notes) {
    let (severity, effect) = match reference.by {
        "clip-path" => (Severity::Care, "the shape was not clipped"),
        "mask" => (Severity::Care, "the shape was not masked"),
        "fill" | "stroke" => (Severity::Care, "it was painted with the fallback colour or not at all"),
        "filter" => (Severity::Care, "the shape was left out"),
        "href" => (Severity::Care, "nothing stands there"),
        _ => (Severity::Note, "nothing stands there"),
    };
    let message =
        format!("{} refers to `#{}`, which is not in the drawing; {effect}", reference.by, short(reference.id));
    notes.left_out(severity, place, &message, "restore the missing element, or delete the reference");
}

/// Paint by something that is no paint read here: a mesh, a hatch (SVG 2, 13.2:
/// the paint servers of all viewers are gradients and patterns).
fn unpaintable(reference: &source::Reference, tag: &str, place: Place, notes: &mut Notes) {
    let paints = matches!(tag, "linearGradient" | "radialGradient" | "pattern");
    if !matches!(reference.by, "fill" | "stroke") || paints {
        return;
    }
    let message = format!(
        "{} refers to `#{}`, a <{tag}>, which is not read as paint; it was painted with the fallback colour or not at all",
        reference.by,
        short(reference.id)
    );
    notes.left_out(Severity::Care, place, &message, "paint it with a colour, a gradient or a pattern");
}

/// Names the shapes that should have been drawn and were not.
pub(super) fn vanished(
    doc: &Document,
    expected: &[String],
    seen: &BTreeSet<String>,
    places: &super::places::Places,
    notes: &mut Notes,
) {
    let gone: BTreeSet<&str> = expected.iter().filter(|id| !seen.contains(*id)).map(String::as_str).collect();
    if gone.is_empty() {
        return;
    }
    for node in doc.descendants().filter(|n| SHAPES.contains(&n.tag_name().name())) {
        let Some(id) = node.attribute("id").filter(|id| gone.contains(id)) else { continue };
        let (severity, why) = why_gone(node);
        let message = format!("<{}> {why}; it was left out", node.tag_name().name());
        let place = places.get(id).map(|spot| spot.place.clone()).unwrap_or_default();
        notes.left_out(severity, place, &message, "draw it again or show it if it belongs to the face");
    }
}

fn why_gone(node: Node) -> (Severity, &'static str) {
    let hides = |n: Node| {
        n.attribute("display") == Some("none")
            || n.attribute("style").is_some_and(|s| s.replace(' ', "").contains("display:none"))
    };
    if node.ancestors().any(hides) {
        return (Severity::Note, "is hidden (display: none)");
    }
    let zero = |name: &str| node.attribute(name).and_then(|v| v.trim().parse::<f64>().ok()).is_none_or(|v| v <= 0.0);
    match node.tag_name().name() {
        "rect" if zero("width") || zero("height") => (Severity::Note, "has no width or no height"),
        "circle" if zero("r") => (Severity::Note, "has no radius"),
        "path" if node.attribute("d").is_none_or(|d| d.trim().is_empty()) => (Severity::Note, "has no outline data"),
        _ => (
            Severity::Care,
            "came to nothing: no size, impossible numbers, hidden by a style, or clipped by something empty",
        ),
    }
}
