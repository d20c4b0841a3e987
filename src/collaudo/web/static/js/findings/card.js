// The check in hand as a card: what to do, with what, how long, what can hurt; beside it, or below it where
// there is no room, the reading that is being taken. That place stays where it is from one reading to the next.

import { button, make, refill } from "../dom.js";
import { readingRow } from "./reading.js";
import { startTimer } from "./timers.js";
import { listText, minutesText, spoken } from "./words.js";

/** A wet key bounces: what follows a stored reading this soon is not meant for the next one. */
const BOUNCE_ms = 300;

/** @param {{book: import("./book.js").Book, card: any, chosen: boolean, finished: () => void}} options */
export function checkCard({ book, card, chosen, finished }) {
  /** @type {Map<string, ReturnType<typeof readingRow>>} */
  const rows = new Map();
  const place = `open:${book.id}:${card.check}`;
  const taken = (/** @type {string} */ reading) =>
    (book.view?.findings ?? []).filter((/** @type {any} */ one) => one.check === card.check && one.reading === reading);
  const firstLeft = (/** @type {string} */ but) =>
    card.readings.find((/** @type {any} */ row) => row.reading !== but && !taken(row.reading).length)?.reading ?? "";
  const panel = make("div", { class: "entry-panel" });
  let isOpen = "";
  let said = "";

  /** @param {string} reading the one to take, or none */
  function open(reading) {
    isOpen = reading;
    sessionStorage.setItem(place, isOpen);
    for (const [name, row] of rows) row.unfold(name === isOpen);
    panel.hidden = !isOpen;
    document.body.classList.toggle("entering", isOpen !== "");
  }

  /** By hand: touched again it is put away, and the causes come back. @param {string} reading */
  function touch(reading) {
    open(reading === isOpen ? "" : reading);
    if (!isOpen) return;
    rows.get(isOpen)?.focus();
    intoSight(panel);
  }

  function stored() {
    open(firstLeft(isOpen));
    panel.classList.add("settling");
    setTimeout(() => panel.classList.remove("settling"), BOUNCE_ms);
    rows.get(isOpen)?.focus();
    if (isOpen) intoSight(panel);
    // With everything read the way on comes next; it shows only after this moment.
    else setTimeout(finished);
  }

  for (const row of card.readings) rows.set(row.reading, readingRow({ book, card, row, touch, stored }));
  panel.append(...[...rows.values()].map((row) => row.body));
  const about = make("div", { class: "check-about" });
  const why = make("p", { class: "why" });
  const saving = make("p", { class: "saving" });
  const element = make(
    "section",
    { class: "sheet check", "aria-labelledby": "check-title", "data-check": card.check },
    make("p", { class: "kicker" }, chosen ? "Check in hand, chosen by you" : "Check in hand"),
    make("h2", { id: "check-title", tabindex: "-1" }, card.title),
    about,
    panel,
    make(
      "div",
      { class: "check-rows" },
      make("h3", {}, card.readings.length > 1 ? "Readings" : "Reading"),
      make("ul", { class: "readings" }, ...[...rows.values()].map((row) => row.element)),
      why,
      saving,
    ),
  );
  const kept = sessionStorage.getItem(place);
  open(kept !== null && (kept === "" || rows.has(kept)) ? kept : firstLeft(""));

  /** @param {any} next the check the answer names */
  function show(next) {
    const now = book.cards.get(card.check) ?? card;
    for (const row of now.readings) rows.get(row.reading)?.show(taken(row.reading), row);
    saving.textContent =
      next?.check === card.check && now.saves_min >= 1
        ? `Would save about ${minutesText(now.saves_min)} on the way to the cause.`
        : "";
    // Its texts change with the units chosen, its minutes with the machine's condition.
    const told = JSON.stringify([now.why, now.cautions, now.steps, now.minutes, now.wait_minutes]);
    if (told === said) return;
    said = told;
    why.textContent = now.why;
    refill(about, aboutCheck(book, now));
  }

  /** How far it is: nothing read, something, everything. */
  function state() {
    const left = card.readings.filter((/** @type {any} */ row) => !taken(row.reading).length).length;
    return left === card.readings.length ? "fresh" : left ? "begun" : "done";
  }

  return { check: card.check, element, show, state, shut: () => open("") };
}

/** Scroll no further than needed. @param {HTMLElement} panel */
function intoSight(panel) {
  const { top, bottom } = panel.getBoundingClientRect();
  if (top < 0 || bottom > innerHeight)
    panel.scrollIntoView({ block: top < 0 || bottom - top > innerHeight * 0.8 ? "start" : "end" });
}

/** What the hand needs before it begins. @param {import("./book.js").Book} book @param {any} card */
function aboutCheck(book, card) {
  return [
    facts(card),
    ...card.cautions.map((/** @type {string} */ text) => make("p", { class: "caution" }, text)),
    card.steps.length > 0 &&
      make("ol", { class: "steps" }, ...card.steps.map((/** @type {string} */ text) => make("li", {}, text))),
    timerKeys(book, card),
  ];
}

/** Minutes, condition, tools. @param {any} card */
function facts(card) {
  const rows = [
    [
      "Time",
      minutesText(card.minutes) + (card.wait_minutes ? ` at hand, ${minutesText(card.wait_minutes)} waiting` : ""),
    ],
    ["Machine", condition(card)],
    ["Tools", listText(card.tools) || "none"],
  ];
  return make(
    "dl",
    { class: "facts" },
    ...rows.map(([name, text]) => make("div", {}, make("dt", {}, name), make("dd", {}, text))),
  );
}

/** @param {any} card */
function condition(card) {
  const needs = card.needs && card.needs !== "any" ? spoken(card.needs) : "cold or hot";
  const leaves =
    card.leaves && card.leaves !== card.needs && card.leaves !== "any" ? `; ${spoken(card.leaves)} afterwards` : "";
  return needs + (card.lid === "off" ? ", lid off" : card.lid === "on" ? ", lid on" : "") + leaves;
}

/** What can be timed while it heats. @param {import("./book.js").Book} book @param {any} card */
function timerKeys(book, card) {
  if (!card.timers?.length) return null;
  return make(
    "div",
    { class: "keys timer-keys", role: "group", "aria-label": "Timers of this check" },
    make("span", {}, "Start a timer:"),
    ...card.timers.map((/** @type {any} */ one) => {
      const time = one.title.split(": ").at(-1);
      return button(time, () => startTimer(book.id, book.sheet?.title ?? "", one.title, one.seconds), {
        "data-key": `timer-${one.title}`,
        "aria-label": `${time}: start a timer`,
      });
    }),
  );
}
