// Values as a machine file declares them: to four digits, in the units chosen.

import { converted, unitFor, unitText } from "../units.js";

const NARROW = "\u202f";
const DIGITS = 4;

/** A number to four digits. @param {number} value */
export function plain(value) {
  let text = Number(value.toPrecision(DIGITS)).toString();
  if (/^-?0\.0000/.test(text)) text = value.toExponential(DIGITS - 1).replace(/\.?0+e/, "e");
  return text.replace("-", "\u2212");
}

/** A value with its unit. @param {number} value @param {string} unit */
export function declaredText(value, unit) {
  const text = unit ? unitText(unitFor(unit)) : "";
  return plain(unit ? converted(value, unit) : value) + (text ? NARROW + text : "");
}

/** From low to high. @param {number} low @param {number} high @param {string} unit */
export function declaredSpan(low, high, unit) {
  return `${plain(unit ? converted(low, unit) : low)} to ${declaredText(high, unit)}`;
}

/** Show all such values below a node in the units chosen. @param {ParentNode} root */
export function showDeclared(root) {
  for (const element of root.querySelectorAll("data.declared")) {
    const { value, dataset } = /** @type {HTMLDataElement} */ (element);
    const unit = dataset.unit ?? "";
    element.textContent =
      dataset.to === undefined
        ? declaredText(Number(value), unit)
        : declaredSpan(Number(value), Number(dataset.to), unit);
  }
}
