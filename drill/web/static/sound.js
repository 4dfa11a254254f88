// @ts-check
// Sounds: fetched and decoded ahead, one at a time, ramped, never louder than they were made.
import { Lack, bytes } from "./api.js";
import { hush } from "./say.js";

/** Every start, stop and change of volume takes as long, so that nothing clicks. */
const RAMP_S = 0.02;
/** How long the machine may take to open its output. */
const OPEN_MS = 4000;
const NO_OUTPUT = "No sound: the browser's output does not start. Look at the sound settings of "
  + "this machine, then play it again.";
const UNREADABLE = "This sound cannot be read. Play it again.";
const SIDES = { left: -1, both: 0, right: 1 };

/**
 * @typedef {{bytes: ArrayBuffer|null, buffer: AudioBuffer|null}} Sound
 * @typedef {{source: AudioBufferSourceNode, level: GainNode, finish: (whole: boolean) => void}} Playing
 */

export class Player {
  /** @type {AudioContext|null} */ #context = null;
  /** @type {GainNode|null} */ #level = null;
  /** @type {StereoPannerNode|null} */ #panner = null;
  /** @type {Playing|null} */ #playing = null;
  #volume = 0.5;
  /** @type {"left"|"both"|"right"} */ #side = "both";
  #endedAt = 0;
  #turn = 0;

  /** The volume from 0 to 1; the gain is its square, as ears want it, and never over 1. */
  get volume() {
    return this.#volume;
  }

  set volume(value) {
    this.#volume = Math.min(1, Math.max(0, Number(value) || 0));
    if (this.#level && this.#context) {
      this.#level.gain.setTargetAtTime(this.gain, this.#context.currentTime, RAMP_S / 3);
    }
  }

  /** What samples are multiplied by. */
  get gain() {
    return this.#volume ** 2;
  }

  get side() {
    return this.#side;
  }

  /** The ear that hears: left, both or right. */
  set side(value) {
    this.#side = value;
    if (this.#panner) this.#panner.pan.value = SIDES[value] ?? 0;
  }

  /** True while something sounds. */
  get playing() {
    return this.#playing !== null;
  }

  /** Open the output. Call it from a key or a click: browsers give no sound before one. */
  unlock() {
    if (!this.#context) {
      this.#context = new AudioContext({ latencyHint: "interactive" });
      this.#level = new GainNode(this.#context, { gain: this.gain });
      this.#panner = new StereoPannerNode(this.#context, { pan: SIDES[this.#side] ?? 0 });
      this.#level.connect(this.#panner).connect(this.#context.destination);
    }
    this.#context.resume().catch(() => {}); // play tells where it does not start
  }

  /**
   * Return a sound, fetched and as far as possible decoded. Throws Lack.
   * @param {string} url
   * @returns {Promise<Sound>}
   */
  async load(url) {
    /** @type {Sound} */
    const sound = { bytes: await bytes(url), buffer: null };
    if (this.#context) await this.#decode(sound);
    return sound;
  }

  /**
   * Play a sound; what still plays is faded out. Resolves at its end, as it is heard: true where
   * it was played whole, false where it was stopped. Throws Lack where there is no output.
   * @param {Sound} sound
   * @param {() => void} begun called at the moment it starts
   * @returns {Promise<boolean>}
   */
  async play(sound, begun = () => {}) {
    const mine = ++this.#turn;
    this.unlock();
    await this.#opened();
    const buffer = await this.#decode(sound);
    if (mine !== this.#turn) return false;
    this.#fade();
    begun();
    return this.#start(buffer);
  }

  /** Stop what plays, in a ramp. */
  stop() {
    this.#turn += 1;
    this.#fade();
  }

  /** Stop and close the output, as before a microphone opens; the next sound opens it again. */
  async rest() {
    const loud = this.playing;
    this.stop();
    if (loud) await new Promise((done) => setTimeout(done, 1000 * RAMP_S));
    const context = this.#context;
    this.#context = null;
    this.#level = null;
    this.#panner = null;
    await context?.close().catch(() => {});
  }

  /** Return the seconds since the last sound ended as heard; 0 while one plays or before any. */
  sinceEnd() {
    if (this.#playing || !this.#endedAt) return 0;
    return Math.max(0, (performance.now() - this.#endedAt) / 1000);
  }

  /** @param {AudioBuffer} buffer @returns {Promise<boolean>} */
  #start(buffer) {
    const context = /** @type {AudioContext} */ (this.#context);
    const now = context.currentTime;
    const level = new GainNode(context, { gain: 0 });
    level.gain.setValueAtTime(0, now);
    level.gain.linearRampToValueAtTime(1, now + RAMP_S);
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(level).connect(/** @type {GainNode} */ (this.#level));
    return new Promise((resolve) => {
      const finish = (/** @type {boolean} */ whole) => {
        if (this.#playing?.source !== source) return;
        this.#playing = null;
        this.#endedAt = performance.now();
        hush(false);
        document.dispatchEvent(new CustomEvent("sound", { detail: 0 }));
        resolve(whole);
      };
      // The last samples leave the machine a little after they left the page.
      source.onended = () => setTimeout(() => finish(true), this.#latencyMs());
      this.#playing = { source, level, finish };
      hush(true);
      source.start(now);
      document.dispatchEvent(new CustomEvent("sound", { detail: buffer.duration }));
    });
  }

  #latencyMs() {
    const context = /** @type {AudioContext} */ (this.#context);
    return 1000 * Math.min(1, context.outputLatency || context.baseLatency || 0);
  }

  #fade() {
    const playing = this.#playing;
    if (!playing || !this.#context) return;
    const { source, level, finish } = playing;
    const now = this.#context.currentTime;
    level.gain.cancelScheduledValues(now);
    level.gain.setValueAtTime(level.gain.value, now);
    level.gain.linearRampToValueAtTime(0, now + RAMP_S);
    source.stop(now + RAMP_S);
    finish(false);
  }

  async #opened() {
    const context = /** @type {AudioContext} */ (this.#context);
    if (context.state === "running") return;
    const late = new Promise((_, fail) => {
      setTimeout(() => fail(new Lack(NO_OUTPUT)), OPEN_MS);
    });
    await Promise.race([context.resume().catch(() => late), late]);
  }

  /** @param {Sound} sound */
  async #decode(sound) {
    if (sound.buffer) return sound.buffer;
    const context = /** @type {AudioContext} */ (this.#context);
    try {
      // Decoding takes the bytes away, so a second caller gets a copy.
      sound.buffer = await context.decodeAudioData(
        /** @type {ArrayBuffer} */ (sound.bytes).slice(0));
    } catch {
      throw new Lack(UNREADABLE);
    }
    sound.bytes = null;
    return sound.buffer;
  }
}
