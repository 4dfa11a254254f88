// @ts-check
// One contact as the page runs it: clock, requests, sound and microphone. The server decides what
// happens; the page reports the sample time that its player has reached.
import { FaintcallError, get, post, postFile } from "./api.js";
import { ContactClock } from "./contact_clock.js";
import { Microphone } from "./microphone.js";
import { LoudestLevel } from "./microphone_level.js";
import { newNonce } from "./server_proof.js";
import { encodeWav } from "./wav.js";

/** Silence that ends an over by microphone; it is short because the far station waits. */
const OVER_END_S = 0.8;
const LONGEST_OVER_S = 20;
/** Sound kept before and after the voice of an over. */
const OVER_MARGIN_S = 0.1;
/** The clock is set back if a reply of the server took longer. */
const PATIENCE_S = 0.3;
const SHORTEST_WAIT_MS = 15, LONGEST_WAIT_MS = 500;
const BASE = "/api/contacts/";
const SILENT = "No speech was heard, so nothing was sent. Use the letters, or v again.";

/** @typedef {{live: any, sound: any, ending: any, session?: any}} Reply */

export class LiveContact {
  #player;
  #clock;
  /** The window in which the session runs. */ #window = newNonce();
  #base = "";
  /** Replies that come after a stop are dropped. */ #stopped = true;
  #timer = 0;
  /** @type {Promise<any>} requests one after the other */ #queue = Promise.resolve();
  /** Resolves when no sentence is being spoken. @type {Promise<any>} */ #silence = Promise.resolve();
  /** @type {Microphone|null} */ #microphone = null;
  /** A sentence about the loudest level of the last over by microphone, "" before the first. */
  microphoneLevel = "";
  /** @type {any} the contact as in the last reply */ live = null;
  /** Number of overs by letter that the server has yet to synthesise. */ #pendingOvers = 0;
  /** Called after every reply of the server. @type {(reply: Reply) => void} */ onReply = () => {};
  /** Called with an error that stops the clock. @type {(error: any) => void} */ onError = () => {};

  /** @param {import("./player.js").Player} player */
  constructor(player) {
    this.#player = player;
    this.#clock = new ContactClock(player);
  }

  get window() {
    return this.#window;
  }

  /** True while the microphone is open for an over. */
  get isRecording() {
    return this.#microphone !== null;
  }

  /** True from a letter that speaks until the server has synthesised its over. */
  get startsOver() {
    return this.#pendingOvers > 0;
  }

  /** True while an over by letter is sent, from the letter on. */
  get isSending() {
    return this.startsOver || this.live.sending_until !== null;
  }

  /** Time in seconds since the start of the contact. */
  get seconds() {
    return this.#clock.now() / this.#clock.rateHz;
  }

  /** Show a session whose clock is stopped. @param {Reply} reply */
  open(reply) {
    this.#base = `${BASE}${reply.session.id}`;
    this.#clock.stop();
    this.#clock.rateHz = reply.session.rate_hz;
    this.#stopped = false;
    this.live = reply.live;
  }

  /** Fetch a session for this window. Throws FaintcallError. @param {string} id */
  static async fetch(id, window = "") {
    const query = window ? `?window=${window}` : "";
    return get(`${BASE}${encodeURIComponent(id)}${query}`);
  }

