// The first minute: taps only, one question a screen. The sheet is begun with the machine; what is tapped is
// kept in the browser until the server has it, so nothing waits for a slow line.

import { ask } from "../ask.js";
import { giveUp, keepBegun, makeAll, makeSheet } from "./begun.js";
import { newEntry, newName, Outbox, readList, writeList } from "./outbox.js";

const QUESTIONS = ["machine", "complaint", "condition", "stop"];
const MOST_COMPLAINTS = 3;
const AGAIN_ms = 1500;
const PLACE = "first-minute";

/** @typedef {{entry: string, machine: string, id: string, told: Record<string, string>}} Draft */

/** @type {Draft | null} */
let draft = JSON.parse(sessionStorage.getItem(PLACE) ?? "null");
let making = false;
/** @type {Outbox | null} */
let outbox = null;

const questionNow = () => QUESTIONS.find((one) => location.hash === `#${one}`) ?? "machine";

function keepDraft() {
  if (draft) sessionStorage.setItem(PLACE, JSON.stringify(draft));
  else sessionStorage.removeItem(PLACE);
}

/** One question shows; the browser's Back goes to the one before. */
function show() {
  const now = draft ? questionNow() : "machine";
  for (const question of document.querySelectorAll("[data-question]")) {
    const element = /** @type {HTMLElement} */ (question);
    element.hidden = element.dataset.question !== now;
    if (!element.hidden) {
      element.querySelector("h1")?.focus({ preventScroll: true });
      scrollTo(0, 0);
    }
  }
}

/** @param {string} question */
function goTo(question) {
  history.pushState(null, "", `#${question}`);
  show();
}

/** @param {string} machine */
function begin(machine) {
  if (draft?.machine !== machine) {
    if (draft) putAway(draft);
    draft = { entry: newName(), machine, id: "", told: {} };
    keepBegun(draft.entry, machine);
    keepDraft();
    send();
  }
  goTo("complaint");
}

/** The wrong machine was tapped: its sheet is put away. @param {Draft} old */
function putAway(old) {
  if (old.id) ask("DELETE", `/api/findings/${old.id}`).catch(() => undefined);
  else giveUp(old.entry);
}

/** Say something on the sheet, once. @param {string} kind @param {Record<string, any>} told */
function tell(kind, told) {
  if (!draft || draft.told[kind] === JSON.stringify(told)) return;
  draft.told[kind] = JSON.stringify(told);
  const place = `outbox:${draft.id || draft.entry}`;
  writeList(place, [...readList(place), newEntry(kind, told)]);
  keepDraft();
  send();
}

/** Have the sheet made, then send what was told, until it is heard. */
async function send() {
  if (making || !draft) return;
  making = true;
  const mine = draft;
  try {
    if (!mine.id) {
      mine.id = await makeSheet(mine.entry, mine.machine);
      keepDraft();
    }
    if (outbox?.sheet !== mine.id) outbox = new Outbox(mine.id);
    outbox.send();
  } catch {
    setTimeout(send, AGAIN_ms);
  } finally {
    making = false;
  }
  if (mine !== draft) send();
}

function complaints() {
  return [...document.querySelectorAll('input[name="complaint"]:checked')].map(
    (one) => /** @type {HTMLInputElement} */ (one).value,
  );
}

/** At most three: a fourth is not taken. */
function fitComplaints() {
  const chosen = complaints();
  for (const one of document.querySelectorAll('input[name="complaint"]')) {
    const field = /** @type {HTMLInputElement} */ (one);
    field.disabled = chosen.length >= MOST_COMPLAINTS && !field.checked;
  }
  const key = /** @type {HTMLButtonElement} */ (document.querySelector("[data-complaints-done]"));
  key.disabled = chosen.length === 0;
  key.textContent = chosen.length ? "Go on" : "Touch one to three";
}

/** @param {string} heat */
function condition(heat) {
  const lid = /** @type {HTMLInputElement} */ (document.querySelector('input[name="lid"]:checked')).value;
  tell("condition", { heat, lid });
  goTo("stop");
}

/** The last answer: the check stands on the sheet. @param {string} word */
async function finish(word) {
  // That nothing stops the work holds anyway; only what was said otherwise is taken back.
  if (word || draft?.told.stop) tell("stop", { word });
  const wait = /** @type {HTMLElement} */ (document.querySelector("[data-waits]"));
  wait.hidden = false;
  for (;;) {
    if (draft?.id) break;
    await new Promise((go) => setTimeout(go, 100));
  }
  const id = draft.id;
  draft = null;
  keepDraft();
  location.assign(`/findings/${id}`);
}

/** A machine touched before this script was there: its link brought the page anew. */
function touchedBefore() {
  const machine = new URLSearchParams(location.search).get("machine") ?? "";
  const there = [...document.querySelectorAll("[data-machine]")].some(
    (one) => /** @type {HTMLElement} */ (one).dataset.machine === machine,
  );
  if (location.search) history.replaceState(null, "", location.pathname + location.hash);
  return there ? machine : "";
}

function start() {
  const touched = touchedBefore();
  if (!location.hash) {
    draft = null;
    keepDraft();
  }
  const press = (/** @type {string} */ name, /** @type {(value: string) => void} */ act) => {
    for (const key of document.querySelectorAll(`[data-${name}]`)) {
      key.addEventListener("click", (event) => {
        event.preventDefault();
        act(/** @type {HTMLElement} */ (key).dataset[name] ?? "");
      });
    }
  };
  press("machine", begin);
  press("heat", condition);
  press("stop", finish);
  press("back", () => history.back());
  for (const one of document.querySelectorAll('input[name="complaint"]')) one.addEventListener("change", fitComplaints);
  document.querySelector("[data-complaints-done]")?.addEventListener("click", () => {
    tell("complaint", { words: complaints() });
    goTo("condition");
  });
  addEventListener("popstate", show);
  addEventListener("pageshow", (event) => event.persisted && location.reload());
  fitComplaints();
  if (draft) send();
  else makeAll();
  if (touched) begin(touched);
  else show();
}

start();
