// The tray at the mending station: what mending does to the face, and the edits
// in groups, each to look at, refuse, widen or move.

import { capital, el, icon, inSight, mark, put } from "/dom.js";
import { length, live, pick, refresh } from "/fields.js";
import { both } from "/lengths.js";
import { NAMES, accept, addBridge, asNeeded, choose, choosing, editOf, handOf, keyNow, mendedWords, mending, nudgeBridge, refuse, refuseAll, removeBridge, setHandWidth, startOver, takeBack, twinOf, widen, widthOf } from "/mend.js";
import { model, unit } from "/model.js";

const GROUPS = {
  bridge: "Bridges to islands", prop: "Props across openings", widen: "Bridges widened", trim: "Tongues sawn off", join: "Openings joined",
  slot: "Slots opened", "entry-room": "Room for the blade", round: "Turns rounded", "leave-out": "Left out",
};
const folded = new Map(); // what the maker opened or closed by hand

export function makeMendTray(host) {
  const part = (name) => el("section", { class: "card", "data-part": name });
  put(host, part("verdict"), el("section", { class: "card", "aria-label": "What is done" }, howFar(), el("div", { class: "stack", "data-part": "accept" }),
    el("div", { class: "keys" },
      el("button", { type: "button", class: "key", onclick: startPlacing }, icon("plus"), "Place a bridge"),
      el("button", { type: "button", class: "key", onclick: startOver }, icon("cross"), "Forget all choices")),
    live("note wrong", () => (mending.wood ? "There is wood: a bridge begins in an opening, a dark place of the face as drawn." : "")),
    live("soft", () => (mending.placing ? "Tap in an opening: the bridge runs through that spot. Escape or the same key leaves it." : "Drag a numbered bridge on the board to put it elsewhere."))), part("edits"));
  fillMendTray(host);
}

// What is mended: all that is weaker than the rule asks, or only what would fail.
function howFar() {
  const touches = () => Boolean(mending.answer?.before.report.bridges.some(({ width_mm: wide }) => wide === 0));
  const far = pick({ label: "Mend", options: [["all", "All that is weak"], ["stops", "Only what would fail"]], get: () => (model.state?.mend.only_stops ? "stops" : "all"),
    put: (value) => choosing((mend) => { mend.only_stops = value === "stops"; }, value === "stops" ? "Wood that wants care stays as drawn" : "All that is weak is mended") });
  const touch = pick({ label: "Where openings touch", when: touches, options: [["bridge", "Bridge them"], ["open", "Make them one"]], get: () => (model.state?.mend.open_contacts ? "open" : "bridge"),
    put: (value) => choosing((mend) => { mend.open_contacts = value === "open"; }, value === "open" ? "Openings that touch become one" : "Openings that touch are bridged") });
  return [far, touch];
}

function startPlacing(event) {
  // By keyboard (no pointer) the bridge starts at the first entry hole, which lies in the waste.
  if (event.detail === 0 && mending.answer) {
    const [hole] = mending.answer.after.report.cutouts.flatMap((cutout) => cutout.entries);
    if (hole) addBridge([hole.x_mm, hole.y_mm]);
    return;
  }
  placing(!mending.placing);
}

function placing(on) {
  mending.placing = on;
  mending.wood = false;
  refresh();
}

addEventListener("keydown", (event) => {
  if (event.key === "Escape" && mending.placing) placing(false);
});

export function fillMendTray(host) {
  const part = (name) => host.querySelector(`[data-part=${name}]`);
  if (!part("verdict")) return;
  if (mending.error) return put(part("verdict"), el("p", { class: "word stop" }, mark("stop"), el("strong", {}, "This cannot be mended")), el("p", {}, mending.error.what), el("p", { class: "soft" }, capital(mending.error.advice)));
  if (!mending.answer) return put(part("verdict"), el("p", { class: "soft" }, model.trouble === "gone" ? "Waiting for fretgrin …" : "Mending …"));
  const refocus = remembered(host);
  put(part("verdict"), summary());
  put(part("accept"), acceptance());
  // A field made anew would lose what is half typed in it: the list waits for that.
  const typing = part("edits").querySelector("[data-typed]");
  if (typing) typing.onblur = () => setTimeout(() => fillMendTray(host));
  else put(part("edits"), edits());
  refresh();
  refocus();
  showChosen(host);
}

let inView = null; // the edit brought into sight last

