// Removing a machine and bringing one back.

import { ask, faultText } from "../ask.js";

/** @param {HTMLElement} button @param {() => Promise<string>} work gives where to go */
async function act(button, work) {
  const said = /** @type {HTMLElement} */ (button.parentElement?.querySelector(".said"));
  said.textContent = "";
  try {
    location.assign(await work());
  } catch (fault) {
    said.textContent = faultText(fault, "nothing was changed. Try again.");
  }
}

for (const element of document.querySelectorAll("[data-remove]")) {
  const button = /** @type {HTMLElement} */ (element);
  button.addEventListener("click", () =>
    act(button, async () => {
      await ask("DELETE", `/api/machines/${button.dataset.remove}`);
      return "/machines/removed";
    }),
  );
}

for (const element of document.querySelectorAll("[data-back]")) {
  const button = /** @type {HTMLElement} */ (element);
  button.addEventListener("click", () =>
    act(button, async () => {
      const { machine } = await ask("POST", `/api/machines/removed/${button.dataset.back}/back`);
      return `/machines/${machine}`;
    }),
  );
}
