// The verdict and the list of findings; the one picked shows where, how much,
// against which limit, why, and what helps.

import { capital, el, icon, inSight, mark, put } from "/dom.js";
import { area, both, bothAtLeast } from "/lengths.js";
import { mendedWords, mending, sawn } from "/mend.js";
import { model, select, set, tell, unit } from "/model.js";

const NAMES = {
  "left-out": "Left out", "open-outline": "Open outline", "closed-gap": "Gap closed", stray: "Stray piece", speck: "Speck",
  reading: "Reading", "over-clearance": "In a nail zone", "empty-band": "Empty band", island: "Falls out", "weak-bridge": "Weak bridge",
  "tight-turn": "Tight turn", "narrow-slot": "Narrow slot", "no-entry": "No entry hole", throat: "Saw's reach", mending: "Lost in mending", nail: "Nail",
  splitting: "Splitting", plan: "Plan",
};
const TECHNIQUES = {
  slow: "slow down; the blade follows, scraping a little", "swing-in-waste": "swing round in the waste and come back on the line",
  "come-in-twice": "back out and come in from the other side", spin: "spin on the spot in the waste",
  "corner-hole": "drill a small hole in the corner first", none: "the corner will come out round",
};
const SHOWN = 6; // the rest waits behind a button

let everything = false;

export function faults() {
  const verdict = el("div", { class: "verdict", "aria-live": "polite" });
  const list = el("ul", { class: "faults", "aria-label": "Findings" });
  const drawn = el("h3", { hidden: true }, "As drawn, before mending");
  const more = el("button", { class: "quiet", type: "button", onclick: () => { everything = !everything; refresh(); } });
  let shown = [];
  let picked = model.selected;
  const refresh = () => {
    const now = [model.view, model.selected, model.error, everything, unit(), model.state.mend.on, mending.of];
    if (now.every((value, i) => value === shown[i])) return;
    shown = now;
    const focus = document.activeElement?.closest?.("[data-finding]")?.dataset.finding;
    put(verdict, summary());
    const findings = model.error || !model.view ? [] : model.view.report.findings;
    const few = everything || findings.length <= SHOWN + 1 ? findings : findings.filter((finding, i) => i < SHOWN || finding.id === model.selected);
    put(list, few.map(item));
    drawn.hidden = !model.state.mend.on || findings.length === 0;
    more.hidden = findings.length <= SHOWN + 1;
    more.textContent = few.length === findings.length ? "Show fewer" : `Show all ${findings.length} findings`;
    if (focus) list.querySelector(`[data-finding="${CSS.escape(focus)}"] button`)?.focus({ preventScroll: true });
    const open = model.selected !== picked && list.querySelector(".open");
    picked = model.selected;
    if (open) inSight(open);
  };
  return { node: el("section", { class: "card" }, verdict, drawn, list, more), refresh };
}

function summary() {
  if (model.error) {
    return [el("p", { class: "word stop" }, mark("stop"), el("strong", {}, "This cannot be worked out")), el("p", {}, model.error.what),
      el("p", { class: "soft" }, capital(model.error.advice))];
  }
  if (!model.view) return null;
  return model.state.mend.on ? mendedSummary() : drawnSummary();
}

const things = (n, one, several) => `${n} ${n === 1 ? one : several}`;
const word = (kind, words) => el("p", { class: `word ${kind}` }, kind === "sound" ? icon("tick") : mark(kind), el("strong", {}, words));
const toMend = (words) => el("button", { type: "button", class: "key", onclick: () => tell("to-mend") }, icon("mend"), words);

// The mended face is the one that is printed and sawn, so it is the one judged.
function mendedSummary() {
  if (mending.error && mending.of === model.state) {
    return [word("stop", "This cannot be mended"), el("p", {}, mending.error.what), el("p", { class: "soft" }, capital(mending.error.advice))];
  }
  const face = sawn();
  if (!face) return [el("p", { class: "word" }, el("strong", {}, "Mending …")), toMend("See the mended face")];
  const { care } = face.report.totals;
  return [word(...mendedWords()), el("p", { class: "soft" }, `The mended face is printed and sawn${care ? `; ${things(care, "place needs care", "places need care")}` : ""}.`), toMend("See the mended face")];
}

function drawnSummary() {
  const { stop, care, note } = model.view.report.totals;
  const [kind, words] = stop ? ["stop", `${things(stop, "thing stops", "things stop")} this face`]
    : care ? ["care", "Sawable, with care"] : ["sound", "Ready to saw"];
  const rest = [care && stop ? things(care, "needs care", "need care") : care ? things(care, "place needs care", "places need care") : "",
    note ? things(note, "remark", "remarks") : ""].filter(Boolean).join(", ");
  return [word(kind, words), rest ? el("p", { class: "soft" }, rest) : null, stop || care ? toMend(stop ? "Mend it" : "Try mending it") : null];
}