function showChosen(host) {
  if (mending.chosen === inView) return;
  const open = host.querySelector(".edit-row.open");
  if (mending.chosen && !open) return; // its row comes with the next answer
  inView = mending.chosen;
  if (open) inSight(open);
}

const KEYS = "button, input, summary";

// Keeps the keyboard where it is while the lists are made anew: on the same key
// of the same edit or, where that is gone, on the one that took its place.
function remembered(host) {
  const focus = document.activeElement;
  const [row, part] = [focus?.closest?.("[data-edit]"), focus?.closest?.("[data-part]")];
  if (!part || !host.contains(part)) return () => {};
  const place = (within) => (within ? [...within.querySelectorAll(KEYS)].indexOf(focus) : -1);
  const [inRow, inPart] = [place(row), place(part)];
  const marked = focus.value && focus.selectionStart === 0 && focus.selectionEnd === focus.value.length;
  return () => {
    const same = row && host.querySelector(`[data-edit="${keyNow(row.dataset.edit)}"]`)?.querySelectorAll(KEYS)[inRow];
    const keys = part.querySelectorAll(KEYS);
    const next = same ?? keys[Math.min(inPart, keys.length - 1)];
    next?.focus({ preventScroll: true });
    if (marked) next?.select?.();
  };
}

const things = (n, one, several = `${one}s`) => `${n} ${n === 1 ? one : several}`;

function summary() {
  const { before, after, edits: all, bridges, unmended, summary: figures } = mending.answer;
  const { stop, care } = after.report.totals;
  const count = all.length + bridges.length;
  const [kind, words] = mendedWords();
  const faults = before.report.totals.stop + before.report.totals.care;
  const facts = count === 0 ? [care ? `${things(care, "place")} to saw with care` : ""] : [things(count, "edit"), `${things(faults, "fault")} before, ${stop + care} after`,
    `${(figures.area_changed_share * 100).toFixed(1)}\u00a0% of the opening changed`, figures.greatest_displacement_mm > 0.005 ? `bridges to islands aside, no line moved more than ${both(figures.greatest_displacement_mm, unit())}` : "",
    figures.axis_mm !== null && figures.axis_mm !== undefined ? "still symmetric" : ""];
  const said = facts.filter(Boolean).join(" · ");
  return [el("p", { class: `word ${kind}` }, kind === "sound" ? icon("tick") : mark(kind), el("strong", {}, words)), said ? el("p", { class: "soft" }, `${said}.`) : null, undone(),
    left(after.report.findings.filter((finding) => finding.severity === "stop"), unmended)];
}

// What the maker asked for and nothing came of.
function undone() {
  const { lost_bridges: lost, lost_widths: unbuilt } = mending.answer;
  const note = (words, key, act) => el("p", { class: "note wrong" }, words, el("button", { type: "button", class: "quiet", onclick: act }, key));
  return [lost.map((index) => note(`Your bridge ${index + 1} lies in wood or cannot be drawn. `, "Take it out", () => removeBridge(index))),
    unbuilt.map(({ index, kind, width_mm: wide }) => note(`${NAMES[kind] ?? kind}: ${both(wide, unit())} wide, as you asked, has no room. `, "Needed width again", () => takeBack(index)))];
}

const MOST = 6; // reasons shown

// What still stops the face, and why mending left it.
function left(stops, unmended) {
  const lines = unmended.length ? unmended.map(({ id, why }) => `${id.replace("-", " ")}: ${why}`) : stops.map(({ message }) => message);
  if (lines.length === 0) return null;
  return el("ul", { class: "left" }, lines.slice(0, MOST).map((line) => el("li", {}, line)), lines.length > MOST ? el("li", {}, `and ${lines.length - MOST} more`) : null);
}

// The one choice that matters: which face is printed and sawn.
function acceptance() {
  const { edits: all, bridges } = mending.answer;
  const count = all.length + bridges.length;
  if (model.state.mend.on) {
    return [el("p", { class: "word sound" }, icon("tick"), el("span", {}, "The mended face is printed and sawn.")),
      el("button", { type: "button", class: "quiet", onclick: () => accept(false) }, "Back to the face as drawn")];
  }
  return count === 0 ? null : [el("button", { type: "button", class: "key wide main", onclick: () => accept(true) }, icon("tick"), count === 1 ? "Accept the edit" : `Accept all ${count} edits`),
    el("p", { class: "soft" }, "Until then the face is printed as drawn.")];
}

// ---- the edits ----

