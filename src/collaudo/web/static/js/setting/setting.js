// Setting: every move of a slider is asked of the twin, the newest first, and what follows is shown at once.

import { ask, askUntilHeard, Refused } from "../ask.js";
import { newest } from "../newest.js";
import { waitingIn } from "../waiting.js";
import { causeText, followText, showChain, showRefused } from "./chain.js";
import { outOfRange, readingsIn } from "./readings.js";
import { turnAt } from "./turn.js";

const QUIET_ms = 700;
const AGAIN_ms = 2000;
const USUAL_TWIN_s = 180;
const USUAL_s = 2;
/** An answer that comes sooner changes the table without a word of waiting. */
const LATE_ms = 400;

const root = /** @type {HTMLElement} */ (document.querySelector("[data-setting]"));
const machine = root.dataset.setting ?? "";
/** @param {string} name */
const at = (name) => /** @type {HTMLElement} */ (root.querySelector(`[data-${name}]`));
const [chain, said, fault, back] = ["chain", "said", "fault", "back"].map(at);
const table = /** @type {HTMLTableElement} */ (at("effects"));

const turns = [...root.querySelectorAll("[data-turn]")].map((place) =>
  turnAt(/** @type {HTMLElement} */ (place), moved),
);
/** @type {import("./turn.js").Turn | null} */
let last = null;
/** @type {any} */
let shown = null;
let quiet = 0;

const showReadings = readingsIn(table);
const waiting = waitingIn(at("waits"), {
  says: "The twin heats up",
  usual_s: USUAL_s,
  quiet_ms: LATE_ms,
  late: () => table.classList.add("old"),
});

const want = newest(
  (wish) => {
    waiting.begin();
    return shown
      ? ask("POST", `/api/effects/${machine}`, wish)
      : askUntilHeard("POST", `/api/effects/${machine}`, wish);
  },
  (answer) => {
    shown = answer;
    waiting.end();
    table.classList.remove("old");
    fault.hidden = true;
    show();
    window.clearTimeout(quiet);
    quiet = window.setTimeout(speak, QUIET_ms);
    root.dataset.answered = String(Number(root.dataset.answered ?? 0) + 1);
  },
  refused,
);

function moved() {
  last =
    turns.find((turn) => turn.kind === "settings" && document.activeElement?.closest(`[data-name="${turn.name}"]`)) ??
    last;
  /** @type {HTMLButtonElement} */ (back).disabled = !turns.some((turn) => turn.turned());
  remember();
  askNow();
}

function askNow() {
  /** @param {string} kind */
  const turned = (kind) =>
    Object.fromEntries(
      turns.filter((turn) => turn.kind === kind && turn.turned()).map((turn) => [turn.name, turn.value()]),
    );
  want({ site: turned("site"), settings: turned("settings") });
}

function show() {
  showReadings(shown);
  showChain(chain, turns, shown.chain);
}

/** Said to whoever listens, once it has become quiet. */
function speak() {
  const cause = causeText(turns);
  said.textContent = cause
    ? [`${cause}: ${followText(shown.chain) || "nothing to be seen"}`, ...outOfRange(shown.effects)].join(". ")
    : "";
}

/** The twin itself is made ready first: ask how long, and again. */
async function waitForTwin() {
  try {
    const state = await ask("GET", `/api/machines/${machine}/readiness`);
    waiting.twinFirst(state.left_s ?? USUAL_TWIN_s);
  } finally {
    window.setTimeout(askNow, AGAIN_ms);
  }
}

/** @param {unknown} why */
function refused(why) {
  if (why instanceof Refused && why.status === 503) return void waitForTwin();
  waiting.end();
  if (!(why instanceof Refused)) return; // the line is lost: it is said at the top, and asked again when it is back
  table.classList.add("old");
  const place = last ?? turns.find((turn) => turn.turned());
  if (why.status === 422 && place) {
    place.refuse(inWords(why.message));
    showRefused(chain, place, inWords(why.message));
  } else {
    fault.textContent = why.message;
    fault.hidden = false;
  }
}

/** Parts as they are called at the bench, units as they are printed. @param {string} text */
function inWords(text) {
  return text.replace(/(?<=[a-z])_(?=[a-z])/g, " ").replace(/ degC\b/g, "\u202f°C");
}

/** The address holds what is turned, so that a reload or a link shows the same. */
function remember() {
  const query = new URLSearchParams(
    turns.filter((turn) => turn.turned()).map((turn) => [turn.name, String(turn.value())]),
  );
  history.replaceState(null, "", query.size ? `?${query}` : location.pathname);
}

function recall() {
  const query = new URLSearchParams(location.search);
  for (const turn of turns) {
    const told = Number(query.get(turn.name) ?? NaN);
    if (Number.isFinite(told)) turn.put(told);
  }
  if (turns.some((turn) => turn.kind === "site" && turn.turned()))
    /** @type {HTMLDetailsElement} */ (root.querySelector("details.site")).open = true;
  /** @type {HTMLButtonElement} */ (back).disabled = !turns.some((turn) => turn.turned());
}

back.addEventListener("click", () => {
  for (const turn of turns) turn.put(turn.came);
  moved();
});
document.addEventListener("units-chosen", () => shown && show());
document.addEventListener("line-back", askNow);

recall();
askNow();
