//! The drawing as XML: what refers to what, and where each element stands.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use usvg::roxmltree::{Document, Node, ParsingOptions};

use super::arcs;
use super::css;
use super::lexical::Lexed;
use super::places::{Lines, Places, Spot};
use crate::diag::Place;

/// The names of elements that put ink on the page.
pub(super) const SHAPES: [&str; 7] = ["path", "rect", "circle", "ellipse", "line", "polyline", "polygon"];

/// Starts the ids lent to elements that have none.
const LENT: &str = "__fretgrin_";

/// One reference from an element to another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reference<'a> {
    /// The id referred to.
    pub(super) id: &'a str,
    /// The attribute or property that refers.
    pub(super) by: &'a str,
    /// Whether children inherit it, as they do paints and markers.
    pub(super) inherited: bool,
    /// Whether it stands once for every vertex.
    pub(super) marker: bool,
    /// Whether the target is shown in the place of the element (`use`).
    pub(super) shows: bool,
}

/// One CSS rule that refers to an element.
#[derive(Debug)]
pub(super) struct Rule<'a> {
    tag: Option<&'a str>,
    class: Option<&'a str>,
    id: Option<&'a str>,
    body: &'a str,
}

impl Rule<'_> {
    /// Whether the rule may apply to `node`; true more often than it does.
    fn may_apply(&self, node: Node) -> bool {
        let has_class =
            |class: &str| node.attribute("class").is_some_and(|all| all.split_ascii_whitespace().any(|c| c == class));
        let tag = node.tag_name().name();
        let paints = SHAPES.contains(&tag) || matches!(tag, "g" | "svg" | "use" | "symbol" | "a" | "text");
        paints
            && self.tag.is_none_or(|wanted| wanted == tag)
            && self.class.is_none_or(has_class)
            && self.id.is_none_or(|id| node.attribute("id") == Some(id))
    }
}

/// The rules of all style sheets in `doc` that refer to something.
pub(super) fn css_rules<'a>(doc: &'a Document) -> Vec<Rule<'a>> {
    let mut rules = Vec::new();
    for sheet in doc.descendants().filter(|n| n.has_tag_name("style")).filter_map(|n| n.text()) {
        for block in sheet.split('}').filter(|b| b.contains("url(")) {
            let Some((selectors, body)) = block.rsplit_once('{') else { continue };
            rules.extend(selectors.split(',').map(|selector| rule(selector, body)));
        }
    }
    rules
}

/// Steps the library takes to match every selector with every element: each
/// compound of a selector may look through all ancestors.
pub(super) fn css_steps(doc: &Document, depth: u32) -> f64 {
    let sheets = doc.descendants().filter(|n| n.has_tag_name("style")).filter_map(|n| n.text());
    let selectors = sheets.flat_map(|sheet| sheet.split('}').filter_map(|block| block.split_once('{')));
    let steps = selectors.flat_map(|(all, _)| all.split(',')).map(|selector| {
        let compounds = selector.split_ascii_whitespace().filter(|part| !matches!(*part, ">" | "+")).count();
        f64::from(depth.max(1)).powi(compounds.saturating_sub(1).min(64) as i32)
    });
    steps.sum::<f64>() * doc.descendants().filter(Node::is_element).count() as f64
}

/// Whether a rule with these selectors may apply to `node`; true more often than
/// it does.
pub(super) fn may_concern(selectors: &str, node: Node) -> bool {
    selectors.split(',').any(|selector| rule(selector, "").may_apply(node))
}

fn rule<'a>(selector: &'a str, body: &'a str) -> Rule<'a> {
    let last = selector.split_ascii_whitespace().last().unwrap_or("");
    let last = last.rsplit(['>', '+', '~']).next().unwrap_or("");
    let name = |text: &'a str| &text[..text.find(['.', '#', ':', '[']).unwrap_or(text.len())];
    let part = |mark: char| Some(name(last.rsplit_once(mark)?.1));
    let tag = Some(name(last)).filter(|tag| !tag.is_empty() && *tag != "*");
    Rule { tag, class: part('.'), id: part('#'), body }
}

/// Everything `node` refers to inside the drawing.
pub(super) fn references<'a>(node: Node<'a, '_>, rules: &[Rule<'a>]) -> Vec<Reference<'a>> {
    let mut found = Vec::new();
    for attribute in node.attributes() {
        match attribute.name() {
            // A link shows nothing of what it leads to.
            "href" if node.tag_name().name() == "a" => {}
            "href" => {
                if let Some(id) = attribute.value().trim().strip_prefix('#') {
                    let shows = node.tag_name().name() == "use";
                    found.push(Reference { id, by: "href", inherited: false, marker: false, shows });
                }
            }
            "style" => in_declarations(attribute.value(), &mut found),
            name => in_value(name, attribute.value(), &mut found),
        }
    }
    for rule in rules.iter().filter(|r| r.may_apply(node)) {
        in_declarations(rule.body, &mut found);
    }
    found
}

