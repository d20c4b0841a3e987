// What the sheet says with what was entered here and is still on its way: shown at once.

import { between } from "../units.js";

/** @typedef {import("./outbox.js").Entry} Entry */
/** @typedef {Record<string, any>} Sheet */

/** The sheet with the entries that wait; those are marked `waiting`. @param {Sheet} sheet @param {Entry[]} waiting
 * @param {(check: string, reading: string) => {title: string, unit: string, check_title: string}} named
 * @returns {Sheet} */
export function folded(sheet, waiting, named) {
  const view = structuredClone(sheet);
  // Heard by the server, though its answer was lost on the way: already in the sheet.
  const there = new Set(sheet.findings.map((/** @type {any} */ one) => one.entry));
  let pending = waiting.filter((one) => !there.has(one.entry));
  for (
    let n = pending.findIndex((one) => one.kind === "undo");
    n >= 0;
    n = pending.findIndex((one) => one.kind === "undo")
  ) {
    // It takes back the entry it names, else the one before it; of what the server has, findings go here already.
    const of = pending[n].of ?? pending[n - 1]?.entry;
    view.findings = view.findings.filter((/** @type {any} */ one) => one.entry !== of);
    pending = pending.filter((one, at) => at !== n && one.entry !== of);
  }
  for (const entry of pending) FOLD[entry.kind]?.(view, entry, named);
  view.waiting = waiting.length;
  return view;
}

/** @type {Record<string, (view: Sheet, entry: Entry, named: any) => void>} */
const FOLD = {
  complaint: (view, entry) => (view.complaints = entry.words),
  stop: (view, entry) => (view.stop = entry.word),
  condition: (view, entry) => (view.condition = { heat: entry.heat, lid: entry.lid }),
  history: (view, entry) => (view.history = entry.words),
  site: (view, entry) => (view.site = { ...view.site, ...entry.values }),
  settings: (view, entry) => (view.settings = { ...view.settings, ...entry.values }),
  known: (view, entry) => (view.known = { ...view.known, ...entry.values }),
  note: (view, entry) => (view.note = entry.text),
  label: (view, entry) => (view.label = entry.text),
  part: (view, entry) => setPart(view, entry.part, entry.done),
  reading: (view, entry, named) => view.findings.push(finding(entry, named, true)),
  not_measured: (view, entry, named) => view.findings.push(finding(entry, named, false)),
  doubt: (view, entry) => change(view, entry.of, (one) => ({ ...one, doubted: entry.doubted, waiting: true })),
  strike: (view, entry) => (view.findings = view.findings.filter((/** @type {any} */ one) => one.entry !== entry.of)),
};

/** @param {Entry} entry @param {any} named @param {boolean} measured */
function finding(entry, named, measured) {
  const about = named(entry.check, entry.reading);
  const isNumber = typeof entry.value === "number";
  return {
    ...about,
    entry: entry.entry,
    check: entry.check,
    reading: entry.reading,
    value: isNumber && entry.unit ? between(entry.value, entry.unit, about.unit || entry.unit) : (entry.value ?? null),
    typed: isNumber ? { value: entry.value, unit: entry.unit } : null,
    doubted: false,
    measured,
    waiting: true,
  };
}

/** @param {Sheet} view @param {string} entry @param {(one: any) => any} by */
function change(view, entry, by) {
  view.findings = view.findings.map((/** @type {any} */ one) => (one.entry === entry ? by(one) : one));
}

/** @param {Sheet} view @param {string} part @param {string} done */
function setPart(view, part, done) {
  for (const list of ["cleaned", "replaced", "set_anew", "proven_good"]) {
    view[list] = view[list].filter((/** @type {string} */ one) => one !== part);
    if (list === done) view[list].push(part);
  }
}
