// The board with the face on it, drawn in panel millimetres: x right, y up from
// the panel's lower-left corner. The drawing's own y runs down, so everything in
// panel space stands in one flipped group.

import { markPath, put, shape } from "/dom.js";
import { INCH } from "/lengths.js";
import { model, unit } from "/model.js";
import { matrix, placement, seenPlacement } from "/place.js";

let svg = null;
let zoom = { scale: 1, x: 0, y: 0 }; // centre of the part shown, in shares of the whole
let layers = {};

export const board = {
  get svg() { return svg; },
  view: null, // shown in place of the model's view
  overlay: null, // { face(), marks(height) }: what another station draws in place of the face
};

const view = () => board.view ?? model.view;

export function makeBoard(host) {
  layers = Object.fromEntries(["ground", "world", "over", "hands"].map((name) => [name, shape("g", { class: name })]));
  svg = shape("svg", { class: "board", role: "group", "aria-label": "The panel with the face on it" },
    defs(), layers.ground, layers.world, layers.over, layers.hands);
  host.append(svg);
  measureRoom();
  new ResizeObserver(() => { measureRoom(); draw(); }).observe(svg);
  return svg;
}

function defs() {
  const wave = (x, bend, width) => shape("path", {
    d: `M${x} 0c${bend} 30 ${-bend} 60 0 90s${bend} 60 0 90`, class: "grain", "stroke-width": width });
  const lines = [[3, 1.5, 0.5], [7, -1, 0.3], [11, 2, 0.7], [17, 1, 0.3], [21, -2, 0.5], [26, 1, 0.8], [33, -1, 0.4],
    [38, 2, 0.3], [44, 1, 0.6], [49, -1.5, 0.4]];
  return shape("defs", {},
    shape("pattern", { id: "wood", width: 54, height: 180, patternUnits: "userSpaceOnUse" },
      shape("rect", { width: 54, height: 180, class: "wood-fill" }), ...lines.map((line) => wave(...line))),
    shape("pattern", { id: "zone", width: 4, height: 4, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      shape("rect", { width: 4, height: 4, class: "zone-fill" }),
      shape("path", { d: "M0 0v4", class: "zone-line" })));
}

// ---- where things are ----

function extent() {
  const { width_mm: w, height_mm: h } = view().report.panel;
  const around = [[0, 0, w, h]];
  const box = view().box;
  if (box) around.push(...box.sides, box.base, ...(box.lid ? [box.lid] : []));
  const [x0, y0] = [0, 1].map((i) => Math.min(...around.map((r) => r[i])));
  const [x1, y1] = [2, 3].map((i) => Math.max(...around.map((r) => r[i])));
  const [left, below, right, above] = margins(x1 - x0, y1 - y0);
  return [x0 - left, y0 - below, x1 + right, y1 + above];
}

// Millimetres round the board, left, below, right and above it: room for the rulers,
// whose figures keep their size on the screen however small the board. Each margin is
// so many millimetres, or some for the ticks and so many pixels for the figures; the
// pixel that comes of them follows from both sides.
const ROOM = [[14, 6, 22], [13, 5.5, 15], [8, 2, 11], [6, 1, 6]];
function margins(w, h) {
  const both = (i, j, side, pixels) => Math.max((side + ROOM[i][0] + ROOM[j][0]) / pixels,
    (side + ROOM[i][1] + ROOM[j][1]) / Math.max(pixels / 2, pixels - ROOM[i][2] - ROOM[j][2]));
  const k = Math.max(both(0, 2, w, room.w), both(1, 3, h, room.h));
  return ROOM.map(([least, ticks, pixels]) => Math.max(least, ticks + pixels * k));
}

let shown = { x: 0, y: 0, w: 1, h: 1 };

// The board's size on the screen; asking for it while drawing would lay the page
// out again each time.
let room = { w: 1, h: 1 };
function measureRoom() {
  room = { w: svg.clientWidth || 1, h: svg.clientHeight || 1 };
}

// Millimetres of one screen pixel.
export const pixel = () => Math.max(shown.w / room.w, shown.h / room.h);

// A pointer's place on the panel.
export function onPanel(event) {
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return [at.x, view().report.panel.height_mm - at.y];
}

export function zoomBy(factor, at = null) {
  const scale = Math.min(12, Math.max(1, zoom.scale * factor));
  const [x0, y0, x1, y1] = extent();
  if (at) {
    const share = [(at[0] - x0) / (x1 - x0), (at[1] - y0) / (y1 - y0)];
    const stay = 1 - zoom.scale / scale;
    zoom.x += (share[0] - 0.5 - zoom.x) * stay;
    zoom.y += (share[1] - 0.5 - zoom.y) * stay;
  }
  zoom.scale = scale;
  pan(0, 0);
}

export function pan(dx, dy) {
  const [x0, y0, x1, y1] = extent();
  const most = 0.5 - 0.5 / zoom.scale;
  const keep = (value) => Math.min(most, Math.max(-most, value));
  zoom.x = keep(zoom.x + dx / (x1 - x0));
  zoom.y = keep(zoom.y + dy / (y1 - y0));
  draw();
}

export const zoomed = () => zoom.scale > 1.01;
export function showWhole() {
  zoom = { scale: 1, x: 0, y: 0 };
  draw();
}

function frame() {
  const [x0, y0, x1, y1] = extent();
  const height = view().report.panel.height_mm;
  const [w, h] = [(x1 - x0) / zoom.scale, (y1 - y0) / zoom.scale];
  const [cx, cy] = [(x0 + x1) / 2 + zoom.x * (x1 - x0), (y0 + y1) / 2 + zoom.y * (y1 - y0)];
  shown = { x: cx - w / 2, y: height - cy - h / 2, w, h };
  svg.setAttribute("viewBox", `${shown.x} ${shown.y} ${w} ${h}`);
}

// ---- drawing ----

export function draw() {
  if (!svg) return;
  if (!view()) {
    for (const layer of Object.values(layers)) put(layer);
    return;
  }
  frame();
  const report = view().report;
  const height = report.panel.height_mm;
  layers.world.setAttribute("transform", `matrix(1 0 0 -1 0 ${height})`);
  const { overlay } = board;
  put(layers.world, around(), wood(report), zones(report), nails(), overlay ? overlay.face() : [face(), spots(report)]);
  put(layers.over, rulers(report), overlay ? overlay.marks(height) : marks());
}

const rect = ([x0, y0, x1, y1], name) => shape("rect", { x: x0, y: y0, width: x1 - x0, height: y1 - y0, class: name });

function around() {
  const box = view().box;
  if (!box) return null;
  return shape("g", { class: "around" }, rect(box.base, "base"),
    box.behind ? null : box.sides.map((side) => rect(side, "side")));
}

function wood(report) {
  const { width_mm: w, height_mm: h, grain_deg: grain } = report.panel;
  svg.querySelector("#wood").setAttribute("patternTransform", `rotate(${grain - 90} ${w / 2} ${h / 2})`);
  return shape("rect", { x: 0, y: 0, width: w, height: h, rx: 0.6, class: "panel" });
}

function zones(report) {
  const { width_mm: w, height_mm: h } = report.panel;
  const window = report.window;
  const [x0, y0, x1, y1] = [window.x_mm, window.y_mm, window.x_mm + window.width_mm, window.y_mm + window.height_mm];
  const ring = `M0 0H${w}V${h}H0zM${x0} ${y0}V${y1}H${x1}V${y0}z`;
  const box = view().box;
  return shape("g", { class: "zones" }, shape("path", { d: ring, class: "zone" }),
    shape("path", { d: `M${x0} ${y0}H${x1}V${y1}H${x0}z`, class: "window" }),
    box?.behind ? box.sides.map((side) => rect(side, "side behind")) : null);
}

function nails() {
  const box = view().box;
  if (!box) return null;
  const nail = ({ from, to, name }) => {
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const body = length < 0.5 ? shape("circle", { cx: from[0], cy: from[1], r: 1.2 })
      : shape("path", { d: `M${from[0]} ${from[1]}L${to[0]} ${to[1]}` });
    return shape("g", { class: "nail" }, shape("title", {}, name), body);
  };
  return shape("g", {}, box.nails.map(nail), box.lid ? rect(box.lid, "lid") : null);
}

function face() {
  const live = placement();
  const was = seenPlacement();
  return shape("g", { class: "face", id: "face", transform: live && was ? matrix(live, was) : null },
    openings(view().cutouts), view().islands.map(({ d, id }) => (d ? shape("path", { d, class: "island", "data-island": id }) : null)), holes());
}

export const openings = (cutouts, name = "cut") => cutouts.map(({ d, id }) => shape("path", { d, class: name, "data-cutout": id }));

function holes() {
  const entries = view().report.cutouts.flatMap((cutout) => cutout.entries);
  return entries.map((hole) => shape("circle", { cx: hole.x_mm, cy: hole.y_mm, r: hole.drill_mm / 2, class: "hole" }));
}

// Bridges and turns marked where they are, moving with the face.
function spots(report) {
  const k = pixel();
  const live = placement();
  const was = seenPlacement();
  const bridge = (b) => {
    const [p, q] = b.feet.map((foot) => [foot.x_mm, foot.y_mm]);
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]) || 1;
    const [cx, cy] = [(p[1] - q[1]) / long * 5 * k, (q[0] - p[0]) / long * 5 * k];
    const cap = ([x, y]) => `M${x - cx} ${y - cy}L${x + cx} ${y + cy}`;
    const chosen = model.selected === `bridge-${b.id}`;
    return shape("path", { d: `M${p}L${q}${cap(p)}${cap(q)}`, class: `bridge ${b.severity}`, "stroke-width": (chosen ? 3.5 : 1.8) * k });
  };
  return shape("g", { transform: live && was ? matrix(live, was) : null }, report.bridges.map(bridge));
}

