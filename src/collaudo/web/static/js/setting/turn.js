// One slider with its keys: a value in the bench's own unit, shown in the unit chosen, on steps from where it came.

import { quantity, quantityText } from "../units.js";

/** @typedef {{kind: string, name: string, title: string, unit: string, came: number, value: () => number,
 *   turned: () => boolean, put: (value: number) => void, refuse: (why: string) => void}} Turn */

/** @param {HTMLElement} place @param {() => void} moved @returns {Turn} */
export function turnAt(place, moved) {
  const { turn: kind = "", name = "", title = "", unit = "" } = place.dataset;
  const came = Number(place.dataset.came);
  const step = Number(place.dataset.step);
  const slider = /** @type {HTMLInputElement} */ (place.querySelector("input"));
  const shown = /** @type {HTMLElement} */ (place.querySelector(".turn-now"));
  const refused = /** @type {HTMLElement} */ (place.querySelector("[data-refused]"));
  const [low, high] = [Number(slider.min), Number(slider.max)];
  // A machine of one's own may have come with a value that lies between the steps.
  slider.step = "any";
  let value = came;

  /** @param {number} wanted */
  function snapped(wanted) {
    const near = came + Math.round((wanted - came) / step) * step;
    return Number(Math.min(high, Math.max(low, near)).toFixed(6));
  }

  /** @param {number} wanted */
  function put(wanted) {
    value = snapped(wanted);
    slider.value = String(value);
    tell();
  }

  function tell() {
    shown.replaceChildren(quantity(value, unit));
    shown.classList.toggle("turned", value !== came);
    slider.setAttribute("aria-valuetext", quantityText(value, unit));
    refused.hidden = true;
  }

  /** @param {number} wanted */
  function move(wanted) {
    const before = value;
    put(wanted);
    if (value !== before) moved();
  }

  slider.addEventListener("input", () => move(Number(slider.value)));
  slider.addEventListener("keydown", (event) => {
    const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 5, PageDown: -5 }[event.key];
    if (steps === undefined) return;
    event.preventDefault();
    move(value + steps * step);
  });
  place.querySelector("[data-less]")?.addEventListener("click", () => move(value - step));
  place.querySelector("[data-more]")?.addEventListener("click", () => move(value + step));
  document.addEventListener("units-chosen", () => slider.setAttribute("aria-valuetext", quantityText(value, unit)));
  tell();

  return {
    kind,
    name,
    title,
    unit,
    came,
    value: () => value,
    turned: () => value !== came,
    put,
    refuse: (why) => {
      refused.textContent = why;
      refused.hidden = false;
    },
  };
}
