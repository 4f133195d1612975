// Mending: the server's answer for the state shown, and what a maker can settle
// about it: edits refused, widened, moved, bridges placed by hand.

import { say } from "/dom.js";
import { both } from "/lengths.js";
import { commit, copy, model, tell, unit } from "/model.js";
import { Refused, ask } from "/server.js";

export const NAMES = {
  bridge: "Bridge to an island", widen: "Bridge widened", prop: "Prop across an opening", trim: "Tongue sawn off", join: "Openings joined",
  round: "Turn rounded", slot: "Slot opened", "entry-room": "Room for the blade", "leave-out": "Left out",
};

export const mending = {
  answer: null, error: null, of: null, // the state they belong to
  wood: false, // the last tap meant for a bridge fell on wood
  chosen: null, // "e3" an edit, "h0" a bridge placed by hand
  placing: false, // the next tap places a bridge
};
let asked = null; // the state the answer is for
let asking = false;

// ---- asking ----

export async function askMend() {
  if (asking || !model.project || asked === model.state) return;
  asking = true;
  do {
    const state = model.state;
    asked = state;
    try {
      mending.answer = await ask("mend", { project: model.project, state });
      mending.error = null;
    } catch (error) {
      mending.error = error instanceof Refused ? error : new Refused(0, { text: "the bench cannot be reached" });
    }
    mending.of = state;
    tell("mended");
    // What is only being tried, a face being dragged, is mended once it is let go.
  } while (asked !== model.state && model.state === model.settled);
  asking = false;
}

export function forgetMend() {
  Object.assign(mending, { answer: null, error: null, of: null, chosen: null, placing: false, wood: false });
  asked = null;
}

// ---- what is there ----

export const editOf = (key) => mending.answer?.edits.find((edit) => `e${edit.id}` === key);
export const handOf = (key) => mending.answer?.bridges.find((b) => `h${b.index}` === key);
export const movable = (key) => Boolean(handOf(key)) || editOf(key)?.kind === "bridge";

export function choose(key) {
  mending.chosen = mending.chosen === key ? null : key;
  tell("mended");
}

// The view of the face that is printed and sawn, the drawn one or the mended; null
// while that is being worked out or cannot be.
export function sawn() {
  if (!model.state?.mend.on) return model.view;
  return mending.of === model.state && !mending.error ? mending.answer.after : null;
}

// How the mended face does, as a kind of mark and in words.
export function mendedWords() {
  const { after, edits, bridges } = mending.answer;
  const { stop, care } = after.report.totals;
  if (stop) return ["stop", stop === 1 ? "1 thing still stops this face" : `${stop} things still stop this face`];
  if (edits.length + bridges.length === 0) return ["sound", "Nothing needs mending"];
  return care ? ["care", "Mended; saw with care"] : ["sound", "Mended: ready to saw"];
}

// ---- what can be settled ----

const round = (value) => Math.round(value * 1000) / 1000;

// A place on the panel in the drawing's own space.
function own(at) {
  const { middle, report } = mending.answer.before;
  const { scale, turn_deg: turn, mirrored, stretch_x: sx, stretch_y: sy } = report.fit;
  const m = new DOMMatrix().translate(...middle).scale(sx, sy).rotate(turn).scale(mirrored ? -scale : scale, scale).inverse();
  const p = m.transformPoint(new DOMPoint(...at));
  return { x: round(p.x), y: round(p.y) };
}

// The edit and, on a symmetric face, its mirror image.
const pairOf = (edit) => [edit, mending.answer.edits.find((other) => other.id === edit.pair)].filter(Boolean);

// Settles edits anew: with `more`, refused or of a width; without, as proposed.
function rule(edits, more, words) {
  choosing((mend) => {
    const all = [...new Set(edits.flatMap(pairOf))];
    const gone = new Set(all.map((one) => one.settled).filter((index) => index !== null));
    mend.settled = mend.settled.filter((_, index) => !gone.has(index));
    if (more) for (const one of all) mend.settled.push({ kind: one.kind, x: round(one.own[0]), y: round(one.own[1]), ...more });
  }, words);
}

