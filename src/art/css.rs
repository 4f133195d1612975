//! Styles the SVG library does not understand, put into words it does.
//!
//! The library reads CSS, but knows `transform` only as the attribute writes it
//! (`translate(10 5)`, without units), no variables and no `:root`. All three
//! are written out in the text before the library sees it; which style wins
//! stays the library's business. What cannot be written out is told, see
//! [`super::unread`].

use std::collections::BTreeMap;
use std::ops::Range;

use usvg::roxmltree::{Document, Node};

use super::size::unit_mm;
use super::source::Edit;
use crate::units::{MM_PER_INCH, PX_PER_INCH};

/// One rule of a style sheet: whom it concerns and what it says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Block {
    /// The selectors, or the head of an at-rule (`@media print`).
    pub(super) head: Range<usize>,
    /// What stands in the braces.
    pub(super) body: Range<usize>,
}

/// The text with its comments blanked, so that places hold.
pub(super) fn without_comments(css: &str) -> String {
    let mut clean = String::with_capacity(css.len());
    let mut rest = css;
    while let Some((before, after)) = rest.split_once("/*") {
        let next = after.split_once("*/").map_or("", |(_, next)| next);
        clean.push_str(before);
        let length = rest.len() - before.len() - next.len();
        clean.extend(std::iter::repeat_n(' ', length));
        rest = next;
    }
    clean.push_str(rest);
    clean
}

/// The rules of a style sheet without comments, outermost braces only.
pub(super) fn blocks(css: &str) -> Vec<Block> {
    let (mut found, mut head, mut depth, mut open) = (Vec::new(), 0, 0u32, 0);
    for (i, b) in css.bytes().enumerate() {
        match b {
            b'{' => {
                depth += 1;
                open = if depth == 1 { i } else { open };
            }
            b'}' => {
                if depth == 1 {
                    found.push(Block { head: head..open, body: open + 1..i });
                }
                depth = depth.saturating_sub(1);
                head = if depth == 0 { i + 1 } else { head };
            }
            // `@import …;` ends here.
            b';' if depth == 0 => head = i + 1,
            _ => {}
        }
    }
    found
}

/// The declarations in `css[range]`, name and value.
pub(super) fn declarations(css: &str, range: Range<usize>) -> impl Iterator<Item = (&str, Range<usize>)> {
    let start = range.start;
    css[range]
        .split(';')
        .scan(start, |at, declaration| {
            let from = *at;
            *at += declaration.len() + 1;
            Some((from, declaration))
        })
        .filter_map(|(from, declaration)| {
            let (name, value) = declaration.split_once(':')?;
            let value = value.split('!').next().unwrap_or(value);
            let blank = value.len() - value.trim_start().len();
            let start = from + name.len() + 1 + blank;
            Some((name.trim(), start..start + value.trim().len()))
        })
}

/// A `transform` of a style, as the attribute writes it; `None` when it cannot
/// be said so: lengths in percent, turns out of the plane.
///
/// CSS Transforms 1, 12 (functions) and 8 (the attribute's syntax).
pub(super) fn plain_transform(value: &str) -> Option<String> {
    let mut plain = Vec::new();
    let mut rest = value.trim();
    if matches!(rest, "none" | "inherit" | "initial" | "unset" | "revert") {
        return Some(rest.to_owned());
    }
    while !rest.is_empty() {
        let (name, after) = rest.split_once('(')?;
        let (arguments, next) = after.split_once(')')?;
        let arguments: Vec<&str> =
            arguments.split(|c: char| c == ',' || c.is_whitespace()).filter(|a| !a.is_empty()).collect();
        plain.extend(plain_function(&name.trim().to_ascii_lowercase(), &arguments)?);
        rest = next.trim_start_matches(|c: char| c == ',' || c.is_whitespace());
    }
    Some(plain.join(" "))
}

