//! The box, its nails and the boards it is cut from, as the shop file states
//! them.
//!
//! Every default is an assumption to replace with the shop's own value; its
//! source stands beside it.

use serde::{Deserialize, Serialize};

use super::describe::described;
use super::{Length, Money};

/// How the four walls meet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Joint {
    /// Front and back run the full width and are nailed onto the sides' edges.
    #[default]
    FrontLapsSides,
    /// The sides run the full depth and are nailed onto the front's edges.
    SidesLapFront,
}

/// The kind of lid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LidKind {
    /// A board with strips round its edge that hang over the walls.
    #[default]
    LiftOff,
    /// A board that lies on the walls.
    Plain,
    /// No lid: the box is open.
    None,
}

described! {
/// `[box]`: the lantern box.
///
/// Give the outside `width` and `height`, or `panel_width` and `panel_height`
/// for the front panel itself; give the outside `depth`, or `side_width` for
/// the side boards. The rest follows from the joints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BoxSettings {
    /// Outside width of the walls, left to right.
    pub width: Option<Length>,
    /// Outside depth of the walls, front to back.
    pub depth: Option<Length>,
    /// Height of the walls, without base and lid.
    pub height: Option<Length>,
    /// Width of the front panel, instead of `width`. With neither, 5-1/4 in
    /// (common practice, no source: a 5-1/2 in board trimmed true).
    pub panel_width: Option<Length>,
    /// Height of the front panel, instead of `height`. With neither, 10 in
    /// (common practice, no source).
    pub panel_height: Option<Length>,
    /// Width of the side boards, instead of `depth`. With neither, 3-1/2 in
    /// (common practice, no source).
    pub side_width: Option<Length>,
    /// Measured thickness of the wall boards; the shop's panel thickness when
    /// left out.
    pub thickness: Option<Length>,
    /// How the walls meet: "front-laps-sides" or "sides-lap-front".
    pub joint: Joint,
    /// Thickness of the base; the walls' thickness when left out.
    pub base_thickness: Option<Length>,
    /// How far the base stands out past the walls on every side.
    /// 1/2 in (common practice, no source).
    pub base_overhang: Length,
    /// The lid.
    pub lid: LidSettings,
    /// The light inside.
    pub light: LightSettings,
    /// Least height of wood under the face. 3/4 in (common practice, no source).
    pub least_below: Length,
    /// Least width of wood at any other edge of the panel. 3/8 in (common
    /// practice, no source).
    pub least_beside: Length,
    /// Wood left between a cut-out and a nail, a side board's joint or a nail
    /// tip. 1/8 in (common practice, no source).
    pub nail_wood: Length,
}
}

impl Default for BoxSettings {
    fn default() -> Self {
        Self {
            width: None,
            depth: None,
            height: None,
            panel_width: None,
            panel_height: None,
            side_width: None,
            thickness: None,
            joint: Joint::default(),
            base_thickness: None,
            base_overhang: Length::text("1/2in"),
            lid: LidSettings::default(),
            light: LightSettings::default(),
            least_below: Length::text("3/4in"),
            least_beside: Length::text("3/8in"),
            nail_wood: Length::text("1/8in"),
        }
    }
}

described! {
/// `[box.lid]`: the lid and its knob.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LidSettings {
    /// The kind of lid: "lift-off", "plain" or "none".
    pub kind: LidKind,
    /// Thickness of the lid board; the walls' thickness when left out.
    pub thickness: Option<Length>,
    /// How much longer and wider the lid board is than the walls, so that the
    /// strips slide over them. 1/16 in (common practice, no source).
    pub play: Length,
    /// Width of the strips round the lid's edge; their upper edges are flush
    /// with the lid's upper face. 7/8 in (common practice, no source).
    pub strip_width: Length,
    /// Thickness of the strips; the walls' thickness when left out.
    pub strip_thickness: Option<Length>,
    /// Whether the lid carries a stem.
    pub stem: bool,
    /// Length of the stem. 1-1/2 in (common practice, no source).
    pub stem_length: Length,
    /// Diameter of the dowel the stem is cut from. 7/8 in (common practice, no
    /// source).
    pub stem_diameter: Length,
}
}

impl Default for LidSettings {
    fn default() -> Self {
        Self {
            kind: LidKind::default(),
            thickness: None,
            play: Length::text("1/16in"),
            strip_width: Length::text("7/8in"),
            strip_thickness: None,
            stem: true,
            stem_length: Length::text("1-1/2in"),
            stem_diameter: Length::text("7/8in"),
        }
    }
}

