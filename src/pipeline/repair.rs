//! A face checked, mended and checked again.

use kurbo::Affine;
use serde_json::{Value, json};

use super::{Laid, Made, PICTURE_DPI, check_options, entry_options, judge, lantern, lay, rank};
use crate::check;
use crate::diag::{Error, Finding, FindingKind, Place, Severity, round3};
use crate::face::Face;
use crate::mend::{self, Built, Hand, Mended, Ruling};
use crate::outcome::{ANOTHER_FACE, MendFacts, Outcome};
use crate::settings::Settings;
use crate::sheet::before_after::{Change, before_after};
use crate::write::json as report;
use crate::write::night::{View, night};
use crate::write::png::png;

/// What the maker wishes of the mending, places in panel millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wishes {
    /// Edits refused, and widths asked for, by place.
    pub rulings: Vec<Ruling>,
    /// Edits refused, by number.
    pub leave: Vec<u32>,
    /// What to do where openings touch.
    pub contacts: mend::Contacts,
    /// How far weak bridges are mended.
    pub aim: mend::Aim,
    /// Bridges placed by hand, built before anything is mended.
    pub hands: Vec<Hand>,
}

/// A face before and after mending.
#[derive(Clone, Debug)]
pub struct Repaired {
    /// The face as drawn, checked.
    pub before: Outcome,
    /// The face mended, checked.
    pub after: Outcome,
    /// The edits.
    pub mended: Mended,
    /// The bridges placed by hand, as built.
    pub built: Vec<Built>,
    /// Those that could not be built, by their place among the wishes, from 0.
    pub lost: Vec<usize>,
}

impl Repaired {
    /// What the bridge placed by hand at `index` among the wishes is called:
    /// `H1`, beside the numbers of the edits.
    #[must_use]
    pub fn hand_name(index: usize) -> String {
        format!("H{}", index + 1)
    }

    /// The same, its files called after `name`; as it is without one.
    #[must_use]
    pub fn named(self, name: Option<&str>) -> Self {
        Self { before: self.before.named(name), after: self.after.named(name), ..self }
    }
}

/// Reads and lays a drawing, mends it, and checks it before and after. The
/// wishes are made from the frame that takes the drawing's own space to the
/// panel's, since some are remembered by place on the drawing.
///
/// # Errors
/// As [`super::check()`], and for wishes that make no sense; a face that cannot be
/// mended is no error.
pub fn mended(
    bytes: &[u8],
    name: &str,
    settings: &Settings,
    wishes: impl FnOnce(Affine) -> Result<Wishes, Error>,
) -> Result<Repaired, Error> {
    let (settings, reasons) = lantern::boxed(settings)?;
    let laid = lay(bytes, name, &settings)?;
    let wishes = wishes(laid.face.frame())?;
    let mut repaired = repair(laid, &settings, &wishes);
    if let Some(number) = repaired.mended.unknown.first() {
        let what = format!("there is no edit {number} to leave");
        let advice = "run it without --leave to see the edits by number";
        return Err(Error::setting(Place::default(), what, advice));
    }
    for outcome in [&mut repaired.before, &mut repaired.after] {
        outcome.clearances.clone_from(&reasons);
        lantern::meet(outcome, &settings)?;
    }
    Ok(repaired)
}

/// The mended face, the two pictures and the list of edits, named after the art
/// or its project.
///
/// # Errors
/// [`Error::Internal`] when a picture cannot be drawn.
pub fn mend_documents(repaired: &Repaired) -> Result<Vec<Made>, Error> {
    let Repaired { before, after, mended, built, .. } = repaired;
    let name = &before.art.name;
    let made = |suffix: &str, bytes: Vec<u8>| Made { name: format!("{name}-{suffix}"), bytes };
    let by_hand = built.iter().map(|bridge| placed(&before.face, bridge));
    let changes: Vec<Change> = by_hand.chain(mended.edits.iter().map(|edit| shown(&before.face, edit))).collect();
    let pair = before_after(before, after, &changes, name);
    Ok(vec![
        made("mended.svg", mend::svg(&after.face).into_bytes()),
        made("before-after.png", png(&pair, PICTURE_DPI)?),
        made("night.png", night(&after.face, &View::default())?.png),
        made("edits.json", report::text(&edits(repaired)?).into_bytes()),
    ])
}

fn shown(before: &Face, edit: &mend::Edit) -> Change {
    let gives_back = matches!(edit.change, mend::Change::GiveBack(_));
    Change { name: edit.id.to_string(), at: edit.at, shape: mend::seen(before, &edit.change).to_path(), gives_back }
}

