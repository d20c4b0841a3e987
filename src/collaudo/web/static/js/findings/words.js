// Words that stand in more than one place of the findings pages.

import { digitsOf, numberText, quantityText, unitFor, unitText } from "../units.js";

export const HEAT = { cold: "cold", warm: "warm", hot: "hot" };
export const DONE = { cleaned: "cleaned", replaced: "replaced", set_anew: "set anew", proven_good: "proven good" };
const NARROW = "\u202f";

/** What comes first where the work has stopped; the server's cautions follow. */
export const STOPS = {
  wet: {
    title: "Wet near mains",
    first:
      "Do not touch the machine. Switch it off at the wall or the fuse with dry hands, then pull the plug. " +
      "Dry it and prove it dead before the lid comes off.",
  },
  burning: {
    title: "Smell of burning",
    first:
      "Switch it off at the wall and pull the plug. Let it cool and stay with it. " +
      "It is not switched on again before the burnt place is found.",
  },
  "over-pressure": {
    title: "Pressure too high",
    first:
      "Switch it off at the wall and stand back. Let it cool by itself, more than an hour; open nothing. " +
      "The valves are left as they are.",
  },
};

/** @param {number} minutes */
export function minutesText(minutes) {
  if (minutes < 1) return "under a minute";
  if (minutes < 90) return `${Math.round(minutes)}${NARROW}min`;
  return `${numberText(minutes / 60, "", 1)}${NARROW}h`;
}

/** Words joined: a, b and c. @param {string[]} words */
export function listText(words) {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}

/** A word of the catalogue as it is read: `trips-at-once` is "trips at once". @param {string} word */
export function spoken(word) {
  return word.replace(/[-_]/g, " ");
}

/** @type {Record<string, string>} */
const COMPLAINTS = JSON.parse(document.getElementById("complaints")?.textContent ?? "{}");

/** Complaints as they are read. @param {string[]} words */
export function complaintsText(words) {
  return listText(words.map((word) => COMPLAINTS[word] ?? spoken(word)));
}

/** A finding's value as it is read. @param {any} finding */
export function valueText(finding) {
  if (finding.measured === false) return "could not be measured";
  if (finding.value === null) return "never came about";
  if (typeof finding.value === "number") return typedText(finding);
  return spoken(finding.value);
}

/** With a capital at its beginning. @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A number with all digits that were typed, where it is shown in the unit it was typed in. @param {any} finding */
function typedText({ value, unit, typed }) {
  if (!typed || typed.unit !== unitFor(unit)) return quantityText(value, unit);
  const digits = Math.max(digitsOf(typed.value, typed.unit), String(typed.value).split(".")[1]?.length ?? 0);
  return numberText(typed.value, typed.unit, digits) + NARROW + unitText(typed.unit);
}
