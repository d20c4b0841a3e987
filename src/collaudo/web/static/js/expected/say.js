// A value that may be said of a machine: typed in the unit chosen, kept in the bench's own; empty is not said.

import { between, digitsOf, numberText, typedNumber, unitFor, unitText } from "../units.js";

/** @typedef {{kind: string, key: string, value: () => number | null, put: (value: number | null) => void,
 *   wrong: (why: string) => void}} Say */

/** Steps of the keys by unit, in the bench's own. @type {Record<string, (value: number) => number>} */
const STEPS = {
  V: () => 1,
  m: () => 50,
  degC: () => 1,
  bar: (value) => (value < 3 ? 0.02 : 0.1),
  l: (value) => (value < 3 ? 0.05 : 0.5),
  W: () => 50,
};
const TYPING_ms = 350;

/** @param {HTMLElement} place @param {(say: Say) => void} changed @returns {Say} */
export function sayAt(place, changed) {
  const { say: kind = "", key = "", unit = "" } = place.dataset;
  const [low, high, usual] = [place.dataset.low, place.dataset.high, place.dataset.usual].map(Number);
  const field = /** @type {HTMLInputElement} */ (place.querySelector("input"));
  const fault = /** @type {HTMLElement} */ (place.querySelector("[data-wrong]"));
  const unitPlace = /** @type {HTMLElement} */ (place.querySelector("[data-unit-shown]"));
  /** @type {number | null} */
  let value = null;
  let typing = 0;

  /** @param {number} x */
  const text = (x) => numberText(between(x, unit, unitFor(unit)), unitFor(unit), digits(x));
  /** @param {number} x */
  const digits = (x) => {
    const to = unitFor(unit);
    const shown = between(x, unit, to);
    return (
      Math.max(0, to === "l" ? 2 : digitsOf(shown, to)) *
      (Number.isInteger(Number(shown.toFixed(3))) && to !== "bar" ? 0 : 1)
    );
  };

  function tell() {
    field.value = value === null ? "" : text(value);
    mark();
  }

  function mark() {
    place.classList.toggle("given", value !== null);
    unitPlace.textContent = unitText(unitFor(unit));
    fault.hidden = true;
    field.removeAttribute("aria-invalid");
  }

  /** @param {string} why */
  function wrong(why) {
    fault.textContent = why;
    fault.hidden = false;
    field.setAttribute("aria-invalid", "true");
  }

  function typed() {
    const given = field.value.trim();
    if (!given) return take(null);
    const number = typedNumber(given);
    const to = unitFor(unit);
    const own = between(number, to, unit);
    if (!Number.isFinite(number)) return wrong(`Write a number in ${unitText(to)}, or leave it empty.`);
    if (own < low || own > high) return wrong(`It can be ${text(low)} to ${text(high)} ${unitText(to)}.`);
    take(Number(own.toFixed(6)));
  }

  /** @param {number | null} next */
  function take(next) {
    mark();
    if (next === value) return;
    value = next;
    mark();
    changed(self);
  }

  /** @param {number} ways */
  function nudge(ways) {
    const from = value ?? usual;
    const step = (STEPS[unit] ?? (() => (high - low) / 100))(from);
    const next = value === null ? from : Number((Math.round(from / step + ways) * step).toFixed(6));
    window.clearTimeout(typing);
    const before = value;
    value = Math.min(high, Math.max(low, next));
    tell();
    if (value !== before) changed(self);
  }

  field.addEventListener("input", () => {
    window.clearTimeout(typing);
    typing = window.setTimeout(typed, TYPING_ms);
  });
  field.addEventListener("change", () => {
    window.clearTimeout(typing);
    typed();
  });
  place.querySelector("[data-less]")?.addEventListener("click", () => nudge(-1));
  place.querySelector("[data-more]")?.addEventListener("click", () => nudge(1));
  document.addEventListener("units-chosen", tell);

  /** @type {Say} */
  const self = {
    kind,
    key,
    value: () => value,
    put: (next) => {
      value = next === null || next < low || next > high ? null : next;
      tell();
    },
    wrong,
  };
  mark();
  return self;
}