fn placed(before: &Face, bridge: &Built) -> Change {
    let shape = mend::seen(before, &bridge.change).to_path();
    Change { name: Repaired::hand_name(bridge.index), at: bridge.middle(), shape, gives_back: true }
}

/// Name and version of the list of edits.
const EDITS_SCHEMA: &str = "fretgrin-edits-1";

/// The edits as JSON: what, where, why, and what is left.
fn edits(repaired: &Repaired) -> Result<Value, Error> {
    let Repaired { before, after, mended, built, lost } = repaired;
    let night = night(&after.face, &View { height_px: 400, ..View::default() })?;
    let edit = |e: &mend::Edit| {
        json!({
            "id": e.id, "kind": e.kind, "finding": e.finding, "pair": e.pair,
            "x_mm": round3(e.at.x), "y_mm": round3(e.at.y), "gives_back": matches!(e.change, mend::Change::GiveBack(_)),
            "width_mm": e.width.map(round3), "length_mm": e.length.map(round3), "area_mm2": round3(e.area), "why": e.why,
        })
    };
    let by_hand = |b: &Built| {
        let at = b.middle();
        json!({
            "id": Repaired::hand_name(b.index), "x_mm": round3(at.x), "y_mm": round3(at.y),
            "width_mm": round3(b.width), "needed_mm": round3(b.needed), "length_mm": round3(b.length()),
            "area_mm2": round3(mend::seen(&before.face, &b.change).area()),
        })
    };
    Ok(json!({
        "schema": EDITS_SCHEMA,
        "generator": "fretgrin",
        "art": before.art.file,
        "edits": mended.edits.iter().map(edit).collect::<Vec<_>>(),
        "by_hand": built.iter().map(by_hand).collect::<Vec<_>>(),
        "not_built": lost.iter().map(|i| Repaired::hand_name(*i)).collect::<Vec<_>>(),
        "unmended": mended.unmended.iter().map(|(id, why)| json!({ "finding": id, "why": why })).collect::<Vec<_>>(),
        "summary": mended.summary,
        "lit_share": round3(night.lit_share),
        "open_share": round3(night.open_share),
        "before": counts(before),
        "after": counts(after),
    }))
}

fn counts(outcome: &Outcome) -> Value {
    let checks = &outcome.checks;
    json!({
        "islands": checks.islands.len(), "bridges": checks.bridges.len(), "turns": checks.turns.len(),
        "slots": checks.slots.len(), "stop": outcome.count(Severity::Stop), "care": outcome.count(Severity::Care),
    })
}

/// Checks a laid face, mends it as wished, and checks the result.
#[must_use]
pub fn repair(laid: Laid, settings: &Settings, wishes: &Wishes) -> Repaired {
    let (rulings, leave) = (wishes.rulings.clone(), wishes.leave.clone());
    let entry = Some(entry_options(settings));
    let options = mend::Options {
        rulings,
        leave,
        contacts: wishes.contacts,
        aim: wishes.aim,
        ..mend::Options::new(check_options(settings), entry)
    };
    let before = judge(laid.clone(), settings);
    let (face, built) = mend::by_hand(&before.face, &wishes.hands, &options);
    let held = (!built.is_empty()).then(|| check::run(&face, &options.checks));
    let checks = held.as_ref().unwrap_or(&before.checks);
    let start = mend::Start { came: (&before.face, &before.checks), face: (&face, checks), built: &built };
    let mended = mend::mend_from(&start, &options);
    let mut after = judge(Laid { face: mended.face.clone(), ..laid }, settings);
    let lost: Vec<usize> = (0..wishes.hands.len()).filter(|i| built.iter().all(|b| b.index != *i)).collect();
    after.mended = Some(MendFacts {
        edits: mended.edits.len() + built.len(),
        area_changed_share: mended.summary.area_changed_share,
        left: mended.unmended.len() + lost.len(),
    });
    let lost_face = too_much(mended.summary.area_changed_share);
    after.findings.extend(lost_face);
    rank(&mut after.findings);
    Repaired { before, after, mended, built, lost }
}

/// The finding of a face that mending made another of.
fn too_much(share: f64) -> Option<Finding> {
    if share <= ANOTHER_FACE {
        return None;
    }
    let (percent, most) = (share * 100.0, ANOTHER_FACE * 100.0);
    let message = format!("mending changes {percent:.0} % of the openings, more than {most:.0} %: it is another face");
    let advice = "make it larger, mend less (--stops, --bridge), or take another drawing";
    let finding = Finding::new("mending-1", FindingKind::Mending, Severity::Stop, message, advice);
    Some(finding.measured(percent, most))
}
