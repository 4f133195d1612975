//! What a drawing says that would change the picture and is not understood.
//!
//! Each is told once where it stands: a face that comes out wrong without a word
//! is worse than one that comes out wrong with one.

use std::collections::BTreeSet;

use usvg::roxmltree::{Document, Node};

use super::css;
use super::dropped::Notes;
use super::places::Lines;
use super::source::{self, SHAPES};
use crate::diag::Place;

/// What was not understood, and what to do about it.
type Told = (String, &'static str);

/// Elements whose styles reach the picture, besides the shapes.
const STYLED: [&str; 13] = [
    "svg",
    "g",
    "a",
    "use",
    "symbol",
    "switch",
    "clipPath",
    "mask",
    "pattern",
    "marker",
    "stop",
    "linearGradient",
    "radialGradient",
];

/// Different things told; after these it is said that there are more.
const MOST: usize = 40;

/// Looks for styles and attributes of `doc` that are not understood.
pub(super) fn survey(doc: &Document, lines: &Lines, name: &str, notes: &mut Notes) {
    let variables = css::Variables::of(doc);
    let mut teller = Teller { notes, told: BTreeSet::new() };
    let place = |node: Node| source::place(node, lines, name);
    let sheets: Vec<(Node, String)> = doc
        .descendants()
        .filter(|n| n.has_tag_name("style"))
        .filter_map(|n| Some((n, css::without_comments(n.text()?))))
        .map(|(n, css)| (n, variables.written_out(&css).unwrap_or(css)))
        .collect();
    for (node, css) in &sheets {
        teller.tell(|| place(*node), in_sheet(doc, css));
    }
    let in_sheets = |property: &str| sheets.iter().any(|(_, css)| css.contains(property));
    let (stroked, dashed) = (Stated::of(doc, "stroke"), Stated::of(doc, "stroke-dasharray"));
    let (all_stroked, all_dashed) = (in_sheets("stroke"), in_sheets("stroke-dasharray"));
    for node in doc.descendants().filter(|n| n.is_element() && is_styled(*n)) {
        let mut found = in_element(node, &variables);
        if is_unscaled(node) && (all_stroked || stroked.on(node)) {
            found.push(non_scaling());
        }
        if node.has_attribute("pathLength") && (all_dashed || dashed.on(node)) {
            let message = "`pathLength` was not used: the dashes were measured in the drawing's own units";
            found.push((message.to_owned(), "look at the picture; write the dashes as long as they are"));
        }
        teller.tell(|| place(node), found);
    }
}

struct Teller<'a> {
    notes: &'a mut Notes,
    told: BTreeSet<String>,
}

impl Teller<'_> {
    fn tell(&mut self, place: impl Fn() -> Place, found: Vec<Told>) {
        for (message, advice) in found {
            let known = self.told.contains(&message);
            if known || self.told.len() < MOST {
                self.notes.care(place(), &message, advice);
            } else if self.told.len() == MOST {
                self.notes.care(place(), "more styles were not understood", "look at the picture");
            }
            if !known && self.told.len() <= MOST {
                self.told.insert(message);
            }
        }
    }
}

/// Which elements have a property other than `none`, by themselves or by what
/// they stand in.
struct Stated(Vec<bool>);

impl Stated {
    fn of(doc: &Document, property: &str) -> Self {
        let mut stated = Self(vec![false; doc.descendants().count() + 1]);
        for node in doc.descendants().filter(Node::is_element) {
            let css = node.attribute("style").unwrap_or("");
            let own = css::declarations(css, 0..css.len()).filter(|(n, _)| *n == property).last();
            let own = own.map(|(_, value)| &css[value]).or_else(|| node.attribute(property));
            let outer = node.parent().is_some_and(|parent| stated.on(parent));
            stated.0[node.id().get_usize()] = own.map_or(outer, |value| value.trim() != "none");
        }
        stated
    }

    fn on(&self, node: Node) -> bool {
        self.0.get(node.id().get_usize()).copied().unwrap_or(false)
    }
}

fn is_styled(node: Node) -> bool {
    let tag = node.tag_name().name();
    SHAPES.contains(&tag) || STYLED.contains(&tag)
}

