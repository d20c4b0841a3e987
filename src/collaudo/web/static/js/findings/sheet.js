// The page of one findings sheet: the check in hand, the causes, and everything else behind a tap.

import { stayAwake } from "../awake.js";
import { behind, button, make, refill } from "../dom.js";
import { makeAll } from "./begun.js";
import { Book } from "./book.js";
import { checkCard } from "./card.js";
import { allCauses, causeLines, leadingCauses } from "./causes.js";
import { aboutNow, happenedBefore, knownNumbers, later, partsDone, textField } from "./more.js";
import { otherChecks, questions, repairCard, stopPanel } from "./steps.js";
import { takenBehind } from "./taken.js";
import { startTimer, timerStrip } from "./timers.js";
import { topLine } from "./topline.js";

const at = (/** @type {string} */ name) =>
  /** @type {HTMLElement} */ (document.querySelector(`[data-place="${name}"]`));
const book = new Book(/** @type {HTMLElement} */ (document.querySelector("[data-sheet]")).dataset.sheet ?? "");
const IN_HAND = `in-hand:${book.id}`;

/** @type {ReturnType<typeof checkCard> | null} */
let card = null;
/** @type {{check: string, chosen: boolean}} */
let inHand = kept();
/** @type {Record<string, string>} what was shown last in each place */
const shown = {};
const more = [
  later(book, "now", "Complaint, condition, stop", aboutNow),
  later(book, "before", "What happened before", happenedBefore),
  later(book, "parts", "Parts cleaned, replaced, proven good", partsDone),
  later(book, "numbers", "Site, settings, what is known", knownNumbers),
];
/** @type {ReturnType<typeof textField>[]} */
let texts = [];
/** Cause whose reasons a person wants to see; else those of the first. */
let picked = "";

function kept() {
  try {
    return JSON.parse(localStorage.getItem(IN_HAND) ?? "") ?? { check: "", chosen: false };
  } catch {
    return { check: "", chosen: false };
  }
}

/** @param {string} check @param {boolean} chosen */
function take(check, chosen) {
  inHand = { check, chosen };
  localStorage.setItem(IN_HAND, JSON.stringify(inHand));
}

/** @param {string} cause */
function pick(cause) {
  picked = cause;
  show();
}

/** @param {string} check @param {string} [reading] the one to take */
async function choose(check, reading) {
  if (reading) sessionStorage.setItem(`open:${book.id}:${check}`, reading);
  if (!book.cards.has(check)) await book.needWords();
  take(check, true);
  card = null;
  show();
  document.getElementById("check-title")?.focus({ preventScroll: true });
  at("hand").scrollIntoView({ block: "start" });
}

/** From the check in hand to the causes: they stand where the reading is entered, else below. */
function toCauses() {
  card?.shut();
  at("causes").scrollIntoView({ block: "nearest" });
  /** @type {HTMLElement | null} */ (at("causes").querySelector("button"))?.focus({ preventScroll: true });
}

/** Away from the check in hand, to what the answer names. */
function goOn() {
  take("", false);
  card = null;
  show();
  (document.getElementById("check-title") ?? document.getElementById("repair-title"))?.focus({ preventScroll: true });
  at("hand").scrollIntoView({ block: "start" });
}

/** The check in hand: it stays as long as it is begun or was chosen; else it is what the answer names.
 * @param {any} view @param {any} answer */
function checkInHand(view, answer) {
  const begun = view.findings.some((/** @type {any} */ one) => one.check === inHand.check);
  const typed = Object.keys(localStorage).some(
    (key) => key.startsWith(`typed:${book.id}:${inHand.check}.`) && localStorage.getItem(key),
  );
  const watch = Object.keys(localStorage).some((key) => key.startsWith(`watch:${book.id}:${inHand.check}.`));
  if (inHand.check && (inHand.chosen || begun || typed || watch)) return inHand.check;
  return answer.repair?.now ? "" : (answer.next?.check ?? "");
}

