//! The sections of the shop file that concern a face, as the shop states them.
//!
//! Lengths stay as written here; [`super::resolve`] turns a whole [`Shop`] into
//! [`super::Settings`] in millimetres.

use serde::{Deserialize, Serialize};

use super::Length;
use super::batch::{BatchSettings, HardwareSettings, PriceSettings, TimeSettings};
use super::boxes::{BoardSettings, BoxSettings, NailSettings};
use super::describe::described;
use super::drawer::DrawerBlade;
use crate::trade::blades::BladeEnd;
use crate::trade::strength::Demand;
use crate::units::Unit;

described! {
/// `[panel]`: the board a face is sawn from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PanelSection {
    /// Width of the panel. 5-1/4 in (common practice, no source: a 5-1/2 in
    /// fence board trimmed true).
    pub width: Length,
    /// Height of the panel. 10 in (common practice, no source).
    pub height: Length,
    /// Measured thickness of the stock. 5/8 in (common practice, no source: the
    /// nominal thickness of a fence picket; real ones are 9/16 to 11/16 in, so
    /// measure yours).
    pub thickness: Length,
    /// Direction of the grain: "vertical", "horizontal", or degrees
    /// anticlockwise from level. A fence board stands upright, so "vertical".
    pub grain: Angle,
}
}

impl Default for PanelSection {
    fn default() -> Self {
        Self {
            width: Length::text("5-1/4in"),
            height: Length::text("10in"),
            thickness: Length::text("5/8in"),
            grain: Angle::Name("vertical".to_owned()),
        }
    }
}

/// An angle by name or in degrees, as written.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "wanted \"vertical\", \"horizontal\" or degrees")]
pub enum Angle {
    /// Degrees anticlockwise from level.
    Degrees(f64),
    /// `vertical`, `horizontal`, or degrees as text.
    Name(String),
}

described! {
/// `[clear]`: how far cut-outs keep from the edges of the panel. With a `[box]`
/// the joints, nails and lid decide; an edge written here counts where it is larger.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ClearSection {
    /// From every edge that has no clearance of its own. When left out, the
    /// stock's thickness and 1/4 in more: 7/8 in for 5/8 in stock (derived: a
    /// side board behind the panel, 1/16 in for a nail that wanders, 1/16 in
    /// for the kerf, 1/8 in of wood; each part common practice, no source).
    pub all: Option<Length>,
    /// From the left edge.
    pub left: Option<Length>,
    /// From the right edge.
    pub right: Option<Length>,
    /// From the top edge.
    pub top: Option<Length>,
    /// From the bottom edge.
    pub bottom: Option<Length>,
}
}

described! {
/// `[wood]`: what the panel is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct WoodSection {
    /// The wood's name; `fretgrin woods` lists them with their strength and its
    /// source.
    pub species: String,
}
}

impl Default for WoodSection {
    fn default() -> Self {
        Self { species: crate::trade::woods::DEFAULT.to_owned() }
    }
}

described! {
/// `[saw]`: the scroll saw and its blades.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SawSection {
    /// The blade to use; `fretgrin blades` lists them. #5 is the usual choice
    /// for 5/8 in softwood (common practice, no source).
    pub blade: String,
    /// Every blade in the drawer. Blade sizes differ between makers: measure
    /// yours and write for instance
    /// { name = "flat-5", width = "0.97mm", thickness = "0.41mm", kerf = "0.56mm" }
    /// (built-in measures: medians of generic charts, from memory).
    pub blades: Vec<DrawerBlade>,
    /// How the blade's ends are held: "plain" or "pin". A pin needs a larger
    /// entry hole.
    pub end: BladeEnd,
    /// Depth of the throat: from the blade to the back of the saw's arm. 16 in
    /// (common practice, no source: the usual size of a small scroll saw).
    pub throat: Length,
    /// How far the sawn line may stray from the drawn one in a tight turn.
    /// 0.25 mm (common practice, no source: about half a pencil line).
    pub line_tolerance: Length,
}
}

