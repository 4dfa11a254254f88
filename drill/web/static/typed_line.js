// @ts-check
// The text typed for the current item, kept in this window so that it survives a reload.

/** @param {string} session */
const storageKey = (session) => `typed ${session}`;

/**
 * Keep the text typed for an item.
 * @param {string} session @param {number} item @param {string} text
 */
export function keepTyped(session, item, text) {
  try {
    sessionStorage.setItem(storageKey(session), JSON.stringify({ item, text }));
  } catch {
    // Without storage, a reload loses the text.
  }
}

/** Return the text typed for an item, "" for none. @param {string} session @param {number} item */
export function keptTyped(session, item) {
  try {
    const kept = JSON.parse(sessionStorage.getItem(storageKey(session)) ?? "null");
    return kept?.item === item ? String(kept.text) : "";
  } catch {
    return "";
  }
}
