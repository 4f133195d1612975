//! From what the shop stated to checked millimetres.

use super::boxes::BoxSettings;
use super::drawer::DrawerBlade;
use super::sections::{Angle, Shop};
use super::{Align, ArtRules, EdgeClear, FitRules, Length, Print, Saw, SawTimes, Settings};
use crate::diag::{Error, Place};
use crate::face::{Clearances, Panel};
use crate::trade::blades::{self, Blade, BladeKind, Measured};
use crate::trade::drills::Drill;
use crate::trade::nearest;
use crate::trade::strength::{Demand, Limit};
use crate::trade::{papers, woods};
use crate::units::{Mm, Unit};

/// Smallest and largest panel side. Below, a face cannot be sawn; above, no
/// scroll saw swings it. Only typing slips fall outside.
pub const PANEL_SIDE: [f64; 2] = [10.0, 3000.0];
/// Thinnest and thickest stock. Scroll saws take about 50 mm (common practice,
/// no source); twice that is a slip.
const THICKNESS: [f64; 2] = [0.5, 100.0];
/// Clearance, gap and overlap: no less than nothing, no more than a panel.
const DISTANCE: [f64; 2] = [0.0, 3000.0];
/// Throats of saws sold are about 300 to 800 mm (common practice, no source).
const THROAT: [f64; 2] = [50.0, 3000.0];
/// Line tolerance: a hair to a thick pencil line's multiple.
const TOLERANCE: [f64; 2] = [0.01, 5.0];
/// Bridges: above nothing, below any panel.
const BRIDGE: [f64; 2] = [0.01, 100.0];
/// Feed in a minute: from a crawl to more than any scroll saw does.
const FEED: [f64; 2] = [1.0, 2000.0];
/// Printer correction: a printer more than a tenth out was told to fit the page.
const CORRECTION: [f64; 2] = [0.9, 1.1];
/// Scale of a face: from a drawing in metres to one in hundredths of a millimetre.
const SCALE: [f64; 2] = [1e-4, 1e4];
/// Where the middle of a face may lie: a face may hang off a panel a little way,
/// which is then a finding.
const MIDDLE: [f64; 2] = [-PANEL_SIDE[1], 2.0 * PANEL_SIDE[1]];
/// Wood left beside the nails, with the kerf and the nail's wander: 1/4 in over
/// the side board's thickness (derived; the parts are common practice, no source).
const BEYOND_SIDE: Mm = Mm::from_inches(0.25);

impl Settings {
    /// Checks a stated shop and works it out in millimetres.
    ///
    /// # Errors
    /// [`Error::Setting`] with the key in `place.element`, for
    /// [`super::Origins::locate`]; [`Error::Sizes`] when the clearances leave
    /// nothing of the panel.
    pub fn resolve(shop: &Shop) -> Result<Self, Error> {
        let unit = shop.units;
        let panel = panel(shop)?;
        let own_clear = own_clear(shop)?;
        let settings = Self {
            unit,
            panel,
            clear: own_clear.or(Clearances::all(panel.thickness + BEYOND_SIDE)),
            own_clear,
            wood: woods::find(&shop.wood.species).map_err(|e| keyed(e, "wood.species"))?.clone(),
            saw: saw(shop)?,
            drills: drills(&shop.drills.owned)?,
            print: print(shop)?,
            art: art(shop)?,
            fit: fit(shop)?,
            bridge: bridge(shop)?,
            times: times(shop)?,
            lantern: lantern(shop),
            folder: shop.out.folder.clone(),
            copies: copies(shop.out.copies)?,
            stated: shop.clone(),
        };
        if settings.lantern.is_none() {
            settings.check_window()?;
        }
        Ok(settings)
    }

    fn check_window(&self) -> Result<(), Error> {
        let window = self.clear.window(&self.panel);
        let crossed = |clear: Mm, side: &str, whole: Mm| {
            let what = format!(
                "the clearances take {} of a panel {} {side}: no window is left",
                clear.both(self.unit),
                whole.both(self.unit)
            );
            Err(Error::sizes(what, "make the clearances smaller (--clear) or the panel larger (--panel)"))
        };
        if window.x1 - window.x0 <= 0.0 {
            return crossed(self.clear.left + self.clear.right, "wide", self.panel.width);
        }
        if window.y1 - window.y0 <= 0.0 {
            return crossed(self.clear.top + self.clear.bottom, "high", self.panel.height);
        }
        Ok(())
    }
}

