// Expected readings: what is said of a machine goes to the server at every change, the newest first; what a sound
// machine shows fills the rows that the page came with.

import { ask, askUntilHeard, Refused } from "./ask.js";
import { sayAt } from "./expected/say.js";
import { fillRow } from "./expected/rows.js";
import { newest } from "./newest.js";
import { leftText } from "./time.js";
import { waitingIn } from "./waiting.js";

const AGAIN_ms = 1500;
const QUIET_ms = 900;
const SHEET_s = 2;
const SHEET_NOT_YET = "The sheet cannot be made now: its ranges are still being made.";

const root = /** @type {HTMLElement} */ (document.querySelector("[data-expected]"));
const machine = root.dataset.expected ?? "";
/** @param {string} name */
const at = (name) => /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));
const [making, makingText, fault, spoken, unsay] = ["making", "making-text", "fault", "spoken", "unsay"].map(at);
const sheet = /** @type {HTMLAnchorElement} */ (at("sheet"));
const readings = /** @type {HTMLElement} */ (root.querySelector(".readings"));
const rows = new Map(
  [...root.querySelectorAll("[data-row]")].map((row) => [
    /** @type {HTMLElement} */ (row).dataset.row,
    /** @type {HTMLTableRowElement} */ (row),
  ]),
);
const says = [...root.querySelectorAll("[data-say]")].map((place) =>
  sayAt(/** @type {HTMLElement} */ (place), changed),
);
/** @type {any} */
let shown = null;
/** @type {import("./expected/say.js").Say | null} */
let last = null;
let again = 0;
const since = performance.now();

/** What is told while ranges are being made. */
const WORDS = {
  twin: "The twin is being made ready, once on this computer. The checks and how they are done stand here already.",
  typical:
    "Ranges are being made: sound machines that differ as machines do are drawn and run. " +
    "Meanwhile the numbers are those of one machine, without a range.",
  rough: "These are first ranges, from a few machines drawn; better ones follow.",
};
let quiet = 0;

const want = newest(
  (said) => (shown ? ask : askUntilHeard)("POST", `/api/expected/${machine}`, said),
  (answer) => {
    shown = answer;
    fault.hidden = true;
    readings.classList.remove("old");
    show();
    tellMaking();
    window.clearTimeout(quiet);
    quiet = window.setTimeout(speak, QUIET_ms);
    root.dataset.answered = String(Number(root.dataset.answered ?? 0) + 1);
  },
  (why) => {
    if (!(why instanceof Refused)) return;
    readings.classList.add("old");
    if (why.status === 422 && last) return last.wrong(why.message);
    fault.textContent = why.message;
    fault.hidden = false;
  },
);

function said() {
  /** @param {string} kind */
  const of = (kind) =>
    Object.fromEntries(
      says.filter((one) => one.kind === kind && one.value() !== null).map((one) => [one.key, one.value()]),
    );
  return { site: of("site"), settings: of("settings"), known: of("known") };
}

/** @param {import("./expected/say.js").Say} say */
function changed(say) {
  last = say;
  remember();
  want(said());
}

function remember() {
  const given = says.filter((one) => one.value() !== null);
  const query = new URLSearchParams(given.map((one) => [one.key, String(one.value())]));
  const tail = query.size ? `?${query}` : "";
  history.replaceState(null, "", location.pathname + tail + location.hash);
  sheet.href = `/api/expected/${machine}/sheet.pdf${tail}`;
  /** @type {HTMLButtonElement} */ (unsay).disabled = given.length === 0;
}

function show() {
  for (const one of shown.readings) {
    const row = rows.get(`${one.check}.${one.reading}`);
    if (row) fillRow(row, one, shown.ready === "ranges");
  }
}

function tellMaking() {
  window.clearTimeout(again);
  const ranges = shown.ready === "ranges";
  const done = ranges && shown.draws >= shown.of_draws;
  making.hidden = done;
  sheet.hidden = !ranges;
  if (done) return;
  const past_s = (performance.now() - since) / 1000;
  const left_s = shown.left_s ?? 0;
  const bar = /** @type {HTMLProgressElement} */ (making.querySelector("progress"));
  bar.max = past_s + left_s || 1;
  bar.value = past_s;
  const left = left_s ? ` About ${leftText(left_s)} left.` : "";
  makingText.textContent = shown.fault || WORDS[ranges ? "rough" : shown.ready] + left;
  again = window.setTimeout(() => want(said()), AGAIN_ms);
}

function speak() {
  const moved = shown.readings.filter((/** @type {{moved: boolean}} */ one) => one.moved).length;
  const given = says.filter((one) => one.value() !== null).length;
  spoken.textContent =
    shown.ready === "ranges" && given ? `${moved} of ${shown.readings.length} readings move with what was said.` : "";
}

unsay.addEventListener("click", () => {
  for (const one of says) one.put(null);
  remember();
  want(said());
});
const sheetWait = waitingIn(at("sheet-making"), { says: "The sheet is being made", usual_s: SHEET_s });
sheet.addEventListener("click", async (event) => {
  if (event.ctrlKey || event.metaKey || event.shiftKey) return; // in a window of its own, which tells of waiting itself
  event.preventDefault();
  sheetWait.begin();
  try {
    const answer = await fetch(sheet.href);
    await answer.blob(); // kept by the browser for a moment, so that what is opened now is there at once
    sheetWait.end(answer.ok ? "" : SHEET_NOT_YET);
    if (answer.ok) location.assign(sheet.href);
  } catch {
    sheetWait.end("No line to the bench computer. Press it again when the line is back.");
  }
});
document.addEventListener("units-chosen", () => shown && show());
document.addEventListener("line-back", () => want(said()));

const query = new URLSearchParams(location.search);
for (const one of says) {
  const told = Number(query.get(one.key) ?? NaN);
  if (Number.isFinite(told)) one.put(told);
}
remember();
want(said());
