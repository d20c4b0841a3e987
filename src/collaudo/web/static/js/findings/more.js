// What is seldom needed, each behind a tap: what is complained of, condition now, what happened before, site
// and settings, parts, note.

import { keep, letGo } from "../keep.js";
import { converted, numberText, spanText, typedNumber, unitFor, unitText } from "../units.js";
import { behind, button, make, refill } from "../dom.js";
import { fromChosen } from "./steps.js";
import { capital, DONE, HEAT, spoken } from "./words.js";

const MOST_COMPLAINTS = 3;
const NOTE_RESTS_ms = 900;

/** A group of toggles. @param {string} key @param {{word: string, text: string}[]} words
 * @param {string[]} chosen @param {(words: string[]) => void} choose @param {number} [most] */
function toggles(key, words, chosen, choose, most = 99) {
  return make(
    "div",
    { class: "keys toggles", role: "group", "aria-label": key },
    ...words.map(({ word, text }) => {
      const isOn = chosen.includes(word);
      const next = isOn ? chosen.filter((one) => one !== word) : [...chosen, word].slice(-most);
      return button(text, () => choose(next), { "aria-pressed": String(isOn), "data-key": `${key}-${word}` });
    }),
  );
}

/** What the sheet is about, and its condition now. @param {import("./book.js").Book} book @param {any} view
 * @param {any} words */
export function aboutNow(book, view, words) {
  const { heat, lid } = view.condition;
  const set = (/** @type {any} */ change) => book.enter("condition", { heat, lid, ...change });
  return [
    make("h3", {}, "It is now"),
    toggles(
      "heat",
      Object.keys(HEAT).map((word) => ({ word, text: word })),
      [heat],
      (now) => set({ heat: now.at(-1) ?? heat }),
      1,
    ),
    make("h3", {}, "Its lid is"),
    toggles(
      "lid",
      ["on", "off"].map((word) => ({ word, text: word })),
      [lid],
      (now) => set({ lid: now.at(-1) ?? lid }),
      1,
    ),
    make("h3", {}, "Complained of (up to three)"),
    toggles(
      "complaint",
      words.complaints,
      view.complaints,
      (now) => book.enter("complaint", { words: now }),
      MOST_COMPLAINTS,
    ),
    make("h3", {}, "The work must stop"),
    make(
      "div",
      { class: "keys" },
      ...[
        ["wet", "Wet near mains"],
        ["burning", "Smell of burning"],
        ["over-pressure", "Pressure too high"],
      ].map(([word, text]) => button(text, () => book.enter("stop", { word }), { "data-key": `stop-${word}` })),
    ),
  ];
}

/** @param {import("./book.js").Book} book @param {any} view @param {any} words */
export function happenedBefore(book, view, words) {
  return [toggles("happened before", words.history, view.history, (now) => book.enter("history", { words: now }))];
}

/** Parts that were worked on. @param {import("./book.js").Book} book @param {any} view @param {any} words */
export function partsDone(book, view, words) {
  const doneTo = (/** @type {string} */ part) => Object.keys(DONE).find((list) => view[list].includes(part)) ?? "";
  return [
    make(
      "ul",
      { class: "parts-list" },
      ...words.parts.map((/** @type {any} */ { part, title }) => {
        const done = doneTo(part);
        const keys = Object.entries(DONE).map(([word, text]) =>
          button(text, () => book.enter("part", { part, done: done === word ? "" : word }), {
            "aria-pressed": String(done === word),
            "aria-label": `${title} ${text}`,
            "data-key": `part-${part}-${word}`,
          }),
        );
        return make(
          "li",
          {},
          make("span", {}, capital(title || spoken(part))),
          make("div", { class: "keys" }, ...keys),
        );
      }),
    ),
  ];
}

const GROUPS = { site: "Where it stands", settings: "How it is set", known: "What is known of it" };

/** Numbers of site, settings and machine: each has a usual value, none must be given.
 * @param {import("./book.js").Book} book @param {any} view @param {any} words */
export function knownNumbers(book, view, words) {
  return Object.entries(GROUPS).flatMap(([group, title]) =>
    words[group].length
      ? [make("h3", {}, title), ...words[group].map((/** @type {any} */ one) => numberRow(book, view, group, one))]
      : [],
  );
}

