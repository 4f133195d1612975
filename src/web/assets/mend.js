// Mending: the server's answer for the state shown, and what a maker can settle
// about it: edits refused, widened, moved, bridges placed by hand.

import { say } from "/dom.js";
import { both } from "/lengths.js";
import { commit, copy, fail, model, tell, unit } from "/model.js";
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
  moved: null, // a proposed bridge that is the maker's own since: the keys it had and has
};
let asked = null; // the state the answer is for
let asking = false;
const AGAIN = 1500; // ms until a bench that could not be reached is asked again, as for saving

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
      if (!(error instanceof Refused)) {
        asked = null;
        fail(error);
        // Until it is asked again it counts as being asked: what is told asks, too.
        setTimeout(() => { asking = false; askMend(); }, AGAIN);
        return;
      }
      mending.error = error;
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
// The key that what had `key` has in the answer shown.
export const keyNow = (key) => (mending.moved?.was === key && handOf(mending.moved.now) ? mending.moved.now : key);
// Whoever goes to what has the old key now means that.
addEventListener("focusin", ({ target }) => {
  const { hold, edit } = target.closest?.("[data-hold], [data-edit]")?.dataset ?? {};
  if (mending.moved && keyNow(hold ?? edit) !== (hold ?? edit)) mending.moved = null;
});
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

// From the drawing's own space to the panel.
function laid() {
  const { middle, report } = mending.answer.before;
  const { scale, turn_deg: turn, mirrored, stretch_x: sx, stretch_y: sy } = report.fit;
  return new DOMMatrix().translate(...middle).scale(sx, sy).rotate(turn).scale(mirrored ? -scale : scale, scale);
}

// A place on the panel in the drawing's own space.
function own(at) {
  const p = laid().inverse().transformPoint(new DOMPoint(...at));
  return { x: round(p.x), y: round(p.y) };
}

const onPanel = ({ x, y }) => {
  const p = laid().transformPoint(new DOMPoint(x, y));
  return [p.x, p.y];
};

// ---- what was settled since the answer that is shown ----

// Places nearer than this on the panel are one edit's, as the program takes them.
const NEAR = 1.5;
const near = (one, [x, y]) => {
  const at = onPanel(one);
  return Math.hypot(at[0] - x, at[1] - y) < NEAR;
};
const isOf = (edit) => (one) => one.kind === edit.kind && near(one, edit.at);
const ahead = () => mending.of !== model.state;

// Where a choice that the answer numbers `index` stands in its list now; -1 where it
// was taken back since. One that only moved stands where it stood.
function nowAt(list, index) {
  const [then, now] = [mending.of?.mend[list] ?? [], model.state.mend[list]];
  const was = then[index];
  if (!ahead() || !was) return index;
  const found = now.findIndex((one) => one.x === was.x && one.y === was.y && one.kind === was.kind);
  return found < 0 && list === "bridges" && now.length >= then.length ? index : found;
}

// The edit and, on a symmetric face, its mirror image.
const pairOf = (edit) => [edit, mending.answer.edits.find((other) => other.id === edit.pair)].filter(Boolean);

// Settles edits anew: with `more`, refused or of a width; without, as proposed. One
// place has one choice, the last.
function settle(mend, edits, more) {
  for (const one of new Set(edits.flatMap(pairOf))) {
    mend.settled = mend.settled.filter((other) => !isOf(one)(other));
    if (more) mend.settled.push({ kind: one.kind, x: round(one.own[0]), y: round(one.own[1]), ...more });
  }
}

const rule = (edits, more, words) => choosing((mend) => settle(mend, edits, more), words);

export const refuse = (edit) => rule([edit], {}, `Edit ${edit.id} refused`);
export const refuseAll = (edits) => rule(edits, {}, `${edits.length} edits refused`);
export const widen = (edit, mm) => rule([edit], { width_mm: round(mm) }, `Edit ${edit.id} is ${both(mm, unit())} wide now`);
export const asNeeded = (edit) => rule([edit], null, "The needed width again");

// The width of an edit or of a bridge placed by hand: the one asked for, while the
// answer to that is on its way.
export function widthOf(key) {
  const [edit, hand] = [editOf(key), handOf(key)];
  const asked = edit ? model.state.mend.settled.find(isOf(edit)) : hand ? model.state.mend.bridges[nowAt("bridges", hand.index)] : null;
  return (ahead() && asked?.width_mm) || ((edit ?? hand)?.width_mm ?? null);
}

