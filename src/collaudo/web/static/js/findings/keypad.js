// The keypad: keys for a wet finger or a knuckle, that write into a field as a keyboard would.

import { button, make } from "../dom.js";

/** Keys for a field. `steps` are what plus and minus change it by.
 * @param {{field: HTMLInputElement, step: number, from: () => number, key: string}} options */
export function keypad({ field, step, from, key }) {
  const put = (/** @type {string} */ text) => {
    field.value = text.slice(0, 12);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const type = (/** @type {string} */ sign) => put(field.value + sign);
  const point = () => (/[.,]/.test(field.value) ? undefined : put(`${field.value || "0"}.`));
  const minus = () => put(/^[-\u2212]/.test(field.value) ? field.value.slice(1) : `\u2212${field.value}`);
  const digits = decimalsOf(step);
  const move = (/** @type {number} */ by) => put((from() + by).toFixed(digits).replace("-", "\u2212"));
  const one = (/** @type {string} */ sign) =>
    button(sign, () => type(sign), { class: "pad", "data-key": `${key}:${sign}` });
  const named = (/** @type {string} */ text, /** @type {() => void} */ act, /** @type {string} */ says) =>
    button(text, act, { class: "pad", "aria-label": says, "data-key": `${key}:${says}` });
  const amount = step.toFixed(digits);
  return make(
    "div",
    { class: "keypad", role: "group", "aria-label": "Keypad" },
    one("7"),
    one("8"),
    one("9"),
    named("Rub out", () => put(field.value.slice(0, -1)), "Rub out the last sign"),
    one("4"),
    one("5"),
    one("6"),
    named(`+ ${amount}`, () => move(step), `${amount} more`),
    one("1"),
    one("2"),
    one("3"),
    named(`\u2212 ${amount}`, () => move(-step), `${amount} less`),
    named("\u2212", minus, "Minus"),
    one("0"),
    named(".", point, "Point"),
    named("Clear", () => put(""), "Clear the field"),
  );
}

/** @param {number} step */
function decimalsOf(step) {
  return Math.max(0, Math.min(3, Math.ceil(-Math.log10(step) - 1e-9)));
}
