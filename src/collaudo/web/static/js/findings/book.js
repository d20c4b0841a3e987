// One findings sheet as this page knows it: what the server has, what is on its way, and the answer to it.

import { ask, askUntilHeard, Refused } from "../ask.js";
import { folded } from "./folded.js";
import { newEntry, Outbox } from "./outbox.js";

const LOOK_AGAIN_ms = 4000;
const BUILDING_ms = 2000;

export class Book extends EventTarget {
  /** @param {string} id */
  constructor(id) {
    super();
    this.id = id;
    /** @type {Record<string, any> | null} */
    this.sheet = null;
    /** @type {Record<string, any> | null} */
    this.answer = null;
    /** @type {Record<string, any> | null} */
    this.words = null;
    /** @type {Map<string, any>} check -> its card, as last heard */
    this.cards = new Map();
    this.gone = "";
    this.outbox = new Outbox(id);
    this.outbox.addEventListener("changed", () => this.#tell());
    this.outbox.addEventListener("heard", (event) => this.#heard(/** @type {CustomEvent} */ (event).detail));
    this.told = false;
  }

  /** The sheet with what is on its way. */
  get view() {
    return this.sheet && folded(this.sheet, this.outbox.waiting, (check, reading) => this.named(check, reading));
  }

  /** Ask for the sheet and its answer, send what waits, and go on looking. */
  async open() {
    this.outbox.send();
    const [sheet, answer] = await Promise.all([
      askUntilHeard("GET", `/api/findings/${this.id}`),
      askUntilHeard("GET", `/api/findings/${this.id}/answer`),
    ]);
    this.#heard({ sheet, answer });
    setTimeout(() => this.#goOnLooking(), LOOK_AGAIN_ms);
    const look = () => document.hidden || this.look();
    document.addEventListener("visibilitychange", look);
    addEventListener("focus", look);
    document.addEventListener("line-back", look);
  }

  /** Write something into the sheet; it shows at once and is sent until heard. @param {string} kind
   * @param {Record<string, any>} told */
  enter(kind, told = {}) {
    const entry = newEntry(kind, told);
    this.outbox.add(entry);
    return entry.entry;
  }

  /** Take back what was entered last, by its name: an undo that comes late takes back nothing else. `said` is what
   * the page says it takes back: where somebody else has written since, nothing is taken back, and the page shows
   * what is new. @param {string} said */
  async undo(said) {
    const own = this.ownLast;
    if (own) return this.enter("undo", { of: own.entry });
    await this.look(); // where the line is lost, what was last heard counts
    if (this.sheet?.undo === said && !this.isTakenBack) this.enter("undo", { of: this.sheet.undo_of });
  }

  /** What was entered here last, waits for the line, and was not taken back. */
  get ownLast() {
    const gone = new Set(this.outbox.waiting.filter((one) => one.kind === "undo").map((one) => one.of));
    return this.outbox.waiting.filter((one) => one.kind !== "undo" && !gone.has(one.entry)).at(-1);
  }

  /** Whether what the server has last is being taken back already. */
  get isTakenBack() {
    return this.outbox.waiting.some((one) => one.kind === "undo" && one.of === this.sheet?.undo_of);
  }

  /** Words of the machine, asked for when first needed. */
  async needWords() {
    this.words ??= await askUntilHeard("GET", `/api/machines/${this.sheet?.machine}/words`);
    for (const card of this.words?.checks ?? []) {
      // What an answer told of a check counts more: ranges, and minutes from the machine's condition now.
      const known = this.cards.get(card.check);
      const { title, why, steps, cautions } = card;
      this.cards.set(card.check, known ? { ...known, title, why, steps, cautions } : card);
    }
    return /** @type {Record<string, any>} */ (this.words);
  }

  /** Other units were chosen: what is said in them is asked for anew. */
  async tellAnew() {
    const had = this.words !== null;
    this.words = null;
    await this.look(true);
    if (had) await this.needWords();
    this.#tell();
  }

  /** How a reading is called. @param {string} check @param {string} reading */
  named(check, reading) {
    const card = this.cards.get(check);
    const one = card?.readings.find((/** @type {any} */ row) => row.reading === reading);
    return { title: one?.title ?? reading, unit: one?.unit ?? "", check_title: card?.title ?? check };
  }

  /** Look whether somebody else wrote into the sheet. @param {boolean} [anyway] ask for the answer even so */
  async look(anyway = false) {
    try {
      const sheet = await ask("GET", `/api/findings/${this.id}`, undefined, AbortSignal.timeout(10_000));
      const isNew = sheet.count !== this.sheet?.count;
      if (!isNew && !anyway && !this.answer?.building) return;
      this.#heard({
        sheet,
        answer: await ask("GET", `/api/findings/${this.id}/answer`, undefined, AbortSignal.timeout(15_000)),
      });
    } catch (fault) {
      if (fault instanceof Refused && fault.status === 404) {
        this.gone = fault.message;
        this.#tell();
      }
    }
  }

  async #goOnLooking() {
    if (!document.hidden) await this.look();
    setTimeout(() => this.#goOnLooking(), this.answer?.building ? BUILDING_ms : LOOK_AGAIN_ms);
  }

  /** @param {{sheet: any, answer: any}} heard */
  #heard({ sheet, answer }) {
    // An answer that was overtaken on the way tells of an older sheet.
    if (this.sheet && sheet.count < this.sheet.count) return;
    this.sheet = sheet;
    this.answer = answer;
    for (const card of [...answer.others, answer.alternative, answer.next]) if (card) this.cards.set(card.check, card);
    this.#tell();
  }

  /** Once for everything that happens at one moment. */
  #tell() {
    if (this.told || !this.sheet) return;
    this.told = true;
    queueMicrotask(() => {
      this.told = false;
      this.dispatchEvent(new CustomEvent("changed"));
    });
  }
}
