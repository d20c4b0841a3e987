// What the colours and dashes of a layer mean, in the units chosen.

import { draw, make, place } from "../dom.js";
import { numberText, converted, unitFor, unitText } from "../units.js";

const BOUNDS_degC = [30, 50, 70, 85, 100, 115]; // where one colour ends and the next begins

/** @param {string} layer */
export function showLegend(layer) {
  const rows = layer === "current" ? currentRows() : [...scaleRows(), ...(layer === "water" ? matterRows() : [])];
  place("legend").replaceChildren(make("ul", {}, rows));
}

/** The scale as one bar, degrees at its bounds. */
function scaleRows() {
  const wide = 34;
  const blocks = BOUNDS_degC.concat(NaN).map((_, n) =>
    draw("rect", { class: `swatch t${n}`, x: n * wide, y: 0, width: wide, height: 9 }),
  );
  const ends = BOUNDS_degC.map((degC, n) =>
    draw("text", { x: (n + 1) * wide, y: 23 }, [numberText(converted(degC, "degC"), "", 0)]),
  );
  const unit = draw("text", { x: 7 * wide + 4, y: 23 }, [unitText(unitFor("degC"))]);
  const words = `Colours from cold to hot change at ${ends.map((end) => end.textContent).join(", ")} ${unit.textContent}`;
  return [
    make("li", {}, [
      draw("svg", { viewBox: `0 0 ${7 * wide + 24} 26`, class: "scale-sign", role: "img", "aria-label": words }, [
        ...blocks,
        ...ends,
        unit,
      ]),
    ]),
  ];
}

function matterRows() {
  const moving = [
    ["flows water t1", "water"],
    ["flows steam t6", "steam"],
    ["flows air t3", "air"],
  ];
  return [...moving.map(([css, word]) => dashRow(css, word)), lineRow("still", "stands still")];
}

function currentRows() {
  return [dashRow("carries", "carries current"), lineRow("hot", "live, carries none"), lineRow("dead", "dead")];
}

/** @param {string} css @param {string} word */
function lineRow(css, word) {
  return row([draw("path", { class: `run ${css}`, d: "M2 8H26" })], word);
}

/** @param {string} css @param {string} word */
function dashRow(css, word) {
  return row(
    [draw("path", { class: `run ${css}`, d: "M2 8H26" }), draw("path", { class: `dash ${css}`, d: "M2 8H26" })],
    word,
  );
}

/** @param {Node[]} shapes @param {string} word */
function row(shapes, word) {
  return make("li", {}, [
    draw("svg", { viewBox: "0 0 28 16", class: "key-sign circuit-look", "aria-hidden": "true" }, shapes),
    make("span", {}, [word]),
  ]);
}
