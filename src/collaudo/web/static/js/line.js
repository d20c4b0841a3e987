// Whether the server can be reached, said at the top of the page.

let up = true;

/** Say whether the server was heard. @param {boolean} heard */
export function lineIs(heard) {
  if (heard === up) return;
  up = heard;
  const place = /** @type {HTMLElement} */ (document.querySelector(".line-state"));
  place.hidden = heard;
  place.textContent = heard
    ? ""
    : "No line to the bench computer. Go on: what you enter is kept here and sent when the line is back.";
  document.dispatchEvent(new CustomEvent(heard ? "line-back" : "line-lost"));
}
