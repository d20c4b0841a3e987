// Making elements: attributes and children, text as text.

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {Record<string, string | number | boolean>} Attributes */

/** An element of the page. @param {string} tag @param {Attributes} [attributes] @param {(Node | string)[]} [inside]
 * @returns {HTMLElement} */
export function el(tag, attributes = {}, inside = []) {
  return /** @type {HTMLElement} */ (filled(document.createElement(tag), attributes, inside));
}

/** An element of a drawing. @param {string} tag @param {Attributes} [attributes] @param {(Node | string)[]} [inside]
 * @returns {SVGElement} */
export function svg(tag, attributes = {}, inside = []) {
  return /** @type {SVGElement} */ (filled(document.createElementNS(SVG, tag), attributes, inside));
}

/** A key that does something. @param {string} text @param {() => void} does @param {Attributes} [attributes] */
export function key(text, does, attributes = {}) {
  const made = /** @type {HTMLButtonElement} */ (el("button", { type: "button", ...attributes }, [text]));
  made.addEventListener("click", does);
  return made;
}

/** The place of the page that has a data attribute. @param {string} name @returns {HTMLElement} */
export function place(name) {
  return /** @type {HTMLElement} */ (document.querySelector(`[data-${name}]`));
}

/** Write a text only where it differs, so that nothing is laid out again for nothing. @param {Element} at @param {string} text */
export function write(at, text) {
  if (at.textContent !== text) at.textContent = text;
}

/** @param {Element} made @param {Attributes} attributes @param {(Node | string)[]} inside */
function filled(made, attributes, inside) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(name, "");
    else if (value !== false) made.setAttribute(name, String(value));
  }
  made.append(...inside);
  return made;
}
