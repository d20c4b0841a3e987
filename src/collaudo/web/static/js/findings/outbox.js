// What is entered is kept here until the server has it: it stands in the browser's own store, so that a reload,
// a lost line or a power cut takes nothing. Every entry has a name of its own, so that it may be sent twice.

import { ask, Refused } from "../ask.js";

const FIRST_WAIT_ms = 1000;
const LONGEST_WAIT_ms = 5000;

/** @typedef {{entry: string, kind: string} & Record<string, any>} Entry */
/** @typedef {{entry: Entry, said: string}} NotTaken */

/** A name no other entry has. Not `crypto.randomUUID`: over a plain line of the shop that is not there. */
export function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** @param {string} kind @param {Record<string, any>} told @returns {Entry} */
export function newEntry(kind, told) {
  return { entry: newName(), at: new Date().toISOString(), kind, ...told };
}

/** Lists there was no room for in the browser's store: they last as long as the page. @type {Map<string, string>} */
const noRoom = new Map();

/** Read a list out of the browser's store. @param {string} name @returns {any[]} */
export function readList(name) {
  try {
    const list = JSON.parse(noRoom.get(name) ?? localStorage.getItem(name) ?? "[]");
    return Array.isArray(list) ? list : [];
  } catch {
    return [];
  }
}

/** @param {string} name @param {any[]} list */
export function writeList(name, list) {
  noRoom.delete(name);
  if (!list.length) return localStorage.removeItem(name);
  try {
    localStorage.setItem(name, JSON.stringify(list));
  } catch {
    noRoom.set(name, JSON.stringify(list));
  }
}

export class Outbox extends EventTarget {
  #sending = false;
  #wait_ms = FIRST_WAIT_ms;
  #clock = 0;

  /** @param {string} sheet */
  constructor(sheet) {
    super();
    this.sheet = sheet;
    this.place = `outbox:${sheet}`;
    addEventListener("online", () => this.send());
    document.addEventListener("line-back", () => this.send());
    document.addEventListener("visibilitychange", () => document.hidden || this.send());
    addEventListener("storage", (event) => event.key === this.place && this.#tell());
  }

  /** What the server has not said it has. @returns {Entry[]} */
  get waiting() {
    return readList(this.place);
  }

  /** What the server cannot take, and why; kept until it was seen. @returns {NotTaken[]} */
  get notTaken() {
    return readList(`not-taken:${this.sheet}`);
  }

  /** @param {string} entry */
  seen(entry) {
    writeList(
      `not-taken:${this.sheet}`,
      this.notTaken.filter((one) => one.entry.entry !== entry),
    );
  }

  /** Keep entries and send them. @param {...Entry} entries */
  add(...entries) {
    writeList(this.place, [...this.waiting, ...entries]);
    this.#tell();
    this.send();
  }

  /** Send what waits, in order, until it is heard. */
  async send() {
    clearTimeout(this.#clock);
    if (this.#sending) return;
    this.#sending = true;
    try {
      for (let batch = this.waiting; batch.length; batch = this.waiting) await this.#deliver(batch);
      this.#wait_ms = FIRST_WAIT_ms;
    } catch {
      this.#clock = setTimeout(() => this.send(), this.#wait_ms);
      this.#wait_ms = Math.min(LONGEST_WAIT_ms, this.#wait_ms * 1.5);
    } finally {
      this.#sending = false;
    }
  }

  /** Throws where it should be tried again. @param {Entry[]} batch */
  async #deliver(batch) {
    try {
      const heard = await ask(
        "POST",
        `/api/findings/${this.sheet}/entries`,
        { entries: batch },
        AbortSignal.timeout(15_000),
      );
      this.#forget(batch);
      this.dispatchEvent(new CustomEvent("heard", { detail: heard }));
      this.#tell();
    } catch (fault) {
      if (!(fault instanceof Refused) || fault.status >= 500 || fault.status === 401 || fault.status === 403)
        throw fault;
      // One of them cannot be taken: each alone tells which.
      if (batch.length > 1) for (const one of batch) await this.#deliver([one]);
      else {
        writeList(`not-taken:${this.sheet}`, [...this.notTaken, { entry: batch[0], said: fault.message }]);
        this.#forget(batch);
        this.#tell();
      }
    }
  }

  /** @param {Entry[]} batch */
  #forget(batch) {
    const names = new Set(batch.map((one) => one.entry));
    writeList(
      this.place,
      this.waiting.filter((one) => !names.has(one.entry)),
    );
  }

  #tell() {
    this.dispatchEvent(new CustomEvent("changed"));
  }
}
