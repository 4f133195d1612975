// The drawer: the faces of the folders it was given, each judged on this
// shop's panel, and the projects on this bench.

import { byId, el, icon, mark, put, shape } from "/dom.js";
import { model, open } from "/model.js";
import { ask } from "/server.js";
import { takeFile, takeTile } from "/taking.js";

const MOST_AT_ONCE = 2; // thumbnails asked for together
let faces = null;
let filter = "all";

// On the page for as long as it lives: a browser may drop one that is not while its
// window of files is open, and what was picked with it.
let picker = null;

export function chooseFile(take = takeFile) {
  picker?.remove();
  const input = el("input", { type: "file", hidden: true, accept: ".svg,.png,.jpg,.jpeg,.webp,.gif,.bmp,.dxf,image/*", onchange: () => take(input.files[0]) });
  picker = input;
  document.body.append(input);
  input.click();
}

export function showDrawer(stage, leave) {
  const tiles = el("ul", { class: "tiles" });
  const section = el("section", { hidden: true });
  const projects = el("section");
  // Made anew, it keeps the keyboard where it was.
  const called = (node) => node.value || node.textContent;
  const held = stage.contains(document.activeElement) ? called(document.activeElement) : null;
  put(stage, el("div", { class: "shelf" },
    el("section", {}, el("h2", {}, "Bring a face"), el("p", {}, "Drop a drawing anywhere on this page, or pick one: SVG, DXF, or a picture (PNG, JPEG, WebP, GIF, BMP)."),
      el("button", { type: "button", class: "key main", onclick: () => chooseFile() }, icon("file"), "Pick a drawing")), projects, section));
  fillProjects(projects, leave);
  fillDrawer(section, tiles, leave);
  if (held) [...stage.querySelectorAll("button, input")].find((node) => called(node) === held)?.focus({ preventScroll: true });
}

// Those known here at once, and soon those another tab has begun.
async function fillProjects(section, leave) {
  const project = (name) => el("li", {}, el("button", { type: "button", class: "key wide", title: name, "aria-current": name === model.project ? "true" : null,
    onclick: async () => { await open(name); leave(); } }, icon("place"), el("span", { class: "name" }, name)));
  const show = () => {
    section.hidden = model.projects.length === 0;
    put(section, el("h2", {}, "On this bench"), el("ul", { class: "projects" }, model.projects.map(project)));
  };
  show();
  const now = await ask("start").then((answer) => answer.projects, () => model.projects);
  if (now.join("/") === model.projects.join("/")) return;
  model.projects = now;
  if (section.isConnected) show();
}

async function fillDrawer(section, tiles, leave) {
  try {
    faces ??= (await ask("drawer")).faces;
  } catch {
    return; // the banner already says that the bench cannot be reached
  }
  if (faces.length === 0) return;
  section.hidden = false;
  const kinds = [["all", "All"], ["sound", "Saw as is"], ["care", "With care"], ["stop", "Mend first"]];
  const pick = ([value, words]) => el("label", { class: "pick" }, el("input", { type: "radio", name: "drawer-filter", value, checked: filter === value, onchange: () => { filter = value; sift(tiles); } }), el("span", {}, words));
  put(section, el("h2", {}, "In the drawer"), el("p", { class: "soft" }, "Each judged for this shop's panel, wood and blade."),
    el("fieldset", { class: "picks" }, el("legend", { class: "unseen" }, "Show"), el("div", { class: "row" }, kinds.map(pick))), tiles, el("p", { class: "soft", hidden: true }, "No face here is of that kind."));
  put(tiles, faces.map((face, number) => tile(face, number, leave)));
  sift(tiles);
  watchTiles(tiles);
}

const kindOf = (thumb) => (!thumb || thumb.error ? "stop" : thumb.stop ? "stop" : thumb.care ? "care" : "sound");

function sift(tiles) {
  for (const node of tiles.children) {
    const { thumb } = faces[Number(node.dataset.face)];
    node.hidden = filter !== "all" && Boolean(thumb) && kindOf(thumb) !== filter;
  }
  tiles.nextElementSibling.hidden = [...tiles.children].some((node) => !node.hidden);
}

function tile(face, number, leave) {
  const act = async () => {
    if (await takeTile(face, number)) leave();
  };
  const button = el("button", { type: "button", class: "tile", onclick: act }, el("span", { class: "picture" }), el("b", { class: "name", title: face.name }, face.name), el("span", { class: "verdict-line soft" }, "…"));
  const node = el("li", { "data-face": number }, button);
  if (face.thumb) paint(node, face.thumb);
  return node;
}

// Thumbnails are asked for as they come into sight, a few at a time.
function watchTiles(tiles) {
  const waiting = [];
  let busy = 0;
  const next = async () => {
    while (busy < MOST_AT_ONCE && waiting.length) {
      const node = waiting.shift();
      busy += 1;
      fetchThumb(node).finally(() => { busy -= 1; next(); });
    }
  };
  const sight = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      sight.unobserve(target);
      waiting.push(target);
    }
    next();
  }, { root: byId("stage"), rootMargin: "600px" });
  for (const node of tiles.children) if (!faces[Number(node.dataset.face)].thumb) sight.observe(node);
}

async function fetchThumb(node) {
  const face = faces[Number(node.dataset.face)];
  try {
    face.thumb = await ask("thumb", { face: Number(node.dataset.face) });
    paint(node, face.thumb);
    sift(node.parentElement);
  } catch {
    put(node.querySelector(".verdict-line"), "could not be fetched");
  }
}

function paint(node, thumb) {
  const kind = kindOf(thumb);
  const things = (n, word) => `${n} ${n === 1 ? word : `${word}s`}`;
  const words = thumb.error ? thumb.error.what : thumb.verdict === "needs-mending" ? `mend: ${thumb.reason}` : thumb.stop ? thumb.reason : thumb.care ? `${things(thumb.care, "place")} with care` : "saw as is";
  const line = node.querySelector(".verdict-line");
  line.className = `verdict-line ${kind}`;
  put(line, kind === "sound" ? icon("tick") : mark(kind), el("span", {}, thumb.error ? words : `${words} · ${thumb.minutes} min`));
  if (thumb.error) return;
  const { width_mm: w, height_mm: h } = thumb;
  put(node.querySelector(".picture"), shape("svg", { viewBox: `-2 -2 ${w + 4} ${h + 4}`, "aria-hidden": "true" },
    shape("g", { transform: `matrix(1 0 0 -1 0 ${h})` }, shape("rect", { width: w, height: h, rx: 1, class: "thumb-wood" }), thumb.cutouts.map((d) => shape("path", { d, class: "cut" })))));
}
