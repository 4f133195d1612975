//! The box as asked for, all lengths in millimetres and checked one by one.

use serde::Serialize;

use crate::diag::{Error, Place};
use crate::settings::Length;
use crate::settings::boxes::{BoxSettings, Joint, LidKind, LidSettings, NailSettings};
use crate::units::{Mm, Unit};

/// The box as asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Design {
    /// Outside width of the walls.
    pub width: Mm,
    /// Outside depth of the walls.
    pub depth: Mm,
    /// Height of the walls.
    pub height: Mm,
    /// Thickness of the wall boards.
    pub thickness: Mm,
    /// How the walls meet.
    pub joint: Joint,
    /// Thickness of the base.
    pub base_thickness: Mm,
    /// How far the base stands out on every side.
    pub base_overhang: Mm,
    /// The lid.
    pub lid: Lid,
    /// Width across the light.
    pub light_width: Mm,
    /// Height of the light.
    pub light_height: Mm,
    /// Least wood under the face.
    pub least_below: Mm,
    /// Least wood at any other edge.
    pub least_beside: Mm,
    /// Wood between a cut-out and a nail or joint.
    pub nail_wood: Mm,
    /// The nails.
    pub nail: Nail,
}

/// The lid as asked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Lid {
    /// The kind of lid.
    pub kind: LidKind,
    /// Thickness of its board.
    pub thickness: Mm,
    /// How much longer and wider it is than the walls.
    pub play: Mm,
    /// Width of its strips.
    pub strip_width: Mm,
    /// Thickness of its strips.
    pub strip_thickness: Mm,
    /// Length of the stem, when there is one.
    pub stem_length: Option<Mm>,
    /// Diameter of the stem.
    pub stem_diameter: Mm,
}

/// The nails as asked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Nail {
    /// Length.
    pub length: Mm,
    /// Diameter.
    pub diameter: Mm,
    /// Whether holes are drilled first.
    pub predrilled: bool,
    /// Distance aimed at between nails.
    pub spacing: Mm,
    /// Least distance from a board's end.
    pub end: Mm,
    /// How far a nail may end up off its line.
    pub drift: Mm,
}

impl Design {
    /// The box asked for by the shop file.
    ///
    /// `stock` is the shop's panel thickness, used where the box states none;
    /// bare numbers count in `unit`.
    ///
    /// # Errors
    /// [`Error::Setting`] for a value that is no length, negative where it may
    /// not be, or given twice over.
    pub fn new(asked: &BoxSettings, nails: &NailSettings, stock: Mm, unit: Unit) -> Result<Self, Error> {
        let read = Reader::new(unit);
        let thickness = read.thickness("box.thickness", asked.thickness.as_ref(), stock)?;
        let (width, height) = outside_front(&read, asked, thickness)?;
        Ok(Self {
            width,
            depth: outside_depth(&read, asked, thickness)?,
            height,
            thickness,
            joint: asked.joint,
            base_thickness: read.thickness("box.base_thickness", asked.base_thickness.as_ref(), thickness)?,
            base_overhang: read.not_negative("box.base_overhang", &asked.base_overhang)?,
            lid: lid(&read, &asked.lid, thickness)?,
            light_width: read.not_negative("box.light.width", &asked.light.width)?,
            light_height: read.not_negative("box.light.height", &asked.light.height)?,
            least_below: read.not_negative("box.least_below", &asked.least_below)?,
            least_beside: read.not_negative("box.least_beside", &asked.least_beside)?,
            nail_wood: read.not_negative("box.nail_wood", &asked.nail_wood)?,
            nail: nail(&read, nails)?,
        })
    }

    /// Size of the front panel, width and height: the full front where front
    /// and back lap the sides, the width between the sides otherwise.
    #[must_use]
    pub fn panel(&self) -> (Mm, Mm) {
        match self.joint {
            Joint::FrontLapsSides => (self.width, self.height),
            Joint::SidesLapFront => (self.width - self.thickness * 2.0, self.height),
        }
    }

    /// Width of a side board.
    #[must_use]
    pub fn side_width(&self) -> Mm {
        match self.joint {
            Joint::FrontLapsSides => self.depth - self.thickness * 2.0,
            Joint::SidesLapFront => self.depth,
        }
    }

    /// Wood kept between a nail's line and a drawn cut-out: half the nail, its
    /// drift, the kerf, and the wood that stays. The window for the face and
    /// the places of the nails keep the same.
    #[must_use]
    pub fn nail_margin(&self, kerf: Mm) -> Mm {
        self.nail.diameter / 2.0 + self.nail.drift + kerf + self.nail_wood
    }

    /// How deep a nail through `head` reaches into the piece behind it.
    #[must_use]
    pub fn nail_reach(&self, head: Mm) -> Mm {
        self.nail.length - head
    }
}

