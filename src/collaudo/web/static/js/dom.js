// Building pages: elements from text only, and filling a place anew without taking the focus or shutting
// what was opened.

/** @typedef {Node | string | null | undefined | false} Child */
/** @typedef {Record<string, any>} Options attributes; `on` holds what is listened to */

const SVG = "http://www.w3.org/2000/svg";

/** An element of the page. `on` holds what it listens to; the other options are attributes, `true` for one
 * without a value. @param {string} tag @param {Options} [options] @param {...(Child | Child[])} children
 * @returns {HTMLElement} */
export function make(tag, options = {}, ...children) {
  return /** @type {HTMLElement} */ (filled(document.createElement(tag), options, children));
}

/** An element of a drawing. @param {string} tag @param {Options} [options] @param {...(Child | Child[])} children
 * @returns {SVGElement} */
export function draw(tag, options = {}, ...children) {
  return /** @type {SVGElement} */ (filled(document.createElementNS(SVG, tag), options, children));
}

/** @param {Element} element @param {Options} options @param {(Child | Child[])[]} children */
function filled(element, options, children) {
  for (const [name, value] of Object.entries(options)) {
    if (name === "on") for (const [event, act] of Object.entries(value)) element.addEventListener(event, act);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== undefined && value !== null && value !== false) element.setAttribute(name, String(value));
  }
  for (const child of children.flat()) if (child) element.append(child);
  return element;
}

/** A button that does one thing. @param {string} text @param {() => void} act @param {Options} [options] */
export function button(text, act, options = {}) {
  return /** @type {HTMLButtonElement} */ (make("button", { type: "button", ...options, on: { click: act } }, text));
}

/** What is behind a tap; stays open when its place is filled anew if it has the same `key`.
 * @param {string} key @param {Child | Child[]} summary @param {Child[]} inside
 * @param {Record<string, any>} [options] */
export function behind(key, summary, inside, options = {}) {
  const head = make("summary", { "data-key": `${key}:summary` }, ...[summary].flat());
  const element = make("details", { "data-key": key, ...options }, head, ...inside);
  head.addEventListener("click", () => (element.dataset.touched = "yes"));
  return element;
}

/** Fill a place anew. Focus stays on what has the same `data-key`, opened things stay open.
 * @param {HTMLElement} place @param {Child[]} children */
export function refill(place, children) {
  const active = document.activeElement;
  const focused = place.contains(active) ? /** @type {HTMLElement} */ (active).dataset?.key : undefined;
  const open = new Map();
  for (const one of place.querySelectorAll("details[data-key][data-touched]")) {
    open.set(/** @type {HTMLElement} */ (one).dataset.key, /** @type {HTMLDetailsElement} */ (one).open);
  }
  place.replaceChildren(.../** @type {(Node | string)[]} */ (children.filter(Boolean)));
  for (const one of place.querySelectorAll("details[data-key]")) {
    const was = open.get(/** @type {HTMLElement} */ (one).dataset.key);
    if (was === undefined) continue;
    /** @type {HTMLDetailsElement} */ (one).open = was;
    /** @type {HTMLElement} */ (one).dataset.touched = "yes";
  }
  if (focused) find(place, focused)?.focus({ preventScroll: true });
}

/** @param {HTMLElement} place @param {string} key @returns {HTMLElement | undefined} */
function find(place, key) {
  return /** @type {HTMLElement[]} */ ([...place.querySelectorAll("[data-key]")]).find(
    (one) => one.dataset.key === key,
  );
}

/** The place of the page with a data attribute. @param {string} name @param {ParentNode} [root]
 * @returns {HTMLElement} */
export function place(name, root = document) {
  return /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));
}

/** The element of the page with an id. @param {string} id @returns {HTMLElement} */
export function byId(id) {
  return /** @type {HTMLElement} */ (document.getElementById(id));
}

/** Write a text only where it differs, so that nothing is laid out or read out again for nothing.
 * @param {Element} at @param {string} text */
export function write(at, text) {
  if (at.textContent !== text) at.textContent = text;
}
