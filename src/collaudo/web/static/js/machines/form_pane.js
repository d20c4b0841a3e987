// The file as a form: its settings first, then every part with its values. A change here changes the text.

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
    const sheet = node("section", "sheet");
    sheet.append(node("h2", "", "Settings"));
    for (const setting of form.settings) {
      const field = fields.get(setting.key);
      const name = setting.name.replaceAll("_", " ");
      const called = name[0].toUpperCase() + name.slice(1);
      if (!field) continue;
      const outside = typeof field.value === "number" && (field.value < setting.low || field.value > setting.high);
      const problem = field.problem || (outside ? "outside the range in which it is meant to be set" : "");
      sheet.append(this.#row({ ...field, low: setting.low, high: setting.high, problem }, called, "set-"));
    }
    if (!form.settings.length) sheet.append(node("p", "", "Nothing on it is meant to be set."));
    return sheet;
  }

  /** @param {string} typed @param {HTMLElement[]} parts */
  #search(typed, parts) {
    const row = node("p", "search-row");
    const label = /** @type {HTMLLabelElement} */ (node("label", "", "Find a part or a value"));
    label.htmlFor = "form-search";
    const field = document.createElement("input");
    field.type = "search";
    field.id = "form-search";
    field.value = typed;
    field.addEventListener("input", () => this.#filter(field.value, parts));
    row.append(label, field);
    return row;
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
    const details = document.createElement("details");
    details.className = "form-part";
    details.dataset.part = part.name;
    details.open = open || part.fields.some((field) => field.problem);
    const summary = document.createElement("summary");
    const said = part.fields.filter((field) => field.said).length;
    summary.append(node("span", "", part.called[0].toUpperCase() + part.called.slice(1)));
    summary.append(node("span", "soft", `${part.does}${said ? `; ${said} said in this file` : ""}`));
    details.append(summary);
    if (part.caution) details.append(node("p", "caution", part.caution));
    details.append(...part.fields.map((field) => this.#row(field, field.meaning, "")));
    return details;
  }

  /** One value a row. @param {Field} field @param {string} called @param {string} prefix */
  #row(field, called, prefix) {
    const row = node("div", field.said ? "question said-here" : "question");
    const id = `${prefix}f-${field.key.replace(".", "-")}`;
    const left = document.createElement("div");
    const label = /** @type {HTMLLabelElement} */ (node("label", "", called[0].toUpperCase() + called.slice(1)));
    label.htmlFor = id;
    left.append(label, node("span", "key-of", field.key));
    const right = document.createElement("div");
    const input = field.low !== null ? this.#number(field, right) : this.#word(field, right);
    input.id = id;
    input.setAttribute("aria-describedby", `${id}-can ${id}-fault`);
    const can = node(
      "p",
      "soft",
      field.low === null || field.high === null ? "" : `can be ${declaredSpan(field.low, field.high, field.unit)}`,
    );
    can.id = `${id}-can`;
    const fault = node("p", "fault", field.problem);
    fault.id = `${id}-fault`;
    fault.setAttribute("role", "alert");
    if (field.problem) input.setAttribute("aria-invalid", "true");
    right.append(can, fault);
    if (field.said) right.append(this.#asThere(field));
    row.append(left, right);
    return row;
  }

  /** @param {Field} field @param {HTMLElement} place */
  #number(field, place) {
    const line = node("div", "with-unit");
    const input = document.createElement("input");
    input.inputMode = "decimal";
    input.autocomplete = "off";
    const unit = node("span", "unit");
    line.append(input, unit);
    place.append(line);
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
      const input = document.createElement("input");
      input.value = String(field.value);
      input.dataset.before = input.value;
      input.addEventListener("change", () => this.changed(field.key, input.value.trim()));
      place.append(input);
      return input;
    }
    const select = document.createElement("select");
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
    const button = document.createElement("button");
    button.type = "button";
    button.className = "as-there";
    button.textContent = `${this.form?.like ? `As in ${this.form.like}` : "As usual"}: ${value}`;
    button.addEventListener("click", () => this.changed(field.key, null));
    return button;
  }
}

/** @param {string} tag @param {string} css @param {string} [text] */
function node(tag, css, text) {
  const made = document.createElement(tag);
  if (css) made.className = css;
  if (text) made.textContent = text;
  return made;
}
