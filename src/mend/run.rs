//! Rounds of edits and checks.

use kurbo::Point;

use super::number::{images, renumber, ruled, rulings, unknown};
use super::symmetry::Mirror;
use super::wood::Wood;
use super::work::{Draft, Props, SAME_PLACE, SURE, Work, in_pairs};
use super::{
    Aim, Built, Change, Edit, EditKind, Mended, Options, RULED, Ruling, apply, bridge, ease, measure, prop, spare,
};
use crate::check::{self, Checks};
use crate::diag::{Finding, Severity};
use crate::entry;
use crate::face::Face;
use crate::geom::boolean::union;

/// Most rounds of edits and checks. Widths depend on lengths that edits change,
/// so some faces take a few; what is not mended by then never will be.
const ROUNDS: u32 = 12;

/// Findings of two states of a face within this of each other are one, mm.
const SAME_FINDING: f64 = 2.0;

/// Rounds more for islands and weak bridges alone: where opening a slot takes
/// from a bridge what the bridge needs, the bridge has the last word. Ours.
const LAST: u32 = 3;

/// Where mending begins: a face, and what it was before bridges were built by
/// hand. What is told of the mending is told against the face as it came.
#[derive(Clone, Copy, Debug)]
pub struct Start<'a> {
    /// The face as it came, and its checks.
    pub came: (&'a Face, &'a Checks),
    /// The face to mend, and its checks.
    pub face: (&'a Face, &'a Checks),
    /// The bridges by which the two differ.
    pub built: &'a [Built],
}

/// Mends `face`, whose checks are `checks`.
#[must_use]
pub fn mend(face: &Face, checks: &Checks, options: &Options) -> Mended {
    mend_from(&Start { came: (face, checks), face: (face, checks), built: &[] }, options)
}

/// Mends a face that bridges were built on before.
#[must_use]
pub fn mend_from(start: &Start<'_>, options: &Options) -> Mended {
    // Numbers are those of the edits when none is refused.
    let (props, full) = best(start, options);
    // What takes the place of a refused edit has a number beyond them, by which it can
    // be refused in turn.
    let mut known = full.edits.clone();
    let mut mended = full;
    loop {
        let rulings = [rulings(&known, options), options.rulings.clone()].concat();
        let unknown = unknown(&known, options);
        if rulings.is_empty() {
            return Mended { unknown, ..measured(start, mended) };
        }
        let mut rounds = Rounds::new(start, options, &rulings, props);
        rounds.ruled = ruled(&known, &rulings);
        mended = rounds.run();
        let before = known.len();
        renumber(&mut mended.edits, &mut known);
        if !known[before..].iter().any(|edit| unknown.contains(&edit.id)) {
            let images = images(&known, options);
            return Mended { unknown, images, ..measured(start, mended) };
        }
    }
}

/// With what takes long to measure and no choice rests on.
fn measured(start: &Start<'_>, mut mended: Mended) -> Mended {
    for edit in &mut mended.edits {
        edit.area = apply::area(start.face.0, &edit.change);
    }
    mended.summary.greatest_displacement_mm = measure::displacement(start, &mended.face, &mended.edits);
    mended
}

/// The face mended with nothing refused: with props wherever they cost least
/// and, where that leaves faults or changes much, the best of all ways.
fn best(start: &Start<'_>, options: &Options) -> (Props, Mended) {
    /// No other way is tried while less than this share of the open area changed.
    /// Judgement: on silhouettes the other ways seldom win below it.
    const LITTLE: f64 = 0.3;
    let run = |props| (props, Rounds::new(start, options, &[], props).run());
    let free = run(Props::Free);
    if free.1.unmended.is_empty() && free.1.summary.area_changed_share < LITTLE {
        return free;
    }
    let (once, never) = check::both(true, || run(Props::Once), || run(Props::Never));
    let rank = |way: &(Props, Mended)| (way.1.unmended.len(), way.1.summary.area_changed_share);
    let better = |a: (Props, Mended), b: (Props, Mended)| {
        let (of_a, of_b) = (rank(&a), rank(&b));
        if of_b.0.cmp(&of_a.0).then(of_b.1.total_cmp(&of_a.1)).is_lt() { b } else { a }
    };
    better(better(free, once), never)
}

/// The state between rounds.
struct Rounds<'a> {
    start: &'a Start<'a>,
    /// The checks of the face as it came.
    first: &'a Checks,
    options: &'a Options,
    rulings: &'a [Ruling],
    /// Findings of the face as it came whose edits are refused or set.
    ruled: Vec<String>,
    mirror: Option<Mirror>,
    props: Props,
    /// Findings of entry holes of the face as it came.
    unreached: Vec<Finding>,
    face: Face,
    checks: Checks,
    edits: Vec<Edit>,
    proven: bool,
    rounds: u32,
}

