// What the page knows: the project, its state (saved or being changed) and the
// server's view of it. Everything shown is drawn from here.

import { Refused, ask, give, timing } from "/server.js";

export const model = {
  tables: null, // woods, blades, drills, papers
  projects: [],
  project: null,
  revision: 0,
  art: "",
  state: null, // as shown: { shop, … }
  view: null, // the server's view of a state
  seen: null, // the state that view belongs to
  undo: false,
  redo: false,
  error: null, // a Refused: the state shown cannot be worked out
  trouble: null, // "tab", "file", "gone" or "key"
  saving: false,
  refused: false, // the state shown was not saved: the server would not have it
  settled: null, // the state last committed or opened; another one shown is only tried
  safe: null, // the state the server has
  selected: null, // a finding's id
};

let unsaved = null; // { state, force }: waits to be saved
let running = null; // the saving under way

const listeners = new Set();
export const watch = (listener) => listeners.add(listener);
// What goes wrong while something is shown must keep nothing from being saved.
export function tell(what) {
  for (const listener of listeners) {
    try { listener(what); } catch (error) { reportError(error); }
  }
}

export const unit = () => (model.state?.shop.units === "mm" ? "mm" : "inch");
export const shop = () => model.state.shop;

let takes = 0; // saved states taken over so far

function take(answer) {
  takes += 1;
  wanted = null; // what was shown but not saved is not asked about any more
  model.project = answer.project;
  model.revision = answer.revision;
  model.art = answer.art.name;
  model.undo = answer.undo;
  model.redo = answer.redo;
  model.state = model.settled = model.safe = answer.state;
  model.trouble = null;
  model.refused = false;
  takeView(answer.view, answer.state);
}

function takeView(view, state) {
  if (view.error) {
    model.error = new Refused(422, view);
  } else {
    model.view = view;
    model.seen = state;
    model.error = null;
  }
}

export function fail(error) {
  if (error instanceof Refused) {
    if (error.conflict) model.trouble = error.conflict;
    else if (error.status === 401) model.trouble = "key";
    else model.error = error;
  } else {
    model.trouble = "gone";
  }
  tell("view");
}

// Learns the tables and opens the first project.
export async function begin() {
  try {
    const start = await ask("start");
    Object.assign(model, { tables: start.tables, projects: start.projects, version: start.version, largest: start.largest_art });
    const wanted = new URLSearchParams(location.search).get("project");
    const first = start.projects.includes(wanted) ? wanted : start.first;
    if (first) await open(first);
    else tell("project");
  } catch (error) {
    fail(error);
  }
}

function opened(answer) {
  model.selected = null;
  model.view = null;
  take(answer);
  if (!model.projects.includes(model.project)) model.projects = [...model.projects, model.project].sort();
  const address = new URL(location.href);
  address.searchParams.set("project", model.project);
  history.replaceState(null, "", address.pathname + address.search);
  tell("project");
}

export async function open(name, how = "open") {
  await running; // what was changed here is saved first
  try {
    opened(await ask(how, { project: name }));
  } catch (error) {
    fail(error);
  }
}

// Takes in a drawing as a new project. Resolves to what is wrong with it, if anything is.
export function bring(file) {
  return oversized(file) ?? taken(() => give("new", file));
}

function oversized(file) {
  if (file.size <= model.largest) return null;
  const mb = (bytes) => `${(bytes / 1024 / 1024).toFixed(1)} MB`;
  return new Refused(413, { error: { what: `it has ${mb(file.size)}, a drawing may have ${mb(model.largest)}`, advice: "Save the picture smaller, or simplify the drawing" } });
}

// Takes the drawing drawn anew: settings and mends stay, and undo leads back to the
// old one.
export function redraw(file) {
  return oversized(file) ?? taken(() => give("replace", file, { project: model.project, revision: model.revision }));
}

// Takes a face out of the drawer.
export const takeFace = (face) => taken(() => ask("take", { face }));

async function taken(question) {
  await running;
  try {
    opened(await question());
    return null;
  } catch (error) {
    if (error instanceof Refused && !error.conflict && error.status !== 401) return error;
    fail(error);
    return null;
  }
}

// ---- live checking: one question on its way, the newest state next ----

let wanted = null;
let asking = false;

// The pause between two questions: as long as an answer takes, and six times as
// long as it had to wait for others (a short wait is usual), smoothed. A bench with
// many hands at it is asked less often, so that each answer still comes soon; the
// face itself follows the hand in any case.
let pause = 16;
function paced() {
  const { whole, work } = timing;
  pause += (Math.max(16, whole, 6 * (whole - 1.5 * work)) - pause) / 4;
  return pause;
}

async function check() {
  if (asking) return;
  asking = true;
  while (wanted) {
    const state = wanted;
    wanted = null;
    const project = model.project;
    const before = takes;
    try {
      const answer = await ask("check", { project, state });
      // One that was overtaken by a saved state is of no use any more.
      if (project !== model.project || before !== takes) continue;
      if (model.trouble === "gone") model.trouble = null;
      takeView(answer.view, state);
      tell("view");
    } catch (error) {
      if (project === model.project && before === takes) fail(error);
    }
    const rest = paced();
    if (wanted) await new Promise((go) => setTimeout(go, rest));
  }
  asking = false;
}

