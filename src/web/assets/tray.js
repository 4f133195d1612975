// The tray beside the board: findings first, then the settings, in the order a
// maker thinks of them.

import { capital, el, icon, put } from "/dom.js";
import { choice, follow, fresh, length, live, many, number, pick, refresh as refreshFields, toggle } from "/fields.js";
import { chooseFile } from "/drawer.js";
import { faults } from "/faults.js";
import { centred, hands } from "/hands.js";
import { area, both, parse, sameBit } from "/lengths.js";
import { sawn } from "/mend.js";
import { model, see, set, shop, unit } from "/model.js";
import { bounds, fill, layAt, placement, showAt } from "/place.js";
import { redrawn } from "/taking.js";

let list = null;

export function makeTray(host) {
  fresh();
  list = faults();
  put(host, list.node, faceCard(), woodCard(), panelCard(), readingCard(), figuresCard());
  refresh();
}

export function refresh() {
  list?.refresh();
  refreshFields();
}

const card = (title, open, ...inside) => el("details", { class: "card", open }, el("summary", {}, el("h2", {}, title)), ...inside);
const pair = (...inside) => el("div", { class: "pair" }, ...inside);
const known = (value, otherwise) => (model.view ? value() : otherwise);
// Of the face that is printed and sawn, once that is known.
const ofSawn = (value) => (sawn() ? value(sawn().report) : "");

// ---- the face ----

function faceCard() {
  const lay = (at, isLive) => (isLive ? showAt(at) : layAt(at));
  const box = () => known(() => bounds(placement()), null);
  const shift = (axis, side) => (mm, _, isLive) => {
    const at = placement();
    const middle = [...at.middle];
    middle[axis] += mm - bounds(at)[side];
    lay({ ...at, middle }, isLive);
  };
  const grow = (side) => (mm, _, isLive) => {
    const at = placement();
    lay({ ...at, scale: at.scale * mm / bounds(at)[side] }, isLive);
  };
  const field = (label, side, put, key, over) => length({ label, key, over, get: () => box()?.[side] ?? null, put });
  const key = (words, name, act) => el("button", { type: "button", class: "key", onclick: act }, icon(name), words);
  return card("The face", true,
    pair(field("From the left", "left", shift(0, "left"), "fit.middle_x"), field("From below", "bottom", shift(1, "bottom"), "fit.middle_y")),
    pair(field("Width", "width", grow("width"), "fit.scale", 0), field("Height", "height", grow("height"), "fit.scale", 0)),
    pair(number({ label: "Turn", key: "fit.turn", suffix: "°", get: () => known(() => placement().turn, 0),
      put: (turn, isLive) => lay({ ...placement(), turn }, isLive) }),
    number({ label: "Stretch", key: "fit.stretch", suffix: " %", get: () => shop().fit.stretch,
      put: (stretch, isLive) => (isLive ? see : set)({ fit: { stretch } }) })),
    el("div", { class: "keys" }, key("Fill the window", "fit", fill), key("Centre", "centre", () => layAt(centred(placement()))),
      key("Mirror", "mirror", () => layAt({ ...placement(), mirror: !placement().mirror }))),
    toggle({ label: "Catch centres and edges", about: "hold Alt to move freely", get: () => hands.snap, put: (on) => { hands.snap = on; } }));
}

// ---- wood and saw ----

function setting(section, name, more = {}) {
  const get = () => shop()[section][name];
  return {
    key: `${section}.${name}`, get: () => { const now = get(); return now === null ? null : parse(now, unit()); },
    put: (mm, text, isLive) => (isLive ? see : set)({ [section]: { [name]: mm === null ? null : text ?? `${Math.round(mm * 1000) / 1000}mm` } }), ...more,
  };
}

