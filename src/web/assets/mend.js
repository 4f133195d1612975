// The mending station: the face before and after, every edit to accept or
// refuse, bridges to drag or widen, and the opening as the blade leaves it.

import { board, draw, onPanel, openings, pixel } from "/board.js";
import { byId, el, icon, mark, put, say, shape } from "/dom.js";
import { length, live, pick, refresh, toggle } from "/fields.js";
import { hands, handles } from "/hands.js";
import { both, metric } from "/lengths.js";
import { commit, copy, model, tell, unit } from "/model.js";
import { Refused, ask } from "/server.js";

const NAMES = {
  bridge: "Bridge to an island", widen: "Bridge widened", prop: "Prop across an opening", trim: "Tongue sawn off", join: "Openings joined",
  round: "Turn rounded", slot: "Slot opened", "entry-room": "Room for the blade", "leave-out": "Left out",
};

export const mending = { answer: null, error: null };
let asked = null; // the state the answer is for
let asking = false;
let shown = "compare";
let split = 0.5; // where the divider stands, as a share of the panel
let chosen = null; // "e3" an edit, "h0" a bridge placed by hand
let ghost = null; // where a dragged bridge is
let placing = false; // the next tap places a bridge

// ---- asking ----

export async function askMend() {
  if (asking || !model.project || asked === model.state) return;
  asking = true;
  while (asked !== model.state) {
    const state = model.state;
    asked = state;
    try {
      mending.answer = await ask("mend", { project: model.project, state });
      mending.error = null;
    } catch (error) {
      mending.error = error instanceof Refused ? error : new Refused(0, { text: "the bench cannot be reached" });
    }
    tell("mended");
  }
  asking = false;
}

export function forgetMend() {
  Object.assign(mending, { answer: null, error: null });
  asked = null;
  chosen = null;
}

// ---- the stage ----

export function mendStage(stage) {
  board.view = mending.answer?.before ?? null;
  board.overlay = mending.answer ? { face: faces, marks } : null;
  hands.on = false;
  hands.other = { handles: knobs, down };
  if (!stage.querySelector(".bar")) stage.append(bar());
  draw();
  handles();
  refresh();
}

export function leaveMend(stage) {
  board.view = null;
  board.overlay = null;
  hands.on = true;
  hands.other = null;
  stage.querySelector(".bar")?.remove();
}

function bar() {
  const slide = el("input", { type: "range", min: 0, max: 100, value: split * 100, "aria-label": "Divider between before and after",
    oninput: () => { split = slide.value / 100; draw(); handles(); } });
  const show = (value) => {
    shown = value;
    slide.hidden = value !== "compare";
    draw();
    handles();
  };
  slide.hidden = shown !== "compare";
  return el("div", { class: "bar" },
    pick({ label: "Show", options: [["before", "Before"], ["compare", "Compare"], ["after", "After"], ["sawn", "As sawn"]], get: () => shown, put: show }), slide);
}

function faces() {
  const { before, after, edits, bridges, sawn } = mending.answer;
  const { width_mm: w, height_mm: h } = before.report.panel;
  const islands = (view) => view.islands.map(({ d }) => (d ? shape("path", { d, class: "island" }) : null));
  const was = () => [openings(before.cutouts), islands(before)];
  const is = () => [openings(after.cutouts), islands(after)];
  const clipped = (id, cutouts) => shape("clipPath", { id }, cutouts.map(({ d }) => shape("path", { d, "clip-rule": "evenodd" })));
  const changes = [clipped("was", before.cutouts), clipped("is", after.cutouts), [...edits.map((edit) => [edit.d, edit.gives_back, `e${edit.id}`]), ...bridges.map((b) => [b.d, true, `h${b.index}`])]
    .map(([d, gives, key]) => shape("path", { d, "clip-path": gives ? "url(#was)" : "url(#is)", class: `edit ${gives ? "gives" : "opens"}${key === chosen ? " chosen" : ""}`, "stroke-width": (key === chosen ? 3 : 1.2) * pixel() }))];
  if (shown === "before") return was();
  if (shown === "after") return [is(), changes];
  if (shown === "sawn") return [openings(after.cutouts, "unsawn"), shape("path", { d: sawn, class: "cut" })];
  const x = split * w;
  const clip = (id, from, to) => shape("clipPath", { id }, shape("rect", { x: from, y: -60, width: Math.max(0, to - from), height: h + 120 }));
  return [clip("left", -60, x), clip("right", x, w + 60), shape("g", { "clip-path": "url(#left)" }, was()), shape("g", { "clip-path": "url(#right)" }, is(), changes)];
}

