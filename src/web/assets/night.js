// The face at night, lit from behind: a picture to show a customer.

import { el, icon, put, sentences } from "/dom.js";
import { live, refresh } from "/fields.js";
import { sawn } from "/mend.js";
import { behind, model } from "/model.js";
import { download } from "/paper.js";
import { Refused, fetchFile } from "/server.js";

let shown = null;
let address = null;

// The picture is of the saved project; a state being saved is waited for.
export async function nightStage(stage) {
  const now = `${model.project} ${model.revision}`;
  if (shown === now && stage.querySelector(".lantern")) return;
  shown = now;
  if (!stage.querySelector(".lantern")) put(stage, el("p", { class: "plain" }, "Lighting the lantern …"));
  try {
    if (await behind()) return;
    const { blob } = await fetchFile({ project: model.project, kind: "night" });
    if (shown !== now || document.body.dataset.station !== "night") return;
    if (address) URL.revokeObjectURL(address);
    address = URL.createObjectURL(blob);
    put(stage, el("figure", { class: "lantern" }, el("img", { src: address, alt: `The face ${model.project} at night, lit from behind` })));
  } catch (error) {
    shown = null;
    put(stage, el("p", { class: "plain", role: "alert" }, error instanceof Refused ? sentences(error.what, error.advice) : "The picture could not be fetched."));
  }
}

export const forgetNight = () => { shown = null; };

// A picture shows pieces hanging in the light that no wood holds.
function falling() {
  const count = sawn()?.report.islands.length;
  return count ? `${count === 1 ? "1 piece of wood" : `${count} pieces of wood`} shown here would fall out: mend the face first.` : "";
}

function open() {
  if (!sawn()) return "";
  const { totals, panel } = sawn().report;
  return `${(totals.open_area_mm2 / (panel.width_mm * panel.height_mm) * 100).toFixed(1)} % of the panel is open${model.state.mend.on ? ", mended" : ""}.`;
}

export function makeNightTray(host) {
  const button = el("button", { type: "button", class: "key wide", onclick: () => download("night", button) }, icon("down"), el("span", {}, "The picture", el("small", {}, "PNG, to show a customer")));
  put(host, el("section", { class: "card" }, el("h2", {}, "At night"),
    live("wrong", () => (model.state === model.safe || model.saving ? "" : "The picture is of what was saved last: what is set now is not saved.")),
    live("wrong", falling), live("", open),
    el("p", { class: "soft" }, "Seen from an arm's length or two away, a little to the left and above. Use battery lights only: never a flame in a wooden box."),
    button, el("p", { class: "note wrong", id: "got", role: "status" })));
  refresh();
}
