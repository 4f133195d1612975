//! The work of a batch: operations with their times, and learning.

use serde::Serialize;

use super::boards::{BoardPlan, CutRow};
use super::design::{Reader, setting};
use super::face::FaceFacts;
use super::hardware::number;
use crate::diag::Error;
use crate::settings::batch::{BatchSettings, TimeSettings};
use crate::units::{Mm, Unit};

/// How panels are stacked for sawing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stacking {
    /// Most panels in a stack.
    pub most: u32,
    /// Thickest stack.
    pub height: Mm,
}

impl Stacking {
    /// The stacking of the shop file.
    ///
    /// # Errors
    /// [`Error::Setting`] naming the key whose value is wrong.
    pub fn new(asked: &BatchSettings, unit: Unit) -> Result<Self, Error> {
        if asked.stack == 0 {
            return Err(setting("batch.stack", "0 panels cannot be sawn", "give 1 to saw panels one by one"));
        }
        Ok(Self { most: asked.stack, height: Reader::new(unit).positive("batch.stack_height", &asked.stack_height)? })
    }

    /// Panels of this thickness in a full stack, at least one.
    #[must_use]
    pub fn panels(&self, thickness: Mm) -> u32 {
        ((self.height / thickness + 1e-9).floor() as u32).clamp(1, self.most)
    }
}

/// One operation of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Operation {
    /// What is done.
    pub name: &'static str,
    /// How often; at the saw, how many millimetres of line (see [`Operation::unit`]).
    pub times: f64,
    /// Minutes for all of it, before learning.
    pub minutes: f64,
    /// Whether it gets quicker with practice; sawing to a line does not.
    pub learns: bool,
}

impl Operation {
    /// What [`Operation::times`] counts.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        if self.name == SAWING { "mm" } else { "times" }
    }
}

/// The work of a batch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Work {
    /// The operations, in the order they are done.
    pub operations: Vec<Operation>,
    /// What learning leaves of the minutes that learn: n^b.
    pub learned: f64,
}

impl Work {
    /// Minutes of an operation after learning.
    #[must_use]
    pub fn minutes(&self, operation: &Operation) -> f64 {
        operation.minutes * if operation.learns { self.learned } else { 1.0 }
    }

    /// Minutes in all.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.operations.iter().map(|o| self.minutes(o)).sum()
    }

    /// Minutes at the scroll saw, for blade wear.
    #[must_use]
    pub fn sawing(&self) -> f64 {
        let saws = self.operations.iter().filter(|o| matches!(o.name, SAWING | CORNERS));
        saws.map(|o| self.minutes(o)).sum()
    }
}

const SAWING: &str = "saw the faces";
const CORNERS: &str = "turn sharp corners";

/// Share of the first box's time that n boxes take on average: n^b with b the
/// binary logarithm of `rate` (T. P. Wright, Factors affecting the cost of
/// airplanes, Journal of the Aeronautical Sciences 3, 1936, 122-128: the
/// cumulative average falls to `rate` with each doubling).
#[must_use]
pub fn wright(boxes: u32, rate: f64) -> f64 {
    libm::pow(f64::from(boxes.max(1)), libm::log2(rate))
}

/// What the work is counted from.
#[derive(Clone, Debug)]
pub struct Counts<'a> {
    /// Boxes in all.
    pub boxes: u32,
    /// Which face on how many boxes.
    pub faces: &'a [(FaceFacts, u32)],
    /// The boards.
    pub boards: &'a BoardPlan,
    /// What share of the work at those boards is counted: 1, or 0 where boards
    /// are reckoned by their area.
    pub board_share: f64,
    /// Parts in one box, cut from boards or dowel.
    pub parts: u32,
    /// Brads in one box.
    pub brads: u32,
    /// Whether the box has a lid.
    pub lid: bool,
    /// Coats of finish.
    pub coats: u32,
    /// Thickness of the panel.
    pub thickness: Mm,
    /// How panels are stacked.
    pub stacking: Stacking,
}

impl Counts<'_> {
    /// For each face, how many stacks of how many panels.
    fn stacks(&self) -> Vec<(&FaceFacts, Vec<u32>)> {
        let full = self.stacking.panels(self.thickness);
        let split = |n: u32| {
            let mut stacks = vec![full; (n / full) as usize];
            stacks.extend((!n.is_multiple_of(full)).then_some(n % full));
            stacks
        };
        self.faces.iter().map(|(face, n)| (face, split(*n))).collect()
    }

    /// Templates used: one for each stack.
    #[must_use]
    pub fn templates(&self) -> u32 {
        self.stacks().iter().map(|(_, stacks)| stacks.len() as u32).sum()
    }
}

