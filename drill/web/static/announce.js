// @ts-check
// The page's one live region. It stays silent while a sound plays, for a moment afterwards, and,
// unless the user has switched that off, for some seconds before.

/** Silence between the end of a sound and the next announcement. */
export const PAUSE_MS = 300;
/** The region is emptied for this long, so that screen readers repeat an identical sentence. */
const EMPTY_MS = 60;

const region = /** @type {HTMLElement} */ (document.getElementById("status"));
/** @type {string[]} */
let queue = [];
/** True if every sentence in the queue also stands elsewhere on the page. */
let allShownElsewhere = true;
let held = false;
let timer = 0;
/** When the region last got a sentence, in ms of performance.now(). */
let spokenAt = -Infinity;

/**
 * Announce a sentence: at once, or after the sound that is playing.
 * @param {string} sentence
 * @param {{shownElsewhere?: boolean}} options shownElsewhere: the sentence is visible elsewhere on
 *   the page, so it is hidden here and reaches screen readers only
 */
export function announce(sentence, { shownElsewhere = false } = {}) {
  queue.push(sentence);
  allShownElsewhere &&= shownElsewhere;
  if (!held) showAfter(0);
}

/** Remove the current announcement and those that wait. */
export function clearAnnouncements() {
  emptyQueue();
  clearTimeout(timer);
  region.textContent = "";
}

/**
 * Hold all announcements while a sound plays.
 * @param {boolean} on
 */
export function holdAnnouncements(on) {
  if (on === held) return;
  held = on;
  clearTimeout(timer);
  if (on) region.textContent = "";
  else if (queue.length) showAfter(PAUSE_MS);
}

/**
 * Hold all announcements, because a sound follows; return for how long the sound has to wait until
 * the last announcement is `quietMs` old.
 * @param {number} quietMs
 */
export function quietLeftMs(quietMs) {
  holdAnnouncements(true);
  return Math.max(0, quietMs - (performance.now() - spokenAt));
}

/** @param {number} delayMs */
function showAfter(delayMs) {
  clearTimeout(timer);
  timer = setTimeout(() => {
    region.textContent = "";
    timer = setTimeout(() => {
      region.classList.toggle("screen-reader-only", allShownElsewhere);
      region.textContent = queue.join(" ");
      spokenAt = performance.now();
      emptyQueue();
    }, EMPTY_MS);
  }, delayMs);
}

function emptyQueue() {
  queue = [];
  allShownElsewhere = true;
}
