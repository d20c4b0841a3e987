// The first page: what is in work, what runs now, and the three sentences of a first visit.

import { ask } from "./ask.js";
import { byId, make, write } from "./dom.js";
import { leftText, whenText } from "./time.js";
import { TWIN_FIRST } from "./waiting.js";

const SEEN = "first-visit-read";
const AGAIN_ms = 5000;
/** Sheets that are shown here; the others are in their room. */
const MOST = 6;

function firstVisit() {
  if (localStorage.getItem(SEEN)) return;
  byId("first-visit").hidden = false;
  const read = () => {
    localStorage.setItem(SEEN, "yes");
    byId("first-visit").hidden = true;
  };
  byId("first-seen").addEventListener("click", () => {
    read();
    byId("main").focus();
  });
  byId("first-visit").querySelector("a")?.addEventListener("click", read);
}

/** @param {string} href @param {string} machine @param {...(Node | string | false)} words */
function tile(href, machine, ...words) {
  const picture = make("img", { src: `/portraits/${encodeURIComponent(machine)}.svg`, alt: "", width: 84, height: 84 });
  picture.addEventListener("error", () => (picture.hidden = true));
  return make("li", {}, make("a", { class: "tile lying", href }, picture, make("span", { class: "words" }, ...words)));
}

/** @param {{id: string, machine: string, title: string, label: string, changed: string, leading: string, demo: boolean}} sheet */
function sheetTile(sheet) {
  const label = sheet.demo ? "" : sheet.label;
  return tile(
    `/findings/${encodeURIComponent(sheet.id)}`,
    sheet.machine,
    sheet.demo && make("span", { class: "teaching" }, "Demonstration"),
    make("strong", {}, label || sheet.title),
    label ? make("span", { class: "soft" }, sheet.title) : false,
    sheet.leading ? make("span", {}, make("span", { class: "soft" }, "Most likely: "), sheet.leading) : false,
    make("span", { class: "soft" }, whenText(sheet.changed)),
  );
}

/** @param {{stand: string, machine?: string, title: string, teaching?: boolean}} one */
function standTile(one) {
  return tile(
    `/running/${encodeURIComponent(one.stand)}`,
    one.machine ?? one.stand.split("~")[0],
    make("strong", {}, one.title),
    one.teaching ? make("span", { class: "teaching" }, "A fault is put in") : false,
  );
}

/** Fill a list, unless it shows that already. @param {HTMLElement} place @param {any[]} things
 * @param {(thing: any) => Node} shown @param {string} empty @param {Node | false} [more] */
function fill(place, things, shown, empty, more = false) {
  const now = JSON.stringify(things);
  if (place.dataset.shown === now) return;
  place.dataset.shown = now;
  const items = things.length ? things.map(shown) : [make("li", { class: "empty" }, empty)];
  place.replaceChildren(...items, ...(more ? [more] : []));
}

async function showWork() {
  const sheets = await ask("GET", "/api/findings");
  const left = sheets.length - MOST;
  const more =
    left > 0 && make("li", {}, make("a", { class: "key", href: "/findings" }, `All ${sheets.length} sheets`));
  fill(
    byId("in-work"),
    sheets.slice(0, MOST),
    sheetTile,
    "No machine is in work. Press “A machine came in” to begin.",
    more,
  );
}

async function showRunning() {
  const stands = await ask("GET", "/api/running");
  fill(byId("running-now"), stands, standTile, "No machine runs. Press “Watch it run” to choose one.");
}

/** While the twin is compiled for this computer, once for all: how long that still takes. */
async function showReadying() {
  const place = byId("readying");
  const path = `/api/machines/${place.dataset.machine}/readiness`;
  let found = await ask("GET", path);
  if (found.twin === "compiling" && !found.building && !found.fault) found = await ask("POST", path);
  const compiling = found.twin === "compiling" && found.building;
  place.hidden = !compiling;
  if (!compiling) return;
  write(place, `${TWIN_FIRST}: about ${leftText(found.left_s ?? 60)} left. You can begin a sheet meanwhile.`);
}

async function look() {
  if (!document.hidden) await Promise.allSettled([showWork(), showRunning(), showReadying()]);
  setTimeout(look, AGAIN_ms);
}

firstVisit();
look();
