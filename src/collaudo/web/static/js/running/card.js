// The card of a part: what a hand can do with it first, then what it does now, how it fails, how to check it.

import { ask } from "../ask.js";
import { button, make, place, write } from "../dom.js";
import { quantity } from "../units.js";
import { valueText } from "./table.js";

/** @typedef {{part: string, title: string, kind: string, does: string, customer: string, fails: string, now: string[],
 *   values: {title: string, value: number | string, unit: string}[], checks: {check: string, title: string, minutes: number}[],
 *   cautions: string[], causes: {cause: string, title: string}[]}} Told */

const AGAIN_ms = 2000;

export class Card {
  /** @param {string} stand @param {import("./controls.js").Controls} controls
   * @param {{chosen(part: string): void, cause(cause: string): void}} hearer */
  constructor(stand, controls, hearer) {
    this.stand = stand;
    this.controls = controls;
    this.hearer = hearer;
    this.root = place("card");
    this.readouts = place("readouts");
    this.part = "";
    this.root.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.close();
    });
    setInterval(() => this.again(), AGAIN_ms);
  }

  /** @param {string} part @param {string} title @param {import("./controls.js").Control[]} controls that work it
   * @param {boolean} [touched] whether a hand opened it: it is read from its head on */
  async open(part, title, controls, touched = true) {
    this.from = /** @type {HTMLElement | null} */ (document.activeElement);
    this.part = part;
    const head = make("h2", { id: "card-title", tabindex: "-1" }, [title]);
    const shut = button("Close", () => this.close());
    this.now = make("div", { class: "now" });
    this.rest = make("div", {}, [make("p", { class: "soft" }, ["…"])]);
    this.root.replaceChildren(
      make("div", { class: "card-head" }, [head, shut]),
      ...controls.map((one) => this.controls.group(one)),
      this.now,
      this.rest,
    );
    this.root.hidden = false;
    this.readouts.hidden = true;
    this.root.scrollTop = 0;
    if (touched) head.focus({ preventScroll: matchMedia("(min-width: 980px)").matches });
    this.hearer.chosen(part);
    const told = await this.fetched();
    if (told && part === this.part) {
      this.tellNow(told);
      this.tellRest(told);
    }
  }

  /** The machine has other parts or lines now: what is open is told anew, or shut where the part is gone.
   * @param {import("./circuit.js").Layout} layout */
  renew(layout) {
    if (!this.part) return;
    const title = layout.parts.find((one) => one.part === this.part)?.title;
    if (title === undefined) return this.close();
    const from = this.from;
    this.open(
      this.part,
      title,
      layout.controls.filter((one) => one.part === this.part),
      this.root.contains(document.activeElement),
    );
    this.from = from;
  }

  close() {
    this.part = "";
    this.root.hidden = true;
    this.readouts.hidden = false;
    this.hearer.chosen("");
    this.from?.focus({ preventScroll: matchMedia("(min-width: 980px)").matches });
  }

  /** @returns {Promise<Told | null>} */
  async fetched() {
    try {
      return await ask("GET", `/api/running/${encodeURIComponent(this.stand)}/card/${encodeURIComponent(this.part)}`);
    } catch (fault) {
      if (this.rest)
        write(
          this.rest,
          fault instanceof TypeError
            ? "No line: what it is comes when the line is back."
            : String(/** @type {Error} */ (fault).message),
        );
      return null;
    }
  }

  /** What it does now, as long as the card is open. */
  async again() {
    if (!this.part || document.hidden) return;
    const part = this.part;
    const told = await this.fetched();
    if (!told || part !== this.part) return;
    this.tellNow(told);
    if (!this.rest?.querySelector("h3")) this.tellRest(told);
  }

  /** @param {Told} told */
  tellNow(told) {
    const rows = told.values.map(({ title, value, unit }) =>
      make("tr", {}, [make("th", { scope: "row" }, [title]), make("td", { class: "number" }, [shown(value, unit)])]),
    );
    const words = told.now.map((sentence) => make("p", {}, [sentence]));
    const table = rows.length
      ? [make("table", {}, [make("caption", { class: "unseen" }, ["What it reads now"]), make("tbody", {}, rows)])]
      : [];
    this.now?.replaceChildren(...words, ...table);
  }

  /** @param {Told} told */
  tellRest(told) {
    const inside = [...told.cautions.map((text) => make("p", { class: "caution" }, [text]))];
    inside.push(
      ...section("What it does", told.does),
      ...section("For the customer", told.customer),
      ...section("How it fails", told.fails),
    );
    if (told.checks.length) {
      const checks = told.checks.map(({ title, minutes }) => make("li", {}, [`${title} (${minutes} min)`]));
      inside.push(make("h3", {}, ["How to check it"]), make("ul", {}, checks));
    }
    if (told.causes.length) {
      const keys = told.causes.map(({ cause, title }) => button(title, () => this.hearer.cause(cause)));
      inside.push(make("h3", {}, ["Put a fault in, to teach"]), make("div", { class: "keys" }, keys));
    }
    this.rest?.replaceChildren(...inside);
  }
}

/** @param {number | string} value @param {string} unit */
function shown(value, unit) {
  if (typeof value !== "number") return value;
  return unit === "share" ? valueText(value, unit) : quantity(value, unit);
}

/** @param {string} title @param {string} text */
function section(title, text) {
  return text ? [make("h3", {}, [title]), make("p", {}, [text])] : [];
}
