// What passes the lines, as dashes that move: direction and speed from the flow, colour from the warmth, another
// dash for steam and for air. Who asked for less motion sees arrows and numbers instead.

import { draw, write } from "../dom.js";
import { quantityText } from "../units.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {{base: SVGPathElement, dash: SVGPathElement, css: string, rate: number, at: number,
 *   arrow: SVGElement | null, label: SVGElement | null, words: string}} Run */

const BETWEEN_ms = 40; // 25 a second: moving dashes are the browser's main work
const MATTER = ["water", "steam", "air"];
const CURRENT = ["dead", "hot", "carries"];
const SWING_per_s = 5;

export class Dashes {
  constructor() {
    this.runs = /** @type {Run[]} */ ([]);
    this.moving = true;
    this.layer = "";
    this.last_ms = 0;
    this.calm = matchMedia("(prefers-reduced-motion: reduce)");
    requestAnimationFrame((now_ms) => this.step(now_ms));
  }

  /** Take the lines of a drawing. @param {SVGSVGElement} drawing @param {string} layer */
  take(drawing, layer) {
    this.layer = layer;
    this.runs = [];
    for (const base of /** @type {NodeListOf<SVGPathElement>} */ (drawing.querySelectorAll("path.run[data-run]"))) {
      const dash = /** @type {SVGPathElement} */ (draw("path", { class: "dash", d: base.getAttribute("d") ?? "" }));
      base.after(dash);
      this.runs[Number(base.dataset.run)] = {
        base,
        dash,
        css: "",
        rate: 0,
        at: 0,
        arrow: null,
        label: null,
        words: "",
      };
    }
  }

  /** @param {Frame} frame */
  paint(frame) {
    this.runs.forEach((run, k) => {
      if (this.layer === "current") this.set(run, CURRENT[frame.cs[k] ?? 0], frame.cs[k] === 2 ? 1 : 0);
      else if (this.layer === "water") this.flow(run, frame.wf[k] ?? 0, frame.wt[k], frame.wk[k]);
    });
  }

  /** @param {Run} run @param {number} flow_g_per_s @param {number} warmth @param {number} matter */
  flow(run, flow_g_per_s, warmth, matter) {
    const size = Math.abs(flow_g_per_s);
    const css = size ? `flows ${MATTER[matter] ?? "water"} t${warmth}` : "still";
    this.set(run, css, Math.sign(flow_g_per_s) * Math.min(150, 18 + 26 * size ** 0.7));
    if (this.calm.matches) this.tellFlow(run, flow_g_per_s);
  }

  /** @param {Run} run @param {string} css @param {number} rate */
  set(run, css, rate) {
    run.rate = css === "still" ? 0 : rate;
    if (css === run.css) return;
    run.css = css;
    run.base.setAttribute("class", `run ${css}`);
    run.dash.setAttribute("class", `dash ${css}`);
  }

  /** @param {number} now_ms */
  step(now_ms) {
    requestAnimationFrame((next_ms) => this.step(next_ms));
    if (now_ms - this.last_ms < BETWEEN_ms) return;
    const dt_s = Math.min(0.1, (now_ms - this.last_ms) / 1000);
    this.last_ms = now_ms;
    if (!this.moving || this.calm.matches) return;
    const swing = 6 * Math.sin((now_ms / 1000) * SWING_per_s);
    for (const run of this.runs) {
      if (!run?.rate) continue;
      run.at = this.layer === "current" ? swing : run.at - run.rate * dt_s;
      run.dash.style.strokeDashoffset = run.at.toFixed(1);
    }
  }

  /** An arrow and a number instead of motion. @param {Run} run @param {number} flow_g_per_s */
  tellFlow(run, flow_g_per_s) {
    const words = flow_g_per_s ? quantityText(Math.abs(flow_g_per_s), "g_per_s") : "";
    const sense = `${Math.sign(flow_g_per_s)} ${words}`;
    if (sense === run.words) return;
    run.words = sense;
    run.arrow ??= placed(run, "path", "arrow");
    run.label ??= placed(run, "text", "label flow");
    const middle = longest(run.base);
    run.arrow.setAttribute("d", words && middle.length > 24 ? head(middle, Math.sign(flow_g_per_s)) : "");
    run.label.setAttribute("x", String(middle.x + (middle.level ? 0 : 10)));
    run.label.setAttribute("y", String(middle.y + (middle.level ? -10 : 4)));
    run.label.classList.toggle("middle", middle.level);
    write(run.label, middle.length > 50 ? words : "");
  }
}

/** @param {Run} run @param {string} tag @param {string} css */
function placed(run, tag, css) {
  const made = draw(tag, { class: css, "aria-hidden": "true" });
  run.dash.after(made);
  return made;
}

/** Middle of the longest straight piece. @param {SVGPathElement} path */
function longest(path) {
  const all = path.getTotalLength();
  const points = Array.from({ length: 41 }, (_, n) => path.getPointAtLength((all * n) / 40));
  let best = { from: 0, to: 40, size: 0 };
  for (let from = 0; from < 40;) {
    let to = from + 1;
    const level = Math.abs(points[to].y - points[from].y) < 0.1;
    const straight = (/** @type {DOMPoint} */ p) => Math.abs(level ? p.y - points[from].y : p.x - points[from].x) < 0.1;
    while (to < 40 && straight(points[to + 1])) to += 1;
    const size = Math.hypot(points[to].x - points[from].x, points[to].y - points[from].y);
    if (size > best.size) best = { from, to, size };
    from = to;
  }
  const [a, b] = [points[best.from], points[best.to]];
  const length = best.size || 1;
  return {
    x: (a.x + b.x) / 2,
    y: (a.y + b.y) / 2,
    dx: (b.x - a.x) / length,
    dy: (b.y - a.y) / length,
    length: best.size,
    level: Math.abs(b.x - a.x) > Math.abs(b.y - a.y),
  };
}

/** @param {{x: number, y: number, dx: number, dy: number}} at @param {number} sense */
function head({ x, y, dx, dy }, sense) {
  const [ax, ay] = [dx * sense, dy * sense];
  const point = (/** @type {number} */ along, /** @type {number} */ across) =>
    `${(x + ax * along - ay * across).toFixed(1)} ${(y + ay * along + ax * across).toFixed(1)}`;
  return `M${point(11, 0)}L${point(-9, 8)}L${point(-9, -8)}Z`;
}
