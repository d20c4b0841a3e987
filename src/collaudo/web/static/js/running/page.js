// The live bench of one stand: fetches its layout, opens the line, hands frames to whoever shows them.

import { ask, Refused } from "../ask.js";
import { stayAwake } from "../awake.js";
import { make, place, write } from "../dom.js";
import { clockText, leftText } from "../time.js";
import { showAll } from "../units.js";
import { Card } from "./card.js";
import { Circuit } from "./circuit.js";
import { Controls, inHand } from "./controls.js";
import { Events, eventText, say } from "./events.js";
import { Faults, markTeaching } from "./faults.js";
import { Instruments } from "./instruments.js";
import { showLegend } from "./legend.js";
import { Moments } from "./moments.js";
import { Pace } from "./pace.js";
import { Line } from "./socket.js";
import { Strips } from "./strips.js";
import { PartList, Values } from "./table.js";
import { Tabs } from "./tabs.js";

/** @typedef {import("./circuit.js").Layout} Layout */
/** @typedef {import("./socket.js").Frame} Frame */

const ASK_AGAIN_ms = 2000;
const COLD_s = 60;
const bench = /** @type {HTMLElement} */ (document.querySelector(".bench"));
const stand = bench.dataset.stand ?? "";
const layoutAt = `/api/running/${encodeURIComponent(stand)}`;

class Page {
  /** @param {Layout} layout */
  constructor(layout) {
    this.layout = layout;
    this.frame = /** @type {Frame | null} */ (null);
    const send = (/** @type {object} */ what) => this.send(what);
    const touched = (/** @type {string} */ part) => this.open(part);
    this.controls = new Controls(send);
    this.circuit = new Circuit(layout, touched);
    this.instruments = new Instruments(layout, touched);
    this.pace = new Pace(layout.speeds, send);
    this.card = new Card(stand, this.controls, {
      chosen: (part) => this.circuit.choose(part),
      cause: (cause) => this.teach(cause),
    });
    this.events = new Events();
    this.faults = new Faults(layout, send);
    this.moments = new Moments(send, layout.machine);
    this.strips = new Strips(layout);
    this.values = new Values(layout);
    this.parts = new PartList(layout, touched);
    this.tabs = new Tabs(bench);
    place("stopped")
      .querySelector("button")
      ?.addEventListener("click", () => this.tabs.open("Moments"));
    place("changed")
      .querySelector("button")
      ?.addEventListener("click", () => this.send({ renew: true }));
    this.fillTabs();
    this.layers();
    this.line = new Line(stand, this);
  }

  fillTabs() {
    this.hand = make("div", { class: "hand" }, this.handGroups());
    this.tabs.add("Hand", this.hand);
    const rest = {
      Strips: this.strips,
      Events: this.events,
      Moments: this.moments,
      Faults: this.faults,
      Parts: this.parts,
      Values: this.values,
    };
    for (const [name, one] of Object.entries(rest)) this.tabs.add(name, one.root);
    place("tabs").addEventListener("tab-shown", () => this.frame && this.paintPanels(this.frame, false));
  }

  layers() {
    const show = (/** @type {string} */ layer) => {
      this.circuit.show(layer);
      showLegend(layer);
    };
    place("layers").addEventListener("change", (event) => show(/** @type {HTMLInputElement} */ (event.target).value));
    document.addEventListener("units-chosen", () => {
      showLegend(this.circuit.layer);
      if (this.frame) this.circuit.paint(this.frame, true);
    });
    const chosen = /** @type {HTMLInputElement | null} */ (place("layers").querySelector("input:checked"));
    show(chosen?.value ?? "water");
  }

  /** @param {object} what */
  send(what) {
    const heard = this.line.send(what);
    say(heard ? "" : "No line to the machine: nothing was done. It is tried again by itself.");
    return heard;
  }

  /** @param {string} part */
  open(part) {
    const title = this.layout.parts.find((one) => one.part === part)?.title ?? part;
    this.card.open(
      part,
      title,
      this.layout.controls.filter((one) => one.part === part),
    );
  }

  /** @param {string} cause */
  teach(cause) {
    this.faults.choose(cause);
    this.tabs.open("Faults");
    place("drawer").scrollIntoView({ block: "nearest" });
  }

  // What the line tells.

  /** @param {Frame} frame */
  frameHeard(frame) {
    if (this.between) return;
    const fresh = frame.v !== undefined;
    if (this.frame === null && frame.t < COLD_s) say("Cold. Put the power on, or “Hot at once” under Moments.");
    this.frame = frame;
    this.circuit.paint(frame);
    this.circuit.dashes.moving = frame.goes;
    this.instruments.paint(frame);
    this.pace.paint(frame);
    this.paintPanels(frame, fresh);
    stayAwake(frame.goes);
    if (bench.classList.contains("paused") === frame.goes) bench.classList.toggle("paused", !frame.goes);
  }

