// The drawer: projects on this bench, and the faces of the folders it was given.

import { byId, el, icon, put } from "/dom.js";
import { bring, model, open } from "/model.js";

export function chooseFile() {
  const input = el("input", { type: "file", accept: ".svg,.png,.jpg,.jpeg,.webp,.gif,.bmp,image/*", onchange: () => takeFile(input.files[0]) });
  input.click();
}

export async function takeFile(file) {
  if (!file) return;
  const wrong = await bring(file);
  const banner = byId("banner");
  if (!wrong) return;
  banner.hidden = false;
  put(banner, el("p", {}, el("b", {}, `${file.name}: `), `${wrong.what}. ${wrong.advice}`),
    el("button", { type: "button", class: "key", onclick: () => { banner.hidden = true; } }, "Close"));
}

export function showDrawer(stage, leave) {
  const project = (name) => el("li", {}, el("button", { type: "button", class: "key wide", "aria-current": name === model.project ? "true" : null,
    onclick: async () => { await open(name); leave(); } }, icon("file"), name));
  put(stage, el("div", { class: "shelf" },
    el("section", {}, el("h2", {}, "Bring a face"), el("p", {}, "Drop a drawing anywhere on this page, or pick one: SVG, or a picture (PNG, JPEG, WebP)."),
      el("button", { type: "button", class: "key main", onclick: chooseFile }, icon("file"), "Pick a drawing")),
    model.projects.length ? el("section", {}, el("h2", {}, "On this bench"), el("ul", { class: "projects" }, model.projects.map(project))) : null));
}