function edits() {
  const { edits: all, bridges, refused } = mending.answer;
  const groups = Object.keys(GROUPS).map((kind) => [kind, all.filter((edit) => edit.kind === kind)]).filter(([, found]) => found.length);
  return [el("h2", {}, "Edits"), bridges.length ? el("ul", { class: "faults edits" }, bridges.map(handRow)) : null,
    groups.map(([kind, found], i) => group(kind, found, i === 0)), groups.length || bridges.length ? null : el("p", { class: "soft" }, "None."),
    refused.length ? [el("h3", {}, `Refused (${refused.length})`), el("ul", { class: "refused" }, refused.map((one) => el("li", {}, el("span", {}, `${NAMES[one.kind] ?? one.kind}, ${both(one.at[0], unit())} from the left, ${both(one.at[1], unit())} up`),
      el("button", { type: "button", class: "quiet", onclick: () => takeBack(one.index) }, "Accept again"))))] : null];
}

function group(kind, found, first) {
  const holds = found.some((edit) => `e${edit.id}` === mending.chosen);
  const open = holds || (folded.get(kind) ?? (first || found.length < 4));
  const node = el("details", { class: "group", open }, el("summary", {}, el("h3", {}, GROUPS[kind]), el("span", { class: "soft" }, String(found.length))),
    el("ul", { class: "faults edits" }, found.map(editRow)),
    found.length > 1 ? el("button", { type: "button", class: "quiet", onclick: () => refuseAll(found) }, `Refuse all ${found.length}`) : null);
  node.querySelector("summary").addEventListener("click", () => folded.set(kind, !node.open));
  return node;
}

function row(key, number, title, why, away, inside) {
  const open = key === mending.chosen;
  return el("li", { "data-edit": key, class: `edit-row${open ? " open" : ""}` }, el("div", { class: "beside" },
    el("button", { type: "button", class: "fault", "aria-expanded": String(open), onclick: () => choose(key) }, el("span", { class: "number", "aria-hidden": "true" }, number),
      el("span", { class: "what" }, el("b", {}, title), el("span", { class: "line" }, why))), away),
  open ? el("div", { class: "detail" }, inside()) : null);
}

const refusal = (words, act) => el("button", { type: "button", class: "round away", title: words, "aria-label": words, onclick: act }, icon("cross"));

function editRow(edit) {
  const key = `e${edit.id}`;
  return row(key, String(edit.id), NAMES[edit.kind], edit.why, refusal(`Refuse edit ${edit.id}`, () => refuse(edit)), () => [
    edit.finding ? el("p", { class: "soft" }, `Removes ${edit.finding.replace("-", " ")}.${edit.pair ? ` Its mirror image is edit ${edit.pair}; both change together.` : ""}`) : null,
    edit.width_mm !== null ? length({ label: "Width", over: 0, get: () => widthOf(key), put: (mm, _, isLive) => !isLive && widen(editOf(key), mm) }) : null,
    edit.kind === "bridge" ? mover(key) : null,
    edit.settled !== null ? el("div", { class: "keys" }, el("button", { type: "button", class: "quiet", onclick: () => asNeeded(edit) }, "Needed width again")) : null,
  ]);
}

function handRow(bridge) {
  const key = `h${bridge.index}`;
  const wide = both(bridge.width_mm, unit());
  const why = bridge.width_mm + 0.001 < bridge.needed_mm ? `${wide} wide; ${both(bridge.needed_mm, unit())} is needed here` : `${wide} wide, enough here`;
  return row(key, icon("hand"), `Your bridge ${bridge.index + 1}`, why, refusal(`Take out your bridge ${bridge.index + 1}`, () => removeBridge(bridge.index)), () => [
    twinOf(bridge.index) >= 0 ? el("p", { class: "soft" }, `Its mirror image is your bridge ${twinOf(bridge.index) + 1}; both move and widen together.`) : null,
    length({ label: "Width", empty: "as needed", get: () => widthOf(key), put: (mm, _, isLive) => !isLive && setHandWidth(bridge.index, mm) }), mover(key)]);
}

// Moves a bridge without dragging: a millimetre a press.
function mover(key) {
  const way = (name, sign, x, y) => el("button", { type: "button", class: "round edged", "aria-label": `Move it ${name}`, onclick: () => nudgeBridge(key, x, y) }, icon(sign));
  return el("div", { class: "field" }, el("p", { class: "soft" }, "Move it, 1 mm a press"), el("div", { class: "keys" },
    way("left", "west", -1, 0), way("right", "east", 1, 0), way("up", "north", 0, 1), way("down", "south", 0, -1)));
}
