// The board at the mending station: the face before, beside and after, as the
// blade leaves it, and a knob for each edit to pick or drag.

import { board, draw, onPanel, openings, pixel, reveal, spot } from "/board.js";
import { STROKES, byId, el, put, shape } from "/dom.js";
import { pick, refresh } from "/fields.js";
import { hands, handles } from "/hands.js";
import { NAMES, addBridge, choose, editOf, handOf, inOpening, keyNow, mending, movable, moveBridge, nudgeBridge, refuse, removeBridge } from "/mend.js";

const ROOM = 21; // pixels a numbered knob keeps from the next; one with less room shows as a dot
const WORDED = 120; // pixels a board is wide at least to have “before” and “after” written on it

let shown = "compare";
let split = 0.5; // where the divider stands, as a share of the panel
let ghost = null; // a bridge being dragged: { key, from, at }
let lastChosen = null;

export function mendStage(stage) {
  board.view = mending.answer?.before ?? null;
  board.overlay = mending.answer ? { face: faces, marks } : null;
  hands.on = false;
  hands.other = { handles: knobs, down, tap };
  if (!stage.querySelector(".bar")) stage.append(bar());
  if (mending.chosen !== lastChosen) {
    lastChosen = mending.chosen;
    const at = (editOf(lastChosen) ?? handOf(lastChosen))?.at;
    if (at) {
      reveal(at);
      if (shown === "compare" && at[0] < split * board.view.report.panel.width_mm) split = Math.max(0, (at[0] - 12) / board.view.report.panel.width_mm);
    }
  }
  draw();
  handles();
  refresh();
}

export function leaveMend(stage) {
  board.view = null;
  board.overlay = null;
  hands.on = true;
  hands.other = null;
  mending.placing = false;
  stage.querySelector(".bar")?.remove();
}

function bar() {
  const show = (value) => {
    shown = value;
    draw();
    handles();
  };
  return el("div", { class: "bar" },
    pick({ label: "Show", options: [["before", "Before"], ["compare", "Compare"], ["after", "After"], ["sawn", "As sawn"]], get: () => shown, put: show }));
}

// ---- the face ----

const clip = (id, ...inside) => shape("clipPath", { id }, inside);

function changes() {
  const { before, after, edits, bridges } = mending.answer;
  const inside = (id, cutouts) => clip(id, cutouts.map(({ d }) => shape("path", { d, "clip-rule": "evenodd" })));
  const all = [...edits.map((edit) => [edit.d, edit.gives_back, `e${edit.id}`]), ...bridges.map((b) => [b.d, true, `h${b.index}`])];
  return [inside("was", before.cutouts), inside("is", after.cutouts), all.map(([d, gives, key]) => {
    const chosen = key === mending.chosen;
    return shape("path", { d, "clip-path": gives ? "url(#was)" : "url(#is)", class: `edit ${gives ? "gives" : "opens"}${chosen ? " chosen" : ""}`, "stroke-width": (chosen ? 3 : 1.2) * pixel() });
  })];
}

function faces() {
  const { before, after, sawn } = mending.answer;
  const { width_mm: w, height_mm: h } = before.report.panel;
  const islands = (view) => view.islands.map(({ d }) => (d ? shape("path", { d, class: "island" }) : null));
  const was = () => [openings(before.cutouts), islands(before)];
  const is = () => [openings(after.cutouts), islands(after)];
  if (shown === "before") return was();
  if (shown === "after") return [is(), changes()];
  if (shown === "sawn") return [openings(after.cutouts, "unsawn"), shape("path", { d: sawn, class: "cut" })];
  const x = split * w;
  const half = (id, from, to) => clip(id, shape("rect", { x: from, y: -60, width: Math.max(0, to - from), height: h + 120 }));
  return [half("left", -60, x), half("right", x, w + 60), shape("g", { "clip-path": "url(#left)" }, was()), shape("g", { "clip-path": "url(#right)" }, is(), changes())];
}

const sees = (at) => shown === "after" || (shown === "compare" && at[0] > split * mending.answer.before.report.panel.width_mm - 3);

// What still stops the mended face, where it does.
function marks() {
  if (shown === "before" || shown === "sawn") return null;
  const left = mending.answer.after.report.findings.filter((finding) => finding.severity === "stop" && finding.x_mm !== null);
  return left.map((finding) => [finding, { x: finding.x_mm, y: finding.y_mm }]).filter(([, at]) => sees([at.x])).map(([finding, at]) => spot(finding, at, false));
}

// ---- the divider ----

function setSplit(share) {
  split = Math.min(1, Math.max(0, share));
  draw();
  handles();
}

function divider(height) {
  const { width_mm: w } = mending.answer.before.report.panel;
  const k = pixel();
  const x = split * w;
  const y = height - 36 * k;
  // The words stand on the wood, under the lid of a box; a board too small for them has none.
  const lid = board.view.box?.lid;
  const top = Math.max(0, lid ? height - lid[1] : 0) + 17 * k;
  const text = (words, dx, anchor) => w / k > WORDED && shape("text", { x: x + dx * k, y: top, "text-anchor": anchor, "font-size": 14 * k, class: "side-word" }, words);
  const keys = (event) => {
    const by = { ArrowLeft: -0.02, ArrowDown: -0.02, ArrowRight: 0.02, ArrowUp: 0.02, PageDown: -0.1, PageUp: 0.1, Home: -1, End: 1 }[event.key];
    if (by === undefined) return;
    event.preventDefault();
    setSplit(split + by);
  };
  return shape("g", { class: "divider", "data-hold": "divider", tabindex: 0, role: "slider", "aria-label": "Divider between before and after",
    "aria-valuemin": 0, "aria-valuemax": 100, "aria-valuenow": Math.round(split * 100), "aria-valuetext": `${Math.round(split * 100)} % before`, onkeydown: keys },
  shape("path", { d: `M${x} ${-4 * k}V${height + 4 * k}`, "stroke-width": 2 * k }), shape("rect", { x: x - 24 * k, y: y - 24 * k, width: 48 * k, height: 48 * k, class: "target" }),
  shape("circle", { cx: x, cy: y, r: 17 * k, "stroke-width": 3 * k }),
  shape("path", { d: `M${x - 7 * k} ${y}h${14 * k}m${-4 * k} ${-4 * k}l${4 * k} ${4 * k}l${-4 * k} ${4 * k}m${-6 * k} 0l${-4 * k} ${-4 * k}l${4 * k} ${-4 * k}`, class: "arrows", "stroke-width": 1.8 * k }),
  text("before", -8, "end"), text("after", 8, "start"));
}

