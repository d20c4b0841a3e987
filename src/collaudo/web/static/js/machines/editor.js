// A machine file while it is written: one text, seen as a form or as text; checked while typing; kept in the
// browser until it is saved.

import { ask, faultText, Refused } from "../ask.js";
import { button } from "../dom.js";
import { keep, letGo } from "../keep.js";
import { problemItem } from "../problems.js";
import { FormPane } from "./form_pane.js";
import { TextPane } from "./text_pane.js";

const CHECK_AFTER_ms = 300;
const MOST_BYTES = 256 * 1024;

const place = /** @type {HTMLElement} */ (document.getElementById("editor"));
const machine = place.dataset.machine ?? "";
const field = /** @type {HTMLTextAreaElement} */ (document.getElementById("text"));
const state = /** @type {HTMLElement} */ (place.querySelector(".editor-state"));
const problemList = /** @type {HTMLElement} */ (document.getElementById("problems"));
const formNote = /** @type {HTMLElement} */ (document.getElementById("form-note"));
const NAME = `machine:${machine || "import"}`;

let saved = field.value;
let mark = place.dataset.mark ?? "";
let undoText = "";
let asked = 0;
let changing = Promise.resolve();
/** @type {ReturnType<typeof setTimeout> | undefined} */
let waiting;

const textPane = new TextPane(field, machine);
const formPane = new FormPane(/** @type {HTMLElement} */ (document.getElementById("form-fields")), changeValue);

/** @param {string} name @returns {HTMLButtonElement} */
const keyOf = (name) => /** @type {HTMLButtonElement} */ (place.querySelector(`[data-${name}]`));

function start() {
  keep(field, NAME);
  const keptMark = localStorage.getItem(`typed:${NAME}:mark`);
  if (field.value !== saved && keptMark) mark = keptMark;
  textPane.number(true);
  field.addEventListener("input", () => {
    keepMark();
    tellState();
    clearTimeout(waiting);
    waiting = setTimeout(() => void check(), CHECK_AFTER_ms);
  });
  for (const one of place.querySelectorAll('input[name="pane"]')) one.addEventListener("change", () => void showPane());
  keyOf("save").addEventListener("click", () => void save());
  keyOf("revert").addEventListener("click", () => void revert());
  keyOf("undo").addEventListener("click", () => put(undoText));
  keyOf("over").addEventListener("click", () => void saveOver());
  for (const one of place.querySelectorAll("[data-version]"))
    one.addEventListener("click", () => void takeVersion(/** @type {HTMLElement} */ (one).dataset.version ?? ""));
  document
    .getElementById("file")
    ?.addEventListener("change", (event) => void takeFile(/** @type {HTMLInputElement} */ (event.target)));
  document.addEventListener("line-back", () => void check());
  tellState();
  void showPane();
  void check();
}

/** Put a text in place of the one there. @param {string} text */
function put(text) {
  undoText = field.value;
  keyOf("undo").hidden = text === undoText;
  field.value = text;
  field.dispatchEvent(new Event("input"));
  clearTimeout(waiting);
  void check();
  if (!formHidden()) void showForm();
}

function keepMark() {
  try {
    if (field.value === saved) letGo(`${NAME}:mark`);
    else localStorage.setItem(`typed:${NAME}:mark`, mark);
  } catch {
    // A full store is no reason to stop typing.
  }
}

function tellState(said = "") {
  const rest =
    field.value === saved
      ? machine
        ? "As saved."
        : ""
      : machine
        ? "Not saved yet. It is kept in this browser."
        : "Not kept yet.";
  state.textContent = [said, rest].filter(Boolean).join(" ");
}

async function check() {
  const number = (asked += 1);
  if (!field.value.trim()) return showProblems([]);
  try {
    const checked = await ask("POST", "/api/machines/check", { text: field.value, machine });
    if (number !== asked) return;
    showProblems(checked.problems);
    showPicture(checked.svg);
  } catch (fault) {
    if (fault instanceof Refused && number === asked) showProblems(fault.problems);
  }
}

/** The portrait of what the text means; the last one stays while something is wrong. @param {string} svg */
function showPicture(svg) {
  if (!svg) return;
  const picture = /** @type {HTMLImageElement} */ (document.getElementById("draft-picture"));
  if (picture.src.startsWith("blob:")) URL.revokeObjectURL(picture.src);
  picture.src = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  picture.hidden = false;
}

/** @param {{message: string, remedy: string, file: string, line: number}[]} problems */
function showProblems(problems) {
  const own = (/** @type {{file: string, line: number}} */ one) =>
    one.line > 0 && ["", "this file", `${machine}.yaml`].includes(one.file);
  textPane.mark(problems.filter(own).map((one) => one.line));
  problemList.hidden = problems.length === 0;
  problemList.replaceChildren(
    ...problems.map((one) => {
      const where = one.line ? (own(one) ? `Line ${one.line}: ` : `In ${one.file}, line ${one.line}: `) : "";
      return problemItem(one, where, own(one) && goTo(one.line));
    }),
  );
}

