// @ts-check
// The one live region of a page. It is silent while a sound plays, and for a moment after it.

/** How long after the end of a sound something may be said. */
export const PAUSE_MS = 300;
/** How long the region stays empty, so that the same sentence twice is read twice. */
const EMPTY_MS = 60;

const region = /** @type {HTMLElement} */ (document.getElementById("say"));
/** @type {string[]} */
let waiting = [];
let hushed = false;
let timer = 0;

/**
 * Say a sentence: at once where nothing plays, else after the sound. An empty one takes away what
 * stands there and what waits.
 * @param {string} sentence
 */
export function say(sentence) {
  if (sentence) {
    waiting.push(sentence);
    if (!hushed) later(0);
    return;
  }
  waiting = [];
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
      region.textContent = waiting.join(" ");
      waiting = [];
    }, EMPTY_MS);
  }, after);
}
