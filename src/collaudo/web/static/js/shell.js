// What every page has: choice of units and light, the wipe lock, menus that close.

import { keepAll } from "./keep.js";
import { choose, showAll, choice } from "./units.js";

const WIPE_s = 20;

function start() {
  for (const group of document.querySelectorAll(".choices .pick")) {
    const kind = /** @type {HTMLElement} */ (group).dataset.kind ?? "";
    group.addEventListener("change", (event) => {
      const value = /** @type {HTMLInputElement} */ (event.target).value;
      if (kind === "theme") chooseLight(value);
      else {
        choose(kind, value);
        nameUnits();
      }
    });
  }
  document.querySelector("[data-wipe]")?.addEventListener("click", wipe);
  document.addEventListener("click", closeOthers);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") leaveMenu();
  });
  keepAll(document);
  showAll(document);
}

function nameUnits() {
  const words = { degC: "°C", degF: "°F", fl_oz: "fl oz" };
  const shown = document.querySelector("[data-units]");
  if (shown)
    shown.textContent = choice()
      .map((word) => words[word] ?? word)
      .join(" · ");
}

/** @param {string} value */
function chooseLight(value) {
  document.cookie = `theme=${value}; path=/; max-age=31536000; samesite=strict`;
  if (value) document.documentElement.dataset.theme = value;
  else delete document.documentElement.dataset.theme;
  document.dispatchEvent(new CustomEvent("light-chosen"));
}

/** @param {Event} event */
function closeOthers(event) {
  closeMenus(/** @type {Element} */ (event.target).closest("header details"));
}

/** Shut the open menu; whoever was in it stands at its key again. */
function leaveMenu() {
  const menu = document.activeElement?.closest("header details[open]");
  closeMenus(null);
  menu?.querySelector("summary")?.focus();
}

/** @param {Element | null} but */
function closeMenus(but) {
  for (const menu of document.querySelectorAll("header details[open]")) {
    if (menu !== but) /** @type {HTMLDetailsElement} */ (menu).open = false;
  }
}

/** A cover that takes every touch while the screen is wiped; keys and readers find nothing behind it. */
function wipe() {
  const behind = [...document.body.children];
  const from = /** @type {HTMLElement | null} */ (document.querySelector(".choices summary"));
  const cover = document.createElement("div");
  cover.className = "wiping";
  cover.setAttribute("role", "alertdialog");
  cover.setAttribute("aria-label", "Screen locked for wiping");
  cover.tabIndex = -1;
  document.body.append(cover);
  closeMenus(null);
  for (const one of behind) one.toggleAttribute("inert", true);
  cover.focus();
  let left = WIPE_s;
  const tell = () => (cover.textContent = `Wipe the screen. It listens again in ${left} s.`);
  tell();
  const clock = setInterval(() => {
    left -= 1;
    tell();
    if (left <= 0) {
      clearInterval(clock);
      cover.remove();
      for (const one of behind) one.removeAttribute("inert");
      from?.focus();
    }
  }, 1000);
}

start();