/// One function, as the attribute writes it; empty when it does nothing.
fn plain_function(name: &str, arguments: &[&str]) -> Option<Option<String>> {
    let of = |name: &str, numbers: &[f64]| {
        let numbers: Vec<String> = numbers.iter().map(f64::to_string).collect();
        Some(Some(format!("{name}({})", numbers.join(" "))))
    };
    match (name, arguments) {
        ("translate", [x]) | ("translatex", [x]) => of("translate", &[length(x)?, 0.0]),
        ("translate", [x, y]) => of("translate", &[length(x)?, length(y)?]),
        ("translate3d", [x, y, z]) if length(z)? == 0.0 => of("translate", &[length(x)?, length(y)?]),
        ("translatey", [y]) => of("translate", &[0.0, length(y)?]),
        ("translatez", [z]) if length(z)? == 0.0 => Some(None),
        ("scale", [x]) => of("scale", &[factor(x)?, factor(x)?]),
        ("scale", [x, y]) => of("scale", &[factor(x)?, factor(y)?]),
        ("scalex", [x]) => of("scale", &[factor(x)?, 1.0]),
        ("scaley", [y]) => of("scale", &[1.0, factor(y)?]),
        ("rotate" | "rotatez", [turn]) => of("rotate", &[degrees(turn)?]),
        ("skewx", [turn]) | ("skew", [turn]) => of("skewX", &[degrees(turn)?]),
        ("skewy", [turn]) => of("skewY", &[degrees(turn)?]),
        ("skew", [x, y]) => {
            let slant = |turn: &str| Some(libm::tan(degrees(turn)?.to_radians()));
            of("matrix", &[1.0, slant(y)?, slant(x)?, 1.0, 0.0, 0.0])
        }
        ("matrix", [_, _, _, _, _, _]) => {
            let numbers: Option<Vec<f64>> = arguments.iter().map(|a| number(a)).collect();
            of("matrix", &numbers?)
        }
        _ => None,
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|n: &f64| n.is_finite())
}

fn factor(text: &str) -> Option<f64> {
    match text.strip_suffix('%') {
        Some(percent) => Some(number(percent)? / 100.0),
        None => number(text),
    }
}

/// Splits `12.5px` into its number and its unit.
fn measure(text: &str) -> Option<(f64, &str)> {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-'));
    Some((number(&text[..text.len() - unit.len()])?, unit))
}

/// A length in pixels (CSS Values 4, 6.2); only nothing goes without a unit.
fn length(text: &str) -> Option<f64> {
    let (number, unit) = measure(text)?;
    match unit {
        "" => (number == 0.0).then_some(0.0),
        unit if unit.eq_ignore_ascii_case("px") => Some(number),
        unit => Some(number * unit_mm(unit)? / MM_PER_INCH * PX_PER_INCH),
    }
}

/// An angle in degrees (CSS Values 4, 7.1); only nothing goes without a unit.
fn degrees(text: &str) -> Option<f64> {
    let (number, unit) = measure(text)?;
    match unit.to_ascii_lowercase().as_str() {
        "deg" => Some(number),
        "rad" => Some(number.to_degrees()),
        "grad" => Some(number * 0.9),
        "turn" => Some(number * 360.0),
        "" => (number == 0.0).then_some(0.0),
        _ => None,
    }
}

/// Variables with one meaning throughout the drawing.
#[derive(Debug, Default)]
pub(super) struct Variables(BTreeMap<String, Option<String>>);

/// Longest value of a variable that is written out: a colour, a size. What is
/// longer would let a drawing grow.
const LONGEST: usize = 40;

impl Variables {
    /// The variables of `doc`. One declared for a part of the drawing, or twice,
    /// has no one meaning.
    pub(super) fn of(doc: &Document) -> Self {
        let mut all = Self::default();
        for node in doc.descendants().filter(Node::is_element) {
            if let Some(sheet) = node.text().filter(|css| node.has_tag_name("style") && css.contains("--")) {
                let css = without_comments(sheet);
                for block in blocks(&css) {
                    let everywhere = css[block.head].split(',').all(|s| matches!(s.trim(), ":root" | "svg" | "*"));
                    all.declare(&css, block.body, everywhere);
                }
            }
            if let Some(css) = node.attribute("style").filter(|css| css.contains("--")) {
                all.declare(css, 0..css.len(), node == doc.root_element());
            }
        }
        all
    }

