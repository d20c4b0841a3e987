// The summary for paper: prints, and says where something is not on it yet.

import { readList } from "./outbox.js";

const sheet = /** @type {HTMLElement} */ (document.querySelector("[data-paper]")).dataset.paper;
const waiting = /** @type {HTMLElement} */ (document.querySelector("[data-waiting]"));
waiting.hidden = readList(`outbox:${sheet}`).length === 0;
document.querySelector("[data-print]")?.addEventListener("click", () => print());
// What speaks for and against, and the cautions, are worded by the server.
document.addEventListener("units-chosen", () => location.reload());
