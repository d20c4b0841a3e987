// How far the work is, and what is left of it.

import { ask } from "../ask.js";

const USUAL_s = 3;
/** What a state takes that the twin has not run before. */

/** Show the wait; the answer ends it, with what went wrong if something did.
 * @param {HTMLElement} place @param {string} machine */
export function waiting(place, machine) {
  const words = /** @type {HTMLElement} */ (place.querySelector("p"));
  const progress = /** @type {HTMLProgressElement} */ (place.querySelector("progress"));
  const begun = performance.now();
  let total_s = USUAL_s;
  let ended = false;
  place.hidden = progress.hidden = false;

  const clock = setInterval(() => {
    const gone_s = (performance.now() - begun) / 1000;
    const left_s = Math.max(1, Math.round(total_s - gone_s));
    progress.value = Math.min(0.95, gone_s / total_s);
    const left = left_s < 90 ? `${left_s} s` : `${Math.round(left_s / 60)} min`;
    words.textContent =
      total_s > USUAL_s
        ? `The twin is made ready for this computer, once for all: about ${left} left.`
        : "The twin runs this state …";
  }, 250);

  const look = setTimeout(async () => {
    try {
      const found = await ask("GET", `/api/machines/${machine}/readiness`);
      if (!ended && found.twin === "compiling") total_s = (performance.now() - begun) / 1000 + (found.left_s ?? 180);
    } catch {
      // The wait goes on without an estimate.
    }
  }, 1000 * USUAL_s);

  return (/** @type {string} */ fault = "") => {
    ended = true;
    clearInterval(clock);
    clearTimeout(look);
    progress.hidden = true;
    place.hidden = !fault;
    words.textContent = fault;
  };
}
