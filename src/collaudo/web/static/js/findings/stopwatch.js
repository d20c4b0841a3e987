// One button: it starts, beeps at a set time, and stops. The moment it was started is kept, so a reload does
// not lose the run.

import { button, make } from "../dom.js";
import { allowSound, beep } from "./sound.js";
import { numberText } from "../units.js";

/** A stopwatch. With `beepAt_s` it ends there by itself; else the second touch ends it.
 * @param {{name: string, beepAt_s: number | null, ended: (seconds: number) => void}} options */
export function stopwatch({ name, beepAt_s, ended }) {
  const place = `watch:${name}`;
  const digits = make("span", { class: "watch-digits" }, "0.0");
  const word = make("span", { class: "watch-word" });
  const said = make("p", { class: "unseen", role: "status" });
  const key = button("", press, { class: "watch", "data-key": place });
  key.append(word, make("span", { class: "watch-time" }, digits, make("small", {}, "\u202fs")));
  let clock = 0;
  let last_s = 0;
  const begun = () => Number(localStorage.getItem(place) ?? 0);

  function press() {
    allowSound();
    if (begun()) stop((Date.now() - begun()) / 1000);
    else {
      localStorage.setItem(place, String(Date.now()));
      run();
    }
  }

  /** @param {number} seconds */
  function stop(seconds) {
    clearInterval(clock);
    localStorage.removeItem(place);
    last_s = seconds;
    show(seconds, false);
    const early = beepAt_s !== null && seconds < beepAt_s;
    said.textContent = early
      ? `Stopped after ${numberText(seconds, "s")} seconds.`
      : `${numberText(seconds, "s")} seconds.`;
    if (!early) ended(seconds);
  }

  function run() {
    clearInterval(clock);
    clock = setInterval(() => {
      const seconds = (Date.now() - begun()) / 1000;
      if (beepAt_s !== null && seconds >= beepAt_s) {
        // After a reload long past the beep there is nothing to weigh any more.
        if (seconds < beepAt_s + 3) beep(2);
        stop(beepAt_s);
      } else show(seconds, true);
    }, 100);
    show((Date.now() - begun()) / 1000, true);
  }

  /** @param {number} seconds @param {boolean} isRunning */
  function show(seconds, isRunning) {
    digits.textContent = numberText(seconds, "s", 1);
    key.classList.toggle("runs", isRunning);
    const end = beepAt_s === null ? "" : `, it beeps at ${beepAt_s} s`;
    word.textContent = isRunning ? "Stop" : last_s ? `Again${end}` : `Stopwatch${end}`;
  }

  show(0, false);
  if (begun()) run();
  return make("div", { class: "watch-place" }, key, said);
}
