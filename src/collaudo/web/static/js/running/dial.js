// A gauge as an instrument: a scale in the units chosen, a needle, the digits beneath.

import { draw, make, write } from "../dom.js";
import { converted, quantityText, unitFor, unitText, numberText } from "../units.js";

const SWEEP_deg = 270;
const FROM_deg = -135; // from upright
const PAPER = 200;

export class Dial {
  /** @param {{part: string, title: string, unit: string, low: number, high: number}} gauge
   * @param {(part: string) => void} touched */
  constructor(gauge, touched) {
    this.gauge = gauge;
    this.shown = NaN;
    this.face = draw("g");
    this.needle = draw("path", { class: "needle", d: "M-5 22L0 -78L5 22Z" });
    const picture = draw("svg", { viewBox: `0 0 ${PAPER} ${PAPER}`, "aria-hidden": "true", class: "dial-face" }, [
      draw("circle", { class: "rim", cx: 100, cy: 100, r: 96 }),
      this.face,
      draw("g", { transform: "translate(100 100)" }, [this.needle, draw("circle", { class: "hub", r: 8 })]),
    ]);
    this.digits = make("span", { class: "digits" }, ["–"]);
    const title = make("span", { class: "dial-title" }, [gauge.title]);
    this.root = make("button", { type: "button", class: "dial" }, [picture, title, this.digits]);
    this.root.addEventListener("click", () => touched(gauge.part));
    this.draw();
  }

  /** The scale, in the units chosen. */
  draw() {
    const [low, high] = [this.gauge.low, this.gauge.high].map((bar) => converted(bar, this.gauge.unit));
    const step = nice((high - low) / 8);
    this.low = low;
    this.high = high;
    this.face.replaceChildren(draw("path", { class: "scale", d: arc(84) }));
    for (let n = Math.ceil(low / (step / 5) - 1e-9); n * (step / 5) <= high + 1e-9; n += 1)
      this.tick(n * (step / 5), n % 5 === 0, step);
    this.face.append(draw("text", { class: "dial-unit", x: 100, y: 174 }, [unitText(unitFor(this.gauge.unit))]));
    const shown = this.shown;
    this.shown = NaN;
    if (Number.isFinite(shown)) this.paint(shown);
  }

  /** @param {number} value @param {boolean} large @param {number} step */
  tick(value, large, step) {
    const [x0, y0] = point(this.angle(value), large ? 68 : 76);
    const [x1, y1] = point(this.angle(value), 84);
    this.face.append(draw("path", { class: large ? "tick large" : "tick", d: `M${x0} ${y0}L${x1} ${y1}` }));
    if (!large) return;
    const [x, y] = point(this.angle(value), 52);
    this.face.append(draw("text", { class: "dial-number", x, y: y + 6 }, [numberText(value, "", step < 1 ? 1 : 0)]));
  }

  /** @param {number} value in the units chosen */
  angle(value) {
    const share = (value - (this.low ?? 0)) / ((this.high ?? 1) - (this.low ?? 0));
    return FROM_deg + SWEEP_deg * Math.min(1.03, Math.max(-0.03, share));
  }

  /** @param {number} value in the gauge's own unit */
  paint(value) {
    if (value === this.shown) return;
    this.shown = value;
    this.needle.setAttribute("transform", `rotate(${this.angle(converted(value, this.gauge.unit)).toFixed(1)})`);
    write(this.digits, quantityText(value, this.gauge.unit));
  }
}

/** A step of 1, 2 or 5 and a power of ten, not below. @param {number} rough */
function nice(rough) {
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * ([1, 2, 5].find((step) => step * power >= rough * 0.999) ?? 10);
}

/** @param {number} angle_deg from upright @param {number} radius */
function point(angle_deg, radius) {
  const turn = (angle_deg * Math.PI) / 180;
  return [100 + radius * Math.sin(turn), 100 - radius * Math.cos(turn)].map((x) => Number(x.toFixed(1)));
}

/** @param {number} radius */
function arc(radius) {
  const [x0, y0] = point(FROM_deg, radius);
  const [x1, y1] = point(FROM_deg + SWEEP_deg, radius);
  return `M${x0} ${y0}A${radius} ${radius} 0 1 1 ${x1} ${y1}`;
}