  /** Start the clock at the contact's present time. @param {Reply} reply */
  async start(reply) {
    if (this.#clock.runs || this.#stopped) return; // an act has started it, or the trainee left
    this.#clock.start(reply.live.now);
    if (reply.sound) await this.#run(() => this.#playSound(reply));
    this.#wait();
  }

  /** Stop the clock and the sound. */
  stop() {
    this.#stopped = true;
    this.#pendingOvers = 0;
    clearTimeout(this.#timer);
    this.#clock.stop();
    this.#player.stop();
    this.#microphone?.close();
    this.#microphone = null;
  }

  /**
   * Hold the clock until a promise resolves, because a sentence is being spoken.
   * @param {Promise<any>} spoken
   */
  async standStill(spoken) {
    this.#silence = spoken;
    if (!this.#clock.runs) return;
    this.#clock.stop();
    await spoken;
    if (this.#silence === spoken && this.live && !this.live.ended) {
      this.#clock.start(this.#clock.now());
      this.#wait();
    }
  }

  /** Perform an act now. @param {string} kind @param {string} [text] */
  act(kind, text = "") {
    const isNote = kind === "note";
    const speaks = !["note", "break-off", "log", "leave"].includes(kind);
    if (speaks) this.#pendingOvers += 1;
    if (!isNote && kind !== "break-off") this.#player.stop();
    return this.#run(async () => {
      const body = { ...this.#body(), kind, text };
      if (!isNote) this.#clock.stop();
      const reply = await post(`${this.#base}/acts`, body);
      if (speaks) this.#pendingOvers = Math.max(0, this.#pendingOvers - 1);
      await this.#adopt(reply, !isNote);
    });
  }

  /** Begin the next contact, with the clock stopped. Throws FaintcallError. @returns {Promise<Reply>} */
  async next() {
    const { window, contact, acts } = this.#body();
    const reply = await post(`${this.#base}/next`, { window, contact, acts });
    this.#clock.stop();
    this.live = reply.live;
    return reply;
  }

  /**
   * Send what the trainee says into the microphone. The over begins now.
   * @param {() => void} onReady called when the trainee should speak
   */
  async speak(onReady) {
    const body = this.#body();
    this.#clock.stop();
    await this.#player.close(); // the microphone would record what plays
    try {
      const microphone = new Microphone({
        silenceS: OVER_END_S, longestS: LONGEST_OVER_S, marginS: OVER_MARGIN_S,
      });
      this.#microphone = microphone;
      microphone.onReady = onReady;
      const level = new LoudestLevel();
      microphone.onLevel = (db, peak) => level.add(db, peak);
      const take = await microphone.record();
      this.microphoneLevel = level.sentence;
      if (!this.#microphone) return; // the contact was stopped
      if (take.reason === "no-speech" || !take.voiced) throw new FaintcallError(SILENT);
      this.#microphone = null;
      const { window, contact, acts, at } = body;
      const session = this.#base.slice(BASE.length);
      const query = new URLSearchParams(
        { session, window, contact: `${contact}`, acts: `${acts}`, at: `${at}` });
      const audio = encodeWav(take.samples, take.rateHz);
      this.#player.unlock();
      await this.#run(async () => {
        await this.#adopt(await postFile(`/api/contacts/voice?${query}`, audio, "audio/wav"), true);
      });
    } finally {
      this.#microphone = null;
      this.#player.unlock();
    }
  }

  /** End an over by microphone. */
  endOver() {
    this.#microphone?.stop();
  }

  /** Start the clock again after an over by microphone failed. */
  goOn() {
    this.#clock.start(this.#clock.now());
    this.#wait();
  }

  #body() {
    const { contact, acts, now } = this.live;
    return { window: this.#window, contact, acts, at: Math.max(this.#clock.now(), now) };
  }

  /** Run a task after those before it. @param {() => Promise<void>} task */
  #run(task) {
    this.#queue = this.#queue.then(task).catch((error) => {
      this.stop();
      this.onError(error);
    });
    return this.#queue;
  }

  /** Ask the server at the time when something is due. */
  #wait() {
    clearTimeout(this.#timer);
    const { next_at: due, ended } = this.live;
    if (ended || !this.#clock.runs || due === null) return;
    const ms = (1000 * (due - this.#clock.now())) / this.#clock.rateHz;
    this.#timer = setTimeout(() => {
      if (this.#clock.now() < this.live.next_at) this.#wait();
      else this.#run(() => this.#passTime());
    }, Math.max(SHORTEST_WAIT_MS, Math.min(LONGEST_WAIT_MS, ms)));
  }

  async #passTime() {
    if (!this.#clock.runs || this.live.ended || this.#clock.now() < this.live.next_at) return;
    await this.#adopt(await post(`${this.#base}/time`, this.#body()));
  }

  /** Apply a reply. @param {Reply} reply @param {boolean} setsClock */
  async #adopt(reply, setsClock = false) {
    if (this.#stopped) return;
    this.live = reply.live;
    const late = this.#clock.now() - reply.live.now > PATIENCE_S * this.#clock.rateHz;
    if (reply.live.ended) this.stop();
    else if (setsClock || (late && this.#clock.runs)) this.#clock.start(reply.live.now);
    if (reply.live.sending_until !== null) this.#player.stop();
    this.onReply(reply);
    if (reply.sound) await this.#playSound(reply);
    this.#wait();
  }

  /** Play the sound that begins; the clock is held until it plays. @param {Reply} reply */
  async #playSound(reply) {
    this.#clock.stop();
    const loaded = await this.#loadSound(reply.sound.url);
    if (!loaded) {
      await this.#adopt(await LiveContact.fetch(this.#base.slice(BASE.length), this.#window), true);
      return;
    }
    await this.#silence;
    if (this.#stopped) return;
    await new Promise((resolve, reject) => {
      const started = () => {
        this.#clock.start(reply.live.now);
        resolve(null);
      };
      // Resolves too if the sound was stopped before it began.
      this.#player.play(loaded, started).then(resolve, reject);
    });
  }

  /**
   * Return a sound, null if the server was restarted meanwhile and has to render it again.
   * @param {string} url
   */
  async #loadSound(url) {
    try {
      return await this.#player.load(url);
    } catch (error) {
      if (error instanceof FaintcallError && error.status === 404) return null;
      throw error;
    }
  }
}
