// Plain tabs: one panel shown at a time, all by keyboard.

import { el, key, place } from "./make.js";

export class Tabs {
  constructor() {
    this.row = place("tabs");
    this.panels = place("panels");
    this.tabs = /** @type {{name: string, tab: HTMLButtonElement, panel: HTMLElement}[]} */ ([]);
    this.row.addEventListener("keydown", (event) => this.walk(event));
  }

  /** @param {string} name @param {HTMLElement} inside */
  add(name, inside) {
    const id = name.toLowerCase();
    const tab = key(name, () => this.show(name), { role: "tab", id: `tab-${id}`, "aria-controls": `panel-${id}` });
    const panel = el("div", { role: "tabpanel", id: `panel-${id}`, "aria-labelledby": `tab-${id}`, tabindex: 0, class: `panel ${id}` }, [inside]);
    this.row.append(tab);
    this.panels.append(panel);
    this.tabs.push({ name, tab, panel });
    this.show(this.tabs[0].name);
  }

  /** @param {string} name */
  show(name) {
    this.shown = name;
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
