// Boxes of a drawing, in its own units: where they lie, and whether they meet.

/** @typedef {{x: number, y: number, width: number, height: number}} Box */

/** The straight pieces of a line as narrow boxes; the hops over others are left out.
 * @param {string} data of its path */
export function pieces(data) {
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

/** Box of a symbol in the sheet's own units. @param {SVGGraphicsElement} child @returns {Box | null} */
export function boxOf(child) {
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

/** @param {Box} box @param {{x: number, y: number}} at */
export const apart = (box, at) => Math.hypot(at.x - box.x - box.width / 2, at.y - box.y - box.height / 2);

/** @param {Box} box @param {Box} all */
export function within(box, all) {
  return (
    box.x >= all.x &&
    box.y >= all.y &&
    box.x + box.width <= all.x + all.width &&
    box.y + box.height <= all.y + all.height
  );
}

/** @param {Box} a @param {Box} b @param {number} room */
export function overlap(a, b, room) {
  return (
    a.x < b.x + b.width + room &&
    b.x < a.x + a.width + room &&
    a.y < b.y + b.height + room &&
    b.y < a.y + a.height + room
  );
}
