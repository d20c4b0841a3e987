// Moments kept to come back to; a cold machine again; hot at once.

import { ask } from "../ask.js";
import { button, make } from "../dom.js";
import { clockText } from "../time.js";
import { say } from "./events.js";

/** @typedef {import("./socket.js").States} States */

export class Moments {
  /** @param {(what: object) => boolean} send @param {string} machine */
  constructor(send, machine) {
    this.send = send;
    this.machine = machine;
    this.saved = /** @type {States["saved"]} */ ([]);
    this.name = /** @type {HTMLInputElement} */ (
      make("input", { type: "text", id: "moment-name", maxlength: 40, autocomplete: "off" })
    );
    this.list = make("ul", { class: "moments" });
    this.cold = make("div", {});
    const form = make("form", { class: "moment-form" }, [
      make("div", {}, [make("label", { for: "moment-name" }, ["Name of this moment (may stay empty)"]), this.name]),
      make("button", { class: "first" }, ["Keep this moment"]),
    ]);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (this.send({ save: this.name.value.trim() || this.free() })) this.name.value = "";
    });
    this.root = make("div", { class: "moments-panel" }, [
      make("div", {}, [form, this.list]),
      make("div", {}, [
        button("Hot at once", () => this.send({ warm: true })),
        make("p", { class: "soft" }, ["Lets it heat through until it is at rest, quickly."]),
        this.cold,
        button("A stand of my own", () => this.own()),
        make("p", { class: "soft" }, ["The same machine, cold, worked by you alone."]),
      ]),
    ]);
    this.askNothing();
    this.tell();
  }

  async own() {
    try {
      const { stand } = await ask("POST", "/api/running", { machine: this.machine });
      location.assign(`/running/${encodeURIComponent(stand)}`);
    } catch (fault) {
      say(fault instanceof TypeError ? "No line to the bench computer." : /** @type {Error} */ (fault).message);
    }
  }

  /** A name that is not taken. */
  free() {
    const taken = new Set(this.saved.map((one) => one.name));
    let n = 1;
    while (taken.has(`moment ${n}`)) n += 1;
    return `moment ${n}`;
  }

  /** @param {States} states */
  states(states) {
    if (JSON.stringify(states.saved) === JSON.stringify(this.saved)) return;
    this.saved = states.saved;
    this.tell();
  }

  tell() {
    const rows = this.saved.map(({ name, t }) =>
      make("li", {}, [
        make("span", {}, [name]),
        make("span", { class: "number" }, [clockText(t)]),
        button("Back to it", () => this.send({ back: name }), { "aria-label": `Back to it: ${name}` }),
      ]),
    );
    const empty = [
      make("li", { class: "soft" }, ["None is kept yet. Keep one before you try something: you can come back to it."]),
    ];
    this.list.replaceChildren(...(rows.length ? rows : empty));
  }

  askNothing() {
    this.cold.replaceChildren(button("Cold again", () => this.askCold()));
  }

  askCold() {
    const yes = button(
      "Yes, cold again",
      () => {
        this.send({ renew: true });
        this.askNothing();
      },
      { class: "first" },
    );
    this.cold.replaceChildren(
      make("p", {}, ["A cold machine takes its place, for everyone who watches it. Kept moments stay."]),
      make("div", { class: "keys" }, [yes, button("No", () => this.askNothing())]),
    );
    yes.focus();
  }
}
