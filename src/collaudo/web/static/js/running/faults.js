// Faults put in for teaching: a cause, how bad, in and out again. What is in can be hidden for a quiz.

import { button, make, place, write } from "../dom.js";
import { searchFor } from "../search.js";

/** @typedef {{cause: string, title: string, part: string, why: string, cold_only: boolean}} Cause */
/** @typedef {import("./socket.js").States} States */

const WORDS = /** @type {[string, number][]} */ ([
  ["slight", 0.2],
  ["plain", 0.5],
  ["bad", 0.9],
]);
const PLAIN = 0.5;
const HOW =
  "Choose a cause; it works at once, while the machine runs. It is for teaching: nothing of it goes to findings.";
const ANEW =
  "It opens or closes a way of its own: a cold machine with it takes the place of this one, and again when it is taken out.";

export class Faults {
  /** @param {import("./circuit.js").Layout} layout @param {(what: object) => boolean} send */
  constructor(layout, send) {
    this.layout = layout;
    this.send = send;
    this.faults = /** @type {States["faults"]} */ ([]);
    this.chosen = /** @type {Cause | null} */ (null);
    this.own = new Set();
    this.root = make("div", { class: "faults" });
    this.build();
  }

  build() {
    this.search = /** @type {HTMLInputElement} */ (
      make("input", { type: "search", id: "cause-search", autocomplete: "off", placeholder: "a word, such as jet" })
    );
    this.search.addEventListener("input", () => this.list());
    this.filter = /** @type {HTMLSelectElement} */ (
      make("select", { id: "cause-part" }, [make("option", { value: "" }, ["any part"]), ...this.partOptions()])
    );
    this.filter.addEventListener("change", () => this.list());
    this.found = make("ul", { class: "choices-list" });
    this.count = make("p", { class: "soft", role: "status" });
    this.detail = make("div", { class: "detail" });
    this.hide = /** @type {HTMLInputElement} */ (make("input", { type: "checkbox", id: "quiz" }));
    this.hide.addEventListener("change", () => {
      if (!this.send({ hide: this.hide?.checked }) && this.hide) this.hide.checked = !this.hide.checked;
    });
    this.inside = make("div", { class: "inside" });
    const fields = make("div", { class: "search-row" }, [
      make("div", {}, [make("label", { for: "cause-search" }, ["Search a cause"]), this.search]),
      make("div", {}, [make("label", { for: "cause-part" }, ["Of the part"]), this.filter]),
    ]);
    const quiz = make("p", { class: "quiz" }, [
      this.hide,
      make("label", { for: "quiz" }, ["Hide what was put in on every screen, for a quiz"]),
    ]);
    this.root.replaceChildren(
      make("div", { class: "fault-choice" }, [fields, this.count, this.found]),
      make("div", { class: "fault-now" }, [this.detail, make("h2", {}, ["Put in now"]), this.inside, quiz]),
    );
    this.list();
    this.tellDetail();
    this.tellIn();
  }

  /** The causes of a layout. @param {import("./circuit.js").Layout} layout */
  renew(layout) {
    this.layout = layout;
    this.list();
  }

  partOptions() {
    const titles = new Map(this.layout.parts.map(({ part, title }) => [part, title]));
    const parts = [...new Set(this.layout.causes.map((one) => one.part))].filter(Boolean);
    return parts.sort().map((part) => make("option", { value: part }, [titles.get(part) ?? part.replaceAll("_", " ")]));
  }

  /** Those that fit what is searched. */
  list() {
    const searched = searchFor(this.search?.value ?? "");
    const part = this.filter?.value ?? "";
    const fits = this.layout.causes.filter((one) => {
      const text = `${one.title} ${one.part.replaceAll("_", " ")} ${one.why}`;
      return (!part || one.part === part) && searched(text);
    });
    if (this.count)
      write(
        this.count,
        fits.length
          ? `${fits.length} of ${this.layout.causes.length} causes`
          : "No cause has these words. Try the part's name alone.",
      );
    this.found?.replaceChildren(
      ...fits.map((one) =>
        make("li", {}, [
          button(one.title, () => this.choose(one.cause), { "aria-pressed": String(one === this.chosen) }),
        ]),
      ),
    );
  }