/// Whether the stroke of `node` is to keep its width (SVG 2, 8.13.1).
fn is_unscaled(node: Node) -> bool {
    let says =
        |css: &str| css::declarations(css, 0..css.len()).any(|(n, v)| n == "vector-effect" && keeps_width(&css[v]));
    let says_so =
        || node.attribute("vector-effect").is_some_and(keeps_width) || node.attribute("style").is_some_and(says);
    SHAPES.contains(&node.tag_name().name()) && says_so()
}

fn keeps_width(value: &str) -> bool {
    value.contains("non-scaling-stroke")
}

fn non_scaling() -> Told {
    let message = "a line that is to keep its width at any scale (non-scaling-stroke) was scaled with the drawing";
    (message.to_owned(), "look at the picture; convert the line to an outline")
}

/// What is not understood of an element's own attributes and style.
fn in_element(node: Node, variables: &css::Variables) -> Vec<Told> {
    let mut found = Vec::new();
    let written_out = |value: &str| variables.written_out(value);
    for attribute in node.attributes().filter(|a| !matches!(a.name(), "d" | "points" | "id" | "class")) {
        let out = written_out(attribute.value());
        let value = out.as_deref().unwrap_or_else(|| attribute.value());
        if attribute.name() == "style" {
            for (name, range) in css::declarations(value, 0..value.len()) {
                found.extend(in_value(name, &value[range.clone()]));
                found.extend(in_property(name, &value[range]));
                found.extend(sizes(node, name).then(|| size(name)));
            }
        } else {
            found.extend(in_value(attribute.name(), value));
        }
    }
    found
}

/// Ways to write a colour that are not read (CSS Color 4, 8 to 10; CSS Color 5).
const COLOURS: [&str; 6] = ["lab(", "lch(", "color(", "color-mix(", "light-dark(", "contrast-color("];
/// Calculations (CSS Values 4, 10).
const SUMS: [&str; 4] = ["calc(", "min(", "max(", "clamp("];

/// What is not understood of a value, in an attribute or in a style.
fn in_value(name: &str, value: &str) -> Option<Told> {
    let says = |words: &[&str]| words.iter().any(|word| value.contains(word));
    let short: String = value.chars().take(40).collect();
    if name.starts_with("--") || !value.contains('(') {
        return None;
    }
    if value.contains("var(") {
        let message = format!("`{name}: {short}` was not read: the variable has no one meaning in the drawing");
        return Some((message, "write the value itself in its place"));
    }
    if matches!(name, "fill" | "stroke" | "color" | "stop-color") && says(&COLOURS) {
        let message = format!("the colour `{short}` was not understood; the shape may be painted black or not at all");
        return Some((message, "write the colour as #rrggbb"));
    }
    if says(&SUMS) {
        return Some((format!("`{name}: {short}` was not worked out"), "write the size itself in its place"));
    }
    let by_name = ["url(", "var("].iter().any(|by| value.trim_start().starts_with(by));
    match name {
        "clip-path" if !by_name => {
            let message = format!("the shape was not clipped: `clip-path: {short}` was not read");
            Some((message, "clip with a <clipPath> of the drawing"))
        }
        "mask" | "mask-image" if !by_name => Some((
            format!("the shape was not masked: `{name}: {short}` was not read"),
            "mask with a <mask> of the drawing",
        )),
        _ => None,
    }
}

/// What is not understood of a property that only styles have.
fn in_property(name: &str, value: &str) -> Option<Told> {
    let moved = "look at the picture; move the shapes themselves, or use the attribute `transform`";
    let told = |what: String| Some((what, moved));
    match name {
        "transform" if css::plain_transform(value).is_none() => {
            let short: String = value.chars().take(40).collect();
            told(format!("the transform `{short}` of a style was not understood"))
        }
        "transform-box" if value != "view-box" => {
            told(format!("`transform-box: {value}` was not used: the shape was turned about the drawing's own point"))
        }
        "translate" | "rotate" | "scale" | "offset-path" if value != "none" => {
            told(format!("the shape was not moved: the style `{name}` was not read"))
        }
        _ => None,
    }
}

