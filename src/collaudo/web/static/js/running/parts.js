// The parts in the circuit: keys that open a card, with how each stands now in shape and in words.

import { draw } from "../dom.js";
import { quantityText, numberText } from "../units.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {import("./circuit.js").Layout} Layout */
/** @typedef {{part: string, title: string, kind: string, group: SVGGElement | null, load: number[], seat: number,
 *   gauge: number, warm: number, holds: boolean, contacts: number[], css: string, words: string}} Known */

const REACH_px = 26; // a finger that lands this far from a symbol means it
const PUMPS = ["vibration_pump", "vane_pump", "pump_motor"];
const HEATERS = ["heating_element", "cartridge_heater"];

/** What every part of the machine is and which numbers of a frame are its own. @param {Layout} layout
 * @returns {Known[]} */
export function knownParts(layout) {
  const vessels = new Set(layout.drawings.water.vessels ?? []);
  return layout.parts.map(({ part, title, kind }) => ({
    part,
    title,
    kind,
    group: null,
    load: layout.loads.flatMap((name, k) => (name === part || name.startsWith(`${part}.`) ? [k] : [])),
    seat: layout.seats.indexOf(part),
    gauge: layout.gauges.findIndex((one) => one.part === part),
    warm: warmest(layout, part),
    holds: vessels.has(part),
    contacts: [],
    css: "",
    words: "",
  }));
}

/** Place of the value that says how warm a part is: its own metal, else its water. @param {Layout} layout
 * @param {string} part */
function warmest(layout, part) {
  if (/^room/.test(part)) return -1; // what went out into the room is no temperature of the room
  const own = layout.values.findIndex((one) => one.name === `${part}_degC`);
  return own >= 0 ? own : layout.values.findIndex((one) => one.part === part && one.unit === "degC");
}

/** How a part stands now, in words; empty where there is nothing to say. @param {Known} one @param {Frame} frame */
export function stateWords(one, frame) {
  if (one.gauge >= 0) return quantityText(frame.g[one.gauge], "bar");
  if (one.seat >= 0) return seatWords(frame.op[one.seat]);
  if (one.load.length)
    return loadWords(
      one.kind,
      one.load.some((k) => frame.on[k]),
    );
  const level = one.holds ? frame.lv[one.part] : undefined;
  return level === undefined ? "" : `${numberText(100 * level, "", 0)} % full`;
}

/** @param {number} share */
function seatWords(share) {
  if (share < 0.005) return "shut";
  return share > 0.985 ? "open" : `${numberText(100 * share, "", 0)} % open`;
}

/** @param {string} kind @param {boolean} on */
function loadWords(kind, on) {
  if (PUMPS.includes(kind)) return on ? "runs" : "stands";
  if (HEATERS.includes(kind)) return on ? "heats" : "off";
  if (kind === "lamp") return on ? "lit" : "out";
  return on ? "on" : "off";
}

/** @param {Known} one @param {Frame} frame */
function contactWords(one, frame) {
  const closed = one.contacts.filter((n) => frame.ct[n]).length;
  if (!one.contacts.length) return "";
  if (closed === 0) return "open";
  return closed === one.contacts.length ? "closed" : "some closed";
}

export class Parts {
  /** @param {SVGSVGElement} drawing @param {Layout} layout @param {string} layer
   * @param {import("./labels.js").Labels} labels @param {(part: string) => void} touched */
  constructor(drawing, layout, layer, labels, touched) {
    this.layer = layer;
    this.labels = labels;
    this.known = knownParts(layout);
    const worked = new Set(layout.controls.map((one) => one.part));
    for (const one of this.known) {
      one.group =
        drawing.querySelector(`[id="${CSS.escape(`${layer}-part-${one.part}`)}"]`) ??
        drawing.querySelector(`[id="part-${CSS.escape(one.part)}"]`);
      if (!one.group) continue;
      one.group.setAttribute("role", "button");
      one.group.setAttribute("tabindex", "0");
      one.group.dataset.part = one.part;
      one.contacts = [...one.group.querySelectorAll("g.contact")].map((contact) =>
        Number(/** @type {SVGGElement} */ (contact).dataset.contact),
      );
      one.group.querySelector(":scope > title")?.remove();
      const weight =
        2 * Number(worked.has(one.part)) +
        Number(one.gauge >= 0) +
        Number(one.load.length > 0) +
        Number(one.seat >= 0) +
        4 * Number(one.holds);
      labels.take(one.part, one.title, one.group, weight);
    }
    this.ring = draw("rect", { class: "ring", rx: 8, visibility: "hidden" });
    this.mark = draw("rect", { class: "ring chosen", rx: 8, visibility: "hidden" });
    labels.sheet.append(this.mark, this.ring);
    this.listen(drawing, touched);
  }