/** A key that leads to a line of the text. @param {number} line */
function goTo(line) {
  return button(`Show line ${line}`, () => {
    asText().checked = true;
    void showPane();
    textPane.goTo(line);
  });
}

function asText() {
  return /** @type {HTMLInputElement} */ (place.querySelector('input[name="pane"][value="text"]'));
}

function formHidden() {
  return asText().checked;
}

async function showPane() {
  const isText = formHidden();
  /** @type {HTMLElement} */ (document.getElementById("text-pane")).hidden = !isText;
  /** @type {HTMLElement} */ (document.getElementById("form-pane")).hidden = isText;
  if (isText) textPane.number(true);
  else await showForm();
}

async function showForm() {
  if (!field.value.trim()) {
    formNote.textContent = "There is no text yet. Choose a file, or write it as text.";
    return;
  }
  try {
    formPane.show(await ask("POST", "/api/machines/form", { text: field.value, machine }));
    formNote.textContent =
      "What this file says itself is marked at the left; everything else is as in the machine it is like, or as usual.";
  } catch (fault) {
    formNote.textContent =
      fault instanceof Refused
        ? `The form cannot be shown before the text is put right. ${fault.message}`
        : "No line to the bench computer: the form comes when it is back.";
  }
}

/** A value changed in the form; one after the other, for each changes the text the one before left.
 * @param {string} key @param {string | null} value */
function changeValue(key, value) {
  changing = changing.then(() => changeNow(key, value));
}

/** @param {string} key @param {string | null} value */
async function changeNow(key, value) {
  const before = field.value;
  try {
    const after = await ask("POST", "/api/machines/change", { text: before, machine, changes: { [key]: value } });
    if (field.value !== before) {
      await changeNow(key, value); // the text was written on meanwhile
      return;
    }
    undoText = field.value;
    keyOf("undo").hidden = false;
    field.value = after.text;
    field.dispatchEvent(new Event("input"));
    clearTimeout(waiting);
    formPane.show(after.form);
    asked += 1;
    showProblems(after.checked.problems);
    showPicture(after.checked.svg);
  } catch (fault) {
    showRefused(key, fault);
  }
}

/** A change that cannot be: said beside its field. @param {string} key @param {unknown} fault */
function showRefused(key, fault) {
  const said = faultText(fault, "not changed. Enter it again when the line is back.");
  for (const prefix of ["f-", "set-f-"]) {
    const input = document.getElementById(prefix + key.replace(".", "-"));
    const about = document.getElementById(`${prefix}${key.replace(".", "-")}-fault`);
    input?.setAttribute("aria-invalid", "true");
    if (about) about.textContent = said;
  }
}

async function save() {
  keyOf("over").hidden = true;
  try {
    const written = machine
      ? await ask("PUT", `/api/machines/${machine}/text`, { text: field.value, mark })
      : await ask("POST", "/api/machines/import", { text: field.value });
    letGo(NAME);
    letGo(`${NAME}:mark`);
    if (!machine) {
      location.assign(`/machines/${written.machine}`);
      return;
    }
    saved = written.text;
    mark = written.mark;
    field.value = saved;
    keyOf("undo").hidden = true;
    showProblems([]);
    textPane.number(true);
    tellState("Saved.");
  } catch (fault) {
    if (!(fault instanceof Refused))
      tellState("No line to the bench computer: not saved. Press again when the line is back.");
    else {
      showProblems(fault.problems);
      keyOf("over").hidden = fault.status !== 409;
      tellState(fault.status === 409 ? "Changed meanwhile, elsewhere." : "Not saved: it would not work as it stands.");
      problemList.scrollIntoView({ block: "nearest" });
    }
  }
}

/** Save over what was changed elsewhere; that one is among the older versions then. */
async function saveOver() {
  mark = (await ask("GET", `/api/machines/${machine}/text`)).mark;
  await save();
}

async function revert() {
  if (!machine) return put("");
  try {
    const there = await ask("GET", `/api/machines/${machine}/text`);
    saved = there.text;
    mark = there.mark;
    keyOf("over").hidden = true;
    put(there.text);
    letGo(NAME);
    tellState();
  } catch (fault) {
    tellState(faultText(fault));
  }
}

/** @param {string} number */
async function takeVersion(number) {
  try {
    put((await ask("GET", `/api/machines/${machine}/versions/${number}`)).text);
    tellState("An older version is in the editor; saving puts it back.");
  } catch (fault) {
    tellState(faultText(fault));
  }
}

/** @param {HTMLInputElement} input */
async function takeFile(input) {
  const file = input.files?.[0];
  if (!file) return;
  if (file.size > MOST_BYTES) {
    showProblems([
      wrongFile(`${file.name} is larger than 256 kB`, "a machine file is some kB; this seems to be another file"),
    ]);
    return;
  }
  try {
    put(new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer()));
  } catch {
    showProblems([wrongFile(`${file.name} is not a text in UTF-8`, "save it as UTF-8 text, or choose another file")]);
  }
}

/** @param {string} message @param {string} remedy */
function wrongFile(message, remedy) {
  return { message, remedy, file: "", line: 0 };
}

start();
