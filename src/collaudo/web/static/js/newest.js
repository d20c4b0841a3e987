// One question at a time: while an answer is awaited only the newest wish is kept, older ones are dropped.

/** @template W, A
 * @param {(wish: W) => Promise<A>} askFor @param {(answer: A, wish: W) => void} answered
 * @param {(fault: unknown, wish: W) => void} failed @returns {(wish: W) => void} */
export function newest(askFor, answered, failed) {
  /** @type {{wish: W} | null} */
  let waiting = null;
  let busy = false;

  async function go() {
    busy = true;
    while (waiting) {
      const { wish } = waiting;
      waiting = null;
      try {
        const answer = await askFor(wish);
        answered(answer, wish);
      } catch (fault) {
        if (!waiting) failed(fault, wish);
      }
    }
    busy = false;
  }

  return (wish) => {
    waiting = { wish };
    if (!busy) void go();
  };
}