function woodCard() {
  const grain = () => { const now = shop().panel.grain; return typeof now === "number" ? String(now) : now; };
  return card("Wood and saw", true,
    choice({ label: "Wood", key: "wood.species", options: () => model.tables.woods.map(({ slug, name }) => [slug, name]),
      get: () => shop().wood.species, put: (species) => set({ wood: { species } }) }),
    pair(length({ label: "Thickness, measured", ...setting("panel", "thickness") }),
      choice({ label: "Grain", key: "panel.grain", options: () => [["vertical", "upright"], ["horizontal", "level"], ["45", "45° /"], ["135", "135° \\"]],
        get: grain, put: (value) => set({ panel: { grain: /^\d/.test(value) ? Number(value) : value } }) })),
    choice({ label: "Blade", key: "saw.blade", options: blades, get: () => tableBlade(shop().saw.blade), put: (blade) => set({ saw: { blade } }) }),
    live("soft", () => {
      const setup = sawn()?.report.setup;
      return !setup ? "" : setup.recommended_blade ? `Best blade in the drawer for this face: ${setup.recommended_blade}` : "No blade in the drawer does this face without a stop.";
    }),
    pick({ label: "Blade ends", options: [["plain", "Plain"], ["pin", "Pin"]], get: () => shop().saw.end, put: (end) => set({ saw: { end } }) }),
    drills(),
    pair(length({ label: "Saw's throat", ...setting("saw", "throat") }), length({ label: "May stray from the line", ...setting("saw", "line_tolerance", { step: () => 0.05 }) })));
}

