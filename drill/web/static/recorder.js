// @ts-check
// Audio worklet: hands the microphone's samples to the page in blocks of 50 ms.

/** Seconds of one block; the same as in microphone.js. */
const BLOCK_S = 0.05;

class Recorder extends AudioWorkletProcessor {
  #size = Math.round(sampleRate * BLOCK_S);
  #block = new Float32Array(this.#size);
  #filled = 0;

  /** @param {Float32Array[][]} inputs samples by input and channel @returns {boolean} */
  process(inputs) {
    const [channel] = inputs[0];
    for (const sample of channel ?? []) {
      this.#block[this.#filled++] = sample;
      if (this.#filled === this.#size) {
        this.port.postMessage(this.#block, [this.#block.buffer]);
        this.#block = new Float32Array(this.#size);
        this.#filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("recorder", Recorder);