function marks(height) {
  if (shown !== "compare") return null;
  const { width_mm: w } = mending.answer.before.report.panel;
  const k = pixel();
  const x = split * w;
  const text = (words, dx, anchor) => shape("text", { x: x + dx * k, y: -6 * k, "text-anchor": anchor, "font-size": 13 * k, class: "side-word" }, words);
  return shape("g", { class: "divider", "data-hold": "divider" }, shape("path", { d: `M${x} ${-4 * k}V${height + 4 * k}`, "stroke-width": 2 * k }),
    shape("rect", { x: x - 22 * k, y: height - 60 * k, width: 44 * k, height: 44 * k, class: "target" }),
    shape("circle", { cx: x, cy: height - 38 * k, r: 13 * k }), shape("path", { d: `M${x - 5 * k} ${height - 38 * k}h${10 * k}m${-3 * k} ${-3 * k}l${3 * k} ${3 * k}l${-3 * k} ${3 * k}m${-4 * k} 0l${-3 * k} ${-3 * k}l${3 * k} ${-3 * k}`, class: "arrows", "stroke-width": 1.6 * k }),
    text("before", -8, "end"), text("after", 8, "start"));
}

// ---- knobs: one for each edit, to pick, drag, or move by arrows ----

function knobs(layer) {
  if (!mending.answer || shown === "before" || shown === "sawn") return put(layer);
  const { edits, bridges, before } = mending.answer;
  const height = before.report.panel.height_mm;
  const k = pixel();
  const knob = (key, at, words, number, moves) => {
    const node = shape("g", { class: `edit-knob${key === chosen ? " chosen" : ""}${moves ? " moves" : ""}`, "data-hold": key, tabindex: 0, role: "button", "aria-pressed": String(key === chosen),
      "aria-label": moves ? `${words}. Arrow keys move it.` : words, transform: `translate(${at[0]} ${height - at[1]}) scale(${k})`, onkeydown: (event) => keys(event, key) },
    shape("circle", { r: 16, class: "target" }), shape("circle", { r: 9.500, class: "disc" }), shape("text", { y: 3.900, "text-anchor": "middle", "font-size": 10.500 }, String(number)));
    return node;
  };
  const focus = document.activeElement?.closest?.(".edit-knob")?.dataset.hold;
  const seen = ({ at }) => shown !== "compare" || at[0] > split * before.report.panel.width_mm - 3;
  put(layer, edits.filter(seen).map((edit) => knob(`e${edit.id}`, edit.at, `Edit ${edit.id}: ${NAMES[edit.kind]}`, edit.id, edit.kind === "bridge")),
    bridges.map((b) => knob(`h${b.index}`, b.at, `Your bridge ${b.index + 1}`, "✋", true)),
    ghost ? shape("g", { class: "ghost", transform: `translate(${ghost[0]} ${height - ghost[1]})` }, shape("circle", { r: 14 * k }), shape("path", { d: `M${-22 * k} 0h${44 * k}M0 ${-22 * k}v${44 * k}`, "stroke-width": 2 * k })) : null);
  if (focus) layer.querySelector(`[data-hold="${focus}"]`)?.focus({ preventScroll: true });
}

const editOf = (key) => mending.answer?.edits.find((edit) => `e${edit.id}` === key);
const handOf = (key) => mending.answer?.bridges.find((b) => `h${b.index}` === key);

function down(event, kind) {
  if (!mending.answer) return null;
  if (placing) {
    placing = false;
    const at = onPanel(event);
    return { move() {}, up() { addBridge(at); } };
  }
  if (kind === "divider") {
    const { width_mm: w } = mending.answer.before.report.panel;
    return { move([x]) { split = Math.min(1, Math.max(0, x / w)); byId("stage").querySelector(".bar input[type=range]").value = split * 100; draw(); handles(); }, up() {} };
  }
  const moves = editOf(kind)?.kind === "bridge" || handOf(kind);
  if (!editOf(kind) && !handOf(kind)) return null;
  return {
    move(at) { if (moves) { ghost = at; handles(); } },
    up(done) {
      const at = ghost;
      ghost = null;
      if (done && at && moves) moveBridge(kind, at);
      else choose(kind);
    },
  };
}

function keys(event, key) {
  const step = event.shiftKey ? 5 : 1;
  const way = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key];
  const from = editOf(key)?.at ?? handOf(key)?.at;
  if (way && from && (handOf(key) || editOf(key).kind === "bridge")) {
    event.preventDefault();
    moveBridge(key, [from[0] + way[0], from[1] + way[1]]);
  } else if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    choose(key);
  } else if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    if (handOf(key)) removeBridge(handOf(key).index);
    else refuse(editOf(key));
  }
}

export function choose(key) {
  chosen = chosen === key ? null : key;
  tell("mended");
}

// ---- what can be settled ----

