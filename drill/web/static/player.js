// @ts-check
// Plays one sound at a time: fetched and decoded in advance, with ramps, never above its own level.
import { holdAnnouncements, quietLeftMs } from "./announce.js";
import { FaintcallError, getBytes } from "./api.js";
import { useChosenOutput } from "./output_device.js";

/** Duration of the ramp at every start, stop and change of volume; it prevents clicks. */
const RAMP_S = 0.02;
/** Sound before and after a part that is played alone. */
const PART_MARGIN_S = 0.08;
/** How long the computer may take to open its audio output. */
const OPEN_TIMEOUT_MS = 4000;
const NO_OUTPUT = "No sound: the browser's audio output does not start. Check the sound settings "
  + "of this computer, then play it again.";
const NOT_DECODABLE = "The browser cannot decode this sound. Play it again.";
const PAN = { left: -1, both: 0, right: 1 };

/**
 * A sound, at first as bytes, later decoded.
 * @typedef {{bytes: ArrayBuffer|null, buffer: AudioBuffer|null}} Sound
 *
 * A part of a sound, in seconds from its start.
 * @typedef {{startS: number, endS: number}} Part
 *
 * @typedef {{
 *   source: AudioBufferSourceNode, ramp: GainNode, finish: (whole: boolean) => void,
 * }} Playing
 */

/**
 * Dispatches "sound" on the document: detail is the duration in s at a start, 0 at an end, and
 * "sound-waits" when a sound waits because something has just been announced.
 */
export class Player {
  /** @type {AudioContext|null} */ #context = null;
  /** @type {GainNode|null} */ #volumeNode = null;
  /** @type {StereoPannerNode|null} */ #panner = null;
  /** @type {Playing|null} */ #playing = null;
  #volume = 0.5;
  /** @type {"left"|"both"|"right"} */ #side = "both";
  #endedAt = 0;
  /** Resolves when the output plays through the chosen device. */
  #device = Promise.resolve();
  /** Ends the wait for silence. @type {(() => void)|null} */ #endWait = null;
  /** A sound starts at the earliest this long after an announcement, in ms. */
  quietMs = 0;
  /** Number of the latest request to play or stop; an older one gives up when it sees a newer. */
  #turn = 0;

  /** Volume from 0 to 1. The gain is its square, which sounds even, and never exceeds 1. */
  get volume() {
    return this.#volume;
  }

  set volume(value) {
    this.#volume = Math.min(1, Math.max(0, Number(value) || 0));
    if (this.#volumeNode && this.#context) {
      this.#volumeNode.gain.setTargetAtTime(this.gain, this.#context.currentTime, RAMP_S / 3);
    }
  }

  /** Factor that samples are multiplied by. */
  get gain() {
    return this.#volume ** 2;
  }

  /** The ear that hears: left, both or right. */
  get side() {
    return this.#side;
  }

