// The screen stays on while the machine runs; where the browser cannot, nothing is said.

let lock = /** @type {WakeLockSentinel | null} */ (null);
let wanted = false;

/** @param {boolean} goes whether the machine runs */
export function stayAwake(goes) {
  if (goes === wanted) return;
  wanted = goes;
  hold();
}

async function hold() {
  try {
    if (wanted && !document.hidden) lock = (await navigator.wakeLock?.request("screen")) ?? null;
    else {
      await lock?.release();
      lock = null;
    }
  } catch {
    // not allowed here
  }
}

document.addEventListener("visibilitychange", hold);