  /** @param {string} cause */
  choose(cause) {
    this.chosen = this.layout.causes.find((one) => one.cause === cause) ?? null;
    this.list();
    this.tellDetail();
  }

  /** The cause chosen, how bad, and the key that puts it in. */
  tellDetail() {
    const one = this.chosen;
    if (!one) {
      this.detail?.replaceChildren(make("p", { class: "soft" }, [HOW]));
      return;
    }
    const slider = /** @type {HTMLInputElement} */ (
      make("input", { type: "range", id: "severity", min: 0, max: 1, step: 0.05, value: PLAIN })
    );
    const told = make("output", { for: "severity", class: "number" }, [PLAIN.toFixed(2)]);
    const words = WORDS.map(([word, severity]) =>
      button(
        word,
        () => {
          slider.value = String(severity);
          slider.dispatchEvent(new Event("input"));
        },
        { "aria-pressed": String(severity === PLAIN) },
      ),
    );
    slider.addEventListener("input", () => {
      write(told, Number(slider.value).toFixed(2));
      words.forEach((made, n) => made.setAttribute("aria-pressed", String(Number(slider.value) === WORDS[n][1])));
    });
    const put = button(
      "Put it in",
      () => {
        this.own.add(one.cause);
        this.send({ put_in: { cause: one.cause, severity: Number(slider.value) } });
      },
      { class: "first" },
    );
    const cold = one.cold_only ? [make("p", { class: "soft" }, [ANEW])] : [];
    this.detail?.replaceChildren(
      make("h2", {}, [one.title]),
      make("p", {}, [one.why]),
      ...cold,
      make("label", { for: "severity" }, ["How bad: from just noticeable (0) to worst (1)"]),
      make("div", { class: "severity" }, [...words, slider, told]),
      put,
    );
  }

  /** @param {States} states */
  states(states) {
    this.faults = states.faults;
    if (this.hide) this.hide.checked = states.hidden ?? false;
    this.tellIn();
  }

  /** What is in; by name only where it is not hidden, or was put in here. */
  tellIn() {
    const count = this.faults.length;
    const number = count === 1 ? "One fault is in" : `${count} faults are in`;
    if (count === 0)
      this.inside?.replaceChildren(make("p", { class: "soft" }, ["No fault is in: the machine is sound."]));
    else if (this.hide?.checked) this.inside?.replaceChildren(make("p", {}, [`${number}, hidden.`]), this.outAll());
    else if (this.faults.every(({ cause }) => this.own.has(cause) || this.shown))
      this.inside?.replaceChildren(...this.faults.map((one) => this.row(one)));
    else
      this.inside?.replaceChildren(
        make("p", {}, [`${number}, put in elsewhere.`]),
        button("Show which", () => this.show()),
        this.outAll(),
      );
  }

  show() {
    this.shown = true;
    this.tellIn();
  }

  /** @param {{cause: string, title: string, severity: number}} one */
  row({ cause, title, severity }) {
    const out = button("Take it out", () => this.send({ take_out: cause }), { "aria-label": `Take it out: ${title}` });
    return make("p", { class: "fault-in" }, [
      make("span", {}, [title]),
      make("span", { class: "number" }, [severity.toFixed(2)]),
      out,
    ]);
  }

  outAll() {
    return button("Take all out", () => this.send({ take_out_all: true }));
  }
}

/** The banner and the mark over the circuit. @param {boolean} teaching */
export function markTeaching(teaching) {
  place("teaching").hidden = !teaching;
  const mark = place("watermark");
  mark.hidden = !teaching;
  if (teaching && !mark.childElementCount)
    mark.append(...Array.from({ length: 6 }, () => make("span", {}, ["teaching: fault put in"])));
}
