// The screen stays on while a sheet is open or a machine runs; where the browser cannot, nothing is said.

/** @type {WakeLockSentinel | null} */
let lock = null;
let wanted = false;

/** @param {boolean} stays whether the screen is to stay on */
export function stayAwake(stays) {
  if (stays === wanted) return;
  wanted = stays;
  hold();
}

/** The lock is lost each time the page goes to the back, so it is asked for anew. */
async function hold() {
  try {
    if (wanted && !document.hidden) lock = (await navigator.wakeLock?.request("screen")) ?? null;
    else {
      await lock?.release();
      lock = null;
    }
  } catch {
    // Not allowed here, or the battery is low: the screen does as it is set.
  }
}

document.addEventListener("visibilitychange", hold);
