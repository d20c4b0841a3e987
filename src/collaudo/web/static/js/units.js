// Quantities: shown in the units chosen, with the digits an instrument of the bench shows. Values come from
// the server in the unit the bench has, each with that unit's name.

/** @typedef {[factor: number, offset: number, text: string, dimension: string]} Unit */

const NARROW = "\u202f";

/** @type {Record<string, Unit>} */
const TABLE = JSON.parse(document.getElementById("units")?.textContent ?? "{}");

/** Units for print instead of those the bench has, by what was chosen; a K is a difference. */
const INSTEAD = {
  bar: { psi: "bar" },
  psi: { bar: "psi" },
  degC: { degF: "degC", degF_difference: "K" },
  degF: { degC: "degF", K: "degF_difference" },
  ml: { fl_oz: "ml" },
  fl_oz: { ml: "fl_oz" },
};

const KINDS = { pressure: ["bar", "psi"], temperature: ["degC", "degF"], volume: ["ml", "fl_oz"] };
const TENTHS_ALWAYS = ["degC", "K", "degF_difference"];

let chosen = read();

function read() {
  const cookie = document.cookie.split("; ").find((one) => one.startsWith("units="));
  const words = (cookie ?? "").slice(6).split(".");
  return Object.values(KINDS).map((known, n) => (known.includes(words[n]) ? words[n] : known[0]));
}

/** The choice now: pressure, temperature, volume. */
export function choice() {
  return [...chosen];
}

/** Choose a unit; everything on the page that is a quantity changes at once, and later pages show it too.
 * @param {string} kind @param {string} unit */
export function choose(kind, unit) {
  chosen[Object.keys(KINDS).indexOf(kind)] = unit;
  document.cookie = `units=${chosen.join(".")}; path=/; max-age=31536000; samesite=strict`;
  showAll(document);
  document.dispatchEvent(new CustomEvent("units-chosen"));
}

/** The unit shown instead of one. @param {string} unit */
export function unitFor(unit) {
  for (const word of chosen) if (INSTEAD[word][unit]) return INSTEAD[word][unit];
  return unit;
}

/** A value in the unit chosen. @param {number} value @param {string} unit */
export function converted(value, unit) {
  return between(value, unit, unitFor(unit));
}

/** A value of one unit in another of its kind. @param {number} value @param {string} from @param {string} to */
export function between(value, from, to) {
  if (from === to) return value;
  const [a, ao] = TABLE[from];
  const [b, bo] = TABLE[to];
  return ((value + ao) * a) / b - bo;
}

/** A unit as printed. @param {string} unit */
export function unitText(unit) {
  return unit && TABLE[unit] ? TABLE[unit][2] : "";
}

/** Digits behind the point; below nought for what is rounded before it. @param {number} value @param {string} unit */
export function digitsOf(value, unit) {
  const size = Math.abs(value);
  if (unit === "bar") return size < 2 ? 2 : 1;
  if (unit === "ohm") return size < 200 ? 1 : size < 10000 ? 0 : -2;
  return size >= 20 && !TENTHS_ALWAYS.includes(unit) ? 0 : 1;
}

/** A number alone, thousands apart. @param {number} value @param {string} unit @param {number} [digits] */
export function numberText(value, unit = "", digits = digitsOf(value, unit)) {
  const step = 10 ** -digits;
  let text = (digits < 0 ? Math.round(value / step) * step : value).toFixed(Math.max(digits, 0));
  if (Number(text) === 0) text = text.replace("-", "");
  const [, sign, whole, rest] = /^(-?)(\d+)(.*)$/.exec(text) ?? ["", "", text, ""];
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, NARROW) : whole;
  return `${sign ? "\u2212" : ""}${grouped}${rest}`;
}

/** A quantity in the units chosen. @param {number} value @param {string} unit */
export function quantityText(value, unit) {
  if (!Number.isFinite(value)) return "–";
  const to = unitFor(unit);
  const text = unitText(to);
  return numberText(between(value, unit, to), to) + (text ? NARROW + text : "");
}

/** From low to high, the unit once. @param {number} low @param {number} high @param {string} unit */
export function spanText(low, high, unit) {
  const to = unitFor(unit);
  const values = [low, high].map((value) => between(value, unit, to));
  const digits = Math.min(...values.map((value) => digitsOf(value, to)));
  const ends = values.map((value) => numberText(value, to, digits));
  const text = unitText(to);
  return `${ends[0]} to ${ends[1]}${text ? NARROW + text : ""}`;
}

/** An element that shows a quantity and changes with the choice.
 * @param {number} value @param {string} unit @param {number} [to] upper end of a span */
export function quantity(value, unit, to) {
  const element = document.createElement("data");
  element.className = "quantity";
  element.value = String(value);
  element.dataset.unit = unit;
  if (to !== undefined) element.dataset.to = String(to);
  show(element);
  return element;
}

/** @param {HTMLDataElement} element */
function show(element) {
  const unit = element.dataset.unit ?? "";
  const low = Number(element.value);
  element.textContent =
    element.dataset.to === undefined ? quantityText(low, unit) : spanText(low, Number(element.dataset.to), unit);
}

/** Show all quantities below a node in the units chosen. @param {ParentNode} root */
export function showAll(root) {
  for (const element of root.querySelectorAll("data.quantity")) show(/** @type {HTMLDataElement} */ (element));
}

/** A number as a person types it, comma or point; not a number where it is none. @param {string} text */
export function typedNumber(text) {
  const plain = text
    .trim()
    .replace(/[\u202f\u00a0 ]/g, "")
    .replace(",", ".")
    .replace("\u2212", "-");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}
