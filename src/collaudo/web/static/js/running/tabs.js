// Plain tabs: one panel shown at a time, all by keyboard.

import { button, make, place, write } from "../dom.js";

const MUCH = ["Events", "Faults", "Parts", "Values"]; // long: they get more of the screen

export class Tabs {
  /** @param {HTMLElement} bench folded away under it, the circuit takes the room */
  constructor(bench) {
    this.bench = bench;
    this.row = place("tabs");
    this.panels = place("panels");
    this.tabs = /** @type {{name: string, tab: HTMLButtonElement, panel: HTMLElement}[]} */ ([]);
    this.row.addEventListener("keydown", (event) => this.walk(event));
    this.folder = place("fold");
    this.folder.addEventListener("click", () => this.fold(!this.bench.classList.contains("folded")));
  }

  /** Fold the panels away or let them stand. @param {boolean} away */
  fold(away) {
    this.bench.classList.toggle("folded", away);
    this.folder.setAttribute("aria-expanded", String(!away));
    write(this.folder, away ? "Unfold" : "Fold away");
  }

  /** @param {string} name @param {HTMLElement} inside */
  add(name, inside) {
    const id = name.toLowerCase();
    const tab = button(name, () => this.open(name), { role: "tab", id: `tab-${id}`, "aria-controls": `panel-${id}` });
    const panel = make(
      "div",
      { role: "tabpanel", id: `panel-${id}`, "aria-labelledby": `tab-${id}`, tabindex: 0, class: "panel" },
      [inside],
    );
    this.row.append(tab);
    this.panels.append(panel);
    this.tabs.push({ name, tab, panel });
    this.show(this.tabs[0].name);
  }

  /** Show a panel, unfolded. @param {string} name */
  open(name) {
    this.fold(false);
    this.show(name);
  }

  /** @param {string} name */
  show(name) {
    this.shown = name;
    this.bench.classList.toggle("much", MUCH.includes(name));
    for (const one of this.tabs) {
      const here = one.name === name;
      one.tab.setAttribute("aria-selected", String(here));
      one.tab.tabIndex = here ? 0 : -1;
      one.panel.hidden = !here;
    }
    this.row.dispatchEvent(new CustomEvent("tab-shown", { detail: name }));
  }

  /** @param {KeyboardEvent} event */
  walk(event) {
    const at = this.tabs.findIndex((one) => one.tab === event.target);
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: this.tabs.length - 1 }[event.key];
    if (at < 0 || to === undefined) return;
    event.preventDefault();
    const next = this.tabs[(to + this.tabs.length) % this.tabs.length];
    this.show(next.name);
    next.tab.focus();
  }
}