fn setting(key: &str, what: impl Into<String>, advice: impl Into<String>) -> Error {
    Error::setting(Place { element: Some(key.to_owned()), ..Place::default() }, what, advice)
}

/// The error with its key, so that it can be traced to a line or an option.
fn keyed(error: Error, key: &str) -> Error {
    error.placed(Place { element: Some(key.to_owned()), ..Place::default() })
}

fn length(given: &Length, key: &str, [least, most]: [f64; 2], unit: Unit) -> Result<Mm, Error> {
    let mm = given.of_key(key, unit)?;
    if mm.get() >= least && mm.get() <= most {
        return Ok(mm);
    }
    let (low, high) = (Mm::new(least), Mm::new(most));
    let shown = |limit: Mm| match unit {
        Unit::Inch if limit == Mm::ZERO => "0 in".to_owned(),
        // Fine enough not to be told as nothing.
        Unit::Inch if limit.inches() < 0.1 => format!("{:.4} in", limit.inches()),
        Unit::Inch => format!("{:.2} in", limit.inches()),
        Unit::Mm => format!("{} mm", (limit.get() * 100.0).round() / 100.0),
    };
    let what = if mm.get() < 0.0 {
        format!("{given} is less than nothing")
    } else if mm.get() == 0.0 {
        format!("{given} is no length")
    } else {
        // As written, and where that is the other unit, as the limits are.
        let also = if given.is_in(unit) { String::new() } else { format!(" ({})", shown(mm)) };
        format!("{given}{also} is {}", if mm.get() < least { "too small" } else { "too large" })
    };
    Err(setting(key, what, format!("it must be from {} to {}; check the unit", shown(low), shown(high))))
}

fn number(given: f64, key: &str, [least, most]: [f64; 2]) -> Result<f64, Error> {
    if given >= least && given <= most {
        return Ok(given);
    }
    Err(setting(key, format!("{given} is out of range"), format!("it must be from {least} to {most}")))
}

fn some(given: Option<&Length>, key: &str, range: [f64; 2], unit: Unit) -> Result<Option<Mm>, Error> {
    given.map(|given| length(given, key, range, unit)).transpose()
}

fn panel(shop: &Shop) -> Result<Panel, Error> {
    let unit = shop.units;
    Ok(Panel {
        width: length(&shop.panel.width, "panel.width", PANEL_SIDE, unit)?,
        height: length(&shop.panel.height, "panel.height", PANEL_SIDE, unit)?,
        thickness: length(&shop.panel.thickness, "panel.thickness", THICKNESS, unit)?,
        grain_deg: grain(&shop.panel.grain)?,
    })
}

/// Degrees anticlockwise from level, in `0.0..180.0`.
fn grain(angle: &Angle) -> Result<f64, Error> {
    let refuse = |text: &str| {
        let near = nearest(text, ["vertical", "horizontal"]);
        let advice = near.map_or_else(
            || "write vertical, horizontal, or degrees anticlockwise from level".to_owned(),
            |near| format!("did you mean `{near}`?"),
        );
        Err(setting("panel.grain", format!("`{text}` is not a direction of the grain"), advice))
    };
    let degrees = match angle {
        Angle::Degrees(degrees) => *degrees,
        Angle::Name(name) => match name.trim().to_lowercase().as_str() {
            "vertical" | "upright" => 90.0,
            "horizontal" | "level" => 0.0,
            text => match text.trim_end_matches(['°', ' ']).trim_end_matches("deg").trim().parse::<f64>() {
                Ok(degrees) => degrees,
                Err(_) => return refuse(name),
            },
        },
    };
    if !(degrees.is_finite() && degrees.abs() <= 360.0) {
        return refuse(&degrees.to_string());
    }
    let turned = degrees.rem_euclid(180.0);
    // A tiny negative angle rounds to 180 itself, which is 0 again.
    Ok(if turned >= 180.0 { 0.0 } else { turned })
}

fn own_clear(shop: &Shop) -> Result<EdgeClear, Error> {
    let clear = &shop.clear;
    let all = some(clear.all.as_ref(), "clear.all", DISTANCE, shop.units)?;
    let edge = |given: Option<&Length>, key: &str| Ok(some(given, key, DISTANCE, shop.units)?.or(all));
    Ok(EdgeClear {
        left: edge(clear.left.as_ref(), "clear.left")?,
        right: edge(clear.right.as_ref(), "clear.right")?,
        top: edge(clear.top.as_ref(), "clear.top")?,
        bottom: edge(clear.bottom.as_ref(), "clear.bottom")?,
    })
}

