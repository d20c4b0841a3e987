// The choice of a machine: stands that run now, and pictures that are not there yet left out.

import { ask } from "../ask.js";
import { el } from "./make.js";

for (const picture of document.querySelectorAll("img.portrait")) {
  const hide = () => (/** @type {HTMLElement} */ (picture).hidden = true);
  const image = /** @type {HTMLImageElement} */ (picture);
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
  const stands = Array.isArray(told) ? told : told.stands;
  place.hidden = stands.length === 0;
  place.querySelector("ul")?.replaceChildren(...stands.map(tile));
}

/** @param {{stand: string, title: string, t?: number, clients?: number, teaching?: boolean}} one */
function tile(one) {
  const minutes = Math.round((one.t ?? one.time_s ?? 0) / 60);
  const told = [`${minutes} min since it stood cold`, people(one.clients ?? 0)];
  if (one.teaching) told.push("a fault is put in");
  const link = el("a", { class: "tile", href: `/running/${encodeURIComponent(one.stand)}` }, [
    el("strong", {}, [one.title]),
    el("span", {}, [one.stand]),
    el("span", { class: "soft" }, [told.join(", ")]),
  ]);
  return el("li", {}, [link]);
}

/** @param {number} clients */
function people(clients) {
  if (clients === 0) return "nobody watches";
  return clients === 1 ? "one screen watches" : `${clients} screens watch`;
}

showStands();