// A place on the panel in the drawing's own space, by two places known in both.
function own(at) {
  const { middle, report } = mending.answer.before;
  const { scale, turn_deg: turn, mirrored, stretch_x: sx, stretch_y: sy } = report.fit;
  const m = new DOMMatrix().translate(...middle).scale(sx, sy).rotate(turn).scale(mirrored ? -scale : scale, scale).inverse();
  const p = m.transformPoint(new DOMPoint(...at));
  return { x: round(p.x), y: round(p.y) };
}
const round = (value) => Math.round(value * 1000) / 1000;

function settle(change, words) {
  const next = copy();
  next.mend.on = true;
  change(next.mend);
  commit(next);
  say(words);
}

// The edit and, on a symmetric face, its mirror image.
const pairOf = (edit) => [edit, mending.answer.edits.find((other) => other.id === edit.pair)].filter(Boolean);

function rule(edit, more, words) {
  settle((mend) => {
    const pair = pairOf(edit);
    const gone = new Set(pair.map((one) => one.settled).filter((index) => index !== null));
    mend.settled = mend.settled.filter((_, index) => !gone.has(index));
    if (more) for (const one of pair) mend.settled.push({ kind: one.kind, x: round(one.own[0]), y: round(one.own[1]), ...more });
  }, words);
}

const refuse = (edit) => rule(edit, {}, `Edit ${edit.id} refused`);
const widen = (edit, mm) => rule(edit, { width_mm: round(mm) }, `Edit ${edit.id} is ${both(mm, unit())} wide now`);

function takeBack(index) {
  settle((mend) => {
    const back = mend.settled[index];
    const same = (s) => s.kind === back.kind && s.width_mm === undefined === (back.width_mm === undefined)
      && Math.abs(Math.abs(s.x) - Math.abs(back.x)) < 1.5 && Math.abs(s.y - back.y) < 1.5;
    mend.settled = mend.settled.filter((s) => s !== back && !same(s));
  }, "Accepted again");
}

// The place mirrored, where the mended face is symmetric.
function image(at) {
  const axis = mending.answer.summary.axis_mm;
  return axis === null || axis === undefined || Math.abs(at[0] - axis) < 2 ? null : [2 * axis - at[0], at[1]];
}

function moveBridge(key, at) {
  const hand = handOf(key);
  settle((mend) => {
    if (hand) {
      const { width_mm: width } = mend.bridges[hand.index];
      mend.bridges[hand.index] = { ...own(at), ...(width ? { width_mm: width } : {}) };
      return;
    }
    const edit = editOf(key);
    for (const one of pairOf(edit)) mend.settled.push({ kind: one.kind, x: round(one.own[0]), y: round(one.own[1]) });
    mend.bridges.push(own(at));
    if (edit.pair && image(at)) mend.bridges.push(own(image(at)));
  }, "Bridge moved");
  if (!hand) chosen = null;
}

function addBridge(at) {
  settle((mend) => mend.bridges.push(own(at)), "Bridge placed");
}

function removeBridge(index) {
  settle((mend) => mend.bridges.splice(index, 1), "Bridge taken out");
  chosen = null;
}

// ---- the tray ----

export function makeMendTray(host) {
  const verdict = el("section", { class: "card", "data-part": "verdict" });
  const list = el("section", { class: "card", "data-part": "edits" });
  put(host, verdict, el("section", { class: "card" },
    toggle({ label: "Print and saw the mended face", about: "off: the face as drawn", get: () => model.state.mend.on, put: (on) => { const next = copy(); next.mend.on = on; commit(next); } }),
    el("div", { class: "keys" },
      el("button", { type: "button", class: "key", onclick: startPlacing }, icon("plus"), "Place a bridge"),
      el("button", { type: "button", class: "key", onclick: startOver }, icon("cross"), "Forget all choices")),
    live("soft", () => (placing ? "Tap in an opening: the bridge runs through that spot." : "Drag a numbered bridge to put it elsewhere."))), list);
  fillMendTray(host);
}

function startPlacing(event) {
  // By keyboard (no pointer) the bridge starts at the first entry hole, which lies in the waste.
  if (event.detail === 0 && mending.answer) {
    const [hole] = mending.answer.after.report.cutouts.flatMap((cutout) => cutout.entries);
    if (hole) addBridge([hole.x_mm, hole.y_mm]);
    return;
  }
  placing = true;
  refresh();
}

function startOver() {
  settle((mend) => Object.assign(mend, { settled: [], bridges: [] }), "All choices forgotten");
}

export function fillMendTray(host) {
  const verdict = host.querySelector("[data-part=verdict]");
  const list = host.querySelector("[data-part=edits]");
  if (!verdict) return;
  if (mending.error) return put(verdict, el("p", { class: "word stop" }, mark("stop"), el("strong", {}, "This cannot be mended")), el("p", {}, mending.error.what));
  if (!mending.answer) return put(verdict, el("p", { class: "soft" }, "Mending …"));
  put(verdict, summary());
  const focus = document.activeElement?.closest?.("[data-edit]")?.dataset.edit;
  put(list, edits());
  if (focus) list.querySelector(`[data-edit="${focus}"] button`)?.focus({ preventScroll: true });
  refresh();
}