/** @param {import("./book.js").Book} book @param {any} view @param {string} group @param {any} one */
function numberRow(book, view, group, one) {
  const unit = unitFor(one.unit ?? "");
  const shown = (/** @type {number} */ value) => numberText(one.unit ? converted(value, one.unit) : value, unit);
  const said = view[group][one.key];
  const id = `known-${group}-${one.key}`.replace(/[^a-z0-9_-]/gi, "-");
  const draft = `${book.id}:${group}.${one.key}`;
  const usual = typeof one.default === "number" ? shown(one.default) : "";
  const field = /** @type {HTMLInputElement} */ (
    make("input", {
      id,
      type: "text",
      inputmode: "decimal",
      maxlength: 12,
      placeholder: usual,
      "data-key": id,
      "aria-describedby": `${id}-wrong`,
    })
  );
  const wrong = make("p", { id: `${id}-wrong`, class: "wrong", role: "alert" });
  field.defaultValue = typeof said === "number" ? shown(said) : "";
  keep(field, draft);
  field.addEventListener("change", () => {
    const typed = typedNumber(field.value);
    const empty = field.value.trim() === "";
    const value = empty ? null : fromChosen(typed, one.unit ?? "");
    const fits = empty || (value !== null && value >= one.low - 1e-9 && value <= one.high + 1e-9);
    wrong.textContent = fits ? "" : `${spanText(one.low, one.high, one.unit ?? "")} would be right.`;
    field.setAttribute("aria-invalid", String(!fits));
    if (!fits) return;
    letGo(draft);
    if (value !== (said ?? null)) book.enter(group, { values: { [one.key]: value } });
  });
  return make(
    "div",
    { class: "number-row" },
    make("label", { for: id }, capital(one.title ?? spoken(one.key))),
    field,
    make("span", { class: "unit" }, unitText(unit)),
    wrong,
  );
}

/** A text of one's own, note or label: kept at every key, sent when the typing rests.
 * @param {import("./book.js").Book} book @param {"note" | "label"} kind @param {string} title */
export function textField(book, kind, title) {
  const draft = `${book.id}:${kind}`;
  const said = make("p", { class: "soft", role: "status" });
  const shape =
    kind === "note"
      ? make("textarea", { rows: 5, maxlength: 3500 })
      : make("input", { type: "text", maxlength: 80, autocomplete: "off" });
  const field = /** @type {HTMLInputElement} */ (shape);
  field.id = field.dataset.key = kind;
  let clock = 0;
  const send = () => {
    clearTimeout(clock);
    if (field.value === (book.view?.[kind] ?? "")) return letGo(draft);
    book.enter(kind, { text: field.value });
    letGo(draft);
    said.textContent = "Kept.";
  };
  field.defaultValue = book.view?.[kind] ?? "";
  keep(field, draft);
  field.addEventListener("input", () => {
    said.textContent = "";
    clearTimeout(clock);
    clock = setTimeout(send, NOTE_RESTS_ms);
  });
  field.addEventListener("change", send);
  if (field.value !== field.defaultValue) clock = setTimeout(send, NOTE_RESTS_ms);
  const element = make("div", { class: "note" }, make("label", { for: kind }, title), field, said);
  return {
    element,
    /** Somebody else's text shows where nothing is being typed here. */
    show: () => {
      const there = book.view?.[kind] ?? "";
      if (document.activeElement !== field && localStorage.getItem(`typed:${draft}`) === null && field.value !== there)
        field.value = field.defaultValue = there;
    },
  };
}

/** A thing behind a tap that needs the words of the machine; filled when it is opened, and then kept up to date.
 * @param {import("./book.js").Book} book @param {string} key @param {string} title
 * @param {(book: any, view: any, words: any) => any[]} inside */
export function later(book, key, title, inside) {
  const place = make("div", {}, make("p", { class: "soft" }, "Looking it up …"));
  const element = /** @type {HTMLDetailsElement} */ (behind(key, title, [place], { class: "sheet" }));
  let shown = "";
  const show = async () => {
    if (!element.open || !book.sheet) return;
    const words = await book.needWords();
    const { complaints, condition, history, site, settings, known, cleaned, replaced, set_anew, proven_good } =
      /** @type {any} */ (book.view);
    const now = JSON.stringify([
      complaints,
      condition,
      history,
      site,
      settings,
      known,
      cleaned,
      replaced,
      set_anew,
      proven_good,
    ]);
    if (now === shown) return;
    shown = now;
    refill(place, inside(book, book.view, words));
  };
  element.addEventListener("toggle", show);
  document.addEventListener("units-chosen", () => ((shown = ""), show()));
  return { element, show };
}
