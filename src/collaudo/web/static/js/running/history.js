// Series over time for the strips: what the server has kept, then what frames bring; never more than can be seen.

import { ask } from "../ask.js";

/** @typedef {import("./socket.js").Frame} Frame */

const MOST_POINTS = 1500;

export class History {
  /** @param {string} stand @param {{name: string}[]} values @param {() => void} changed */
  constructor(stand, values, changed) {
    this.stand = stand;
    this.values = values;
    this.changed = changed;
    this.names = /** @type {string[]} */ ([]);
    this.span_s = 120;
    this.t = /** @type {number[]} */ ([]);
    this.series = /** @type {Record<string, number[]>} */ ({});
    this.asked = 0;
    this.now_s = 0;
  }

  /** Other series or another span: ask for them anew. @param {string[]} names @param {number} span_s */
  async choose(names, span_s) {
    this.names = names;
    this.span_s = span_s;
    await this.fetch();
  }

  /** What the server has kept. */
  async fetch() {
    const asked = (this.asked += 1);
    this.t = [];
    this.series = Object.fromEntries(this.names.map((name) => [name, []]));
    if (!this.names.length) return this.changed();
    const since = Math.max(0, this.now_s - this.span_s);
    const query = new URLSearchParams({ names: this.names.join(","), since: since.toFixed(1) });
    try {
      const told = await ask("GET", `/api/running/${encodeURIComponent(this.stand)}/history?${query}`);
      if (asked !== this.asked) return;
      const later = this.t.findIndex((t) => t > (told.t.at(-1) ?? -1));
      const kept = later < 0 ? this.t.length : later;
      for (const name of this.names) this.series[name] = [...told.values[name], ...this.series[name].slice(kept)];
      this.t = [...told.t, ...this.t.slice(kept)];
    } catch {
      return; // frames go on bringing what is new
    }
    this.changed();
  }

  /** @param {Frame} frame @param {boolean} fresh whether its values came with it */
  add(frame, fresh) {
    if (frame.t < this.now_s - 1e-6) this.back(frame.t);
    this.now_s = frame.t;
    if (!fresh || !frame.v || !this.names.length) return;
    if (frame.t - (this.t.at(-1) ?? -Infinity) < this.span_s / MOST_POINTS) return;
    this.t.push(frame.t);
    for (const name of this.names) this.series[name].push(frame.v[this.values.findIndex((one) => one.name === name)]);
    const gone = this.t.findIndex((t) => t >= frame.t - this.span_s) - 1;
    if (gone > 200) {
      this.t.splice(0, gone);
      for (const name of this.names) this.series[name].splice(0, gone);
    }
  }

  /** The machine went back to an earlier moment. @param {number} t */
  back(t) {
    this.now_s = t;
    this.fetch();
  }
}
