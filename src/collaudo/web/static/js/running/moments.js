// Moments kept to come back to; a cold machine again; hot at once.

import { ask } from "../ask.js";
import { clockText } from "./instruments.js";
import { say } from "./events.js";
import { el, key } from "./make.js";

/** @typedef {import("./socket.js").States} States */

export class Moments {
  /** @param {(what: object) => boolean} send @param {string} machine */
  constructor(send, machine) {
    this.send = send;
    this.machine = machine;
    this.saved = /** @type {States["saved"]} */ ([]);
    this.name = /** @type {HTMLInputElement} */ (el("input", { type: "text", id: "moment-name", maxlength: 40, autocomplete: "off" }));
    this.list = el("ul", { class: "moments" });
    this.cold = el("div", {});
    const form = el("form", { class: "moment-form" }, [
      el("div", {}, [el("label", { for: "moment-name" }, ["Name of this moment (may stay empty)"]), this.name]),
      el("button", { class: "first" }, ["Keep this moment"]),
    ]);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (this.send({ save: this.name.value.trim() || this.free() })) this.name.value = "";
    });
    this.root = el("div", { class: "moments-panel" }, [
      el("div", {}, [form, this.list]),
      el("div", {}, [
        key("Hot at once", () => this.send({ warm: true })),
        el("p", { class: "soft" }, ["Lets it heat through until it is at rest, quickly."]),
        this.cold,
        key("A stand of my own", () => this.own()),
        el("p", { class: "soft" }, ["The same machine, cold, worked by you alone."]),
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
      el("li", {}, [
        el("span", {}, [name]),
        el("span", { class: "number" }, [clockText(t)]),
        key("Back to it", () => this.send({ back: name }), { "aria-label": `Back to it: ${name}` }),
      ]),
    );
    const empty = [el("li", { class: "soft" }, ["None is kept yet. Keep one before you try something: you can come back to it."])];
    this.list.replaceChildren(...(rows.length ? rows : empty));
  }

  askNothing() {
    this.cold.replaceChildren(key("Cold again", () => this.askCold()));
  }

  askCold() {
    const yes = key("Yes, cold again", () => {
      this.send({ renew: true });
      this.askNothing();
    }, { class: "first" });
    this.cold.replaceChildren(
      el("p", {}, ["A cold machine takes its place, for everyone who watches it. Kept moments stay."]),
      el("div", { class: "keys" }, [yes, key("No", () => this.askNothing())]),
    );
    yes.focus();
  }
}
