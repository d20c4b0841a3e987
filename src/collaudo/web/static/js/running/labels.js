// Names of parts and what stands there now, written beside the symbols at a size that can be read however large
// the drawing is shown. What would cover something else is left out until there is room; the card has it all.
// Lines are kept clear of as far as there is room beside them.

import { draw, write } from "../dom.js";

/** @typedef {{x: number, y: number, width: number, height: number}} Box */
/** @typedef {{part: string, symbol: Box, words: string[], side: string, lines: SVGElement[], state: SVGElement,
 *   weight: number, room: number, whole: boolean}} Block */

const SMALLEST_UNITS = 12;
const NAME_WEIGHT = 600; // as in circuit.css
const STATE_WEIGHT = 500;
const LEADING = 1.12;
const ASIDE = 6;
const NARROW = 9; // letters in a line
const WIDE = 13;
const LARGE = 200; // what is wider than this is a vessel: words may stand inside
const OVER_LINE = 12; // what it costs to write over a line,
const OVER_WALL = 30; // over the wall of a vessel,
const UNTOLD = 9; // and to leave out how a part stands
const APART = 4; // between two names

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
      if (spot) taken.push(spot.box);
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
        taken.some((other) => overlap(box, other, APART)) ||
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

/** Letters in a line and places along a vessel to try on one side. @param {string} side */
function tried(side) {
  if (side === "inside") return [0.5, 0.36, 0.64, 0.22, 0.78, 0.9].map((along) => [WIDE, along]);
  const across = side === "below" || side === "above";
  const places = across ? [0.5, 0, 1] : [0.5, 0.15, 0.85]; // first in the middle, then towards the ends of the symbol
  return places.flatMap((along) =>
    across
      ? [
          [NARROW, along],
          [WIDE, along],
        ]
      : [
          [WIDE, along],
          [NARROW, along],
        ],
  );
}

/** Where a block stands on one side of its symbol. @param {Block} block @param {string} side
 * @param {number} most letters in a line
 * @param {number} along where inside a vessel, as a share of its width @param {number} size */
function laid(block, side, most, along, size) {
  const rows = wrapped(block.words, most, side === "inside");
  const width = Math.max(block.room * wide("0", STATE_WEIGHT), ...rows.map((row) => wide(row, NAME_WEIGHT))) * size;
  const height = (rows.length + (block.room ? 1 : 0)) * LEADING * size;
  const { x, y, width: w, height: h } = block.symbol;
  const middle = y + h / 2 - height / 2;
  const slid = middle + (0.5 - along) * 1.4 * height; // the rows beside a symbol, higher or lower
  const centre = { middle: x + w / 2, start: x + w / 2 + ASIDE, end: x + w / 2 - ASIDE };
  const anchor = along === 0.5 ? "middle" : along < 0.5 ? "start" : "end";
  const across = {
    x: centre[anchor],
    anchor,
    left: centre[anchor] - { middle: 0.5, start: 0, end: 1 }[anchor] * width,
  };
  const places = {
    below: { ...across, top: y + h + 3 },
    above: { ...across, top: y - height - 3 },
    right: { x: x + w + ASIDE, top: slid, anchor: "start", left: x + w + ASIDE },
    left: { x: x - ASIDE, top: slid, anchor: "end", left: x - ASIDE - width },
    inside: {
      x: x + w * along,
      top: w > LARGE && h > LARGE ? y + 4 : middle,
      anchor: "middle",
      left: x + w * along - width / 2,
    },
  };
  const at = places[/** @type {keyof typeof places} */ (side)];
  return { ...at, rows, told: block.room > 0, box: { x: at.left, y: at.top, width, height } };
}

const pen = /** @type {CanvasRenderingContext2D} */ (document.createElement("canvas").getContext("2d"));
const widths = /** @type {Map<string, number>} */ (new Map());

/** Width of a text, in heights of its letters. @param {string} text @param {number} weight */
function wide(text, weight) {
  const key = `${weight} ${text}`;
  const known = widths.get(key);
  if (known !== undefined) return known;
  pen.font = `${weight} 100px ${getComputedStyle(document.body).fontFamily}`;
  const found = pen.measureText(text).width / 100;
  widths.set(key, found);
  return found;
}

/** The straight pieces of a line as narrow boxes; the hops over others are left out.
 * @param {string} data of its path */
function pieces(data) {
  const found = /** @type {Box[]} */ ([]);
  let [x, y] = [0, 0];
  for (const [, word, told] of data.matchAll(/([MHVa])([^MHVa]*)/g)) {
    const numbers = told.trim().split(/\s+/).map(Number);
    const [toX, toY] = {
      M: [numbers[0], numbers[1]],
      H: [numbers[0], y],
      V: [x, numbers[0]],
      a: [x + numbers[5], y + numbers[6]],
    }[word] ?? [x, y];
    if (word === "H" || word === "V")
      found.push({ x: Math.min(x, toX), y: Math.min(y, toY), width: Math.abs(toX - x), height: Math.abs(toY - y) });
    [x, y] = [toX, toY];
  }
  return found;
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

/** Box of a symbol in the sheet's own units. @param {SVGGraphicsElement} child @returns {Box | null} */
function boxOf(child) {
  if (child.tagName === "title" || child.tagName === "text") return null;
  const own = child.getBBox();
  const matrix = child.transform?.baseVal.consolidate()?.matrix;
  if (!matrix) return own;
  const corners = [
    [own.x, own.y],
    [own.x + own.width, own.y],
    [own.x, own.y + own.height],
    [own.x + own.width, own.y + own.height],
  ];
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
  return (
    box.x >= all.x &&
    box.y >= all.y &&
    box.x + box.width <= all.x + all.width &&
    box.y + box.height <= all.y + all.height
  );
}

/** @param {Box} a @param {Box} b @param {number} room */
function overlap(a, b, room) {
  return (
    a.x < b.x + b.width + room &&
    b.x < a.x + a.width + room &&
    a.y < b.y + b.height + room &&
    b.y < a.y + a.height + room
  );
}
