// Sheets begun by a tap before the server has heard of them: kept until it has.

import { ask, Refused } from "../ask.js";
import { readList, writeList } from "./outbox.js";

const PLACE = "begun";

/** @typedef {{entry: string, machine: string}} Begun */

/** Sheets the server may not have yet. @returns {Begun[]} */
const waiting = () => readList(PLACE);

/** Keep a sheet that was begun. @param {string} entry @param {string} machine */
export function keepBegun(entry, machine) {
  writeList(PLACE, [...waiting(), { entry, machine }]);
}

/** Have it made by the server, which makes it once however often it is asked; gives its id. What was entered
 * meanwhile goes with it. Throws where the line is lost.
 * @param {string} entry @param {string} machine @returns {Promise<string>} */
export async function makeSheet(entry, machine) {
  const sheet = await ask("POST", "/api/findings", { machine, entry }, AbortSignal.timeout(15_000));
  const from = `outbox:${entry}`;
  writeList(`outbox:${sheet.id}`, [...readList(`outbox:${sheet.id}`), ...readList(from)]);
  writeList(from, []);
  writeList(
    PLACE,
    waiting().filter((begun) => begun.entry !== entry),
  );
  return sheet.id;
}

/** Give one up that has not been made. @param {string} entry */
export function giveUp(entry) {
  writeList(
    PLACE,
    waiting().filter((begun) => begun.entry !== entry),
  );
  writeList(`outbox:${entry}`, []);
}

/** Have all of them made that still wait, and send what was entered on them.
 * @returns {Promise<number>} how many still wait */
export async function makeAll() {
  for (const one of waiting()) {
    try {
      const id = await makeSheet(one.entry, one.machine);
      const entries = readList(`outbox:${id}`);
      if (entries.length) await ask("POST", `/api/findings/${id}/entries`, { entries });
      writeList(`outbox:${id}`, []);
    } catch (fault) {
      if (fault instanceof Refused && fault.status < 500) giveUp(one.entry);
    }
  }
  return waiting().length;
}
