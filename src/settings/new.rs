//! The text of a new shop file: every setting, its meaning and its value.

use std::fmt::Write as _;

use toml::Value;

use super::boxes::BoxSettings;
use super::describe::Field;
use super::layout::{SECTIONS, Section, Shape, UNITS};
use super::sections::Shop;
use crate::units::{Unit, parse_length};

const HEAD: &str = "\
# The shop's own settings. fretgrin looks for a file named shop.toml in the
# current folder and the folders above it; an option on the command line
# overrides it.
#
# Lengths are written \"5-1/4in\", \"6ft\", \"5ft 6in\", \"133.35mm\", in quotes; a bare
# number counts in the unit named here. A line that begins with # is not read:
# a setting written like #this = 5 has no value until the # is removed.
";

/// What to write in the comment of a key that has no value of its own.
const EXAMPLES: &[(&str, &str)] = &[
    ("clear.all", "\"7/8in\""),
    ("clear.left", "\"7/8in\""),
    ("clear.right", "\"7/8in\""),
    ("clear.top", "\"7/8in\""),
    ("clear.bottom", "\"7/8in\""),
    ("fit.width", "\"3-1/2in\""),
    ("fit.height", "\"6in\""),
    ("fit.scale", "1.0"),
    ("fit.middle_x", "\"2-5/8in\""),
    ("fit.middle_y", "\"5in\""),
    ("bridge.limit", "\"3mm\""),
    ("box.width", "\"5-1/4in\""),
    ("box.height", "\"10in\""),
    ("box.depth", "\"4-3/4in\""),
    ("box.panel_width", "\"5-1/4in\""),
    ("box.panel_height", "\"10in\""),
    ("box.side_width", "\"3-1/2in\""),
    ("box.thickness", "\"5/8in\""),
    ("box.base_thickness", "\"5/8in\""),
    ("box.lid.thickness", "\"5/8in\""),
    ("box.lid.strip_thickness", "\"5/8in\""),
    ("nails.diameter", "\"0.048in\""),
    ("boards.stock.thickness", "\"5/8in\""),
    ("boards.stock.available", "40"),
    ("boards.stock.end_loss", "\"1-1/2in\""),
    ("batch.boxes", "24"),
    ("batch.faces.art", "\"owl.svg\""),
    ("batch.faces.boxes", "4"),
    ("price.price", "48.00"),
];

/// A shop file with the settings of `shop`, each under its description. In a
/// metric shop the inches of built-in lengths are written in millimetres.
#[must_use]
pub fn text(shop: &Shop) -> String {
    // A plain table of values always serialises: keys are names, values are numbers and texts.
    let mut values = Value::try_from(shop).unwrap_or(Value::Table(toml::Table::new()));
    let mut spare = Value::try_from(BoxSettings::default()).unwrap_or(Value::Table(toml::Table::new()));
    if shop.units == Unit::Mm {
        [&mut values, &mut spare].into_iter().for_each(to_metric);
    }
    let mut out = HEAD.to_owned();
    let _ = writeln!(out, "\n# {}", UNITS.about);
    let _ = writeln!(out, "units = {}", values.get(UNITS.name).map(Value::to_string).unwrap_or_default());
    for section in SECTIONS {
        let given = lookup(&values, section.path);
        match section.shape {
            Shape::Table => write_section(&mut out, section, given, true),
            Shape::Switch => {
                // Left out, the box is shown with its built-in values as comments.
                let part = section.path.strip_prefix("box.").map_or(Some(&spare), |name| lookup(&spare, name));
                write_section(&mut out, section, given.or(part), given.is_some());
            }
            Shape::List => write_list(&mut out, section, given),
            Shape::Inline => {}
        }
    }
    out
}

fn lookup<'v>(values: &'v Value, path: &str) -> Option<&'v Value> {
    path.split('.').try_fold(values, |value, name| value.get(name))
}

fn write_section(out: &mut String, section: &Section, values: Option<&Value>, live: bool) {
    let about = section.about.trim().split_once("`: ").map_or(section.about, |(_, text)| text);
    let mark = if live { "" } else { "#" };
    out.push('\n');
    comment(out, &capital(about));
    let _ = writeln!(out, "{mark}[{}]", section.path);
    for field in section.fields.iter().filter(|field| !is_own_section(section, field)) {
        out.push('\n');
        comment(out, field.about);
        write_value(out, section, field, values, mark);
    }
}

/// The tables of a list: those the shop has, else one as a comment.
fn write_list(out: &mut String, section: &Section, values: Option<&Value>) {
    let about = section.about.trim().split_once("`: ").map_or(section.about, |(_, text)| text);
    out.push('\n');
    comment(out, &capital(about));
    for field in section.fields {
        comment(out, &format!("{}: {}", field.name, field.about.trim()));
    }
    let items = values.and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let shown = if items.is_empty() { vec![None] } else { items.iter().map(Some).collect() };
    for (i, item) in shown.into_iter().enumerate() {
        let mark = if item.is_some() { "" } else { "#" };
        let _ = writeln!(out, "{}{mark}[[{}]]", if i > 0 { "\n" } else { "" }, section.path);
        section.fields.iter().for_each(|field| write_value(out, section, field, item, mark));
    }
}

fn write_value(out: &mut String, section: &Section, field: &Field, values: Option<&Value>, mark: &str) {
    let _ = match values.and_then(|values| values.get(field.name)) {
        Some(value) => writeln!(out, "{mark}{} = {}", field.name, literal(value)),
        None => writeln!(out, "#{} = {}", field.name, example(section.path, field.name)),
    };
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// Keys whose values are names, even where one reads like a length: a drill
/// called 1/16in, a board called 6in.
const NAMES: [&str; 10] = ["owned", "name", "art", "blade", "species", "currency", "folder", "drop", "keep", "size"];

/// Writes built-in inches in millimetres; names stay as they are.
fn to_metric(values: &mut Value) {
    match values {
        Value::Table(table) => {
            let name = |key: &str, value: &Value| !value.is_table() && NAMES.contains(&key);
            let lengths = table.iter_mut().filter(|(key, value)| !name(key, value));
            lengths.for_each(|(_, value)| to_metric(value));
        }
        Value::Array(items) => items.iter_mut().for_each(to_metric),
        Value::String(text) if text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with("in") => {
            if let Ok(length) = parse_length(text, Unit::Inch) {
                // 1/16 in is 1.5875 mm: three decimals would spoil a fit that is exact.
                *text = format!("{}mm", (length.get() * 1e4).round() / 1e4);
            }
        }
        _ => {}
    }
}

/// Whether a field is written as a section of its own.
fn is_own_section(section: &Section, field: &Field) -> bool {
    let is_part = |other: &Section| {
        other.shape != Shape::Inline && other.path.strip_prefix(section.path) == Some(&format!(".{}", field.name))
    };
    SECTIONS.iter().any(is_part)
}

fn comment(out: &mut String, text: &str) {
    for line in text.trim().lines() {
        let _ = writeln!(out, "{}", format!("# {}", line.trim()).trim_end());
    }
}

fn literal(value: &Value) -> String {
    value.to_string().trim().to_owned()
}

fn example(path: &str, name: &str) -> &'static str {
    let key = format!("{path}.{name}");
    EXAMPLES.iter().find(|(known, _)| *known == key).map_or("", |(_, example)| example)
}

#[cfg(test)]
pub(super) fn examples() -> impl Iterator<Item = &'static str> {
    EXAMPLES.iter().map(|(key, _)| *key)
}
