// @ts-check
// Audio worklet: plays the samples of a hunt in order, and leaves none out. If they come too late,
// it fades out, waits for enough samples, and fades in where it stopped.

/** Samples that have to be queued before playing begins, at the start and after a gap: 64 ms. */
const START_SAMPLES = 1024;
/** It reports after this many samples, 32 ms; the size of the server's blocks. */
const REPORT_SAMPLES = 512;
/** Length of a fade: 4 ms. */
const FADE_SAMPLES = 64;

class HuntProcessor extends AudioWorkletProcessor {
  /** @type {Float32Array[]} */ #blocks = [];
  /** Samples of the first block that were played. */ #offset = 0;
  #waiting = 0;
  #played = 0;
  #reported = 0;
  #isDry = true;
  /** True while the server has announced that no samples come. */
  #isHalted = true;
  #underruns = 0;
  #last = 0;
  #fadeIn = 0;
  /** @type {MessagePort|null} leads to the worker that owns the socket */ #source = null;

  constructor() {
    super();
    this.port.onmessage = ({ data }) => this.#connect(data);
  }

  /** @param {MessagePort} source */
  #connect(source) {
    this.#source = source;
    source.onmessage = ({ data }) => {
      if (typeof data === "boolean") {
        this.#isHalted = data;
      } else {
        this.#blocks.push(data);
        this.#waiting += data.length;
      }
    };
  }

  /** @param {Float32Array[][]} _ @param {Float32Array[][]} outputs @returns {boolean} */
  process(_, outputs) {
    const [output] = outputs[0];
    if (this.#isDry && this.#waiting >= START_SAMPLES) {
      this.#isDry = false;
      this.#fadeIn = FADE_SAMPLES;
    } else if (!this.#isDry && this.#waiting < output.length) {
      this.#isDry = true;
      if (!this.#isHalted) this.#underruns += 1;
      this.#report();
    }
    if (this.#isDry) this.#fadeOut(output);
    else this.#play(output);
    if (this.#played - this.#reported >= REPORT_SAMPLES) this.#report();
    return true;
  }

  /** @param {Float32Array} output */
  #play(output) {
    for (let index = 0; index < output.length; index += 1) {
      let sample = this.#blocks[0][this.#offset];
      this.#offset += 1;
      if (this.#offset === this.#blocks[0].length) {
        this.#blocks.shift();
        this.#offset = 0;
      }
      if (this.#fadeIn) {
        sample *= 1 - this.#fadeIn / FADE_SAMPLES;
        this.#fadeIn -= 1;
      }
      output[index] = sample;
    }
    this.#last = output[output.length - 1];
    this.#waiting -= output.length;
    this.#played += output.length;
  }

  /** @param {Float32Array} output */
  #fadeOut(output) {
    for (let index = 0; index < output.length; index += 1) {
      this.#last *= 1 - 4 / FADE_SAMPLES;
      output[index] = this.#last;
    }
  }

  #report() {
    this.#reported = this.#played;
    this.#source?.postMessage({ played: this.#played, underruns: this.#underruns });
  }
}

registerProcessor("hunt", HuntProcessor);
