// @ts-check
// Decides from the level of the blocks of a recording when the take has ended.

/** Seconds of silence after the last word that end a take; longer than a pause within one. */
export const SILENCE_S = 2;
/** A take without a word ends after this many seconds. */
export const NO_SPEECH_S = 10;
/** Less voice than this is a click, not a word. */
const WORD_S = 0.15;
/** Voice is this much louder than the background noise. */
const ABOVE_NOISE_DB = 12;
/** The background noise is assumed to lie in this range, in dB re full scale. */
const NOISE_RANGE_DB = [-65, -40];
/** The background noise is measured over this many blocks. */
const NOISE_BLOCKS = 6;

/** @typedef {""|"silence"|"no-speech"|"too-long"} EndReason why a take ended, "" if it has not */

export class TakeEndDetector {
  /** @type {number[]} */ #levels = [];
  #noiseDb = NOISE_RANGE_DB[1];
  #maxSeconds;
  #silenceSeconds;

  /**
   * @param {number} maxSeconds longest take
   * @param {number} silenceSeconds silence after the last word that ends the take
   */
  constructor(maxSeconds, silenceSeconds = SILENCE_S) {
    this.#maxSeconds = maxSeconds;
    this.#silenceSeconds = silenceSeconds;
  }

  /**
   * The blocks with voice: the first, the one after the last, and their number. The noise estimate
   * falls during the take, so all blocks are judged again.
   */
  get #voice() {
    const threshold = Math.max(NOISE_RANGE_DB[0], this.#noiseDb) + ABOVE_NOISE_DB;
    const voiced = this.#levels.flatMap((db, index) => (db > threshold ? [index] : []));
    return { first: voiced[0] ?? 0, end: (voiced.at(-1) ?? -1) + 1, count: voiced.length };
  }

  /**
   * Return the first block with voice and the one after the last; the whole take if there is no
   * word in it.
   * @param {number} blockSeconds
   */
  voiceSpan(blockSeconds) {
    const { first, end } = this.#voice;
    return this.hasWord(blockSeconds) ? [first, end] : [0, this.#levels.length];
  }

  /** Return true if there is voice enough for a word. @param {number} blockSeconds */
  hasWord(blockSeconds) {
    return this.#voice.count * blockSeconds >= WORD_S;
  }

  /**
   * Add a block; return why the take ends with it, "" if it goes on.
   * @param {number} db level in dB re full scale
   * @param {number} blockSeconds
   * @returns {EndReason}
   */
  addBlock(db, blockSeconds) {
    this.#levels.push(db);
    if (this.#levels.length >= NOISE_BLOCKS) {
      this.#noiseDb = Math.min(this.#noiseDb, Math.max(...this.#levels.slice(-NOISE_BLOCKS)));
    }
    const { end } = this.#voice;
    const seconds = this.#levels.length * blockSeconds;
    const hasWord = this.hasWord(blockSeconds);
    const silence = (this.#levels.length - end) * blockSeconds;
    if (hasWord && silence >= this.#silenceSeconds) return "silence";
    if (!hasWord && seconds >= NO_SPEECH_S) return "no-speech";
    return seconds >= this.#maxSeconds ? "too-long" : "";
  }
}
