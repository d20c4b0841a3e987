// A beep, and a flash for those who do not hear it.

/** @type {AudioContext | null} */
let audio = null;

/** Make sound possible: browsers allow it only from a touch or a key. */
export function allowSound() {
  try {
    audio ??= new AudioContext();
    if (audio.state === "suspended") audio.resume();
  } catch {
    // No sound here: the flash and the words remain.
  }
}

/** Beeps one after the other, and the page's edge flashes as often. @param {number} times */
export function beep(times) {
  flash(times);
  if (!audio || audio.state !== "running") return;
  for (let n = 0; n < times; n++) tone(audio.currentTime + n * 0.45);
}

/** @param {number} at_s */
function tone(at_s) {
  const context = /** @type {AudioContext} */ (audio);
  const voice = new OscillatorNode(context, { frequency: 1760, type: "square" });
  const loud = new GainNode(context, { gain: 0 });
  loud.gain.setValueAtTime(0, at_s);
  loud.gain.linearRampToValueAtTime(0.35, at_s + 0.01);
  loud.gain.setValueAtTime(0.35, at_s + 0.22);
  loud.gain.linearRampToValueAtTime(0, at_s + 0.25);
  voice.connect(loud).connect(context.destination);
  voice.start(at_s);
  voice.stop(at_s + 0.3);
}

/** Twice a second at most, so that it can harm nobody. @param {number} times */
function flash(times) {
  const edge = document.createElement("div");
  edge.className = "flash";
  edge.setAttribute("aria-hidden", "true");
  document.body.append(edge);
  setTimeout(() => edge.remove(), times * 500);
}

addEventListener("pointerdown", allowSound, { once: true });
addEventListener("keydown", allowSound, { once: true });