  /** @param {Frame} frame @param {boolean} fresh */
  paintPanels(frame, fresh) {
    this.strips.paint(frame, fresh);
    this.values.paint(frame);
    this.parts.paint(frame);
  }

  /** @param {import("./socket.js").States} states */
  states(states) {
    this.controls.states(states.positions);
    this.faults.states(states);
    this.moments.states(states);
    markTeaching(states.teaching);
    this.tellStop(states.stopped ?? "");
    place("changed").hidden = !states.file_changed;
    bench.classList.toggle("teaching-now", states.teaching);
  }

  /** The twin cannot go on: why, and what can be done. @param {string} why */
  tellStop(why) {
    const told = place("stopped");
    told.hidden = !why;
    if (why)
      write(
        told.querySelector("p") ?? told,
        `The machine has stopped: ${why}. Begin again cold, or go back to a moment kept.`,
      );
  }

  /** @param {any[]} events */
  eventsHeard(events) {
    this.events.add(events);
    const last = events.at(-1);
    if (last) say(`${clockText(last.t)} ${eventText(last)}`);
  }

  /** @param {string} text */
  said(text) {
    say(text);
    this.controls.refused();
  }

  async layoutChanged() {
    this.between = true; // frames are of the new layout already
    this.layout = await fetchLayout();
    for (const one of [this.circuit, this.instruments, this.strips, this.values, this.parts, this.faults])
      one.renew(this.layout);
    this.hand?.replaceChildren(...this.handGroups());
    this.card.renew(this.layout);
    write(/** @type {HTMLElement} */ (bench.querySelector("h1")), this.layout.title);
    this.frame = null;
    this.between = false;
  }

  handGroups() {
    return inHand(this.layout.controls).map((one) => this.controls.group(one));
  }

  /** A line was opened: all events come anew. */
  opened() {
    this.events.clear();
  }

  /** The stand is no more there: open it again where all share it, else say so. */
  async gone() {
    try {
      await this.layoutChanged();
      this.line.open();
    } catch (fault) {
      refuse(fault);
    }
  }

  /** @param {import("./socket.js").LineState} state */
  lineIs(state) {
    const words = {
      live: "",
      opening: "",
      silent: "Nothing was heard for a second: what is shown stands still.",
      lost: "The line to the machine is lost: what is shown stands still. It is tried again by itself.",
    };
    const told = place("stale");
    told.hidden = !words[state];
    write(told, words[state]);
    bench.classList.toggle("stands-still", Boolean(words[state]));
    this.circuit.dashes.moving = state === "live" && (this.frame?.goes ?? false);
    if (state === "live" && this.was === "lost") this.strips.history.fetch();
    if (state === "live" || state === "lost") this.was = state;
  }
}

/** The layout; while the twin is made ready, what is still to wait. @returns {Promise<Layout>} */
async function fetchLayout() {
  for (;;) {
    try {
      const told = await ask("GET", layoutAt);
      if (told.drawings) return told;
      waiting(told.readiness);
    } catch (fault) {
      if (fault instanceof Refused && fault.status < 500) throw fault;
      waiting(null);
    }
    await new Promise((go) => setTimeout(go, ASK_AGAIN_ms));
  }
}

/** @param {{said: string, since_s: number, left_s: number | null} | null} readiness */
function waiting(readiness) {
  const text = readiness?.said ?? "No line to the bench computer. It is tried again by itself.";
  const left_s = readiness?.left_s ?? null;
  const left = left_s === null ? "" : ` About ${leftText(left_s)} left.`;
  const since_s = readiness?.since_s ?? 0;
  const progress = make("progress", left_s === null ? {} : { max: since_s + left_s, value: since_s });
  progress.setAttribute("aria-label", "Making ready");
  place("circuit").replaceChildren(make("div", { class: "empty" }, [make("p", {}, [text + left]), progress]));
}

/** What keeps the machine from being shown. @param {unknown} fault */
function refuse(fault) {
  place("stale").hidden = true;
  const told = make("p", { class: "stop", role: "alert" }, [fault instanceof Error ? fault.message : String(fault)]);
  place("circuit").replaceChildren(
    told,
    make("p", {}, [make("a", { class: "key", href: "/running" }, ["To the machines"])]),
  );
}

async function start() {
  try {
    const layout = await fetchLayout();
    new Page(layout);
    showAll(document);
  } catch (fault) {
    refuse(fault);
    if (!(fault instanceof Refused)) throw fault;
  } finally {
    bench.removeAttribute("aria-busy");
  }
}

start();
