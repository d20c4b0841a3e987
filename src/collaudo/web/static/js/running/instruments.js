// What is read beside the circuit: gauges, the clock of the machine, what stands in tank and cup, what has current.

import { make, place, write } from "../dom.js";
import { clockText } from "../time.js";
import { quantityText } from "../units.js";
import { Dial } from "./dial.js";
import { knownParts, stateWords } from "./parts.js";

/** @typedef {import("./socket.js").Frame} Frame */
/** @typedef {import("./circuit.js").Layout} Layout */

const HOLDERS = ["tank", "receiver", "drip_tray"];
const BOARDS = ["level_control", "dose_control", "temperature_controller"]; // always on while there is power

export class Instruments {
  /** @param {Layout} layout @param {(part: string) => void} touched */
  constructor(layout, touched) {
    this.frame = /** @type {Frame | null} */ (null);
    this.touched = touched;
    this.time = make("span", { class: "digits" }, ["–"]);
    this.pace = make("span", { class: "soft pace-said" }, ["…"]);
    place("clock").replaceChildren(
      make("span", { class: "clock-title" }, ["Since it stood cold"]),
      this.time,
      this.pace,
    );
    this.renew(layout);
    document.addEventListener("units-chosen", () => {
      for (const dial of this.dials ?? []) dial.draw();
      if (this.frame) this.paint(this.frame);
    });
  }

  /** Dials and rows of a layout. @param {Layout} layout */
  renew(layout) {
    this.frame = null;
    this.dials = layout.gauges.map((gauge) => new Dial(gauge, this.touched));
    place("dials").replaceChildren(...this.dials.map((dial) => dial.root));
    this.rows = [...holders(layout), ...loads(layout)];
    place("readouts").replaceChildren(
      list(this.rows.filter((row) => row.meter)),
      list(this.rows.filter((row) => !row.meter)),
    );
  }

  /** @param {Frame} frame */
  paint(frame) {
    this.frame = frame;
    this.dials?.forEach((dial, n) => dial.paint(frame.g[n]));
    write(this.time, clockText(frame.t));
    const behind = frame.behind ? ", the computer cannot keep up" : "";
    const going =
      frame.warming === undefined
        ? `runs ${frame.speed}×${behind}`
        : `heats through, ${Math.ceil(frame.warming)} min of its time left`;
    write(this.pace, frame.goes || frame.warming !== undefined ? going : "paused");
    for (const row of this.rows ?? []) row.paint(frame);
  }
}

/** What holds water and can be seen: tank, cups, tray. @param {Layout} layout */
function holders(layout) {
  const seen = layout.parts.filter(({ part, kind }) => HOLDERS.includes(kind) && !/^room/.test(part));
  return seen.flatMap(({ part, title }) => {
    const at = layout.values.findIndex((one) => one.name === `${part}_g`);
    if (at < 0) return [];
    const digits = make("span", { class: "number" }, ["–"]);
    const meter = /** @type {HTMLMeterElement} */ (
      make("meter", { min: 0, max: 1, "aria-label": `${title}, how full` })
    );
    const root = make("li", {}, [make("span", { class: "row-title" }, [title]), meter, digits]);
    const paint = (/** @type {Frame} */ frame) => {
      const share = frame.lv[part];
      meter.classList.toggle("none", share === undefined);
      if (share !== undefined) meter.value = share;
      if (frame.v) write(digits, quantityText(frame.v[at], "g"));
    };
    return [{ root, paint, meter: true }];
  });
}

/** What takes current, and whether it acts. @param {Layout} layout */
function loads(layout) {
  return knownParts(layout)
    .filter((one) => one.load.length && !BOARDS.includes(one.kind))
    .map((one) => {
      const sign = make("span", { class: "sign", "aria-hidden": "true" });
      const word = make("span", { class: "number" }, ["–"]);
      const root = make("li", { class: "load" }, [sign, make("span", { class: "row-title" }, [one.title]), word]);
      const paint = (/** @type {Frame} */ frame) => {
        const on = one.load.some((k) => frame.on[k]);
        if (root.classList.contains("on") !== on) root.classList.toggle("on", on);
        const told =
          one.seat >= 0 ? (on ? "has current" : "no current") : stateWords({ ...one, seat: -1, gauge: -1 }, frame);
        write(word, told);
      };
      return { root, paint, meter: false };
    });
}

/** @param {{root: HTMLElement}[]} rows */
function list(rows) {
  return make(
    "ul",
    { class: "rows" },
    rows.map((row) => row.root),
  );
}
