// A drawing on a page of its own: larger, smaller, in another state, printed.

import { ask, Refused } from "../ask.js";
import { waitingIn } from "../waiting.js";

const picture = /** @type {HTMLImageElement} */ (document.getElementById("drawing"));
const state = /** @type {HTMLSelectElement} */ (document.getElementById("state"));
const said = /** @type {HTMLElement} */ (document.querySelector(".drawing-state"));
const view = /** @type {HTMLElement} */ (document.querySelector(".drawing-view"));
const STEP = 1.4;
const AGAIN_ms = 2000;
/** What a state takes that the twin has not run before; until QUIET_ms nothing is said. */
const USUAL_s = 3;
const QUIET_ms = 400;
const FAILED = "This drawing could not be made. Choose another state, or at rest.";
const wait = waitingIn(said, { says: "The twin runs this state", usual_s: USUAL_s, quiet_ms: QUIET_ms });
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
  button.addEventListener("click", () =>
    zoom(way === "larger" ? wide * STEP : way === "smaller" ? wide / STEP : whole()),
  );
}
document.querySelector("[data-print]")?.addEventListener("click", () => print());

/** Have the twin brought into a state, which it is then kept in. @param {string} to
 * @returns {Promise<boolean>} whether it is still wanted */
async function broughtInto(to) {
  const { machine, of } = picture.dataset;
  while (to && to === state.value) {
    const told = await ask("GET", `/api/path/${machine}/${encodeURIComponent(to)}/${of}`);
    if (told.walks) break;
    wait.twinFirst(told.left_s ?? 60);
    await new Promise((go) => setTimeout(go, AGAIN_ms));
  }
  return to === state.value;
}

/** Show the state chosen. */
async function show() {
  const to = state.value;
  wait.end();
  wait.begin();
  try {
    if (await broughtInto(to)) picture.src = `${picture.dataset.at}${to ? `?state=${encodeURIComponent(to)}` : ""}`;
  } catch (fault) {
    wait.end(fault instanceof Refused ? fault.message : "No line to the bench computer. Choose the state again.");
  }
}

state.addEventListener("change", () => {
  const asked = state.value ? `?state=${encodeURIComponent(state.value)}` : "";
  show();
  history.replaceState(null, "", `${location.pathname}${asked}`);
  for (const link of document.querySelectorAll('nav a[href*="/drawing/"]')) {
    const address = /** @type {HTMLAnchorElement} */ (link);
    address.href = address.pathname + asked;
  }
});
picture.addEventListener("load", shown);
picture.addEventListener("error", () => {
  wait.end(FAILED);
});
/** It is there: what was said of waiting goes, and paper is turned to suit it. */
function shown() {
  wait.end();
  picture.classList.toggle("lying", picture.naturalWidth > picture.naturalHeight);
}

if (picture.complete) shown();
if (state.value) show();