/// Longest of any length of the box, as for panels: above, only a typing slip.
const LONGEST: Mm = Mm::new(3000.0);
/// Longest board or dowel as bought: boards are sold up to about 20 ft, twice
/// that is a slip (common practice, no source).
const LONGEST_BOUGHT: Mm = Mm::new(12_000.0);
/// Thickest stock, as for panels (common practice, no source).
const THICKEST: Mm = Mm::new(100.0);
/// Thinnest stock, as for panels: a thick veneer.
const THINNEST: Mm = Mm::new(0.5);
/// Thinnest and thickest nail: half of the finest pin in the gauge table, and
/// beyond any the shop drives (derived; 6 mm is common practice, no source).
const NAILS: [Mm; 2] = [Mm::new(0.3), Mm::new(6.0)];

/// Reads settings, naming the key when a value is wrong.
pub(crate) struct Reader {
    /// The shop's unit.
    unit: Unit,
    /// The longest length that is taken for true.
    most: Mm,
}

impl Reader {
    /// Reads lengths of the box.
    pub(crate) const fn new(unit: Unit) -> Self {
        Self { unit, most: LONGEST }
    }

    /// Reads lengths of what is bought by length.
    pub(crate) const fn of_bought(unit: Unit) -> Self {
        Self { unit, most: LONGEST_BOUGHT }
    }

    fn read(&self, key: &str, length: &Length) -> Result<Mm, Error> {
        let mm = length.of_key(key, self.unit)?;
        if mm <= self.most {
            return Ok(mm);
        }
        let advice = format!("it may be up to {}; check the unit", self.most.both(self.unit));
        Err(setting(key, format!("`{length}` is too large"), advice))
    }

    /// A length between two others.
    fn between(&self, key: &str, length: &Length, [least, most]: [Mm; 2]) -> Result<Mm, Error> {
        let mm = self.positive(key, length)?;
        if mm >= least && mm <= most {
            return Ok(mm);
        }
        let size = if mm < least { "small" } else { "large" };
        let advice = format!("it must be from {} to {}; check the unit", least.both(self.unit), most.both(self.unit));
        Err(setting(key, format!("`{length}` is too {size}"), advice))
    }

    /// The thickness of a board.
    pub(crate) fn thickness(&self, key: &str, length: Option<&Length>, otherwise: Mm) -> Result<Mm, Error> {
        length.map_or(Ok(otherwise), |l| self.between(key, l, [THINNEST, THICKEST]))
    }

    /// A length greater than zero.
    pub(crate) fn positive(&self, key: &str, length: &Length) -> Result<Mm, Error> {
        let mm = self.read(key, length)?;
        if mm > Mm::ZERO {
            Ok(mm)
        } else {
            Err(setting(key, format!("`{length}` is not more than zero"), "give a length greater than zero"))
        }
    }

    /// A length of zero or more.
    pub(crate) fn not_negative(&self, key: &str, length: &Length) -> Result<Mm, Error> {
        let mm = self.read(key, length)?;
        if mm >= Mm::ZERO {
            Ok(mm)
        } else {
            Err(setting(key, format!("`{length}` is less than zero"), "give zero or a length greater than zero"))
        }
    }

    fn optional(&self, key: &str, length: Option<&Length>) -> Result<Option<Mm>, Error> {
        length.map(|l| self.positive(key, l)).transpose()
    }
}

/// An [`Error::Setting`] that names its key.
pub(crate) fn setting(key: &str, what: impl Into<String>, advice: impl Into<String>) -> Error {
    Error::setting(Place { element: Some(key.to_owned()), ..Place::default() }, what, advice)
}

fn given_twice(one: &str, other: &str) -> Error {
    setting(one, format!("both `{one}` and `{other}` are given"), "give one of them; the other follows from the joint")
}

/// Common practice, no source: a 5-1/2 in board trimmed true.
const USUAL_WIDTH: Mm = Mm::from_inches(5.25);
/// Common practice, no source.
const USUAL_HEIGHT: Mm = Mm::from_inches(10.0);
/// Common practice, no source.
const USUAL_SIDE: Mm = Mm::from_inches(3.5);

fn outside_front(read: &Reader, asked: &BoxSettings, thickness: Mm) -> Result<(Mm, Mm), Error> {
    let width = read.optional("box.width", asked.width.as_ref())?;
    let height = read.optional("box.height", asked.height.as_ref())?;
    let panel_width = read.optional("box.panel_width", asked.panel_width.as_ref())?;
    let panel_height = read.optional("box.panel_height", asked.panel_height.as_ref())?;
    let between = match asked.joint {
        Joint::FrontLapsSides => Mm::ZERO,
        Joint::SidesLapFront => thickness * 2.0,
    };
    let width = match (width, panel_width) {
        (Some(_), Some(_)) => return Err(given_twice("box.width", "box.panel_width")),
        (Some(width), None) => width,
        (None, panel) => panel.unwrap_or(USUAL_WIDTH) + between,
    };
    let height = match (height, panel_height) {
        (Some(_), Some(_)) => return Err(given_twice("box.height", "box.panel_height")),
        (one, other) => one.or(other).unwrap_or(USUAL_HEIGHT),
    };
    Ok((width, height))
}

