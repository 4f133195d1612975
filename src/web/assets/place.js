// Where the face lies: its middle on the panel, its scale, turn and mirroring.
// The server lays it by the same four, so a dragged face lands where it was let go.

import { parse, stored } from "/lengths.js";
import { commit, model, preview, unit } from "/model.js";

// The placement of the view last seen.
export function seenPlacement() {
  const view = model.view;
  if (!view) return null;
  const { scale, turn_deg: turn, mirrored: mirror } = view.report.fit;
  return { middle: view.middle, scale, turn, mirror };
}

// The placement shown: that of the state where it says one, else as seen.
export function placement() {
  const was = seenPlacement();
  if (!was || !model.state) return was;
  if (model.seen === model.state) return was;
  const fit = model.state.shop.fit;
  const free = fit.scale === null || fit.width !== null || fit.height !== null || fit.true_size;
  const mm = (text, otherwise) => (text === null ? otherwise : parse(text, unit()));
  return {
    middle: [mm(fit.middle_x, was.middle[0]), mm(fit.middle_y, was.middle[1])],
    scale: free ? was.scale : fit.scale,
    turn: fit.turn,
    mirror: fit.mirror,
  };
}

// The face's size before it is turned, at a placement.
export function size(at) {
  const was = seenPlacement();
  const [w, h] = model.view.size;
  const grown = at.scale / was.scale;
  return [w * grown, h * grown];
}

// The smallest upright box round the face, as the server measured it, moved and
// grown to a placement; turned by the outlines of its box only while a turn is
// being dragged.
export function bounds(at) {
  const was = seenPlacement();
  const fit = model.view.report.fit;
  const grown = at.scale / was.scale;
  const same = at.turn === was.turn && at.mirror === was.mirror;
  if (same) {
    const left = at.middle[0] + (fit.left_mm - was.middle[0]) * grown;
    const bottom = at.middle[1] + (fit.bottom_mm - was.middle[1]) * grown;
    return { left, bottom, width: fit.width_mm * grown, height: fit.height_mm * grown };
  }
  const [w, h] = size(at);
  const turn = at.turn * Math.PI / 180;
  const width = Math.abs(w * Math.cos(turn)) + Math.abs(h * Math.sin(turn));
  const height = Math.abs(w * Math.sin(turn)) + Math.abs(h * Math.cos(turn));
  return { left: at.middle[0] - width / 2, bottom: at.middle[1] - height / 2, width, height };
}

const own = ({ middle, scale, turn, mirror }) => new DOMMatrix()
  .translate(middle[0], middle[1]).rotate(turn).scale(mirror ? -scale : scale, scale);

// The transform that takes the outlines from one placement to another.
export function matrix(to, from) {
  const m = own(to).multiply(own(from).inverse());
  return `matrix(${[m.a, m.b, m.c, m.d, m.e, m.f].map((v) => Math.round(v * 1e5) / 1e5 || 0).join(",")})`;
}

function placed(at) {
  const next = structuredClone(model.state);
  const turn = ((at.turn + 180) % 360 + 360) % 360 - 180;
  Object.assign(next.shop.fit, {
    width: null, height: null, true_size: false, scale: Math.round(at.scale * 1e6) / 1e6, turn: Math.round(turn * 100) / 100,
    mirror: at.mirror, middle_x: stored(at.middle[0]), middle_y: stored(at.middle[1]),
  });
  return next;
}

export const showAt = (at) => preview(placed(at));
export const layAt = (at) => commit(placed(at));

// Back to filling the window.
export function fill() {
  const next = structuredClone(model.state);
  Object.assign(next.shop.fit, { width: null, height: null, true_size: false, scale: null, middle_x: null, middle_y: null });
  return commit(next);
}

// The window's centre, where a face is usually wanted.
export function windowCentre() {
  const w = model.view.report.window;
  return [w.x_mm + w.width_mm / 2, w.y_mm + w.height_mm / 2];
}
