// @ts-check
// The one live region of a page. It is silent while a sound plays, and for a moment after it.

/** How long after the end of a sound something may be said. */
export const PAUSE_MS = 300;
/** How long the region stays empty, so that the same sentence twice is read twice. */
const EMPTY_MS = 60;

const region = /** @type {HTMLElement} */ (document.getElementById("say"));
/** @type {string[]} */
let waiting = [];
/** True where all that waits stands elsewhere on the page: it is for screen readers alone. */
let unseen = true;
let hushed = false;
let timer = 0;

/**
 * Say a sentence: at once where nothing plays, else after the sound. An empty one takes away what
 * stands there and what waits. seen: it is to be read elsewhere on the page, so it is said only.
 * @param {string} sentence
 * @param {{seen?: boolean}} how
 */
export function say(sentence, { seen = false } = {}) {
  if (sentence) {
    waiting.push(sentence);
    unseen &&= seen;
    if (!hushed) later(0);
    return;
  }
  forget();
  clearTimeout(timer);
  region.textContent = "";
}

/**
 * Be silent as long as a sound plays.
 * @param {boolean} on
 */
export function hush(on) {
  if (on === hushed) return;
  hushed = on;
  clearTimeout(timer);
  if (on) region.textContent = "";
  else if (waiting.length) later(PAUSE_MS);
}

/** @param {number} after */
function later(after) {
  clearTimeout(timer);
  timer = setTimeout(() => {
    region.textContent = "";
    timer = setTimeout(() => {
      region.classList.toggle("unseen", unseen);
      region.textContent = waiting.join(" ");
      forget();
    }, EMPTY_MS);
  }, after);
}

function forget() {
  waiting = [];
  unseen = true;
}
