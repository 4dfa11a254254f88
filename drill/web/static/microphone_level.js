// @ts-check
// The level of the microphone: shown while it records, and announced on request.
import { Microphone } from "./microphone.js";

const LEVEL_INTERVAL_MS = 250;
const QUIET_DB = -40;
/** Peaks from here on count as clipped. */
const FULL_SCALE = 0.985;
/** Half a step of 16 bits: a peak below it means a microphone that is switched off. */
export const SILENT_PEAK = 2 ** -15;
const TRIAL_S = 3;

/** @param {number} db level re full scale @param {number} peak 0 to 1 */
function rating(db, peak) {
  if (peak < SILENT_PEAK) return "silent";
  return peak >= FULL_SCALE ? "too high" : db < QUIET_DB ? "quiet" : "good";
}

/** Return a sentence about a level. @param {number} db @param {number} peak */
function levelSentence(db, peak) {
  return `Level ${Math.round(db)} dB re full scale: ${rating(db, peak)}.`;
}

/** The loudest block of a take. */
export class LoudestLevel {
  #db = -120;
  #peak = 0;

  /** Take the level of a block. @param {number} db @param {number} peak */
  add(db, peak) {
    if (db <= this.#db) return;
    this.#db = db;
    this.#peak = peak;
  }

  get sentence() {
    return levelSentence(this.#db, this.#peak);
  }
}

/** Follows the level during a take, and shows it at most four times a second. */
export class LevelDisplay {
  #text;
  #meter;
  #shownAt = 0;
  /** The last level as a sentence, "" before the first. */
  sentence = "";

  /** @param {HTMLElement} text @param {HTMLMeterElement|null} meter */
  constructor(text, meter = null) {
    this.#text = text;
    this.#meter = meter;
  }

  /** Take the level of a block. @param {number} db @param {number} peak */
  show(db, peak) {
    this.sentence = levelSentence(db, peak);
    if (performance.now() - this.#shownAt < LEVEL_INTERVAL_MS) return;
    this.#shownAt = performance.now();
    this.#text.textContent = this.sentence;
    if (this.#meter) this.#meter.value = db;
  }

  /** Forget the take; show this text. @param {string} text */
  clear(text = "") {
    this.sentence = "";
    this.#text.textContent = text;
    if (this.#meter) this.#meter.value = this.#meter.min;
  }
}

/**
 * Open the microphone for TRIAL_S and return a sentence about its loudest level. Throws
 * FaintcallError.
 * @param {LevelDisplay} display
 */
export async function tryLevel(display) {
  const microphone = new Microphone({ longestS: TRIAL_S, silenceS: TRIAL_S });
  const loudest = new LoudestLevel();
  microphone.onLevel = (db, peak) => {
    loudest.add(db, peak);
    display.show(db, peak);
  };
  try {
    await microphone.record();
  } finally {
    display.clear();
  }
  return loudest.sentence;
}
