// One reading of the check in hand: its line, and below it, when it is its turn, where it is entered.

import { spanText } from "../units.js";
import { button, make } from "../dom.js";
import { numberEntry } from "./number_entry.js";
import { capital, spoken, valueText } from "./words.js";

/** @param {{book: import("./book.js").Book, card: any, row: any, open: (reading: string) => void, stored: (reading: string) => void}} options */
export function readingRow({ book, card, row, open, stored }) {
  let reading = row;
  const name = `${book.id}:${card.check}.${row.reading}`;
  const value = make("span", { class: "value" });
  const expected = make("span", { class: "expected" });
  const head = button("", () => open(row.reading), { class: "reading-head", "data-key": `head-${row.reading}`, "aria-expanded": "false" });
  head.append(make("span", { class: "reading-name" }, make("strong", {}, capital(row.title)), expected), value);
  const body = make("div", { class: "reading-body", hidden: true });
  const element = make("li", { class: "reading", "data-reading": `${card.check}.${row.reading}` }, head, body);
  const told = { check: card.check, reading: row.reading };
  const acts = {
    /** @param {number | string | null} what @param {string} unit */
    store: (what, unit) => {
      book.enter("reading", { ...told, value: what, unit });
      stored(row.reading);
    },
    notMeasured: () => {
      book.enter("not_measured", told);
      stored(row.reading);
    },
  };
  const entry = row.kind === "number" ? numberEntry({ name, row, beepAt_s: card.stopwatch_s, acts }) : outcomes(row, acts);
  body.append(...(row.why ? [make("p", { class: "soft" }, row.why)] : []), entry.element);

  /** @param {any[]} findings of this reading @param {any} now the reading as last heard */
  function show(findings, now) {
    reading = now ?? reading;
    expected.textContent = expectation(reading);
    const last = findings.at(-1);
    value.textContent = last ? valueText(last) : "";
    value.classList.toggle("waits", Boolean(last?.waiting));
    if (findings.length > 1) value.textContent += ` (${findings.length} times)`;
    if (last?.doubted) value.textContent += " (doubted)";
    element.classList.toggle("taken", Boolean(last));
    entry.show(reading, last);
  }

  return {
    reading: row.reading,
    element,
    show,
    /** @param {boolean} isOpen @param {boolean} [focus] */
    unfold: (isOpen, focus = false) => {
      body.hidden = !isOpen;
      head.setAttribute("aria-expanded", String(isOpen));
      element.classList.toggle("open", isOpen);
      if (isOpen && focus) entry.focus();
    },
  };
}

/** What a sound machine shows, in words. @param {any} reading */
function expectation(reading) {
  if (typeof reading.low === "number" && typeof reading.high === "number") return `sound machine: ${spanText(reading.low, reading.high, reading.unit)}`;
  const likely = Object.entries(reading.chances ?? {}).sort((a, b) => b[1] - a[1])[0];
  if (!likely || likely[1] < 0.5) return "";
  const text = reading.outcomes?.find((/** @type {any} */ one) => one.word === likely[0])?.text;
  return `sound machine: ${text ?? spoken(likely[0])}`;
}

/** Named outcomes as large buttons. @param {any} row @param {any} acts */
function outcomes(row, acts) {
  const keys = new Map();
  for (const one of row.outcomes) {
    keys.set(one.word, button(capital(one.text || spoken(one.word)), () => acts.store(one.word, ""), { class: "big outcome", "data-key": `outcome-${row.reading}-${one.word}`, "aria-pressed": "false" }));
  }
  const not = button("Could not tell", acts.notMeasured, { class: "big outcome plain-edge", "data-key": `outcome-${row.reading}-not` });
  const element = make("div", { class: "outcomes", role: "group", "aria-label": row.title }, ...keys.values(), not);
  return {
    element,
    show: (/** @type {any} */ _, /** @type {any} */ last) => {
      for (const [word, key] of keys) key.setAttribute("aria-pressed", String(last?.value === word));
    },
    focus: () => keys.values().next().value?.focus({ preventScroll: true }),
  };
}
