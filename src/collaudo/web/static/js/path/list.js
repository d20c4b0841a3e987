// All steps, walk by walk: to jump to one of them, and to print.

import { put } from "./pieces.js";

/** @typedef {import("../path.js").Walk} Walk */
/** @typedef {import("../path.js").Step} Step */

/** @param {HTMLElement} place @param {Walk[]} walks @param {(step: number) => void} go */
export function listed(place, walks, go) {
  /** @type {HTMLButtonElement[]} */
  const keys = [];
  for (const walk of walks) place.append(walkOf(walk, keys, go));
  return {
    /** @param {number} now */
    mark(now) {
      keys.forEach((key, n) =>
        n === now ? key.setAttribute("aria-current", "step") : key.removeAttribute("aria-current"),
      );
    },
  };
}

/** @param {Walk} walk @param {HTMLButtonElement[]} keys @param {(step: number) => void} go */
function walkOf(walk, keys, go) {
  const section = document.createElement("section");
  section.className = `sheet walk-list ${walk.kind}`;
  const head = document.createElement("h3");
  head.textContent = walk.kind === "closed" ? `${walk.title} (closed)` : walk.title;
  section.append(head);
  if (walk.why.length) section.append(put(document.createElement("p"), walk.why));
  const list = document.createElement("ol");
  for (const step of walk.steps) {
    const number = keys.length;
    const key = document.createElement("button");
    key.type = "button";
    key.className = "step-key";
    key.textContent = step.name;
    key.addEventListener("click", () => go(number));
    keys.push(key);
    list.append(item(step, key));
  }
  if (walk.steps.length) section.append(list);
  return section;
}

/** @param {Step} step @param {HTMLButtonElement} key */
function item(step, key) {
  const line = document.createElement("li");
  const name = document.createElement("strong");
  name.className = "print-only";
  name.textContent = step.name;
  const told = document.createElement("p");
  told.className = "print-only";
  const sentence = put(document.createElement("span"), step.sentence);
  const now = put(document.createElement("span"), step.now);
  told.append(sentence, " ", now, step.fails ? ` ${step.fails}` : "");
  line.append(key, name, told);
  return line;
}