impl<'a> Rounds<'a> {
    fn new(start: &'a Start<'a>, options: &'a Options, rulings: &'a [Ruling], props: Props) -> Self {
        let (face, checks) = start.face;
        let wood = Wood::of(face);
        let (w, h) = (face.panel.width.get(), face.panel.height.get());
        let mirror = if options.symmetry { Mirror::find(&wood, w, h) } else { None };
        Self {
            start,
            first: start.came.1,
            options,
            rulings,
            ruled: Vec::new(),
            mirror,
            props,
            unreached: unreached(start.came.0, options),
            face: face.clone(),
            checks: checks.clone(),
            edits: Vec::new(),
            proven: true,
            rounds: 0,
        }
    }

    fn run(mut self) -> Mended {
        while self.rounds < ROUNDS {
            // Islands and weak bridges first: what is done for them decides what
            // slots and turns are left.
            if !(self.round(Self::held) || self.round(Self::eased) || self.round(Self::given_up)) {
                return self.finish();
            }
        }
        while self.rounds < ROUNDS + LAST && self.round(Self::held) {}
        self.finish()
    }

    /// One round of edits of one sort; whether it changed the face.
    fn round(&mut self, drafts: impl Fn(&mut Self, &Work<'_>) -> Vec<Draft>) -> bool {
        let face = self.face.clone();
        let wood = Wood::of(&face);
        let work = Work {
            face: &face,
            wood,
            mirror: self.mirror,
            options: self.options,
            rulings: self.rulings,
            props: self.props,
            round: self.rounds,
            stood: self.edits.iter().filter(|e| e.kind == EditKind::Prop).map(|e| e.at).collect(),
        };
        let mut drafts = drafts(self, &work);
        let next = apply::apply(&face, drafts.iter().map(|draft| &draft.change));
        if next == face {
            return false;
        }
        for draft in &mut drafts {
            draft.finding = match draft.finding.as_deref() {
                Some(_) if self.rounds == 0 && self.start.built.is_empty() => continue,
                Some(finding) if self.rounds == 0 => self.as_it_came(finding),
                _ => self.original(draft),
            };
        }
        self.record(drafts);
        self.rounds += 1;
        self.checks = check::run(&next, &self.options.checks);
        self.face = next;
        true
    }

    /// Edits for islands and weak bridges.
    fn held(&mut self, work: &Work<'_>) -> Vec<Draft> {
        let mut busy = Vec::new();
        let (mut drafts, proven) = bridge::drafts(work, &self.checks, &mut busy);
        self.proven &= proven;
        // What is weak in wood that hangs on nothing yet is measured anew once it does.
        let holds = drafts.iter().any(|draft| draft.kind == EditKind::Bridge);
        let loose = |bridge: &check::Bridge| bridge.between.iter().any(|bank| matches!(bank, check::Bank::Island(_)));
        let weak = self.one_side(self.unsure().filter(|bridge| !(holds && loose(bridge))).collect());
        let weak: Vec<Draft> = weak.into_iter().filter_map(|b| prop::mend(work, b, &mut busy)).collect();
        drafts.extend(in_pairs(weak, self.mirror));
        drafts
    }

    /// The bridges to mend: the weak ones, and those that are it by a hair's breadth.
    fn unsure(&self) -> impl Iterator<Item = &check::Bridge> {
        let all = self.options.aim == Aim::Sound;
        let near = |bridge: &check::Bridge| bridge.width < SURE * bridge.stop_width;
        self.checks.bridges.iter().filter(move |b| all || b.severity == Severity::Stop || near(b))
    }

    /// The bridges that mending must not leave.
    fn weak(&self) -> impl Iterator<Item = &check::Bridge> {
        let all = self.options.aim == Aim::Sound;
        self.checks.bridges.iter().filter(move |bridge| all || bridge.severity == Severity::Stop)
    }

    /// Of mirrored pairs of weak bridges the right-hand one: its edit is mirrored.
    fn one_side<'b>(&self, weak: Vec<&'b check::Bridge>) -> Vec<&'b check::Bridge> {
        let Some(mirror) = self.mirror else { return weak };
        let middle = |b: &check::Bridge| b.feet[0].midpoint(b.feet[1]);
        let alone = |b: &&check::Bridge| {
            let image = mirror.of(middle(b));
            let left = middle(b).x < mirror.axis - SAME_PLACE / 2.0;
            !left || !weak.iter().any(|other| middle(other).distance(image) < SAME_PLACE)
        };
        weak.iter().copied().filter(alone).collect()
    }

    /// Edits for slots, turns and entry holes.
    fn eased(&mut self, work: &Work<'_>) -> Vec<Draft> {
        let slots = self.checks.slots.iter().filter_map(|slot| ease::slot(work, slot));
        let turns = self.checks.turns.iter().filter_map(|turn| ease::turn(work, turn));
        let mut eased: Vec<Draft> = slots.chain(turns).collect();
        eased.extend(unreached(work.face, self.options).iter().filter_map(|finding| ease::entry(work, finding)));
        in_pairs(eased, self.mirror)
    }

    /// Small cut-outs left out for which all else did not find an entry.
    fn given_up(&mut self, work: &Work<'_>) -> Vec<Draft> {
        let unreached = unreached(work.face, self.options);
        in_pairs(unreached.iter().filter_map(|finding| ease::unreachable(work, finding)).collect(), self.mirror)
    }

    /// The finding of the face as it came that `draft`, of a later round,
    /// removes.
    fn original(&self, draft: &Draft) -> Option<String> {
        let near = |at: Point| at.distance(draft.at) < SAME_FINDING;
        let first = self.first;
        match draft.kind {
            EditKind::Bridge => self.island(draft),
            EditKind::Trim if self.island(draft).is_some() => self.island(draft),
            EditKind::Prop => draft.finding.clone().filter(|_| self.rounds == 0),
            EditKind::Widen | EditKind::Trim | EditKind::Join => {
                let middle = |b: &check::Bridge| b.feet[0].midpoint(b.feet[1]);
                first.bridges.iter().find(|b| near(middle(b))).map(|b| format!("bridge-{}", b.id))
            }
            EditKind::Round => first.turns.iter().find(|t| near(t.at)).map(|t| format!("turn-{}", t.id)),
            EditKind::Slot => first.slots.iter().find(|s| near(s.at)).map(|s| format!("slot-{}", s.id)),
            EditKind::EntryRoom | EditKind::LeaveOut => {
                let slot = first.slots.iter().find(|s| near(s.at)).map(|s| format!("slot-{}", s.id));
                let entry = self.unreached.iter().find(|f| f.at.is_some_and(near)).map(|f| f.id.clone());
                entry.or(slot)
            }
        }
    }

    /// The finding of the face as it came that is told as `finding` of the face
    /// mending began with: the one at its place. `None` for one that a bridge built
    /// by hand brought about.
    fn as_it_came(&self, finding: &str) -> Option<String> {
        let (face, checks) = self.start.face;
        let now = places(checks, &unreached(face, self.options));
        let (_, kind, at) = now.iter().find(|(id, ..)| id == finding)?;
        let first = places(self.first, &self.unreached);
        let near = first.iter().filter(|(_, k, p)| k == kind && p.distance(*at) < SAME_FINDING);
        near.min_by(|a, b| a.2.distance(*at).total_cmp(&b.2.distance(*at))).map(|(id, ..)| id.clone())
    }

    /// The island of the face as it came that `draft` holds or lets fall; its
    /// finding is one of this round's.
    fn island(&self, draft: &Draft) -> Option<String> {
        let id = draft.finding.as_ref()?.strip_prefix("island-")?;
        let now = self.checks.islands.iter().find(|island| island.id.to_string() == id)?;
        let first = self.first.islands.iter().find(|island| island.at.distance(now.at) < SAME_FINDING)?;
        Some(format!("island-{}", first.id))
    }

    /// Numbers the drafts. One at the place of an earlier edit of its kind
    /// becomes part of that edit.
    fn record(&mut self, drafts: Vec<Draft>) {
        let mut pair_of: Option<u32> = None;
        for draft in drafts {
            let known = self.edits.iter_mut().find(|e| e.kind == draft.kind && e.at.distance(draft.at) < SAME_PLACE);
            let id = match known {
                Some(edit) => {
                    edit.change = joined(&edit.change, &draft.change);
                    edit.width = draft.width.or(edit.width);
                    edit.length = draft.length.or(edit.length);
                    edit.why.clone_from(&draft.why);
                    edit.id
                }
                None => self.add(&draft),
            };
            if let Some(first) = pair_of.take() {
                self.pair(first, id);
            }
            pair_of = draft.paired.then_some(id);
        }
    }

    fn add(&mut self, draft: &Draft) -> u32 {
        let id = self.edits.len() as u32 + 1;
        self.edits.push(Edit {
            id,
            kind: draft.kind,
            finding: draft.finding.clone(),
            pair: None,
            at: draft.at,
            change: draft.change.clone(),
            width: draft.width,
            length: draft.length,
            area: 0.0,
            why: draft.why.clone(),
        });
        id
    }

    fn pair(&mut self, a: u32, b: u32) {
        if a != b {
            self.edits[a as usize - 1].pair = Some(b);
            self.edits[b as usize - 1].pair = Some(a);
        }
    }

    /// The finding of this kind that the face came with at this place: one whose edit is
    /// refused or set, or the nearest.
    fn came_as(&self, kind: &str, at: Point) -> Option<String> {
        /// Necks move a little as edits round them are made, mm. Ours.
        const MOVED: f64 = 10.0;
        let first = places(self.first, &self.unreached);
        let of_kind = first.iter().filter(|(_, k, _)| *k == kind).map(|(id, _, p)| (id, p.distance(at)));
        let near = of_kind.filter(|(id, d)| *d < SAME_FINDING || (*d < MOVED && self.ruled.contains(id)));
        near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id.clone())
    }

    fn finish(self) -> Mended {
        let mut summary = measure::summary(self.start, &self.face, &self.edits);
        summary.axis_mm = self.mirror.map(|mirror| mirror.axis);
        summary.rounds = self.rounds;
        summary.proven = self.proven;
        let unmended = self.unmended();
        let (unknown, images) = (Vec::new(), Vec::new());
        let edits = spare::needed(self.start.face.0, self.edits);
        Mended { face: self.face, edits, checks: self.checks, unmended, summary, unknown, images }
    }

    /// What is left that mending is there for, and why.
    fn unmended(&self) -> Vec<(String, String)> {
        let first = self.first;
        let islands = first.islands.iter().map(|island| (island.at, format!("island-{}", island.id)));
        let bridges = first.bridges.iter().map(|b| (b.feet[0].midpoint(b.feet[1]), format!("bridge-{}", b.id)));
        let settled: Vec<Point> =
            islands.chain(bridges).filter(|(_, id)| self.ruled.contains(id)).map(|(at, _)| at).collect();
        let ruled = |at: Point| {
            let near = self.rulings.iter().any(|r| r.at.distance(at) < 10.0);
            near || settled.iter().any(|place| place.distance(at) < 2.0)
        };
        let spent = self.rounds >= ROUNDS;
        let why = |at: Point, reason: &str| match (ruled(at), spent) {
            (true, _) => RULED.to_owned(),
            (_, true) => format!("still there after {} rounds: {reason}", self.rounds),
            _ => reason.to_owned(),
        };
        let mut left = Vec::new();
        for island in &self.checks.islands {
            let reason = why(island.at, "no bridge reaches it from wood that is held");
            left.push((self.came_as("island", island.at).unwrap_or(format!("island-{}", island.id)), reason));
        }
        for bridge in self.weak() {
            let at = bridge.feet[0].midpoint(bridge.feet[1]);
            let reason = format!(
                "{:.2} of {:.2} mm: what stands beside it leaves no room for more",
                bridge.width, bridge.needed
            );
            left.push((self.came_as("bridge", at).unwrap_or(format!("bridge-{}", bridge.id)), why(at, &reason)));
        }
        let slots = self.checks.slots.iter();
        left.extend(slots.map(|s| (format!("slot-{}", s.id), why(s.at, "opening it would weaken the wood beside it"))));
        for finding in unreached(&self.face, self.options) {
            let reason = why(finding.at.unwrap_or_default(), "room for a hole would weaken the wood beside it");
            left.push((finding.id, reason));
        }
        left
    }
}

