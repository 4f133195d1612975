// Drawings being taken in: which one is being read, and what was wrong with those
// that could not be. Both have places of their own: what must be decided about the
// project (another tab changed it) stands beside them.

import { byId, el, put, sentences } from "/dom.js";
import { bring, redraw, takeFace } from "/model.js";

const MOST = 5; // complaints shown at once

let wrongs = []; // { name, error } of what was taken in last

// Takes in drawings one after the other; resolves to how many came.
async function taken(files, how) {
  wrongs = [];
  complaints();
  let came = 0;
  try {
    for (const [number, file] of files.entries()) {
      reading(`Reading ${file.name}${files.length > 1 ? ` (${number + 1} of ${files.length})` : ""} …`);
      const error = await how(file);
      if (error) wrongs.push({ name: file.name, error });
      else came += 1;
      complaints();
    }
  } finally {
    reading("");
  }
  return came;
}

export const takeFile = (file) => taken(file ? [file] : [], bring);
export const redrawn = (file) => taken(file ? [file] : [], redraw);
// Several files become a project each; the last is on the board.
export const takeFiles = (files) => taken([...files], bring);
export const takeTile = (face, number) => taken([face], () => takeFace(number));

function reading(words) {
  const node = byId("reading");
  node.hidden = !words;
  node.textContent = words;
}

function complaints() {
  const node = byId("wrongs");
  node.hidden = wrongs.length === 0;
  const more = wrongs.length - MOST;
  put(node, wrongs.length ? [el("div", { class: "told" }, wrongs.slice(0, MOST).map(complaint), more > 0 ? el("p", {}, `and ${more} more`) : null),
    el("button", { type: "button", class: "key", onclick: () => { wrongs = []; complaints(); } }, "Close")] : null);
}

function complaint({ name, error }) {
  // The server names the file where the fault lies in it.
  const what = error.what.startsWith(`${name}: `) ? error.what.slice(name.length + 2) : error.what;
  return el("p", {}, el("b", {}, `${name}: `), sentences(what, error.advice));
}
