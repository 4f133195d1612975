//! What is bought besides boards, counted and priced by what is used.

use serde::Serialize;

use super::boards::CutRow;
use super::design::{Design, Reader, setting};
use super::face::FaceFacts;
use super::parts::{PartKind, Parts};
use crate::diag::Error;
use crate::settings::Money;
use crate::settings::batch::HardwareSettings;
use crate::settings::boxes::LidKind;
use crate::units::{Cents, Mm, Unit};

/// The shop's hardware, resolved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Hardware {
    /// The settings as stated.
    #[serde(skip)]
    pub asked: HardwareSettings,
    /// Length of a dowel as bought.
    pub dowel_length: Mm,
    /// Prices, by supply.
    #[serde(skip)]
    prices: Prices,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Prices {
    brads: Cents,
    screw: Cents,
    light: Cents,
    dowel: Cents,
    glue: Cents,
    finish: Cents,
    template: Cents,
    sanding: Cents,
    blade: Cents,
}

impl Hardware {
    /// The hardware of the shop file.
    ///
    /// # Errors
    /// [`Error::Setting`] naming the key whose value is wrong.
    pub fn new(asked: &HardwareSettings, unit: Unit) -> Result<Self, Error> {
        // Wide enough for any shop; outside are only typing slips.
        let ranges = [
            ("hardware.glue_g_per_m2", asked.glue_g_per_m2, [0.0, 10_000.0]),
            ("hardware.glue_bottle_g", asked.glue_bottle_g, [1.0, 1e6]),
            ("hardware.finish_m2_per_litre", asked.finish_m2_per_litre, [0.01, 1000.0]),
            ("hardware.finish_tin_litres", asked.finish_tin_litres, [0.001, 1000.0]),
            ("hardware.blade_minutes", asked.blade_minutes, [0.1, 10_000.0]),
            ("hardware.brads_per_pack", f64::from(asked.brads_per_pack), [1.0, 1e6]),
            ("hardware.brad_spare_percent", asked.brad_spare_percent, [0.0, 200.0]),
            ("hardware.screws_per_box", f64::from(asked.screws_per_box), [0.0, 1000.0]),
            ("hardware.lights_per_box", f64::from(asked.lights_per_box), [0.0, 1000.0]),
            ("hardware.coats", f64::from(asked.coats), [0.0, 20.0]),
        ];
        for (key, value, range) in ranges {
            number(key, value, range)?;
        }
        let prices = Prices {
            brads: money("hardware.brad_pack_price", &asked.brad_pack_price)?,
            screw: money("hardware.screw_price", &asked.screw_price)?,
            light: money("hardware.light_price", &asked.light_price)?,
            dowel: money("hardware.dowel_price", &asked.dowel_price)?,
            glue: money("hardware.glue_bottle_price", &asked.glue_bottle_price)?,
            finish: money("hardware.finish_tin_price", &asked.finish_tin_price)?,
            template: money("hardware.template_price", &asked.template_price)?,
            sanding: money("hardware.sanding_price", &asked.sanding_price)?,
            blade: money("hardware.blade_price", &asked.blade_price)?,
        };
        let dowel_length = Reader::of_bought(unit).positive("hardware.dowel_length", &asked.dowel_length)?;
        Ok(Self { asked: asked.clone(), dowel_length, prices })
    }
}

/// A number from the least to the most that is taken for true.
pub(crate) fn number(key: &str, value: f64, [least, most]: [f64; 2]) -> Result<(), Error> {
    // NaN is in no range.
    if value >= least && value <= most {
        return Ok(());
    }
    Err(setting(key, format!("{value} is out of range"), format!("give a number from {least} to {most}")))
}

/// The largest sum a setting may name: ten million of the currency, so that
/// ten thousand boxes and their hours still add up to the cent in 64 bits
/// (derived).
const MOST_MONEY: Cents = Cents(1_000_000_000);

/// A sum of zero or more.
pub(crate) fn money(key: &str, asked: &Money) -> Result<Cents, Error> {
    let cents = asked.resolve().map_err(|what| setting(key, what, "write a sum such as 3.48"))?;
    if cents < Cents(0) {
        return Err(setting(key, format!("{} is less than nothing", cents.with_sign("")), "give zero or more"));
    }
    if cents > MOST_MONEY {
        let advice = format!("give a sum up to {}", MOST_MONEY.with_sign(""));
        return Err(setting(key, format!("{} is too much", cents.with_sign("")), advice));
    }
    Ok(cents)
}

