//! A batch of lanterns: faces, hardware, time and price, as the shop file
//! states them.
//!
//! Every default is an assumption to replace with the shop's own value; its
//! source stands beside it.

use serde::{Deserialize, Serialize};

use super::describe::described;
use super::{Length, Money};

described! {
/// `[batch]`: how many boxes, with which faces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BatchSettings {
    /// Number of boxes; the sum of the faces' counts when left out.
    pub boxes: Option<u32>,
    /// Which face on how many boxes.
    pub faces: Vec<FaceCount>,
    /// Most panels sawn in one stack. 3 (common practice, no source).
    pub stack: u32,
    /// Thickest stack the saw and blade take. 1-1/4 in (common practice, no
    /// source: scroll saws take about 2 in; a fine blade wanders in thick wood).
    pub stack_height: Length,
}
}

impl Default for BatchSettings {
    fn default() -> Self {
        Self { boxes: None, faces: Vec::new(), stack: 3, stack_height: Length::text("1-1/4in") }
    }
}

described! {
/// One `[[batch.faces]]`: a face and its number of boxes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FaceCount {
    /// The art file, as written.
    pub art: String,
    /// Number of boxes with this face.
    pub boxes: u32,
}
}

described! {
/// `[hardware]`: what is bought besides boards. Prices are assumptions to
/// replace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct HardwareSettings {
    /// Brads lost to misfires and bent points, in percent. 5 (common practice,
    /// no source).
    pub brad_spare_percent: f64,
    /// Brads in a pack.
    pub brads_per_pack: u32,
    /// Price of a pack of brads.
    pub brad_pack_price: Money,
    /// Screws in each box. 1, which holds the stem (common practice, no source).
    pub screws_per_box: u32,
    /// Price of one screw.
    pub screw_price: Money,
    /// Lights in each box.
    pub lights_per_box: u32,
    /// Price of one light.
    pub light_price: Money,
    /// Length of a dowel as bought.
    pub dowel_length: Length,
    /// Price of one dowel.
    pub dowel_price: Money,
    /// Glue spread on one face of each joint, grams a square metre. 180
    /// (common practice, no source: 150 to 250 for white glue).
    pub glue_g_per_m2: f64,
    /// Glue in a bottle, grams.
    pub glue_bottle_g: f64,
    /// Price of a bottle of glue.
    pub glue_bottle_price: Money,
    /// Coats of stain or oil; 0 for none.
    pub coats: u32,
    /// Area one litre covers in one coat, square metres. 7 (common practice,
    /// no source: rough soft wood drinks more than a tin promises).
    pub finish_m2_per_litre: f64,
    /// Litres in a tin.
    pub finish_tin_litres: f64,
    /// Price of a tin.
    pub finish_tin_price: Money,
    /// Whether the inside is finished too.
    pub finish_inside: bool,
    /// Paper, tape and adhesive for one template.
    pub template_price: Money,
    /// Sandpaper for one box.
    pub sanding_price: Money,
    /// Price of one scroll-saw blade.
    pub blade_price: Money,
    /// Sawing time one blade lasts, minutes. 25 (common practice, no source).
    pub blade_minutes: f64,
}
}

impl Default for HardwareSettings {
    fn default() -> Self {
        Self {
            brad_spare_percent: 5.0,
            brads_per_pack: 1000,
            brad_pack_price: Money::cents(899),
            screws_per_box: 1,
            screw_price: Money::cents(8),
            lights_per_box: 1,
            light_price: Money::cents(150),
            dowel_length: Length::text("48in"),
            dowel_price: Money::cents(549),
            glue_g_per_m2: 180.0,
            glue_bottle_g: 500.0,
            glue_bottle_price: Money::cents(899),
            coats: 1,
            finish_m2_per_litre: 7.0,
            finish_tin_litres: 0.95,
            finish_tin_price: Money::cents(1899),
            finish_inside: false,
            template_price: Money::cents(25),
            sanding_price: Money::cents(20),
            blade_price: Money::cents(65),
            blade_minutes: 25.0,
        }
    }
}

