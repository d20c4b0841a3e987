// The chain of consequences in words: what was turned, and what follows, one thing after the other.

import { quantityText } from "../units.js";

/** @typedef {{what: string, amount: number, unit: string, word: string}} Link */
/** @typedef {import("./turn.js").Turn} Turn */

/** A unit for a step: a step of degrees is a K. @param {string} unit */
const step = (unit) => (unit === "degC" ? "K" : unit);

/** @param {Turn[]} turns */
export function causeText(turns) {
  const told = turns
    .filter((turn) => turn.turned())
    .map((turn) => {
      const change = turn.value() - turn.came;
      return `${turn.title} ${quantityText(Math.abs(change), step(turn.unit))} ${change > 0 ? "more" : "less"}`;
    });
  return told.join(", ");
}

/** @param {Link[]} links */
export function followText(links) {
  return links.map((link) => `${link.what} ${quantityText(link.amount, link.unit)} ${link.word}`).join(", ");
}

/** @param {HTMLElement} place @param {Turn[]} turns @param {Link[]} links */
export function showChain(place, turns, links) {
  const cause = causeText(turns);
  const line = document.createElement("p");
  if (!cause) {
    line.className = "soft";
    line.textContent = "Move a slider: what follows from it stands here.";
  } else {
    const first = document.createElement("strong");
    first.textContent = `${cause}:`;
    line.append(first, " ");
    for (const link of links) {
      const part = document.createElement("span");
      part.className = "then";
      const amount = document.createElement("strong");
      amount.textContent = `${quantityText(link.amount, link.unit)} ${link.word}`;
      part.append(`${link.what} `, amount);
      line.append(part, " ");
    }
    if (links.length === 0) line.append("nothing that a gauge, a scale or a thermometer would show.");
  }
  place.replaceChildren(line);
}

/** In place of a chain, where a setting cannot be. @param {HTMLElement} place @param {Turn} turn @param {string} why */
export function showRefused(place, turn, why) {
  const line = document.createElement("p");
  const first = document.createElement("strong");
  first.textContent = `${turn.title} ${quantityText(turn.value(), turn.unit)} cannot be: `;
  line.append(first, why);
  place.replaceChildren(line);
}
