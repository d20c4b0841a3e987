// The file as a form: its settings first, then every part with its values. A change here changes the text.

import { button, make } from "../dom.js";
import { isEmptySearch, searchFor } from "../search.js";
import { declaredSpan, declaredText } from "./declared.js";
import { TypedNumber } from "./typed_units.js";

/** @typedef {{key: string, meaning: string, unit: string, value: number | string, said: boolean,
 *   otherwise: number | string, low: number | null, high: number | null, words: string[], problem: string}} Field */
/** @typedef {{title: string, like: string, settings: {name: string, key: string, low: number, high: number}[],
 *   parts: {name: string, called: string, kind: string, does: string, fields: Field[], caution: string}[]}} Form */

/** The fields, made of what the server says of the text. */
export class FormPane {
  /** @param {HTMLElement} place @param {(key: string, value: string | null) => void} changed */
  constructor(place, changed) {
    this.place = place;
    this.changed = changed;
    /** @type {Form | null} */
    this.form = null;
    document.addEventListener("units-chosen", () => this.form && this.show(this.form));
  }

  /** Show the form; what was open stays open, the focus stays. @param {Form} form */
  show(form) {
    const open = new Set(
      [...this.place.querySelectorAll("details[open]")].map((one) => /** @type {HTMLElement} */ (one).dataset.part),
    );
    const begun = this.#begun();
    const search = /** @type {HTMLInputElement | null} */ (document.getElementById("form-search"))?.value ?? "";
    this.form = form;
    const fields = new Map(form.parts.flatMap((part) => part.fields.map((field) => [field.key, field])));
    const parts = form.parts.filter((part) => part.fields.length).map((part) => this.#part(part, open.has(part.name)));
    this.place.replaceChildren(this.#settings(form, fields), this.#search(search, parts), ...parts);
    this.#filter(search, parts);
    this.#goOn(begun);
  }

  /** Where a person is, and what is typed there and not yet taken over. */
  #begun() {
    const active = /** @type {HTMLInputElement | null} */ (document.activeElement);
    if (!active?.id || !this.place.contains(active)) return null;
    const typed = active.dataset.before !== undefined && active.value !== active.dataset.before;
    return { id: active.id, typed: typed ? active.value : null, at: typed ? active.selectionStart : null };
  }

  /** Back to there. @param {{id: string, typed: string | null, at: number | null} | null} begun */
  #goOn(begun) {
    const field = begun && /** @type {HTMLInputElement | null} */ (document.getElementById(begun.id));
    if (!begun || !field || !this.place.contains(field)) return;
    if (begun.typed !== null) field.value = begun.typed;
    field.focus();
    if (begun.at !== null) field.setSelectionRange(begun.at, begun.at);
  }

  /** @param {Form} form @param {Map<string, Field>} fields */
  #settings(form, fields) {
    const sheet = make("section", { class: "sheet" }, make("h2", {}, "Settings"));
    for (const setting of form.settings) {
      const field = fields.get(setting.key);
      if (!field) continue;
      const called = capital(setting.name.replaceAll("_", " "));
      const outside = typeof field.value === "number" && (field.value < setting.low || field.value > setting.high);
      const problem = field.problem || (outside ? "outside the range in which it is meant to be set" : "");
      sheet.append(this.#row({ ...field, low: setting.low, high: setting.high, problem }, called, "set-"));
    }
    if (!form.settings.length) sheet.append(make("p", {}, "Nothing on it is meant to be set."));
    return sheet;
  }

  /** @param {string} typed @param {HTMLElement[]} parts */
  #search(typed, parts) {
    const field = /** @type {HTMLInputElement} */ (make("input", { type: "search", id: "form-search" }));
    field.value = typed;
    field.addEventListener("input", () => this.#filter(field.value, parts));
    return make("p", { class: "search-row" }, make("label", { for: "form-search" }, "Find a part or a value"), field);
  }

