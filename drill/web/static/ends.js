// @ts-check
// When a take is over, told from the level of its blocks alone.

/** Quiet after the last word that ends a take; more than a pause within one. */
export const QUIET_S = 2;
/** A take without a word ends after so long. */
export const NOTHING_S = 10;
/** So much of voice is a word and no click. */
const WORD_S = 0.15;
/** Voice stands so far over the quietest time of the take, which is no lower than the floor. */
const OVER_DB = 12;
const FLOOR_DB = -65;
/** Blocks over which the quietest time is looked for. */
const SPAN = 6;

/** @typedef {""|"said"|"nothing"|"long"} Why */

export class Ends {
  /** @type {number[]} */ #last = [];
  #floor = 0;
  #seconds = 0;
  #blocks = 0;
  #first = -1;
  #end = 0;
  #voice = 0;
  #quiet = 0;
  #longest;

  /** @param {number} longest seconds of a take at most */
  constructor(longest) {
    this.#longest = longest;
  }

  /** True where a word was heard. */
  get spoken() {
    return this.#voice >= WORD_S;
  }

  /** The first block that held voice and the one after the last; all of them where no word was. */
  get between() {
    return this.spoken ? [this.#first, this.#end] : [0, this.#blocks];
  }

  /**
   * Take a block; return why the take is over with it, "" where it goes on.
   * @param {number} db its level against full scale
   * @param {number} seconds its length
   * @returns {Why}
   */
  block(db, seconds) {
    this.#seconds += seconds;
    this.#last = [...this.#last, db].slice(-SPAN);
    if (this.#last.length === SPAN) this.#floor = Math.min(this.#floor, Math.max(...this.#last));
    const voiced = db > Math.max(FLOOR_DB, this.#floor) + OVER_DB;
    this.#blocks += 1;
    if (voiced) {
      this.#voice += seconds;
      this.#end = this.#blocks;
      if (this.#first < 0) this.#first = this.#blocks - 1;
    }
    this.#quiet = voiced ? 0 : this.#quiet + seconds;
    if (this.spoken && this.#quiet >= QUIET_S) return "said";
    if (!this.spoken && this.#seconds >= NOTHING_S) return "nothing";
    return this.#seconds >= this.#longest ? "long" : "";
  }
}