fn saw(shop: &Shop) -> Result<Saw, Error> {
    let given = shop.saw.blades.iter().enumerate();
    let mut drawer =
        given.map(|(i, entry)| blade(entry, &format!("saw.blades[{i}]"), shop.units)).collect::<Result<Vec<_>, _>>()?;
    let known = blades::find(&shop.saw.blade);
    let own = |blade: &&Blade| match &known {
        Ok(known) => blade.name == known.name,
        Err(_) => blade.name == shop.saw.blade.trim(),
    };
    let chosen = match drawer.iter().find(own) {
        Some(blade) => blade.clone(),
        None => known.map_err(|e| keyed(e, "saw.blade"))?,
    };
    if !drawer.contains(&chosen) {
        drawer.push(chosen.clone());
    }
    Ok(Saw {
        blade: chosen,
        drawer,
        end: shop.saw.end,
        throat: length(&shop.saw.throat, "saw.throat", THROAT, shop.units)?,
        line_tolerance: length(&shop.saw.line_tolerance, "saw.line_tolerance", TOLERANCE, shop.units)?,
    })
}

/// A blade of the drawer: built in, built in with own measures, or all its own.
fn blade(entry: &DrawerBlade, key: &str, unit: Unit) -> Result<Blade, Error> {
    let measure =
        |given: &Option<Length>, what: &str| some(given.as_ref(), &format!("{key}.{what}"), [0.0, THICKNESS[1]], unit);
    let own = Measured {
        width: measure(&entry.width, "width")?,
        thickness: measure(&entry.thickness, "thickness")?,
        kerf: measure(&entry.kerf, "kerf")?,
    };
    let made = match (blades::find(&entry.name), own) {
        (Ok(known), _) => known.measured(own),
        (Err(_), Measured { width: Some(width), thickness: Some(thickness), kerf: Some(kerf) }) => {
            Blade::own(entry.name.trim(), entry.kind.unwrap_or(BladeKind::Flat), width, thickness, kerf)
        }
        (Err(unknown), _) => Err(unknown),
    };
    made.map_err(|e| keyed(e, key))
}

fn drills(owned: &[String]) -> Result<Vec<Drill>, Error> {
    if owned.is_empty() {
        return Err(setting(
            "drills.owned",
            "no drill bit is listed",
            "entry holes need at least one, like \"1/16in\"",
        ));
    }
    let read = |(i, name): (usize, &String)| name.parse::<Drill>().map_err(|e| keyed(e, &format!("drills.owned[{i}]")));
    owned.iter().enumerate().map(read).collect()
}

fn print(shop: &Shop) -> Result<Print, Error> {
    let margin = length(&shop.printer.margin, "printer.margin", DISTANCE, shop.units)?;
    let paper = papers::find(&shop.paper.size, shop.units).map_err(|e| keyed(e, "paper.size"))?;
    let paper = paper.with_margin(margin).map_err(|e| keyed(e, "printer.margin"))?;
    let overlap = length(&shop.paper.overlap, "paper.overlap", DISTANCE, shop.units)?;
    let (width, height) = paper.printable();
    if overlap * 2.0 >= width.min(height) {
        let what = format!("an overlap of {overlap:.1} leaves nothing new on {} paper", paper.name);
        return Err(setting("paper.overlap", what, "make the overlap smaller, or the printer's margin"));
    }
    Ok(Print {
        paper,
        turn: shop.paper.turn,
        overlap,
        scale_x: number(shop.printer.scale_x, "printer.scale_x", CORRECTION)?,
        scale_y: number(shop.printer.scale_y, "printer.scale_y", CORRECTION)?,
    })
}

fn art(shop: &Shop) -> Result<ArtRules, Error> {
    Ok(ArtRules {
        cut: shop.art.cut,
        threshold: number(shop.art.threshold, "art.threshold", [0.0, 1.0])?,
        gap: length(&shop.art.gap, "art.gap", [0.0, 100.0], shop.units)?,
        keep_specks: shop.art.keep_specks,
        drop: shop.art.drop.clone(),
        keep: shop.art.keep.clone(),
    })
}

