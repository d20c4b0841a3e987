// The list of findings sheets: what is in work, bringing a file in, and what was removed.

import { ask, askUntilHeard, Refused } from "../ask.js";
import { makeAll } from "./begun.js";
import { button, make, refill } from "../dom.js";
import { problemItem } from "../problems.js";
import { whenText } from "../time.js";
import { timerStrip } from "./timers.js";
import { complaintsText } from "./words.js";

const AGAIN_ms = 5000;
const MOST_BYTES = 500_000;

const list = /** @type {HTMLElement} */ (document.querySelector("[data-list]"));
const said = /** @type {HTMLElement} */ (document.querySelector("[data-said]"));
let shown = "";

/** @param {any} sheet */
function tile(sheet) {
  const about = complaintsText(sheet.complaints);
  const label = sheet.demo ? "" : sheet.label;
  return make(
    "li",
    {},
    make(
      "a",
      { class: "tile lying sheet-tile", href: `/findings/${sheet.id}`, "data-key": sheet.id },
      make("img", {
        src: `/portraits/${encodeURIComponent(sheet.machine)}.svg`,
        alt: "",
        width: 96,
        height: 96,
        loading: "lazy",
      }),
      make(
        "span",
        { class: "sheet-words" },
        sheet.demo && make("span", { class: "teaching" }, "Demonstration"),
        make("strong", {}, label || sheet.title),
        label && make("span", { class: "soft" }, sheet.title),
        make("span", { class: "sentence" }, about || "no complaint yet"),
        sheet.leading && make("span", {}, make("span", { class: "soft" }, "Most likely: "), sheet.leading),
        make("span", { class: "soft" }, whenText(sheet.changed)),
      ),
    ),
  );
}

/** @param {any[]} sheets */
function show(sheets) {
  const now = JSON.stringify(sheets);
  if (now === shown) return;
  shown = now;
  const empty = make(
    "li",
    { class: "empty" },
    make("p", {}, "No machine is in work."),
    make("p", {}, "Press “A machine came in” to begin a sheet, or bring in a findings file."),
  );
  refill(list, sheets.length ? sheets.map(tile) : [empty]);
}

async function look() {
  try {
    if (!document.hidden) {
      await makeAll();
      show(await ask("GET", "/api/findings"));
    }
  } catch {
    // The banner at the top says that the line is lost; it is tried again.
  }
  setTimeout(look, AGAIN_ms);
}

/** @param {File} file */
async function bringIn(file) {
  said.replaceChildren();
  if (file.size > MOST_BYTES)
    return tell([{ message: `${file.name} is too long for a findings file.`, remedy: "It has 500 kB at most." }]);
  try {
    const sheet = await ask("POST", "/api/findings/import", { text: await file.text() });
    location.assign(`/findings/${sheet.id}`);
  } catch (fault) {
    if (fault instanceof Refused) tell(fault.problems);
    else
      tell([
        { message: "The bench computer was not reached.", remedy: "Bring the file in again when the line is back." },
      ]);
  }
}

/** @param {{message: string, remedy: string, line?: number}[]} problems */
function tell(problems) {
  const items = problems.map((one) => problemItem(one, one.line ? `Line ${one.line}: ` : ""));
  said.replaceChildren(make("h2", {}, "The file was not taken"), make("ul", { class: "problems" }, ...items));
  said.focus();
}

function offerBack() {
  const id = new URLSearchParams(location.search).get("removed");
  if (!id || !/^[\w-]{1,80}$/.test(id)) return;
  const back = async () => {
    await askUntilHeard("POST", `/api/findings/${id}/bring-back`);
    location.assign(`/findings/${id}`);
  };
  said.replaceChildren(
    make(
      "p",
      { class: "removed" },
      "The sheet was removed. ",
      button("Bring it back", back, { "data-key": "bring-back" }),
    ),
  );
}

function start() {
  const field = /** @type {HTMLInputElement} */ (document.querySelector("#findings-file"));
  field.addEventListener("change", () => {
    if (field.files?.[0]) bringIn(field.files[0]);
    field.value = "";
  });
  document.querySelector("[data-demo]")?.addEventListener("click", async () => {
    const sheet = await askUntilHeard("POST", "/api/findings/demo");
    location.assign(`/findings/${sheet.id}`);
  });
  timerStrip(/** @type {HTMLElement} */ (document.querySelector("[data-timers]")), "");
  offerBack();
  look();
}

start();
