// The bench: stations, tools, banners, and what happens on drop, keys and change.

import { board, draw, makeBoard, reveal } from "/board.js";
import { byId, el, fold, icon, put, released, say } from "/dom.js";
import { chooseFile, showDrawer } from "/drawer.js";
import { hands, handles, makeHands } from "/hands.js";
import { begin, keepMine, model, redo, setUnit, showTheirs, undo, undoable, unit, watch } from "/model.js";
import { fillMendTray, makeMendTray } from "/edits.js";
import { askMend, forgetMend } from "/mend.js";
import { leaveMend, mendStage } from "/mendboard.js";
import { makeNightTray, nightStage } from "/night.js";
import { forgetPages, makePaperTray, showPages } from "/paper.js";
import { takeFiles } from "/taking.js";
import { makeTray, refresh } from "/tray.js";
import { refresh as refreshFields } from "/fields.js";

const STATIONS = [["place", "Place"], ["mend", "Mend"], ["night", "Night"], ["print", "Print"], ["drawer", "Drawer"]];
let station = "place";
let filled = null; // what the tray was last filled for

// ---- stations ----

function makeStations() {
  put(byId("stations"), STATIONS.map(([name, words]) => el("button", { type: "button", class: "station", "data-station": name, onclick: () => go(name) }, icon(name), el("span", {}, words))));
}

export function go(name) {
  // Before there is a face, the drawer is all there is.
  const none = Boolean(model.tables) && !model.project;
  if (none && name !== "drawer") say("Bring a face first");
  station = none ? "drawer" : name;
  for (const button of byId("stations").children) {
    button.ariaDisabled = none && button.dataset.station !== "drawer" ? "true" : null;
    button.toggleAttribute("aria-current", false);
    if (button.dataset.station === station) button.setAttribute("aria-current", "page");
  }
  document.body.dataset.station = station;
  filled = null;
  render("station");
}

function boardStage(stage) {
  if (board.svg?.isConnected) return;
  put(stage);
  makeHands(stage, makeBoard(stage));
}

// Each station: how its tray is made and kept up, and what its stage shows.
const HALLS = {
  place: {
    tray: makeTray, keep: refresh,
    stage(stage, what) {
      leaveMend(stage);
      boardStage(stage);
      draw();
      const picked = what === "selected" && model.view?.report.findings.find((finding) => finding.id === model.selected);
      if (picked && picked.x_mm !== null) reveal([picked.x_mm, picked.y_mm]);
      handles();
    },
  },
  mend: {
    tray: makeMendTray, keep: fillMendTray,
    stage(stage) {
      boardStage(stage);
      mendStage(stage);
    },
  },
  night: { tray: makeNightTray, keep: refreshFields, stage(stage, what) { if (what !== "state") nightStage(stage); } },
  print: { tray: makePaperTray, keep: refreshFields, stage(stage, what) { if (what !== "state" && what !== "selected") showPages(stage); } },
};

// What changed is drawn once a frame, however often it changes in between.
const due = new Set();
let frame = 0;

function later(what) {
  due.add(what);
  frame ||= requestAnimationFrame(flush);
}

function flush() {
  cancelAnimationFrame(frame);
  frame = 0;
  const all = [...due];
  due.clear();
  all.forEach(render);
}

// Whether the mended face must be known: where it is worked on, and where what is
// said is of the face that is sawn.
const mends = () => station === "mend" || (model.state.mend.on && ["place", "night"].includes(station) && model.state === model.settled);

function render(what) {
  tools();
  banner();
  title();
  const stage = byId("stage");
  const tray = byId("tray");
  if (!model.state) {
    put(tray);
    filled = null;
    return model.tables ? released(drawer) : undefined;
  }
  if (what === "saving" && (model.saving || !mends())) return;
  if (station === "drawer") {
    released(drawer);
    return put(tray);
  }
  const hall = HALLS[station];
  hall.name = station;
  if (filled === `${station} ${model.project}`) released(hall.refill ??= () => station === hall.name && hall.keep(tray));
  else hall.tray(tray);
  filled = `${station} ${model.project}`;
  hall.stage(stage, what);
  if (mends() && !model.saving) askMend();
}

// The drawer, where that is what is to be shown by now.
const drawer = () => (station === "drawer" || !model.state) && showDrawer(byId("stage"), () => go("place"));

// ---- top bar ----

const system = matchMedia("(prefers-color-scheme: dark)");
system.addEventListener("change", () => tools());

// The keys and words are made once and then only changed: one made anew would lose a
// press under way, and the keyboard that is on it. For the same reason a key that does
// nothing now is not switched off, only said and shown to be.
const round = (act, ...inside) => el("button", { type: "button", class: "round", onclick: ({ currentTarget }) => currentTarget.ariaDisabled !== "true" && act() }, ...inside);
const KEYS = {
  undo: round(undo, icon("undo")), redo: round(redo, icon("redo")),
  unit: round(() => setUnit(unit() === "mm" ? "inch" : "mm")), light: round(() => light(isDark() ? "day" : "evening")),
};
KEYS.unit.classList.add("text");
const NAMED = { project: el("b"), saved: el("span", { class: "soft", id: "saved" }) };

