// @ts-check
// The sound of a hunt on the page: audio output, worklet and worker, and the way to the server.
import { FaintcallError, proveServer } from "./api.js";
import { requestKey } from "./server_proof.js";

/** Rate of the server's sound; the browser converts it to that of the device. */
const RATE_HZ = 16000;
const PROTOCOL = "faintcall", KEY_PREFIX = "faintcall-key.";
const VOLUME_RAMP_S = 0.02;
const PAN = { left: -1, both: 0, right: 1 };
const NO_OUTPUT = "No sound: the browser's audio output does not start. Check the sound settings "
  + "of this computer, then press Enter.";
const OPEN_TIMEOUT_MS = 4000;

/** @typedef {{at: number, dialHz: number, levelDb: number, sends: boolean}} Meter */

export class HuntSound {
  /** @type {AudioContext|null} */ #context = null;
  /** @type {GainNode|null} */ #volumeNode = null;
  /** @type {AudioWorkletNode|null} */ #node = null;
  /** @type {Worker|null} */ #worker = null;
  /** Called with every message of the server. @type {(message: any) => void} */
  onMessage = () => {};
  /** Called about ten times a second. @type {(meter: Meter) => void} */ onMeter = () => {};
  /** Called when the socket closes. @type {(code: number, reason: string) => void} */
  onClose = () => {};
  /** How often samples came too late. */ underruns = 0;
  /** From 0 to 1; the gain is its square. */ volume = 0.5;
  /** @type {"left"|"both"|"right"} */ side = "both";

  /** Set the volume from 0 to 1. @param {number} volume */
  setVolume(volume) {
    this.volume = volume;
    if (this.#context) {
      this.#volumeNode?.gain.setTargetAtTime(
        volume ** 2, this.#context.currentTime, VOLUME_RAMP_S / 3);
    }
  }

  /** Open the output. Call it from a key press or a click: browsers allow no sound before one. */
  unlock() {
    this.#context ??= new AudioContext({ sampleRate: RATE_HZ, latencyHint: "interactive" });
    this.#context.resume().catch(() => {}); // open() reports an output that does not start
  }

  /**
   * Connect to a hunt; its clock starts. Throws FaintcallError without an output or a server.
   * @param {string} path of the socket
   */
  async open(path) {
    this.close();
    this.unlock();
    const context = /** @type {AudioContext} */ (this.#context);
    await this.#outputOpened(context);
    await context.audioWorklet.addModule("/static/hunt_processor.js");
    await proveServer();
    const channel = new MessageChannel();
    this.#node = new AudioWorkletNode(context, "hunt", { outputChannelCount: [1] });
    this.#volumeNode = new GainNode(context, { gain: this.volume ** 2 });
    const panner = new StereoPannerNode(context, { pan: PAN[this.side] ?? 0 });
    this.#node.connect(this.#volumeNode).connect(panner).connect(context.destination);
    this.#node.port.postMessage(channel.port1, [channel.port1]);
    const worker = new Worker("/static/hunt_worker.js", { type: "module" });
    this.#worker = worker;
    worker.onmessage = ({ data }) => this.#receive(worker, data);
    const url = new URL(path, location.href.replace(/^http/, "ws")).href;
    const protocols = [PROTOCOL, KEY_PREFIX + requestKey()];
    worker.postMessage({ url, protocols, port: channel.port2 }, [channel.port2]);
  }

  /** Send a message to the server. @param {any} message */
  send(message) {
    this.#worker?.postMessage({ send: message });
  }

  /** Hold the clock: no sample is played, so the server gives none. */
  hold() {
    this.#context?.suspend().catch(() => {});
  }

  /** Let the clock run again. */
  release() {
    this.#context?.resume().catch(() => {});
  }

  /** Close the socket and stop the sound. */
  close() {
    this.#worker?.postMessage({ close: true });
    const worker = this.#worker;
    setTimeout(() => worker?.terminate(), 1000);
    this.#worker = null;
    this.#node?.disconnect();
    this.#node = null;
  }

  /** Close the output too, for example before a microphone opens. */
  async closeOutput() {
    this.close();
    const context = this.#context;
    this.#context = null;
    await context?.close().catch(() => {});
  }

  /** @param {Worker} worker @param {any} data */
  #receive(worker, data) {
    if (worker !== this.#worker) return; // of an earlier connection
    if (data.message) this.onMessage(data.message);
    else if (data.meter) this.onMeter(data.meter);
    else if (data.underruns) this.underruns = data.underruns;
    else if (data.closed) this.onClose(data.closed.code, data.closed.reason);
  }

  /** @param {AudioContext} context */
  async #outputOpened(context) {
    if (context.state === "running") return;
    const timeout = new Promise((_, reject) => {
      setTimeout(() => reject(new FaintcallError(NO_OUTPUT)), OPEN_TIMEOUT_MS);
    });
    await Promise.race([context.resume().catch(() => timeout), timeout]);
  }
}
