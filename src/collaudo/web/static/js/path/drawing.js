// The drawing with the way so far, and the part of the step now.

import { draw } from "../dom.js";
import { labelText } from "./pieces.js";

/** @typedef {import("../path.js").Step} Step */

/** Left free round the part of the step. */
const ROUND = 8;
/** Shapes and words that are not farther apart are framed together. */
const TOGETHER = 24;
/** Pixels of the screen to a unit of the drawing at which its letters, 12 units high, are read with ease. */
const READABLE = 1.2;
const MOVE_ms = 300;

/** @typedef {{left: number, top: number, right: number, bottom: number, shapes: number}} Box */

/** @param {HTMLElement} place @param {string} text SVG of the server @param {Step[]} steps */
export function drawn(place, text, steps) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const svg = /** @type {SVGSVGElement} */ (/** @type {unknown} */ (document.importNode(parsed, true)));
  svg.setAttribute("role", "img");
  place.replaceChildren(svg);
  const all = (svg.getAttribute("viewBox") ?? "0 0 1 1").split(" ").map(Number);
  const frames = draw("g");
  svg.append(frames);
  let whole = false;
  let now = 0;
  let view = all;
  let moves = 0;
  const labels = [...svg.querySelectorAll("text")].map((text) => ({ text, told: text.textContent ?? "" }));

  /** @param {string} id */
  const group = (id) => /** @type {SVGGElement | null} */ (svg.querySelector(`#${CSS.escape(id)}`));

  /** Where a step stands: a part of the wiring stands at several places, the fullest comes first.
   * @param {string[]} ids */
  function placesOf(ids) {
    const shapes = ids.flatMap((id) => [...(group(id)?.children ?? [])]);
    const boxes = shapes.filter((shape) => shape.tagName !== "title").map(boxOf);
    return clusters(boxes.filter((box) => box.right > box.left || box.bottom > box.top));
  }

  function paint() {
    const step = steps[now];
    const passed = new Set(steps.slice(0, now + 1).flatMap((one) => [...one.here, ...one.reached_by]));
    for (const one of svg.querySelectorAll("g[id]")) one.classList.toggle("passed", passed.has(one.id));
    for (const one of svg.querySelectorAll("g.now")) one.classList.remove("now");
    for (const id of [...step.here, ...step.reached_by]) group(id)?.classList.add("now");
    svg.setAttribute("aria-label", step.here.length ? `Drawing; marked: ${step.name}` : "Drawing");
    const places = placesOf(step.here);
    frames.replaceChildren(...places.map(frameOf));
    move(!whole && places.length ? close(places[0]) : all);
  }

  /** Part of the sheet round a box, as much as can be read. @param {Box} box */
  function close({ left, top, right, bottom }) {
    const scale = Math.max(
      1 / READABLE,
      (right - left + 80) / place.clientWidth,
      (bottom - top + 60) / place.clientHeight,
    );
    const width = Math.min(all[2], place.clientWidth * scale);
    const height = Math.min(all[3], place.clientHeight * scale);
    return [
      within((left + right - width) / 2, all[0], all[0] + all[2] - width),
      within((top + bottom - height) / 2, all[1], all[1] + all[3] - height),
      width,
      height,
    ];
  }

  /** Move what is seen, so that the eye can follow; at once where no motion is wanted. @param {number[]} to */
  function move(to) {
    const from = view;
    const mine = ++moves;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const begun = performance.now();
    const tick = (/** @type {number} */ at) => {
      if (mine !== moves) return;
      const gone = still ? 1 : Math.min(1, Math.max(0, (at - begun) / MOVE_ms));
      const part = gone * gone * (3 - 2 * gone);
      view = from.map((value, n) => value + part * (to[n] - value));
      svg.setAttribute("viewBox", view.join(" "));
      if (gone < 1) requestAnimationFrame(tick);
    };
    tick(begun);
    if (!still) requestAnimationFrame(tick);
  }

  function showUnits() {
    for (const { text, told } of labels) if (text.childElementCount === 0) text.textContent = labelText(told);
  }
  showUnits();

  // Paper shows the whole sheet with the whole way, whatever the screen showed.
  addEventListener("beforeprint", () => {
    moves += 1;
    view = all;
    svg.setAttribute("viewBox", all.join(" "));
  });
  addEventListener("afterprint", () => steps.length && paint());
  return {
    /** @param {number} step */
    mark(step) {
      now = step;
      paint();
    },
    isWhole: () => whole,
    /** Whole, or near enough to read. */
    turn() {
      whole = !whole;
      if (steps.length) paint();
    },
    showUnits,
  };
}

/** @param {number} wanted @param {number} least @param {number} most */
function within(wanted, least, most) {
  return Math.max(least, Math.min(most, wanted));
}

/** The room a shape takes on the sheet. @param {Element} shape @returns {Box} */
function boxOf(shape) {
  const graphic = /** @type {SVGGraphicsElement} */ (shape);
  const { x, y, width, height } = graphic.getBBox();
  const matrix = graphic.transform.baseVal.consolidate()?.matrix ?? new DOMMatrix();
  const corners = [new DOMPoint(x, y), new DOMPoint(x + width, y + height)].map((corner) =>
    corner.matrixTransform(DOMMatrix.fromMatrix(matrix)),
  );
  const xs = corners.map((corner) => corner.x);
  const ys = corners.map((corner) => corner.y);
  return { left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys), shapes: 1 };
}

/** Boxes that lie together made one, the fullest first. @param {Box[]} boxes @returns {Box[]} */
function clusters(boxes) {
  const left = [...boxes];
  for (let i = 0; i < left.length;) {
    const k = left.findIndex((box, n) => n > i && near(left[i], box));
    if (k < 0) {
      i += 1;
      continue;
    }
    const [other] = left.splice(k, 1);
    left[i] = {
      left: Math.min(left[i].left, other.left),
      top: Math.min(left[i].top, other.top),
      right: Math.max(left[i].right, other.right),
      bottom: Math.max(left[i].bottom, other.bottom),
      shapes: left[i].shapes + other.shapes,
    };
    i = 0;
  }
  return left.sort((a, b) => b.shapes - a.shapes);
}

/** @param {Box} a @param {Box} b */
function near(a, b) {
  const apart = Math.max(a.left - b.right, b.left - a.right, a.top - b.bottom, b.top - a.bottom);
  return apart < TOGETHER;
}

/** @param {Box} box */
function frameOf({ left, top, right, bottom }) {
  const size = { x: left - ROUND, y: top - ROUND, width: right - left + 2 * ROUND, height: bottom - top + 2 * ROUND };
  return draw("rect", { class: "here-frame", ...size, rx: ROUND });
}
