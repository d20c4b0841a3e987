// Tables of parts and values: shown in the units chosen, and searched while typing.

import { isEmptySearch, searchFor } from "../search.js";
import { showDeclared } from "./declared.js";

document.addEventListener("units-chosen", () => showDeclared(document));

for (const field of document.querySelectorAll("[data-search]")) {
  const search = /** @type {HTMLInputElement} */ (field);
  const table = /** @type {HTMLTableElement} */ (document.getElementById(search.dataset.search ?? ""));
  const count = document.querySelector(`[data-count="${search.dataset.search}"]`);
  search.addEventListener("input", () => {
    const fits = searchFor(search.value);
    let found = 0;
    for (const row of table.tBodies[0].rows) {
      row.hidden = !fits(row.textContent ?? "");
      if (!row.hidden) found += 1;
    }
    if (count) count.textContent = isEmptySearch(search.value) ? "" : `${found} of ${table.tBodies[0].rows.length}`;
  });
}
