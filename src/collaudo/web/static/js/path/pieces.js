// Sentences whose quantities are shown in the units chosen.

import { between, numberText, unitFor, unitText } from "../units.js";

/** @typedef {import("../path.js").Piece} Piece */

/** Put a sentence into an element. @template {HTMLElement} E @param {E} element @param {Piece[]} sentence
 * @returns {E} */
export function put(element, sentence) {
  element.replaceChildren(
    ...sentence.map((piece) => {
      if (!piece.unit) return document.createTextNode(piece.text);
      const shown = document.createElement("data");
      shown.className = "told-quantity";
      shown.value = piece.values.join(" ");
      shown.dataset.unit = piece.unit;
      shown.dataset.told = piece.text;
      show(shown);
      return shown;
    }),
  );
  return element;
}

/** Show all sentences below a node in the units chosen. @param {ParentNode} root */
export function showPieces(root) {
  for (const element of root.querySelectorAll("data.told-quantity")) show(/** @type {HTMLDataElement} */ (element));
}

/** As it is told in the bench's own unit, with as many digits in another. @param {HTMLDataElement} element */
function show(element) {
  const unit = element.dataset.unit ?? "";
  const to = unitFor(unit);
  if (to === unit) {
    element.textContent = element.dataset.told ?? "";
    return;
  }
  element.textContent = inUnit(element.value.split(" ").map(Number), unit, to);
}

/** @param {number[]} values @param {string} from @param {string} to */
function inUnit(values, from, to) {
  const shown = values.map((one) => {
    const value = between(one, from, to);
    return numberText(value, to, to === "degF" || Math.abs(value) >= 20 ? 0 : 1);
  });
  return `${shown.join(" to ")}\u202f${unitText(to)}`;
}

const WRITTEN = /(-?\d+(?:\.\d+)?) (°C|bar)/g;

/** A label of a drawing in the units chosen. @param {string} text */
export function labelText(text) {
  return text.replace(WRITTEN, (told, value, sign) => {
    const unit = sign === "bar" ? "bar" : "degC";
    const to = unitFor(unit);
    return to === unit ? told : inUnit([Number(value)], unit, to);
  });
}
