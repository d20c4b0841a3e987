// Searching a list by words: what is typed fits where each of its words stands somewhere in the text.

/** @param {string} typed @returns {(text: string) => boolean} */
export function searchFor(typed) {
  const words = wordsOf(typed);
  return (text) => {
    const low = text.toLowerCase();
    return words.every((word) => low.includes(word));
  };
}

/** Whether nothing is searched for. @param {string} typed */
export function isEmptySearch(typed) {
  return wordsOf(typed).length === 0;
}

/** @param {string} typed */
function wordsOf(typed) {
  return typed.toLowerCase().split(/\s+/).filter(Boolean);
}
