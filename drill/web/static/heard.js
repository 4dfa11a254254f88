// @ts-check
// How often the present item of a sitting was heard: over a reload and in a second window too, for
// a call that was heard twice is no measurement.

/** @param {string} id */
const key = (id) => `heard ${id}`;

/**
 * Return how often an item was heard in this browser.
 * @param {string} id of the sitting
 * @param {number} number of the item
 */
export function heard(id, number) {
  try {
    const kept = JSON.parse(localStorage.getItem(key(id)) ?? "null");
    return kept && kept.number === number ? Number(kept.times) || 0 : 0;
  } catch {
    return 0; // no storage, or not ours
  }
}

/**
 * Keep that an item is heard once more; what was kept of the item before goes.
 * @param {string} id
 * @param {number} number
 */
export function keepHeard(id, number) {
  const times = heard(id, number) + 1;
  try {
    localStorage.setItem(key(id), JSON.stringify({ number, times }));
  } catch {
    // no storage: only a reload is not noticed
  }
}

/** Forget a sitting that is over. @param {string} id */
export function forget(id) {
  try {
    localStorage.removeItem(key(id));
  } catch {
    // nothing was kept
  }
}
