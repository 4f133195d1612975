//! What a drawing would cost once its references are followed, worked out
//! without following them.
//!
//! A `use` of a group of ten `use`s of ten groups … writes a billion shapes in
//! a kilobyte; a clip path clipped by a clip path clipped by … overflows any
//! stack. Each element's cost is the number of elements that stand in its place
//! at the end: its own, its children's, and those of everything it refers to.

use std::collections::BTreeMap;

use usvg::roxmltree::{Document, Node};

use super::pathdata;
use super::source::{self, Rule};

/// Why a drawing is turned away, with the element at fault.
#[derive(Debug)]
pub(super) enum Fault<'a, 'i> {
    /// An element refers to itself, directly or by way of others.
    Cycle(Node<'a, 'i>),
    /// References reach through too many others.
    Deep(Node<'a, 'i>),
    /// Too many elements in the end.
    Large,
    /// Style sheets too costly to apply.
    Styles,
    /// A line drawn wider than any drawing.
    Wide(Node<'a, 'i>),
}

/// Widest stroke, in the drawing's own units. The library works out the edges of
/// a stroke to a fixed fineness, so a width without bounds is time without
/// bounds. Ours: a drawing in thousandths of a millimetre stays far below.
const WIDEST: f64 = 100_000.0;

/// Whether `node` states a stroke wider than that, in an attribute, a style or a
/// style sheet.
fn is_wide(node: Node) -> bool {
    let number = |text: &str| {
        let text = text.trim_start_matches(|c: char| c.is_whitespace() || c == ':');
        let end = text.find(|c: char| !matches!(c, '0'..='9' | '.' | '+' | '-' | 'e' | 'E')).unwrap_or(text.len());
        let digits = text[..end].trim_end_matches(['e', 'E', '+', '-']);
        digits.parse::<f64>().is_ok_and(|width| width.abs() > WIDEST)
    };
    let stated = |text: &str| text.split("stroke-width").skip(1).any(number);
    node.attribute("stroke-width").is_some_and(number)
        || node.attribute("style").is_some_and(stated)
        || (node.has_tag_name("style") && node.text().is_some_and(stated))
}

/// Most references one behind another (a clip of a clip of a clip …).
const CHAIN: u32 = 40;
/// Most steps of the SVG library's own search for references to themselves.
const SEARCH: u64 = 20_000_000;

/// Most steps of matching style rules with elements.
const CSS: f64 = 2e7;

/// Most bytes the library's style reader may go through again: at the end of
/// every declaration it counts lines from the start of the text. Ours: a third
/// of a second; a style sheet of 100 kB with 3,000 declarations stays below.
const RECOUNTED: f64 = 4e8;

/// Bytes it goes through so, in all styles of `doc`.
fn recounted(doc: &Document) -> f64 {
    let steps = |css: &str| css.bytes().filter(|&b| b == b';').count() as f64 * css.len() as f64 / 2.0;
    let sheets = doc.descendants().filter(|n| n.has_tag_name("style")).filter_map(|n| n.text());
    let styles = doc.descendants().filter_map(|n| n.attribute("style"));
    sheets.chain(styles).map(steps).sum()
}

fn deepest(doc: &Document) -> u32 {
    let (mut deepest, mut depth) = (0, 0u32);
    let mut node = doc.root_element();
    // Depth first, without a stack: down, else along, else up and along.
    loop {
        if let Some(child) = node.first_element_child() {
            (node, depth) = (child, depth + 1);
            deepest = deepest.max(depth);
            continue;
        }
        while node.next_sibling_element().is_none() {
            match node.parent_element() {
                Some(parent) => (node, depth) = (parent, depth - 1),
                None => return deepest,
            }
        }
        if let Some(next) = node.next_sibling_element() {
            node = next;
        }
    }
}

/// Weight of one element and all that stands in its place.
#[derive(Clone, Copy, Debug, Default)]
struct Weight {
    /// Elements, references followed.
    cost: u64,
    /// Elements that would inherit a paint, references of `use` followed.
    elements: u64,
    /// Vertices that would inherit a marker.
    vertices: u64,
    /// References one behind another.
    chain: u32,
}

#[derive(Clone, Copy, Debug)]
enum State {
    Open,
    Done(Weight),
}

struct Survey<'a, 'i> {
    ids: BTreeMap<&'a str, Node<'a, 'i>>,
    rules: Vec<Rule<'a>>,
    states: Vec<Option<State>>,
}

