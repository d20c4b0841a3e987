// Which series the strips show: a list to search, up to six; remembered for each machine.

import { button, make, write } from "../dom.js";
import { searchFor } from "../search.js";

const MOST = 6;

export class SeriesChoice {
  /** @param {import("./circuit.js").Layout} layout @param {(names: string[]) => void} chosen */
  constructor(layout, chosen) {
    this.layout = layout;
    this.chosen = chosen;
    this.place = `strips:${layout.machine}`;
    this.names = this.remembered();
    this.search = /** @type {HTMLInputElement} */ (
      make("input", { type: "search", id: "series-search", autocomplete: "off" })
    );
    this.search.addEventListener("input", () => this.list());
    this.told = make("p", { class: "soft", role: "status" });
    this.found = make("ul", { class: "choices-list" });
    const label = make("label", { for: "series-search" }, ["Search a series"]);
    const inside = [label, this.search, this.told, this.found];
    this.root = make("div", { class: "series-choice", id: "series-choice", hidden: true }, inside);
    this.opener = button("Choose series", () => this.toggle(), {
      "aria-expanded": "false",
      "aria-controls": "series-choice",
    });
    this.list();
  }

  toggle() {
    this.root.hidden = !this.root.hidden;
    this.opener.setAttribute("aria-expanded", String(!this.root.hidden));
    write(this.opener, this.root.hidden ? "Choose series" : "Done");
  }

  /** Chosen before on this machine; else pressures and the warmest things. */
  remembered() {
    const known = new Set(this.layout.values.map((one) => one.name));
    try {
      const kept = JSON.parse(localStorage.getItem(this.place) ?? "null");
      if (Array.isArray(kept)) return kept.filter((name) => known.has(name)).slice(0, MOST);
    } catch {
      // what was kept cannot be read: the usual ones
    }
    const gauges = this.layout.values.filter((one) => one.name.endsWith("_shown_bar")).slice(0, 2);
    const usual = this.layout.values.filter((one) => /^(group|boiler|brew_boiler)_degC$/.test(one.name));
    return [...gauges, ...usual].slice(0, 4).map((one) => one.name);
  }

  list() {
    const searched = searchFor(this.search.value);
    const fits = this.layout.values.filter(({ title, unit }) => searched(`${title} ${unit}`));
    write(this.told, `${this.names.length} of at most ${MOST} chosen; ${fits.length} series`);
    this.found.replaceChildren(...fits.map((one) => make("li", {}, [this.item(one)])));
  }

  /** @param {{name: string, title: string}} one */
  item({ name, title }) {
    const on = this.names.includes(name);
    const made = button(title, () => this.flip(name, on), { "aria-pressed": String(on), "data-series": name });
    made.disabled = !on && this.names.length >= MOST;
    return made;
  }

  /** @param {string} name @param {boolean} on */
  flip(name, on) {
    this.names = on ? this.names.filter((one) => one !== name) : [...this.names, name];
    try {
      localStorage.setItem(this.place, JSON.stringify(this.names));
    } catch {
      // remembered only until the page is left
    }
    const at = this.root.scrollTop;
    this.list();
    this.root.scrollTop = at;
    /** @type {HTMLElement | null} */ (this.found.querySelector(`[data-series="${CSS.escape(name)}"]`))?.focus({
      preventScroll: true,
    });
    this.chosen(this.names);
  }
}
