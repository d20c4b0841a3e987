// A small scale: the range that is wanted as a band, where the reading stood as a ring, where it stands as a dot.

import { draw } from "./dom.js";

const WIDTH = 220;

/** @param {{value: number | null, before: number | null, wanted_low: number | null, wanted_high: number | null}} effect */
export function rangeMark(effect) {
  const { value, before, wanted_low: low, wanted_high: high } = effect;
  const marks = [value, before, low, high].filter((x) => x !== null).map(Number);
  let [least, most] = [Math.min(...marks, ...(low === null ? [0] : [])), Math.max(...marks)];
  const room = (most - least || Math.abs(most) || 1) * 0.12;
  [least, most] = [low === null ? least : least - room, most + room];
  /** @param {number} x */
  const at = (x) => 8 + ((WIDTH - 16) * (x - least)) / (most - least);
  const svg = draw("svg", {
    class: "range-mark",
    viewBox: `0 0 ${WIDTH} 22`,
    preserveAspectRatio: "xMinYMid meet",
    "aria-hidden": "true",
    focusable: "false",
  });
  const [from, to] = [at(low ?? least), at(high ?? most)];
  svg.append(draw("rect", { class: "band", x: from, y: 6, width: Math.max(2, to - from), height: 10, rx: 2 }));
  if (before !== null) svg.append(draw("circle", { class: "stood", cx: at(before), cy: 11, r: 6 }));
  if (value !== null) svg.append(draw("circle", { class: "stands", cx: at(value), cy: 11, r: 4.5 }));
  return svg;
}
