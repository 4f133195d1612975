// The template's pages as they will print, the downloads, and printing at true
// size from the browser.

import { byId, el, icon, put, say } from "/dom.js";
import { choice, length, number, pick, refresh } from "/fields.js";
import { parse } from "/lengths.js";
import { model, set, shop, unit } from "/model.js";
import { Refused, ask, fetchFile } from "/server.js";

let addresses = [];
let sheets = [];
let drawn = null;

const picture = (text) => {
  const address = URL.createObjectURL(new Blob([text], { type: "image/svg+xml" }));
  addresses.push(address);
  return address;
};

// Shows the pages on the stage.
export async function showPages(stage) {
  if (!model.project || !model.state) return;
  const state = model.state;
  if (drawn === state && stage.querySelector(".pages")) return;
  drawn = state;
  try {
    const answer = await ask("pages", { project: model.project, state });
    if (drawn !== state) return;
    addresses.forEach(URL.revokeObjectURL);
    addresses = [];
    sheets = answer.sheets;
    const page = (sheet, i) => {
      const image = el("img", { src: picture(sheet.svg), alt: `Page ${i + 1} of ${sheets.length}: ${sheet.name}`, width: Math.round(sheet.width_mm * 3), height: Math.round(sheet.height_mm * 3) });
      return el("figure", { class: "page" }, image, el("figcaption", {}, `${i + 1}. ${sheet.name}`));
    };
    put(stage, el("div", { class: "pages", tabindex: 0, role: "group", "aria-label": "Template pages" }, sheets.map(page)));
  } catch (error) {
    drawn = null;
    const text = error instanceof Refused ? `${error.what}. ${error.advice}` : "The pages could not be fetched.";
    put(stage, el("p", { class: "plain", role: "alert" }, text));
  }
}

export const forgetPages = () => { drawn = null; };

// Prints the pages from the browser: each sheet on a page of its own size.
export async function printPages() {
  if (sheets.length === 0) return;
  const style = new CSSStyleSheet();
  const [first] = sheets;
  style.replaceSync(`@page { size: ${first.width_mm}mm ${first.height_mm}mm; margin: 0 }`);
  const before = document.adoptedStyleSheets;
  document.adoptedStyleSheets = [...before, style];
  const images = sheets.map((sheet) => {
    const image = el("img", { src: picture(sheet.svg), alt: sheet.name });
    image.style.width = `${sheet.width_mm}mm`;
    image.style.height = `${sheet.height_mm}mm`;
    return image;
  });
  const press = el("div", { class: "press", id: "press" }, images);
  byId("press")?.remove();
  document.body.append(press);
  await Promise.all(images.map((image) => image.decode()));
  const done = () => {
    document.adoptedStyleSheets = before;
    press.remove();
  };
  window.addEventListener("afterprint", done, { once: true });
  window.print();
}

export async function download(kind, button) {
  button.disabled = true;
  try {
    const { name, blob } = await fetchFile({ project: model.project, kind });
    const address = URL.createObjectURL(blob);
    const link = el("a", { href: address, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    say(`${name} is ready`);
  } catch (error) {
    const text = error instanceof Refused ? `${error.what}. ${error.advice}` : "The file could not be fetched.";
    put(byId("got"), text);
  } finally {
    button.disabled = false;
  }
}

const FILES = [
  ["template", "Template", "PDF, true to size"], ["picture-png", "Picture", "PNG"], ["picture-svg", "Picture", "SVG"],
  ["night", "At night", "PNG"], ["report", "Report", "JSON: every measure"],
];

export function makePaperTray(host) {
  const file = ([kind, words, about]) => {
    const button = el("button", { type: "button", class: "key wide", onclick: () => download(kind, button) }, icon("down"), el("span", {}, words, el("small", {}, about)));
    return button;
  };
  const scale = (name, label) => number({ label, key: `printer.${name}`, step: 0.001, places: 4, get: () => shop().printer[name], put: (value) => set({ printer: { [name]: value } }) });
  put(host,
    el("section", { class: "card" }, el("h2", {}, "Print"),
      el("p", {}, "Print at 100 %, never “fit to page”, then lay a rule on the printed rulers."),
      el("button", { type: "button", class: "key wide main", onclick: printPages }, icon("print"), "Print at true size")),
    el("section", { class: "card" }, el("h2", {}, "Take away"), el("div", { class: "files" }, FILES.map(file)), el("p", { class: "note wrong", id: "got", role: "status" })),
    el("section", { class: "card" }, el("h2", {}, "Paper"),
      choice({ label: "Sheet", key: "paper.size", options: () => model.tables.papers.map(({ slug, name }) => [slug, name]), get: () => shop().paper.size, put: (size) => set({ paper: { size } }) }),
      pick({ label: "Lies", options: [["auto", "As fits"], ["portrait", "Upright"], ["landscape", "On its side"]], get: () => shop().paper.turn, put: (turn) => set({ paper: { turn } }) }),
      number({ label: "Copies", key: "out.copies", places: 0, get: () => shop().out.copies, put: (copies) => set({ out: { copies: Math.round(copies) } }) }),
      el("h3", {}, "The printer"),
      length({ label: "White margin", key: "printer.margin", get: () => parse(shop().printer.margin, unit()), put: (mm, text, isLive) => !isLive && set({ printer: { margin: text ?? `${mm}mm` } }) }),
      el("div", { class: "pair" }, scale("scale_x", "True ÷ printed, across"), scale("scale_y", "True ÷ printed, along"))));
  refresh();
}