export const refuse = (edit) => rule([edit], {}, `Edit ${edit.id} refused`);
export const refuseAll = (edits) => rule(edits, {}, `${edits.length} edits refused`);
export const widen = (edit, mm) => rule([edit], { width_mm: round(mm) }, `Edit ${edit.id} is ${both(mm, unit())} wide now`);
export const asNeeded = (edit) => rule([edit], null, "The needed width again");

export function takeBack(index) {
  const back = model.state.mend.settled[index];
  choosing((mend) => {
    const same = (s) => s.kind === back.kind && s.width_mm === undefined === (back.width_mm === undefined)
      && Math.abs(Math.abs(s.x) - Math.abs(back.x)) < 1.5 && Math.abs(s.y - back.y) < 1.5;
    mend.settled = mend.settled.filter((s, at) => at !== index && !same(s));
  }, back.width_mm === undefined ? "Accepted again" : "The needed width again");
}

// The mended face becomes the one that is printed and sawn, or the drawn one does.
export function accept(on) {
  const next = copy();
  next.mend.on = on;
  commit(next);
  say(on ? "All edits accepted" : "Back to the face as drawn");
}

// Settles something about how the face is mended. Which face is sawn stays as it
// was: trying something accepts nothing.
export function choosing(change, words) {
  const next = copy();
  change(next.mend);
  commit(next);
  say(words);
}

export const startOver = () => choosing((mend) => Object.assign(mend, { settled: [], bridges: [] }), "All choices forgotten");

// The place mirrored, where the mended face is symmetric.
function image(at) {
  const axis = mending.answer.summary.axis_mm;
  return axis === null || axis === undefined || Math.abs(at[0] - axis) < 2 ? null : [2 * axis - at[0], at[1]];
}

// Moves a bridge: the proposed one is refused where it was, and one is placed
// by hand where it shall be, on a symmetric face with its mirror image.
export function moveBridge(key, at) {
  const hand = handOf(key);
  const placed = model.state.mend.bridges.length;
  choosing((mend) => {
    if (hand) {
      const { width_mm: width } = mend.bridges[hand.index];
      mend.bridges[hand.index] = { ...own(at), ...(width ? { width_mm: width } : {}) };
      return;
    }
    const edit = editOf(key);
    for (const one of pairOf(edit)) mend.settled.push({ kind: one.kind, x: round(one.own[0]), y: round(one.own[1]) });
    mend.bridges.push(own(at));
    if (edit.pair && image(at)) mend.bridges.push(own(image(at)));
  }, `Bridge moved to ${both(at[0], unit())} from the left, ${both(at[1], unit())} up`);
  mending.chosen = hand ? key : `h${placed}`;
}

export function nudgeBridge(key, x, y) {
  const from = (handOf(key) ?? editOf(key))?.at;
  if (from) moveBridge(key, [from[0] + x, from[1] + y]);
}

// Whether a place of the panel lies in an opening of the face as drawn: a bridge
// through wood is none.
export function inOpening([x, y]) {
  const canvas = document.createElement("canvas").getContext("2d");
  const found = mending.answer.before.cutouts.some(({ d }) => canvas.isPointInPath(new Path2D(d), x, y, "evenodd"));
  mending.wood = !found;
  if (!found) say("There is wood: a bridge begins in an opening");
  return found;
}

export const addBridge = (at) => choosing((mend) => mend.bridges.push(own(at)), "Bridge placed");

export const setHandWidth = (index, mm) =>
  choosing((mend) => { mend.bridges[index].width_mm = mm > 0 ? round(mm) : undefined; }, "Width set");

export function removeBridge(index) {
  choosing((mend) => mend.bridges.splice(index, 1), "Bridge taken out");
  mending.chosen = null;
}
