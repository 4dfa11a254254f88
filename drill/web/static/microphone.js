// @ts-check
// The microphone: opened for one take, closed after it.
import { FaintcallError } from "./api.js";
import { SILENCE_S, TakeEndDetector } from "./take_end.js";

/** Seconds recorded before the page asks the user to speak: they measure the background noise. */
const LEAD_IN_S = 0.3;
const LONGEST_S = 30;
/** The same as in recorder.js. */
const BLOCK_S = 0.05;
/** Silence kept before and after the speech, in seconds. */
const MARGIN_S = 1;
/** The largest file that the server accepts, without its header. */
const MAX_BYTES = 6 * 1024 * 1024 - 44;
/** Seconds without samples after which the microphone counts as dead. */
const NO_SAMPLES_S = 4;
const OR_FILE = "or open a recording as a file below.";
const OPEN_ERRORS = /** @type {Record<string, string>} */ ({
  NotAllowedError: "The browser may not use the microphone. Allow it beside the page's address "
    + `and record again, ${OR_FILE}`,
  NotFoundError: "No microphone was found. Connect one, select it in the sound settings and "
    + `record again, ${OR_FILE}`,
  NotReadableError: "The microphone cannot be opened; another program may be using it. Close that "
    + `program and record again, ${OR_FILE}`,
});
const OTHER_OPEN_ERROR = "The browser cannot open a microphone for this page. Use another browser, "
  + OR_FILE;
const DEAD = "The microphone delivers no samples. Check the sound settings of this computer, "
  + OR_FILE;

/**
 * Why a take ended: as the detector says, or "stopped" by the user, "disconnected" while recording,
 * "dead" without a single sample.
 * @typedef {import("./take_end.js").EndReason|"stopped"|"disconnected"|"dead"} Reason
 * @typedef {{
 *   samples: Float32Array[], rateHz: number, peak: number, reason: Reason, voiced: boolean,
 * }} Take
 */

/** One take; create a new object for each. */
export class Microphone {
  /** Called when the user should start to speak. */
  onReady = () => {};
  /**
   * Called for every block with its level in dB re full scale and its peak, 0 to 1.
   * @type {(db: number, peak: number) => void}
   */
  onLevel = () => {};

  /** @type {MediaStream|null} */ #stream = null;
  /** @type {AudioContext|null} */ #context = null;
  /** @type {Float32Array[]} */ #blocks = [];
  #peak = 0;
  #ready = false;
  #options;
  /** @type {(reason: Reason) => void} */ #end = () => {};

  /**
   * @param {{silenceS?: number, longestS?: number, marginS?: number}} options silenceS: silence
   *   after the last word that ends the take; longestS: longest take; marginS: silence kept before
   *   and after the speech; all in seconds
   */
  constructor({ silenceS = SILENCE_S, longestS = LONGEST_S, marginS = MARGIN_S } = {}) {
    this.#options = { silenceS, longestS, marginS };
  }

  /**
   * Record until silence follows speech, stop() is called or the device fails. Throws
   * FaintcallError if there is no working microphone.
   * @returns {Promise<Take>}
   */
  async record() {
    try {
      const rateHz = await this.#open();
      const { silenceS, longestS, marginS } = this.#options;
      const detector = new TakeEndDetector(Math.min(longestS, MAX_BYTES / 2 / rateHz), silenceS);
      const reason = await this.#collect(detector);
      if (reason === "dead") throw new FaintcallError(DEAD);
      const [first, end] = detector.voiceSpan(BLOCK_S);
      const margin = Math.round(marginS / BLOCK_S);
      const samples = this.#blocks.slice(Math.max(0, first - margin), end + margin);
      return { samples, rateHz, peak: this.#peak, reason, voiced: detector.hasWord(BLOCK_S) };
    } finally {
      this.close();
    }
  }

  /** End the take and keep what was recorded. */
  stop() {
    this.#end("stopped");
  }

  /** Release the device. */
  close() {
    this.#stream?.getTracks().forEach((track) => track.stop());
    this.#stream = null;
    this.#context?.close().catch(() => {});
    this.#context = null;
  }

  /** Open the device; return its sample rate in Hz. */
  async #open() {
    try {
      this.#stream = await navigator.mediaDevices.getUserMedia({
        // Processing that makes a video call pleasant would hide what the transmitter gets.
        audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
      });
    } catch (error) {
      const { name } = /** @type {Error} */ (error);
      throw new FaintcallError(OPEN_ERRORS[name] ?? OTHER_OPEN_ERROR);
    }
    const { sampleRate } = this.#stream.getAudioTracks()[0].getSettings();
    this.#context = new AudioContext(sampleRate ? { sampleRate } : {});
    await this.#context.audioWorklet.addModule("/static/recorder.js");
    return this.#context.sampleRate;
  }

  /**
   * Collect blocks until the take ends; return the reason.
   * @param {TakeEndDetector} detector
   * @returns {Promise<Reason>}
   */
  #collect(detector) {
    const stream = /** @type {MediaStream} */ (this.#stream);
    const context = /** @type {AudioContext} */ (this.#context);
    const node = new AudioWorkletNode(context, "recorder", {
      numberOfInputs: 1, numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit",
    });
    return new Promise((resolve) => {
      let idleSeconds = 0;
      // Counting ticks is safe if the page itself was suspended: only one tick is then pending.
      const watchdog = setInterval(() => {
        idleSeconds += 1;
        if (idleSeconds > NO_SAMPLES_S) this.#end(this.#ready ? "disconnected" : "dead");
      }, 1000);
      this.#end = (reason) => {
        clearInterval(watchdog);
        node.port.onmessage = null;
        resolve(reason);
      };
      node.port.onmessage = ({ data }) => {
        idleSeconds = 0;
        const reason = this.#addBlock(data, detector);
        if (reason) this.#end(reason);
      };
      stream.getAudioTracks()[0].addEventListener("ended", () => this.#end("disconnected"));
      // The node outputs silence; it is connected because an unconnected node may not run.
      new MediaStreamAudioSourceNode(context, { mediaStream: stream })
        .connect(node).connect(context.destination);
      context.resume().catch(() => {}); // the watchdog reports a context that does not start
    });
  }

  /** @param {Float32Array} samples @param {TakeEndDetector} detector */
  #addBlock(samples, detector) {
    this.#blocks.push(samples);
    let power = 0, peak = 0;
    for (const sample of samples) {
      power += sample * sample;
      peak = Math.max(peak, Math.abs(sample));
    }
    this.#peak = Math.max(this.#peak, peak);
    const db = 10 * Math.log10(power / samples.length + 1e-12);
    const reason = detector.addBlock(db, BLOCK_S);
    if (!this.#ready && this.#blocks.length * BLOCK_S >= LEAD_IN_S) {
      this.#ready = true;
      this.onReady();
    }
    if (this.#ready) this.onLevel(db, peak);
    return reason;
  }
}