// Shows a state without saving it: while a handle is dragged, a number typed.
export function preview(state) {
  model.state = state;
  wanted = state;
  tell("state");
  check();
}

// Back to what was last settled, where something else is only being tried.
export const untry = () => model.state !== model.settled && preview(model.settled);

// ---- saving: one at a time, the newest state next ----

// What changes the project stands in line: each is made on the revision the one
// before it led to.
let line = Promise.resolve();
function inLine(job) {
  line = line.then(job, job);
  return line;
}

function waiting(on) {
  model.saving = on;
  tell("saving");
}

async function save() {
  while (unsaved) {
    await inLine(sendUnsaved);
    if (model.trouble === "gone" && unsaved) await new Promise((go) => setTimeout(go, 1500));
  }
  running = null;
}

function saved(answer, state) {
  if (unsaved || model.state !== state) {
    // The maker is further on already; what is shown stays.
    takes += 1;
    Object.assign(model, { safe: state, revision: answer.revision, undo: answer.undo, redo: answer.redo, trouble: null, refused: false });
  } else {
    take(answer);
  }
  tell("view");
}

async function sendUnsaved() {
  const { state, force } = unsaved;
  const { project, revision } = model;
  unsaved = null;
  waiting(true);
  try {
    const answer = await ask("change", { project, revision, state, force });
    if (project === model.project) saved(answer, state);
  } catch (error) {
    model.refused = error instanceof Refused && !error.conflict;
    fail(error);
    if (model.trouble === "gone") unsaved ??= { state, force };
  }
  waiting(Boolean(unsaved));
}

// Takes up what another tab has made of the project since: what is made of it would
// not be what is shown. Says so, or null.
export async function behind() {
  const { project } = model;
  const { revision } = await ask("revision", { project });
  // A save of this tab's own may be under way, or have come in since.
  if (project !== model.project || running || model.saving || revision <= model.revision) return null;
  await open(project);
  return "Another tab changed this project; what is shown now is that";
}

const PATIENCE = 10000; // ms a save under way is waited for

// Waits until what is shown is saved; why it is not, or null. What is made of the
// saved project must not pass for what is shown.
export async function unsavedWhy() {
  const end = Date.now() + PATIENCE;
  while ((running || model.saving) && model.trouble !== "gone" && Date.now() < end) await new Promise((go) => setTimeout(go, 30));
  const conflict = ["tab", "file"].includes(model.trouble);
  if (model.state === model.safe && !conflict) return behind();
  if (model.trouble === "gone") return "fretgrin cannot be reached";
  if (model.trouble) return "What is shown here is not saved: settle that in the banner above";
  return model.error ? `What is set is not saved: ${model.error.what}. Mend that setting, or undo it` : "What is shown is not saved yet: leave the field, then press again";
}

// Shows a state and saves it.
export function commit(state, force = false) {
  model.state = model.settled = state;
  unsaved = { state, force };
  tell("state");
  running ??= save();
  return running;
}

// A copy of the state to change and commit.
export const copy = () => structuredClone(model.state);

// Changes settings: set({ panel: { width: "6in" } }) commits, see() only shows.
function changed(parts) {
  const next = structuredClone(model.state);
  for (const [section, values] of Object.entries(parts)) {
    if (values !== null && typeof values === "object" && !Array.isArray(values) && next.shop[section]) {
      Object.assign(next.shop[section], values);
    } else {
      next.shop[section] = values;
    }
  }
  return next;
}
export const set = (parts) => commit(changed(parts));
export const see = (parts) => preview(changed(parts));

// Inches or millimetres. A bare length counts in the shop's unit, so the program
// writes the old one behind it: the board stays as it is. Until that is done the
// page says it is saving.
export function setUnit(units) {
  waiting(true);
  return inLine(() => turn(units));
}

async function turn(units) {
  const { project } = model;
  waiting(true);
  try {
    let before, next;
    do { // whoever changed something meanwhile meant that, too
      before = model.state;
      next = copy();
      next.shop = (await ask("turn", { shop: next.shop, units })).shop;
    } while (model.state !== before && project === model.project);
    if (project === model.project) commit(next);
    else waiting(false);
  } catch (error) {
    fail(error);
    waiting(false);
  }
}

// Whether undo leads anywhere: from a refused state it leads to the saved one.
export const undoable = () => model.undo || model.refused;

async function step(way) {
  const unmade = way === "undo" && model.refused;
  if (!(model[way] || unmade) || (model.trouble && model.trouble !== "gone")) return;
  waiting(true);
  try {
    const { project, revision } = model;
    take(await (unmade ? ask("open", { project }) : ask(way, { project, revision })));
    tell("view");
  } catch (error) {
    fail(error);
  }
  waiting(false);
}
export const undo = () => inLine(() => step("undo"));
export const redo = () => inLine(() => step("redo"));

// After a conflict: what the other tab or the file says, or what stands here.
export const showTheirs = () => open(model.project, model.trouble === "file" ? "reload" : "open");
export const keepMine = () => {
  model.trouble = null;
  return commit(model.state, true);
};

// A tab that comes to the front looks whether another one has been busy.
document.addEventListener("visibilitychange", async () => {
  if (document.hidden || !model.project || model.trouble) return;
  try {
    await behind();
  } catch (error) {
    fail(error);
  }
});

export function select(id) {
  model.selected = model.selected === id ? null : id;
  tell("selected");
}
