// Entering a number that was read: a large field with its own keypad, the expected range beside it, and the
// words for where there is no number.

import { keep, letGo } from "../keep.js";
import { between, converted, numberText, quantityText, typedNumber, unitFor } from "../units.js";
import { button, make } from "../dom.js";
import { keypad } from "./keypad.js";
import { expectedScale, placeOf } from "./scale.js";
import { stopwatch } from "./stopwatch.js";
import { stepIn, unitsFor, unitWord } from "./typing_units.js";

const SAID = { "as expected": "as a sound machine", below: "below a sound machine", above: "above a sound machine" };

/** @typedef {{store: (value: number | string | null, unit: string) => void, notMeasured: () => void}} Acts */

/** @param {{name: string, row: any, beepAt_s: number | null, acts: Acts}} options
 * @returns {{element: HTMLElement, aside: HTMLElement, field: HTMLElement, show: (row: any) => void}} */
export function numberEntry({ name, row, beepAt_s, acts }) {
  let reading = row;
  let unit = localStorage.getItem(`typed-unit:${name}`) ?? unitFor(row.unit);
  const id = `field-${name.replace(/[^a-z0-9]/gi, "-")}`;
  const field = /** @type {HTMLInputElement} */ (
    make("input", {
      id,
      type: "text",
      inputmode: "none",
      autocomplete: "off",
      class: "digits typed",
      maxlength: 12,
      "aria-describedby": `${id}-says`,
      "data-key": id,
    })
  );
  const unitKey = button("", otherUnit, { class: "unit-key", "data-key": `${id}-unit` });
  const says = make("p", { id: `${id}-says`, class: "says", role: "status" });
  const scale = make("div", { class: "scale-place" });
  const watch = watchFor(name, reading, beepAt_s, put);
  const wrong = make("p", { class: "wrong", role: "alert" });
  const store = button("Store", keepNumber, { class: "first big store", "data-key": `${id}-store` });
  const pads = make("div", { class: "pads" });

  function otherUnit() {
    const units = unitsFor(reading.unit);
    const next = units[(units.indexOf(unit) + 1) % units.length];
    unit = next;
    localStorage.setItem(`typed-unit:${name}`, unit);
    fitUnit();
    told();
  }

  function fitUnit() {
    const several = unitsFor(reading.unit).length > 1;
    unitKey.textContent = unitWord(unit);
    unitKey.disabled = !several;
    unitKey.setAttribute(
      "aria-label",
      several ? `Typed in ${unitWord(unit)}; press for another unit` : `In ${unitWord(unit)}`,
    );
    const step = stepIn(reading.step || 1, reading.unit, unit);
    pads.replaceChildren(keypad({ field, step, from, key: id }));
  }

  /** Where plus and minus start: at what is typed, else at what is typical. */
  function from() {
    const typed = typedNumber(field.value);
    if (!Number.isNaN(typed)) return typed;
    return typeof reading.typical === "number" ? between(reading.typical, reading.unit, unit) : 0;
  }

  function told() {
    const typed = typedNumber(field.value);
    const inOwn = Number.isNaN(typed) ? null : between(typed, unit, reading.unit);
    const isKnown = typeof reading.low === "number" && typeof reading.high === "number";
    scale.replaceChildren(...(isKnown ? [/** @type {Node} */ (expectedScale(reading, reading.unit, inOwn))] : []));
    // The stopwatch stands in the place of the scale until there is a number to place.
    const times = watch !== null && field.value === "";
    scale.hidden = times;
    if (watch) watch.hidden = !times;
    const place = isKnown && inOwn !== null ? SAID[placeOf(inOwn, reading)] : "";
    const other = inOwn !== null && unit !== unitFor(reading.unit) ? ` (${quantityText(inOwn, reading.unit)})` : "";
    says.textContent = place + (place && other);
    store.setAttribute("aria-label", inOwn === null ? "Store" : `Store ${field.value.trim()} ${unitWord(unit)}`);
    store.classList.toggle("idle", inOwn === null); // pressed all the same, it says what is missing
    if (field.value.trim() === "" || inOwn !== null) complain("");
  }

  /** @param {string} text */
  function complain(text) {
    wrong.textContent = text;
    field.setAttribute("aria-invalid", String(text !== ""));
  }

  function keepNumber() {
    const typed = typedNumber(field.value);
    if (Number.isNaN(typed)) {
      const example =
        typeof reading.typical === "number"
          ? numberText(converted(reading.typical, reading.unit), unitFor(reading.unit))
          : "9.6";
      complain(
        field.value.trim()
          ? `“${field.value}” is no number. A number such as ${example} would be right.`
          : `Type the number first, such as ${example}; or press one of the words.`,
      );
      return;
    }
    const typedUnit = unit;
    clear();
    acts.store(typed, typedUnit);
  }

  function clear() {
    field.value = "";
    letGo(name);
    told();
  }

  const word = (/** @type {string} */ text, /** @type {string | null} */ value) =>
    button(text, () => (clear(), acts.store(value, "")), { class: "word", "data-key": `${id}:${text}` });

  field.addEventListener("input", told);
  field.addEventListener("keydown", (event) => event.key === "Enter" && keepNumber());
  fitUnit();
  keep(field, name);
  told();
  const element = make(
    "div",
    { class: "entry" },
    make("label", { for: id, class: "unseen" }, reading.title),
    make("div", { class: "field-row" }, field, unitKey, store),
    wrong,
    pads,
    make(
      "div",
      { class: "words", role: "group", "aria-label": "In words instead of a number" },
      word("Low", "low"),
      word("Normal", "normal"),
      word("High", "high"),
      button("Could not measure", () => (clear(), acts.notMeasured()), { class: "word", "data-key": `${id}:not` }),
      word("Never came about", null),
    ),
  );

  const aside = make("div", { class: "entry-aside" }, watch, scale, says);

  /** @param {number} seconds */
  function put(seconds) {
    field.focus({ preventScroll: true });
    if (reading.unit !== "s" && reading.unit !== "min") return;
    field.value = numberText(between(seconds, "s", unit), "", unit === "min" ? 2 : 1);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  return {
    element,
    aside,
    field,
    show: (now) => {
      reading = now;
      // Another unit chosen at the top holds here too, unless something is typed or the unit was chosen here.
      const wanted = localStorage.getItem(`typed-unit:${name}`) ?? (field.value ? unit : unitFor(reading.unit));
      if (wanted !== unit) {
        unit = wanted;
        fitUnit();
      }
      told();
    },
  };
}

/** The stopwatch where one is needed: ended by the beep before weighing, by hand for a time.
 * @param {string} name @param {any} reading @param {number | null} beepAt_s @param {(seconds: number) => void} ended */
function watchFor(name, reading, beepAt_s, ended) {
  if (reading.unit === "s" || reading.instrument === "stopwatch") return stopwatch({ name, beepAt_s: null, ended });
  return beepAt_s && reading.unit === "g" ? stopwatch({ name, beepAt_s, ended }) : null;
}
