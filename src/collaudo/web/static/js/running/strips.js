// Strips: series over time on one time axis, those of one unit in one lane, told apart by dash and label.

import { make, write } from "../dom.js";
import { clockText } from "../time.js";
import { converted, numberText, unitFor, unitText } from "../units.js";
import { History } from "./history.js";
import { SeriesChoice } from "./series_choice.js";
import { valueText } from "./table.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {{name: string, title: string, part: string, unit: string}} Series */

const SPANS = /** @type {[string, number][]} */ ([
  ["2 min", 120],
  ["10 min", 600],
  ["1 h", 3600],
]);
const DASHES = [[], [10, 5], [3, 4], [14, 4, 3, 4], [6, 3, 2, 3, 2, 3], [20, 6]];
const INKS = ["--ink", "--t1", "--t5", "--soft", "--t6", "--t2"];
const BETWEEN_ms = 200;
const LEFT = 66;
const BELOW = 26;
const LEAST_LANE = 62;

export class Strips {
  /** @param {import("./circuit.js").Layout} layout */
  constructor(layout) {
    this.values = layout.values;
    this.history = new History(layout.stand, layout.values, () => this.draw());
    this.span_s = SPANS[0][1];
    this.canvas = /** @type {HTMLCanvasElement} */ (
      make("canvas", { role: "img", "aria-label": "Strips of the chosen series" })
    );
    this.legend = make("ul", { class: "strip-legend" });
    this.choice = new SeriesChoice(layout, (names) => this.choose(names));
    this.frameOf = make("div", { class: "strip-frame" }, [this.canvas]);
    this.root = make("div", { class: "strips" }, [
      make("div", { class: "strip-head" }, [this.spans(), this.choice.opener, this.legend]),
      make("div", { class: "strip-body" }, [this.choice.root, this.frameOf]),
    ]);
    this.last_ms = 0;
    new ResizeObserver(() => this.draw()).observe(this.frameOf);
    for (const event of ["units-chosen", "light-chosen"]) document.addEventListener(event, () => this.draw());
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
    this.choose(this.choice.names);
  }

  /** The series of a layout. @param {import("./circuit.js").Layout} layout */
  renew(layout) {
    this.values = this.history.values = this.choice.layout.values = layout.values;
    this.choice.names = this.choice.names.filter((name) => this.values.some((one) => one.name === name));
    this.choice.list();
    this.choose(this.choice.names);
  }

  spans() {
    const inputs = SPANS.map(([word, span_s]) => {
      const input = /** @type {HTMLInputElement} */ (
        make("input", { type: "radio", name: "span", value: span_s, checked: span_s === this.span_s })
      );
      input.addEventListener("change", () => {
        this.span_s = span_s;
        this.choose(this.choice.names);
      });
      return make("label", {}, [input, make("span", {}, [word])]);
    });
    return make("fieldset", { class: "pick" }, [make("legend", { class: "unseen" }, ["The last"]), ...inputs]);
  }

  /** @param {string[]} names */
  choose(names) {
    this.series = names.flatMap((name) => this.values.find((one) => one.name === name) ?? []);
    this.rows = this.series.map((one, n) => legendRow(one, n));
    this.legend.replaceChildren(...this.rows.map((row) => row.root));
    this.history.choose(names, this.span_s);
    this.draw();
  }

  /** @param {Frame} frame @param {boolean} fresh */
  paint(frame, fresh) {
    this.history.add(frame, fresh);
    if (!this.root.isConnected || this.root.closest("[hidden]") || performance.now() - this.last_ms < BETWEEN_ms)
      return;
    this.last_ms = performance.now();
    if (frame.v)
      for (const row of this.rows ?? [])
        write(row.value, valueText(frame.v[this.values.findIndex((one) => one.name === row.name)], row.unit));
    this.draw();
  }

  /** Draw all lanes. */
  draw() {
    const width = this.frameOf.clientWidth;
    if (!width || !this.series) return;
    const units = [...new Set(this.series.map((one) => one.unit))];
    const height = Math.max(this.frameOf.clientHeight, units.length * LEAST_LANE + BELOW);
    const pen = fitted(this.canvas, width, height);
    const css = getComputedStyle(this.canvas);
    pen.font = `${Math.round(parseFloat(css.fontSize) * 0.8)}px system-ui, sans-serif`;
    const end_s = Math.max(this.history.now_s, this.span_s);
    const across = (/** @type {number} */ t) => LEFT + ((t - end_s + this.span_s) / this.span_s) * (width - LEFT - 6);
    timeAxis(pen, { across, end_s, span_s: this.span_s, height, css });
    const lane = (height - BELOW) / Math.max(1, units.length);
    units.forEach((unit, n) => this.lane(pen, { unit, top: n * lane, height: lane, width, across, css }));
  }

