//! Every part of the box with its finished size.

use serde::Serialize;

use super::design::Design;
use crate::diag::{Error, Finding, FindingKind, Noted, Severity};
use crate::settings::boxes::{Joint, LidKind};
use crate::units::{Mm, Unit};

/// What a part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// The panel that carries the face.
    Front,
    /// The back wall.
    Back,
    /// A side wall.
    Side,
    /// The base under the walls.
    Base,
    /// The lid's board.
    LidBoard,
    /// A strip over the lid's front or back edge; runs past the side strips.
    LongStrip,
    /// A strip over one of the lid's side edges, between the front and back strips.
    ShortStrip,
    /// The stem, cut from dowel.
    Stem,
}

impl PartKind {
    /// The name on drawings and lists.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
            Self::Side => "side",
            Self::Base => "base",
            Self::LidBoard => "lid board",
            Self::LongStrip => "front/back lid strip",
            Self::ShortStrip => "side lid strip",
            Self::Stem => "stem",
        }
    }

    /// One letter for crowded drawings.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Front => 'F',
            Self::Back => 'B',
            Self::Side => 'S',
            Self::Base => 'G',
            Self::LidBoard => 'L',
            Self::LongStrip => 'P',
            Self::ShortStrip => 'Q',
            Self::Stem => 'K',
        }
    }
}

/// One kind of part, finished size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Part {
    /// What it is.
    pub kind: PartKind,
    /// How many one box has.
    pub count: u32,
    /// Length along the grain.
    pub length: Mm,
    /// Width across the grain (the diameter of a stem).
    pub width: Mm,
    /// Thickness (the diameter of a stem).
    pub thickness: Mm,
}

/// All parts of one box.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Parts {
    /// The parts, walls first.
    pub list: Vec<Part>,
    /// Width of the room inside.
    pub inside_width: Mm,
    /// Depth of the room inside.
    pub inside_depth: Mm,
    /// Height from the base's underside to the top of the lid (stem included).
    pub overall_height: Mm,
    /// Sums that show that the parts make up the box.
    pub sums: Vec<Closure>,
}

/// A sum of finished sizes that must equal a size of the box.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Closure {
    /// Which size it makes up.
    pub what: &'static str,
    /// The terms, in order.
    pub terms: Vec<(&'static str, Mm)>,
    /// The size it has to make up.
    pub whole: Mm,
}

impl Closure {
    /// By how much the sum misses the size.
    #[must_use]
    pub fn gap(&self) -> Mm {
        self.terms.iter().map(|(_, mm)| *mm).sum::<Mm>() - self.whole
    }
}

impl Parts {
    /// The first part of a kind.
    #[must_use]
    pub fn find(&self, kind: PartKind) -> Option<&Part> {
        self.list.iter().find(|part| part.kind == kind)
    }
}

/// Works out every part's finished size.
///
/// # Errors
/// [`Error::Sizes`] for a box that cannot be built: sides thicker than the
/// depth or width allows, a nail longer than both pieces it joins or too short
/// to reach the second, strips that do not reach below the lid.
pub fn derive(design: &Design, unit: Unit) -> Result<Noted<Parts>, Error> {
    refuse_impossible(design, unit)?;
    let list = list(design);
    let thick = design.thickness * 2.0;
    let (inside_width, inside_depth) = (design.width - thick, design.depth - thick);
    let sums = sums(design, &list, inside_width, inside_depth);
    let lid_height = if design.lid.kind == LidKind::None { Mm::ZERO } else { design.lid.thickness };
    let stem = design.lid.stem_length.unwrap_or(Mm::ZERO);
    let overall_height = design.base_thickness + design.height + lid_height + stem;
    let mut findings = light_findings(design, inside_width.min(inside_depth), unit);
    findings.extend(tight_lid(design, unit));
    Ok(Noted { value: Parts { list, inside_width, inside_depth, overall_height, sums }, findings })
}

