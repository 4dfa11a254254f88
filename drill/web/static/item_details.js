// @ts-check
// How the words of the answered item arrived: fetched after the answer, shown, and told by key.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { byId } from "./elements.js";
import { heardWords } from "./heard_words.js";

/** The number of a word plays it alone; with c, clean. */
const WORD_KEY = /^([1-9]\d?)(c?)$/;

/** A word to play alone. @typedef {{part: import("./player.js").Part, clean: boolean}} WordToPlay */

export class ItemDetails {
  #play;
  /** @type {Promise<import("./heard_words.js").Heard|null>} */ #heard = Promise.resolve(null);
  /** Number of the latest request; an older one shows nothing. */
  #turn = 0;

  /** @param {(word: WordToPlay) => void} play plays a word of the answered item */
  constructor(play) {
    this.#play = play;
  }

  /** Fetch and show the words of an answered item. @param {string} session @param {number} number */
  async load(session, number) {
    const turn = ++this.#turn;
    this.#heard = get(`/api/sessions/${session}/items/${number}/heard`).catch(() => null);
    const heard = await this.#heard;
    if (!heard || turn !== this.#turn) return;
    byId("heard")?.replaceChildren(heardWords(heard, (word) => void this.playWord(`${word}`)));
  }

  /** Say how each word arrived, and open the list that says the same. */
  async tell() {
    const heard = await this.#heard;
    if (!heard) return announce("The details of this item are not available.");
    const list = byId("heard")?.querySelector("details");
    if (list) list.open = true;
    return announce(heard.words.map(({ line }) => line).join(" "), { shownElsewhere: true });
  }

  /** Return whether a key asks for a word. @param {string} key */
  isWordKey(key) {
    return WORD_KEY.test(key);
  }

  /** Play a word alone. @param {string} key its number from 1, with c for clean */
  async playWord(key) {
    const [, number, clean] = WORD_KEY.exec(key) ?? [];
    const word = (await this.#heard)?.words[Number(number) - 1];
    if (!word) return announce(`There is no word ${number}; press d for the words.`);
    return this.#play({ part: { startS: word.start_s, endS: word.end_s }, clean: clean === "c" });
  }
}
