// How far the work is, and what is left of it.

const USUAL_s = 3;
/** What a state takes that the twin has not run before. */

/** Show the wait. @param {HTMLElement} place */
export function waiting(place) {
  const words = /** @type {HTMLElement} */ (place.querySelector("p"));
  const progress = /** @type {HTMLProgressElement} */ (place.querySelector("progress"));
  const begun = performance.now();
  place.hidden = progress.hidden = false;
  const gone_s = () => (performance.now() - begun) / 1000;
  let compiling = false;
  const clock = setInterval(() => {
    if (compiling) return;
    progress.value = Math.min(0.95, gone_s() / USUAL_s);
    const left_s = Math.ceil(USUAL_s - gone_s());
    const left = left_s > 0 ? `about ${left_s} s left` : "longer than usual, the computer is busy";
    const text = `The twin runs this state: ${left}.`;
    if (words.textContent !== text) words.textContent = text;
  }, 250);

  return {
    /** The twin is compiled first: so long is left. @param {number} left_s */
    compiling(left_s) {
      compiling = true;
      const left = left_s < 90 ? `${Math.max(1, Math.round(left_s))} s` : `${Math.round(left_s / 60)} min`;
      words.textContent = `The twin is made ready for this computer, once for all: about ${left} left.`;
      progress.value = Math.min(0.95, gone_s() / (gone_s() + left_s));
    },
    /** It is over, well or with a fault. @param {string} [fault] */
    done(fault = "") {
      clearInterval(clock);
      progress.hidden = true;
      place.hidden = !fault;
      words.textContent = fault;
    },
  };
}
