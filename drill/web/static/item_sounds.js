// @ts-check
// The sounds of one item: the noisy one is fetched in advance, the clean one after the answer.
import { get } from "./api.js";

/**
 * @typedef {import("./player.js").Sound} Sound
 * @typedef {{number: number, noisy: Sound}} PreparedItem
 */

/**
 * Return a field's name as shown above the answer line.
 * @param {{name: string, optional_if: string}} field
 */
function fieldLabel({ name, optional_if: omittable }) {
  return omittable ? `${name} (may be left out if ${omittable})` : name;
}

export class ItemSounds {
  #player;
  #session = "";
  /** @type {Promise<PreparedItem>|null} */ #prepared = null;
  /** @type {Sound|null} */ #noisy = null;
  /** @type {Sound|null} */ #clean = null;
  /** Number of the item that was taken last, from 0. */
  number = 0;
  /** Names of the fields to copy in the prepared item, "" until they are known. */
  fieldLabels = "";

  /** @param {import("./player.js").Player} player */
  constructor(player) {
    this.#player = player;
  }

  /**
   * Fetch and decode the current item of a session.
   * @param {any} state of the session
   * @param {() => void} onLabels called when `fieldLabels` is known
   */
  prepare({ id, number }, onLabels) {
    this.#session = id;
    this.#prepared = (async () => {
      const item = await get(`/api/sessions/${id}/items/${number}`);
      this.fieldLabels = item.fields.map(fieldLabel).join(", ");
      onLabels();
      return { number: item.number, noisy: await this.#player.load(item.sound) };
    })();
    // Whoever awaits it gets the error; until then it must not count as unhandled.
    this.#prepared.catch(() => {});
  }

  /** Return the prepared item when it is ready. Throws FaintcallError. */
  prepared() {
    return /** @type {Promise<PreparedItem>} */ (this.#prepared);
  }

  /** Make a prepared item the current one. @param {PreparedItem} item */
  take({ number, noisy }) {
    this.number = number;
    this.#noisy = noisy;
    this.#clean = null;
  }

  /** Return the current item's sound in the noise. */
  noisy() {
    return /** @type {Sound} */ (this.#noisy);
  }

  /** Return its sound without noise; the item has to be answered. Throws FaintcallError. */
  async clean() {
    const path = `/api/sessions/${this.#session}/items/${this.number}/clean.wav`;
    this.#clean ??= await this.#player.load(path);
    return this.#clean;
  }
}
