// @ts-check
// The sound of a hunt on the page: audio output, worklet and worker, and messages to the server.
import { FaintcallError, proveServer } from "./api.js";
import { useChosenOutput } from "./output_device.js";
import { requestKey } from "./server_proof.js";

/** Rate of the server's sound; the browser converts it to that of the device. */
const RATE_HZ = 16000;
const PROTOCOL = "faintcall", KEY_PREFIX = "faintcall-key.";
const VOLUME_RAMP_S = 0.02;
const PAN = { left: -1, both: 0, right: 1 };
const NO_OUTPUT = "No sound: the browser's audio output does not start. Check the sound settings "
  + "of this computer, then press Enter.";
const OPEN_TIMEOUT_MS = 4000;
/** Longest time for the worker to close the socket. */
const CLOSE_MS = 1000;

/**
 * What the receiver's dial and meter show. at: time in samples. waitingMs: the sound that plays
 * before this reading is heard.
 * @typedef {{at: number, dialHz: number, levelDb: number, sends: boolean, waitingMs: number}} Meter
 */

export class HuntSound {
  /** @type {AudioContext|null} */ #context = null;
  /** @type {GainNode|null} */ #volumeNode = null;
  /** @type {AudioWorkletNode|null} */ #node = null;
  /** @type {Worker|null} */ #worker = null;
  /** Leads to the worker, until the worklet takes it. @type {MessagePort|null} */
  #playerPort = null;
  /** Whether the output should play; the browser follows late. */
  #shouldPlay = false;
  /** Resolves when the output plays through the chosen device. */
  #device = Promise.resolve();
  /** Called with every message of the server. @type {(message: any) => void} */
  onMessage = () => {};
  /** Called about ten times a second. @type {(meter: Meter) => void} */ onMeter = () => {};
  /** Called when the socket closes. @type {(code: number, reason: string) => void} */
  onClose = () => {};
  /** Called when samples came too late, with the number of times. @type {(count: number) => void} */
  onUnderrun = () => {};
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

  /**
   * Connect to a hunt. Its state comes at once; its clock is stopped until the output opens.
   * Throws FaintcallError if the server refuses this page.
   * @param {string} path of the socket
   */
  async connect(path) {
    this.#leaveServer(); // without a hold, which could still be under way when the sound starts
    await proveServer();
    const channel = new MessageChannel();
    const worker = new Worker("/static/hunt_worker.js", { type: "module" });
    this.#worker = worker;
    this.#playerPort = channel.port1;
    worker.onmessage = ({ data }) => this.#receive(worker, data);
    const url = new URL(path, location.href.replace(/^http/, "ws")).href;
    const protocols = [PROTOCOL, KEY_PREFIX + requestKey()];
    worker.postMessage({ url, protocols, port: channel.port2 }, [channel.port2]);
  }

  /** Open the output. Call it from a key press or a click: browsers allow no sound before one. */
  unlock() {
    this.#shouldPlay = true;
    if (!this.#context) {
      this.#context = new AudioContext({ sampleRate: RATE_HZ, latencyHint: "interactive" });
      this.#context.onstatechange = () => this.#correctState();
      this.#device = useChosenOutput(this.#context);
    }
    this.#context.resume().catch(() => {}); // start() reports an output that does not start
  }

  /** Play the hunt that is connected; its clock runs. Throws FaintcallError without an output. */
  async start() {
    this.unlock();
    const context = /** @type {AudioContext} */ (this.#context);
    await this.#device;
    await this.#outputOpened(context);
    const port = this.#playerPort;
    if (!port) return;
    this.#playerPort = null;
    await context.audioWorklet.addModule("/static/hunt_processor.js");
    const node = new AudioWorkletNode(context, "hunt", { outputChannelCount: [1] });
    this.#volumeNode = new GainNode(context, { gain: this.volume ** 2 });
    const panner = new StereoPannerNode(context, { pan: PAN[this.side] ?? 0 });
    node.connect(this.#volumeNode).connect(panner).connect(context.destination);
    node.port.postMessage(port, [port]);
    this.#node = node;
  }

  /** Time in ms from the output to the ear, as far as the browser knows it. */
  get outputLatencyMs() {
    return 1000 * (this.#context?.outputLatency || this.#context?.baseLatency || 0);
  }

  /** Send a message to the server. @param {any} message */
  send(message) {
    this.#worker?.postMessage({ send: message });
  }

  /** Stop the clock: no sample is played, so the server sends none. */
  hold() {
    this.#shouldPlay = false;
    this.#context?.suspend().catch(() => {});
  }

  /** Close the socket and stop the sound. */
  disconnect() {
    this.#leaveServer();
    this.hold();
  }

  #leaveServer() {
    const worker = this.#worker;
    worker?.postMessage({ close: true });
    setTimeout(() => worker?.terminate(), CLOSE_MS);
    this.#worker = null;
    this.#playerPort = null;
    this.#node?.disconnect();
    this.#node = null;
  }

  /** Suspend or resume again if the last request took effect after a later one. */
  #correctState() {
    const state = this.#context?.state;
    if (state === "suspended" && this.#shouldPlay) this.#context?.resume().catch(() => {});
    if (state === "running" && !this.#shouldPlay) this.#context?.suspend().catch(() => {});
  }

  /** @param {Worker} worker @param {any} data */
  #receive(worker, data) {
    if (worker !== this.#worker) return; // of an earlier connection
    if (data.message) this.onMessage(data.message);
    else if (data.meter) this.onMeter(data.meter);
    else if (data.underruns) this.onUnderrun(data.underruns);
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