/// Every finding that mending is there for: its id, its kind and its place.
fn places(checks: &Checks, unreached: &[Finding]) -> Vec<(String, &'static str, Point)> {
    let middle = |b: &check::Bridge| b.feet[0].midpoint(b.feet[1]);
    let named = |kind: &'static str, id: u32, at: Point| (format!("{kind}-{id}"), kind, at);
    let islands = checks.islands.iter().map(|i| named("island", i.id, i.at));
    let bridges = checks.bridges.iter().map(|b| named("bridge", b.id, middle(b)));
    let turns = checks.turns.iter().map(|t| named("turn", t.id, t.at));
    let slots = checks.slots.iter().map(|s| named("slot", s.id, s.at));
    let entries = unreached.iter().filter_map(|f| Some((f.id.clone(), "no-entry", f.at?)));
    islands.chain(bridges).chain(turns).chain(slots).chain(entries).collect()
}

/// The no-entry findings of a face.
fn unreached(face: &Face, options: &Options) -> Vec<Finding> {
    options.entry.as_ref().map_or_else(Vec::new, |entry| entry::findings(&entry::entries(face, entry).unreached, entry))
}

fn joined(a: &Change, b: &Change) -> Change {
    match (a, b) {
        (Change::GiveBack(a), Change::GiveBack(b)) => Change::GiveBack(union(a, b)),
        (Change::OpenUp(a), Change::OpenUp(b)) => Change::OpenUp(union(a, b)),
        (_, b) => b.clone(),
    }
}
