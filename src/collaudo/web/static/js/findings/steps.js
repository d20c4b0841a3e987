// What else could be done next: the repair where it is the best step, the other checks, what must stop the work,
// and what is asked because it would change the answer.

import { keep, letGo } from "../keep.js";
import { converted, numberText, spanText, typedNumber, unitFor, unitText } from "../units.js";
import { behind, button, make } from "../dom.js";
import { capital, DONE, minutesText, spoken, STOPS } from "./words.js";

/** Work has stopped. @param {import("./book.js").Book} book @param {any} view @param {any} answer */
export function stopPanel(book, view, answer) {
  const stop = STOPS[/** @type {keyof STOPS} */ (view.stop)] ?? {
    title: spoken(view.stop),
    first: "Switch it off at the wall.",
  };
  // Until the answer tells more, what must be done first stands here already.
  const told = answer.next === null && answer.cautions.length ? answer.cautions : [`Stop. ${stop.first}`];
  return make(
    "section",
    { class: "sheet halted", "aria-labelledby": "halt-title" },
    make("h2", { id: "halt-title" }, stop.title),
    ...told.map((/** @type {string} */ text) =>
      make("p", { class: text.startsWith("Stop. ") ? "stop" : "caution" }, text.replace(/^Stop\. /, "")),
    ),
    make("p", {}, "No check stands here as long as this holds."),
    make(
      "div",
      { class: "keys" },
      button("It no longer holds: go on", () => book.enter("stop", { word: "" }), {
        class: "big",
        "data-key": "go-on-after-stop",
      }),
    ),
  );
}

/** The repair as the best next step. @param {import("./book.js").Book} book @param {any} repair
 * @param {boolean} isStep */
export function repairCard(book, repair, isStep) {
  const done = (/** @type {string} */ word) =>
    button(
      capital(DONE[/** @type {keyof DONE} */ (word)]),
      () => book.enter("part", { part: repair.part, done: word }),
      { class: "big", "data-key": `repair-${word}` },
    );
  return make(
    "section",
    { class: "sheet repair", "aria-labelledby": "repair-title" },
    make(
      "p",
      { class: "kicker" },
      isStep ? "Repair this: no further check is worth its time" : "If nothing more is checked, repair this",
    ),
    make("h2", { id: "repair-title" }, repair.title),
    ...repair.cautions.map((/** @type {string} */ text) => make("p", { class: "caution" }, text)),
    repair.before && make("p", { class: "before" }, repair.before),
    make("p", {}, repair.remedy),
    make("p", { class: "soft" }, `About ${minutesText(repair.minutes)} at hand.`),
    repair.part &&
      make("h3", {}, repair.done.includes("set_anew") ? "Done? It was …" : `Done? The ${spoken(repair.part)} was …`),
    repair.part && make("div", { class: "keys" }, ...repair.done.map(done)),
  );
}

/** The alternative, and behind a tap the rest. @param {any} answer @param {string} inHand
 * @param {(check: string) => void} choose */
export function otherChecks(answer, inHand, choose) {
  const others = [answer.next, answer.alternative, ...answer.others].filter((one) => one && one.check !== inHand);
  const [first, ...rest] = others.filter((one, n) => others.findIndex((other) => other.check === one.check) === n);
  if (!first) return [];
  const key = (/** @type {any} */ card, /** @type {string} */ word) => make("li", {}, choice(card, word, choose));
  return [
    make("h2", {}, "Instead"),
    make(
      "ul",
      { class: "choices-list" },
      key(first, first.check === answer.next?.check ? "next check" : "alternative"),
    ),
    rest.length > 0 &&
      behind("other-checks", `${rest.length} more checks`, [
        make("ul", { class: "choices-list" }, ...rest.map((card) => key(card, ""))),
      ]),
  ];
}

/** @param {any} card @param {string} word @param {(check: string) => void} choose */
function choice(card, word, choose) {
  const time = minutesText(card.minutes) + (card.wait_minutes ? ` + ${minutesText(card.wait_minutes)} waiting` : "");
  const saves = card.saves_min >= 1 ? `, would save about ${minutesText(card.saves_min)}` : "";
  const key = button("", () => choose(card.check), { class: "tile", "data-key": `choose-${card.check}` });
  key.append(
    make("strong", {}, card.title),
    make("span", { class: "soft" }, [word, time].filter(Boolean).join(", ") + saves),
  );
  return key;
}

/** What is asked because it would change the answer. @param {import("./book.js").Book} book
 * @param {any[]} asks @param {ParentNode} page */
export function questions(book, asks, page) {
  return asks.map((asked) => page.querySelector(`[data-asks="${asked.key}"]`) ?? question(book, asked));
}

/** @param {import("./book.js").Book} book @param {any} asked */
function question(book, asked) {
  const [kind, name] = [asked.key.split(".")[0], asked.key.slice(asked.key.indexOf(".") + 1)];
  const id = `ask-${asked.key.replace(/[^a-z0-9]/gi, "-")}`;
  const unit = unitFor(asked.unit ?? "");
  const usual = typeof asked.default === "number" ? numberText(converted(asked.default, asked.unit), unit) : "";
  const field = /** @type {HTMLInputElement} */ (
    make("input", { id, type: "text", inputmode: "decimal", maxlength: 12, placeholder: usual, "data-key": id })
  );
  const wrong = make("p", { class: "wrong", role: "alert" });
  const send = (/** @type {number} */ value) => {
    letGo(`${book.id}:${asked.key}`);
    book.enter(kind, { values: { [name]: value } });
  };
  const store = () => {
    const typed = typedNumber(field.value);
    const value = fromChosen(typed, asked.unit ?? "");
    const fits = value >= asked.low - 1e-9 && value <= asked.high + 1e-9;
    wrong.textContent = fits ? "" : `${spanText(asked.low, asked.high, asked.unit ?? "")} would be right.`;
    if (fits) send(value);
  };
  keep(field, `${book.id}:${asked.key}`);
  return make(
    "div",
    { class: "sheet asks", "data-asks": asked.key },
    make("label", { for: id }, asked.ask),
    make("p", { class: "soft" }, asked.why),
    make(
      "div",
      { class: "asks-row" },
      field,
      make("span", {}, unitText(unit)),
      button("Store", store, { class: "first", "data-key": `${id}-store` }),
      usual && button(`As usual: ${usual}`, () => send(asked.default), { "data-key": `${id}-usual` }),
    ),
    wrong,
  );
}

/** A number typed in the chosen unit, in the bench's. @param {number} typed @param {string} unit */
export function fromChosen(typed, unit) {
  const zero = converted(0, unit);
  const one = converted(1, unit) - zero;
  return (typed - zero) / one;
}
