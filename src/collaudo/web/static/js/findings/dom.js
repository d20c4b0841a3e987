// Building pages: elements from text only, and filling a place anew without taking the focus or shutting
// what was opened.

/** @typedef {Node | string | null | undefined | false} Child */

/** An element. `on` holds what it listens to; the other options are attributes, `true` for one without a value.
 * @param {string} tag @param {Record<string, any>} [options] @param {...Child} children @returns {HTMLElement} */
export function make(tag, options = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(options)) {
    if (name === "on") for (const [event, act] of Object.entries(value)) element.addEventListener(event, act);
    else if (name === "text") element.textContent = value;
    else if (value !== undefined && value !== null && value !== false) {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  for (const child of children) if (child) element.append(child);
  return element;
}

/** A button that does one thing. @param {string} text @param {() => void} act @param {Record<string, any>} [options] */
export function button(text, act, options = {}) {
  return /** @type {HTMLButtonElement} */ (make("button", { type: "button", ...options, on: { click: act } }, text));
}

/** What is behind a tap; stays open when its place is filled anew if it has the same `key`.
 * @param {string} key @param {Child | Child[]} summary @param {Child[]} inside @param {Record<string, any>} [options] */
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
  return /** @type {HTMLElement[]} */ ([...place.querySelectorAll("[data-key]")]).find((one) => one.dataset.key === key);
}

const SVG = "http://www.w3.org/2000/svg";

/** An element of a drawing. @param {string} tag @param {Record<string, string | number>} [options] @param {...(Node | string)} children */
export function draw(tag, options = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(options)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}
