// The choice of a machine: stands that run now, and pictures that are not there yet left out.

import { ask, faultText } from "../ask.js";
import { button, make } from "../dom.js";

for (const picture of document.querySelectorAll("img.portrait")) {
  const image = /** @type {HTMLImageElement} */ (picture);
  const hide = () => (image.hidden = true);
  if (image.complete && image.naturalWidth === 0 && image.loading !== "lazy") hide();
  picture.addEventListener("error", hide);
}

async function showStands() {
  const place = /** @type {HTMLElement} */ (document.querySelector("[data-stands]"));
  let told;
  try {
    told = await ask("GET", "/api/running");
  } catch {
    return; // the machines can be chosen all the same
  }
  place.hidden = told.length === 0;
  place.querySelector("ul")?.replaceChildren(...told.map(tile));
}

/** @param {{stand: string, machine: string, title: string, ready: boolean, clients: number}} one */
function tile(one) {
  const number = one.stand.slice(one.machine.length + 1);
  const told = one.ready ? people(one.clients) : "is being set up";
  const link = make("a", { class: "tile", href: `/running/${encodeURIComponent(one.stand)}` }, [
    make("strong", {}, [one.title || one.machine]),
    make("span", {}, [number ? `stand ${number}, someone's own` : "stand that all share"]),
    make("span", { class: "soft" }, [told]),
  ]);
  const away =
    one.clients === 0 ? [button("Put away", () => putAway(one.stand), { "aria-label": `Put away: ${one.title}` })] : [];
  return make("li", { class: "stand" }, [link, ...away]);
}

/** End a stand that nobody watches. @param {string} stand */
async function putAway(stand) {
  const told = /** @type {HTMLElement} */ (document.querySelector("[data-said]"));
  try {
    await ask("DELETE", `/api/running/${encodeURIComponent(stand)}`);
    told.textContent = "Put away.";
  } catch (fault) {
    told.textContent = faultText(fault);
  }
  showStands();
}

/** @param {number} clients */
function people(clients) {
  if (clients === 0) return "nobody watches";
  return clients === 1 ? "one screen watches" : `${clients} screens watch`;
}

showStands();