// The blade's name as the table spells it: "#5", "5" and "Flat 5" are "flat-5".
function tableBlade(name) {
  const text = String(name).trim().toLowerCase();
  const [, kind = "flat", number] = text.match(/^(spiral|flat)?[-\s_#]*(.*)$/);
  const full = `${kind}-${number === "00" ? "2/0" : number}`;
  return model.tables.blades.some((blade) => blade.name === full) ? full : String(name).trim();
}

// The blades of the table and those that only this shop has, each with how it does here.
function blades() {
  const inTable = model.tables.blades.map(({ name, kind }) => [name, `${kind} ${name.replace(/^\D*-/, "#").replace("-", "/")}`]);
  const own = shop().saw.blades.map((blade) => tableBlade(blade.name ?? blade)).filter((name) => !inTable.some(([known]) => known === name));
  return [...inTable, ...own.map((name) => [name, `${name}, your own`])].map(([name, words]) => {
    const verdict = sawn()?.report.blades.find((one) => one.blade === name);
    const more = !verdict ? "" : verdict.does_it ? " · does this face" : ` · ${verdict.tight_turns + verdict.narrow_slots} places too tight`;
    return [name, `${words}${more}`];
  });
}

function drills() {
  const usual = (drill) => /^(1\/(8|16|32|64)|[357]\/(32|64)|9\/64|11\/64|[1-4](\.[05])? ?mm|0\.[58] ?mm)/.test(drill.name) && drill.diameter_mm <= 5;
  const own = shop().drills.owned;
  const inTable = model.tables.drills.filter((drill) => usual(drill) || own.some((name) => sameBit(name, drill.name)));
  const others = own.filter((name) => !inTable.some((drill) => sameBit(name, drill.name))).map((name) => ({ name, diameter_mm: parse(name, "inch") || 0 }));
  const shown = [...inTable, ...others].sort((a, b) => a.diameter_mm - b.diameter_mm);
  return many({ label: "Drills you own", options: shown.map(({ name }) => [name, name]), get: () => shop().drills.owned,
    put: (owned) => set({ drills: { owned } }), same: sameBit });
}

// ---- panel and box ----

function panelCard() {
  const edge = (name, label) => length({ label, empty: "as needed", ...setting("clear", name) });
  const box = el("div", {});
  const lantern = toggle({ label: "Plan a lantern box", about: "sides, nails, lid and base decide the window",
    get: () => Boolean(shop().box), put: (on) => set({ box: on ? defaultBox() : null }) });
  // Its fields come and go with it, whatever brought or took it: the switch, undo, another tab.
  follow(box, () => {
    const planned = Boolean(shop().box);
    if (planned !== box.hasChildNodes()) put(box, planned ? boxFields() : null);
  });
  return card("Panel and box", false,
    pair(panelSide("width", "Panel width"), panelSide("height", "Panel height")),
    lantern, box,
    el("h3", {}, "Keep clear of the edges"), pair(edge("left", "Left"), edge("right", "Right")), pair(edge("top", "Top"), edge("bottom", "Bottom")),
    live("soft lines", () => (model.view?.report.window.made_by ?? []).map(({ edge: side, why }) => `${capital(side)}: ${why}`).join("\n")));
}

// A side of the panel; one that the box decides shows what comes of it, and why.
function panelSide(side, label) {
  const plain = setting("panel", side);
  const said = () => [`panel_${side}`, side].find((name) => (shop().box?.[name] ?? null) !== null);
  const why = () => {
    const name = said();
    return name ? `set by the box: its ${name.replace("_", " ")} is ${shop().box[name]} (box.${name} in its file)` : null;
  };
  return length({ label, ...plain, fixed: why, get: () => (said() ? known(() => model.view.report.panel[`${side}_mm`], null) : plain.get()) });
}

const defaultBox = () => structuredClone(model.tables.box);

function boxFields() {
  const part = (name, label, empty) => length({ label, empty, key: `box.${name}`,
    get: () => { const now = shop().box?.[name]; return now === null || now === undefined ? null : parse(now, unit()); },
    put: (mm, text, isLive) => {
      const value = mm === null ? null : text ?? `${Math.round(mm * 1000) / 1000}mm`;
      (isLive ? see : set)({ box: { [name]: value } });
    } });
  return [
    choice({ label: "Joint", key: "box.joint", options: () => [["front-laps-sides", "front over the sides"], ["sides-lap-front", "sides over the front"]],
      get: () => shop().box?.joint, put: (joint) => set({ box: { joint } }) }),
    pair(part("side_width", "Side boards", "3-1/2 in"), part("base_overhang", "Base overhang", "")),
    choice({ label: "Lid", key: "box.lid.kind", options: () => [["lift-off", "lift-off, with strips"], ["plain", "plain"], ["none", "none"]],
      get: () => shop().box?.lid.kind, put: (kind) => set({ box: { lid: { ...shop().box.lid, kind } } }) }),
    length({ label: "Brads", ...setting("nails", "length") }),
  ];
}

// ---- reading ----

function readingCard() {
  return card("How the drawing is read", false,
    choice({ label: "What is sawn out", key: "art.cut", options: () => [["auto", "as the drawing suggests"], ["dark", "what is dark"], ["light", "what is light inside the silhouette"],
      ["lines", "inside closed lines"], ["features", "what is inside the silhouette, without it"]], get: () => shop().art.cut, put: (cut) => set({ art: { cut } }) }),
    live("soft", () => (model.view ? `Read as “${model.view.report.art.reading}”: ${model.view.report.art.why}.` : "")),
    number({ label: "Dark below", key: "art.threshold", step: 0.05, places: 2, get: () => shop().art.threshold, put: (threshold, isLive) => (isLive ? see : set)({ art: { threshold } }) }),
    length({ label: "Close gaps up to", ...setting("art", "gap", { step: () => 0.1 }) }),
    toggle({ label: "Saw specks too", get: () => shop().art.keep_specks, put: (on) => set({ art: { keep_specks: on } }) }),
    named("drop", "Left out", "Bring back"), named("keep", "Kept", "Leave out"),
    el("p", {}, "A changed drawing takes this one’s place; the settings and mends stay."),
    el("button", { type: "button", class: "key", onclick: () => chooseFile(redrawn) }, icon("file"), "Take in a changed drawing"));
}

// The names in a list of the art's, each with a key that takes it off.
function named(list, words, back) {
  const rows = el("ul", { class: "refused" });
  let shown = null;
  return follow(rows, () => {
    const now = shop().art[list];
    if (shown === now) return;
    shown = now;
    const without = (name) => set({ art: { [list]: shop().art[list].filter((one) => one !== name) } });
    put(rows, now.map((name) => el("li", {}, el("span", {}, `${words}: ${name}`), el("button", { type: "button", class: "quiet", onclick: () => without(name) }, back))));
  });
}

// ---- figures ----

function figuresCard() {
  const fact = (name, text) => el("div", {}, el("dt", {}, name), live("", () => ofSawn(text) || "…", "dd"));
  return card("At the saw", false,
    live("soft", () => (!model.state.mend.on ? "" : sawn() ? "Of the mended face, which is printed and sawn." : "The mended face is being worked out …")),
    el("dl", { class: "figures" },
      fact("Cut-outs", ({ totals }) => String(totals.cutouts)), fact("Entry holes", ({ totals }) => String(totals.entry_holes)),
      fact("Line to saw", ({ totals }) => both(totals.cut_length_mm, unit())), fact("Time", ({ totals }) => `about ${Math.round(totals.minutes)} min`),
      fact("Opening", ({ totals }) => area(totals.open_area_mm2, unit())),
      fact("Scale", ({ fit }) => `${Math.round(fit.scale * 1000) / 10} % of the drawing`)),
    el("h3", {}, "Saw in this order"), orderList());
}

function orderList() {
  const steps = ({ order }) => order.map((step) => `cut-out ${step.cutout}, ${Math.round(step.minutes)} min: ${step.why}`).join("\n");
  return live("order", () => ofSawn(steps), "p");
}
