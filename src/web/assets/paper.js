// The template's pages as they will print, the downloads, and printing at true
// size from the browser.

import { byId, el, icon, put, say, sentences } from "/dom.js";
import { choice, length, live, number, pick, refresh } from "/fields.js";
import { parse } from "/lengths.js";
import { model, set, shop, unit, unsavedWhy } from "/model.js";
import { Refused, ask, fetchFile } from "/server.js";

let addresses = [];
let sheets = []; // the pages on the stage, those of the state `drawn`
let drawn = null; // the state whose pages are fetched or shown
let drawing = null; // the fetching under way

const picture = (text) => {
  const address = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
  addresses.push(address);
  return address;
};

// Shows the pages on the stage; resolves once they are there, or told why not.
export function showPages(stage) {
  if (!model.project || !model.state) return null;
  if (drawn !== model.state || !(drawing || stage.querySelector(".pages"))) {
    forgetPages();
    drawn = model.state;
    if (!stage.querySelector(".pages")) put(stage, el("p", { class: "plain" }, "Drawing the pages …"));
    const mine = fetchPages(stage, drawn).finally(() => { if (drawing === mine) drawing = null; });
    drawing = mine;
  }
  return drawing;
}

async function fetchPages(stage, state) {
  try {
    const answer = await ask("pages", { project: model.project, state });
    if (drawn !== state) return;
    // The maker went elsewhere: the stage is another station's.
    if (document.body.dataset.station !== "print") return forgetPages();
    addresses.forEach(URL.revokeObjectURL);
    addresses = [];
    sheets = answer.sheets;
    const page = (sheet, i) => {
      const image = el("img", { src: picture(sheet.svg), alt: `Page ${i + 1} of ${sheets.length}: ${sheet.name}`, width: Math.round(sheet.width_mm * 3), height: Math.round(sheet.height_mm * 3) });
      return el("figure", { class: "page" }, image, el("figcaption", {}, `${i + 1}. ${sheet.name}`));
    };
    put(stage, el("div", { class: "pages", tabindex: 0, role: "group", "aria-label": "Template pages" }, sheets.map(page)));
  } catch (error) {
    if (drawn !== state) return;
    forgetPages();
    if (document.body.dataset.station !== "print") return;
    const text = error instanceof Refused ? sentences(error.what, error.advice) : "The pages could not be fetched.";
    put(stage, el("p", { class: "plain", role: "alert" }, text));
  }
}

export function forgetPages() {
  drawn = null;
  sheets = [];
}

const PIXEL = 25.4 / 96; // millimetres of a CSS pixel

// A sheet as a picture of a whole number of pixels: a browser rounds a picture's
// sides to them, and would stretch one whose sides are not. What is cut off is
// less than a pixel at the paper's edge, where nothing is drawn.
function whole(sheet) {
  const [w, h] = [Math.floor(sheet.width_mm / PIXEL + 1e-6), Math.floor(sheet.height_mm / PIXEL + 1e-6)];
  const svg = sheet.svg.replace(/width="[^"]*" height="[^"]*" viewBox="[^"]*"/, `width="${w}px" height="${h}px" viewBox="0 0 ${w * PIXEL} ${h * PIXEL}"`);
  const image = el("img", { src: picture(svg), alt: sheet.name });
  Object.assign(image.style, { width: `${w}px`, height: `${h}px`, page: paperName(sheet) });
  return image;
}

const paperName = (sheet) => `p${Math.round(sheet.width_mm * 10)}x${Math.round(sheet.height_mm * 10)}`;

// The state whose pages are on the stage, once they are those of what is set; null
// where they cannot be drawn. A state being saved gives way to the saved one.
async function ready() {
  for (let tries = 0; tries < 5; tries += 1) {
    const state = model.state;
    await showPages(byId("stage"));
    if (state === model.state) return drawn === state && sheets.length > 0 ? state : null;
  }
  return null;
}

// Prints the pages from the browser: each sheet on a page of its own size. Pages
// drawn for another face or other settings are never printed.
export async function printPages() {
  const state = await ready();
  const unchanged = () => state === model.state && drawn === state;
  const got = byId("got");
  if (!got) return; // the maker went elsewhere meanwhile
  put(got, state ? null : "Nothing was printed: there are no pages yet for what is set now. Look at them and press again.");
  if (!state) return got.scrollIntoView({ block: "nearest" });
  const style = new CSSStyleSheet();
  const papers = new Map(sheets.map((sheet) => [paperName(sheet), sheet]));
  style.replaceSync([...papers].map(([name, sheet]) => `@page ${name} { size: ${sheet.width_mm}mm ${sheet.height_mm}mm; margin: 0 }`).join(" "));
  const before = document.adoptedStyleSheets;
  document.adoptedStyleSheets = [...before, style];
  const images = sheets.map(whole);
  byId("press")?.remove();
  const press = el("div", { class: "press", id: "press" }, images);
  document.body.append(press);
  const done = () => {
    document.adoptedStyleSheets = before;
    press.remove();
  };
  await Promise.all(images.map((image) => image.decode()));
  if (!unchanged()) return done();
  window.addEventListener("afterprint", done, { once: true });
  window.print();
}