function show() {
  const { view, answer } = book;
  if (!view || !answer) return;
  document.querySelector("[data-place=loading]")?.remove();
  showHand(view, answer);
  if (!card) document.body.classList.remove("entering");
  fill("asks", answer.asks, () => questions(book, answer.asks, at("asks")));
  fill("causes", [answer.causes, answer.findings, answer.building, picked], () => leadingCauses(answer, picked, pick));
  const leading = view.stop ? [] : answer.causes.slice(0, 3);
  fill("leader", [leading[0]?.title, leading[0]?.chance], () =>
    leading[0] ? [`Most likely: ${leading[0].title}, ${leading[0].chance}.`] : [],
  );
  fill(
    "lines",
    leading.map((/** @type {any} */ one) => [one.title, one.chance]),
    () => (leading.length ? [causeLines(leading, toCauses)] : []),
  );
  fill("others", [answer.next, answer.alternative, answer.others, card?.check, view.stop], () =>
    view.stop ? [] : otherChecks(answer, card?.check ?? "", choose),
  );
  fill("repair", [answer.repair, view.stop], () =>
    answer.repair && !answer.repair.now && !view.stop
      ? [behind("repair", "If nothing more is checked", [repairCard(book, answer.repair, false)], { class: "sheet" })]
      : [],
  );
  fill("taken", [view.findings, answer.findings], () => [takenBehind(book, view, answer, choose)]);
  fill("all", answer.causes, () =>
    answer.causes.length > 3
      ? [behind("all-causes", `All causes (${answer.causes.length})`, allCauses(answer), { class: "sheet" })]
      : [],
  );
  if (!texts.length) {
    texts = [
      textField(book, "label", "Called (the customer's number, the place on the shelf)"),
      textField(book, "note", "Note"),
    ];
    at("note").append(...texts.map((one) => one.element));
    at("more").append(...more.map((one) => one.element));
  }
  for (const one of [...texts, ...more]) one.show();
  showGoOn(answer);
}

/** The way on from a check that is begun, in reach of the thumb. @param {any} answer */
function showGoOn(answer) {
  const key = /** @type {HTMLButtonElement} */ (at("go-on"));
  const state = card?.state() ?? "fresh";
  const next = answer.repair?.now ? answer.repair : answer.next?.check === card?.check ? null : answer.next;
  key.hidden = state === "fresh";
  key.textContent = next ? `${answer.repair?.now ? "Repair" : "Go on"}: ${next.title}` : "Go on";
  key.classList.toggle("first", state === "done");
}

/** Fill a place when what it shows has changed. @param {string} place @param {unknown} what
 * @param {() => any[]} inside */
function fill(place, what, inside) {
  const now = JSON.stringify(what) ?? "";
  if (shown[place] === now) return;
  shown[place] = now;
  refill(at(place), inside());
}

/** @param {any} view @param {any} answer */
function showHand(view, answer) {
  if (view.stop) {
    card = null;
    fill("hand", ["stop", view.stop, answer.cautions], () => [stopPanel(book, view, answer)]);
    return;
  }
  const check = checkInHand(view, answer);
  const known = book.cards.get(check);
  if (check && !known) {
    book.needWords().then(show);
    return;
  }
  if (!known) {
    card = null;
    fill("hand", ["end", answer.repair, answer.next, answer.building], () => [nothingInHand(answer)]);
    return;
  }
  if (card === null || card.check !== check) {
    if (inHand.check !== check) take(check, false);
    card = checkCard({
      book,
      card: known,
      chosen: inHand.chosen,
      finished: () => at("go-on").focus({ preventScroll: true }),
    });
    shown.hand = "";
    const isFirst = at("hand").childElementCount === 0;
    at("hand").replaceChildren(card.element);
    // Steps and keypad at once: what the page is about may go out at the top.
    if (isFirst && scrollY === 0) setTimeout(() => at("hand").scrollIntoView({ block: "start" }));
  }
  card.show(answer.repair?.now ? null : answer.next);
}

/** @param {any} answer */
function nothingInHand(answer) {
  if (answer.repair?.now) return repairCard(book, answer.repair, true);
  return make("p", { class: "empty" }, "No check is left that would tell more. Take one again, or look at the causes.");
}

/** @param {Event} event */
async function remove(event) {
  const key = /** @type {HTMLButtonElement} */ (event.currentTarget);
  if (key.dataset.sure !== "yes") {
    key.dataset.sure = "yes";
    key.textContent = "Press again to remove this sheet";
    return;
  }
  const { ask } = await import("../ask.js");
  await ask("DELETE", `/api/findings/${book.id}`);
  for (const key of Object.keys(localStorage)) if (key.split(":").includes(book.id)) localStorage.removeItem(key);
  location.assign(`/findings?removed=${book.id}`);
}

function start() {
  timerStrip(at("timers"), book.id);
  topLine(book, at("top"), at("foot"));
  at("go-on").addEventListener("click", goOn);
  stayAwake(true);
  book.addEventListener("changed", show);
  document.addEventListener("units-chosen", () => {
    for (const place of Object.keys(shown)) shown[place] = "";
    show();
    book.tellAnew(); // steps, cautions, what speaks for and against
  });
  document.querySelector("[data-remove]")?.addEventListener("click", remove);
  for (const key of document.querySelectorAll("[data-minutes]")) {
    const minutes = Number(/** @type {HTMLElement} */ (key).dataset.minutes);
    key.addEventListener("click", () => startTimer(book.id, book.sheet?.title ?? "", `${minutes} min`, minutes * 60));
  }
  makeAll();
  book.open();
}

start();
