// The screen stays on while a sheet is open.

/** Ask for it, and again each time the page comes back to the front. */
export function keepAwake() {
  const hold = async () => {
    if (document.hidden || !("wakeLock" in navigator)) return;
    try {
      await navigator.wakeLock.request("screen");
    } catch {
      // Not allowed here, or the battery is low: the screen does as it is set.
    }
  };
  hold();
  document.addEventListener("visibilitychange", hold);
}