fn fit(shop: &Shop) -> Result<FitRules, Error> {
    let side = [1.0, PANEL_SIDE[1]];
    if !shop.fit.turn.is_finite() || shop.fit.turn.abs() > 360.0 {
        let what = format!("{} is not a turn", shop.fit.turn);
        return Err(setting("fit.turn", what, "write degrees anticlockwise, from -360 to 360"));
    }
    Ok(FitRules {
        align: align(&shop.fit.align)?,
        stretch: number(shop.fit.stretch, "fit.stretch", [0.0, 25.0])? / 100.0,
        width: some(shop.fit.width.as_ref(), "fit.width", side, shop.units)?,
        height: some(shop.fit.height.as_ref(), "fit.height", side, shop.units)?,
        true_size: shop.fit.true_size,
        scale: shop.fit.scale.map(|scale| number(scale, "fit.scale", SCALE)).transpose()?,
        middle_x: some(shop.fit.middle_x.as_ref(), "fit.middle_x", MIDDLE, shop.units)?,
        middle_y: some(shop.fit.middle_y.as_ref(), "fit.middle_y", MIDDLE, shop.units)?,
        turn_deg: shop.fit.turn,
        mirror: shop.fit.mirror,
    })
}

fn align(text: &str) -> Result<Align, Error> {
    let mut align = Align::default();
    for word in text.split(['-', ' ', ',']).filter(|word| !word.is_empty()) {
        let (value, place) = match word.to_lowercase().as_str() {
            "left" => (-1.0, &mut align.across),
            "right" => (1.0, &mut align.across),
            "bottom" => (-1.0, &mut align.up),
            "top" => (1.0, &mut align.up),
            "center" | "centre" | "middle" => continue,
            other => {
                let near = nearest(other, ["center", "centre", "middle", "left", "right", "top", "bottom"]);
                let advice = near
                    .map_or("write center, top, bottom, left, right or two joined, like top-left".into(), |n| {
                        format!("did you mean `{n}`?")
                    });
                return Err(setting("fit.align", format!("`{text}` is not a place in the window"), advice));
            }
        };
        if *place != 0.0 && *place != value {
            let advice = "name one side of each pair: left or right, top or bottom";
            return Err(setting("fit.align", format!("`{text}` pulls both ways"), advice));
        }
        *place = value;
    }
    Ok(align)
}

fn bridge(shop: &Shop) -> Result<Limit, Error> {
    let rules = &shop.bridge;
    // 200 N is a push with a person's weight behind it; then the wood is the least of the worries.
    let demand = Demand {
        push_n: number(rules.push, "bridge.push", [0.1, 200.0])?,
        factor: number(rules.factor, "bridge.factor", [1.0, 10.0])?,
        exponent: number(rules.exponent, "bridge.exponent", [1.5, 2.0])?,
    };
    let fixed = some(rules.limit.as_ref(), "bridge.limit", BRIDGE, shop.units)?;
    Ok(fixed.map_or(Limit::Derived(demand), Limit::Fixed))
}

fn times(shop: &Shop) -> Result<SawTimes, Error> {
    // Minutes: none takes longer than a day.
    let minutes = [0.0, 1440.0];
    Ok(SawTimes {
        feed: length(&shop.time.feed, "time.feed", FEED, shop.units)?,
        drill: number(shop.time.drill_hole, "time.drill_hole", minutes)?,
        thread: number(shop.time.thread_hole, "time.thread_hole", minutes)?,
        corner: number(shop.time.corner, "time.corner", minutes)?,
    })
}

/// The box asked for, on the shop's own panel where it names no other.
fn lantern(shop: &Shop) -> Option<BoxSettings> {
    let mut lantern = shop.lantern.clone()?;
    if lantern.width.is_none() && lantern.panel_width.is_none() {
        lantern.panel_width = Some(shop.panel.width.clone());
    }
    if lantern.height.is_none() && lantern.panel_height.is_none() {
        lantern.panel_height = Some(shop.panel.height.clone());
    }
    Some(lantern)
}

fn copies(copies: u32) -> Result<u32, Error> {
    if (1..=200).contains(&copies) {
        return Ok(copies);
    }
    Err(setting("out.copies", format!("{copies} copies cannot be printed"), "ask for 1 to 200 at a time"))
}
