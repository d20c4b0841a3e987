// The table of readings: built once, then only its cells change, so that nothing jumps.

import { numberText, converted, quantity, quantityText, unitFor, unitText } from "../units.js";
import { make } from "../dom.js";
import { rangeMark } from "../range_mark.js";

/** @typedef {{reading: string, trial: string, title: string, unit: string, value: number | null, before: number | null,
 *   change: number | null, change_unit: string, wanted_low: number | null, wanted_high: number | null, lies: string}} Effect */

const NEVER = "does not come";
/** Below this, in the last digit shown, a change is none. */
const LEAST = 0.5;

/** @param {HTMLTableElement} table
 * @returns {(answer: {trials: {trial: string, title: string}[], effects: Effect[]}) => void} */
export function readingsIn(table) {
  /** @type {Map<string, HTMLTableRowElement>} */
  const rows = new Map();

  return (answer) => {
    if (rows.size === 0) {
      for (const trial of answer.trials) {
        const body = make("tbody", {}, groupRow(trial.title));
        for (const effect of answer.effects.filter((one) => one.trial === trial.trial)) {
          const row = emptyRow(effect);
          rows.set(effect.reading, row);
          body.append(row);
        }
        table.append(body);
      }
      table.hidden = false;
    }
    for (const effect of answer.effects) fill(/** @type {HTMLTableRowElement} */ (rows.get(effect.reading)), effect);
  };
}

/** @param {string} title */
function groupRow(title) {
  return make("tr", { class: "group" }, make("th", { scope: "rowgroup", colspan: 5 }, title));
}

/** @param {Effect} effect */
function emptyRow(effect) {
  const numbers = { now: "now", before: "as it came", change: "change" };
  const row = make(
    "tr",
    { "data-reading": effect.reading },
    make("th", { scope: "row" }, effect.title),
    Object.entries(numbers).map(([name, words]) => make("td", { class: `number ${name}`, "data-head": words })),
    make("td", { class: "wanted" }),
  );
  return /** @type {HTMLTableRowElement} */ (row);
}

/** @param {HTMLTableRowElement} row @param {Effect} effect */
function fill(row, effect) {
  const [, now, before, change, wanted] = row.cells;
  now.replaceChildren(shown(effect.value, effect.unit));
  before.replaceChildren(shown(effect.before, effect.unit));
  const text = changeText(effect);
  change.textContent = text;
  row.classList.toggle("changed", text !== "–");
  row.classList.toggle("unchanged", text === "–");
  wanted.replaceChildren(...wantedOf(effect));
}

/** @param {number | null} value @param {string} unit */
function shown(value, unit) {
  return value === null ? document.createTextNode(NEVER) : quantity(value, unit);
}

/** With its sign, in the unit chosen; a dash where nothing would be seen. @param {Effect} effect */
function changeText(effect) {
  if (effect.change === null) return "–";
  const unit = unitFor(effect.change_unit);
  const value = converted(effect.change, effect.change_unit);
  const digits = effect.change_unit === "bar" && unit === "bar" ? 2 : Math.abs(value) >= 20 ? 0 : 1;
  if (Math.abs(value) < LEAST * 10 ** -digits) return "–";
  const text = numberText(value, unit, digits);
  return `${value > 0 ? "+" : ""}${text}\u202f${unitText(unit)}`;
}

/** @param {Effect} effect */
function wantedOf(effect) {
  const { wanted_low: low, wanted_high: high, lies, unit } = effect;
  if (low === null && high === null) return [];
  const said = lies === "never" ? "not reached" : lies;
  const verdict = make("span", { class: lies === "within" ? "" : "off" }, said);
  const range =
    low !== null && high !== null
      ? quantity(low, unit, high)
      : low === null
        ? quantity(Number(high), unit)
        : quantity(low, unit);
  const kind = low === null ? ", at most " : high === null ? ", at least " : " ";
  return [rangeMark(effect), make("span", { class: "lies" }, verdict, kind, range)];
}

/** One sentence for whoever listens. @param {Effect[]} effects */
export function outOfRange(effects) {
  const off = effects.filter((one) => one.lies && one.lies !== "within");
  return off.map(
    (one) =>
      `${one.title} ${one.value === null ? NEVER : `${quantityText(one.value, one.unit)}, ${one.lies} what is usually wanted`}`,
  );
}
