// @ts-check
// Worker: owns the socket of a hunt and passes its sound to the audio worklet, so that
// work of the page cannot delay the sound. drill/web/hunt_frames.py describes the messages.

/** Bytes before the samples of a block. */
const HEADER_BYTES = 24;
const SENDING_FLAG = 1;
const SAMPLES_PER_MS = 16;
const BLOCK_SAMPLES = 512;
/**
 * Each time that samples come too late, a block more is kept in reserve, at most these 128 ms; it
 * makes the dial slower. After a time without, it is given back block by block.
 */
const MOST_RESERVE = 4 * BLOCK_SAMPLES, CALM_MS = 20_000;
/** The page gets a reading of dial and level this often. */
const METER_INTERVAL_MS = 80;

/** @type {WebSocket|null} */
let socket = null;
/** @type {MessagePort|null} leads to the audio worklet */
let player = null;
/** Messages that wait until the socket is open. @type {any[]} */
const unsent = [];
let received = 0, played = 0, underruns = 0;
/** Samples that the server sends beyond its usual queue, because the computer is slow. */
let reserve = 0, reserveSetAt = 0;
/** The last state that was sent to the page. */
let meterSentAt = 0, shownDialHz = 0, shownSends = false;

onmessage = ({ data }) => {
  if (data.url) open(data);
  else if (data.close) socket?.close(1000);
  else if (data.send) send(data.send);
};

/** @param {{url: string, protocols: string[], port: MessagePort}} options */
function open({ url, protocols, port }) {
  player = port;
  player.onmessage = ({ data }) => {
    adaptReserve(data.underruns);
    ({ played, underruns } = data);
    send({ type: "played", to: Math.min(received, played + reserve) });
  };
  socket = new WebSocket(url, protocols);
  socket.binaryType = "arraybuffer";
  socket.onopen = () => unsent.splice(0).forEach(send);
  socket.onclose = ({ code, reason }) => postMessage({ closed: { code, reason } });
  socket.onmessage = ({ data }) => (typeof data === "string" ? passText(data) : passSound(data));
}

/** Keep more in reserve after an underrun, and less after a time without. @param {number} count */
function adaptReserve(count) {
  const now = performance.now();
  if (count !== underruns) {
    postMessage({ underruns: count });
    reserve = Math.min(MOST_RESERVE, reserve + BLOCK_SAMPLES);
  } else if (now - reserveSetAt < CALM_MS) {
    return;
  } else {
    reserve = Math.max(0, reserve - BLOCK_SAMPLES);
  }
  reserveSetAt = now;
}

/** @param {any} message */
function send(message) {
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
  else if (socket?.readyState === WebSocket.CONNECTING) unsent.push(message);
}

/** @param {string} text */
function passText(text) {
  const message = JSON.parse(text);
  if (message.type === "clock") player?.postMessage(!message.runs);
  postMessage({ message });
}

/** @param {ArrayBuffer} frame */
function passSound(frame) {
  const header = new DataView(frame, 0, HEADER_BYTES);
  const steps = new Int16Array(frame, HEADER_BYTES);
  const samples = Float32Array.from(steps, (step) => step / 32768);
  player?.postMessage(samples, [samples.buffer]);
  const waitingMs = (received - played) / SAMPLES_PER_MS;
  received += steps.length;
  const dialHz = header.getFloat64(8, true);
  const sends = Boolean(header.getUint32(20, true) & SENDING_FLAG);
  const now = performance.now();
  const isNew = dialHz !== shownDialHz || sends !== shownSends;
  if (!isNew && now - meterSentAt < METER_INTERVAL_MS) return;
  [meterSentAt, shownDialHz, shownSends] = [now, dialHz, sends];
  const at = header.getFloat64(0, true), levelDb = header.getFloat32(16, true);
  postMessage({ meter: { at, dialHz, levelDb, sends, waitingMs } });
}

export {}; // a module of its own, whose names are not those of the window
