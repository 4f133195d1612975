//! Short cautions for the bench sheet and the job sheet.
//!
//! Reminders only. They never replace a tool's manual, local codes or advice
//! from someone qualified, and say so ([`DEFER`]).

use serde::Serialize;

use super::Table;
use super::woods::Wood;

/// Stands under every list of cautions.
pub const DEFER: &str = "Reminders, not instructions: your tool's manual, local codes and qualified advice come first.";

/// What a caution is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Topic {
    /// The scroll saw.
    ScrollSaw,
    /// The drill.
    Drill,
    /// Wood dust of any kind.
    Dust,
    /// Dust of cedar.
    CedarDust,
    /// Ripping and crosscutting boards.
    BoardSaw,
    /// The brad nailer.
    Nailer,
    /// Charring with a torch.
    Torch,
    /// Rags with oil or stain.
    Rags,
    /// Cyanoacrylate (instant) glue.
    InstantGlue,
    /// The light in the lantern.
    Lights,
}

impl Topic {
    /// The word shown to people.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::ScrollSaw => "scroll saw",
            Self::Drill => "drill",
            Self::Dust => "dust",
            Self::CedarDust => "cedar dust",
            Self::BoardSaw => "board saw",
            Self::Nailer => "brad nailer",
            Self::Torch => "torch",
            Self::Rags => "oily rags",
            Self::InstantGlue => "instant glue",
            Self::Lights => "lights",
        }
    }
}

/// One caution, one printed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// What it is about.
    pub topic: Topic,
    /// The line to print.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice, no source";
const NAIL_GUN: &str = "NIOSH/OSHA, Nail Gun Safety (published); 12 in from memory";

#[rustfmt::skip]
const ALL: [Caution; 14] = [
    Caution { topic: Topic::ScrollSaw, source: PRACTICE,
        text: "Set the hold-down just clear of the work; fingers beside the blade, never in front; eye protection on." },
    Caution { topic: Topic::ScrollSaw, source: "a cabinet-making textbook (published); common practice",
        text: "Switch off and unplug before threading, freeing or changing a blade." },
    Caution { topic: Topic::Drill, source: PRACTICE,
        text: "Clamp small work on a backing board; no gloves or loose sleeves; chuck key out before starting." },
    Caution { topic: Topic::Dust, source: "OSHA wood-dust page: NIOSH limit 1 mg/m³, known human carcinogen (published)",
        text: "Wood dust harms nose and lungs and can burn: draw it off at the tool and wear a fitted dust mask." },
    Caution { topic: Topic::CedarDust, source: "OSHA wood-dust page: ACGIH limit (2007) for western redcedar 0.5 mg/m³, asthma (published)",
        text: "Cedar dust can bring on asthma: draw it off, wear a fitted mask, stop and see a doctor if your chest reacts." },
    Caution { topic: Topic::BoardSaw, source: "29 CFR 1910.213, from memory; common practice",
        text: "Guard and riving knife on; push stick for narrow rips; never freehand; wait for the blade to stop." },
    Caution { topic: Topic::Nailer, source: NAIL_GUN,
        text: "Full sequential trigger; free hand 12 in away: brads follow the grain and turn out through thin sides." },
    Caution { topic: Topic::Nailer, source: "NIOSH/OSHA, Nail Gun Safety (published)",
        text: "Take off the air hose or battery before clearing a jam or loading." },
    Caution { topic: Topic::Torch, source: "29 CFR 1910.252(a)(2)(iii), (vii) for 35 ft (published); the rest common practice",
        text: "Char outdoors, 35 ft from anything that burns, dust brushed off, water and extinguisher at hand." },
    Caution { topic: Topic::Torch, source: "fire watch 60 min NFPA 51B (2019), 30 min OSHA, from memory; the rest common practice",
        text: "Watch the wood for an hour after; char before glue and finish; never char treated or painted wood." },
    Caution { topic: Topic::Rags, source: "a university workshop's page citing NFPA (published)",
        text: "Oily rags can catch fire by themselves: dry them singly outdoors or drown them in a lidded metal can." },
    Caution { topic: Topic::InstantGlue, source: "makers' safety sheets; ACGIH limit 0.2 ppm; from memory",
        text: "Instant glue bonds skin, its vapour stings, and it gets hot on cotton or wool: fresh air, no rags." },
    Caution { topic: Topic::Lights, source: "US Fire Administration and NFPA on candles (published)",
        text: "Battery lights only: a flame needs 12 in from anything that burns, which no wooden box gives." },
    Caution { topic: Topic::Lights, source: "16 CFR 1263, from memory",
        text: "Coin cells and small batteries: behind a screwed door, out of reach of small children." },
];

