// Everything that can be read as a plain table, and the parts as a list: for readers of screens, and for whoever
// wants a number that stands on no dial. Written once a second, and only while it is looked at.

import { button, make, write } from "../dom.js";
import { searchFor } from "../search.js";
import { quantityText } from "../units.js";
import { knownParts, stateWords } from "./parts.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {import("./circuit.js").Layout} Layout */

const BETWEEN_ms = 1000;

class Slow {
  constructor() {
    this.root = make("div", {});
    this.last_ms = -Infinity;
  }

  /** Whether it is time to write again. */
  due() {
    if (!this.root.isConnected || this.root.closest("[hidden]") || performance.now() - this.last_ms < BETWEEN_ms)
      return false;
    this.last_ms = performance.now();
    return true;
  }
}

export class Values extends Slow {
  /** @param {Layout} layout */
  constructor(layout) {
    super();
    this.renew(layout);
  }

  /** The rows of a layout. @param {Layout} layout */
  renew(layout) {
    this.layout = layout;
    const cells = layout.values.map(() => make("td", { class: "number" }, "–"));
    const rows = layout.values.map((one, n) => make("tr", {}, make("th", { scope: "row" }, one.title), cells[n]));
    this.cells = cells;
    const head = make("thead", {}, [
      make("tr", {}, [make("th", { scope: "col" }, ["What"]), make("th", { scope: "col", class: "number" }, ["Now"])]),
    ]);
    const table = make("table", { "aria-live": "off" }, [
      make("caption", {}, ["Every value, as it is now"]),
      head,
      make("tbody", {}, rows),
    ]);
    const search = /** @type {HTMLInputElement} */ (
      make("input", { type: "search", id: "value-search", autocomplete: "off" })
    );
    search.addEventListener("input", () => {
      const fits = searchFor(search.value);
      rows.forEach((row, n) => (row.hidden = !fits(layout.values[n].title)));
    });
    this.root.replaceChildren(make("label", { for: "value-search" }, ["Search a value"]), search, table);
  }

  /** @param {Frame} frame */
  paint(frame) {
    if (!frame.v || !this.due()) return;
    this.layout?.values.forEach((one, n) =>
      write(/** @type {HTMLElement[]} */ (this.cells)[n], valueText(/** @type {number[]} */ (frame.v)[n], one.unit)),
    );
  }
}

/** A value in words; shares in percent. @param {number} value @param {string} unit */
export function valueText(value, unit) {
  return unit === "share" ? `${Math.round(100 * value)} %` : quantityText(value, unit);
}

export class PartList extends Slow {
  /** @param {Layout} layout @param {(part: string) => void} touched */
  constructor(layout, touched) {
    super();
    this.touched = touched;
    this.renew(layout);
  }

  /** The parts of a layout. @param {Layout} layout */
  renew(layout) {
    this.known = knownParts(layout);
    this.states = this.known.map(() => make("span", { class: "soft" }));
    const items = this.known.map((one, n) =>
      make("li", {}, [button(one.title, () => this.touched(one.part)), /** @type {HTMLElement[]} */ (this.states)[n]]),
    );
    this.root.replaceChildren(make("ul", { class: "part-list" }, items));
  }

  /** @param {Frame} frame */
  paint(frame) {
    if (!this.due()) return;
    this.known?.forEach((one, n) => write(/** @type {HTMLElement[]} */ (this.states)[n], stateWords(one, frame)));
  }
}
