// What the sheet is about, how far the answer is, what waits for the line, and undo.

import { button, make, refill } from "../dom.js";
import { leftText } from "../time.js";
import { complaintsText, valueText } from "./words.js";

/** @param {import("./book.js").Book} book @param {HTMLElement} top @param {HTMLElement} foot */
export function topLine(book, top, foot) {
  const progress = make("div", { class: "readiness", role: "status" });
  const about = make("p", { class: "about" });
  const not = make("ul", { class: "problems" });
  top.replaceChildren(about, progress, not);
  const waits = make("p", { class: "waits", role: "status" });
  const undo = button("", () => book.undo(book.sheet?.undo ?? ""), { class: "undo", "data-key": "undo" });
  foot.prepend(waits, undo);
  let said = "";

  function show() {
    const { view, answer } = book;
    if (!view) return;
    const heat = view.condition?.heat ? `${view.condition.heat}, lid ${view.condition.lid}` : "";
    about.replaceChildren(
      ...(view.demo ? [make("strong", { class: "teaching" }, "Demonstration"), " "] : []),
      [complaintsText(view.complaints) || "no complaint yet", heat].filter(Boolean).join(" · "),
    );
    const ready = readiness(answer);
    if (JSON.stringify(ready) !== said) {
      said = JSON.stringify(ready);
      progress.replaceChildren(
        ...(ready
          ? [
              make("span", {}, ready.text),
              ...(ready.whole
                ? [make("progress", { max: ready.whole, value: ready.part, "aria-label": "Causes worked out" })]
                : []),
            ]
          : []),
      );
    }
    const count = book.outbox.waiting.length;
    waits.textContent = count ? `${count} waiting for the line` : "";
    const back = takesBack(book, view);
    undo.disabled = !back;
    undo.replaceChildren(make("span", {}, back ? `Take back: ${back}` : "Nothing to take back"));
    refill(not, refused(book, show));
  }
  book.addEventListener("changed", show);
}

/** What undo takes back, in words; empty where there is nothing. @param {import("./book.js").Book} book @param {any} view */
function takesBack(book, view) {
  const own = book.ownLast;
  if (!own && (book.isTakenBack || !view.undo)) return "";
  const of = own?.entry ?? view.undo_of;
  const found = view.findings.find((/** @type {any} */ one) => one.entry === of);
  if (found) return `${found.title}: ${valueText(found)}`;
  return own ? "the last entry" : view.undo;
}

/** How far the causes are worked out, and how long it will take. @param {any} answer */
function readiness(answer) {
  if (!answer || answer.ready === "whole") return null;
  const left = typeof answer.left_s === "number" ? ` in about ${leftText(answer.left_s)}` : " soon";
  if (answer.ready === "first") {
    if (!answer.building) return { text: "First answer, from few machines." };
    return {
      text: `First answer, from few machines; the whole answer${left}.`,
      part: answer.draws,
      whole: answer.of_draws,
    };
  }
  if (!answer.building) return { text: "The causes cannot be worked out now; the checks stand in their usual order." };
  return { text: `The first answer${left}. The check can be made meanwhile.`, part: undefined, whole: 1 };
}

/** Entries the server cannot take, with why. @param {import("./book.js").Book} book @param {() => void} show */
function refused(book, show) {
  const gone = book.gone
    ? [
        make(
          "li",
          {},
          make("strong", {}, "This sheet is no longer there."),
          make("span", {}, "It may have been removed; it can be brought back from the list of findings."),
        ),
      ]
    : [];
  return [
    ...gone,
    ...book.outbox.notTaken.map((one) =>
      make(
        "li",
        {},
        make("strong", {}, "Not taken. "),
        make("span", {}, one.said),
        button(
          "Seen",
          () => {
            book.outbox.seen(one.entry.entry);
            show();
          },
          { "data-key": `seen-${one.entry.entry}` },
        ),
      ),
    ),
  ];
}
