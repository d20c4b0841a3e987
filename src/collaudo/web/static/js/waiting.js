// What is seen while the twin works for an answer: what it does, how far it is, and how long it still takes.

import { write } from "./dom.js";
import { leftText } from "./time.js";

const TICK_ms = 200;
export const TWIN_FIRST = "The twin is made ready for this computer, once for all";

/** @param {HTMLElement} place with a paragraph and a progress
 * @param {{says: string, usual_s: number, quiet_ms?: number, late?: () => void}} work `late` is called when the
 * answer takes longer than `quiet_ms`, until when nothing is shown */
export function waitingIn(place, { says, usual_s, quiet_ms = 0, late }) {
  const words = /** @type {HTMLElement} */ (place.querySelector("p"));
  const bar = /** @type {HTMLProgressElement} */ (place.querySelector("progress"));
  let since_ms = 0;
  let clock = 0;
  /** When the twin itself will be ready, on the clock of the page; 0: it is. */
  let ready_ms = 0;

  function tell() {
    const past_ms = performance.now() - since_ms;
    if (past_ms < quiet_ms) return;
    late?.();
    place.hidden = bar.hidden = false;
    const left_s = ready_ms ? (ready_ms - performance.now()) / 1000 : usual_s - past_ms / 1000;
    bar.value = Math.min(0.97, past_ms / (past_ms + 1000 * Math.max(1, left_s))) * bar.max;
    const left = left_s > 0 ? `about ${leftText(left_s)} left` : "longer than usual, the computer is busy";
    write(words, `${ready_ms ? TWIN_FIRST : says}: ${left}.`);
  }

  return {
    begin() {
      if (clock) return;
      since_ms = performance.now();
      clock = window.setInterval(tell, TICK_ms);
      tell();
    },
    /** The twin itself is made first. @param {number} left_s */
    twinFirst(left_s) {
      ready_ms = performance.now() + 1000 * left_s;
    },
    /** It is over; a fault stays there. @param {string} [fault] */
    end(fault = "") {
      window.clearInterval(clock);
      clock = ready_ms = 0;
      bar.hidden = true;
      place.hidden = !fault;
      if (fault) write(words, fault);
    },
  };
}
