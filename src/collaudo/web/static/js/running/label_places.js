// Where a block of words may stand beside its symbol, and how much room it takes there.

/** @typedef {import("./labels.js").Block} Block */

const NAME_WEIGHT = 600; // as in circuit.css
const STATE_WEIGHT = 500;
export const LEADING = 1.12;
const ASIDE = 6;
const NARROW = 9; // letters in a line
const WIDE = 13;
export const LARGE = 200; // what is wider than this is a vessel: words may stand inside

/** Letters in a line and places along a vessel to try on one side. @param {string} side */
export function tried(side) {
  if (side === "inside") return [0.5, 0.36, 0.64, 0.22, 0.78, 0.9].map((along) => [WIDE, along]);
  const across = side === "below" || side === "above";
  const places = across ? [0.5, 0, 1] : [0.5, 0.15, 0.85]; // first in the middle, then towards the ends of the symbol
  const lengths = across ? [NARROW, WIDE] : [WIDE, NARROW];
  return places.flatMap((along) => lengths.map((most) => [most, along]));
}

/** Where a block stands on one side of its symbol. @param {Block} block @param {string} side
 * @param {number} most letters in a line
 * @param {number} along where inside a vessel, as a share of its width @param {number} size */
export function laid(block, side, most, along, size) {
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
