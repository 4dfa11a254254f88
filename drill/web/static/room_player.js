// @ts-check
// Player for a session whose items a loudspeaker in the room plays: it plays nothing itself.
import { announce } from "./announce.js";
import { Player } from "./player.js";

const NOT_HERE = "The sound comes from the room; nothing is played here.";

export class RoomPlayer extends Player {
  #promptedAt = 0;

  unlock() {}

  async load() {
    return { bytes: null, buffer: null };
  }

  /**
   * Note the time; only a first hearing has `onStart`.
   * @param {import("./player.js").Sound} _
   * @param {() => void} [onStart]
   */
  async play(_, onStart) {
    if (onStart) onStart();
    else announce(NOT_HERE);
    this.#promptedAt = performance.now();
    return true;
  }

  stop() {}

  async close() {}

  /** Return the seconds since the prompt for the item: nobody knows when its sound ended. */
  secondsSinceEnd() {
    return (performance.now() - this.#promptedAt) / 1000;
  }
}
