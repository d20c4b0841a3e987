// The drawing with the way so far, and the part of the step now.

import { labelText } from "./pieces.js";

/** @typedef {import("../path.js").Step} Step */

const SVG = "http://www.w3.org/2000/svg";
const ROUND = 10;
/** Left free round the part of the step. */
const READABLE = 1.2;
/** Pixels of the screen to a unit of the drawing at which its letters, 12 units high, are read with ease. */
const MOVE_ms = 300;

/** @param {HTMLElement} place @param {string} text SVG of the server @param {Step[]} steps */
export function drawn(place, text, steps) {
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const svg = /** @type {SVGSVGElement} */ (/** @type {unknown} */ (document.importNode(parsed, true)));
  svg.setAttribute("role", "img");
  place.replaceChildren(svg);
  const all = (svg.getAttribute("viewBox") ?? "0 0 1 1").split(" ").map(Number);
  const frame = document.createElementNS(SVG, "rect");
  frame.setAttribute("class", "here-frame");
  frame.setAttribute("rx", "8");
  svg.append(frame);
  let whole = false;
  let now = 0;
  let view = all;
  let moves = 0;
  const labels = [...svg.querySelectorAll("text")].map((text) => ({ text, told: text.textContent ?? "" }));

  /** @param {string} id */
  const group = (id) => /** @type {SVGGElement | null} */ (svg.querySelector(`#${CSS.escape(id)}`));

  /** @param {string[]} ids @returns {number[] | null} left, top, right, bottom */
  function roundOf(ids) {
    const boxes = ids.flatMap((id) => {
      const box = group(id)?.getBBox();
      return box ? [box] : [];
    });
    if (boxes.length === 0) return null;
    return [
      Math.min(...boxes.map((box) => box.x)) - ROUND,
      Math.min(...boxes.map((box) => box.y)) - ROUND,
      Math.max(...boxes.map((box) => box.x + box.width)) + ROUND,
      Math.max(...boxes.map((box) => box.y + box.height)) + ROUND,
    ];
  }

  function paint() {
    const step = steps[now];
    const passed = new Set(steps.slice(0, now + 1).flatMap((one) => [...one.here, ...one.reached_by]));
    for (const one of svg.querySelectorAll("g[id]")) one.classList.toggle("passed", passed.has(one.id));
    for (const one of svg.querySelectorAll("g.now")) one.classList.remove("now");
    for (const id of [...step.here, ...step.reached_by]) group(id)?.classList.add("now");
    svg.setAttribute("aria-label", step.here.length ? `Drawing; marked: ${step.name}` : "Drawing");
    const box = roundOf(step.here);
    frame.setAttribute("visibility", box ? "visible" : "hidden");
    if (box) {
      const [left, top, right, bottom] = box;
      const size = { x: left, y: top, width: right - left, height: bottom - top };
      for (const [name, value] of Object.entries(size)) frame.setAttribute(name, String(value));
    }
    move(!whole && box ? close(box) : all);
  }

  /** Part of the sheet round a box, as much as can be read. @param {number[]} box */
  function close([left, top, right, bottom]) {
    const width = Math.min(all[2], Math.max(place.clientWidth / READABLE, right - left + 80));
    const height = Math.min(all[3], Math.max((width * all[3]) / all[2], bottom - top + 80));
    const within = (/** @type {number} */ wanted, /** @type {number} */ least, /** @type {number} */ most) =>
      Math.max(least, Math.min(most, wanted));
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