/// Most minutes one operation takes: a day, as at the scroll saw.
const MOST_MINUTES: f64 = 1440.0;

/// Checks the times of the shop file.
///
/// # Errors
/// [`Error::Setting`] naming the key whose value is wrong.
pub fn check_times(times: &TimeSettings) -> Result<(), Error> {
    let minutes = [
        ("time.setup_batch", times.setup_batch),
        ("time.setup_face", times.setup_face),
        ("time.board", times.board),
        ("time.crosscut", times.crosscut),
        ("time.rip", times.rip),
        ("time.true_edge", times.true_edge),
        ("time.glue_part", times.glue_part),
        ("time.sand_part", times.sand_part),
        ("time.template", times.template),
        ("time.drill_hole", times.drill_hole),
        ("time.thread_hole", times.thread_hole),
        ("time.corner", times.corner),
        ("time.nail", times.nail),
        ("time.glue_box", times.glue_box),
        ("time.lid_box", times.lid_box),
        ("time.coat_box", times.coat_box),
        ("time.pack_box", times.pack_box),
    ];
    for (key, value) in minutes {
        number(key, value, [0.0, MOST_MINUTES])?;
    }
    if times.learning > 0.5 && times.learning <= 1.0 {
        return Ok(());
    }
    let text = format!("{} is not a learning rate", times.learning);
    Err(setting("time.learning", text, "give a share over 0.5 and up to 1; 1 is no learning"))
}

/// The work of a batch. `feed` gives the length sawn in a minute through wood
/// of a thickness (that of the whole stack).
#[must_use]
pub fn work(counts: &Counts<'_>, times: &TimeSettings, feed: &dyn Fn(Mm) -> Mm) -> Work {
    let boxes = f64::from(counts.boxes);
    let mut operations = vec![
        op("set up and clear away", 1.0, times.setup_batch, false),
        op("set up each face", counts.faces.len() as f64, times.setup_face, false),
    ];
    operations.extend(board_work(counts, times));
    operations.extend(face_work(counts, times, feed));
    operations.push(op("drive brads", f64::from(counts.brads) * boxes, times.nail, true));
    operations.push(op("glue and clamp", boxes, times.glue_box, true));
    operations.push(op("fit the lid", if counts.lid { boxes } else { 0.0 }, times.lid_box, true));
    operations.push(op("stain or oil", f64::from(counts.coats) * boxes, times.coat_box, true));
    operations.push(op("fit the light, check, pack", boxes, times.pack_box, true));
    operations.retain(|o| o.times > 0.0);
    Work { operations, learned: wright(counts.boxes, times.learning) }
}

const fn op(name: &'static str, times: f64, each: f64, learns: bool) -> Operation {
    Operation { name, times, minutes: times * each, learns }
}

/// A part glued up is trued at every joint, clamped, and ripped to its width.
fn board_work(counts: &Counts<'_>, times: &TimeSettings) -> [Operation; 7] {
    let layouts = || counts.boards.layouts.iter();
    let share = counts.board_share;
    let total = |of: fn(&super::boards::BoardLayout) -> u32| -> f64 {
        share * layouts().map(|l| f64::from(of(l)) * f64::from(l.copies)).sum::<f64>()
    };
    let of_rows = |of: fn(&CutRow) -> u32| -> f64 {
        share * counts.boards.cut_list.iter().map(|row| f64::from(of(row))).sum::<f64>()
    };
    [
        op("lay out boards", share * f64::from(counts.boards.boards()), times.board, true),
        op("crosscut", total(|l| l.crosscuts), times.crosscut, true),
        op("rip", total(|l| l.rips), times.rip, true),
        op("true edges to glue up", 2.0 * of_rows(CutRow::glue_lines), times.true_edge, true),
        op("glue up wide parts", of_rows(CutRow::glued_parts), times.glue_part, true),
        op("rip them to width", of_rows(CutRow::glued_parts), times.rip, true),
        op("sand parts", f64::from(counts.parts * counts.boxes), times.sand_part, true),
    ]
}

