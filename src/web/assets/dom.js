// Building the page: elements by name, never markup from text.

const SVG = "http://www.w3.org/2000/svg";

// A line must not end within 6-7/8: on the next one would stand a length by itself. A
// word joiner (U+2060, not seen) holds it together.
export const held = (text) => text.replace(/(\d-)(?=\d+\/\d)/g, "$1\u2060");

function fill(node, props, children) {
  for (const [name, value] of Object.entries(props ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value" || name === "checked" || name === "textContent") node[name] = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false)
    .map((child) => (typeof child === "string" ? held(child) : child)));
  return node;
}

// An HTML element: el("button", { class: "key", onclick }, "Turn").
export const el = (name, props, ...children) => fill(document.createElement(name), props, children);

// An SVG element.
export const shape = (name, props, ...children) => fill(document.createElementNS(SVG, name), props, children);

// Replaces what `node` holds.
export const put = (node, ...children) => node.replaceChildren(...children.flat(Infinity).filter(Boolean));

export const byId = (id) => document.getElementById(id);

export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

// What is wrong and what helps, as sentences.
export const sentences = (what, advice) => [what.replace(/\.$/, ""), advice && capital(advice)].filter(Boolean).join(". ");

// Says something to a screen reader.
export function say(text) {
  byId("says").textContent = text;
}

// On narrow screens the tray folds away to leave the board the room.
export function fold(folded) {
  document.body.toggleAttribute("data-folded", folded);
  const grip = byId("grip");
  grip.setAttribute("aria-expanded", String(!folded));
  grip.firstElementChild.textContent = folded ? "Show the settings" : "Hide the settings";
}

// Brings what was picked on the board into sight in the tray.
export function inSight(node) {
  fold(false);
  node.scrollIntoView({ block: "nearest" });
}

// A list made anew between press and release would swallow the click: what is
// pressed in the tray or the drawer stays until it is let go.
let pressed = false;
const waiting = new Set();
addEventListener("pointerdown", (event) => { pressed = Boolean(event.target.closest?.("#tray, .shelf")); }, true);
for (const end of ["pointerup", "pointercancel"]) {
  addEventListener(end, () => {
    pressed = false;
    setTimeout(() => {
      const jobs = [...waiting];
      waiting.clear();
      jobs.forEach((job) => job());
    });
  }, true);
}

// Runs a job now or, while something of them is pressed, once it is let go.
export function released(job) {
  if (pressed) waiting.add(job);
  else job();
}

export const STROKES = {
  place: "M5 3h14v18H5zM9 9h.01M15 9h.01M8.500 14c2.500 2 4.500 2 7 0",
  mend: "M4 20l9-9M13 5l6 6M11 7l6 6M15 3l6 6-4 4-6-6z",
  night: "M20 14.500A8 8 0 1 1 9.500 4a6.500 6.500 0 0 0 10.500 10.500z",
  print: "M7 8V3h10v5M7 17H4V9h16v8h-3M7 14h10v7H7z",
  drawer: "M3 5h18v6H3zM3 13h18v6H3zM10 8h4M10 16h4",
  undo: "M9 6L4 11l5 5M4 11h10a6 6 0 0 1 0 12h-2",
  redo: "M15 6l5 5-5 5M20 11H10a6 6 0 0 0 0 12h2",
  sun: "M12 8a4 4 0 1 1 0 8 4 4 0 0 1 0-8zM12 2v3M12 19v3M2 12h3M19 12h3M5 5l2 2M17 17l2 2M5 19l2-2M17 7l2-2",
  plus: "M12 5v14M5 12h14",
  minus: "M5 12h14",
  whole: "M4 9V4h5M20 9V4h-5M4 15v5h5M20 15v5h-5",
  mirror: "M12 3v18M9 7L4 17h5zM15 7l5 10h-5z",
  centre: "M12 3v6M12 15v6M3 12h6M15 12h6M12 11a1 1 0 1 1 0 2 1 1 0 0 1 0-2z",
  fit: "M4 4h16v16H4zM8 8h8v8H8z",
  file: "M6 3h8l4 4v14H6zM14 3v4h4M12 11v6M9 14h6",
  down: "M12 4v11M7 11l5 5 5-5M5 20h14",
  tick: "M5 13l4 4L19 7",
  cross: "M6 6l12 12M18 6L6 18",
  hand: "M8 13V6a1.500 1.500 0 0 1 3 0v5V4.500a1.500 1.500 0 0 1 3 0V11V6a1.500 1.500 0 0 1 3 0v8c0 4-2.500 7-6 7-3 0-4.500-1.500-6-4.500l-2-4c-.500-1.500 1.500-2.500 2.500-1z",
  west: "M19 12H5M11 6l-6 6 6 6",
  east: "M5 12h14M13 6l6 6-6 6",
  north: "M12 19V5M6 11l6-6 6 6",
  south: "M12 5v14M6 13l6 6 6-6",
};

// A line drawing, hidden from screen readers: words stand beside it.
export function icon(name) {
  const path = shape("path", { d: STROKES[name], fill: "none", stroke: "currentColor", "stroke-width": 1.800,
    "stroke-linecap": "round", "stroke-linejoin": "round" });
  return shape("svg", { viewBox: "0 0 24 24", class: "icon", "aria-hidden": "true", focusable: "false" }, path);
}

// Severity marks differ in outline, so that they read without colour.
const MARKS = {
  stop: "M-3.600-8.600h7.200l5 5v7.200l-5 5h-7.200l-5-5v-7.200z",
  care: "M0-9.500L9.500 7.500h-19z",
  note: "M0-7.500a7.500 7.500 0 1 1 0 15a7.500 7.500 0 0 1 0-15z",
};
export const markPath = (severity) => MARKS[severity] ?? MARKS.note;

export function mark(severity) {
  return shape("svg", { viewBox: "-12 -12 24 24", class: `mark ${severity}`, "aria-hidden": "true" },
    shape("path", { d: markPath(severity) }));
}
