// Tables of parts and values: shown in the units chosen, and searched while typing.

import { showDeclared } from "./declared.js";

document.addEventListener("units-chosen", () => showDeclared(document));

for (const field of document.querySelectorAll("[data-search]")) {
  const search = /** @type {HTMLInputElement} */ (field);
  const table = /** @type {HTMLTableElement} */ (document.getElementById(search.dataset.search ?? ""));
  const count = document.querySelector(`[data-count="${search.dataset.search}"]`);
  search.addEventListener("input", () => {
    const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
    let found = 0;
    for (const row of table.tBodies[0].rows) {
      const text = (row.textContent ?? "").toLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
      if (!row.hidden) found += 1;
    }
    if (count) count.textContent = words.length ? `${found} of ${table.tBodies[0].rows.length}` : "";
  });
}
