// @ts-check
// How often the current item of a session was played. The count survives a reload and is shared by
// the windows of a browser, because a call that was heard twice does not count in a measurement.

/** The same counts for a browser without storage; lost when the page is left. */
const inMemory = new Map();

// The key keeps its first name, so that a session from an earlier version keeps its count.
/** @param {string} session */
const storageKey = (session) => `heard ${session}`;

/**
 * Return how often an item was played in this browser.
 * @param {string} session id of the session
 * @param {number} item number of the item
 */
export function playCount(session, item) {
  let stored = inMemory.get(session) ?? null;
  try {
    stored = JSON.parse(localStorage.getItem(storageKey(session)) ?? "null") ?? stored;
  } catch {
    // no storage, or a value from another program
  }
  return stored?.number === item ? Number(stored.times) || 0 : 0;
}

/**
 * Count one more play of an item. The count of the item before is dropped.
 * @param {string} session
 * @param {number} item
 */
export function countPlay(session, item) {
  const count = { number: item, times: playCount(session, item) + 1 };
  inMemory.set(session, count);
  try {
    localStorage.setItem(storageKey(session), JSON.stringify(count));
  } catch {
    // without storage, a reload resets the count
  }
}

/** Drop the count of a finished session. @param {string} session */
export function dropPlayCount(session) {
  inMemory.delete(session);
  try {
    localStorage.removeItem(storageKey(session));
  } catch {
    // no storage: nothing to remove
  }
}