/// One supply of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Supply {
    /// What it is.
    pub name: &'static str,
    /// How much is used.
    pub used: f64,
    /// In what.
    pub unit: &'static str,
    /// How much one pack, bottle or piece holds.
    pub pack: f64,
    /// Whole packs to have at hand.
    pub packs: u32,
    /// Cost of what is used: its share of the packs.
    pub cost: Cents,
}

/// What the counts are taken from.
#[derive(Clone, Debug)]
pub struct Needs<'a> {
    /// The box.
    pub design: &'a Design,
    /// Its parts.
    pub parts: &'a Parts,
    /// Brads in one box.
    pub brads: usize,
    /// Which face on how many boxes.
    pub faces: &'a [(FaceFacts, u32)],
    /// Boxes in all.
    pub boxes: u32,
    /// Templates used: one for each panel or stack.
    pub templates: u32,
    /// Minutes of sawing.
    pub sawing: f64,
    /// Area of the joints within parts glued up from strips, all boxes, mm².
    pub glue_lines: f64,
    /// Kerf of the saw that cuts stems from dowels.
    pub crosscut: Mm,
}

/// Everything bought besides boards.
///
/// # Errors
/// [`Error::Sizes`] for a stem longer than a dowel.
pub fn supplies(shop: &Hardware, needs: &Needs<'_>, unit: Unit) -> Result<Vec<Supply>, Error> {
    let (asked, prices, boxes) = (&shop.asked, &shop.prices, f64::from(needs.boxes));
    let brads = (needs.brads as f64 * boxes * (1.0 + asked.brad_spare_percent / 100.0)).ceil();
    let glue = (glue_area(needs.design, needs.parts) * boxes + needs.glue_lines) / MM2_PER_M2 * asked.glue_g_per_m2;
    let litres =
        finished_area(needs, asked.finish_inside) / MM2_PER_M2 * f64::from(asked.coats) / asked.finish_m2_per_litre;
    let count = |each: u32| f64::from(each) * boxes;
    let mut list = vec![
        supply("brads", brads, "brads", f64::from(asked.brads_per_pack), prices.brads),
        supply("lights", count(asked.lights_per_box), "lights", 1.0, prices.light),
        supply("glue", glue, "g", asked.glue_bottle_g, prices.glue),
        supply("finish", litres, "l", asked.finish_tin_litres, prices.finish),
        supply("templates", f64::from(needs.templates), "templates", 1.0, prices.template),
        supply("sandpaper", boxes, "boxes", 1.0, prices.sanding),
        supply("blades", needs.sawing / asked.blade_minutes, "blades", 1.0, prices.blade),
    ];
    if let Some(stem) = needs.design.lid.stem_length {
        list.insert(1, supply("screws", count(asked.screws_per_box), "screws", 1.0, prices.screw));
        list.insert(2, dowels(shop, stem, needs, unit)?);
    }
    list.retain(|s| s.used > 0.0);
    Ok(list)
}

/// The dowels stems are cut from: whole stems from each, a kerf between them;
/// what is left of a dowel is paid for, too.
fn dowels(shop: &Hardware, stem: Mm, needs: &Needs<'_>, unit: Unit) -> Result<Supply, Error> {
    let (dowel, kerf) = (shop.dowel_length, needs.crosscut);
    let each = ((dowel + kerf) / (stem + kerf) + 1e-9).floor() as u32;
    if each == 0 {
        let text = format!("the stem is {} long, the dowels only {}", stem.both(unit), dowel.both(unit));
        let advice = "buy longer dowels (hardware.dowel_length) or make the stem shorter (box.lid.stem_length)";
        return Err(Error::Sizes { what: text, advice: advice.into(), measured: Some(stem) });
    }
    let share = f64::from(needs.boxes) / f64::from(each);
    Ok(Supply {
        name: "dowel",
        used: ((stem + kerf) * f64::from(needs.boxes)).get(),
        unit: "mm",
        pack: dowel.get(),
        packs: needs.boxes.div_ceil(each),
        cost: Cents((share * shop.prices.dowel.0 as f64).round() as i64),
    })
}

fn supply(name: &'static str, used: f64, unit: &'static str, pack: f64, price: Cents) -> Supply {
    let packs = used / pack;
    Supply {
        name,
        used,
        unit,
        pack,
        packs: (packs - 1e-9).ceil() as u32,
        cost: Cents((packs * price.0 as f64).round() as i64),
    }
}