function item(finding) {
  const open = finding.id === model.selected;
  const head = el("button", { type: "button", "aria-expanded": String(open), class: "fault", onclick: () => select(finding.id) },
    mark(finding.severity), el("span", { class: "what" }, el("b", {}, NAMES[finding.kind] ?? finding.kind),
      el("span", { class: "unseen" }, ` (${finding.severity}): `), el("span", { class: "line" }, finding.message)));
  return el("li", { "data-finding": finding.id, class: `${finding.severity}${open ? " open" : ""}` }, head, open ? detail(finding) : null);
}

function detail(finding) {
  const rows = [];
  const row = (name, text) => text && rows.push(el("div", {}, el("dt", {}, name), el("dd", {}, text)));
  if (finding.x_mm !== null) row("Where", `${both(finding.x_mm, unit())} from the left, ${both(finding.y_mm, unit())} up`);
  if (finding.place?.element) row("Drawn as", `element ${finding.place.element}${finding.place.line ? `, line ${finding.place.line}` : ""}`);
  for (const [name, text] of facts(finding)) row(name, text);
  row("What helps", finding.advice);
  return el("div", { class: "detail" }, gauge(finding), el("dl", {}, rows), helps(finding));
}

const numbered = (finding, list) => {
  const number = Number(/-(\d+)$/.exec(finding.id)?.[1]);
  return model.view.report[list].find((one) => one.id === number);
};

function facts(finding) {
  if (finding.kind === "weak-bridge") {
    const bridge = numbered(finding, "bridges");
    return bridge ? [["Why", el("ol", { class: "why" }, bridge.derivation.map((line) => el("li", {}, line)))],
      ["Would come loose", bridge.loose_area_mm2 > 0 ? `${area(bridge.loose_area_mm2, unit())} of wood` : ""]] : [];
  }
  if (finding.kind === "tight-turn") {
    const turn = numbered(finding, "turns");
    return turn ? [["How it is done", TECHNIQUES[turn.technique]]] : [];
  }
  if (finding.kind === "over-clearance") {
    return model.view.report.window.made_by.map(({ edge, why }) => [edge, why]);
  }
  return [];
}

// A bar that shows what was measured against its limit.
function gauge(finding) {
  const { measured, limit } = finding;
  if (measured === null || limit === null || !(limit > 0) || finding.kind === "island") return null;
  const share = Math.min(1, measured / (Math.max(limit, measured) || 1));
  const at = Math.min(1, limit / (Math.max(limit, measured) || 1));
  const bar = el("div", { class: "gauge", role: "img", "aria-label": `${both(measured, unit())} measured, limit ${both(limit, unit())}` },
    el("i", { class: "measured" }), el("i", { class: "limit" }));
  bar.style.setProperty("--share", share);
  bar.style.setProperty("--limit", at);
  return el("div", { class: "against" }, bar, el("p", {}, el("b", {}, both(measured, unit())), ` of ${(finding.kind === "weak-bridge" ? bothAtLeast : both)(limit, unit())}`));
}

// An element with less than this part of all openings may be left out by a key.
const SMALL = 0.2;

// Area of the openings drawn by an element, or of all, mm².
const openings = (element) => model.view.report.cutouts.filter((one) => element === undefined || one.element === element)
  .reduce((sum, one) => sum + one.area_mm2, 0);

// Things that can be done here and now.
function helps(finding) {
  const keys = [];
  const key = (words, act) => keys.push(el("button", { type: "button", class: "quiet", onclick: act }, words));
  const fit = model.view.report.setup.recommended_blade;
  if (finding.kind === "tight-turn" && fit && fit !== model.view.report.setup.blade) {
    key(`Use the ${fit} blade`, () => set({ saw: { blade: fit } }));
  }
  const left = ["speck", "stray"].includes(finding.kind);
  if (finding.kind === "stray") key("Saw it too", () => set({ art: { keep: [...model.state.shop.art.keep, finding.id] } }));
  if (finding.kind === "speck") key("Saw specks too", () => set({ art: { keep_specks: true } }));
  const element = finding.place?.element;
  const size = openings(element);
  if (element && !left && finding.severity !== "note" && size < SMALL * openings()) {
    key(`Leave out ${element}${size > 0 ? ` (${area(size, unit())})` : ""}`, () => set({ art: { drop: [...model.state.shop.art.drop, element] } }));
  }
  return keys.length ? el("div", { class: "keys" }, keys) : null;
}
