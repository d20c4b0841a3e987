// Times as they are read: what is left, a clock, when something was.

const NARROW = "\u202f";

/** What is left, rounded up: seconds below a minute and a half, else minutes. @param {number} seconds */
export function leftText(seconds) {
  return seconds < 90 ? `${Math.max(1, Math.ceil(seconds))}${NARROW}s` : `${Math.ceil(seconds / 60)}${NARROW}min`;
}

/** Hours, minutes and whole seconds. @param {number} seconds */
export function clockText(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const hours = Math.floor(whole / 3600);
  const rest = `${two(Math.floor((whole % 3600) / 60))}:${two(whole % 60)}`;
  return hours ? `${hours}:${rest}` : rest;
}

/** When something was, short. @param {string} iso */
export function whenText(iso) {
  const at = new Date(iso);
  if (Number.isNaN(at.getTime())) return "";
  const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
  const day = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`;
  return new Date().toDateString() === at.toDateString() ? `today ${time}` : `${day} ${time}`;
}

/** @param {number} n */
function two(n) {
  return String(n).padStart(2, "0");
}
