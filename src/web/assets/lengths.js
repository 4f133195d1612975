// Lengths as a shop reads and writes them. The server reads them again; this is
// for the page's own arithmetic.

export const INCH = 25.4;

// Millimetres of "5-1/4in", "5 1/4\"", "5' 6\"", "6ft", "133.35mm", "13.3cm" or a bare
// number in `unit`; NaN for anything else.
export function parse(text, unit) {
  if (typeof text === "number") return unit === "mm" ? text : text * INCH;
  const clean = String(text).trim().toLowerCase().replace(/[″”]/g, "\"").replace(/[′’]/g, "'").replace("−", "-").replaceAll("\u2060", "");
  const feet = clean.match(/^(-?)([\d./\s-]+?)\s*(?:feet|foot|ft|')\s*-?\s*((?:[\d.].*)?)$/);
  if (feet) {
    const more = /(mm|cm)$/.test(feet[3]) ? NaN : feet[3] ? parse(feet[3], "inch") : 0;
    return (feet[1] ? -1 : 1) * (parse(feet[2], "inch") * 12 + more);
  }
  const found = clean.match(/^(-?)\s*(?:(\d+(?:\.\d*)?|\.\d+)(?:[-\s]+(?=\d+\s*\/))?)?(?:(\d+)\s*\/\s*(\d+))?\s*(inches|inch|in|"|mm|cm)?$/);
  if (!found || (found[2] === undefined && found[3] === undefined) || Number(found[4]) === 0) return NaN;
  const [, sign, whole, top, bottom, written] = found;
  const value = Number(whole ?? 0) + (top === undefined ? 0 : Number(top) / Number(bottom));
  const scale = written === "mm" ? 1 : written === "cm" ? 10 : written ? INCH : unit === "mm" ? 1 : INCH;
  return (sign ? -1 : 1) * value * scale;
}

// What a drill bit is called in one spelling, as the server reads it: "no. 52" is
// "#52", "a" is "A"; a fraction or a metric bit goes by its size.
function bit(name) {
  const text = String(name).trim().toLowerCase();
  const number = text.match(/^(?:#|no\.|no )\s*0*(\d+)$/);
  if (number) return `#${number[1]}`;
  const size = parse(text, "inch");
  return Number.isNaN(size) ? text : `${size.toFixed(4)} ${text.endsWith("mm") ? "metric" : "inch"}`;
}
export const sameBit = (a, b) => bit(a) === bit(b);

// "5-1/4 in" to the nearest 1/`parts`.
export function fraction(mm, parts = 16) {
  const sign = mm < 0 ? "-" : "";
  let rest = Math.round(Math.abs(mm) / INCH * parts);
  const whole = Math.floor(rest / parts);
  rest %= parts;
  if (rest === 0) return whole === 0 ? "0 in" : `${sign}${whole} in`;
  let below = parts;
  while (rest % 2 === 0) { rest /= 2; below /= 2; }
  return `${sign}${whole ? `${whole}-` : ""}${rest}/${below} in`;
}

// The same where that is near enough; a small length as a decimal: "0.012 in".
const inches = (mm, parts) => {
  const off = Math.abs(Math.round(mm / INCH * parts) / parts * INCH - mm);
  return Math.abs(mm) < INCH / 8 && off > Math.abs(mm) * 0.03 ? `${Number((mm / INCH).toFixed(3))} in` : fraction(mm, parts);
};

// "133.4 mm".
export const metric = (mm, places = 1) => `${(Math.round(mm * 10 ** places) / 10 ** places || 0).toFixed(places)} mm`;

// In the shop's unit, fine enough to type back; bare without the unit's name.
export const plain = (mm, unit) => (unit === "mm" ? metric(mm, mm && Math.abs(mm) < 1 ? 2 : 1) : inches(mm, 32));
export const bare = (mm, unit) => plain(mm, unit).replace(/ (in|mm)$/, "");
export const other = (mm, unit) => (unit === "mm" ? inches(mm, 16) : metric(mm, mm && Math.abs(mm) < 1 ? 2 : 1));
export const both = (mm, unit) => `${plain(mm, unit)} (${other(mm, unit)})`;

// The same for a length to reach: rounded up, as the words of findings are.
export function bothAtLeast(mm, unit) {
  const up = (step) => Math.ceil(mm / step - 1e-6) * step;
  const [inch, metres] = [fraction(up(INCH / 16)), metric(up(0.1))];
  return unit === "mm" ? `${metres} (${inch})` : `${inch} (${metres})`;
}

// An area in the shop's unit: "38.7 cm²", "6.0 sq in"; a small one in mm².
export function area(mm2, unit) {
  if (unit !== "mm") return `${(mm2 / INCH ** 2).toFixed(mm2 < 65 ? 2 : 1)} sq in`;
  return mm2 < 100 ? `${Math.round(mm2)} mm²` : `${(mm2 / 100).toFixed(1)} cm²`;
}

// As a setting is stored: exact to the micrometre.
export const stored = (mm) => `${Math.round(mm * 1000) / 1000}mm`;
