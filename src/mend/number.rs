//! Numbers of edits: what is asked by number, and numbers that stay when some are refused.

use super::work::SAME_PLACE;
use super::{Edit, Options, Ruling};

/// The edits left of which the mirror image was not named and is left with them: each
/// by its number and the image's.
pub(super) fn images(known: &[Edit], options: &Options) -> Vec<(u32, u32)> {
    let named = |id: u32| options.leave.contains(&id);
    let left = known.iter().filter(|edit| named(edit.id));
    left.filter_map(|edit| Some((edit.id, edit.pair.filter(|image| !named(*image))?))).collect()
}

/// The numbers asked about that no edit known so far has.
pub(super) fn unknown(known: &[Edit], options: &Options) -> Vec<u32> {
    let asked = options.leave.iter().chain(options.widths.iter().map(|(id, _)| id));
    asked.copied().filter(|id| known.iter().all(|edit| edit.id != *id)).collect()
}

/// What is asked by number, by place: of an edit and its mirror image alike, since one
/// is drawn from the other.
pub(super) fn rulings(edits: &[Edit], options: &Options) -> Vec<Ruling> {
    let refused = options.leave.iter().map(|id| (*id, None));
    let asked = refused.chain(options.widths.iter().map(|(id, width)| (*id, Some(width.get()))));
    let both = |id: u32| edits.iter().filter(move |edit| edit.id == id || edit.pair == Some(id));
    asked.flat_map(|(id, width)| both(id).map(move |edit| Ruling { kind: edit.kind, at: edit.at, width })).collect()
}

/// The findings of the face as it came whose edits are refused or set.
pub(super) fn ruled(edits: &[Edit], rulings: &[Ruling]) -> Vec<String> {
    let by = |edit: &Edit| rulings.iter().any(|r| r.kind == edit.kind && r.at.distance(edit.at) < SAME_PLACE);
    edits.iter().filter(|edit| by(edit)).filter_map(|edit| edit.finding.clone()).collect()
}

/// Gives edits that were there before their numbers back; new ones follow and are
/// known from then on.
pub(super) fn renumber(edits: &mut [Edit], known: &mut Vec<Edit>) {
    let most = known.len() as u32;
    let mut next = most + 1;
    let mut changes = Vec::new();
    for edit in edits.iter_mut() {
        let same = known.iter().find(|k| k.kind == edit.kind && k.at.distance(edit.at) < SAME_PLACE);
        let id = same.map_or(next, |same| same.id);
        changes.push((edit.id, id));
        edit.id = id;
        if same.is_none() {
            edit.why = format!("{}, in place of what you left", edit.why);
            next += 1;
        }
    }
    for edit in edits.iter_mut() {
        edit.pair = edit.pair.and_then(|pair| changes.iter().find(|c| c.0 == pair)).map(|c| c.1);
    }
    // Not before: the number of its pair is one it keeps.
    known.extend(edits.iter().filter(|edit| edit.id > most).cloned());
    edits.sort_by_key(|edit| edit.id);
}
