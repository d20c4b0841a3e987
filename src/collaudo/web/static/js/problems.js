// What the server found wrong, each with what would be right.

import { make } from "./dom.js";

/** @typedef {{message: string, remedy: string}} Problem */

/** One of a list. @param {Problem} problem @param {string} [where] said before it
 * @param {...import("./dom.js").Child} more what can be done about it */
export function problemItem({ message, remedy }, where = "", ...more) {
  return make("li", {}, make("strong", {}, where + message), remedy && make("span", {}, remedy), more);
}