/// Checks that `doc` stays within `limit` elements with its references followed.
///
/// # Errors
/// The first [`Fault`] met.
pub(super) fn check<'a, 'i>(doc: &'a Document<'i>, limit: u64) -> Result<(), Fault<'a, 'i>> {
    let mut ids = BTreeMap::new();
    for node in doc.descendants().filter(Node::is_element) {
        if let Some(id) = node.attribute("id") {
            ids.entry(id).or_insert(node);
        }
    }
    let nodes = doc.descendants().count();
    let mut survey = Survey { ids, rules: source::css_rules(doc), states: vec![None; nodes + 1] };
    let total = survey.weigh(doc.root_element())?.cost;
    if source::css_steps(doc, deepest(doc)) > CSS || recounted(doc) > RECOUNTED {
        return Err(Fault::Styles);
    }
    let search = survey.search(doc);
    if total > limit || search > SEARCH {
        return Err(Fault::Large);
    }
    match doc.descendants().find(|node| node.is_element() && is_wide(*node)) {
        Some(node) => Err(Fault::Wide(node)),
        None => Ok(()),
    }
}

impl<'a, 'i> Survey<'a, 'i> {
    fn weigh(&mut self, node: Node<'a, 'i>) -> Result<Weight, Fault<'a, 'i>> {
        let slot = node.id().get_usize();
        match self.states[slot] {
            Some(State::Done(weight)) => return Ok(weight),
            Some(State::Open) => return Err(Fault::Cycle(node)),
            None => self.states[slot] = Some(State::Open),
        }
        let mut sum = Weight { cost: 1, elements: 1, vertices: vertices(node), chain: 0 };
        for child in node.children() {
            let weight = self.weigh(child)?;
            sum.cost = sum.cost.saturating_add(weight.cost);
            sum.elements = sum.elements.saturating_add(weight.elements);
            sum.vertices = sum.vertices.saturating_add(weight.vertices);
            sum.chain = sum.chain.max(weight.chain);
        }
        if node.is_element() {
            self.add_references(node, &mut sum)?;
        }
        if sum.chain > CHAIN {
            return Err(Fault::Deep(node));
        }
        self.states[slot] = Some(State::Done(sum));
        Ok(sum)
    }

    fn add_references(&mut self, node: Node<'a, 'i>, sum: &mut Weight) -> Result<(), Fault<'a, 'i>> {
        let mut references = source::references(node, &self.rules);
        // A `use` carries what it shows; paints on it reach into that.
        references.sort_by_key(|r| r.inherited);
        for reference in references {
            let Some(&target) = self.ids.get(reference.id) else { continue };
            // A marker is not drawn on what stands in it.
            if reference.marker && matches!(self.states[target.id().get_usize()], Some(State::Open)) {
                continue;
            }
            let weight = self.weigh(target)?;
            sum.chain = sum.chain.max(weight.chain + 1);
            let times = match (reference.inherited, reference.marker) {
                (true, true) => sum.vertices,
                (true, false) => sum.elements,
                (false, _) => 1,
            };
            sum.cost = sum.cost.saturating_add(weight.cost.saturating_mul(times));
            if reference.shows {
                sum.elements = sum.elements.saturating_add(weight.elements);
                sum.vertices = sum.vertices.saturating_add(weight.vertices);
            }
        }
        Ok(())
    }

    /// Steps of the library's search: for every pattern, clip path, mask and
    /// filter, all nodes in what its descendants refer to.
    fn search(&self, doc: &'a Document<'i>) -> u64 {
        let mut total = 0u64;
        let defines = |n: &Node| matches!(n.tag_name().name(), "pattern" | "clipPath" | "mask" | "filter");
        for definition in doc.descendants().filter(defines) {
            for node in definition.descendants() {
                total += 1;
                for reference in source::references(node, &self.rules) {
                    let target = self.ids.get(reference.id).and_then(|t| self.states[t.id().get_usize()]);
                    if let Some(State::Done(weight)) = target {
                        total = total.saturating_add(weight.cost);
                    }
                }
                if total > SEARCH {
                    return total;
                }
            }
        }
        total
    }
}

fn vertices(node: Node) -> u64 {
    match node.tag_name().name() {
        "path" => node.attribute("d").map_or(0, pathdata::commands_at_most),
        "polyline" | "polygon" => node.attribute("points").map_or(0, pathdata::commands_at_most),
        "line" => 2,
        _ => 0,
    }
}
