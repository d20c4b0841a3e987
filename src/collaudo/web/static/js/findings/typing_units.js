// The units a number may be typed in: the one chosen at the top first, then the others of its kind.

import { between, unitFor, unitText } from "../units.js";

/** Units that stand on the instruments of a bench, by kind. */
const KIN = [
  ["bar", "psi"],
  ["degC", "degF"],
  ["K", "degF_difference"],
  ["s", "min"],
  ["ohm", "kohm"],
  ["g", "oz"],
  ["ml", "fl_oz"],
];

/** @param {string} unit of the reading @returns {string[]} */
export function unitsFor(unit) {
  const first = unitFor(unit);
  const kin = KIN.find((units) => units.includes(unit)) ?? [unit];
  return [first, ...kin.filter((one) => one !== first)];
}

/** A step of one unit as a round step of another. @param {number} step @param {string} from @param {string} to */
export function stepIn(step, from, to) {
  if (from === to) return step;
  // A step is a difference: what a temperature is counted from falls out.
  const size = Math.abs(between(step, from, to) - between(0, from, to));
  const power = 10 ** Math.floor(Math.log10(size));
  return [1, 2, 5, 10].map((n) => n * power).find((n) => n >= size * 0.7) ?? power;
}

/** A unit as it stands on a key. @param {string} unit */
export function unitWord(unit) {
  return unitText(unit) || "no unit";
}
