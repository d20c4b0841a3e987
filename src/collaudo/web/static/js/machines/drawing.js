// A drawing on a page of its own: larger, smaller, in another state, printed.

const picture = /** @type {HTMLImageElement} */ (document.getElementById("drawing"));
const state = /** @type {HTMLSelectElement} */ (document.getElementById("state"));
const said = /** @type {HTMLElement} */ (document.querySelector(".drawing-state"));
const view = /** @type {HTMLElement} */ (document.querySelector(".drawing-view"));
const STEP = 1.4;
let wide = 1;

/** @param {number} times */
function zoom(times) {
  wide = Math.min(8, Math.max(0.2, times));
  picture.style.width = `${Math.round(100 * wide)}%`;
}

/** So that all of it is in view. */
function whole() {
  const most = 0.8 * window.innerHeight;
  return Math.min(1, (most * picture.naturalWidth) / Math.max(1, picture.naturalHeight) / view.clientWidth);
}

for (const button of document.querySelectorAll("[data-zoom]")) {
  const way = /** @type {HTMLElement} */ (button).dataset.zoom;
  button.addEventListener("click", () => zoom(way === "larger" ? wide * STEP : way === "smaller" ? wide / STEP : whole()));
}
document.querySelector("[data-print]")?.addEventListener("click", () => print());

state.addEventListener("change", () => {
  said.hidden = false;
  const asked = state.value ? `?state=${encodeURIComponent(state.value)}` : "";
  picture.src = `${picture.dataset.at}${asked}`;
  history.replaceState(null, "", `${location.pathname}${asked}`);
  for (const link of document.querySelectorAll('nav a[href*="/drawing/"]')) {
    const address = /** @type {HTMLAnchorElement} */ (link);
    address.href = address.pathname + asked;
  }
});
picture.addEventListener("load", shown);
picture.addEventListener("error", () => {
  said.hidden = false;
  said.textContent = "This drawing could not be made. Choose another state, or at rest.";
});
/** It is there: what was said of waiting goes, and paper is turned to suit it. */
function shown() {
  said.hidden = true;
  picture.classList.toggle("lying", picture.naturalWidth > picture.naturalHeight);
}

if (picture.complete) shown();
else said.hidden = !state.value;