described! {
/// `[time]`: how long each operation takes, in minutes unless named otherwise.
/// All are assumptions: time your own work once and put it here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TimeSettings {
    /// Setting up and clearing away, once a batch.
    pub setup_batch: f64,
    /// Setting up for each different face.
    pub setup_face: f64,
    /// Choosing and laying out one board.
    pub board: f64,
    /// One crosscut.
    pub crosscut: f64,
    /// One rip cut.
    pub rip: f64,
    /// Truing one edge of a strip for gluing up. 1 (common practice, no source:
    /// a few strokes of a plane, or a pass over the jointer).
    pub true_edge: f64,
    /// Gluing and clamping one part from strips. 5 (common practice, no source:
    /// a little under a whole box).
    pub glue_part: f64,
    /// Sanding one part.
    pub sand_part: f64,
    /// Sticking a template on one panel (or one stack).
    pub template: f64,
    /// Drilling one entry hole. 0.25 (common practice, no source: 10 to 20 s).
    pub drill_hole: f64,
    /// Threading, clamping and freeing the blade at one entry hole. 1.2
    /// (common practice, no source: 55 to 110 s).
    pub thread_hole: f64,
    /// One sharp corner. 0.15 (common practice, no source: 5 to 15 s).
    pub corner: f64,
    /// Feed in 3/4 in pine with a #5 blade, length a minute; it falls in proportion
    /// to the thickness sawn, in denser wood and with a finer blade. Cedar is reckoned
    /// 1.2 times as fast: divide what you timed in it by that. 4 in (common practice,
    /// no source: 2 to 10 in).
    pub feed: Length,
    /// Driving one nail.
    pub nail: f64,
    /// Gluing and clamping one box.
    pub glue_box: f64,
    /// Fitting lid and stem of one box.
    pub lid_box: f64,
    /// One coat of finish on one box.
    pub coat_box: f64,
    /// Fitting the light, checking and packing one box.
    pub pack_box: f64,
    /// Share of handling time that each doubling of the number leaves, as a
    /// cumulative average (Wright 1936). 0.92 (common practice, no source:
    /// 0.90 to 0.95 for handling; sawing itself does not get faster).
    pub learning: f64,
}
}

impl Default for TimeSettings {
    fn default() -> Self {
        Self {
            setup_batch: 45.0,
            setup_face: 10.0,
            board: 2.0,
            crosscut: 0.5,
            rip: 0.75,
            true_edge: 1.0,
            glue_part: 5.0,
            sand_part: 1.0,
            template: 6.0,
            drill_hole: 0.25,
            thread_hole: 1.2,
            corner: 0.15,
            feed: Length::text("4in"),
            nail: 0.2,
            glue_box: 6.0,
            lid_box: 5.0,
            coat_box: 6.0,
            pack_box: 3.0,
            learning: 0.92,
        }
    }
}

described! {
/// `[price]`: what an hour costs and what a box should bring. All are
/// assumptions to replace.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PriceSettings {
    /// Currency sign shown before sums.
    pub currency: String,
    /// Pay for an hour of work.
    pub hourly_rate: Money,
    /// Overhead (rent, power, wear of machines) for an hour of work.
    pub overhead_per_hour: Money,
    /// Overhead for each batch (stall or table fee excluded).
    pub overhead_per_batch: Money,
    /// Fee for the stall, table or market day, once a batch.
    pub stall_fee: Money,
    /// Fee of the selling place or card reader, percent of the price.
    pub fee_percent: f64,
    /// Fixed fee for each sale.
    pub fee_per_sale: Money,
    /// Wished margin: profit as percent of the price.
    pub margin_percent: f64,
    /// Price asked; worked out from the margin when left out.
    pub price: Option<Money>,
    /// Batch sizes shown in the table of unit costs.
    pub table: Vec<u32>,
}
}

impl Default for PriceSettings {
    fn default() -> Self {
        Self {
            currency: "$".to_owned(),
            hourly_rate: Money::cents(2000),
            overhead_per_hour: Money::cents(400),
            overhead_per_batch: Money::cents(0),
            stall_fee: Money::cents(4000),
            fee_percent: 3.0,
            fee_per_sale: Money::cents(10),
            margin_percent: 30.0,
            price: None,
            table: vec![1, 6, 12, 24, 48],
        }
    }
}
