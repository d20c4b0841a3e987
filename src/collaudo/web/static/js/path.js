// The way through a machine, step by step.

import { ask, Refused } from "./ask.js";
import { byId, make } from "./dom.js";
import { drawn } from "./path/drawing.js";
import { listed } from "./path/list.js";
import { put, showPieces } from "./path/pieces.js";
import { waitingIn } from "./waiting.js";

/** @typedef {{text: string, values: number[], unit: string}} Piece */
/** @typedef {{parts: string[], name: string, sentence: Piece[], now: Piece[], fails: string,
 *   here: string[], reached_by: string[]}} Step */
/** @typedef {{kind: string, title: string, why: Piece[], steps: Step[]}} Walk */
/** @typedef {{title: string, summary: Piece[], walks: Walk[], cautions: Piece[][], drawing: string}} Walking */

const place = byId("walk");

const AGAIN_ms = 2000;
/** What a state takes that the twin has not run before. */
const USUAL_s = 3;

/** Ask for the steps, saying how long it takes; again when the line is back. */
async function start() {
  const { machine, state, of, audience } = place.dataset;
  const wait = waitingIn(byId("wait"), { says: "The twin runs this state", usual_s: USUAL_s });
  wait.begin();
  try {
    for (;;) {
      const found = await ask("GET", `/api/path/${machine}/${state}/${of}?for=${audience}`);
      if (found.walks) {
        show(found);
        return wait.end();
      }
      wait.twinFirst(found.left_s ?? 60);
      await new Promise((go) => setTimeout(go, AGAIN_ms));
    }
  } catch (fault) {
    if (fault instanceof Refused) return wait.end(fault.message);
    wait.end("The bench computer does not answer. The steps come as soon as it does.");
    setTimeout(start, AGAIN_ms);
  }
}

/** @param {Walking} walking */
function show(walking) {
  const stops = walking.walks.flatMap((walk) => walk.steps.map((step) => ({ walk, step })));
  put(byId("summary"), walking.summary);
  const drawing = drawn(
    byId("drawing"),
    walking.drawing,
    stops.map((stop) => stop.step),
  );
  const list = listed(byId("walks"), walking.walks, (n) => go(n, true));
  for (const caution of walking.cautions) {
    byId("cautions").append(put(make("p", { class: "caution" }), caution));
  }
  place.hidden = byId("all").hidden = false;
  let now = -1;

  /** @param {number} n @param {boolean} [jump] whether the page moves to the step */
  function go(n, jump = false) {
    const to = Math.max(0, Math.min(stops.length - 1, n));
    if (to === now || stops.length === 0) return;
    now = to;
    const { walk, step } = stops[now];
    byId("step-where").textContent =
      `${now + 1} of ${stops.length} · ${walk.title}${walk.kind === "closed" ? " (closed)" : ""}`;
    byId("step-name").textContent = step.name;
    put(byId("step-sentence"), step.sentence);
    put(byId("step-now"), walk.steps[0] === step ? [...spaced(walk.why), ...step.now] : step.now);
    byId("step-fails").textContent = step.fails;
    byId("not-drawn").hidden = step.here.length > 0;
    setOff(byId("back"), now === 0);
    setOff(byId("next"), now === stops.length - 1);
    drawing.mark(now);
    list.mark(now);
    history.replaceState(null, "", `#step-${now + 1}`);
    if (jump) place.scrollIntoView({ block: "start" });
  }

  const narrow = matchMedia("(max-width: 860px)");
  byId("back").addEventListener("click", () => go(now - 1, narrow.matches));
  byId("next").addEventListener("click", () => go(now + 1, narrow.matches));
  const whole = () => byId("whole").setAttribute("aria-pressed", String(drawing.isWhole()));
  byId("whole").addEventListener("click", () => {
    drawing.turn();
    whole();
  });
  whole();
  byId("print").addEventListener("click", () => window.print());
  document.addEventListener("keydown", (event) => {
    const typing = /** @type {Element} */ (event.target).closest("input, select, textarea, details[open]");
    if (typing || event.altKey || event.ctrlKey || event.metaKey) return;
    const to = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: stops.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    go(to);
  });
  document.addEventListener("units-chosen", () => {
    showPieces(document);
    drawing.showUnits();
  });
  const from = /^#step-(\d+)$/.exec(location.hash);
  go(from ? Number(from[1]) - 1 : 0);
  if (stops.length === 0) byId("step-name").textContent = "Nothing goes this way in this state.";
}

/** @param {Piece[]} why */
function spaced(why) {
  return why.length ? [...why, { text: " ", values: [], unit: "" }] : [];
}

/** A key that does nothing now keeps its focus, so that the next press is not lost.
 * @param {HTMLElement} key @param {boolean} off */
function setOff(key, off) {
  key.setAttribute("aria-disabled", String(off));
}

start();