fn face_work(counts: &Counts<'_>, times: &TimeSettings, feed: &dyn Fn(Mm) -> Mm) -> [Operation; 5] {
    let stacks = counts.stacks();
    let of_stacks = |of: fn(&FaceFacts) -> u32| -> f64 {
        stacks.iter().map(|(face, stacks)| f64::from(of(face)) * stacks.len() as f64).sum()
    };
    let (mut length, mut sawing) = (0.0, 0.0);
    for (face, stacks) in &stacks {
        for &panels in stacks {
            let thickness = counts.thickness * f64::from(panels);
            length += face.cut_length_mm;
            sawing += face.cut_length_mm / feed(thickness).get().max(1.0);
        }
    }
    [
        op("stick on templates", f64::from(counts.templates()), times.template, true),
        op("drill entry holes", of_stacks(|f| f.holes), times.drill_hole, true),
        op("thread the blade", of_stacks(|f| f.holes), times.thread_hole, true),
        Operation { name: SAWING, times: length, minutes: sawing, learns: false },
        op(CORNERS, of_stacks(|f| f.corners), times.corner, false),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Cents;

    fn no_boards() -> BoardPlan {
        BoardPlan {
            cut_list: Vec::new(),
            layouts: Vec::new(),
            buy: Vec::new(),
            cost: Cents(0),
            bound: Cents(0),
            spare_cost: Cents(0),
            board_area: 0.0,
            piece_area: 0.0,
        }
    }

    #[test]
    fn learning_follows_wright() {
        assert!((wright(1, 0.9) - 1.0).abs() < 1e-12, "the first box");
        assert!((wright(2, 0.9) - 0.9).abs() < 1e-12, "one doubling");
        assert!((wright(8, 0.8) - 0.512).abs() < 1e-12, "three doublings");
        // The published exponents: 80 % is -0.322, 90 % is -0.152.
        assert!((wright(10, 0.8) - libm::pow(10.0, -0.322)).abs() < 1e-3, "80 %");
        assert!((wright(10, 0.9) - libm::pow(10.0, -0.152)).abs() < 1e-3, "90 %");
        assert!((wright(1000, 1.0) - 1.0).abs() < 1e-12, "no learning");
    }

    #[test]
    fn stacks_share_templates_and_holes_but_saw_slower() {
        let face = FaceFacts { cut_length_mm: 1000.0, holes: 10, corners: 20, ..FaceFacts::default() };
        let faces = [(face, 5)];
        let boards = no_boards();
        let stacking = Stacking { most: 3, height: Mm::new(25.0) };
        let counts = Counts {
            boxes: 5,
            faces: &faces,
            boards: &boards,
            board_share: 1.0,
            parts: 10,
            brads: 30,
            lid: true,
            coats: 1,
            thickness: Mm::new(12.0),
            stacking,
        };
        assert_eq!(stacking.panels(Mm::new(12.0)), 2, "two fit under 25 mm");
        assert_eq!(stacking.panels(Mm::new(30.0)), 1, "never less than one");
        assert_eq!(counts.templates(), 3, "2 + 2 + 1");
        // Feed falls with thickness: 1200/12 = 100 mm a minute for one panel.
        let work = work(&counts, &TimeSettings::default(), &|t| Mm::new(1200.0 / t.get()));
        let find = |name: &str| work.operations.iter().find(|o| o.name == name).unwrap();
        assert!((find(SAWING).minutes - (20.0 + 20.0 + 10.0)).abs() < 1e-9, "as long as one by one");
        assert!(!find(SAWING).learns && find("drive brads").learns, "only handling learns");
        assert_eq!(find("thread the blade").times, 30.0, "three stacks of ten holes");
        let sum: f64 = work.operations.iter().map(|o| work.minutes(o)).sum();
        assert!((sum - work.total()).abs() < 1e-9, "the total is the sum");
        assert!((work.sawing() - (50.0 + 3.0 * 20.0 * 0.15)).abs() < 1e-9, "sawing and corners wear blades");
    }

    #[test]
    fn nonsense_times_are_refused_by_key() {
        let bad = TimeSettings { rip: f64::NAN, ..TimeSettings::default() };
        assert!(check_times(&bad).unwrap_err().to_string().contains("time.rip"), "not a number");
        let bad = TimeSettings { learning: 0.0, ..TimeSettings::default() };
        assert!(check_times(&bad).unwrap_err().to_string().contains("time.learning"), "no rate");
        assert!(check_times(&TimeSettings::default()).is_ok(), "the built-in times");
    }
}
