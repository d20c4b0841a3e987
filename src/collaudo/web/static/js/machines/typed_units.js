// Numbers typed in the units chosen: kept with the unit they were typed in, and turned into another when that
// is chosen.

import { keep, letGo } from "../keep.js";
import { between, typedNumber, unitFor, unitText } from "../units.js";
import { plain } from "./declared.js";

/** A field for a number. */
export class TypedNumber {
  /** @param {HTMLInputElement} field @param {HTMLElement} unitPlace @param {string} unit
   * @param {string} [name] kept under it */
  constructor(field, unitPlace, unit, name) {
    this.field = field;
    this.unitPlace = unitPlace;
    this.unit = unit;
    this.name = name;
    this.shown = unit ? unitFor(unit) : "";
    unitPlace.textContent = unitText(this.shown);
    if (!name) return; // who shows it shows it anew when units are chosen
    this.#restore();
    document.addEventListener("units-chosen", () => this.#turn(unit ? unitFor(unit) : ""));
  }

  /** What was typed, with its unit; empty where nothing was. */
  text() {
    const typed = this.field.value.trim();
    const number = typedNumber(typed);
    return typed && `${Number.isNaN(number) ? typed : number} ${this.shown}`.trim();
  }

  /** Put a value of the field's own unit in. @param {number} value */
  show(value) {
    this.field.value = plain(this.shown === this.unit ? value : between(value, this.unit, this.shown)).replace(
      "\u2212",
      "-",
    );
  }

  forget() {
    for (const key of this.#kept()) letGo(key);
  }

  #kept() {
    const begin = `typed:${this.name}:`;
    return Object.keys(localStorage)
      .filter((key) => key.startsWith(begin))
      .map((key) => key.slice("typed:".length));
  }

  #restore() {
    for (const key of this.#kept()) {
      const from = key.slice(`${this.name}:`.length);
      if (from === this.shown || !from) continue;
      const number = typedNumber(localStorage.getItem(`typed:${key}`) ?? "");
      letGo(key);
      if (!Number.isNaN(number))
        localStorage.setItem(`typed:${this.name}:${this.shown}`, plain(between(number, from, this.shown)));
    }
    keep(this.field, `${this.name}:${this.shown}`);
  }

  /** @param {string} to */
  #turn(to) {
    if (to === this.shown) return;
    const number = typedNumber(this.field.value);
    if (this.name) this.forget();
    if (!Number.isNaN(number)) this.field.value = plain(between(number, this.shown, to)).replace("\u2212", "-");
    this.shown = to;
    this.unitPlace.textContent = unitText(to);
    if (this.name && this.field.value) localStorage.setItem(`typed:${this.name}:${to}`, this.field.value);
  }
}