export async function download(kind, button) {
  button.disabled = true;
  put(byId("got"));
  try {
    const why = await unsavedWhy();
    if (why) return told(`Nothing was made. ${why}.`);
    const { name, blob } = await fetchFile({ project: model.project, kind });
    const address = URL.createObjectURL(blob);
    const link = el("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    say(`${name} is ready`);
  } catch (error) {
    told(error instanceof Refused ? sentences(error.what, error.advice) : "The file could not be fetched.");
  } finally {
    button.disabled = false;
  }
}

function told(words) {
  const got = byId("got");
  if (!got) return say(words); // the maker went elsewhere meanwhile
  put(got, words);
  got.scrollIntoView({ block: "nearest" });
}

const FILES = [
  ["To look at", [["picture-png", "Picture", "PNG"], ["picture-svg", "Picture", "SVG"], ["night", "At night", "PNG"], ["before-after", "Before and after", "PNG"]]],
  ["For other programs and machines", [["outlines-svg", "Outlines", "SVG, true size"], ["outlines-dxf", "Outlines", "DXF, true size"], ["mended", "Mended face", "SVG"], ["report", "Report", "JSON: every measure"], ["edits", "Edits", "JSON"]]],
];

function key([kind, words, about], more = "") {
  const button = el("button", { type: "button", class: `key wide ${more}`, "data-file": kind, onclick: () => download(kind, button) }, icon("down"), el("span", {}, words, el("small", {}, about)));
  return button;
}

// Which face is printed.
function printed() {
  const { on, settled, bridges } = model.state.mend;
  if (on) return "The mended face is printed.";
  return `The face is printed as drawn${settled.length + bridges.length ? "; what you settled at Mend is not accepted" : ""}.`;
}

export function makePaperTray(host) {
  const files = (list) => el("div", { class: "files" }, list.map((one) => key(one)));
  put(host,
    el("section", { class: "card" }, el("h2", {}, "Print"),
      el("p", {}, "Print at 100 %, never “fit to page”, then lay a rule on the printed rulers."),
      el("button", { type: "button", class: "key wide main", onclick: printPages }, icon("print"), "Print at true size"),
      key(["template", "Template", "PDF, true to size"]), live("soft", printed),
      el("p", { class: "note wrong", id: "got", role: "status" })),
    paperCard(), lanternCard(files),
    el("section", { class: "card" }, el("h2", {}, "Take away"), FILES.map(([words, list]) => [el("h3", {}, words), files(list)])));
  refresh();
}

function paperCard() {
  const scale = (name, label) => number({ label, key: `printer.${name}`, step: 0.001, places: 4, least: 0.5, get: () => shop().printer[name], put: (value, isLive) => !isLive && set({ printer: { [name]: value } }) });
  return el("section", { class: "card" }, el("h2", {}, "Paper"),
    choice({ label: "Sheet", key: "paper.size", options: () => model.tables.papers.map(({ slug, name }) => [slug, name]), get: () => shop().paper.size, put: (size) => set({ paper: { size } }) }),
    pick({ label: "Lies", options: [["auto", "As fits"], ["portrait", "Upright"], ["landscape", "On its side"]], get: () => shop().paper.turn, put: (turn) => set({ paper: { turn } }) }),
    number({ label: "Copies in the PDF", key: "out.copies", places: 0, least: 1, get: () => shop().out.copies, put: (copies, isLive) => !isLive && set({ out: { copies: Math.round(copies) } }) }),
    el("h3", {}, "The printer"),
    length({ label: "White margin", key: "printer.margin", get: () => parse(shop().printer.margin, unit()), put: (mm, text, isLive) => !isLive && set({ printer: { margin: text ?? `${mm}mm` } }) }),
    key(["ruler", "Printer check", "PDF: print it and measure its two bars"]),
    el("div", { class: "pair" }, scale("scale_x", "True ÷ printed, across"), scale("scale_y", "True ÷ printed, along")));
}

function lanternCard(files) {
  return el("section", { class: "card" }, el("h2", {}, "The lantern"),
    number({ label: "Lanterns with this face", key: "batch.boxes", places: 0, least: 1, get: () => shop().batch.boxes ?? 1, put: (boxes, isLive) => !isLive && set({ batch: { boxes: Math.round(boxes) } }) }),
    files([["job", "Job sheet", "PDF: boards, hardware, time, price"], ["box", "Box papers", "PDF: parts, window, nails"], ["cut-list", "Cut list", "CSV"]]));
}
