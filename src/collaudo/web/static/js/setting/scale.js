// A small scale: the range that is wanted as a band, where the reading stood as a ring, where it stands as a dot.

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 220;

/** @param {{value: number | null, before: number | null, wanted_low: number | null, wanted_high: number | null}} effect */
export function scale(effect) {
  const { value, before, wanted_low: low, wanted_high: high } = effect;
  const marks = [value, before, low, high].filter((x) => x !== null).map(Number);
  let [least, most] = [Math.min(...marks, ...(low === null ? [0] : [])), Math.max(...marks)];
  const room = (most - least || Math.abs(most) || 1) * 0.12;
  [least, most] = [low === null ? least : least - room, most + room];
  /** @param {number} x */
  const at = (x) => 8 + ((WIDTH - 16) * (x - least)) / (most - least);
  const svg = node("svg", { viewBox: `0 0 ${WIDTH} 22`, preserveAspectRatio: "xMinYMid meet", "aria-hidden": "true", focusable: "false" });
  const [from, to] = [at(low ?? least), at(high ?? most)];
  svg.append(node("rect", { class: "good-band", x: from, y: 6, width: Math.max(2, to - from), height: 10, rx: 2 }));
  if (before !== null) svg.append(node("circle", { class: "stood", cx: at(before), cy: 11, r: 6 }));
  if (value !== null) svg.append(node("circle", { class: "stands", cx: at(value), cy: 11, r: 4.5 }));
  return svg;
}

/** @param {string} name @param {Record<string, string | number>} attributes */
function node(name, attributes) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}