const MM2_PER_M2: f64 = 1_000_000.0;

/// Area of the joints between the strips of a cut list's glued-up parts, mm²
/// (derived: length by thickness).
#[must_use]
pub fn glue_lines(rows: &[CutRow]) -> f64 {
    let area = |row: &CutRow| f64::from(row.glue_lines()) * row.length.get() * row.thickness.get();
    rows.iter().map(area).sum()
}

/// Area glued in one box, mm²: wall corners, base under the walls, strips on
/// the lid's edge. Derived from the joints.
#[must_use]
pub fn glue_area(design: &Design, parts: &Parts) -> f64 {
    let (t, h) = (design.thickness.get(), design.height.get());
    let (w, d) = (design.width.get(), design.depth.get());
    let corners = 4.0 * t * h;
    let walls = w * d - parts.inside_width.get() * parts.inside_depth.get();
    let lid = match design.lid.kind {
        LidKind::LiftOff => 2.0 * (w + d + 2.0 * design.lid.play.get()) * design.lid.thickness.get(),
        LidKind::Plain | LidKind::None => 0.0,
    };
    corners + walls + lid
}

/// Area of one box that is stained or oiled, mm², before any face is sawn:
/// the walls' outside, base and lid with their edges, the stem; with `inside`
/// the walls' and lid's inside and the floor too. Derived from the parts.
#[must_use]
pub fn plain_area(design: &Design, parts: &Parts, inside: bool) -> f64 {
    let (w, d, h) = (design.width.get(), design.depth.get(), design.height.get());
    let (iw, id) = (parts.inside_width.get(), parts.inside_depth.get());
    let out = design.base_overhang.get();
    let (bw, bd) = (w + 2.0 * out, d + 2.0 * out);
    let walls = 2.0 * (w + d) * h;
    // Underside, edges, and the ledge round the walls.
    let base = bw * bd + 2.0 * (bw + bd) * design.base_thickness.get() + bw * bd - w * d;
    let within = if inside { 2.0 * (iw + id) * h + iw * id } else { 0.0 };
    walls + base + within + lid_area(design, inside, iw * id) + stem_area(parts)
}

fn lid_area(design: &Design, inside: bool, room: f64) -> f64 {
    let lid = &design.lid;
    let (lw, ld) = ((design.width + lid.play).get(), (design.depth + lid.play).get());
    let under = if inside { room } else { 0.0 };
    match lid.kind {
        LidKind::None => 0.0,
        LidKind::Plain => lw * ld + 2.0 * (lw + ld) * lid.thickness.get() + under,
        LidKind::LiftOff => {
            let ts = lid.strip_thickness.get();
            let (ow, od) = (lw + 2.0 * ts, ld + 2.0 * ts);
            // Top, the strips' outsides and their lower edges.
            ow * od + 2.0 * (ow + od) * lid.strip_width.get() + (ow * od - lw * ld) + under
        }
    }
}

fn stem_area(parts: &Parts) -> f64 {
    parts.find(PartKind::Stem).map_or(0.0, |stem| std::f64::consts::PI * stem.width.get() * stem.length.get())
}

