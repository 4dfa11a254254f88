// @ts-check
// When a take is over, told from the level of its blocks alone.

/** Quiet after the last word that ends a take; more than a pause within one. */
export const QUIET_S = 2;
/** A take without a word ends after so long. */
export const NOTHING_S = 10;
/** So much of voice is a word and no click. */
const WORD_S = 0.15;
/** Voice stands so far over the quietest time of the take, which is taken to lie in this range. */
const OVER_DB = 12;
const ROOM_DB = [-65, -40];
/** Blocks over which the quietest time is looked for. */
const SPAN = 6;

/** @typedef {""|"said"|"nothing"|"long"} Why */

export class Ends {
  /** @type {number[]} */ #levels = [];
  #room = ROOM_DB[1];
  #longest;

  /** @param {number} longest seconds of a take at most */
  constructor(longest) {
    this.#longest = longest;
  }

  /**
   * Return where voice is: the first block, the one after the last, and how many there are. What
   * came before the room was heard by itself is judged anew.
   */
  get #voice() {
    const most = Math.max(ROOM_DB[0], this.#room) + OVER_DB;
    const places = this.#levels.flatMap((db, place) => (db > most ? [place] : []));
    return { first: places[0] ?? 0, end: (places.at(-1) ?? -1) + 1, count: places.length };
  }

  /**
   * Return the first block that holds voice and the one after the last; all of them where there is
   * no word.
   * @param {number} seconds the length of a block
   */
  between(seconds) {
    const { first, end, count } = this.#voice;
    return count * seconds >= WORD_S ? [first, end] : [0, this.#levels.length];
  }

  /**
   * Take a block; return why the take is over with it, "" where it goes on.
   * @param {number} db its level against full scale
   * @param {number} seconds its length
   * @returns {Why}
   */
  block(db, seconds) {
    this.#levels.push(db);
    if (this.#levels.length >= SPAN) {
      this.#room = Math.min(this.#room, Math.max(...this.#levels.slice(-SPAN)));
    }
    const { end, count } = this.#voice;
    const whole = this.#levels.length * seconds;
    const spoken = count * seconds >= WORD_S;
    if (spoken && (this.#levels.length - end) * seconds >= QUIET_S) return "said";
    if (!spoken && whole >= NOTHING_S) return "nothing";
    return whole >= this.#longest ? "long" : "";
  }
}