  set side(value) {
    this.#side = value;
    if (this.#panner) this.#panner.pan.value = PAN[value] ?? 0;
  }

  /** Time of the output in seconds; it stands still while the output is closed or not started. */
  get seconds() {
    return this.#context?.currentTime ?? 0;
  }

  /** True while a sound plays. */
  get playing() {
    return this.#playing !== null;
  }

  /** Open the output. Call it from a key press or a click: browsers allow no sound before one. */
  unlock() {
    if (!this.#context) {
      this.#context = new AudioContext({ latencyHint: "interactive" });
      this.#volumeNode = new GainNode(this.#context, { gain: this.gain });
      this.#panner = new StereoPannerNode(this.#context, { pan: PAN[this.#side] ?? 0 });
      this.#volumeNode.connect(this.#panner).connect(this.#context.destination);
      this.#device = useChosenOutput(this.#context);
    }
    this.#context.resume().catch(() => {}); // play() reports an output that does not start
  }

  /**
   * Return a sound, fetched and, if the output is open, decoded. Throws FaintcallError.
   * @param {string} url
   * @returns {Promise<Sound>}
   */
  async load(url) {
    /** @type {Sound} */
    const sound = { bytes: await getBytes(url), buffer: null };
    if (this.#context) await this.#decode(sound);
    return sound;
  }

  /**
   * Play a sound and fade out the current one. Resolves when the sound has been heard: true if it
   * was played to its end, false if it was stopped. Throws FaintcallError without an output.
   * @param {Sound} sound
   * @param {() => void} onStart called when the sound starts
   * @param {Part} [part] what is played of it, with PART_MARGIN_S around; undefined for all
   * @returns {Promise<boolean>}
   */
  async play(sound, onStart = () => {}, part = undefined) {
    const turn = ++this.#turn;
    this.unlock();
    await this.#outputOpened();
    await this.#device;
    const buffer = await this.#decode(sound);
    if (turn !== this.#turn) return false;
    this.#fadeOut();
    await this.#quiet();
    if (turn !== this.#turn) return false;
    onStart();
    return this.#start(buffer, part);
  }

  /** True while a sound waits for the silence before it. */
  get waiting() {
    return this.#endWait !== null;
  }

  /** Start the sound that waits at once. */
  startNow() {
    this.#endWait?.();
  }

  /** Fade out the current sound; one that waits does not start. */
  stop() {
    this.#turn += 1;
    if (this.#endWait) {
      this.#endWait();
      holdAnnouncements(false);
      document.dispatchEvent(new CustomEvent("sound", { detail: 0 }));
    }
    this.#fadeOut();
  }

  /** Stop and close the output, for example before a microphone opens; play() reopens it. */
  async close() {
    const wasPlaying = this.playing;
    this.stop();
    if (wasPlaying) await new Promise((resolve) => setTimeout(resolve, 1000 * RAMP_S));
    const context = this.#context;
    this.#context = null;
    this.#volumeNode = null;
    this.#panner = null;
    await context?.close().catch(() => {});
  }

  /** Return the seconds since the last sound ended; 0 while one plays and before the first. */
  secondsSinceEnd() {
    if (this.#playing || !this.#endedAt) return 0;
    return Math.max(0, (performance.now() - this.#endedAt) / 1000);
  }

  /** Wait until nothing has been announced for `quietMs`; announcements are held from now on. */
  async #quiet() {
    this.#endWait?.();
    const left = quietLeftMs(this.quietMs);
    if (!left) return;
    document.dispatchEvent(new CustomEvent("sound-waits"));
    await new Promise((resolve) => {
      const timer = setTimeout(() => this.#endWait?.(), left);
      this.#endWait = () => {
        clearTimeout(timer);
        this.#endWait = null;
        resolve(undefined);
      };
    });
  }

  /** @param {AudioBuffer} buffer @param {Part} [part] @returns {Promise<boolean>} */
  #start(buffer, part) {
    const context = /** @type {AudioContext} */ (this.#context);
    const now = context.currentTime;
    const from = part ? Math.max(0, part.startS - PART_MARGIN_S) : 0;
    const to = part ? Math.min(buffer.duration, part.endS + PART_MARGIN_S) : buffer.duration;
    const ramp = new GainNode(context, { gain: 0 });
    ramp.gain.setValueAtTime(0, now);
    ramp.gain.linearRampToValueAtTime(1, now + RAMP_S);
    if (part) {
      ramp.gain.setValueAtTime(1, now + to - from - RAMP_S);
      ramp.gain.linearRampToValueAtTime(0, now + to - from);
    }
    const source = new AudioBufferSourceNode(context, { buffer });
    source.connect(ramp).connect(/** @type {GainNode} */ (this.#volumeNode));
    return new Promise((resolve) => {
      const finish = (/** @type {boolean} */ whole) => {
        if (this.#playing?.source !== source) return;
        this.#playing = null;
        this.#endedAt = performance.now();
        holdAnnouncements(false);
        document.dispatchEvent(new CustomEvent("sound", { detail: 0 }));
        resolve(whole);
      };
      // The last samples are heard one output latency after the graph has processed them.
      source.onended = () => setTimeout(() => finish(true), this.#latencyMs());
      this.#playing = { source, ramp, finish };
      holdAnnouncements(true);
      source.start(now, from, to - from);
      document.dispatchEvent(new CustomEvent("sound", { detail: to - from }));
    });
  }

  #latencyMs() {
    const context = this.#context;
    return 1000 * Math.min(1, context?.outputLatency || context?.baseLatency || 0);
  }

  #fadeOut() {
    const playing = this.#playing;
    if (!playing || !this.#context) return;
    const { source, ramp, finish } = playing;
    const now = this.#context.currentTime;
    ramp.gain.cancelScheduledValues(now);
    ramp.gain.setValueAtTime(ramp.gain.value, now);
    ramp.gain.linearRampToValueAtTime(0, now + RAMP_S);
    source.stop(now + RAMP_S);
    finish(false);
  }

  async #outputOpened() {
    const context = /** @type {AudioContext} */ (this.#context);
    if (context.state === "running") return;
    const timeout = new Promise((_, reject) => {
      setTimeout(() => reject(new FaintcallError(NO_OUTPUT)), OPEN_TIMEOUT_MS);
    });
    await Promise.race([context.resume().catch(() => timeout), timeout]);
  }

  /** @param {Sound} sound */
  async #decode(sound) {
    if (sound.buffer) return sound.buffer;
    const context = /** @type {AudioContext} */ (this.#context);
    try {
      // Decoding detaches the bytes, so it gets a copy: a second caller may decode as well.
      const copy = /** @type {ArrayBuffer} */ (sound.bytes).slice(0);
      sound.buffer = await context.decodeAudioData(copy);
    } catch {
      throw new FaintcallError(NOT_DECODABLE);
    }
    sound.bytes = null;
    return sound.buffer;
  }
}
