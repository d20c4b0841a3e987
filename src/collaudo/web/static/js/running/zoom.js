// How large the circuit is shown: whole, or enlarged in a window that scrolls.

import { button, make, place, write } from "../dom.js";

const STEPS = [1, 1.4, 2, 2.8, 4];
const READABLE = 0.3; // pixels a unit: smaller than this, a drawing begins enlarged;
const READABLE_SCROLLED = 0.42; // on a phone, where it is scrolled all the same
const EDGE = 14; // room round the drawing for words that grow past it

export class Zoom {
  /** @param {(scale: number) => void} sized told how many screen pixels one unit of the drawing takes */
  constructor(sized) {
    this.sized = sized;
    this.window = place("window");
    this.drawing = /** @type {SVGSVGElement | null} */ (null);
    this.step = 0;
    this.layer = "";
    this.steps = /** @type {Record<string, number>} */ ({});
    this.smaller = button("−", () => this.go(-1), { "aria-label": "Smaller" });
    this.larger = button("+", () => this.go(1), { "aria-label": "Larger" });
    this.size = make("span");
    place("zoom").replaceChildren(this.larger, this.size, this.smaller);
    new ResizeObserver(() => this.fit()).observe(this.window);
  }

  /** @param {SVGSVGElement} drawing @param {string} layer */
  take(drawing, layer) {
    this.drawing = drawing;
    this.layer = layer;
    const box = drawing.viewBox.baseVal;
    drawing.setAttribute("viewBox", `${box.x - EDGE} ${box.y - EDGE} ${box.width + 2 * EDGE} ${box.height + 2 * EDGE}`);
    this.step = this.steps[layer] ?? this.first();
    this.fit();
  }

  /** Whole where that can be read, else so large that it can. */
  first() {
    const whole = this.whole();
    const least = matchMedia("(max-width: 560px)").matches ? READABLE_SCROLLED : READABLE;
    const found = STEPS.findIndex((step) => step * whole >= least);
    return whole === 0 ? 0 : Math.min(found < 0 ? 2 : found, 2);
  }

  /** Pixels a unit takes when all is shown; 0 where nothing is laid out. */
  whole() {
    const box = this.drawing?.viewBox.baseVal;
    return box ? Math.min(this.window.clientWidth / box.width, this.window.clientHeight / box.height) : 0;
  }

  /** @param {number} by */
  go(by) {
    const before = STEPS[this.step];
    this.step = Math.min(STEPS.length - 1, Math.max(0, this.step + by));
    this.steps[this.layer] = this.step;
    const ratio = STEPS[this.step] / before;
    const { scrollLeft, scrollTop, clientWidth, clientHeight } = this.window;
    this.fit();
    this.window.scrollLeft = (scrollLeft + clientWidth / 2) * ratio - clientWidth / 2;
    this.window.scrollTop = (scrollTop + clientHeight / 2) * ratio - clientHeight / 2;
  }

  /** Size the drawing to its window. */
  fit() {
    if (!this.drawing) return;
    const box = this.drawing.viewBox.baseVal;
    const scale = this.whole() * STEPS[this.step];
    if (!scale) return;
    this.drawing.style.width = `${Math.floor(box.width * scale)}px`;
    this.drawing.style.height = `${Math.floor(box.height * scale)}px`;
    this.smaller.disabled = this.step === 0;
    this.larger.disabled = this.step === STEPS.length - 1;
    write(this.size, this.step === 0 ? "whole" : `${STEPS[this.step]}×`);
    this.sized(scale);
  }
}
