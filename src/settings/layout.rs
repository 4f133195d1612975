//! The shop file's sections, in the order they are written, with their keys.

use super::batch::{BatchSettings, FaceCount, HardwareSettings, PriceSettings, TimeSettings};
use super::boxes::{BoardSettings, BoxSettings, LidSettings, LightSettings, NailSettings, StockBoard};
use super::describe::{Described, Field};
use super::drawer::MeasuredEntry;
use super::read::first_sentence;
use super::sections::{
    ArtSection, BridgeSection, ClearSection, DrillSection, FitSection, OutSection, PanelSection, PaperSection,
    PrinterSection, SawSection, WoodSection,
};

/// One section, or the tables of one list.
#[derive(Clone, Copy, Debug)]
pub(super) struct Section {
    /// `panel`, `box.lid`, `boards.stock`.
    pub(super) path: &'static str,
    /// What it is for.
    pub(super) about: &'static str,
    /// Its keys.
    pub(super) fields: &'static [Field],
    /// How it stands in the file.
    pub(super) shape: Shape,
}

/// How a section stands in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// `[section]`, always there.
    Table,
    /// `[section]` whose presence means something; written as a comment.
    Switch,
    /// `[[section]]`, any number of times.
    List,
    /// A list of texts or inline tables under one key of another section.
    Inline,
}

const fn section<T: Described>(path: &'static str, shape: Shape) -> Section {
    Section { path, about: T::ABOUT, fields: T::FIELDS, shape }
}

pub(super) const SECTIONS: &[Section] = &[
    section::<PanelSection>("panel", Shape::Table),
    section::<ClearSection>("clear", Shape::Table),
    section::<WoodSection>("wood", Shape::Table),
    section::<SawSection>("saw", Shape::Table),
    section::<MeasuredEntry>("saw.blades", Shape::Inline),
    section::<DrillSection>("drills", Shape::Table),
    section::<PaperSection>("paper", Shape::Table),
    section::<PrinterSection>("printer", Shape::Table),
    section::<ArtSection>("art", Shape::Table),
    section::<FitSection>("fit", Shape::Table),
    section::<BridgeSection>("bridge", Shape::Table),
    section::<OutSection>("out", Shape::Table),
    section::<BoxSettings>("box", Shape::Switch),
    section::<LidSettings>("box.lid", Shape::Switch),
    section::<LightSettings>("box.light", Shape::Switch),
    section::<NailSettings>("nails", Shape::Table),
    section::<BoardSettings>("boards", Shape::Table),
    section::<StockBoard>("boards.stock", Shape::List),
    section::<BatchSettings>("batch", Shape::Table),
    section::<FaceCount>("batch.faces", Shape::List),
    section::<HardwareSettings>("hardware", Shape::Table),
    section::<TimeSettings>("time", Shape::Table),
    section::<PriceSettings>("price", Shape::Table),
];

/// What the file may hold outside every section.
pub(super) const UNITS: Field =
    Field { name: "units", about: "The unit of bare numbers, shown first: \"inch\" or \"mm\"." };

fn find(path: &str) -> Option<&'static Section> {
    SECTIONS.iter().find(|section| section.path == path)
}

/// The keys a table may have, its sub-sections among them; `""` is the file.
pub(super) fn keys(path: &str) -> impl Iterator<Item = &'static str> {
    let fields = find(path).map_or(&[][..], |section| section.fields);
    let root = path.is_empty();
    let sections = SECTIONS.iter().map(|section| section.path).filter(move |p| root && !p.contains('.'));
    root.then_some(UNITS.name).into_iter().chain(sections).chain(fields.iter().map(|field| field.name))
}

/// Whether `path` is a table rather than a value.
pub(super) fn is_section(path: &str) -> bool {
    find(path).is_some_and(|section| matches!(section.shape, Shape::Table | Shape::Switch))
}

/// Whether `path` is a list that may hold tables.
pub(super) fn is_list(path: &str) -> bool {
    find(path).is_some_and(|section| matches!(section.shape, Shape::List | Shape::Inline))
}

/// The sections that have a key of this name.
pub(super) fn sections_with(name: &str) -> impl Iterator<Item = &'static str> {
    SECTIONS.iter().filter(move |s| s.fields.iter().any(|field| field.name == name)).map(|section| section.path)
}

/// What a key such as `panel.width` or `saw.blades[2].kerf` is for, in one
/// sentence; empty for an unknown key.
pub(super) fn about(key: &str) -> String {
    let bare: String = key.split('[').map(|part| part.split_once(']').map_or(part, |(_, rest)| rest)).collect();
    let (path, name) = bare.rsplit_once('.').unwrap_or(("", &bare));
    if bare == UNITS.name {
        return first_sentence(&UNITS);
    }
    let field = find(path).and_then(|section| section.fields.iter().find(|field| field.name == name));
    field.map(first_sentence).unwrap_or_default()
}