// ---- knobs ----

// Knobs in the order of their weight: the chosen one, what can be dragged, the rest.
function ranked() {
  const { edits, bridges } = mending.answer;
  const all = [...bridges.map((b) => ({ key: `h${b.index}`, at: b.at, words: `Your bridge ${b.index + 1}`, face: null, weight: 2 })),
    ...edits.map((edit) => ({ key: `e${edit.id}`, at: edit.at, words: `Edit ${edit.id}: ${NAMES[edit.kind]}`, face: String(edit.id), weight: edit.kind === "bridge" ? 1 : 0 }))];
  const weight = (one) => (one.key === mending.chosen ? 3 : one.weight);
  return all.filter(({ at }) => sees(at)).sort((a, b) => weight(b) - weight(a));
}

function knobs(layer) {
  if (!mending.answer) return put(layer);
  const height = mending.answer.before.report.panel.height_mm;
  const k = pixel();
  const full = [];
  const drawn = (shown === "before" || shown === "sawn" ? [] : ranked()).map((one) => {
    const roomy = full.every((at) => Math.hypot(at[0] - one.at[0], at[1] - one.at[1]) > ROOM * k);
    if (roomy) full.push(one.at);
    return { roomy, node: knob(one, roomy, height, k) };
  });
  const under = (roomy) => drawn.filter((one) => one.roomy === roomy).map(({ node }) => node).reverse();
  const held = document.activeElement?.closest?.("[data-hold]")?.dataset.hold;
  put(layer, under(false), under(true), shown === "compare" ? divider(height) : null, dragged(height, k));
  if (held) layer.querySelector(`[data-hold="${keyNow(held)}"]`)?.focus({ preventScroll: true });
}

function knob({ key, at, words, face }, roomy, height, k) {
  const chosen = key === mending.chosen;
  const moves = movable(key);
  return shape("g", { class: `edit-knob${chosen ? " chosen" : ""}${moves ? " moves" : ""}`, "data-hold": key, tabindex: chosen ? 0 : -1, role: "button", "aria-pressed": String(chosen),
    "aria-label": moves ? `${words}. Arrow keys move it.` : words, transform: `translate(${at[0]} ${height - at[1]}) scale(${k})`, onkeydown: (event) => keys(event, key) },
  roomy ? [shape("circle", { r: 22, class: "target" }), shape("circle", { r: 10, class: "disc" }), face ? shape("text", { y: 3.8, "text-anchor": "middle", "font-size": 10.5 }, face) : shape("path", { d: STROKES.hand, class: "palm", transform: "translate(-7.200 -7.400) scale(.6)" })]
    : [shape("circle", { r: 10, class: "target" }), shape("circle", { r: 4, class: "dot" })]);
}

function dragged(height, k) {
  if (!ghost) return null;
  const { key, from, at } = ghost;
  const d = (editOf(key) ?? handOf(key))?.d;
  return shape("g", { class: "ghost" },
    d ? shape("path", { d, transform: `matrix(1 0 0 -1 ${at[0] - from[0]} ${height - at[1] + from[1]})`, class: "plank", "stroke-width": 1.5 * k }) : null,
    shape("circle", { cx: at[0], cy: height - at[1], r: 14 * k, "stroke-width": 2 * k }));
}

function down(event, kind) {
  // While a bridge is being placed the board may be drawn closer and moved; only a tap places.
  if (!mending.answer || mending.placing) return null;
  if (kind === "divider") {
    const { width_mm: w } = mending.answer.before.report.panel;
    byId("stage").querySelector(".divider")?.focus({ preventScroll: true });
    return { move([x]) { setSplit(x / w); }, up() {} };
  }
  const from = (editOf(kind) ?? handOf(kind))?.at;
  if (!from) return null;
  return {
    move(at) {
      if (!movable(kind)) return;
      ghost = { key: kind, from, at };
      handles();
    },
    cancel() { ghost = null; },
    up(done) {
      const at = ghost?.at;
      ghost = null;
      if (!done || !at) return choose(kind);
      if (inOpening(at)) return moveBridge(kind, at);
      refresh();
      return handles();
    },
  };
}

function tap(at) {
  if (!mending.answer || !mending.placing) return;
  if (inOpening(at)) {
    mending.placing = false;
    addBridge(at);
  }
  refresh();
}

function keys(event, key) {
  const step = event.shiftKey ? 5 : 1;
  const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key];
  if (way && movable(key)) {
    event.preventDefault();
    nudgeBridge(key, ...way);
  } else if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    choose(key);
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    if (handOf(key)) removeBridge(handOf(key).index);
    else refuse(editOf(key));
  }
}