  /** @param {string} typed @param {HTMLElement[]} parts */
  #filter(typed, parts) {
    const fits = searchFor(typed);
    for (const part of parts) {
      const head = part.querySelector("summary")?.textContent ?? "";
      let any = false;
      for (const row of part.querySelectorAll(".question")) {
        /** @type {HTMLElement} */ (row).hidden = !fits(`${head} ${row.textContent}`);
        any ||= !(/** @type {HTMLElement} */ (row).hidden);
      }
      part.hidden = !any;
      if (any && !isEmptySearch(typed)) /** @type {HTMLDetailsElement} */ (part).open = true;
    }
  }

  /** @param {Form["parts"][0]} part @param {boolean} open */
  #part(part, open) {
    const said = part.fields.filter((field) => field.said).length;
    const isOpen = open || part.fields.some((field) => field.problem);
    return make(
      "details",
      { class: "form-part", "data-part": part.name, open: isOpen },
      make(
        "summary",
        {},
        make("span", {}, capital(part.called)),
        make("span", { class: "soft" }, `${part.does}${said ? `; ${said} said in this file` : ""}`),
      ),
      part.caution && make("p", { class: "caution" }, part.caution),
      part.fields.map((field) => this.#row(field, field.meaning, "")),
    );
  }

  /** One value a row. @param {Field} field @param {string} called @param {string} prefix */
  #row(field, called, prefix) {
    const id = `${prefix}f-${field.key.replace(".", "-")}`;
    const right = make("div");
    const input = field.low !== null ? this.#number(field, right) : this.#word(field, right);
    input.id = id;
    input.setAttribute("aria-describedby", `${id}-can ${id}-fault`);
    if (field.problem) input.setAttribute("aria-invalid", "true");
    const range =
      field.low === null || field.high === null ? "" : `can be ${declaredSpan(field.low, field.high, field.unit)}`;
    right.append(
      make("p", { class: "soft", id: `${id}-can` }, range),
      make("p", { class: "fault", id: `${id}-fault`, role: "alert" }, field.problem),
    );
    if (field.said) right.append(this.#asThere(field));
    const left = make(
      "div",
      {},
      make("label", { for: id }, capital(called)),
      make("span", { class: "key-of" }, field.key),
    );
    return make("div", { class: field.said ? "question said-here" : "question" }, left, right);
  }

  /** @param {Field} field @param {HTMLElement} place */
  #number(field, place) {
    const input = /** @type {HTMLInputElement} */ (make("input", { inputmode: "decimal", autocomplete: "off" }));
    const unit = make("span", { class: "unit" });
    place.append(make("div", { class: "with-unit" }, input, unit));
    const typed = new TypedNumber(input, unit, field.unit);
    if (typeof field.value === "number") typed.show(field.value);
    else input.value = field.value;
    input.dataset.before = input.value;
    input.addEventListener(
      "change",
      () => input.value !== input.dataset.before && input.value.trim() && this.changed(field.key, typed.text()),
    );
    return input;
  }

  /** @param {Field} field @param {HTMLElement} place */
  #word(field, place) {
    if (!field.words.length) {
      const input = /** @type {HTMLInputElement} */ (make("input"));
      input.value = String(field.value);
      input.dataset.before = input.value;
      input.addEventListener("change", () => this.changed(field.key, input.value.trim()));
      place.append(input);
      return input;
    }
    const select = /** @type {HTMLSelectElement} */ (make("select"));
    const words = field.words.includes(String(field.value)) ? field.words : [String(field.value), ...field.words];
    for (const word of words) select.append(new Option(word || "nothing", word, false, word === field.value));
    select.addEventListener("change", () => this.changed(field.key, select.value));
    place.append(select);
    return select;
  }

  /** @param {Field} field */
  #asThere(field) {
    const value =
      typeof field.otherwise === "number" ? declaredText(field.otherwise, field.unit) : field.otherwise || "nothing";
    const where = this.form?.like ? `As in ${this.form.like}` : "As usual";
    return button(`${where}: ${value}`, () => this.changed(field.key, null), { class: "as-there" });
  }
}

/** @param {string} text */
function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