  /** One unit's lane: scale at the left, its series. @param {CanvasRenderingContext2D} pen @param {any} at */
  lane(pen, { unit, top, height, width, across, css }) {
    const inside = (this.series ?? []).filter((one) => one.unit === unit);
    const rows = inside.map((one) => this.history.series[one.name] ?? []);
    const scale = scaleOf(rows, unit);
    const upright = (/** @type {number} */ value) =>
      top + height - 8 - ((value - scale.low) / (scale.high - scale.low)) * (height - 26);
    pen.strokeStyle = resolved(this.canvas, "--faint");
    pen.fillStyle = css.color;
    pen.lineWidth = 1;
    pen.setLineDash([]);
    for (const value of scale.ticks) {
      line(pen, LEFT, upright(value), width - 6, upright(value));
      pen.textAlign = "right";
      pen.fillText(numberText(value, "", scale.digits), LEFT - 8, upright(value) + 4);
    }
    pen.textAlign = "left";
    pen.fillText(unit === "share" ? "%" : unitText(unitFor(unit)), 4, top + 14);
    inside.forEach((one, k) => {
      const n = this.series?.indexOf(one) ?? 0;
      pen.strokeStyle = pen.fillStyle = resolved(this.canvas, INKS[n]);
      pen.lineWidth = 2.2;
      pen.setLineDash(DASHES[n]);
      trace(pen, this.history.t, rows[k], across, (value) => upright(shown(value, unit)));
    });
  }
}

/** @param {Series} one @param {number} n */
function legendRow(one, n) {
  const value = make("span", { class: "number" }, ["–"]);
  const sample = /** @type {HTMLCanvasElement} */ (make("canvas", { class: "sample", "aria-hidden": "true" }));
  const root = make("li", {}, [sample, make("span", {}, [one.title]), value]);
  requestAnimationFrame(() => {
    const pen = fitted(sample, 44, 14);
    pen.strokeStyle = resolved(sample, INKS[n]);
    pen.lineWidth = 2.4;
    pen.setLineDash(DASHES[n]);
    line(pen, 0, 7, 44, 7);
  });
  return { root, value, name: one.name, unit: one.unit };
}

/** A canvas at the screen's own pixels, empty. @param {HTMLCanvasElement} canvas @param {number} width
 * @param {number} height */
function fitted(canvas, width, height) {
  const fine = window.devicePixelRatio || 1;
  const [w, h] = [Math.round(width * fine), Math.round(height * fine)];
  if (canvas.width !== w || canvas.height !== h) {
    [canvas.width, canvas.height] = [w, h];
    [canvas.style.width, canvas.style.height] = [`${width}px`, `${height}px`];
  }
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  pen.setTransform(fine, 0, 0, fine, 0, 0);
  pen.clearRect(0, 0, width, height);
  return pen;
}

/** The colour a token stands for in this light. @param {Element} at @param {string} token */
function resolved(at, token) {
  const probe = /** @type {HTMLElement} */ (at);
  probe.style.color = `var(${token})`;
  const found = getComputedStyle(probe).color;
  probe.style.color = "";
  return found;
}

/** @param {number} value @param {string} unit */
function shown(value, unit) {
  return unit === "share" ? 100 * value : converted(value, unit);
}

/** Ends and marks of a lane's scale. @param {number[][]} rows @param {string} unit */
function scaleOf(rows, unit) {
  let [low, high] = [Infinity, -Infinity];
  for (const row of rows) {
    for (const value of row) {
      const at = shown(value, unit);
      if (at < low) low = at;
      if (at > high) high = at;
    }
  }
  if (low > high) [low, high] = [0, 1];
  if (low > 0 && low < 0.5 * high) low = 0;
  const least = unit === "bar" ? converted(0.2, "bar") : 1;
  if (high - low < least) [low, high] = [low - least / 2, high + least / 2];
  const power = 10 ** Math.floor(Math.log10((high - low) / 2));
  const step = power * ([1, 2, 5].find((one) => (high - low) / (one * power) <= 4) ?? 10);
  [low, high] = [Math.floor(low / step) * step, Math.ceil(high / step) * step];
  const count = Math.round((high - low) / step);
  const ticks = Array.from({ length: count + 1 }, (_, n) => low + n * step);
  return { low, high, ticks, digits: Math.max(0, -Math.floor(Math.log10(step))) };
}

/** @param {CanvasRenderingContext2D} pen @param {any} at */
function timeAxis(pen, { across, end_s, span_s, height, css }) {
  const step = span_s / 4;
  pen.fillStyle = pen.strokeStyle = css.color;
  pen.setLineDash([]);
  pen.lineWidth = 1;
  for (let n = 0; n <= 4; n += 1) {
    const t = end_s - n * step;
    pen.textAlign = n === 0 ? "right" : n === 4 ? "left" : "center";
    pen.fillText(clockText(Math.max(0, t)), across(t), height - 6);
    line(pen, across(t), height - BELOW + 2, across(t), height - BELOW + 8);
  }
}

/** @param {CanvasRenderingContext2D} pen @param {number[]} t @param {number[]} row
 * @param {(t: number) => number} across @param {(value: number) => number} upright */
function trace(pen, t, row, across, upright) {
  pen.beginPath();
  let going = false;
  for (let n = 0; n < row.length; n += 1) {
    const x = across(t[n]);
    if (x < LEFT || !Number.isFinite(row[n])) continue;
    if (going) pen.lineTo(x, upright(row[n]));
    else pen.moveTo(x, upright(row[n]));
    going = true;
  }
  pen.stroke();
}

/** @param {CanvasRenderingContext2D} pen @param {number} x0 @param {number} y0 @param {number} x1 @param {number} y1 */
function line(pen, x0, y0, x1, y1) {
  pen.beginPath();
  pen.moveTo(x0, y0);
  pen.lineTo(x1, y1);
  pen.stroke();
}
