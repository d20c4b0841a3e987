// The check in hand as a card: what to do, with what, how long, what can hurt; then its readings.

import { button, make } from "../dom.js";
import { readingRow } from "./reading.js";
import { startTimer } from "./timers.js";
import { listText, minutesText, spoken } from "./words.js";

/** @param {{book: import("./book.js").Book, card: any, chosen: boolean, finished: () => void}} options */
export function checkCard({ book, card, chosen, finished }) {
  /** @type {Map<string, ReturnType<typeof readingRow>>} */
  const rows = new Map();
  let isOpen = "";
  const place = `open:${book.id}:${card.check}`;
  const open = (/** @type {string} */ reading, focus = true) => {
    isOpen = reading === isOpen && focus ? "" : reading;
    sessionStorage.setItem(place, isOpen);
    for (const [name, row] of rows) row.unfold(name === isOpen, focus);
  };
  const stored = () => {
    const next = card.readings.find((/** @type {any} */ row) => row.reading !== isOpen && !taken(row.reading).length);
    isOpen = "";
    open(next?.reading ?? "", false);
    const head = rows.get(next?.reading ?? "")?.element;
    head?.scrollIntoView({ block: "start" });
    // With everything read the way on comes next; it shows only after this moment.
    if (head) head.querySelector("button")?.focus({ preventScroll: true });
    else setTimeout(finished);
  };
  const taken = (/** @type {string} */ reading) =>
    (book.view?.findings ?? []).filter((/** @type {any} */ one) => one.check === card.check && one.reading === reading);
  for (const row of card.readings) rows.set(row.reading, readingRow({ book, card, row, open, stored }));
  const saving = make("p", { class: "saving" });
  const element = make(
    "section",
    { class: "sheet check", "aria-labelledby": "check-title", "data-check": card.check },
    make("p", { class: "kicker" }, chosen ? "Check in hand, chosen by you" : "Check in hand"),
    make("h2", { id: "check-title", tabindex: "-1" }, card.title),
    ...card.cautions.map((/** @type {string} */ text) => make("p", { class: "caution" }, text)),
    make("p", { class: "why" }, card.why),
    facts(card),
    saving,
    card.steps.length > 0 && make("ol", { class: "steps" }, ...card.steps.map((/** @type {string} */ text) => make("li", {}, text))),
    timerKeys(book, card),
    make("h3", {}, card.readings.length > 1 ? "Readings" : "Reading"),
    make("ul", { class: "readings" }, ...[...rows.values()].map((row) => row.element)),
  );
  const kept = sessionStorage.getItem(place);
  open(kept !== null && rows.has(kept) ? kept : (card.readings.find((/** @type {any} */ row) => !taken(row.reading).length)?.reading ?? ""), false);

  /** @param {any} next the check the answer names */
  function show(next) {
    const now = book.cards.get(card.check) ?? card;
    for (const row of now.readings) rows.get(row.reading)?.show(taken(row.reading), row);
    saving.textContent = next?.check === card.check && now.saves_min >= 1 ? `Would save about ${minutesText(now.saves_min)} on the way to the cause.` : "";
  }

  /** How far it is: nothing read, something, everything. */
  function state() {
    const left = card.readings.filter((/** @type {any} */ row) => !taken(row.reading).length).length;
    return left === card.readings.length ? "fresh" : left ? "begun" : "done";
  }

  return { check: card.check, element, show, state };
}

/** Minutes, condition, tools. @param {any} card */
function facts(card) {
  const rows = [
    ["Time", minutesText(card.minutes) + (card.wait_minutes ? ` at hand, ${minutesText(card.wait_minutes)} waiting` : "")],
    ["Machine", condition(card)],
    ["Tools", listText(card.tools) || "none"],
  ];
  return make("dl", { class: "facts" }, ...rows.flatMap(([name, text]) => [make("dt", {}, name), make("dd", {}, text)]));
}

/** @param {any} card */
function condition(card) {
  const needs = card.needs && card.needs !== "any" ? spoken(card.needs) : "cold or hot";
  const leaves = card.leaves && card.leaves !== card.needs && card.leaves !== "any" ? `; ${spoken(card.leaves)} afterwards` : "";
  return needs + (card.lid === "off" ? ", lid off" : card.lid === "on" ? ", lid on" : "") + leaves;
}

/** What can be timed while it heats. @param {import("./book.js").Book} book @param {any} card */
function timerKeys(book, card) {
  if (!card.timers?.length) return null;
  return make(
    "div",
    { class: "keys", role: "group", "aria-label": "Timers of this check" },
    ...card.timers.map((/** @type {any} */ one) =>
      button(`Start a timer: ${one.title.split(": ").at(-1)}`, () => startTimer(book.id, book.sheet?.title ?? "", one.title, one.seconds), { "data-key": `timer-${one.title}` }),
    ),
  );
}
