// Moving, scaling and turning the face: by pointer, by two fingers, by keys.

import { el, icon, put, say, shape } from "/dom.js";
import { board, guides, handsLayer, markNear, onPanel, pan, pixel, showWhole, zoomBy, zoomed } from "/board.js";
import { both } from "/lengths.js";
import { model, select, unit, untry } from "/model.js";
import { bounds, layAt, placement, showAt, size, windowCentre } from "/place.js";

// `other`: another station's hands on the board: { handles(layer), down(event) → drag or
// null, tap(at) }.
export const hands = { snap: true, on: true, other: null };

const GRAB = 22; // half the side of a handle's target, pixels
const CATCH = 7; // pixels within which a centre catches
const GHOST = 400; // ms within which a click that a tap brings along has come: ours, browsers waited 300

let held = null; // what is being dragged
const fingers = new Map(); // where each finger is on the panel
const screen = new Map(); // and on the screen
let guide = [null, null];

export function makeHands(host, svg) {
  // A finger left on a board that is gone never comes up.
  fingers.clear();
  screen.clear();
  held = null;
  svg.addEventListener("pointerdown", down);
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", up);
  svg.addEventListener("wheel", (event) => {
    event.preventDefault();
    if (model.view) zoomBy(Math.exp(-event.deltaY * 0.0015), onPanel(event));
    handles();
  }, { passive: false });
  const key = (label, name, action) => el("button", { class: "round", type: "button", title: label, "aria-label": label, onclick: () => { action(); handles(); } }, icon(name));
  host.append(el("div", { class: "zoom", role: "group", "aria-label": "Zoom" },
    key("Closer", "plus", () => zoomBy(1.5)), key("Farther", "minus", () => zoomBy(1 / 1.5)), key("Whole board", "whole", showWhole)));
  new ResizeObserver(() => handles()).observe(svg);
}

// ---- handles ----

export function handles() {
  if (!model.view || !hands.on) return hands.other ? hands.other.handles(handsLayer()) : put(handsLayer());
  const at = placement();
  const height = model.view.report.panel.height_mm;
  const [w, h] = size(at);
  const k = pixel();
  const pad = 6 * k;
  const [x, y] = [w / 2 + pad, h / 2 + pad];
  const place = `matrix(1 0 0 -1 ${at.middle[0]} ${height - at.middle[1]}) rotate(${at.turn})`;
  const dot = (cx, cy, kind) => shape("g", { class: "handle", "data-hold": kind },
    shape("circle", { cx, cy, r: GRAB * k, class: "target" }), shape("circle", { cx, cy, r: 8 * k, class: "knob" }));
  const lift = y + 34 * k;
  const body = shape("rect", { x: -x, y: -y, width: 2 * x, height: 2 * y, class: "hold", "data-hold": "move" });
  const group = shape("g", {
    id: "hands", transform: place, tabindex: 0, role: "application", "aria-roledescription": "movable face",
    "aria-label": `The face. ${words(at)} Arrow keys move it, plus and minus scale it, brackets turn it, M mirrors it, C centres it.`,
    onkeydown: keys,
  }, body, shape("rect", { x: -x, y: -y, width: 2 * x, height: 2 * y, class: "frame", "stroke-width": 1.6 * k, "stroke-dasharray": `${7 * k} ${5 * k}` }),
  shape("path", { d: `M0 ${y}V${lift}`, class: "stem", "stroke-width": 1.6 * k }),
  dot(-x, -y, "scale"), dot(x, -y, "scale"), dot(x, y, "scale"), dot(-x, y, "scale"), dot(0, lift, "turn"));
  const focused = document.activeElement?.id === "hands";
  put(handsLayer(), guides(...guide), group);
  if (focused) handsLayer().querySelector("#hands").focus({ preventScroll: true });
}

function words(at) {
  const box = bounds(at);
  return `${both(box.left, unit())} from the left, ${both(box.bottom, unit())} up, ${both(box.width, unit())} wide.`;
}

// ---- pointers ----

function down(event) {
  if (!model.view || event.button > 0) return;
  const kind = event.target.closest("[data-hold]")?.getAttribute("data-hold") ?? "ground";
  fingers.set(event.pointerId, onPanel(event));
  screen.set(event.pointerId, [event.clientX, event.clientY]);
  board.svg.setPointerCapture(event.pointerId);
  if (fingers.size === 2 && held) return second();
  if (fingers.size > 1) return;
  const client = [event.clientX, event.clientY];
  const drag = hands.on ? null : hands.other?.down(event, kind);
  if (drag) {
    held = { kind: "other", drag, client, moved: false };
    return;
  }
  const free = kind === "ground" || !hands.on;
  held = { kind: free ? "pan" : kind, start: placement(), from: onPanel(event), client, moved: false };
  if (!free) handsLayer().querySelector("#hands")?.focus({ preventScroll: true });
}