fn in_declarations<'a>(declarations: &'a str, found: &mut Vec<Reference<'a>>) {
    for declaration in declarations.split(';').filter(|d| d.contains("url(")) {
        if let Some((name, value)) = declaration.split_once(':') {
            in_value(name.trim(), value, found);
        }
    }
}

fn in_value<'a>(name: &'a str, value: &'a str, found: &mut Vec<Reference<'a>>) {
    let mut rest = value;
    while let Some((_, after)) = rest.split_once("url(") {
        let end = after.find(')').unwrap_or(after.len());
        let target = after[..end].trim_matches(|c: char| c.is_whitespace() || matches!(c, '"' | '\''));
        if let Some(id) = target.strip_prefix('#') {
            let marker = name.starts_with("marker");
            let inherited = marker || matches!(name, "fill" | "stroke");
            found.push(Reference { id, by: name, inherited, marker, shows: false });
        }
        rest = &after[end..];
    }
}

/// Parses a lexed text.
///
/// # Errors
/// What the XML parser says.
pub(super) fn parse(lexed: &Lexed, nodes: u32) -> Result<Document<'_>, usvg::roxmltree::Error> {
    let options = ParsingOptions { allow_dtd: lexed.has_entities, nodes_limit: nodes, ..ParsingOptions::default() };
    Document::parse_with_options(&lexed.text, options)
}

/// The text with an id on every element that can be drawn, and their places.
#[derive(Debug)]
pub(super) struct Lent {
    /// The text.
    pub(super) lexed: Lexed,
    /// Places by id.
    pub(super) places: Places,
    /// Ids of shapes that should be seen among the drawn ones, in file order.
    pub(super) expected: Vec<String>,
}

/// One change to the text: what stands in `range` becomes `text`.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Edit {
    /// What is replaced; nothing where something is put in.
    pub(super) range: Range<usize>,
    /// What comes in its place.
    pub(super) text: String,
}

/// Lends an id to every drawable element of `doc` that has none, so that what
/// is drawn, and what is not, can be traced to its line; and writes out what the
/// library would not read as it is meant: arcs as finer curves, styles in plain
/// words.
pub(super) fn lend_ids(doc: &Document, lexed: &Lexed, name: &str) -> Lent {
    let lines = Lines::of(&lexed.text);
    let (mut edits, mut places, mut expected) = (css::edits(doc, &lexed.text), Places::default(), Vec::new());
    let may_lend = !lexed.text.contains(LENT);
    for node in doc.descendants().filter(Node::is_element) {
        let tag = node.tag_name().name();
        if !SHAPES.contains(&tag) && !matches!(tag, "use" | "g" | "svg" | "text" | "image") {
            continue;
        }
        let start = node.range().start;
        let mut place = lines.place(name, start);
        place.element = nearest_id(node);
        let own = node.attribute("id").map(str::to_owned);
        let lent = (own.is_none() && may_lend && start >= lexed.body).then(|| format!("{LENT}{}", node.id().get()));
        let id = lent.as_ref().map(|id| format!(" id=\"{id}\"")).unwrap_or_default();
        let added = id + if is_round(node) { ROUND } else { "" };
        if !added.is_empty() {
            let after = name_end(&lexed.text, start);
            edits.push(Edit { range: after..after, text: added });
        }
        edits.extend(finer_arcs(node).map(|(range, text)| Edit { range, text }));
        if let Some(id) = own.or(lent) {
            if SHAPES.contains(&tag) && is_shown(node) {
                expected.push(id.clone());
            }
            let ids = node.ancestors().filter_map(|n| n.attribute("id")).map(str::to_owned).collect();
            places.note(id, Spot { place, ids });
        }
    }
    let text = edited(&lexed.text, lexed.body, edits);
    Lent {
        lexed: Lexed { text, has_entities: lexed.has_entities, body: lexed.body, depth: lexed.depth },
        places,
        expected,
    }
}

/// `text` with `edits` made, none before `body`, the first of two that overlap.
fn edited(text: &str, body: usize, mut edits: Vec<Edit>) -> String {
    edits.sort_by_key(|edit| edit.range.start);
    let mut out = String::with_capacity(text.len() * 5 / 4);
    let mut copied = 0;
    for Edit { range, text: new } in edits {
        if range.start < body.max(copied) {
            continue;
        }
        out.push_str(&text[copied..range.start]);
        out.push_str(&new);
        copied = range.end;
    }
    out + &text[copied..]
}

