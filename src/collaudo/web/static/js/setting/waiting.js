// What is seen while the twin is run: nothing for a moment, then how long it takes and what is left.

const QUIET_ms = 400;
const USUAL_s = 2;

/** @param {HTMLElement} place @param {() => void} late called when the answer takes longer than a moment */
export function waitingIn(place, late) {
  const text = /** @type {HTMLElement} */ (place.querySelector("[data-waits-text]"));
  const bar = /** @type {HTMLProgressElement} */ (place.querySelector("progress"));
  let since = 0;
  let clock = 0;
  /** When the twin itself will be ready, on the clock of the page; 0: it is.
   * @type {number} */
  let ready_ms = 0;

  function tell() {
    const past_s = (performance.now() - since) / 1000;
    if (past_s * 1000 < QUIET_ms) return;
    late();
    place.hidden = false;
    const left_s = ready_ms ? Math.max(1, (ready_ms - performance.now()) / 1000) : Math.max(1, USUAL_s - past_s);
    bar.value = Math.min(97, (100 * past_s) / (past_s + left_s));
    const left = left_s > 90 ? `${Math.ceil(left_s / 60)} min` : `${Math.ceil(left_s)} s`;
    text.textContent = `${ready_ms ? "The twin is being made ready, which is done once" : "The twin heats up"}: about ${left} left.`;
  }

  return {
    begin() {
      if (!clock) since = performance.now();
      clock ||= window.setInterval(tell, 200);
    },
    /** The twin itself is made first. @param {number} left_s */
    twinFirst(left_s) {
      ready_ms = performance.now() + 1000 * left_s;
    },
    end() {
      ready_ms = 0;
      window.clearInterval(clock);
      clock = 0;
      place.hidden = true;
    },
  };
}
