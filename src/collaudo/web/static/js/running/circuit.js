// The circuit: three drawings of one machine, and what a frame makes of their lines, vessels and parts.

import { place } from "../dom.js";
import { Dashes } from "./dashes.js";
import { Labels } from "./labels.js";
import { Parts } from "./parts.js";
import { Zoom } from "./zoom.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {{drawings: Record<string, {svg: string, runs: number, vessels?: string[]}>, loads: string[],
 *   seats: string[], gauges: {part: string, title: string, unit: string, low: number, high: number}[],
 *   parts: {part: string, title: string, kind: string}[],
 *   values: {name: string, title: string, part: string, unit: string}[],
 *   controls: import("./controls.js").Control[], causes: import("./faults.js").Cause[], speeds: number[],
 *   stand: string, machine: string, title: string, of_one_own: boolean}} Layout */

export class Circuit {
  /** @param {Layout} layout @param {(part: string) => void} touched */
  constructor(layout, touched) {
    this.layout = layout;
    this.touched = touched;
    this.root = place("circuit");
    this.layer = "";
    this.dashes = new Dashes();
    this.zoom = new Zoom((scale) => this.labels?.place(scale));
    this.frame = /** @type {Frame | null} */ (null);
    this.chosen = "";
  }

  /** Show one of the drawings. @param {string} layer */
  show(layer) {
    this.layer = layer;
    const drawing = drawn(this.layout.drawings[layer].svg);
    drawing.classList.add("running", `of-${layer}`);
    this.root.replaceChildren(drawing);
    this.vessels = [.../** @type {NodeListOf<SVGRectElement>} */ (drawing.querySelectorAll("rect.water-fill"))];
    this.contacts = [.../** @type {NodeListOf<SVGGElement>} */ (drawing.querySelectorAll("g.contact"))];
    this.dashes.take(drawing, layer);
    this.labels = new Labels(drawing);
    this.parts = new Parts(drawing, this.layout, layer, this.labels, this.touched);
    this.zoom.take(drawing, layer);
    this.parts.choose(this.chosen);
    if (this.frame) this.paint(this.frame, true);
  }

  /** What was fetched anew: other drawings, other lists. @param {Layout} layout */
  renew(layout) {
    this.layout = layout;
    this.frame = null;
    this.show(this.layer);
  }

  /** @param {Frame} frame @param {boolean} [anew] whether words are to be written though none were sent with it */
  paint(frame, anew = false) {
    if (frame.v === undefined && this.frame?.v) frame.v = this.frame.v;
    const withWords = anew || frame.n % 3 === 0 || this.frame === null;
    this.frame = frame;
    this.dashes.paint(frame);
    for (const rect of this.vessels ?? []) fill(rect, frame.lv[rect.dataset.vessel ?? ""] ?? 0);
    for (const contact of this.contacts ?? []) join(contact, frame.ct[Number(contact.dataset.contact)]);
    this.parts?.paint(frame, withWords);
  }

  /** Mark a part whose card is open; none for an empty name. @param {string} part */
  choose(part) {
    this.chosen = part;
    this.parts?.choose(part);
  }
}

/** A drawing from its text. @param {string} text @returns {SVGSVGElement} */
function drawn(text) {
  const read = new DOMParser().parseFromString(text, "image/svg+xml");
  const drawing = /** @type {SVGSVGElement} */ (
    /** @type {unknown} */ (document.importNode(read.documentElement, true))
  );
  for (const name of ["width", "height", "aria-labelledby"]) drawing.removeAttribute(name);
  drawing.setAttribute("role", "group");
  drawing.setAttribute("aria-label", "Parts of the machine; each opens its card");
  for (const title of drawing.querySelectorAll(":scope > title, :scope > desc, g.line > title")) title.remove();
  return drawing;
}

/** Show a contact the way it stands. @param {SVGGElement} contact @param {number} closed */
function join(contact, closed) {
  if (contact.dataset.closed === String(closed)) return;
  contact.dataset.closed = String(closed);
  contact.querySelector(":scope > .open")?.setAttribute("display", closed ? "none" : "inline");
  contact.querySelector(":scope > .shut")?.setAttribute("display", closed ? "inline" : "none");
}

/** Water in a vessel up to a level. @param {SVGRectElement} rect @param {number} level 0..1 */
function fill(rect, level) {
  const shown = Math.round(Math.min(1, Math.max(0, level)) * 500) / 500;
  if (rect.dataset.level === String(shown)) return;
  rect.dataset.level = String(shown);
  const height = shown * Number(rect.dataset.height);
  rect.setAttribute("height", height.toFixed(1));
  rect.setAttribute("y", (Number(rect.dataset.bottom) - height).toFixed(1));
}