fn outside_depth(read: &Reader, asked: &BoxSettings, thickness: Mm) -> Result<Mm, Error> {
    let depth = read.optional("box.depth", asked.depth.as_ref())?;
    let side = read.optional("box.side_width", asked.side_width.as_ref())?;
    let lapped = match asked.joint {
        Joint::FrontLapsSides => thickness * 2.0,
        Joint::SidesLapFront => Mm::ZERO,
    };
    match (depth, side) {
        (Some(_), Some(_)) => Err(given_twice("box.depth", "box.side_width")),
        (Some(depth), None) => Ok(depth),
        (None, side) => Ok(side.unwrap_or(USUAL_SIDE) + lapped),
    }
}

fn lid(read: &Reader, asked: &LidSettings, thickness: Mm) -> Result<Lid, Error> {
    let stem = read.positive("box.lid.stem_length", &asked.stem_length)?;
    Ok(Lid {
        kind: asked.kind,
        thickness: read.thickness("box.lid.thickness", asked.thickness.as_ref(), thickness)?,
        play: read.not_negative("box.lid.play", &asked.play)?,
        strip_width: read.positive("box.lid.strip_width", &asked.strip_width)?,
        strip_thickness: read.thickness("box.lid.strip_thickness", asked.strip_thickness.as_ref(), thickness)?,
        stem_length: (asked.stem && asked.kind != LidKind::None).then_some(stem),
        stem_diameter: read.positive("box.lid.stem_diameter", &asked.stem_diameter)?,
    })
}

fn nail(read: &Reader, asked: &NailSettings) -> Result<Nail, Error> {
    let diameter = match &asked.diameter {
        Some(measured) => read.between("nails.diameter", measured, NAILS)?,
        None => gauge_diameter(asked.gauge)?,
    };
    Ok(Nail {
        length: read.positive("nails.length", &asked.length)?,
        diameter,
        predrilled: asked.predrilled,
        spacing: read.positive("nails.spacing", &asked.spacing)?,
        end: read.not_negative("nails.end", &asked.end)?,
        drift: read.not_negative("nails.drift", &asked.drift)?,
    })
}

/// Diameter by the US steel wire gauge. 18: seen on one trade page, the gauge
/// table from memory; 15, 16, 23 from memory, believed in the gauge table.
/// Trade pages disagree (some read 18 as American wire gauge, 1.02 mm).
fn gauge_diameter(gauge: u8) -> Result<Mm, Error> {
    let inches = match gauge {
        15 => 0.072,
        16 => 0.0625,
        18 => 0.0475,
        23 => 0.025,
        _ => {
            return Err(setting(
                "nails.gauge",
                format!("gauge {gauge} is not in the table"),
                "use 15, 16, 18 or 23, or give nails.diameter as measured",
            ));
        }
    };
    Ok(Mm::from_inches(inches))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain() -> Design {
        Design::new(&BoxSettings::default(), &NailSettings::default(), Mm::from_inches(0.625), Unit::Inch).unwrap()
    }

    #[test]
    fn the_usual_box_has_the_usual_panel() {
        let design = plain();
        assert_eq!(design.panel(), (USUAL_WIDTH, USUAL_HEIGHT), "front laps the sides");
        assert!((design.depth.inches() - 4.75).abs() < 1e-12, "3-1/2 in sides and two 5/8 in boards");
        assert!((design.nail.diameter.get() - 1.2065).abs() < 1e-9, "18 gauge");
    }

    #[test]
    fn a_panel_between_the_sides_widens_the_box() {
        let asked = BoxSettings { joint: Joint::SidesLapFront, ..BoxSettings::default() };
        let design = Design::new(&asked, &NailSettings::default(), Mm::new(16.0), Unit::Mm).unwrap();
        assert!((design.width - USUAL_WIDTH - Mm::new(32.0)).abs() < Mm::new(1e-9), "panel and two sides");
        assert_eq!(design.side_width(), USUAL_SIDE, "sides run the full depth");
    }

    #[test]
    fn wrong_values_name_their_key() {
        let cases = [
            (BoxSettings { width: Some(Length::text("five")), ..BoxSettings::default() }, "box.width"),
            (BoxSettings { base_overhang: Length::Number(-1.0), ..BoxSettings::default() }, "box.base_overhang"),
            (
                BoxSettings {
                    depth: Some(Length::Number(4.0)),
                    side_width: Some(Length::Number(3.0)),
                    ..BoxSettings::default()
                },
                "box.depth",
            ),
        ];
        for (asked, key) in cases {
            let error = Design::new(&asked, &NailSettings::default(), Mm::new(15.9), Unit::Inch).expect_err(key);
            assert!(error.to_string().contains(key), "{error}");
        }
    }
}
