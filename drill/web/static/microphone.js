// @ts-check
// The microphone: opened for one take and closed after it, its sound as it comes.
import { Lack } from "./api.js";
import { Ends } from "./ends.js";

/** Quiet that is kept before the sign to speak, so that the room can be measured. */
const BEFORE_S = 0.3;
const LONGEST_S = 30;
/** Blocks of quiet that are kept on either side of what was said, 1 s. */
const AROUND = 20;
/** What the server takes at once, less the head of a file. */
const MOST_BYTES = 6 * 1024 * 1024 - 44;
/** A device that gives nothing for so long is none. */
const DEAD_MS = 4000;
const FILE = "or give a recording as a file below.";
const REFUSED = /** @type {Record<string, string>} */ ({
  NotAllowedError: `The browser may not use the microphone. Allow it for this page, beside its address, and record again; ${FILE}`,
  NotFoundError: `There is no microphone. Connect one, choose it in the sound settings and record again; ${FILE}`,
  NotReadableError: `The microphone cannot be opened; another program may hold it. Close that and record again; ${FILE}`,
});
const OTHERWISE = `The browser gives this page no microphone; ${FILE}`;
const DEAD = `The microphone gives nothing. Look at the sound settings of this machine; ${FILE}`;

/**
 * @typedef {import("./ends.js").Why|"stopped"|"gone"|"dead"} Reason
 * @typedef {{samples: Float32Array[], rate: number, peak: number, why: Reason}} Take
 */

/** One take. Make one for each. */
export class Microphone {
  /** Told when it is time to speak. */
  begun = () => {};
  /** Told the level of every block, in dB of full scale, and its peak. @type {(db: number, peak: number) => void} */
  level = () => {};

  /** @type {MediaStream|null} */ #stream = null;
  /** @type {AudioContext|null} */ #context = null;
  /** @type {Float32Array[]} */ #samples = [];
  #peak = 0;
  #begun = false;
  /** @type {(why: Reason) => void} */ #end = () => {};

  /**
   * Record until silence follows speech, stop() is called, or it cannot go on. Throws Lack where
   * there is no microphone.
   * @returns {Promise<Take>}
   */
  async take() {
    try {
      const rate = await this.#open();
      const ends = new Ends(Math.min(LONGEST_S, MOST_BYTES / 2 / rate));
      const why = await this.#filled(rate, ends);
      if (why === "dead") throw new Lack(DEAD);
      const [first, end] = ends.between;
      const samples = this.#samples.slice(Math.max(0, first - AROUND), end + AROUND);
      return { samples, rate, peak: this.#peak, why };
    } finally {
      this.close();
    }
  }

  /** End the take; what was said until now is kept. */
  stop() {
    this.#end("stopped");
  }

  /** Let the device go. */
  close() {
    this.#stream?.getTracks().forEach((track) => track.stop());
    this.#stream = null;
    this.#context?.close().catch(() => {});
    this.#context = null;
  }

  /** Open the device at its own rate; return that. */
  async #open() {
    try {
      this.#stream = await navigator.mediaDevices.getUserMedia({
        // What makes a call pleasant hides what the transmitter would send.
        audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
      });
    } catch (error) {
      throw new Lack(REFUSED[/** @type {Error} */ (error).name] ?? OTHERWISE);
    }
    const { sampleRate } = this.#stream.getAudioTracks()[0].getSettings();
    this.#context = new AudioContext(sampleRate ? { sampleRate } : {});
    await this.#context.audioWorklet.addModule("/static/recorder.js");
    return this.#context.sampleRate;
  }

  /**
   * Return why the take ended.
   * @param {number} rate
   * @param {Ends} ends
   * @returns {Promise<Reason>}
   */
  #filled(rate, ends) {
    const stream = /** @type {MediaStream} */ (this.#stream);
    const context = /** @type {AudioContext} */ (this.#context);
    const node = new AudioWorkletNode(context, "recorder", {
      numberOfInputs: 1, numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit",
    });
    return new Promise((resolve) => {
      let dead = setTimeout(() => this.#end("dead"), DEAD_MS);
      this.#end = (why) => {
        clearTimeout(dead);
        node.port.onmessage = null;
        resolve(why);
      };
      node.port.onmessage = ({ data }) => {
        clearTimeout(dead);
        dead = setTimeout(() => this.#end(this.#begun ? "gone" : "dead"), DEAD_MS);
        const why = this.#block(data, rate, ends);
        if (why) this.#end(why);
      };
      stream.getAudioTracks()[0].addEventListener("ended", () => this.#end("gone"));
      // It gives silence, but a node without a way out may not run.
      new MediaStreamAudioSourceNode(context, { mediaStream: stream })
        .connect(node).connect(context.destination);
      context.resume().catch(() => {}); // the watch over a dead device tells
    });
  }

  /** @param {Float32Array} samples @param {number} rate @param {Ends} ends */
  #block(samples, rate, ends) {
    this.#samples.push(samples);
    let power = 0, peak = 0;
    for (const sample of samples) {
      power += sample * sample;
      peak = Math.max(peak, Math.abs(sample));
    }
    this.#peak = Math.max(this.#peak, peak);
    const db = 10 * Math.log10(power / samples.length + 1e-12);
    const why = ends.block(db, samples.length / rate);
    if (!this.#begun && this.#samples.length * samples.length >= BEFORE_S * rate) {
      this.#begun = true;
      this.begun();
    }
    if (this.#begun) this.level(db, peak);
    return why;
  }
}

/**
 * Return samples as a WAV file, 16 bit, mono.
 * @param {Float32Array[]} blocks
 * @param {number} rate in Hz
 */
export function wav(blocks, rate) {
  const count = blocks.reduce((sum, block) => sum + block.length, 0);
  const view = new DataView(new ArrayBuffer(44 + 2 * count));
  const word = (/** @type {number} */ at, /** @type {string} */ text) =>
    Array.from(text).forEach((one, n) => view.setUint8(at + n, one.charCodeAt(0)));
  word(0, "RIFF");
  view.setUint32(4, 36 + 2 * count, true);
  word(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true); // PCM
  view.setUint16(22, 1, true); // channels
  view.setUint32(24, rate, true);
  view.setUint32(28, 2 * rate, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  word(36, "data");
  view.setUint32(40, 2 * count, true);
  let at = 44;
  for (const block of blocks) {
    for (const sample of block) {
      view.setInt16(at, Math.round(Math.max(-1, Math.min(1, sample)) * 32767), true);
      at += 2;
    }
  }
  return view.buffer;
}
