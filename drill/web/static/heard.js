// @ts-check
// How often the present item of a sitting was heard: over a reload and in a second window too, for
// a call that was heard twice is no measurement.

/** The same where the browser keeps nothing: good until the page is left. */
const here = new Map();

/** @param {string} id */
const key = (id) => `heard ${id}`;

/**
 * Return how often an item was heard in this browser.
 * @param {string} id of the sitting
 * @param {number} number of the item
 */
export function heard(id, number) {
  let kept = here.get(id) ?? null;
  try {
    kept = JSON.parse(localStorage.getItem(key(id)) ?? "null") ?? kept;
  } catch {
    // no storage, or not ours
  }
  return kept?.number === number ? Number(kept.times) || 0 : 0;
}

/**
 * Keep that an item is heard once more; what was kept of the item before goes.
 * @param {string} id
 * @param {number} number
 */
export function keepHeard(id, number) {
  const kept = { number, times: heard(id, number) + 1 };
  here.set(id, kept);
  try {
    localStorage.setItem(key(id), JSON.stringify(kept));
  } catch {
    // no storage: only a reload is not noticed
  }
}

/** Forget a sitting that is over. @param {string} id */
export function forget(id) {
  here.delete(id);
  try {
    localStorage.removeItem(key(id));
  } catch {
    // nothing was kept
  }
}
