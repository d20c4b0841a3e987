// What a hand can do: the positions of every switch, lever, tap and portafilter as keys. A key shows at once that
// it was pressed; what the machine then says counts.

import { button, make } from "../dom.js";

/** @typedef {{id: string, part: string, title: string, kind: string,
 *   positions: {word: string, do: object}[], caution?: string}} Control */

const DOUBTED_ms = 1500;

const ORDER = ["switch", "key", "lever", "tap", "portafilter", "selector", "tank", "tray", "reset"];

/** Every control in the order a hand needs them; what is poured out is one group. @param {Control[]} controls */
export function inHand(controls) {
  const place = (/** @type {Control} */ one) => ORDER.indexOf(one.kind);
  const poured = controls.filter((one) => one.kind === "tray" && one.positions.length === 1);
  const rest = controls.filter((one) => !poured.includes(one));
  if (poured.length) {
    const positions = poured.map((one) => ({ ...one.positions[0], word: one.title }));
    rest.push({ id: "", part: "", title: poured[0].positions[0].word, kind: "tray", positions });
  }
  return rest.sort((a, b) => place(a) - place(b));
}

/** Letters in the longer of two lines. @param {string} text */
function inTwoLines(text) {
  const words = text.split(" ");
  const ends = words.map((_, n) => Math.max(words.slice(0, n).join(" ").length, words.slice(n).join(" ").length));
  return Math.min(...ends);
}

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
      const made = button(word, () => this.press(control.id, word, what));
      made.dataset.word = word;
      made.style.setProperty("--letters", String(inTwoLines(word)));
      return made;
    });
    const title = make("span", { class: "control-title", "aria-hidden": "true" }, [control.title]);
    const inside = [title, make("div", { class: "positions" }, keys)];
    if (control.caution) inside.push(make("p", { class: "care" }, [control.caution]));
    const root = make(
      "div",
      { class: `control kind-${control.kind}`, role: "group", "aria-label": control.title },
      inside,
    );
    const made = { id: control.id, root, keys };
    this.groups.push(made);
    this.show(made);
    return root;
  }

  /** @param {string} id @param {string} word @param {object} what */
  press(id, word, what) {
    if (!this.send(what) || !this.positions[id]) return;
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

  /** @param {{id: string, root: HTMLElement, keys: HTMLButtonElement[]}} group */
  show({ id, root, keys }) {
    const now = this.positions[id];
    root.classList.toggle("tripped", now === "tripped" || now === "blown");
    for (const one of keys) {
      if (!now) one.removeAttribute("aria-pressed");
      else one.setAttribute("aria-pressed", String(one.dataset.word === now));
    }
  }
}