impl Default for SawSection {
    fn default() -> Self {
        Self {
            blade: crate::trade::blades::DEFAULT.to_owned(),
            blades: crate::trade::blades::default_drawer().into_iter().map(|b| DrawerBlade::named(&b.name)).collect(),
            end: BladeEnd::Plain,
            throat: Length::text("16in"),
            line_tolerance: Length::text("0.25mm"),
        }
    }
}

described! {
/// `[drills]`: bits for entry holes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DrillSection {
    /// Every bit the shop owns: "1/16in", "#52", "1.6mm", "A". The list is a
    /// small shop's (common practice, no source).
    pub owned: Vec<String>,
}
}

impl Default for DrillSection {
    fn default() -> Self {
        Self { owned: crate::trade::drills::default_drawer().into_iter().map(|drill| drill.name).collect() }
    }
}

described! {
/// `[paper]`: what templates are printed on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PaperSection {
    /// The sheet: "letter", "a4" … (`fretgrin papers` lists them) or a size
    /// like "210x297mm".
    pub size: String,
    /// How the sheet lies: "auto" takes whichever needs fewest sheets, or
    /// "portrait", "landscape".
    pub turn: PaperTurn,
    /// How far neighbouring sheets overlap when one is not enough. 12 mm
    /// (common practice, no source: 10 to 15 mm).
    pub overlap: Length,
}
}

impl Default for PaperSection {
    fn default() -> Self {
        Self { size: crate::trade::papers::DEFAULT.to_owned(), turn: PaperTurn::Auto, overlap: Length::text("12mm") }
    }
}

/// How the paper lies.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum PaperTurn {
    /// Whichever needs fewest sheets.
    #[default]
    Auto,
    /// Upright.
    Portrait,
    /// On its side.
    Landscape,
}

described! {
/// `[printer]`: what the shop's printer does to lengths. `fretgrin ruler` makes
/// the sheet to measure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PrinterSection {
    /// Correction across the sheet: the true length divided by the printed
    /// length, 1.0 for a true printer. Printers are usually 0.2 to 0.5 % out
    /// (common practice, no source).
    pub scale_x: f64,
    /// Correction along the sheet.
    pub scale_y: f64,
    /// White edge the printer leaves on every side. 1/4 in (common practice, no
    /// source: laser printers about 1/6 in, inkjets 1/8 in and more at the
    /// bottom).
    pub margin: Length,
}
}

impl Default for PrinterSection {
    fn default() -> Self {
        Self { scale_x: 1.0, scale_y: 1.0, margin: Length::text("1/4in") }
    }
}

described! {
/// `[art]`: how drawings are read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ArtSection {
    /// What is sawn out: "auto" decides by the drawing, "dark" cuts what is
    /// dark, "light" cuts what is light inside the outer silhouette, "lines"
    /// takes outlines as cut lines, "features" drops the silhouette and cuts
    /// what is inside it.
    pub cut: Cut,
    /// Paint darker than this counts as dark, 0 black to 1 white. 0.5 (common
    /// practice, no source: the middle grey).
    pub threshold: f64,
    /// Gaps in outlines up to this long, measured on the panel, are closed.
    /// 0.5 mm (common practice, no source: what a pencil line hides).
    pub gap: Length,
    /// Whether shapes smaller than the saw's kerf are kept.
    pub keep_specks: bool,
    /// Elements of the drawing to leave out, by id.
    pub drop: Vec<String>,
    /// Pieces far from the rest to keep, by id: else they are taken for a
    /// caption or a frame.
    pub keep: Vec<String>,
}
}

impl Default for ArtSection {
    fn default() -> Self {
        Self {
            cut: Cut::Auto,
            threshold: 0.5,
            gap: Length::text("0.5mm"),
            keep_specks: false,
            drop: Vec::new(),
            keep: Vec::new(),
        }
    }
}

/// Which part of the art is sawn out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Cut {
    /// Decided by the drawing.
    #[default]
    Auto,
    /// What is dark.
    Dark,
    /// What is light inside the outer silhouette.
    Light,
    /// The inside of closed outlines; nested ones alternate.
    Lines,
    /// What is inside the outermost silhouette, which itself is dropped.
    Features,
}

