// What the colours and dashes of a layer mean, in the units chosen.

import { numberText, converted, unitFor, unitText } from "../units.js";
import { el, place, svg } from "./make.js";

const BOUNDS_degC = [30, 50, 70, 85, 100, 115]; // where one colour ends and the next begins

/** @param {string} layer */
export function showLegend(layer) {
  const rows = layer === "current" ? currentRows() : [...scaleRows(), ...(layer === "water" ? matterRows() : [])];
  place("legend").replaceChildren(el("ul", {}, rows));
}

function scaleRows() {
  const ends = BOUNDS_degC.map((degC) => numberText(converted(degC, "degC"), "", 0));
  const words = [`below ${ends[0]}`, ...ends.slice(1).map((end, n) => `${ends[n]}–${end}`), `above ${ends[5]} ${unitText(unitFor("degC"))}`];
  return words.map((word, n) => row([svg("rect", { class: `swatch t${n}`, x: 2, y: 2, width: 24, height: 12 })], word));
}

function matterRows() {
  return [["flows water t1", "water"], ["flows steam t6", "steam"], ["flows air t3", "air"]].map(([css, word]) => dashRow(css, word)).concat(row([svg("path", { class: "run still", d: "M2 8H26" })], "stands still"));
}

function currentRows() {
  return [dashRow("carries", "carries current"), row([svg("path", { class: "run hot", d: "M2 8H26" })], "live, carries none"), row([svg("path", { class: "run dead", d: "M2 8H26" })], "dead")];
}

/** @param {string} css @param {string} word */
function dashRow(css, word) {
  return row([svg("path", { class: `run ${css}`, d: "M2 8H26" }), svg("path", { class: `dash ${css}`, d: "M2 8H26" })], word);
}

/** @param {Node[]} shapes @param {string} word */
function row(shapes, word) {
  return el("li", {}, [svg("svg", { viewBox: "0 0 28 16", class: "key-sign circuit-look", "aria-hidden": "true" }, shapes), el("span", {}, [word])]);
}
