// Names of parts and what stands there now, written beside the symbols at a size that can be read however large
// the drawing is shown. What would cover something else is left out until there is room; the card has it all.

import { draw, write } from "../dom.js";

/** @typedef {{x: number, y: number, width: number, height: number}} Box */
/** @typedef {{part: string, symbol: Box, words: string[], side: string, lines: SVGElement[], state: SVGElement,
 *   weight: number, room: number, whole: boolean}} Block */

const SMALLEST_UNITS = 12;
const LETTER = 0.56; // width of a letter in bold, of its height
const LIGHT_LETTER = 0.5;
const LEADING = 1.12;
const ASIDE = 6;
const NARROW = 9; // letters in a line
const WIDE = 13;
const LARGE = 200; // what is wider than this is a vessel: words may stand inside

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
    this.scale = 0;
  }

  /** Take the names of a part out of its group and write them here.
   * @param {string} part @param {string} title @param {SVGGElement} group @param {number} weight who is written first */
  take(part, title, group, weight) {
    const texts = [.../** @type {NodeListOf<SVGTextElement>} */ (group.querySelectorAll("text.label"))];
    for (const text of texts) text.remove();
    const symbols = [...group.children].map((child) => boxOf(/** @type {SVGGraphicsElement} */ (child))).filter((box) => box !== null);
    this.boxes[part] = symbols;
    for (const rows of stacked(texts)) {
      const at = middleOf(rows);
      const symbol = symbols.reduce((best, box) => (apart(box, at) < apart(best, at) ? box : best), symbols[0] ?? { ...at, width: 0, height: 0 });
      this.write(part, symbol, rows, at, weight, title);
    }
    if (texts.length === 0 && symbols.length) this.write(part, symbols[0], [], middleOf(texts), weight, "");
  }

  /** @param {string} part @param {Box} symbol @param {SVGTextElement[]} rows @param {{x: number, y: number}} at @param {number} weight
   * @param {string} title of the part; where a piece of it has another name, nothing is told of the whole */
  write(part, symbol, rows, at, weight, title) {
    const named = rows.filter((row) => row.classList.contains("name"));
    const words = named.map((row) => (row.textContent ?? "").replace(/, .*/, "")).join(" ").split(" ").filter(Boolean);
    const state = draw("text", { class: "label state" });
    this.layer.append(state);
    this.blocks.push({ part, symbol, words, side: sideOf(symbol, at), lines: [], state, weight, room: 0, whole: words.join(" ") === title || !title });
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
    const symbols = Object.values(this.boxes).flat().filter((box) => box.width < LARGE);
    this.walls = Object.values(this.boxes).flat().filter((box) => box.width >= LARGE);
    const taken = /** @type {Box[]} */ ([]);
    for (const block of [...this.blocks].sort((a, b) => b.weight - a.weight)) {
      const spot = this.spot(block, block.room, size, symbols, taken) ?? this.spot(block, 0, size, symbols, taken);
      this.draw(block, spot, size);
      if (spot) taken.push(spot.box);
    }
  }

  /** Where there is room for a name and what is told of it in so many letters.
   * @param {Block} block @param {number} room @param {number} size @param {Box[]} symbols @param {Box[]} taken */
  spot(block, room, size, symbols, taken) {
    const sides = block.side === "inside" ? ["inside"] : [block.side, "right", "left", "below", "above"];
    const sheet = this.drawing.viewBox.baseVal;
    const spots = sides.flatMap((side) => tried(side).map(([most, along]) => laid({ ...block, room }, side, most, along, size)));
    const free = spots.filter(
      ({ box }) => within(box, sheet) && taken.every((other) => !overlap(box, other, 1)) && symbols.every((other) => other === block.symbol || !overlap(box, other, -4)),
    );
    return free.find(({ box }) => !this.walls.some((wall) => overlap(box, wall, 0) && !within(box, wall))) ?? free[0] ?? null;
  }

  /** @param {Block} block @param {{rows: string[], told: boolean, x: number, top: number, anchor: string} | null} spot @param {number} size */
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