/// Every caution, in the order the work is done.
#[must_use]
pub fn all() -> &'static [Caution] {
    &ALL
}

/// The cautions on `topics`, in the order the work is done.
#[must_use]
pub fn on(topics: &[Topic]) -> Vec<Caution> {
    all().iter().filter(|caution| topics.contains(&caution.topic)).copied().collect()
}

/// What belongs on the sheet beside the saw for this wood: saw, drill and its dust.
#[must_use]
pub fn at_the_saw(wood: &Wood) -> Vec<Caution> {
    on(&[Topic::ScrollSaw, Topic::Drill, dust_of(wood)])
}

/// What belongs on a whole batch's job sheet for this wood.
#[must_use]
pub fn for_the_job(wood: &Wood) -> Vec<Caution> {
    let other_dust = if wood.is_cedar() { Topic::Dust } else { Topic::CedarDust };
    all().iter().filter(|caution| caution.topic != other_dust).copied().collect()
}

fn dust_of(wood: &Wood) -> Topic {
    if wood.is_cedar() { Topic::CedarDust } else { Topic::Dust }
}

/// The cautions as a table, with their sources.
#[must_use]
pub fn rows() -> Table {
    let mut table = Table::new("Cautions", &["about", "caution", "source"]);
    for caution in all() {
        let mark = table.cite(caution.source);
        table.rows.push(vec![caution.topic.word().to_owned(), caution.text.to_owned(), mark]);
    }
    table.notes.push(DEFER.to_owned());
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::woods::find;

    #[test]
    fn every_caution_is_one_sourced_line() {
        for caution in all() {
            // A line of 8 pt type across Letter paper holds about 120 characters.
            assert!(caution.text.chars().count() <= 115, "too long to print: {}", caution.text);
            assert!(!caution.text.contains('\n') && caution.text.ends_with('.'), "{}", caution.text);
            assert!(!caution.source.is_empty(), "{}", caution.text);
        }
    }

    #[test]
    fn the_wood_decides_which_dust_is_named() {
        let topics = |slug| at_the_saw(find(slug).unwrap()).iter().map(|c| c.topic).collect::<Vec<_>>();
        assert!(topics("western-redcedar").contains(&Topic::CedarDust), "cedar");
        let pine = topics("eastern-white-pine");
        assert!(pine.contains(&Topic::Dust) && !pine.contains(&Topic::CedarDust), "pine");
        assert!(pine.contains(&Topic::ScrollSaw) && pine.contains(&Topic::Drill), "the tools");
    }

    #[test]
    fn a_job_sheet_covers_everything_that_can_hurt() {
        let job = for_the_job(find("western-redcedar").unwrap());
        for topic in [Topic::ScrollSaw, Topic::Nailer, Topic::Torch, Topic::CedarDust, Topic::Rags, Topic::Lights] {
            assert!(job.iter().any(|caution| caution.topic == topic), "{topic:?}");
        }
    }

    #[test]
    fn lines_keep_to_letters_every_pdf_font_has() {
        // The printed text is WinAnsi (ISO 8859-1 and a little more).
        assert!(all().iter().all(|c| c.text.chars().all(|ch| u32::from(ch) < 0x100)), "no exotic letters");
    }
}
