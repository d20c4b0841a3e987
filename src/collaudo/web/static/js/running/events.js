// What switched, in words, the latest first.

import { make, place, write } from "../dom.js";
import { clockText } from "../time.js";
import { quantityText, unitFor } from "../units.js";

const KEPT = 200;

/** @typedef {{t: number, part: string, text: string, value?: number | null, unit?: string}} Event */

export class Events {
  constructor() {
    this.shown = /** @type {{event: Event, text: HTMLElement}[]} */ ([]);
    this.list = make("ol", { class: "events", reversed: true });
    this.none = make("p", { class: "empty" }, ["Nothing has switched yet. Put the power on."]);
    this.root = make("div", {}, [this.none, this.list]);
    this.latest = /** @type {Event | null} */ (null);
    document.addEventListener("units-chosen", () => {
      for (const { event, text } of this.shown) write(text, eventText(event));
    });
    this.clear();
  }

  /** @param {Event[]} events since the last */
  add(events) {
    for (const one of events) {
      if (this.latest && one.t < this.latest.t - 1e-6) this.forgetFrom(one.t);
      const text = make("span", {}, [eventText(one)]);
      const row = make("li", {}, [make("span", { class: "number" }, [clockText(one.t)]), text]);
      this.shown = [{ event: one, text }, ...this.shown].slice(0, KEPT);
      row.dataset.t = String(one.t);
      this.list.prepend(row);
      this.latest = one;
    }
    while (this.list.childElementCount > KEPT) this.list.lastElementChild?.remove();
    this.none.hidden = this.list.childElementCount > 0;
  }

  /** The clock went back: what came from then on is undone. @param {number} t */
  forgetFrom(t) {
    for (const row of [.../** @type {NodeListOf<HTMLElement>} */ (this.list.querySelectorAll("li"))]) {
      if (Number(row.dataset.t) > t - 1e-6) row.remove();
    }
    this.latest = null;
    this.none.hidden = this.list.childElementCount > 0;
  }

  clear() {
    this.list.replaceChildren();
    this.shown = [];
    this.none.hidden = false;
    this.latest = null;
  }
}

/** What happened, its number in the units chosen. @param {Event} event */
export function eventText({ text, value, unit }) {
  if (value === undefined || value === null || !unit || unitFor(unit) === unit) return text;
  return text.replace(/-?[\d.]+\s\S+$/u, quantityText(value, unit));
}

/** A line beside the circuit that says what was refused, noted, or switched last. @param {string} text */
export function say(text) {
  write(place("said"), text);
}