described! {
/// `[fit]`: how a face is laid on the panel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FitSection {
    /// Where in the window the face lies: "center", or "top", "bottom", "left",
    /// "right", or two joined, like "top-left".
    pub align: String,
    /// How far the face may be stretched one way to fill the window, percent.
    /// 0 keeps its shape.
    pub stretch: f64,
    /// Width of the whole face, instead of filling the window; with `height` the
    /// face fits inside both.
    pub width: Option<Length>,
    /// Height of the whole face, instead of filling the window; with `width` the
    /// face fits inside both.
    pub height: Option<Length>,
    /// Whether the drawing keeps its own size, as a finished template does.
    pub true_size: bool,
    /// Scale of the face, instead of filling the window: 1 is the drawing's own
    /// size. `width` and `height` come first.
    pub scale: Option<f64>,
    /// Distance of the face's middle from the panel's left edge, instead of
    /// `align`. The middle is that of the face before it is turned.
    pub middle_x: Option<Length>,
    /// Distance of the face's middle from the panel's bottom edge.
    pub middle_y: Option<Length>,
    /// Turn of the face, degrees anticlockwise.
    pub turn: f64,
    /// Whether the face is mirrored left to right.
    pub mirror: bool,
}
}

impl Default for FitSection {
    fn default() -> Self {
        Self {
            align: "center".to_owned(),
            stretch: 0.0,
            width: None,
            height: None,
            scale: None,
            middle_x: None,
            middle_y: None,
            true_size: false,
            turn: 0.0,
            mirror: false,
        }
    }
}

described! {
/// `[bridge]`: how wide the wood between openings must be. The width needed
/// follows from wood, thickness, length and grain; these are its assumptions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BridgeSection {
    /// One limit for every bridge, instead of the derived one.
    pub limit: Option<Length>,
    /// Push the bridge must bear while it is sawn and sanded, newtons. 20 N,
    /// 4.5 lbf: a firm fingertip (assumption, no source).
    pub push: f64,
    /// The strength one piece in twenty falls below is divided by this. 1.5 for
    /// a hand push in the shop (common practice, no source).
    pub factor: f64,
    /// Exponent of Hankinson's formula for strength at an angle to the grain.
    /// 1.5 is cautious, 2 nominal (Wood Handbook ch. 5, second-hand).
    pub exponent: f64,
}
}

impl Default for BridgeSection {
    fn default() -> Self {
        let Demand { push_n, factor, exponent } = Demand::default();
        Self { limit: None, push: push_n, factor, exponent }
    }
}

described! {
/// `[out]`: what is written, and where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct OutSection {
    /// Folder for the files; the current folder when ".".
    pub folder: String,
    /// Templates in one file: one for each panel, since a template is used up.
    pub copies: u32,
}
}

impl Default for OutSection {
    fn default() -> Self {
        Self { folder: ".".to_owned(), copies: 1 }
    }
}

/// A whole shop file as stated, before lengths are worked out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Shop {
    /// The unit of bare numbers, and the one shown first.
    pub units: Unit,
    /// The board.
    pub panel: PanelSection,
    /// Clearances.
    pub clear: ClearSection,
    /// The wood.
    pub wood: WoodSection,
    /// Saw and blades.
    pub saw: SawSection,
    /// Drill bits.
    pub drills: DrillSection,
    /// Paper.
    pub paper: PaperSection,
    /// Printer.
    pub printer: PrinterSection,
    /// Reading of art.
    pub art: ArtSection,
    /// Laying out.
    pub fit: FitSection,
    /// Strength of bridges.
    pub bridge: BridgeSection,
    /// Files written.
    pub out: OutSection,
    /// The lantern box; without it a panel is a panel.
    #[serde(rename = "box", skip_serializing_if = "Option::is_none")]
    pub lantern: Option<BoxSettings>,
    /// Nails.
    pub nails: NailSettings,
    /// Boards.
    pub boards: BoardSettings,
    /// The batch.
    pub batch: BatchSettings,
    /// Hardware.
    pub hardware: HardwareSettings,
    /// Times.
    pub time: TimeSettings,
    /// Price.
    pub price: PriceSettings,
}
