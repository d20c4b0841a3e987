// What a hand can do: the positions of every switch, lever, tap and portafilter as keys. A key shows at once that
// it was pressed; what the machine then says counts.

import { el, key } from "./make.js";

/** @typedef {{id: string, part: string, title: string, kind: string, positions: {word: string, do: object}[]}} Control */

const DOUBTED_ms = 1500;

export class Controls {
  /** @param {(what: object) => boolean} send */
  constructor(send) {
    this.send = send;
    this.told = /** @type {Record<string, string>} */ ({});
    this.positions = this.told;
    this.doubt = 0;
    this.groups = /** @type {{id: string, root: HTMLElement, keys: HTMLButtonElement[]}[]} */ ([]);
  }

  /** Keys for one control. @param {Control} control */
  group(control) {
    const keys = control.positions.map(({ word, do: what }) => {
      const made = key(word, () => this.press(control.id, word, what));
      made.dataset.word = word;
      return made;
    });
    const title = el("span", { class: "control-title", "aria-hidden": "true" }, [control.title]);
    const root = el("div", { class: `control kind-${control.kind}`, role: "group", "aria-label": control.title }, [title, el("div", { class: "positions" }, keys)]);
    const made = { id: control.id, root, keys };
    this.groups.push(made);
    this.show(made);
    return root;
  }

  /** @param {string} id @param {string} word @param {object} what */
  press(id, word, what) {
    if (!this.send(what) || !(id in this.positions)) return;
    this.positions = { ...this.positions, [id]: word };
    this.showAll();
    clearTimeout(this.doubt);
    this.doubt = setTimeout(() => this.refused(), DOUBTED_ms);
  }

  /** Refused, or never heard: what the machine last said counts. */
  refused() {
    clearTimeout(this.doubt);
    this.positions = this.told;
    this.showAll();
  }

  /** What the machine says of its positions. @param {Record<string, string>} positions */
  states(positions) {
    clearTimeout(this.doubt);
    this.positions = this.told = positions;
    this.groups = this.groups.filter((one) => one.root.isConnected);
    this.showAll();
  }

  showAll() {
    for (const one of this.groups) this.show(one);
  }

  /** @param {{id: string, keys: HTMLButtonElement[]}} group */
  show({ id, keys }) {
    const now = this.positions[id];
    for (const one of keys) {
      if (now === undefined) one.removeAttribute("aria-pressed");
      else one.setAttribute("aria-pressed", String(one.dataset.word === now));
    }
  }
}