function summary() {
  const { before, after, edits: all, bridges, unmended, summary: figures } = mending.answer;
  const stop = after.report.totals.stop;
  const count = all.length + bridges.length;
  const nothing = count === 0;
  const [kind, words] = stop ? ["stop", `${stop} ${stop === 1 ? "thing still stops" : "things still stop"} this face`]
    : nothing ? ["sound", "Nothing to mend"] : after.report.totals.care ? ["care", "Mended; saw with care"] : ["sound", "Mended: ready to saw"];
  const facts = [`${before.report.totals.stop + before.report.totals.care} faults before, ${stop + after.report.totals.care} after`, `${count} ${count === 1 ? "edit" : "edits"}`,
    `${(figures.area_changed_share * 100).toFixed(1)} % of the opening changed`, figures.greatest_displacement_mm > 0.005 ? `no line moved more than ${metric(figures.greatest_displacement_mm, 2)}` : "",
    figures.axis_mm !== null && figures.axis_mm !== undefined ? "still symmetric" : ""];
  return [el("p", { class: `word ${kind}` }, kind === "sound" ? icon("tick") : mark(kind), el("strong", {}, words)),
    el("p", { class: "soft" }, `${facts.filter(Boolean).join(" · ")}.`),
    unmended.length ? el("ul", { class: "left" }, unmended.map(({ id, why }) => el("li", {}, `${id.replace("-", " ")}: ${why}`))) : null];
}

function edits() {
  const { edits: all, bridges, refused, lost_bridges: lost } = mending.answer;
  const rows = [...bridges.map(handRow), ...all.map(editRow)];
  return [el("h2", {}, "Edits"), rows.length ? el("ul", { class: "faults edits" }, rows) : el("p", { class: "soft" }, "None."),
    lost.map((index) => el("p", { class: "note wrong" }, `Your bridge ${index + 1} lies in wood or cannot be drawn. `, el("button", { type: "button", class: "quiet", onclick: () => removeBridge(index) }, "Take it out"))),
    refused.length ? [el("h3", {}, "Refused"), el("ul", { class: "refused" }, refused.map((one) => el("li", {}, el("span", {}, `${NAMES[one.kind] ?? one.kind}, ${both(one.at[0], unit())} from the left, ${both(one.at[1], unit())} up`),
      el("button", { type: "button", class: "quiet", onclick: () => takeBack(one.index) }, "Accept again"))))] : null];
}

function row(key, number, title, why, inside) {
  const open = key === chosen;
  return el("li", { "data-edit": key, class: `edit-row${open ? " open" : ""}` },
    el("button", { type: "button", class: "fault", "aria-expanded": String(open), onclick: () => choose(key) }, el("span", { class: "number" }, String(number)),
      el("span", { class: "what" }, el("b", {}, title), el("span", { class: "line" }, why))),
    open ? el("div", { class: "detail" }, inside()) : null);
}

function editRow(edit) {
  return row(`e${edit.id}`, edit.id, NAMES[edit.kind], edit.why, () => [
    edit.finding ? el("p", { class: "soft" }, `Removes ${edit.finding.replace("-", " ")}.${edit.pair ? ` Its mirror image is edit ${edit.pair}; both change together.` : ""}`) : null,
    edit.width_mm !== null ? length({ label: "Width", get: () => editOf(`e${edit.id}`)?.width_mm ?? null, put: (mm, _, isLive) => !isLive && mm > 0 && widen(editOf(`e${edit.id}`), mm) }) : null,
    el("div", { class: "keys" }, el("button", { type: "button", class: "key", onclick: () => refuse(edit) }, icon("cross"), "Refuse"),
      edit.settled !== null ? el("button", { type: "button", class: "quiet", onclick: () => rule(edit, null, "The needed width again") }, "Needed width again") : null),
  ]);
}

function handRow(bridge) {
  const wide = both(bridge.width_mm, unit());
  const why = bridge.width_mm + 0.001 < bridge.needed_mm ? `${wide} wide; ${both(bridge.needed_mm, unit())} is needed here` : `${wide} wide, enough here`;
  return row(`h${bridge.index}`, "✋", `Your bridge ${bridge.index + 1}`, why, () => [
    length({ label: "Width", empty: "as needed", get: () => handOf(`h${bridge.index}`)?.width_mm ?? null,
      put: (mm, _, isLive) => !isLive && settle((mend) => { mend.bridges[bridge.index].width_mm = mm > 0 ? round(mm) : undefined; }, "Width set") }),
    el("div", { class: "keys" }, el("button", { type: "button", class: "key", onclick: () => removeBridge(bridge.index) }, icon("cross"), "Take it out")),
  ]);
}