// Where the findings are on the panel, following a face being moved.
function places() {
  const live = placement();
  const was = seenPlacement();
  const follow = live && was && !board.view ? new DOMMatrix(matrix(live, was)) : new DOMMatrix();
  const placed = view().report.findings.filter((finding) => finding.x_mm !== null);
  return placed.map((finding) => ({ finding, at: follow.transformPoint(new DOMPoint(finding.x_mm, finding.y_mm)) }));
}

const ORDER = { note: 0, care: 1, stop: 2 };
const small = () => (room.h < 420 ? 0.75 : 1);

export function spot(finding, at, chosen) {
  const size = pixel() * small() * (chosen ? 1.25 : finding.severity === "note" ? 0.6 : 0.85);
  return shape("g", { class: `spot ${finding.severity}${chosen ? " chosen" : ""}`, "data-finding": finding.id,
    transform: `translate(${at.x} ${view().report.panel.height_mm - at.y}) scale(${size})` },
  shape("title", {}, finding.message), chosen ? shape("circle", { r: 22, class: "ring" }) : null, shape("path", { d: markPath(finding.severity) }));
}

function marks() {
  const chosen = (place) => place.finding.id === model.selected;
  const sorted = places().sort((a, b) => chosen(a) - chosen(b) || ORDER[a.finding.severity] - ORDER[b.finding.severity]);
  return sorted.map((place) => spot(place.finding, place.at, chosen(place)));
}

