// Form fields that show a setting, change it live and say what is wrong with it.

import { el, held, icon } from "/dom.js";
import { model, unit, untry } from "/model.js";
import { bare, other, parse } from "/lengths.js";

const all = new Set();
let serial = 0;

// Brings every field up to date; one being typed in keeps its text.
export function refresh() {
  for (const field of all) {
    if (field.node.isConnected) field.refresh();
    else if (field.shown) all.delete(field);
    field.shown ||= field.node.isConnected;
  }
}

export function fresh() {
  all.clear();
}

// Keeps a node up to date as the fields are.
export const follow = add;

function add(node, update) {
  all.add({ node, refresh: update, shown: false });
  return node;
}

// The fault of the setting `key`, when the state shown has one.
const fault = (key) => (key && model.error?.key === key ? model.error : null);

function noted(key, input, note, about) {
  const wrong = fault(key);
  input.setAttribute("aria-invalid", wrong ? "true" : "false");
  note.classList.toggle("wrong", Boolean(wrong));
  const text = wrong ? `${wrong.what}; ${wrong.advice}` : about;
  if (note.textContent !== text) note.textContent = text;
}

function labelled(label, control, note, name = "field") {
  const id = `f${serial += 1}`;
  control.id = id;
  note.id = `${id}n`;
  control.setAttribute("aria-describedby", note.id);
  return (body) => el("div", { class: name }, el("label", { for: id }, label), body, note);
}

// Marks a field while what was typed in it waits to be settled: undo is the text's
// own until then. Escape takes it back.
function typing(input, read, written, show) {
  const settled = () => { delete input.dataset.typed; };
  input.addEventListener("input", () => { input.dataset.typed = "yes"; read(true); });
  input.addEventListener("change", () => { settled(); read(false); });
  input.addEventListener("blur", () => { settled(); show(true); });
  input.addEventListener("keydown", ({ key }) => {
    if (key !== "Escape" || !input.dataset.typed) return;
    settled();
    untry();
    input.value = written();
    show(true);
  });
  return settled;
}

// Said of an entry that was left in a field and came to nothing.
const asItWas = (text, how) => `${text ? `“${text.slice(0, 20)}”` : "an empty field"} changed nothing; ${how}`;

// A length: text as a shop writes it, with steppers. `get` gives millimetres or
// null, `put(mm, text, live)` takes them; `fixed` says why it cannot be changed, or null.
export function length({ label, key, get, put, step = () => (unit() === "mm" ? 1 : 25.4 / 16), empty = "", fixed = () => null, over = -Infinity }) {
  const input = el("input", { type: "text", inputmode: "text", autocomplete: "off", spellcheck: "false", placeholder: empty });
  const note = el("p", { class: "note" });
  let bad = false;
  let lapsed = null; // what was left in the field and not understood, and in which state
  const how = over > -Infinity ? `write it like 5-1/4in or 133.35mm, more than ${over}` : "write it like 5-1/4in, 133.35mm or 13.3cm";
  const read = (live) => {
    const text = input.value.trim().replace(/(\d),(?=\d)|^,/, "$1.");
    lapsed = null;
    if (text === "" && empty) return put(null, null, live);
    const mm = parse(text, unit());
    bad = Number.isNaN(mm) || mm <= over;
    if (!bad) return put(mm, text, live);
    // What was understood on the way here is not what was meant.
    if (!live) {
      lapsed = { text, state: model.settled };
      untry();
    }
    show();
  };
  const nudge = (sign) => {
    const now = get();
    const by = step();
    settled();
    lapsed = null;
    if (now !== null) put(Math.round(now / by + sign) * by, null, false);
  };
  const written = () => (get() === null ? "" : bare(get(), unit()));
  const show = (anew = false) => {
    const now = get();
    if (anew || document.activeElement !== input) bad = false;
    if (document.activeElement !== input) input.value = written();
    const why = fixed();
    for (const part of body.children) part.disabled = why !== null || (part !== input && now === null);
    noted(key, input, note, why !== null ? why : bad ? how : lapsed?.state === model.settled ? asItWas(lapsed.text, how) : now === null ? " " : `${unit() === "mm" ? "mm" : "in"} · ${other(now, unit())}`);
    note.classList.toggle("wrong", bad || Boolean(fault(key)));
    if (bad) input.setAttribute("aria-invalid", "true");
  };
  const settled = typing(input, read, written, show);
  input.addEventListener("keydown", (event) => {
    const sign = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!sign) return;
    event.preventDefault();
    nudge(sign);
    input.value = written();
  });
  const button = (sign, name) => el("button", { type: "button", class: "step", "aria-label": `${label}: ${name}`, onclick: () => nudge(sign) },
    icon(sign > 0 ? "plus" : "minus"));
  const body = el("div", { class: "stepper" }, button(-1, "less"), input, button(1, "more"));
  return add(labelled(label, input, note)(body), show);
}