export function takeBack(index) {
  const back = model.state.mend.settled[nowAt("settled", index)];
  if (!back) return;
  choosing((mend) => {
    // All that is settled there, should a file say it twice; of the mirror image the like.
    const at = onPanel(back);
    const other = mirrored(at);
    const like = (s) => (s.width_mm === undefined) === (back.width_mm === undefined);
    const same = (s) => s.kind === back.kind && (near(s, at) || (other && like(s) && near(s, other)));
    mend.settled = mend.settled.filter((s) => !same(s));
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

export function startOver() {
  const { settled, bridges } = copy().mend;
  if (settled.length + bridges.length === 0) return say("No choice was made yet");
  choosing((mend) => Object.assign(mend, { settled: [], bridges: [] }), "All choices forgotten");
}

// The place mirrored, where the mended face is symmetric.
function mirrored([x, y]) {
  const axis = mending.answer.summary.axis_mm;
  return axis === null || axis === undefined ? null : [2 * axis - x, y];
}

// The same, but of one in the middle, which is its own image, none.
function image(at) {
  const other = mirrored(at);
  return other && Math.abs(other[0] - at[0]) >= 4 ? other : null;
}

// Where in the list of those placed by hand the mirror image of one stands; -1 where there is none.
export function twinOf(index) {
  const { bridges } = model.state.mend;
  const other = bridges[index] && mirrored(onPanel(bridges[index]));
  if (!other) return -1;
  return bridges.findIndex((one, i) => i !== index && near(one, other));
}

// Moves a bridge, and on a symmetric face its mirror image with it: the proposed one is
// refused where it was, and one is placed by hand where it shall be.
export function moveBridge(key, at) {
  const hand = handIndex(key);
  const placed = model.state.mend.bridges.length;
  if (hand < 0) return;
  choosing((mend) => {
    if (hand !== null) {
      const put = (index, place) => {
        const { width_mm: width } = mend.bridges[index];
        mend.bridges[index] = { ...own(place), ...(width ? { width_mm: width } : {}) };
      };
      const twin = twinOf(hand);
      put(hand, at);
      if (twin >= 0) put(twin, mirrored(at));
      return;
    }
    const edit = editOf(key);
    settle(mend, [edit], {});
    mend.bridges.push(own(at));
    if (edit.pair && image(at)) mend.bridges.push(own(image(at)));
  }, `Bridge moved to ${both(at[0], unit())} from the left, ${both(at[1], unit())} up`);
  mending.chosen = hand === null ? `h${placed}` : `h${hand}`;
  if (hand === null) mending.moved = { was: key, now: mending.chosen };
}

// Where the bridge of a knob stands in the list of those placed by hand, the moment one
// that was proposed is moved; null for a proposed one, -1 for one taken out since.
function handIndex(key) {
  const edit = editOf(key);
  if (edit) return ahead() && mending.chosen?.startsWith("h") && model.state.mend.settled.some(isOf(edit)) ? Number(mending.chosen.slice(1)) : null;
  const index = nowAt("bridges", Number(key.slice(1)));
  return model.state.mend.bridges[index] ? index : -1;
}

// A step from where the bridge stands by now, be it answered yet or not.
export function nudgeBridge(key, x, y) {
  const placed = model.state.mend.bridges[handIndex(key) ?? -1];
  const at = placed ? onPanel(placed) : editOf(key)?.at;
  if (at) moveBridge(key, [at[0] + x, at[1] + y]);
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

export function setHandWidth(index, mm) {
  const bridge = nowAt("bridges", index);
  if (bridge < 0) return;
  const pair = [bridge, twinOf(bridge)].filter((one) => one >= 0);
  choosing((mend) => pair.forEach((one) => { mend.bridges[one].width_mm = mm > 0 ? round(mm) : undefined; }), "Width set");
}

export function removeBridge(index) {
  const bridge = nowAt("bridges", index);
  if (bridge < 0) return;
  choosing((mend) => mend.bridges.splice(bridge, 1), "Bridge taken out");
  mending.chosen = null;
}
