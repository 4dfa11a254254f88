// @ts-check
// WAV files from samples.

const HEADER_BYTES = 44;

/**
 * Return samples as a WAV file: 16 bit, mono.
 * @param {Float32Array[]} blocks samples from -1 to 1; louder ones are clipped
 * @param {number} rateHz
 */
export function encodeWav(blocks, rateHz) {
  const dataBytes = 2 * blocks.reduce((sum, block) => sum + block.length, 0);
  const view = new DataView(new ArrayBuffer(HEADER_BYTES + dataBytes));
  writeHeader(view, rateHz, dataBytes);
  let offset = HEADER_BYTES;
  for (const block of blocks) {
    for (const sample of block) {
      view.setInt16(offset, Math.round(Math.max(-1, Math.min(1, sample)) * 32767), true);
      offset += 2;
    }
  }
  return view.buffer;
}

/** @param {DataView} view @param {number} rateHz @param {number} dataBytes */
function writeHeader(view, rateHz, dataBytes) {
  const writeText = (/** @type {number} */ offset, /** @type {string} */ text) =>
    Array.from(text).forEach((letter, n) => view.setUint8(offset + n, letter.charCodeAt(0)));
  writeText(0, "RIFF");
  view.setUint32(4, HEADER_BYTES - 8 + dataBytes, true);
  writeText(8, "WAVEfmt ");
  view.setUint32(16, 16, true); // bytes of the format chunk
  view.setUint16(20, 1, true); // PCM
  view.setUint16(22, 1, true); // channels
  view.setUint32(24, rateHz, true);
  view.setUint32(28, 2 * rateHz, true); // bytes per second
  view.setUint16(32, 2, true); // bytes per frame
  view.setUint16(34, 16, true); // bits per sample
  writeText(36, "data");
  view.setUint32(40, dataBytes, true);
}
