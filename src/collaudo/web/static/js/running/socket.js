// The line to a running machine: the latest frame wins, a silence of a second is told, a lost line is taken up again.

/** @typedef {{n: number, t: number, speed: number, goes: boolean, behind?: boolean, warming?: number, wf: number[], wt: number[],
 *   wk: number[], cs: number[], ct: number[], pt: number[], on: number[], op: number[], lv: Record<string, number>, g: number[],
 *   v?: number[], [more: string]: unknown}} Frame */
/** @typedef {{positions: Record<string, string>, faults: {cause: string, title: string, severity: number}[],
 *   saved: {name: string, t: number}[], clients: number, teaching: boolean, hidden?: boolean, stopped?: string,
 *   file_changed?: boolean}} States */
/** @typedef {"opening" | "live" | "silent" | "lost"} LineState */
/** @typedef {{frameHeard(frame: Frame): void, states(states: States): void, eventsHeard(events: object[]): void,
 *   said(text: string): void, layoutChanged(): void, opened(): void, gone(): void, lineIs(state: LineState): void}} Hearer */

const SILENCE_ms = 1000;
const GIVEN_UP_ms = 6000;
const FIRST_WAIT_ms = 1000;
const LONGEST_WAIT_ms = 5000;

const GONE = 4404; // the server has no such stand

export class Line {
  /** @param {string} stand @param {Hearer} hearer */
  constructor(stand, hearer) {
    this.address = `${location.origin.replace(/^http/, "ws")}/api/running/${encodeURIComponent(stand)}/socket`;
    this.hearer = hearer;
    this.state = /** @type {LineState} */ ("opening");
    this.wait_ms = FIRST_WAIT_ms;
    this.heard_ms = performance.now();
    this.socket = /** @type {WebSocket | null} */ (null);
    this.open();
    setInterval(() => this.watch(), 200);
    window.addEventListener("online", () => this.open());
  }

  /** Ask the server to do something; false where there is no line. @param {object} what */
  send(what) {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify({ do: what }));
    return true;
  }

  /** Open the line, unless it is open or opening. */
  open() {
    if (this.socket && this.socket.readyState <= WebSocket.OPEN) return;
    const socket = (this.socket = new WebSocket(this.address));
    socket.addEventListener("open", () => this.hearer.opened());
    socket.addEventListener("message", (event) => {
      if (socket === this.socket) this.hear(JSON.parse(event.data));
    });
    socket.addEventListener("close", ({ code }) => {
      if (socket !== this.socket) return;
      if (code === GONE) {
        this.socket = null;
        this.hearer.gone();
      } else this.lost();
    });
  }

  /** @param {Record<string, any>} told */
  hear(told) {
    this.heard_ms = performance.now();
    this.wait_ms = FIRST_WAIT_ms;
    if (told.frame) {
      this.become("live");
      this.hearer.frameHeard(told.frame);
    }
    if (told.states) this.hearer.states(told.states);
    if (told.events) this.hearer.eventsHeard(told.events);
    if (told.said) this.hearer.said(told.said);
    if (told.layout_changed) this.hearer.layoutChanged();
  }

  /** The line broke: try again after a while, longer each time. */
  lost() {
    this.socket = null;
    this.become("lost");
    setTimeout(() => this.open(), this.wait_ms);
    this.wait_ms = Math.min(LONGEST_WAIT_ms, this.wait_ms * 1.5);
  }

  /** Notice that nothing comes any more, also where the line itself does not know that it broke. */
  watch() {
    const silence_ms = performance.now() - this.heard_ms;
    if (silence_ms > SILENCE_ms && this.state === "live") this.become("silent");
    if (silence_ms > GIVEN_UP_ms && this.state === "silent") {
      const dead = this.socket;
      this.lost();
      dead?.close();
    }
  }

  /** @param {LineState} state */
  become(state) {
    if (state === this.state) return;
    this.state = state;
    this.hearer.lineIs(state);
  }
}