// A plain number, `least` or more.
export function number({ label, key, get, put, step = 1, places = 1, suffix = "", least = -Infinity }) {
  const input = el("input", { type: "text", inputmode: "decimal", autocomplete: "off" });
  const note = el("p", { class: "note" });
  let bad = false;
  const text = () => String(Math.round(get() * 10 ** places) / 10 ** places);
  const written = () => `${text()}${suffix}`;
  let lapsed = null;
  const how = `write a number${least > -Infinity ? ` from ${least} up` : ""}`;
  const understood = (written) => {
    const found = written.trim().replace("−", "-").match(/^(-?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:°|%)?$/);
    const value = found ? Number(found[1].replace(",", ".")) : NaN;
    return value >= least ? value : NaN;
  };
  const read = (live) => {
    const value = understood(input.value);
    bad = Number.isNaN(value);
    lapsed = bad && !live ? { text: input.value.trim(), state: model.settled } : null;
    if (!bad) return put(value, live);
    if (!live) untry();
    show();
  };
  const nudge = (sign) => {
    settled();
    lapsed = null;
    put(Math.max(least, Math.round((get() + sign * step) * 1000) / 1000), false);
  };
  const show = (anew = false) => {
    if (anew || document.activeElement !== input) bad = false;
    if (document.activeElement !== input) input.value = written();
    noted(key, input, note, bad ? how : lapsed?.state === model.settled ? asItWas(lapsed.text, how) : " ");
    note.classList.toggle("wrong", bad || Boolean(fault(key)));
    if (bad) input.setAttribute("aria-invalid", "true");
  };
  const settled = typing(input, read, written, show);
  input.addEventListener("keydown", (event) => {
    const sign = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!sign) return;
    event.preventDefault();
    nudge(sign);
    input.value = text();
  });
  const button = (sign, name) => el("button", { type: "button", class: "step", "aria-label": `${label}: ${name}`, onclick: () => nudge(sign) },
    icon(sign > 0 ? "plus" : "minus"));
  return add(labelled(label, input, note)(el("div", { class: "stepper" }, button(-1, "less"), input, button(1, "more"))), show);
}

// A choice from a list of [value, words].
export function choice({ label, key, options, get, put }) {
  const select = el("select", { onchange: () => put(select.value) });
  const note = el("p", { class: "note" });
  const show = () => {
    const now = get();
    const list = options();
    if (!list.some(([value]) => value === now)) list.push([now, String(now)]);
    const same = select.options.length === list.length && list.every(([value, words], i) => select.options[i].value === value && select.options[i].textContent === words);
    if (!same) select.replaceChildren(...list.map(([value, words]) => el("option", { value }, words)));
    select.value = now;
    noted(key, select, note, "");
  };
  return add(labelled(label, select, note)(select), show);
}

// A switch.
export function toggle({ label, get, put, about = "" }) {
  const box = el("input", { type: "checkbox", role: "switch", onchange: () => put(box.checked) });
  const node = el("label", { class: "switch" }, box, el("span", { class: "track", "aria-hidden": "true" }), el("span", {}, label, about ? el("small", {}, about) : null));
  return add(node, () => { box.checked = get(); });
}

// A few exclusive choices side by side.
export function pick({ label, options, get, put, when = () => true }) {
  const name = `p${serial += 1}`;
  const radio = ([value, words]) => el("label", { class: "pick" },
    el("input", { type: "radio", name, value, onchange: () => put(value) }), el("span", {}, words));
  const node = el("fieldset", { class: "picks" }, el("legend", {}, label), el("div", { class: "row" }, options.map(radio)));
  return add(node, () => {
    const now = get();
    node.hidden = !when();
    for (const input of node.querySelectorAll("input")) input.checked = input.value === String(now);
  });
}

// Several of a list, as chips. `same` tells whether two spellings mean one thing;
// what is held but not in the list stays.
export function many({ label, options, get, put, same = (a, b) => a === b }) {
  const chip = ([value, words]) => el("label", { class: "chip" },
    el("input", { type: "checkbox", value, onchange: change }), el("span", {}, words));
  const node = el("fieldset", { class: "picks" }, el("legend", {}, label), el("div", { class: "chips" }, options.map(chip)));
  function change({ target }) {
    const others = get().filter((one) => !same(one, target.value));
    put(target.checked ? [...others, target.value] : others);
  }
  return add(node, () => {
    const now = get();
    for (const input of node.querySelectorAll("input")) input.checked = now.some((one) => same(one, input.value));
  });
}

// A line of text that follows the model.
export const live = (name, text, tag = "p") => {
  const node = el(tag, { class: name });
  return add(node, () => {
    const now = held(text() ?? "");
    if (node.textContent !== now) node.textContent = now;
  });
};
