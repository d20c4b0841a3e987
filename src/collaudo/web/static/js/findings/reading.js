// One reading of the check in hand: its line in the list, and where it is entered when it is its turn.

import { spanText } from "../units.js";
import { button, make } from "../dom.js";
import { numberEntry } from "./number_entry.js";
import { capital, spoken, valueText } from "./words.js";

/** @param {{book: import("./book.js").Book, card: any, row: any, touch: (reading: string) => void,
 *   stored: () => void}} options */
export function readingRow({ book, card, row, touch, stored }) {
  let reading = row;
  const name = `${book.id}:${card.check}.${row.reading}`;
  const whole = `${card.check}.${row.reading}`;
  const values = [0, 1].map(() => make("span", { class: "value" }));
  const expected = [0, 1].map(() => make("span", { class: "expected" }));
  const head = button("", () => touch(row.reading), {
    class: "reading-head",
    "data-key": `head-${row.reading}`,
    "aria-expanded": "false",
  });
  head.append(make("span", { class: "reading-name" }, make("strong", {}, capital(row.title)), expected[0]), values[0]);
  const element = make("li", { class: "reading", "data-reading": whole }, head);
  const told = { check: card.check, reading: row.reading };
  const acts = {
    /** @param {number | string | null} what @param {string} unit */
    store: (what, unit) => {
      book.enter("reading", { ...told, value: what, unit });
      stored();
    },
    notMeasured: () => {
      book.enter("not_measured", told);
      stored();
    },
  };
  const entry =
    row.kind === "number" ? numberEntry({ name, row, beepAt_s: card.stopwatch_s, acts }) : outcomes(row, acts);
  const title = make("h3", { tabindex: "-1" }, capital(row.title));
  const body = make(
    "div",
    { class: "reading-body", "data-enter": whole, hidden: true },
    make(
      "div",
      { class: "entry-head" },
      make("div", { class: "entry-name" }, title, expected[1], values[1]),
      row.why && make("p", { class: "entry-why" }, row.why),
      entry.aside,
    ),
    entry.element,
  );

  /** @param {any[]} findings of this reading @param {any} now the reading as last heard */
  function show(findings, now) {
    reading = now ?? reading;
    const last = findings.at(-1);
    const text = last
      ? valueText(last) +
        (findings.length > 1 ? ` (${findings.length} times)` : "") +
        (last.doubted ? " (doubted)" : "")
      : "";
    for (const one of expected) one.textContent = expectation(reading);
    for (const one of values) {
      one.textContent = text;
      one.classList.toggle("waits", Boolean(last?.waiting));
    }
    element.classList.toggle("taken", Boolean(last));
    entry.show(reading, last);
  }

  return {
    reading: row.reading,
    element,
    body,
    show,
    /** @param {boolean} isOpen */
    unfold: (isOpen) => {
      body.hidden = !isOpen;
      head.setAttribute("aria-expanded", String(isOpen));
      element.classList.toggle("open", isOpen);
    },
    focus: () => (entry.field ?? title).focus({ preventScroll: true }),
  };
}

/** What a sound machine shows, in words. @param {any} reading */
function expectation(reading) {
  if (typeof reading.low === "number" && typeof reading.high === "number")
    return `sound machine: ${spanText(reading.low, reading.high, reading.unit)}`;
  const likely = Object.entries(reading.chances ?? {}).sort((a, b) => b[1] - a[1])[0];
  if (!likely || likely[1] < 0.5) return "";
  const text = reading.outcomes?.find((/** @type {any} */ one) => one.word === likely[0])?.text;
  return `sound machine: ${text ?? spoken(likely[0])}`;
}

/** Named outcomes as large buttons. @param {any} row @param {any} acts
 * @returns {{element: HTMLElement, aside: HTMLElement | null, field: HTMLElement | null, show: (row: any, last: any) => void}} */
function outcomes(row, acts) {
  const keys = new Map();
  for (const one of row.outcomes) {
    keys.set(
      one.word,
      button(capital(one.text || spoken(one.word)), () => acts.store(one.word, ""), {
        class: "big outcome",
        "data-key": `outcome-${row.reading}-${one.word}`,
        "aria-pressed": "false",
      }),
    );
  }
  const not = button("Could not tell", acts.notMeasured, {
    class: "big outcome plain-edge",
    "data-key": `outcome-${row.reading}-not`,
  });
  const element = make("div", { class: "outcomes", role: "group", "aria-label": row.title }, ...keys.values(), not);
  return {
    element,
    aside: null,
    field: null,
    show: (_, last) => {
      for (const [word, key] of keys) key.setAttribute("aria-pressed", String(last?.value === word));
    },
  };
}
