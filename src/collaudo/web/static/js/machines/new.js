// A machine of one's own like another: one question a row, nothing has to be answered.

import { ask, Refused } from "../ask.js";
import { keep, letGo } from "../keep.js";
import { problemItem } from "../problems.js";
import { showDeclared } from "./declared.js";
import { TypedNumber } from "./typed_units.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("new-machine"));
const like = form.dataset.like ?? "";
const title = /** @type {HTMLInputElement} */ (document.getElementById("title"));
const machine = /** @type {HTMLInputElement} */ (document.getElementById("machine"));
const faults = /** @type {HTMLElement} */ (document.getElementById("faults"));

/** @type {{row: HTMLElement, key: string, text: () => string, forget: () => void}[]} */
const questions = [];
const touched = new Set();

for (const element of form.querySelectorAll(".question[data-key]")) {
  const row = /** @type {HTMLElement} */ (element);
  const { key = "", unit = "" } = row.dataset;
  const field = /** @type {HTMLInputElement | null} */ (row.querySelector("input[inputmode]"));
  if (field) {
    const typed = new TypedNumber(
      field,
      /** @type {HTMLElement} */ (row.querySelector(".unit")),
      unit,
      `new:${like}:${key}`,
    );
    questions.push({ row, key, text: () => typed.text(), forget: () => typed.forget() });
  } else {
    questions.push({ row, key, text: () => chosen(key) && `${chosen(key)} ${unit}`, forget: () => {} });
  }
  row.addEventListener("change", () => {
    touched.add(key);
    void tell(true);
  });
}
keep(title, `new:${like}:title`);
keep(machine, `new:${like}:machine`);
machine.addEventListener("change", () => {
  touched.add("machine");
  void tell(true);
});
document.addEventListener("units-chosen", () => showDeclared(form));

/** The choice of a question with few answers. @param {string} key */
function chosen(key) {
  return /** @type {HTMLInputElement | null} */ (form.querySelector(`input[name="${key}"]:checked`))?.value ?? "";
}

/** Ask what is wrong, or make it. @param {boolean} onlyCheck */
async function tell(onlyCheck) {
  const answers = questions.map((one) => ({ key: one.key, text: one.text() })).filter((one) => one.text);
  try {
    const asked = { like, machine: machine.value, title: title.value, answers };
    if (onlyCheck) {
      /** @type {{message: string, remedy: string}[]} */
      const problems = await ask("POST", "/api/machines/new/check", asked);
      showFaults(problems.filter((one) => touched.has(keyOf(one))));
      return;
    }
    const made = await ask("POST", "/api/machines/new", asked);
    for (const one of questions) one.forget();
    letGo(`new:${like}:title`);
    letGo(`new:${like}:machine`);
    location.assign(`/machines/${made.machine}`);
  } catch (fault) {
    if (fault instanceof Refused) showFaults(fault.problems);
    else if (!onlyCheck)
      showFaults([
        {
          message: "No line to the bench computer.",
          remedy: "What you typed is kept; press again when the line is back.",
        },
      ]);
  }
}

/** @param {{message: string}} problem */
function keyOf(problem) {
  return /^([a-z0-9_]+(?:\.[A-Za-z0-9_]+)?)\b/.exec(problem.message)?.[1] ?? "";
}

/** Each beside its field; what has none, above the button. @param {{message: string, remedy: string}[]} problems */
function showFaults(problems) {
  for (const place of form.querySelectorAll(".fault")) place.textContent = "";
  for (const field of form.querySelectorAll("[aria-invalid]")) field.removeAttribute("aria-invalid");
  const rest = [];
  for (const problem of problems) {
    const key = keyOf(problem);
    const row = key === "machine" ? machine.closest(".question") : questions.find((one) => one.key === key)?.row;
    const place = row?.querySelector(".fault");
    if (!place) {
      rest.push(problem);
      continue;
    }
    place.textContent = [problem.message.replace(/^[a-z0-9_.A-Z]+:? /, ""), problem.remedy].filter(Boolean).join(": ");
    row?.querySelector("input")?.setAttribute("aria-invalid", "true");
  }
  faults.hidden = rest.length === 0;
  faults.replaceChildren(...rest.map((one) => problemItem(one)));
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  await tell(false);
  /** @type {HTMLElement | null} */ (form.querySelector("[aria-invalid]"))?.focus();
});
