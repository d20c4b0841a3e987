// Asking the server: with the form token, faults as text, and again when the line was lost.

import { lineIs } from "./line.js";

const token = /** @type {HTMLMetaElement} */ (document.querySelector('meta[name="form-token"]')).content;

/** What the server found wrong. */
export class Refused extends Error {
  /** @param {number} status @param {{message: string, remedy: string, file: string, line: number}[]} problems */
  constructor(status, problems) {
    super(problems.map((one) => [one.message, one.remedy].filter(Boolean).join(" – ")).join("\n"));
    this.status = status;
    this.problems = problems;
  }
}

/** Ask, once. Throws `Refused` for what the server refuses, `TypeError` where it cannot be reached.
 * @param {string} method @param {string} path @param {unknown} [body] @param {AbortSignal} [signal] */
export async function ask(method, path, body, signal) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      signal,
      headers: { "Content-Type": "application/json", "X-Form-Token": token },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch (fault) {
    if (!signal?.aborted) lineIs(false);
    throw fault;
  }
  lineIs(true);
  if (answer.status === 401) location.assign("/enter");
  const isJson = (answer.headers.get("content-type") ?? "").includes("json");
  if (!answer.ok) {
    const told = isJson ? (await answer.json()).problems : null;
    throw new Refused(answer.status, told ?? [{ message: await fallback(answer), remedy: "", file: "", line: 0 }]);
  }
  if (answer.status === 204) return null; // done, and nothing to tell; its kind says JSON all the same
  return isJson ? answer.json() : answer.text();
}

/** @param {Response} answer */
async function fallback(answer) {
  try {
    return (await answer.text()).slice(0, 200) || `the server answered ${answer.status}`;
  } catch {
    return `the server answered ${answer.status}`;
  }
}

/** Ask until it is answered: waits while the line is lost, 1 s at first, 5 s at most.
 * @param {string} method @param {string} path @param {unknown} [body] */
export async function askUntilHeard(method, path, body) {
  for (let wait_ms = 1000; ; wait_ms = Math.min(5000, wait_ms * 1.5)) {
    try {
      return await ask(method, path, body);
    } catch (fault) {
      if (fault instanceof Refused) throw fault;
      await new Promise((go) => setTimeout(go, wait_ms));
    }
  }
}

/** What went wrong, for who reads the page. @param {unknown} fault @param {string} [lost] what follows where the line is
 * lost: "nothing was changed" */
export function faultText(fault, lost = "") {
  if (fault instanceof Refused) return fault.message;
  return lost ? `No line to the bench computer: ${lost}` : "No line to the bench computer.";
}