/// Area finished in the whole batch, mm²: the openings are subtracted (on both
/// sides where the inside is finished), their sawn edges added.
#[must_use]
pub fn finished_area(needs: &Needs<'_>, inside: bool) -> f64 {
    let plain = plain_area(needs.design, needs.parts, inside) * f64::from(needs.boxes);
    let sides = if inside { 2.0 } else { 1.0 };
    let thickness = needs.design.thickness.get();
    let faces = needs.faces.iter();
    let openings = faces.map(|(f, n)| f64::from(*n) * (f.cut_length_mm * thickness - sides * f.open_area_mm2));
    plain + openings.sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::boxes::parts;
    use crate::settings::Length;
    use crate::settings::boxes::{BoxSettings, LidSettings, NailSettings};

    fn cube() -> (Design, Parts) {
        let asked = BoxSettings {
            width: Some(Length::Number(100.0)),
            depth: Some(Length::Number(100.0)),
            height: Some(Length::Number(100.0)),
            thickness: Some(Length::Number(10.0)),
            base_overhang: Length::Number(0.0),
            lid: LidSettings { kind: LidKind::Plain, play: Length::Number(0.0), stem: false, ..LidSettings::default() },
            ..BoxSettings::default()
        };
        let nails = NailSettings { length: Length::Number(20.0), ..NailSettings::default() };
        let design = Design::new(&asked, &nails, Mm::new(10.0), Unit::Mm).unwrap();
        let parts = parts::derive(&design, Unit::Mm).unwrap().value;
        (design, parts)
    }

    #[test]
    fn areas_are_those_of_the_solid() {
        let (design, parts) = cube();
        // Walls 4 x 100 x 100; base and lid each 100 x 100 and edges 400 x 10.
        assert!((plain_area(&design, &parts, false) - (40_000.0 + 2.0 * 14_000.0)).abs() < 1e-6, "outside");
        // Inside: walls 4 x 80 x 100, floor and lid 80 x 80 each.
        let inside = plain_area(&design, &parts, true) - plain_area(&design, &parts, false);
        assert!((inside - (32_000.0 + 2.0 * 6_400.0)).abs() < 1e-6, "inside {inside}");
        assert!((glue_area(&design, &parts) - (4_000.0 + 3_600.0)).abs() < 1e-6, "corners and walls on base");
    }

    fn needs<'a>(design: &'a Design, parts: &'a Parts, faces: &'a [(FaceFacts, u32)]) -> Needs<'a> {
        let crosscut = Mm::from_inches(0.125);
        Needs { design, parts, brads: 20, faces, boxes: 3, templates: 3, sawing: 50.0, glue_lines: 0.0, crosscut }
    }

    #[test]
    fn dowels_hold_whole_stems() {
        let (mut design, parts) = cube();
        let shop = Hardware::new(&HardwareSettings::default(), Unit::Inch).unwrap();
        // From 48 in dowels with a kerf of 1/8 in.
        let cases = [(25.0, 4, 4), (23.9375, 4, 2), (24.0, 4, 4), (48.0, 3, 3), (1.5, 29, 1), (1.5, 30, 2)];
        for (stem, boxes, dowels) in cases {
            design.lid.stem_length = Some(Mm::from_inches(stem));
            let needs = Needs { boxes, ..needs(&design, &parts, &[]) };
            let list = supplies(&shop, &needs, Unit::Inch).unwrap();
            let dowel = list.iter().find(|s| s.name == "dowel").unwrap();
            assert_eq!(dowel.packs, dowels, "{boxes} stems of {stem} in: {dowel:?}");
        }
        design.lid.stem_length = Some(Mm::from_inches(60.0));
        let error = supplies(&shop, &needs(&design, &parts, &[]), Unit::Inch).unwrap_err();
        assert!(error.to_string().contains("the stem is 60 in"), "{error}");
    }

    #[test]
    fn openings_are_subtracted_and_their_edges_added() {
        let (design, parts) = cube();
        let face = FaceFacts { cut_length_mm: 120.0, open_area_mm2: 900.0, ..FaceFacts::default() };
        let faces = [(face, 3)];
        let needs = needs(&design, &parts, &faces);
        let plain = 3.0 * plain_area(&design, &parts, false);
        assert!((finished_area(&needs, false) - plain - 3.0 * (1_200.0 - 900.0)).abs() < 1e-6, "one side");
        let plain = 3.0 * plain_area(&design, &parts, true);
        assert!((finished_area(&needs, true) - plain - 3.0 * (1_200.0 - 1_800.0)).abs() < 1e-6, "both sides");
        let shop = Hardware::new(&HardwareSettings::default(), Unit::Mm).unwrap();
        let list = supplies(&shop, &needs, Unit::Mm).unwrap();
        let brads = list.iter().find(|s| s.name == "brads").unwrap();
        assert_eq!((brads.used, brads.packs, brads.cost), (63.0, 1, Cents(57)), "60 and 5 %, 63/1000 of 8.99");
        let blades = list.iter().find(|s| s.name == "blades").unwrap();
        assert_eq!((blades.used, blades.packs, blades.cost), (2.0, 2, Cents(130)), "50 minutes at 25 each");
        assert!(list.iter().all(|s| s.name != "dowel"), "no stem, no dowel");
    }

    #[test]
    fn nonsense_is_refused_by_key() {
        let bad = HardwareSettings { finish_m2_per_litre: 0.0, ..HardwareSettings::default() };
        let error = Hardware::new(&bad, Unit::Inch).expect_err("divides by zero");
        assert!(error.to_string().contains("hardware.finish_m2_per_litre"), "{error}");
    }
}
