// @ts-check
// An over by microphone in a hunt: recorded while the clock is stopped, then sent as a file.
import { FaintcallError, postFile } from "./api.js";
import { Microphone } from "./microphone.js";
import { LoudestLevel } from "./microphone_level.js";
import { encodeWav } from "./wav.js";

/** The silence that ends an over is short, because the far station waits. */
const OVER_OPTIONS = { silenceS: 0.8, longestS: 20, marginS: 0.1 };
const NO_SPEECH = "No speech was heard, so nothing was sent. Use the letters, or v again.";

export class HuntMicrophone {
  /** @type {Microphone|null} */ #microphone = null;
  /** A sentence about the loudest level of the last over, "" before the first. */
  levelSentence = "";

  get isOpen() {
    return this.#microphone !== null;
  }

  /** End the over. */
  stop() {
    this.#microphone?.stop();
  }

  /**
   * Record an over and send it. Throws FaintcallError.
   * @param {string} identity of the hunt
   * @param {() => void} onReady called when the trainee should speak
   */
  async send(identity, onReady) {
    const microphone = new Microphone(OVER_OPTIONS), level = new LoudestLevel();
    microphone.onReady = onReady;
    microphone.onLevel = (db, peak) => level.add(db, peak);
    this.#microphone = microphone;
    try {
      const take = await microphone.record();
      this.levelSentence = level.sentence;
      if (take.reason === "no-speech" || !take.voiced) throw new FaintcallError(NO_SPEECH);
      const query = new URLSearchParams({ session: identity });
      const audio = encodeWav(take.samples, take.rateHz);
      await postFile(`/api/hunts/voice?${query}`, audio, "audio/wav");
    } finally {
      this.#microphone = null;
    }
  }
}