/// Whether the size or place of `node` is stated by the style `name`, which is
/// read from attributes only (SVG 2, 7.1 lets styles state it).
fn sizes(node: Node, name: &str) -> bool {
    match node.tag_name().name() {
        "rect" => matches!(name, "x" | "y" | "width" | "height" | "rx" | "ry"),
        "circle" => matches!(name, "cx" | "cy" | "r"),
        "ellipse" => matches!(name, "cx" | "cy" | "rx" | "ry"),
        "path" => name == "d",
        _ => false,
    }
}

fn size(name: &str) -> Told {
    let message = format!("`{name}` is given by a style, which was not read; the attribute was used, or nothing");
    (message, "write it as an attribute of the element")
}

/// All of them.
const SIZES: [&str; 10] = ["x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "d"];

/// What is not understood of a style sheet.
fn in_sheet(doc: &Document, css: &str) -> Vec<Told> {
    let mut found = Vec::new();
    for block in css::blocks(css) {
        let (head, body) = (css[block.head].trim(), &css[block.body.clone()]);
        if head.starts_with('@') {
            found.extend(at_rule(head, body));
            continue;
        }
        if body.contains('{') {
            found.push(nested(head));
            continue;
        }
        let mut sized: Vec<&str> = Vec::new();
        let paints = |(name, _): &(&str, _)| !name.starts_with("--");
        if css::declarations(css, block.body.clone()).any(|d| paints(&d)) {
            found.extend(selector(head));
        }
        for (name, range) in css::declarations(css, block.body.clone()) {
            let value = &css[range];
            found.extend(in_value(name, value));
            found.extend(in_property(name, value));
            if name == "vector-effect" && keeps_width(value) {
                found.push(non_scaling());
            }
            if SIZES.contains(&name) && !sized.contains(&name) {
                sized.push(name);
            }
        }
        // Once through the drawing for each rule, however long the rule is.
        let states = |n: Node| sized.iter().copied().find(|name| sizes(n, name));
        let mut concerned = doc.descendants().filter_map(|n| Some((n, states(n)?)));
        let first = concerned.find(|(n, _)| source::may_concern(head, *n));
        found.extend(first.map(|(_, name)| size(name)));
    }
    found
}

/// Rules within a rule (CSS Nesting 1, 3) are passed over.
fn nested(head: &str) -> Told {
    let short: String = head.chars().take(40).collect();
    (
        format!("the style rules inside that for `{short}` were not read"),
        "write each rule by itself, not inside another",
    )
}

/// At-rules are passed over with all they hold. Animations, fonts, paper and a
/// reader's likings do not change the picture on the screen.
fn at_rule(head: &str, body: &str) -> Option<Told> {
    let name = head.split(|c: char| c.is_whitespace() || c == '(').next().unwrap_or(head);
    let holds = matches!(name, "@media" | "@supports" | "@layer" | "@container" | "@scope");
    let elsewhere = head.contains("print") || head.contains("prefers-");
    (holds && !elsewhere && body.contains('{')).then(|| {
        let short: String = head.chars().take(40).collect();
        (format!("the styles under `{short}` were not read"), "put them outside it if they belong to the picture")
    })
}

/// Marks of selectors that are read (Selectors 4): other pseudo-classes, later
/// siblings and parts of attributes are passed over with their rule.
const READ: [&str; 2] = ["first-child", "root"];
/// Pseudo-classes of a page being used, and parts that are not in the drawing.
const NEVER: [&str; 16] = [
    "link",
    "visited",
    "hover",
    "active",
    "focus",
    "focus-visible",
    "focus-within",
    "target",
    "lang",
    "before",
    "after",
    "selection",
    "host",
    "any-link",
    "first-line",
    "first-letter",
];

fn selector(head: &str) -> Option<Told> {
    let pseudo = head.split(':').skip(1).map(|after| {
        let end = after.find(|c: char| !c.is_ascii_alphanumeric() && c != '-').unwrap_or(after.len());
        &after[..end]
    });
    let strange = pseudo.filter(|name| !name.is_empty()).any(|name| !READ.contains(&name) && !NEVER.contains(&name));
    let partly = ["^=", "$=", "*="].iter().any(|sign| head.contains(sign));
    let later = head.contains('~') && !head.contains("~=");
    (strange || partly || later).then(|| {
        let short: String = head.chars().take(40).collect();
        let message = format!("the style rule for `{short}` was not read: such a selector is not understood");
        (message, "give the shapes a class and style that, or write the style into them")
    })
}