// A second finger: two on the face turn and scale it, two anywhere else bring the
// board closer, whatever the first had begun there.
function second() {
  const free = ["pan", "zoom", "other"].includes(held.kind);
  held.drag?.cancel?.();
  const [a, b] = [...screen.values()];
  held = free ? { kind: "zoom", span: distance(a, b), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], moved: true }
    : { kind: "pinch", start: placement(), from: [...fingers.values()], moved: true };
  handles();
}

// Pixels a press may move and still be a tap: a finger rolls.
const still = (event) => (event.pointerType === "mouse" ? 3 : 10);

function move(event) {
  if (!held || !fingers.has(event.pointerId)) return;
  screen.set(event.pointerId, [event.clientX, event.clientY]);
  if (held.kind === "pan") return panning(event);
  const now = onPanel(event);
  fingers.set(event.pointerId, now);
  if (["zoom", "pinch"].includes(held.kind) && fingers.size < 2) return; // the other was lifted
  const apart = Math.hypot(event.clientX - (held.client?.[0] ?? 0), event.clientY - (held.client?.[1] ?? 0));
  if (!held.moved && apart < still(event)) return;
  held.moved = true;
  guide = [null, null];
  if (held.kind === "other") return held.drag.move(now);
  if (held.kind === "zoom") return zooming();
  const at = { move: moved, scale: scaled, turn: turned, pinch: pinched }[held.kind](held, now, event);
  showAt(held.at = within(at));
}

// A face dragged off the panel could not be taken hold of any more: a finger's width
// of it, or all of a small one, stays on the panel.
function within(at) {
  const { width_mm: w, height_mm: h } = model.view.report.panel;
  const box = bounds(at);
  const off = (low, size, most) => {
    const stay = Math.min(2 * GRAB * pixel(), size, most);
    return Math.max(stay - low - size, Math.min(0, most - stay - low));
  };
  return { ...at, middle: [at.middle[0] + off(box.left, box.width, w), at.middle[1] + off(box.bottom, box.height, h)] };
}

// Escape takes back what is being dragged.
addEventListener("keydown", ({ key }) => {
  if (key === "Escape" && held?.moved) letGo();
});

function letGo() {
  held.drag?.cancel?.();
  held = null;
  guide = [null, null];
  untry();
  handles();
}

// Two fingers beside the face, or at another station, bring the board closer.
function zooming() {
  const [a, b] = [...screen.values()];
  const span = distance(a, b);
  const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  if (span > 0) zoomBy(span / held.span, onPanel({ clientX: middle[0], clientY: middle[1] }));
  const k = pixel();
  if (zoomed()) pan((held.middle[0] - middle[0]) * k, (middle[1] - held.middle[1]) * k);
  Object.assign(held, { span: Math.max(1, span), middle });
  handles();
}

function panning(event) {
  if (Math.hypot(event.clientX - held.client[0], event.clientY - held.client[1]) >= still(event)) held.moved = true;
  if (!held.moved || !zoomed()) return;
  const k = pixel();
  pan((held.client[0] - event.clientX) * k, (event.clientY - held.client[1]) * k);
  held.client = [event.clientX, event.clientY];
  handles();
}

// A finger's tap is followed by a press and a click on what lies there by then: the
// tray, where the tap has just unfolded it. Nothing on the board asks for them, so they
// are dropped.
function noClickAfter({ clientX: x, clientY: y }) {
  const drop = (event) => {
    if (Math.hypot(event.clientX - x, event.clientY - y) > GRAB) return;
    event.preventDefault();
    event.stopImmediatePropagation();
  };
  for (const kind of ["mousedown", "click"]) {
    addEventListener(kind, drop, true);
    setTimeout(() => removeEventListener(kind, drop, true), GHOST);
  }
}

function up(event) {
  if (event.pointerType !== "mouse") noClickAfter(event);
  fingers.delete(event.pointerId);
  screen.delete(event.pointerId);
  if (!held || fingers.size > 0) return;
  // The system took the finger away: nobody meant what it did.
  if (event.type === "pointercancel") return letGo();
  const { moved: done, at, drag } = held;
  held = null;
  if (drag) drag.up(done);
  else if (!done && hands.on) tapped(onPanel(event));
  else if (!done) hands.other?.tap?.(onPanel(event));
  guide = [null, null];
  if (done && at) layAt(at);
  handles();
}