described! {
/// `[box.light]`: the battery light that stands on the base.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LightSettings {
    /// Width across the light. 1-1/2 in (common practice, no source: a
    /// battery tea light).
    pub width: Length,
    /// Height of the light. 2 in (common practice, no source).
    pub height: Length,
}
}

impl Default for LightSettings {
    fn default() -> Self {
        Self { width: Length::text("1-1/2in"), height: Length::text("2in") }
    }
}

described! {
/// `[nails]`: the brads and how they are set out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct NailSettings {
    /// Length of the brads. 1 in (common practice, no source).
    pub length: Length,
    /// Gauge by the US steel wire gauge: 15, 16, 18 or 23. Used when no
    /// `diameter` is given. 18 (common practice, no source).
    pub gauge: u8,
    /// Measured diameter (or the thicker side of a flat brad). Trade pages
    /// disagree about gauges: measuring is better.
    pub diameter: Option<Length>,
    /// Whether holes are drilled before the nails are driven.
    pub predrilled: bool,
    /// Distance aimed at between nails; never under the published least
    /// spacing. 3-1/2 in (common practice, no source: 3 to 4 in where glue
    /// does the holding).
    pub spacing: Length,
    /// Least distance from the end of a board; the published end distance
    /// where that is larger. 1/2 in (common practice, no source).
    pub end: Length,
    /// How far a nail driven slightly out of square ends up off its line.
    /// 1/16 in (common practice, no source).
    pub drift: Length,
}
}

impl Default for NailSettings {
    fn default() -> Self {
        Self {
            length: Length::text("1in"),
            gauge: 18,
            diameter: None,
            predrilled: false,
            spacing: Length::text("3-1/2in"),
            end: Length::text("1/2in"),
            drift: Length::text("1/16in"),
        }
    }
}

described! {
/// `[boards]`: the boards that can be bought and how they are cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BoardSettings {
    /// Kerf of a crosscut. 1/8 in (common practice, no source).
    pub crosscut_kerf: Length,
    /// Kerf of a rip cut. 1/8 in (common practice, no source).
    pub rip_kerf: Length,
    /// Length lost at each end of a board, its trimming cut included, where a
    /// board has no `end_loss` of its own. 1/2 in (common practice, no source:
    /// 1/4 to 1/2 in).
    pub end_loss: Length,
    /// Offcuts at least this long and `keep_width` wide are worth keeping.
    /// 6 in (common practice, no source).
    pub keep_length: Length,
    /// See `keep_length`. 3/4 in (common practice, no source).
    pub keep_width: Length,
    /// Whether a part wider than every board may be glued up from strips.
    pub glue_up: bool,
    /// Share of boards bought in addition for knots, splits and spoiled cuts,
    /// in percent, rounded up to whole boards for all sizes of one thickness
    /// together. 10 (common practice, no source: 10 to 15 % for cedar pickets,
    /// 5 to 10 % for select boards).
    pub spare_percent: f64,
    /// The boards on offer.
    pub stock: Vec<StockBoard>,
}
}

impl Default for BoardSettings {
    fn default() -> Self {
        Self {
            crosscut_kerf: Length::text("1/8in"),
            rip_kerf: Length::text("1/8in"),
            end_loss: Length::text("1/2in"),
            keep_length: Length::text("6in"),
            keep_width: Length::text("3/4in"),
            glue_up: true,
            spare_percent: 10.0,
            stock: vec![StockBoard {
                name: "fence picket".to_owned(),
                length: Length::text("72in"),
                width: Length::text("5-1/2in"),
                thickness: None,
                price: Money::cents(350),
                available: None,
                end_loss: None,
            }],
        }
    }
}

described! {
/// One `[[boards.stock]]`: a size of board on offer.
///
/// The built-in picket is 5-1/2 x 72 in (common practice, no source); its price
/// is an assumption to replace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockBoard {
    /// Name, as on the shelf.
    pub name: String,
    /// Full length.
    pub length: Length,
    /// Measured width.
    pub width: Length,
    /// Measured thickness; the walls' thickness when left out.
    #[serde(default)]
    pub thickness: Option<Length>,
    /// Price of one board.
    pub price: Money,
    /// How many can be had; any number when left out.
    #[serde(default)]
    pub available: Option<u32>,
    /// Length lost at each end of this board (dog ears, splits).
    #[serde(default)]
    pub end_loss: Option<Length>,
}
}

#[cfg(test)]
impl StockBoard {
    /// The wide board of the tests: 7-1/4 by 96 in at 7.99.
    pub(crate) fn wide() -> Self {
        Self {
            name: "wide board".into(),
            length: Length::text("96in"),
            width: Length::text("7-1/4in"),
            thickness: None,
            price: Money::cents(799),
            available: None,
            end_loss: None,
        }
    }
}
