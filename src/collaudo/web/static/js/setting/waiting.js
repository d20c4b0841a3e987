// What is seen while the twin is run: nothing for a moment, then how long it takes and what is left.

const QUIET_ms = 400;
/** The twin's code is made ready once after an installation; that takes minutes. */
const FIRST_TIME_s = 180;
const USUAL_s = 2;

/** @param {HTMLElement} place @param {() => void} late called when the answer takes longer than a moment */
export function waitingIn(place, late) {
  const text = /** @type {HTMLElement} */ (place.querySelector("[data-waits-text]"));
  const bar = /** @type {HTMLProgressElement} */ (place.querySelector("progress"));
  let since = 0;
  let clock = 0;

  function tell() {
    const past_s = (performance.now() - since) / 1000;
    if (past_s * 1000 < QUIET_ms) return;
    late();
    place.hidden = false;
    const first = past_s > USUAL_s;
    const whole_s = first ? FIRST_TIME_s : USUAL_s;
    bar.value = Math.min(97, (100 * past_s) / whole_s);
    const left_s = Math.max(1, Math.ceil(whole_s - past_s));
    text.textContent = first
      ? `The twin is being made ready, which is done once and can take three minutes: about ${left_s > 90 ? `${Math.ceil(left_s / 60)} min` : `${left_s} s`} left.`
      : `The twin heats up: about ${left_s} s left.`;
  }

  return {
    begin() {
      since = performance.now();
      clock ||= window.setInterval(tell, 200);
    },
    end() {
      window.clearInterval(clock);
      clock = 0;
      place.hidden = true;
    },
  };
}
