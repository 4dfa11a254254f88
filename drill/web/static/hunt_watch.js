// @ts-check
// Watches that sound comes while the clock of a hunt runs.

/** A running hunt without sound for this long is silent. */
const SILENT_MS = 5000;
const INTERVAL_MS = 1000;

export class SoundWatch {
  #soundAt = 0;

  /**
   * Watch from now on.
   * @param {() => boolean} isRunning returns whether sound should come
   * @param {() => void} onSilence called when none came
   */
  constructor(isRunning, onSilence) {
    setInterval(() => {
      if (isRunning() && performance.now() - this.#soundAt > SILENT_MS) onSilence();
    }, INTERVAL_MS);
  }

  /** Note that sound has come, or may come from now on. */
  renew() {
    this.#soundAt = performance.now();
  }
}
