// Names of parts and what stands there now, written beside the symbols at a size that can be read however large
// the drawing is shown. What would cover something else is left out until there is room; the card has it all.
// Lines are kept clear of as far as there is room beside them.

import { draw, write } from "../dom.js";
import { apart, boxOf, overlap, pieces, within } from "./boxes.js";
import { laid, LARGE, LEADING, tried } from "./label_places.js";

/** @typedef {import("./boxes.js").Box} Box */
/** @typedef {{part: string, symbol: Box, words: string[], side: string, lines: SVGElement[], state: SVGElement,
 *   weight: number, room: number, whole: boolean}} Block */

const SMALLEST_UNITS = 12;
const OVER_LINE = 12; // what it costs to write over a line,
const OVER_WALL = 30; // over the wall of a vessel,
const UNTOLD = 9; // and to leave out how a part stands
const APART_px = 5; // between two names in a row

export class Labels {
  /** @param {SVGSVGElement} drawing */
  constructor(drawing) {
    this.drawing = drawing;
    this.sheet = /** @type {SVGElement} */ (drawing.querySelector("g.sheet") ?? drawing);
    this.layer = draw("g", { class: "told", "aria-hidden": "true" });
    this.sheet.append(this.layer);
    this.blocks = /** @type {Block[]} */ ([]);
    this.boxes = /** @type {Record<string, Box[]>} */ ({});
    this.walls = /** @type {Box[]} */ ([]);
    this.runs = [...drawing.querySelectorAll("path.run")].flatMap((run) => pieces(run.getAttribute("d") ?? ""));
    this.scale = 0;
  }

  /** Take the names of a part out of its group and write them here.
   * @param {string} part @param {string} title @param {SVGGElement} group
   * @param {number} weight who is written first */
  take(part, title, group, weight) {
    const texts = [.../** @type {NodeListOf<SVGTextElement>} */ (group.querySelectorAll("text.label"))];
    for (const text of texts) text.remove();
    const symbols = [...group.children]
      .map((child) => boxOf(/** @type {SVGGraphicsElement} */ (child)))
      .filter((box) => box !== null);
    this.boxes[part] = symbols;
    for (const rows of stacked(texts)) {
      const at = middleOf(rows);
      const symbol = symbols.reduce(
        (best, box) => (apart(box, at) < apart(best, at) ? box : best),
        symbols[0] ?? { ...at, width: 0, height: 0 },
      );
      this.write(part, symbol, rows, at, weight, title);
    }
    if (texts.length === 0 && symbols.length) this.write(part, symbols[0], [], middleOf(texts), weight, "");
  }

  /** @param {string} part @param {Box} symbol @param {SVGTextElement[]} rows
   * @param {{x: number, y: number}} at @param {number} weight
   * @param {string} title of the part; where a piece of it has another name, nothing is told of the whole */
  write(part, symbol, rows, at, weight, title) {
    const named = rows.filter((row) => row.classList.contains("name"));
    const words = named
      .map((row) => (row.textContent ?? "").replace(/, .*/, ""))
      .join(" ")
      .split(" ")
      .filter(Boolean);
    const state = draw("text", { class: "label state" });
    this.layer.append(state);
    this.blocks.push({
      part,
      symbol,
      words,
      side: sideOf(symbol, at),
      lines: [],
      state,
      weight,
      room: 0,
      whole: words.join(" ") === title || !title,
    });
  }

  /** What stands at a part now. @param {string} part @param {string} text */
  tell(part, text) {
    for (const block of this.blocks) {
      if (block.part !== part || !block.whole) continue;
      write(block.state, text);
      if (text.length > block.room) {
        block.room = text.length;
        this.scheduled ??= requestAnimationFrame(() => this.place(this.scale));
      }
    }
  }