// The finding whose mark a tap at a place of the panel means: the nearest within
// a finger's width, the graver of two.
export function markNear([x, y]) {
  const reach = 20 * pixel();
  const near = places().map(({ finding, at }) => ({ finding, off: Math.hypot(at.x - x, at.y - y) })).filter(({ off }) => off < reach);
  near.sort((a, b) => Math.round(a.off / reach * 4) - Math.round(b.off / reach * 4) || ORDER[b.finding.severity] - ORDER[a.finding.severity]);
  return near[0]?.finding.id ?? null;
}

// Brings a place of the panel into sight when the board is seen closer.
export function reveal([x, y]) {
  if (!svg || !zoomed() || !view()) return;
  const down = view().report.panel.height_mm - y;
  if (x > shown.x && x < shown.x + shown.w && down > shown.y && down < shown.y + shown.h) return;
  pan(x - shown.x - shown.w / 2, shown.y + shown.h / 2 - down);
}

// Rulers along the left and bottom edges.
function rulers(report) {
  const { width_mm: w, height_mm: h } = report.panel;
  const [step, label, name] = unit() === "mm" ? [5, 20, (i) => i * 5] : [INCH / 8, 8, (i) => i / 8];
  const k = pixel();
  const long = Math.min(2.6, 9 * k);
  const ticks = (length) => Array.from({ length: Math.floor(length / step + 1e-6) + 1 }, (_, i) => i);
  const depth = (i) => (i % label === 0 ? long : i % (label / 2) === 0 ? long * 0.7 : long * 0.4);
  const box = view().box;
  const foot = h + 1.4 - (box ? box.base[1] : 0);
  const edge = -1.4 + Math.min(0, ...(box ? [box.base[0], ...box.sides.map((r) => r[0])] : []));
  const below = ticks(w).map((i) => `M${i * step} ${foot}v${depth(i)}`).join("");
  const beside = ticks(h).map((i) => `M${edge} ${h - i * step}h${-depth(i)}`).join("");
  const size = Math.max(2.4, 11 * k);
  const text = (x, y, i, anchor) => shape("text", { x, y, "font-size": size, "text-anchor": anchor }, String(name(i)));
  const named = (length) => ticks(length).filter((i) => i % label === 0 && i > 0 && length - i * step > -0.1);
  return shape("g", { class: "rulers" }, shape("path", { d: below + beside, "stroke-width": Math.max(0.15, 0.9 * k) }),
    named(w).map((i) => text(i * step, foot + 0.4 + long + size, i, "middle")),
    named(h).map((i) => text(edge - 0.6 - long, h - i * step + size * 0.35, i, "end")));
}

// Guides that show a snapped centre.
export function guides(across, up) {
  const { width_mm: w, height_mm: h } = view().report.panel;
  const lines = (across === null ? "" : `M${across} -6V${h + 6}`) + (up === null ? "" : `M-6 ${h - up}H${w + 6}`);
  return lines ? shape("path", { d: lines, class: "guide", "stroke-width": 1.5 * pixel() }) : null;
}

export const handsLayer = () => layers.hands;