function isDark() {
  const chosen = document.documentElement.dataset.light;
  return chosen ? chosen === "evening" : system.matches;
}

function written(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

function named(key, words, off) {
  Object.assign(key, { title: words, ariaLabel: words, ariaDisabled: off ? "true" : null });
}

function tools() {
  if (!KEYS.light.isConnected) put(byId("tools"), Object.values(KEYS));
  for (const key of [KEYS.undo, KEYS.redo, KEYS.unit]) key.hidden = !model.state;
  named(KEYS.undo, "Undo", !undoable());
  named(KEYS.redo, "Redo", !model.redo);
  const units = model.state && unit() === "mm" ? "mm" : "in";
  named(KEYS.unit, `${units}: units, change them`);
  written(KEYS.unit, units);
  const dark = isDark();
  named(KEYS.light, dark ? "Day colours" : "Evening colours");
  if (KEYS.light.dataset.dark !== String(dark)) put(KEYS.light, icon(dark ? "sun" : "night"));
  KEYS.light.dataset.dark = dark;
  if (Boolean(model.project) !== NAMED.project.isConnected) put(byId("project"), model.project ? Object.values(NAMED) : null);
  written(NAMED.project, model.project ?? "");
  written(NAMED.saved, savedWords());
}

function savedWords() {
  const safe = model.state === model.safe;
  if (model.trouble && !safe) return "not saved";
  if (model.saving) return "saving …";
  if (safe) return "saved";
  return model.error ? "not saved: a setting is wrong" : "changing …";
}

function title() {
  document.title = model.project ? `${model.project} · fretgrin` : "fretgrin bench";
}

function light(choice) {
  document.documentElement.dataset.light = choice;
  localStorage.setItem("bench-light", choice);
  render("light");
}

// ---- banners ----

const BANNERS = {
  tab: ["Another tab changed this project.", true], file: ["Another program changed this project's file.", true],
  gone: ["fretgrin cannot be reached. Changes are saved as soon as it answers; if it was stopped, run fretgrin open again: all that said “saved” is there.", false],
  key: ["This page belongs to an earlier start of fretgrin. Open the address it printed at this start.", false],
};
let shownTrouble = null;

function banner() {
  if (model.trouble === shownTrouble) return;
  shownTrouble = model.trouble;
  const node = byId("banner");
  node.hidden = !model.trouble;
  if (!model.trouble) return put(node);
  const [words, choose] = BANNERS[model.trouble];
  put(node, el("p", {}, words), choose ? el("div", { class: "keys" },
    el("button", { type: "button", class: "key", onclick: showTheirs }, "Show theirs"), el("button", { type: "button", class: "key", onclick: keepMine }, "Keep mine")) : null);
}

// ---- dropping, keys ----

function catching() {
  const veil = byId("catch");
  let depth = 0;
  const files = (event) => event.dataTransfer?.types.includes("Files");
  addEventListener("dragenter", (event) => { if (files(event)) { depth += 1; veil.hidden = false; event.preventDefault(); } });
  addEventListener("dragleave", () => { depth = Math.max(0, depth - 1); veil.hidden = depth === 0; });
  addEventListener("dragover", (event) => { if (files(event)) event.preventDefault(); });
  addEventListener("drop", (event) => {
    depth = 0;
    veil.hidden = true;
    if (!files(event)) return;
    event.preventDefault();
    takeFiles(event.dataTransfer.files).then((came) => came > 0 && go("place"));
  });
}

function shortcuts(event) {
  if (!(event.ctrlKey || event.metaKey)) return;
  const key = event.key.toLowerCase();
  // Within a field these two belong to the text while it is being typed.
  if ((key === "z" || key === "y") && event.target.dataset?.typed) return;
  if (key === "z") {
    event.preventDefault();
    if (event.shiftKey) redo();
    else undo();
  } else if (key === "y") {
    event.preventDefault();
    redo();
  } else if (key === "o") {
    event.preventDefault();
    chooseFile();
  }
}

// ---- start ----

const kept = localStorage.getItem("bench-light");
if (kept) document.documentElement.dataset.light = kept;
makeStations();
byId("grip").addEventListener("click", () => fold(!document.body.hasAttribute("data-folded")));
catching();
addEventListener("keydown", shortcuts);
watch((what) => {
  if (what === "project") {
    forgetPages();
    forgetMend();
    filled = null;
    go(model.project ? (station === "drawer" ? "place" : station) : "drawer");
    if (model.view && !model.state.mend.on) say(`${model.project}: ${model.view.report.totals.stop} stops`);
  } else if (what === "to-mend") {
    go("mend");
  } else {
    if (what === "view") forgetPages();
    later(what);
    // “saved” must never stand beside something that is not shown yet.
    if (what === "saving") flush();
  }
});
go("place");
begin();
