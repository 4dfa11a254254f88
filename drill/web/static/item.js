// @ts-check
// The sounds of one item: fetched ahead so that it starts at once, and clean once it was answered.
import { get } from "./api.js";

/** @typedef {import("./sound.js").Sound} Sound */

/** Return a field as the terminal names it. @param {{name: string, optional_if: string}} field */
function named({ name, optional_if: left }) {
  return left ? `${name} (may be left out if ${left})` : name;
}

export class ItemSounds {
  #player;
  #sitting = "";
  /** @type {Promise<{number: number, noise: Sound}>|null} the next item, on its way */
  #ahead = null;
  /** @type {Sound|null} */
  #noise = null;
  /** @type {Sound|null} */
  #clean = null;
  /** Of the item that was taken last, from 0. */
  number = 0;

  /** What there is to copy in the item on its way, in words. */
  asked = "";

  /** @param {import("./sound.js").Player} player */
  constructor(player) {
    this.#player = player;
  }

  /**
   * Fetch and decode the present item of a sitting.
   * @param {any} state
   * @param {() => void} known called when `asked` is known
   */
  prepare({ id, number }, known) {
    this.#sitting = id;
    this.#ahead = (async () => {
      const item = await get(`/api/sittings/${id}/items/${number}`);
      this.asked = item.fields.map(named).join(", ");
      known();
      return { number: item.number, noise: await this.#player.load(item.sound) };
    })();
    // Who waits for it is told; where nobody does yet, it is no error of the page.
    this.#ahead.catch(() => {});
  }

  /** Return what was prepared, when it is there. Throws Lack. */
  ahead() {
    return /** @type {Promise<{number: number, noise: Sound}>} */ (this.#ahead);
  }

  /** Make what was prepared the item that is heard. @param {{number: number, noise: Sound}} made */
  take({ number, noise }) {
    this.number = number;
    this.#noise = noise;
    this.#clean = null;
  }

  /** Return the item's sound in the noise. */
  noise() {
    return /** @type {Sound} */ (this.#noise);
  }

  /** Return its sound without noise; it has to be answered. Throws Lack. */
  async clean() {
    const path = `/api/sittings/${this.#sitting}/items/${this.number}/clean.wav`;
    this.#clean ??= await this.#player.load(path);
    return this.#clean;
  }
}
