// What is typed is kept in the browser at every key, and stands there again after a reload or a power cut.

/** Keep a field under a name until it is let go. @param {HTMLInputElement | HTMLTextAreaElement} field
 * @param {string} name */
export function keep(field, name) {
  const there = localStorage.getItem(`typed:${name}`);
  if (there !== null && field.value === field.defaultValue) {
    field.value = there;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
  field.addEventListener("input", () => put(`typed:${name}`, field.value));
}

/** Forget what was typed under a name: it was sent, or given up. @param {string} name */
export function letGo(name) {
  localStorage.removeItem(`typed:${name}`);
}

/** Every field with the attribute `data-keep` below a node. @param {ParentNode} root */
export function keepAll(root) {
  for (const field of root.querySelectorAll("[data-keep]")) {
    const element = /** @type {HTMLInputElement} */ (field);
    keep(element, /** @type {string} */ (element.dataset.keep));
  }
}

/** @param {string} name @param {string} value */
function put(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // A full store is no reason to stop typing.
  }
}
