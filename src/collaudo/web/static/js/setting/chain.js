// The chain of consequences in words: what was turned, and what follows, one thing after the other.

import { make } from "../dom.js";
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
  if (!cause) {
    place.replaceChildren(make("p", { class: "soft" }, "Move a slider: what follows from it stands here."));
    return;
  }
  const followed = links.flatMap((link) => {
    const amount = make("strong", {}, `${quantityText(link.amount, link.unit)} ${link.word}`);
    return [make("span", { class: "then" }, `${link.what} `, amount), " "];
  });
  const nothing = "nothing that a gauge, a scale or a thermometer would show.";
  place.replaceChildren(make("p", {}, make("strong", {}, `${cause}:`), " ", followed.length ? followed : nothing));
}

/** In place of a chain, where a setting cannot be. @param {HTMLElement} place @param {Turn} turn @param {string} why */
export function showRefused(place, turn, why) {
  const first = `${turn.title} ${quantityText(turn.value(), turn.unit)} cannot be: `;
  place.replaceChildren(make("p", {}, make("strong", {}, first), why));
}