fn list(design: &Design) -> Vec<Part> {
    let (panel_width, height) = design.panel();
    let wall = |kind, count, width| Part { kind, count, length: height, width, thickness: design.thickness };
    let mut list = vec![
        wall(PartKind::Front, 1, panel_width),
        wall(PartKind::Back, 1, panel_width),
        wall(PartKind::Side, 2, design.side_width()),
    ];
    let out = design.base_overhang * 2.0;
    list.push(flat(PartKind::Base, design.width + out, design.depth + out, design.base_thickness));
    let lid = &design.lid;
    if lid.kind != LidKind::None {
        list.push(flat(PartKind::LidBoard, design.width + lid.play, design.depth + lid.play, lid.thickness));
    }
    if lid.kind == LidKind::LiftOff {
        let strip =
            |kind, length| Part { kind, count: 2, length, width: lid.strip_width, thickness: lid.strip_thickness };
        list.push(strip(PartKind::LongStrip, design.width + lid.play + lid.strip_thickness * 2.0));
        list.push(strip(PartKind::ShortStrip, design.depth + lid.play));
    }
    if let Some(length) = lid.stem_length {
        let across = lid.stem_diameter;
        list.push(Part { kind: PartKind::Stem, count: 1, length, width: across, thickness: across });
    }
    list
}

/// A flat part whose grain runs along its longer side (common practice, no
/// source: the long grain carries, and less of it moves with the weather).
fn flat(kind: PartKind, across: Mm, deep: Mm, thickness: Mm) -> Part {
    Part { kind, count: 1, length: across.max(deep), width: across.min(deep), thickness }
}

fn refuse_impossible(design: &Design, unit: Unit) -> Result<(), Error> {
    let room = |what: &str, outside: Mm| {
        if outside - design.thickness * 2.0 > Mm::ZERO {
            return Ok(());
        }
        let (boards, have) = (design.thickness * 2.0, outside);
        let text = format!(
            "two walls of {} need {}, but the box is only {} {what}",
            design.thickness.fine(unit),
            boards.both(unit),
            have.both(unit)
        );
        Err(Error::sizes(text, "make the box larger or take thinner boards"))
    };
    room("wide", design.width)?;
    room("deep", design.depth)?;
    let lid = &design.lid;
    if lid.kind == LidKind::LiftOff && lid.strip_width <= lid.thickness {
        let text = format!(
            "lid strips {} wide do not reach below a lid {} thick",
            lid.strip_width.both(unit),
            lid.thickness.fine(unit)
        );
        return Err(Error::sizes(text, "make box.lid.strip_width wider than the lid is thick"));
    }
    for joint in nailed(design) {
        refuse_nail(design, &joint, unit)?;
    }
    Ok(())
}

/// Two pieces and how thick each is along the nail.
struct Nailed {
    name: &'static str,
    head: Mm,
    point: Mm,
}

fn nailed(design: &Design) -> Vec<Nailed> {
    let behind = match design.joint {
        Joint::FrontLapsSides => design.side_width(),
        Joint::SidesLapFront => design.panel().0,
    };
    let mut joints = vec![
        Nailed { name: "the wall corners", head: design.thickness, point: behind },
        Nailed { name: "the base", head: design.base_thickness, point: design.height },
    ];
    if design.lid.kind == LidKind::LiftOff {
        let point = design.width.min(design.depth) + design.lid.play;
        joints.push(Nailed { name: "the lid strips", head: design.lid.strip_thickness, point });
    }
    joints
}

fn refuse_nail(design: &Design, joint: &Nailed, unit: Unit) -> Result<(), Error> {
    let length = design.nail.length;
    let (name, head) = (joint.name, joint.head.both(unit));
    let refuse = |what: String, advice: &str| Err(Error::Sizes { what, advice: advice.into(), measured: Some(length) });
    if length <= joint.head {
        let what = format!("a {} nail does not come through the {head} piece at {name}", length.both(unit));
        return refuse(what, "take a longer nail: about twice the thickness it goes through");
    }
    if length > joint.head + joint.point {
        let both = (joint.head + joint.point).both(unit);
        let what = format!("a {} nail is longer than both pieces at {name} together ({both})", length.both(unit));
        return refuse(what, "take a shorter nail: about twice the thickness it goes through");
    }
    Ok(())
}