/** Letters in a line and places along a vessel to try on one side. @param {string} side */
function tried(side) {
  if (side === "inside") return [0.5, 0.36, 0.64, 0.22, 0.78, 0.9].map((along) => [WIDE, along]);
  return side === "below" || side === "above" ? [[NARROW, 0.5]] : [[WIDE, 0.5], [NARROW, 0.5]];
}

/** Where a block stands on one side of its symbol. @param {Block} block @param {string} side @param {number} most letters in a line
 * @param {number} along where inside a vessel, as a share of its width @param {number} size */
function laid(block, side, most, along, size) {
  const rows = wrapped(block.words, most, side === "inside");
  const width = Math.max(LIGHT_LETTER * block.room, ...rows.map((row) => LETTER * row.length)) * size;
  const height = (rows.length + (block.room ? 1 : 0)) * LEADING * size;
  const { x, y, width: w, height: h } = block.symbol;
  const middle = y + h / 2 - height / 2;
  const places = {
    below: { x: x + w / 2, top: y + h + 3, anchor: "middle", left: x + w / 2 - width / 2 },
    above: { x: x + w / 2, top: y - height - 3, anchor: "middle", left: x + w / 2 - width / 2 },
    right: { x: x + w + ASIDE, top: middle, anchor: "start", left: x + w + ASIDE },
    left: { x: x - ASIDE, top: middle, anchor: "end", left: x - ASIDE - width },
    inside: { x: x + w * along, top: w > LARGE && h > LARGE ? y + 4 : middle, anchor: "middle", left: x + w * along - width / 2 },
  };
  const at = places[/** @type {keyof typeof places} */ (side)];
  return { ...at, rows, told: block.room > 0, box: { x: at.left, y: at.top, width, height } };
}

/** @param {string[]} words @param {number} most @param {boolean} oneLine */
function wrapped(words, most, oneLine) {
  if (oneLine) return words.length ? [words.join(" ")] : [];
  const rows = /** @type {string[]} */ ([]);
  for (const word of words) {
    const last = rows.at(-1);
    if (last !== undefined && last.length + word.length + 1 <= most) rows[rows.length - 1] = `${last} ${word}`;
    else rows.push(word);
  }
  return rows;
}

/** Texts that stand under one another belong together. @param {SVGTextElement[]} texts */
function stacked(texts) {
  const found = /** @type {SVGTextElement[][]} */ ([]);
  for (const text of texts) {
    const last = found.at(-1)?.at(-1);
    const near = last && Math.abs(number(last, "x") - number(text, "x")) < 1 && Math.abs(number(text, "y") - number(last, "y")) < 20;
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

/** Box of a symbol in the sheet's own units. @param {SVGGraphicsElement} child @returns {Box | null} */
function boxOf(child) {
  if (child.tagName === "title" || child.tagName === "text") return null;
  const own = child.getBBox();
  const matrix = child.transform?.baseVal.consolidate()?.matrix;
  if (!matrix) return own;
  const corners = [[own.x, own.y], [own.x + own.width, own.y], [own.x, own.y + own.height], [own.x + own.width, own.y + own.height]];
  const xs = corners.map(([x, y]) => matrix.a * x + matrix.c * y + matrix.e);
  const ys = corners.map(([x, y]) => matrix.b * x + matrix.d * y + matrix.f);
  const [left, top] = [Math.min(...xs), Math.min(...ys)];
  return { x: left, y: top, width: Math.max(...xs) - left, height: Math.max(...ys) - top };
}

/** @param {SVGElement} of @param {string} name */
const number = (of, name) => Number(of.getAttribute(name));

/** @param {Box} box @param {{x: number, y: number}} at */
const apart = (box, at) => Math.hypot(at.x - box.x - box.width / 2, at.y - box.y - box.height / 2);

/** @param {Box} box @param {Box} all */
function within(box, all) {
  return box.x >= all.x && box.y >= all.y && box.x + box.width <= all.x + all.width && box.y + box.height <= all.y + all.height;
}

/** @param {Box} a @param {Box} b @param {number} room */
function overlap(a, b, room) {
  return a.x < b.x + b.width + room && b.x < a.x + a.width + room && a.y < b.y + b.height + room && b.y < a.y + a.height + room;
}
