// The three leading causes: chance as words and a bar, what speaks for and against, and what each makes of
// what was found.

import { behind, button, draw, make } from "../dom.js";
import { spreadDrawing } from "./scale.js";
import { capital, spoken, valueText } from "./words.js";

const SHOWN = 3;
const DRAWN = 3;

/** The three, and the reasons of the one that is picked, else of the first.
 * @param {any} answer @param {string} picked @param {(cause: string) => void} pick */
export function leadingCauses(answer, picked, pick) {
  if (!answer.causes.length) return [noneYet(answer)];
  const leading = answer.causes.slice(0, SHOWN);
  const shown = leading.find((/** @type {any} */ cause) => cause.cause === picked) ?? leading[0];
  return [
    make(
      "ol",
      { class: "leading" },
      ...leading.map((/** @type {any} */ cause) => make("li", {}, headOf(cause, cause === shown, pick))),
    ),
    reasons(shown, answer),
  ];
}

/** @param {any} answer */
function noneYet(answer) {
  const text = answer.building
    ? "The causes are being worked out for this machine. Begin with the check: what is found counts as soon as they are there."
    : "No causes yet. Begin with the check.";
  return make("p", { class: "empty" }, text);
}

/** @param {any} cause @param {boolean} isShown @param {(cause: string) => void} pick */
function headOf(cause, isShown, pick) {
  const part = cause.part ? spoken(cause.part) : "";
  const key = button("", () => pick(cause.cause), {
    class: "cause",
    "aria-pressed": String(isShown),
    "data-key": `cause-${cause.cause}`,
  });
  key.append(
    make(
      "span",
      { class: "cause-name" },
      make("strong", {}, cause.title),
      part && make("span", { class: "soft" }, part),
    ),
    make("span", { class: "chance" }, cause.chance),
    bar(cause.share),
  );
  return key;
}

/** @param {any} cause @param {any} answer */
function reasons(cause, answer) {
  return make(
    "div",
    { class: "sheet reasons" },
    make("h3", {}, cause.title),
    make("p", {}, cause.why),
    said("Speaks for it", cause.for, "for"),
    said("Speaks against it", cause.against, "against"),
    ...spreads(cause, answer),
    behind("remedy", "Remedy", [
      make("p", {}, cause.remedy),
      ...cause.cautions.map((/** @type {string} */ text) => make("p", { class: "caution" }, text)),
    ]),
  );
}

/** The three as lines, while a reading is entered where they stand else. @param {any[]} leading
 * @param {() => void} act */
export function causeLines(leading, act) {
  const key = button("", act, { class: "cause-lines", "data-key": "cause-lines", "aria-label": "To the causes" });
  key.append(...leading.map((one) => make("span", {}, make("b", {}, one.chance), make("span", {}, one.title))));
  return key;
}

/** A chance as length: one hue. @param {number} share */
function bar(share) {
  const wide = Math.max(0.8, share * 100);
  const drawing = draw("svg", {
    viewBox: "0 0 100 6",
    preserveAspectRatio: "none",
    class: "chance-bar",
    "aria-hidden": "true",
  });
  drawing.append(
    draw("rect", { x: 0, y: 0, width: 100, height: 6, class: "whole" }),
    draw("rect", { x: 0, y: 0, width: wide, height: 6, class: "part" }),
  );
  return /** @type {any} */ (drawing);
}

/** @param {string} title @param {string[]} texts @param {string} kind */
function said(title, texts, kind) {
  if (!texts.length) return null;
  return make(
    "div",
    { class: `speaks ${kind}` },
    make("h4", {}, title),
    make("ul", {}, ...texts.map((text) => make("li", {}, text))),
  );
}

/** What the cause makes of the numbers that were found. @param {any} cause @param {any} answer */
function spreads(cause, answer) {
  const rows = [];
  for (const finding of answer.findings) {
    const own = finding.predicted.find((/** @type {any} */ one) => one.cause === cause.cause);
    if (!own || typeof finding.value !== "number" || typeof own.low !== "number") continue;
    const speaks = own.speaks === "for" || own.speaks === "against";
    rows.push({ finding, own, weight: speaks ? 1 : 0 });
  }
  rows.sort((a, b) => b.weight - a.weight);
  if (!rows.length) return [];
  return [
    make("h4", {}, "Found, and what this cause would show"),
    ...rows
      .slice(0, DRAWN)
      .map(({ finding, own }) =>
        make(
          "figure",
          { class: "spread-place" },
          make(
            "figcaption",
            {},
            `${capital(finding.title)}: `,
            make("strong", {}, valueText(finding)),
            finding.doubted && " (doubted)",
          ),
          spreadDrawing(finding.value, finding.unit, finding.expected, own),
        ),
      ),
  ];
}

/** All of them: a table of those with a chance worth a line, and the rest by name. @param {any} answer */
export function allCauses(answer) {
  const last = answer.causes.at(-1).chance;
  const isRest = (/** @type {any} */ cause) => cause.chance === last;
  const rows = answer.causes
    .filter((/** @type {any} */ cause) => !isRest(cause))
    .map((/** @type {any} */ cause) =>
      make("tr", {}, make("th", { scope: "row" }, cause.title), make("td", { class: "number" }, cause.chance)),
    );
  const rest = answer.causes.filter(isRest).map((/** @type {any} */ cause) => cause.title);
  const heads = ["Cause", "Chance"].map((text, n) => make("th", { scope: "col", class: n ? "number" : "" }, text));
  return [
    rows.length > 0 && make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows)),
    make("h3", {}, `Each ${last}`),
    make("p", {}, `${rest.join("; ")}.`),
  ];
}
