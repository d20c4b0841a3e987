// All findings of the sheet: each can be doubted, struck out, or taken again.

import { behind, button, make } from "../dom.js";
import { whenText } from "../time.js";
import { capital, valueText } from "./words.js";

/** @param {import("./book.js").Book} book @param {any} view @param {any} answer
 * @param {(check: string, reading: string) => void} choose */
function takenFindings(book, view, answer, choose) {
  if (!view.findings.length)
    return [make("p", { class: "soft" }, "Nothing found yet. What is stored on a check stands here.")];
  const unexplained = new Set(
    answer.findings
      .filter((/** @type {any} */ one) => one.unexplained)
      .map((/** @type {any} */ one) => `${one.check}.${one.reading}`),
  );
  return [
    make(
      "ul",
      { class: "taken-list" },
      ...view.findings.map((/** @type {any} */ one) =>
        row(book, one, unexplained.has(`${one.check}.${one.reading}`), choose),
      ),
    ),
  ];
}

/** @param {import("./book.js").Book} book @param {any} one @param {boolean} unexplained
 * @param {(check: string, reading: string) => void} choose */
function row(book, one, unexplained, choose) {
  const name = `${one.title}, ${valueText(one)}`;
  const marks = [
    one.doubted && "doubted: counts for less",
    unexplained && "no leading cause explains it: repeat it",
    one.waiting && "waiting for the line",
  ].filter(Boolean);
  const doubt = button(
    one.doubted ? "Trust it again" : "Doubt it",
    () => book.enter("doubt", { of: one.entry, doubted: !one.doubted }),
    {
      "data-key": `doubt-${one.entry}`,
      "aria-label": `${one.doubted ? "Trust again" : "Doubt"}: ${name}`,
    },
  );
  return make(
    "li",
    { "data-entry": one.entry },
    make(
      "div",
      { class: "taken-what" },
      make(
        "span",
        { class: "taken-name" },
        make("span", {}, capital(one.title)),
        make("span", { class: "soft" }, [one.check_title, whenText(one.at ?? "")].filter(Boolean).join(", ")),
      ),
      make("strong", {}, valueText(one)),
      marks.length > 0 && make("em", {}, marks.join("; ")),
    ),
    make(
      "div",
      { class: "keys" },
      one.measured !== false && doubt,
      button("Take it again", () => choose(one.check, one.reading), {
        "data-key": `again-${one.entry}`,
        "aria-label": `Take again: ${one.title}`,
      }),
      button("Strike it out", () => book.enter("strike", { of: one.entry }), {
        "data-key": `strike-${one.entry}`,
        "aria-label": `Strike out: ${name}`,
      }),
    ),
  );
}

/** @param {import("./book.js").Book} book @param {any} view @param {any} answer
 * @param {(check: string, reading: string) => void} choose */
export function takenBehind(book, view, answer, choose) {
  return behind("taken", `All findings (${view.findings.length})`, takenFindings(book, view, answer, choose), {
    class: "sheet",
  });
}
