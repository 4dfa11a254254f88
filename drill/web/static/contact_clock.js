// @ts-check
// The clock of a contact: the player's time in samples. It stops without sound output and
// on request, so that a slow computer never changes what happens.

export class ContactClock {
  #player;
  #at = 0;
  #started = 0;
  #runs = false;
  /** Samples per second. */
  rateHz = 1;

  /** @param {import("./player.js").Player} player */
  constructor(player) {
    this.#player = player;
  }

  /** Return the time in samples since the start of the contact. */
  now() {
    if (!this.#runs) return this.#at;
    return this.#at + Math.round((this.#player.seconds - this.#started) * this.rateHz);
  }

  get runs() {
    return this.#runs;
  }

  /** Start at a time in samples. @param {number} at */
  start(at) {
    this.#at = at;
    this.#started = this.#player.seconds;
    this.#runs = true;
  }

  stop() {
    this.#at = this.now();
    this.#runs = false;
  }
}