  /** @param {SVGSVGElement} drawing @param {(part: string) => void} touched */
  listen(drawing, touched) {
    drawing.addEventListener("click", (event) => {
      const part = this.near(event);
      if (part) touched(part);
    });
    drawing.addEventListener("keydown", (event) => {
      const part = partOf(event.target);
      if (!part || (event.key !== "Enter" && event.key !== " ")) return;
      event.preventDefault();
      touched(part);
    });
    drawing.addEventListener("focusin", (event) => {
      const seen = /** @type {Element} */ (event.target).matches(":focus-visible");
      this.surround(this.ring, seen ? partOf(event.target) : "");
    });
    drawing.addEventListener("focusout", () => this.surround(this.ring, ""));
  }

  /** The part that a finger means: the one under it, the smaller of two, else the nearest. @param {MouseEvent} event */
  near(event) {
    if (event.detail === 0) return partOf(event.target); // not by a finger: by a screen reader
    const matrix = /** @type {SVGGraphicsElement} */ (this.labels.sheet).getScreenCTM();
    if (!matrix) return "";
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    let best = { part: "", far: REACH_px / matrix.a, area: Infinity };
    for (const [part, boxes] of Object.entries(this.labels.boxes)) {
      for (const box of boxes) {
        const far = Math.hypot(outside(at.x, box.x, box.width), outside(at.y, box.y, box.height));
        const area = box.width * box.height;
        // Inside a vessel, a small part close by is meant.
        const better =
          far > 0
            ? far < best.far || (best.far === 0 && best.area > 20 * area && far < 0.7 * (REACH_px / matrix.a))
            : best.far > 0 || area < best.area;
        if (better) best = { part, far, area };
      }
    }
    return best.part;
  }

  /** Mark a part whose card is open. @param {string} part */
  choose(part) {
    this.surround(this.mark, part);
  }

  /** @param {SVGElement} ring @param {string} part */
  surround(ring, part) {
    const box = this.labels.boxes[part]?.[0];
    ring.setAttribute("visibility", box ? "visible" : "hidden");
    if (!box) return;
    const room = 8;
    const round = { x: box.x - room, y: box.y - room, width: box.width + 2 * room, height: box.height + 2 * room };
    for (const [name, value] of Object.entries(round)) ring.setAttribute(name, String(value));
  }

  /** @param {Frame} frame @param {boolean} withWords */
  paint(frame, withWords) {
    this.known.forEach((one, n) => {
      if (!one.group) return;
      this.dress(one, frame, n);
      if (withWords) this.tell(one, frame);
    });
  }

  /** @param {Known} one @param {Frame} frame @param {number} n */
  dress(one, frame, n) {
    const words = ["part", `kind-${one.kind}`];
    if (one.load.some((k) => frame.on[k])) words.push("on");
    if (one.seat >= 0) words.push(frame.op[one.seat] < 0.005 ? "shut" : "open");
    if (this.layer === "heat" && one.warm >= 0 && frame.pt[n] >= 0) words.push("warm", `t${frame.pt[n]}`);
    const css = words.join(" ");
    if (css === one.css) return;
    one.css = css;
    one.group?.setAttribute("class", css);
  }

  /** @param {Known} one @param {Frame} frame */
  tell(one, frame) {
    const state = stateWords(one, frame);
    const degC = one.warm >= 0 ? frame.v?.[one.warm] : undefined;
    const warm = degC === undefined ? "" : quantityText(degC, "degC");
    const shown =
      { heat: warm, water: state, current: one.load.length ? state : contactWords(one, frame) }[this.layer] ?? "";
    const spoken = [one.title, shown].filter(Boolean).join(", ");
    if (spoken !== one.words) {
      one.words = spoken;
      one.group?.setAttribute("aria-label", spoken);
    }
    this.labels.tell(one.part, shown);
  }
}

/** @param {EventTarget | null} target */
function partOf(target) {
  return /** @type {HTMLElement | null} */ (/** @type {Element} */ (target).closest("[data-part]"))?.dataset.part ?? "";
}

/** @param {number} at @param {number} from @param {number} length */
function outside(at, from, length) {
  return Math.max(0, from - at, at - from - length);
}
