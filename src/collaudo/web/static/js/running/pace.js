// How time passes: go and pause, steps while it is paused, how fast it runs.

import { button, make, place, write } from "../dom.js";

/** @typedef {import("./socket.js").Frame} Frame */

const STEPS_s = [1, 10];
const TRUST_ms = 1200; // how long what was asked for is shown before what the server says counts again

export class Pace {
  /** @param {number[]} speeds @param {(what: object) => boolean} send */
  constructor(speeds, send) {
    this.send = send;
    this.goes = true;
    this.asked_ms = -Infinity;
    this.go = button("Pause", () => this.toggle(), { class: "first go" });
    this.steps = STEPS_s.map((s) => button(`Step ${s} s`, () => this.send({ step: s }), { disabled: true }));
    this.speeds = speeds.map((speed) => this.speedKey(speed));
    const legend = make("legend", { class: "unseen" }, ["Times as fast"]);
    const pick = make("fieldset", { class: "pick speeds" }, [legend, ...this.speeds.map((one) => one.label)]);
    place("pace").replaceChildren(this.go, ...this.steps, pick);
  }

  /** @param {number} speed */
  speedKey(speed) {
    const input = /** @type {HTMLInputElement} */ (
      make("input", { type: "radio", name: "speed", value: speed, "aria-label": `${speed} times as fast` })
    );
    input.addEventListener("change", () => {
      this.asked_ms = performance.now();
      this.send({ speed });
    });
    return { speed, input, label: make("label", {}, [input, make("span", { "aria-hidden": "true" }, [`${speed}×`])]) };
  }

  toggle() {
    if (!this.send({ goes: !this.goes })) return;
    this.asked_ms = performance.now();
    this.show(!this.goes);
  }

  /** @param {boolean} goes */
  show(goes) {
    this.goes = goes;
    write(this.go, goes ? "Pause" : "Go");
    for (const step of this.steps) if (step.disabled !== goes) step.disabled = goes;
  }

  /** @param {Frame} frame */
  paint(frame) {
    if (performance.now() - this.asked_ms < TRUST_ms) return;
    if (frame.goes !== this.goes) this.show(frame.goes);
    const now = this.speeds.find((one) => one.speed === frame.speed);
    if (now && !now.input.checked) now.input.checked = true;
  }
}