    fn declare(&mut self, css: &str, range: Range<usize>, everywhere: bool) {
        for (name, value) in declarations(css, range).filter(|(name, _)| name.starts_with("--")) {
            let value = &css[value];
            let fit = everywhere && value.len() <= LONGEST && !value.contains(['<', '&', '"', '\'', '{', '}']);
            let meaning = (fit && !value.contains("var(")).then(|| value.to_owned());
            let entry = self.0.entry(name.to_owned()).or_insert_with(|| meaning.clone());
            if *entry != meaning {
                *entry = None;
            }
        }
    }

    /// `text` with every `var(…)` that has one meaning written out; `None` when
    /// there is none (CSS Variables 1, 3).
    pub(super) fn written_out(&self, text: &str) -> Option<String> {
        let mut rest = text;
        let (mut out, mut changed) = (String::new(), false);
        while let Some((before, after)) = rest.split_once("var(") {
            let (whole, next) = match after.find(')') {
                Some(end) if !after[..end].contains('(') => (&after[..end], &after[end + 1..]),
                _ => break,
            };
            out.push_str(before);
            match self.meaning(whole) {
                Some(value) => {
                    out.push_str(value);
                    changed = true;
                }
                None => out.push_str(&rest[before.len()..rest.len() - next.len()]),
            }
            rest = next;
        }
        out.push_str(rest);
        changed.then_some(out)
    }

    /// What `--name` or `--name, fallback` stands for.
    fn meaning<'a>(&'a self, inside: &'a str) -> Option<&'a str> {
        let (name, fallback) = match inside.split_once(',') {
            Some((name, fallback)) => (name, Some(fallback.trim())),
            None => (inside, None),
        };
        match self.0.get(name.trim()) {
            Some(value) => value.as_deref(),
            None => fallback.filter(|value| !value.is_empty()),
        }
    }
}

/// What is to be changed in the text of `doc` so that the library reads its
/// styles as they are meant.
pub(super) fn edits(doc: &Document, text: &str) -> Vec<Edit> {
    let variables = Variables::of(doc);
    let mut edits = Vec::new();
    for node in doc.descendants() {
        if node.is_text() && node.parent_element().is_some_and(|n| n.has_tag_name("style")) {
            let css = &text[node.range()];
            edits.extend(sheet(css, &variables).map(|css| Edit { range: node.range(), text: css }));
        }
        for attribute in node.attributes() {
            let range = attribute.range_value();
            let value = &text[range.clone()];
            let plain = match attribute.name() {
                "style" => plain(value, &variables),
                _ => variables.written_out(value),
            };
            edits.extend(plain.map(|text| Edit { range, text }));
        }
    }
    edits
}

/// A style sheet as the library reads it, when that is not as it stands.
fn sheet(css: &str, variables: &Variables) -> Option<String> {
    let changed = plain(css, variables);
    let now = changed.as_deref().unwrap_or(css);
    now.contains(":root").then(|| root_named(now)).or(changed)
}

/// Declarations with their variables and transforms written out.
fn plain(css: &str, variables: &Variables) -> Option<String> {
    if !css.contains("var(") && !css.contains(TRANSFORM) {
        return None;
    }
    // A comment may stand in the middle of a value.
    let css = without_comments(css);
    let changed = variables.written_out(&css);
    transforms(changed.as_deref().unwrap_or(&css)).or(changed)
}

/// Calls the root element by its name (Selectors 4, 14.1: `:root` is it).
fn root_named(css: &str) -> String {
    let named = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.' | '#' | ']' | ')');
    let mut out = String::with_capacity(css.len());
    let mut rest = css;
    while let Some((before, after)) = rest.split_once(":root") {
        out.push_str(before);
        let alone = !out.ends_with(named) && !after.starts_with(|c: char| c.is_alphanumeric() || c == '-');
        out.push_str(if alone { "svg" } else { ":root" });
        rest = after;
    }
    out.push_str(rest);
    out
}

const TRANSFORM: &str = "transform";

