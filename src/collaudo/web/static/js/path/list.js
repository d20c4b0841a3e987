// All steps, walk by walk: to jump to one of them, and to print.

import { button, make } from "../dom.js";
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
  const steps = walk.steps.map((step) => {
    const number = keys.length;
    keys.push(button(step.name, () => go(number), { class: "step-key" }));
    return item(step, keys[number]);
  });
  return make(
    "section",
    { class: `sheet walk-list ${walk.kind}` },
    make("h3", {}, walk.kind === "closed" ? `${walk.title} (closed)` : walk.title),
    walk.why.length > 0 && put(make("p"), walk.why),
    steps.length > 0 && make("ol", {}, steps),
  );
}

/** @param {Step} step @param {HTMLButtonElement} key */
function item(step, key) {
  const [sentence, now] = [step.sentence, step.now].map((words) => put(make("span"), words));
  const told = make("p", { class: "print-only" }, sentence, " ", now, step.fails && ` ${step.fails}`);
  return make("li", {}, key, make("strong", { class: "print-only" }, step.name), told);
}