/// Marks a shape whose arcs the library will draw as quarters: the one property
/// that comes through the library untouched and that no saw cares about.
const ROUND: &str = " shape-rendering=\"optimizeSpeed\"";

/// Whether `path` carries the mark. Others may by chance; see
/// [`arcs::finer_quarters`].
pub(super) fn is_marked_round(path: &usvg::Path) -> bool {
    path.rendering_mode() == usvg::ShapeRendering::OptimizeSpeed
}

fn is_round(node: Node) -> bool {
    matches!(node.tag_name().name(), "circle" | "ellipse" | "rect") && !node.has_attribute("shape-rendering")
}

/// The outline data of a path without its arcs, and where they stand.
fn finer_arcs(node: Node) -> Option<(Range<usize>, String)> {
    if node.tag_name().name() != "path" {
        return None;
    }
    let data = node.attribute_node("d")?;
    Some((data.range_value(), arcs::without_arcs(data.value())?))
}

/// Where the name of the tag that opens at `start` ends.
fn name_end(text: &str, start: usize) -> usize {
    let name = &text[start + 1..];
    start + 1 + name.find(|c: char| c.is_whitespace() || matches!(c, '/' | '>')).unwrap_or(name.len())
}

/// The id of `node` or of its nearest ancestor that has one.
pub(super) fn nearest_id(node: Node) -> Option<String> {
    node.ancestors().find_map(|n| n.attribute("id")).map(str::to_owned)
}

/// The place of `node` in the file.
pub(super) fn place(node: Node, lines: &Lines, name: &str) -> Place {
    let mut place = lines.place(name, node.range().start);
    place.element = nearest_id(node);
    place
}

/// Elements whose children are shown only by reference.
const UNSHOWN: [&str; 8] = ["defs", "symbol", "clipPath", "mask", "pattern", "marker", "linearGradient", "filter"];

/// Whether an element stands where it would be drawn by itself. (What stands
/// in a `switch` may not be: that is its purpose.)
pub(super) fn is_shown(node: Node) -> bool {
    node.ancestors().skip(1).all(|n| !UNSHOWN.contains(&n.tag_name().name()) && !n.has_tag_name("switch"))
}

/// What is seen of a drawing: what stands in the open, what a `use` brings
/// there, and of a `switch` the one it chooses.
#[derive(Debug)]
pub(super) struct Seen {
    /// Elements that a `use` shows.
    used: BTreeSet<usize>,
    /// What each `switch` chooses.
    chosen: BTreeMap<usize, Option<usize>>,
}

impl Seen {
    /// Follows every `use` that is seen; each element is gone into once.
    pub(super) fn of(doc: &Document) -> Self {
        let switches = doc.descendants().filter(|n| n.has_tag_name("switch"));
        let mut seen =
            Self { used: BTreeSet::new(), chosen: switches.map(|n| (n.id().get_usize(), choice(n))).collect() };
        let uses = |n: &Node| n.has_tag_name("use");
        let mut left: Vec<Node> = doc.descendants().filter(uses).filter(|&n| seen.shows(n)).collect();
        if left.is_empty() {
            return seen;
        }
        let mut ids = BTreeMap::new();
        for node in doc.descendants() {
            if let Some(id) = node.attribute("id") {
                ids.entry(id).or_insert(node);
            }
        }
        while let Some(node) = left.pop() {
            let link = node.attributes().find(|a| a.name() == "href").and_then(|a| a.value().trim().strip_prefix('#'));
            let Some(&target) = link.and_then(|id| ids.get(id)) else { continue };
            if seen.used.insert(target.id().get_usize()) {
                left.extend(target.descendants().filter(uses).filter(|&n| seen.shows(n)));
            }
        }
        seen
    }

    /// Whether `node` is seen.
    pub(super) fn shows(&self, node: Node) -> bool {
        let mut chosen = true;
        for n in node.ancestors() {
            let choice = n.parent().and_then(|parent| self.chosen.get(&parent.id().get_usize()));
            chosen &= choice.is_none_or(|choice| *choice == Some(n.id().get_usize()));
            if self.used.contains(&n.id().get_usize()) {
                return chosen;
            }
            if n != node && UNSHOWN.contains(&n.tag_name().name()) {
                return false;
            }
        }
        chosen
    }
}

/// What a `switch` shows: the first child that asks for nothing special (SVG 2,
/// 5.9.2), in English as the library has it.
fn choice(switch: Node) -> Option<usize> {
    let speaks = |n: &Node| n.attribute("systemLanguage").is_none_or(|all| all.split(',').any(english));
    let plain = |n: &Node| n.is_element() && !n.has_attribute("requiredExtensions") && speaks(n);
    switch.children().find(plain).map(|n| n.id().get_usize())
}

fn english(language: &str) -> bool {
    let language = language.trim();
    language == "en" || language.starts_with("en-")
}
