// Small drawings of numbers: where a reading lies beside what a sound machine shows, and beside what a cause
// makes of it. What they say also stands in words.

import { converted, numberText, spanText, unitFor } from "../units.js";
import { draw, make } from "../dom.js";

/** @typedef {{low: number, typical?: number, high: number}} Range */

const WIDE = 400;
/** Beside the field there is less room. */
const NARROW = 240;
const EDGE = 14;

/** Where a value lies. @param {number} value @param {Range} range @returns {"below" | "as expected" | "above"} */
export function placeOf(value, range) {
  return value < range.low ? "below" : value > range.high ? "above" : "as expected";
}

/** The expected range, with the value's mark where there is one. All in `unit`.
 * @param {Range} expected @param {string} unit @param {number | null} value */
export function expectedScale(expected, unit, value) {
  const at = ruler([expected], value, NARROW);
  const drawing = draw("svg", { viewBox: `0 0 ${NARROW} 74`, class: "scale", "aria-hidden": "true" });
  drawing.append(line(EDGE, NARROW - EDGE, 30, "axis"), band(at, expected, 18, 24, "sound"));
  if (expected.typical !== undefined) drawing.append(upright(at(expected.typical), 18, 42, "typical"));
  if (value !== null) drawing.append(mark(at(value), 30, placeOf(value, expected)));
  // The two numbers stand apart even where the ends lie close together.
  const [left, right] = apart(at(expected.low), at(expected.high), 80, NARROW);
  drawing.append(number(expected.low, unit, left, 66), number(expected.high, unit, right, 66));
  return /** @type {SVGElement} */ (drawing);
}

/** A finding beside what a sound machine and what one cause shows.
 * @param {number} value @param {string} unit @param {Range | null} sound @param {Range} cause */
export function spreadDrawing(value, unit, sound, cause) {
  const at = ruler(sound ? [sound, cause] : [cause], value, WIDE);
  const drawing = draw("svg", { viewBox: `0 0 ${WIDE} 70`, class: "scale spread", "aria-hidden": "true" });
  drawing.append(line(EDGE, WIDE - EDGE, 60, "axis"));
  if (sound) drawing.append(band(at, sound, 6, 18, "sound"));
  drawing.append(band(at, cause, 32, 18, "made"));
  drawing.append(
    upright(at(value), 0, 62, "found"),
    draw("path", { d: diamond(at(value), 60, 8), class: "found-mark" }),
  );
  const said = [
    sound ? `sound machine ${spanText(sound.low, sound.high, unit)}` : "",
    `with this cause ${spanText(cause.low, cause.high, unit)}`,
  ];
  return make(
    "div",
    { class: "spread-row" },
    /** @type {any} */ (drawing),
    make(
      "p",
      { class: "legend" },
      said[0] && make("span", { class: "of-sound" }, said[0]),
      make("span", { class: "of-cause" }, said[1]),
    ),
  );
}

/** From a value to its place. @param {Range[]} ranges @param {number | null} value @param {number} wide */
function ruler(ranges, value, wide) {
  let low = Math.min(...ranges.map((one) => one.low));
  let high = Math.max(...ranges.map((one) => one.high));
  const span = Math.max(high - low, Math.abs(high) * 1e-3, 1e-9);
  low -= span * 0.5;
  high += span * 0.5;
  if (value !== null) {
    // A mistyped number must not shrink the rest to nothing: it lies at the edge.
    low = Math.max(Math.min(low, value - span * 0.15), low - 5 * span);
    high = Math.min(Math.max(high, value + span * 0.15), high + 5 * span);
  }
  const place = (/** @type {number} */ one) => EDGE + ((one - low) / (high - low)) * (wide - 2 * EDGE);
  return (/** @type {number} */ one) => Math.min(wide - EDGE, Math.max(EDGE, place(one)));
}

/** @param {(one: number) => number} at @param {Range} range @param {number} top @param {number} height
 * @param {string} kind */
function band(at, range, top, height, kind) {
  const x = at(range.low);
  return draw("rect", { x, y: top, width: Math.max(4, at(range.high) - x), height, rx: 4, class: `band ${kind}` });
}

/** @param {number} a @param {number} b @param {number} y @param {string} kind */
function line(a, b, y, kind) {
  return draw("line", { x1: a, x2: b, y1: y, y2: y, class: kind });
}

/** @param {number} x @param {number} top @param {number} bottom @param {string} kind */
function upright(x, top, bottom, kind) {
  return draw("line", { x1: x, x2: x, y1: top, y2: bottom, class: kind });
}

/** A round mark within; an arrow that points away from what is expected beyond it. @param {number} x
 * @param {number} y @param {string} place */
function mark(x, y, place) {
  if (place === "as expected") return draw("circle", { cx: x, cy: y, r: 11, class: "mark-in" });
  const to = place === "below" ? -1 : 1;
  return draw("path", {
    d: `M${x + 13 * to} ${y} L${x - 9 * to} ${y - 13} L${x - 9 * to} ${y + 13} Z`,
    class: "mark-out",
  });
}

/** @param {number} x @param {number} y @param {number} r */
function diamond(x, y, r) {
  return `M${x} ${y - r} L${x + r} ${y} L${x} ${y + r} L${x - r} ${y} Z`;
}

/** @param {number} value @param {string} unit @param {number} x @param {number} y */
function number(value, unit, x, y) {
  const text = numberText(converted(value, unit), unitFor(unit));
  return draw("text", { x, y, "text-anchor": "middle", class: "scale-number" }, text);
}

/** @param {number} a @param {number} b @param {number} least @param {number} wide */
function apart(a, b, least, wide) {
  const lack = Math.max(0, least - (b - a)) / 2;
  const left = Math.min(Math.max(a - lack, 30), wide - 30 - least);
  return [left, Math.max(b + lack, left + least)].map((x) => Math.min(x, wide - 30));
}