  /** Write everything where there is room. @param {number} scale screen pixels for one unit */
  place(scale) {
    this.scheduled = undefined;
    if (!scale) return;
    this.scale = scale;
    const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) / 18;
    const size = Math.max(SMALLEST_UNITS, (11.5 * rem) / scale);
    const symbols = Object.values(this.boxes)
      .flat()
      .filter((box) => box.width < LARGE);
    this.walls = Object.values(this.boxes)
      .flat()
      .filter((box) => box.width >= LARGE);
    const taken = /** @type {Box[]} */ ([]);
    for (const block of [...this.blocks].sort((a, b) => b.weight - a.weight)) {
      const spot = this.spot(block, size, symbols, taken);
      this.draw(block, spot, size);
      const gap = APART_px / scale;
      if (spot) taken.push({ ...spot.box, x: spot.box.x - gap, width: spot.box.width + 2 * gap });
    }
  }

  /** The best place for a name and what is told of it: on no symbol and no other name, clear of lines if it can be.
   * @param {Block} block @param {number} size @param {Box[]} symbols @param {Box[]} taken */
  spot(block, size, symbols, taken) {
    const sheet = this.drawing.viewBox.baseVal;
    let best = null;
    let least = block.weight ? Infinity : OVER_WALL; // what nobody works or reads is not worth a wall
    for (const spot of this.spots(block, size)) {
      if (spot.cost >= least) continue;
      const { box } = spot;
      if (
        !within(box, sheet) ||
        taken.some((other) => overlap(box, other, 1)) ||
        symbols.some((other) => other !== block.symbol && overlap(box, other, -4))
      )
        continue;
      const cost = spot.cost + this.covered(box, least - spot.cost);
      if (cost < least) [best, least] = [spot, cost];
    }
    return best;
  }

  /** Every place there is, with what it costs before anything is known of what lies there.
   * @param {Block} block @param {number} size */
  spots(block, size) {
    const sides =
      block.side === "inside"
        ? ["inside"]
        : [block.side, ...["right", "left", "below", "above"].filter((side) => side !== block.side)];
    const rooms = block.room ? [block.room, 0] : [0];
    return rooms.flatMap((room) =>
      sides.flatMap((side, n) =>
        tried(side).map(([most, along], k) => ({
          ...laid({ ...block, room }, side, most, along, size),
          cost: (room === block.room ? 0 : UNTOLD) + Math.min(n, 2) + k / 4,
        })),
      ),
    );
  }

  /** What lines and walls under a name cost, as far as that is below a limit. @param {Box} box @param {number} limit */
  covered(box, limit) {
    let cost = 0;
    for (const wall of this.walls) if (overlap(box, wall, 0) && !within(box, wall)) cost += OVER_WALL;
    for (const run of this.runs) {
      if (cost >= limit) break;
      if (overlap(box, run, 1)) cost += OVER_LINE;
    }
    return cost;
  }

  /** @param {Block} block
   * @param {{rows: string[], told: boolean, x: number, top: number, anchor: string} | null} spot
   * @param {number} size */
  draw(block, spot, size) {
    for (const line of block.lines) line.remove();
    block.lines = [];
    block.state.setAttribute("visibility", spot && (spot.told || !block.room) ? "visible" : "hidden");
    if (!spot) return;
    const all = [...spot.rows.map((row) => draw("text", { class: "label name" }, [row])), block.state];
    block.lines = all.slice(0, -1);
    all.forEach((text, n) => {
      text.setAttribute("x", spot.x.toFixed(1));
      text.setAttribute("y", (spot.top + size * (0.82 + LEADING * n)).toFixed(1));
      text.style.fontSize = `${size.toFixed(1)}px`;
      text.setAttribute("text-anchor", spot.anchor);
    });
    block.state.before(...block.lines);
  }
}

/** Texts that stand under one another belong together. @param {SVGTextElement[]} texts */
function stacked(texts) {
  const found = /** @type {SVGTextElement[][]} */ ([]);
  for (const text of texts) {
    const last = found.at(-1)?.at(-1);
    const near =
      last &&
      Math.abs(number(last, "x") - number(text, "x")) < 1 &&
      Math.abs(number(text, "y") - number(last, "y")) < 20;
    if (near) found.at(-1)?.push(text);
    else found.push([text]);
  }
  return found;
}

/** @param {SVGTextElement[]} rows */
function middleOf(rows) {
  if (!rows.length) return { x: 0, y: 0 };
  const shift = rows[0].classList.contains("middle") ? 0 : rows[0].classList.contains("end") ? -30 : 30;
  return { x: number(rows[0], "x") + shift, y: rows.reduce((sum, row) => sum + number(row, "y") - 4, 0) / rows.length };
}

/** @param {Box} symbol @param {{x: number, y: number}} at */
function sideOf(symbol, at) {
  if (at.y > symbol.y + symbol.height) return "below";
  if (at.y < symbol.y) return "above";
  if (at.x > symbol.x + symbol.width) return "right";
  return at.x < symbol.x ? "left" : "inside";
}

/** @param {SVGElement} of @param {string} name */
const number = (of, name) => Number(of.getAttribute(name));
