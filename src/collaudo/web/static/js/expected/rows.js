// One row of a check: the typical number and its range, or the usual outcome; what moved and where it stood before.

import { make } from "../dom.js";
import { rangeMark } from "../range_mark.js";
import { quantity } from "../units.js";

/** @typedef {{check: string, reading: string, unit: string, low: number | null, typical: number | null, high: number | null,
 *   word: string, others: {word: string, chance: string}[], usual_low: number | null, usual_typical: number | null,
 *   usual_high: number | null, moved: boolean}} Reading */

/** @param {HTMLTableRowElement} row @param {Reading} one @param {boolean} ranges */
export function fillRow(row, one, ranges) {
  const [, typical, range] = row.cells;
  row.classList.toggle("moved", one.moved);
  row.classList.toggle("word", one.typical === null);
  if (one.typical === null) {
    typical.replaceChildren();
    typical.classList.add("unused");
    range.replaceChildren(...outcome(one));
    return;
  }
  typical.replaceChildren(quantity(one.typical, one.unit));
  if (!ranges || one.low === null || one.high === null) {
    range.replaceChildren();
    return;
  }
  const drawn = rangeMark({
    value: one.typical,
    before: one.moved ? one.usual_typical : null,
    wanted_low: one.low,
    wanted_high: one.high,
  });
  range.replaceChildren(drawn, quantity(one.low, one.unit, one.high), ...was(one));
}

/** @param {Reading} one */
function outcome(one) {
  const rest = one.others.map((other) => `${other.word}: ${other.chance}`).join("; ");
  const word = make("span", { class: "outcome" }, one.word || "–");
  return rest ? [word, make("span", { class: "others" }, rest)] : [word];
}

/** @param {Reading} one */
function was(one) {
  if (!one.moved || one.usual_low === null || one.usual_high === null) return [];
  return [make("span", { class: "was" }, "usually ", quantity(one.usual_low, one.unit, one.usual_high))];
}