/// The text with every transform as the attribute writes it.
fn transforms(css: &str) -> Option<String> {
    let mut out = String::new();
    let (mut copied, mut from) = (0, 0);
    while let Some(at) = css[from..].find(TRANSFORM).map(|at| from + at) {
        from = at + TRANSFORM.len();
        let begins = !css[..at].ends_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_'));
        let blank = css[from..].len() - css[from..].trim_start().len();
        if !begins || !css[from + blank..].starts_with(':') {
            continue;
        }
        let start = from + blank + 1;
        let end = css[start..].find([';', '}', '!', '<']).map_or(css.len(), |end| start + end);
        if let Some(plain) = plain_transform(&css[start..end]) {
            out.push_str(&css[copied..start]);
            out.push_str(&plain);
            copied = end;
        }
        from = end;
    }
    (copied > 0).then(|| out + &css[copied..])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CSS Transforms 1, 12.1 (the functions) and CSS Values 4, 6.2 and 7.1.
    #[test]
    fn transforms_are_written_as_the_attribute_has_them() {
        let cases = [
            ("translate(10px,5px) rotate(20deg)", Some("translate(10 5) rotate(20)")),
            ("TranslateX(1in) translateY(-25.4mm)", Some("translate(96 0) translate(0 -96)")),
            ("scale(2) scale(50%, 3) scaleX(-1)", Some("scale(2 2) scale(0.5 3) scale(-1 1)")),
            ("rotate(.25turn) rotate(100grad) rotateZ(0)", Some("rotate(90) rotate(90) rotate(0)")),
            ("matrix(1,0,0,1,30,0)", Some("matrix(1 0 0 1 30 0)")),
            ("translate3d(1px, 2px, 0) translateZ(0)", Some("translate(1 2)")),
            ("none", Some("none")),
            ("translate(50%)", None),
            ("translate(10)", None),
            ("rotate(20)", None),
            ("rotate3d(1,0,0,20deg)", None),
            ("translate(1px", None),
        ];
        for (css, want) in cases {
            assert_eq!(plain_transform(css).as_deref(), want, "{css}");
        }
    }

    #[test]
    fn only_transforms_are_touched() {
        let css = ".a { transform : scale(2) translate(5px,5px) ; transform-origin: 4px 4px; fill: red }";
        let want = ".a { transform :scale(2 2) translate(5 5); transform-origin: 4px 4px; fill: red }";
        assert_eq!(transforms(css).as_deref(), Some(want));
        assert_eq!(transforms("text-transform: uppercase; transform-box: fill-box"), None);
    }

    #[test]
    fn rules_and_declarations_are_found_where_they_stand() {
        let css = without_comments("@import 'x'; .a,b{fill:red;x : 1 !important}/* } */@media print{.a{fill:blue}}");
        let parts: Vec<(&str, &str)> = blocks(&css).into_iter().map(|b| (css[b.head].trim(), &css[b.body])).collect();
        assert_eq!(parts, [(".a,b", "fill:red;x : 1 !important"), ("@media print", ".a{fill:blue}")]);
        let body = blocks(&css)[0].body.clone();
        let said: Vec<(&str, &str)> = declarations(&css, body).map(|(name, value)| (name, &css[value])).collect();
        assert_eq!(said, [("fill", "red"), ("x", "1")]);
    }

    /// CSS Variables 1, 2 (inherited from the root) and 3 (fallbacks).
    #[test]
    fn variables_with_one_meaning_are_written_out() {
        let svg = "<svg style='--b:#111'><style>:root{--a:#fff;--c:red} .k{--c:blue} svg{--d:var(--a)}</style></svg>";
        let doc = Document::parse(svg).unwrap();
        let all = Variables::of(&doc);
        let out = |text: &str| all.written_out(text);
        assert_eq!(out("fill:var(--a);stroke:var( --b )").as_deref(), Some("fill:#fff;stroke:#111"));
        assert_eq!(out("var(--none, #222)").as_deref(), Some("#222"));
        for unknown in ["var(--c)", "var(--d)", "var(--none)", "var(--none, rgb(1,2,3))", "var(--a", "none"] {
            assert_eq!(out(unknown), None, "{unknown}");
        }
    }

    #[test]
    fn the_root_goes_by_its_name() {
        assert_eq!(
            root_named(":root{fill:red} :root .a{} x:root{} :rooted{}"),
            "svg{fill:red} svg .a{} x:root{} :rooted{}"
        );
    }
}