fn sums(design: &Design, list: &[Part], inside_width: Mm, inside_depth: Mm) -> Vec<Closure> {
    let size = |kind| list.iter().find(|p| p.kind == kind);
    let part = |kind, f: fn(&Part) -> Mm| size(kind).map_or(Mm::ZERO, f);
    let (side_t, front_t, back_t) = (
        part(PartKind::Side, |p| p.thickness),
        part(PartKind::Front, |p| p.thickness),
        part(PartKind::Back, |p| p.thickness),
    );
    let (front, side) = (part(PartKind::Front, |p| p.width), part(PartKind::Side, |p| p.width));
    let mut sums = match design.joint {
        Joint::FrontLapsSides => vec![
            sum("outside width", [("front", front)], design.width),
            sum("outside depth", [("front", front_t), ("side", side), ("back", back_t)], design.depth),
        ],
        Joint::SidesLapFront => vec![
            sum("outside width", [("side", side_t), ("front", front), ("side", side_t)], design.width),
            sum("outside depth", [("side", side)], design.depth),
        ],
    };
    sums.push(sum(
        "width across the room",
        [("side", side_t), ("inside", inside_width), ("side", side_t)],
        design.width,
    ));
    sums.push(sum(
        "depth across the room",
        [("front", front_t), ("inside", inside_depth), ("back", back_t)],
        design.depth,
    ));
    sums.push(sum("wall height", [("front", part(PartKind::Front, |p| p.length))], design.height));
    sums.extend(base_and_lid_sums(design, &part));
    sums
}

fn base_and_lid_sums(design: &Design, part: &dyn Fn(PartKind, fn(&Part) -> Mm) -> Mm) -> Vec<Closure> {
    let out = design.base_overhang;
    let (long, short) = (design.width.max(design.depth), design.width.min(design.depth));
    let mut sums = vec![
        sum("base length", [("overhang", out), ("box", long), ("overhang", out)], part(PartKind::Base, |p| p.length)),
        sum("base width", [("overhang", out), ("box", short), ("overhang", out)], part(PartKind::Base, |p| p.width)),
    ];
    if design.lid.kind == LidKind::LiftOff {
        let strip = part(PartKind::LongStrip, |p| p.thickness);
        let across = design.width + design.lid.play;
        sums.push(sum(
            PartKind::LongStrip.name(),
            [("strip", strip), ("lid", across), ("strip", strip)],
            part(PartKind::LongStrip, |p| p.length),
        ));
    }
    sums
}

fn sum<const N: usize>(what: &'static str, terms: [(&'static str, Mm); N], whole: Mm) -> Closure {
    Closure { what, terms: terms.to_vec(), whole }
}

/// Least play of a lid whose strips slide over the walls: a sheet of thin card
/// all round (common practice, no source).
const LEAST_PLAY: Mm = Mm::from_inches(1.0 / 32.0);

fn tight_lid(design: &Design, unit: Unit) -> Option<Finding> {
    let play = design.lid.play;
    (design.lid.kind == LidKind::LiftOff && play < LEAST_PLAY).then(|| {
        let size = match play > Mm::ZERO {
            true => format!("only {} longer and wider than", play.short_of(LEAST_PLAY, unit).0),
            false => "no longer and wider than".to_owned(),
        };
        let text = format!("the lid is {size} the walls: its strips will jam on them");
        let advice = format!("give it {} of play or more (box.lid.play)", LEAST_PLAY.fine(unit));
        Finding::new("lid-play", FindingKind::Plan, Severity::Care, text, advice).measured(play.get(), LEAST_PLAY.get())
    })
}

/// Differences smaller than a report can state are none.
const NO_LENGTH: Mm = Mm::new(crate::geom::tolerance::REPORT);

fn light_findings(design: &Design, inside: Mm, unit: Unit) -> Vec<Finding> {
    let tight = |id: &str, what: &str, light: Mm, room: Mm| {
        let told = |light: String, room: String| format!("the light is {light} {what}, the room inside {room}");
        let (severity, text) = match room - light {
            _ if light <= Mm::ZERO => return None,
            play if play < -NO_LENGTH => {
                let (room, light) = room.short_of(light, unit);
                (Severity::Stop, told(light, format!("only {room}")))
            }
            play if play < NO_LENGTH => {
                (Severity::Care, told(light.both(unit), "as much and no more: it may jam".to_owned()))
            }
            _ => return None,
        };
        let advice = "take a smaller light or a larger box";
        Some(Finding::new(id, FindingKind::Plan, severity, text, advice).measured(light.get(), room.get()))
    };
    [
        tight("light-width", "wide", design.light_width, inside),
        tight("light-height", "high", design.light_height, design.height),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests;
