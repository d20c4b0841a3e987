// The file as text: line numbers, marks at lines with something wrong, help for the word at the cursor.

import { ask } from "../ask.js";
import { make } from "../dom.js";

const HELP_AFTER_ms = 250;

/** The text with its line numbers. */
export class TextPane {
  /** @param {HTMLTextAreaElement} field @param {string} machine */
  constructor(field, machine) {
    this.field = field;
    this.machine = machine;
    this.lines = /** @type {HTMLElement} */ (field.parentElement?.querySelector(".lines"));
    this.help = /** @type {HTMLElement} */ (document.getElementById("word-help"));
    /** @type {Set<number>} */
    this.wrong = new Set();
    this.count = 0;
    field.addEventListener("input", () => this.number());
    field.addEventListener("scroll", () => (this.lines.scrollTop = field.scrollTop));
    for (const event of ["keyup", "click", "focus"]) field.addEventListener(event, () => this.#helpSoon());
    this.number();
  }

  /** Number the lines anew. @param {boolean} [always] */
  number(always = false) {
    const count = this.field.value.split("\n").length;
    if (count === this.count && !always) return;
    this.count = count;
    const rows = [];
    for (let line = 1; line <= count; line += 1) {
      if (this.wrong.has(line)) {
        rows.push(make("b", {}, `! ${line}`), "\n");
      } else rows.push(`${line}\n`);
    }
    this.lines.replaceChildren(...rows);
    this.lines.scrollTop = this.field.scrollTop;
  }

  /** Mark lines with something wrong. @param {number[]} lines */
  mark(lines) {
    this.wrong = new Set(lines);
    this.number(true);
  }

  /** Put the cursor at a line and show it. @param {number} line */
  goTo(line) {
    const before = this.field.value.split("\n").slice(0, line - 1);
    const at = before.reduce((sum, one) => sum + one.length + 1, 0);
    const end = this.field.value.indexOf("\n", at);
    this.field.focus();
    this.field.setSelectionRange(at, end < 0 ? this.field.value.length : end);
    const height = this.field.scrollHeight / Math.max(1, this.count);
    this.field.scrollTop = Math.max(0, (line - 6) * height);
    this.#helpSoon();
  }

  #helpSoon() {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => void this.#askHelp(), HELP_AFTER_ms);
  }

  async #askHelp() {
    const text = this.field.value;
    const above = text.slice(0, this.field.selectionStart);
    const line = above.split("\n").length;
    const column = above.length - (above.lastIndexOf("\n") + 1);
    const asked = `${line}:${column}:${text.length}`;
    if (asked === this.asked) return;
    this.asked = asked;
    try {
      const found = await ask("POST", "/api/machines/help", { text, line, column, machine: this.machine });
      if (this.asked === asked) this.#showHelp(found);
    } catch {
      this.asked = "";
    }
  }

  /** @param {{word: string, says: string, can_be: string[]}} found */
  #showHelp(found) {
    const says = found.says || (found.can_be.length ? "Here can stand:" : "Nothing is known of this word here.");
    const parts = [make("p", {}, says)];
    if (found.word) parts.unshift(make("p", { class: "word" }, found.word));
    if (found.can_be.length)
      parts.push(
        make(
          "ul",
          {},
          found.can_be.map((one) => make("li", {}, one)),
        ),
      );
    this.help.replaceChildren(...parts);
  }
}
