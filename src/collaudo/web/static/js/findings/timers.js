// Timers for what heats or cools: several at once, of several machines. Each is kept by the moment it ends, so
// that a reload or a power cut does not stop it.

import { button, make, refill } from "../dom.js";
import { clockText } from "../time.js";
import { newName, readList, writeList } from "./outbox.js";
import { allowSound, beep } from "./sound.js";

const PLACE = "timers";
const RING_AGAIN_s = 5;

/** @typedef {{id: string, sheet: string, machine: string, title: string, ends: number}} Timer */

/** @returns {Timer[]} */
const running = () => readList(PLACE);

/** Start one. @param {string} sheet @param {string} machine its title @param {string} title @param {number} seconds */
export function startTimer(sheet, machine, title, seconds) {
  allowSound();
  const timer = { id: newName(), sheet, machine, title, ends: Date.now() + seconds * 1000 };
  writeList(
    PLACE,
    [...running(), timer].sort((a, b) => a.ends - b.ends),
  );
  document.dispatchEvent(new CustomEvent("timers-changed"));
}

/** @param {string} id */
function stopTimer(id) {
  writeList(
    PLACE,
    running().filter((one) => one.id !== id),
  );
  document.dispatchEvent(new CustomEvent("timers-changed"));
}

/** The strip with the timers that run and those that ring. @param {HTMLElement} place
 * @param {string} here sheet of this page */
export function timerStrip(place, here) {
  const list = make("ul", { class: "timers" });
  const said = make("p", { class: "unseen", role: "status" });
  place.replaceChildren(list, said);
  const rung = new Map();
  const fill = () => {
    place.hidden = running().length === 0;
    document.body.classList.toggle("has-timers", !place.hidden);
    refill(
      list,
      running().map((timer) => chip(timer, here)),
    );
    tick();
  };
  const tick = () => {
    const now = Date.now();
    for (const timer of running()) {
      const left_s = (timer.ends - now) / 1000;
      const item = /** @type {HTMLElement | null} */ (list.querySelector(`[data-timer="${timer.id}"]`));
      if (!item) continue;
      item.classList.toggle("rings", left_s <= 0);
      /** @type {HTMLElement} */ (item.querySelector(".left")).textContent =
        left_s > 0 ? clockText(Math.ceil(left_s)) : "Time is up";
      if (left_s <= 0) ring(timer, rung, said);
    }
  };
  fill();
  document.addEventListener("timers-changed", fill);
  addEventListener("storage", (event) => event.key === PLACE && fill());
  setInterval(tick, 500);
}

/** @param {Timer} timer @param {Map<string, number>} rung @param {HTMLElement} said */
function ring(timer, rung, said) {
  const now = Date.now();
  if (now - (rung.get(timer.id) ?? 0) < RING_AGAIN_s * 1000) return;
  if (!rung.has(timer.id)) said.textContent = `Time is up: ${timer.title}, ${timer.machine}.`;
  rung.set(timer.id, now);
  beep(3);
}

/** @param {Timer} timer @param {string} here */
function chip(timer, here) {
  const other = timer.sheet !== here;
  const name = [make("strong", {}, timer.title), other && make("span", {}, timer.machine)];
  return make(
    "li",
    { "data-timer": timer.id },
    other
      ? make("a", { href: `/findings/${timer.sheet}`, class: "timer-name" }, ...name)
      : make("span", { class: "timer-name" }, ...name),
    make("span", { class: "left" }),
    button("Done", () => stopTimer(timer.id), {
      "data-key": `stop-${timer.id}`,
      "aria-label": `Done with the timer: ${timer.title}`,
    }),
  );
}