// A tap on a mark picks its finding.
function tapped(at) {
  const id = markNear(at);
  if (id) select(id);
}

function moved({ start, from }, now, event) {
  const middle = [start.middle[0] + now[0] - from[0], start.middle[1] + now[1] - from[1]];
  return { ...start, middle: event.altKey || !hands.snap ? middle : caught(start, middle) };
}

// Catches the window's centre, or an edge of the window, within a few pixels.
function caught(start, middle) {
  const reach = CATCH * pixel();
  const centre = windowCentre();
  const window = model.view.report.window;
  const box = bounds({ ...start, middle });
  const edges = [[window.x_mm - box.left, window.x_mm + window.width_mm - box.left - box.width],
    [window.y_mm - box.bottom, window.y_mm + window.height_mm - box.bottom - box.height]];
  const lines = [[window.x_mm, window.x_mm + window.width_mm], [window.y_mm, window.y_mm + window.height_mm]];
  const boxMiddle = [box.left + box.width / 2, box.bottom + box.height / 2];
  return middle.map((value, axis) => {
    const choices = [[centre[axis] - boxMiddle[axis], centre[axis]], [edges[axis][0], lines[axis][0]], [edges[axis][1], lines[axis][1]]];
    const [best] = choices.filter(([off]) => Math.abs(off) < reach).sort((a, b) => Math.abs(a[0]) - Math.abs(b[0]));
    if (!best) return value;
    guide[axis] = best[1];
    return value + best[0];
  });
}

const distance = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
const angle = (a, b) => Math.atan2(b[1] - a[1], b[0] - a[0]) * 180 / Math.PI;
const sane = (scale, start) => Math.min(start.scale * 50, Math.max(start.scale / 50, scale));

function scaled({ start, from }, now) {
  const grown = distance(now, start.middle) / Math.max(1e-6, distance(from, start.middle));
  return { ...start, scale: sane(start.scale * grown, start) };
}

function turned({ start, from }, now, event) {
  const turn = start.turn + angle(start.middle, now) - angle(start.middle, from);
  const step = event.shiftKey ? 15 : 45;
  const near = Math.round(turn / step) * step;
  const catches = event.shiftKey || (hands.snap && !event.altKey && Math.abs(turn - near) < 3);
  return { ...start, turn: catches ? near : Math.round(turn * 2) / 2 };
}

function pinched({ start, from }) {
  const [a, b] = [...fingers.values()];
  const grown = distance(a, b) / Math.max(1e-6, distance(...from));
  const turn = angle(a, b) - angle(...from);
  const rad = turn * Math.PI / 180;
  const mid = (p, q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const [was, is] = [mid(...from), mid(a, b)];
  const arm = [start.middle[0] - was[0], start.middle[1] - was[1]];
  const middle = [is[0] + grown * (arm[0] * Math.cos(rad) - arm[1] * Math.sin(rad)),
    is[1] + grown * (arm[0] * Math.sin(rad) + arm[1] * Math.cos(rad))];
  return { ...start, middle, scale: sane(start.scale * grown, start), turn: Math.abs(turn) < 4 ? start.turn : start.turn + turn };
}

// ---- keys ----

function keys(event) {
  const at = placement();
  const step = event.shiftKey ? 10 : event.altKey ? 0.1 : 1;
  const go = (x, y) => ({ ...at, middle: [at.middle[0] + x * step, at.middle[1] + y * step] });
  const actions = {
    ArrowLeft: () => go(-1, 0), ArrowRight: () => go(1, 0), ArrowUp: () => go(0, 1), ArrowDown: () => go(0, -1),
    "+": () => ({ ...at, scale: at.scale * 1.02 }), "=": () => ({ ...at, scale: at.scale * 1.02 }),
    "-": () => ({ ...at, scale: at.scale / 1.02 }), "[": () => ({ ...at, turn: at.turn + 1 }),
    "]": () => ({ ...at, turn: at.turn - 1 }), m: () => ({ ...at, mirror: !at.mirror }), c: () => centred(at),
  };
  const action = actions[event.key] ?? actions[event.key.toLowerCase()];
  if (!action || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  const next = within(action());
  layAt(next);
  say(words(next));
}

// The placement with the face's box in the middle of the window.
export function centred(at, across = true, upward = true) {
  const box = bounds(at);
  const [cx, cy] = windowCentre();
  const dx = across ? cx - box.left - box.width / 2 : 0;
  const dy = upward ? cy - box.bottom - box.height / 2 : 0;
  return { ...at, middle: [at.middle[0] + dx, at.middle[1] + dy] };
}
