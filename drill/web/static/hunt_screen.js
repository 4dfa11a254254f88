// @ts-check
// The screen of a running hunt: the line, the dial's keys, what is announced, and when time passes.
import { announce, clearAnnouncements } from "./announce.js";
import { get } from "./api.js";
import { byId } from "./elements.js";
import { turnBy, turned } from "./hunt_dial.js";
import { readHuntLine } from "./hunt_line.js";
import { HuntMicrophone } from "./hunt_microphone.js";
import { showDial, showHunt, showMeter, showPad, workedBefore } from "./hunt_view.js";
import { SoundWatch } from "./hunt_watch.js";
import { whereSentence } from "./hunt_where.js";

/** The dial's place is sent at most this often; a block of sound lasts as long. */
const TUNE_INTERVAL_MS = 32;
/** Time that a screen reader needs for a sentence, and per character. */
const READING_MS = 2500, MS_PER_CHARACTER = 70;
/** "You have it" is announced when nothing was typed for this long, below this level. */
const REST_MS = 1000, QUIET_DB = 6;
const OTHER_WINDOW_CODE = 4001, NORMAL_CODE = 1000;
const NO_SOUND = "No sound comes, so the clock is stopped. Press Enter to start it.";
const OTHER_WINDOW = "This hunt is open in another window. Enter continues it here.";

/** @typedef {import("./hunt_view.js").HuntPhase} HuntPhase */

export class HuntScreen {
  #sound;
  /** @type {import("./hunt_view.js").HuntView} */
  #view = { phase: "ready", state: null, at: 0, hz: 0, levelDb: 0, sends: false };
  #identity = "";
  #tuneTimer = 0;
  /** The frequency last sent, 0 once the server's state has it; its earlier states are out of date. */
  #sentHz = 0;
  /** When the dial was turned, 0 once this is on its way to the ear. */ #turnedAt = 0;
  #restTimer = 0;
  #watch = new SoundWatch(() => this.#view.phase === "running", () => this.#stopSilent());
  /** Ends the reading of an announcement. */ #endReading = () => {};
  #microphone = new HuntMicrophone();
  #isConnected = false;
  /** Whether the server's clock waits for speech; it does until the first sound. */ #isLate = true;
  #ended = false;
  /** Whether overs by microphone work. */ hasMicrophone = false;
  /** Called when the trainee leaves the hunt for now. */ onLeave = () => {};
  /** Called at the end of the hunt. @type {(identity: string) => void} */ onEnd = () => {};

  /** @param {import("./hunt_sound.js").HuntSound} sound */
  constructor(sound) {
    this.#sound = sound;
    sound.onMessage = (message) => this.#receive(message);
    sound.onMeter = (meter) => this.#follow(meter);
    sound.onUnderrun = (count) => { byId("hunt").dataset.underruns = String(count); };
    sound.onClose = (code, reason) => this.#closed(code, reason);
    byId("line-form").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#enterLine();
    });
    byId("line").addEventListener("input", () => this.#typed());
    byId("line").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      const byHz = turnBy(event);
      if (!byHz) return;
      event.preventDefault();
      this.#turn(byHz);
    });
    byId("hunt").addEventListener("click", (/** @type {any} */ { target }) => {
      const { key, turn } = target.closest("[data-key], [data-turn]")?.dataset ?? {};
      if (key) this.#endReading();
      if (turn) this.#turn(Number(turn));
      else if (key) this.#press(key);
      if (key || turn) byId("line").focus();
    });
  }

  /** Connect to a hunt; its clock stands until Enter. Throws FaintcallError. @param {string} identity */
  async open(identity) {
    this.#identity = identity;
    this.#ended = false;
    this.#view.phase = "ready";
    this.#isConnected = true;
    this.#isLate = true;
    const address = `/api/hunts/${encodeURIComponent(identity)}`;
    await get(address); // renews cookie and key after a restart of the server
    await this.#sound.connect(`${address}/sound`);
  }

  /** Let the clock run. Throws FaintcallError without an output. */
  async start() {
    this.#sound.unlock();
    if (!this.#isConnected) await this.open(this.#identity);
    this.#setPhase("running");
    await this.#sound.start();
  }

  /** End the hunt before its time is over. */
  end() {
    this.#act({ kind: "end" });
  }

  /** Stop the clock and the sound. */
  stop() {
    this.#sound.disconnect();
    this.#isConnected = false;
    this.#sentHz = 0;
    clearTimeout(this.#restTimer);
    clearAnnouncements();
  }

  // --- from the server

  /** @param {any} message */
  #receive(message) {
    if (message.type === "state") {
      this.#view.state = message.state;
      this.#view.at = Math.max(this.#view.at, message.now);
      if (message.state.dial_hz === this.#sentHz) this.#sentHz = 0;
      if (!this.#tuneTimer && !this.#sentHz) this.#view.hz = message.state.dial_hz;
      this.#show();
      showDial(this.#view);
      showPad(this.#view);
    } else if (message.type === "refused") {
      this.#sentHz = 0;
      this.#tell(message.error);
    } else if (message.type === "clock") {
      this.#isLate = !message.runs;
      if (["running", "halted"].includes(this.#view.phase)) this.#setPhase("running");
    } else if (message.type === "ended") {
      this.#ended = true;
    }
  }

  /** @param {import("./hunt_sound.js").Meter} meter */
  #follow({ at, dialHz, levelDb, sends, waitingMs }) {
    if (dialHz === this.#view.hz && this.#turnedAt) {
      const ms = performance.now() - this.#turnedAt + waitingMs + this.#sound.outputLatencyMs;
      byId("hunt").dataset.tunedMs = ms.toFixed(0);
      this.#turnedAt = 0;
    }
    this.#watch.renew();
    if (this.#view.phase === "ready") return; // sound that nobody hears yet
    Object.assign(this.#view, { at, levelDb, sends });
    if (this.#view.state) showMeter(this.#view);
  }

  /** @param {number} code @param {string} reason */
  #closed(code, reason) {
    this.stop();
    if (this.#ended || code === NORMAL_CODE) {
      this.onEnd(this.#identity);
      return;
    }
    this.#setPhase("ready");
    announce(code === OTHER_WINDOW_CODE ? OTHER_WINDOW
      : `${reason || "faintcall is not responding."} Press Enter to continue.`);
  }

  #stopSilent() {
    this.#sound.hold();
    this.#setPhase("ready");
    announce(NO_SOUND);
  }

  // --- from the trainee

  #typed() {
    this.#endReading(); // typing interrupts a screen reader
    clearTimeout(this.#restTimer);
    this.#restTimer = setTimeout(() => this.#tellWorked(), REST_MS);
    this.#show();
    showPad(this.#view);
  }

  #tellWorked() {
    const line = this.#view.state && workedBefore(this.#view.state, byId("line").value);
    if (line && this.#view.levelDb < QUIET_DB) {
      announce(`You have it, no. ${line.number}.`, { shownElsewhere: true });
    }
  }

  /** Do what a button's key does; a key that needs words goes into the line. @param {string} key */
  #press(key) {
    if (key !== "r") return this.#perform(this.#read(key));
    const last = this.#view.state.pad.at(-1);
    byId("line").value = `r ${last.call} ${last.got}`.trim();
    return this.#typed();
  }

  /** @param {string} text */
  #read(text) {
    return readHuntLine(text, this.#view.state.bands, this.#view.hz);
  }

  #enterLine() {
    if (!this.#view.state) return undefined; // the server has yet to answer
    if (this.#microphone.isOpen) return this.#microphone.stop();
    return this.#perform(this.#read(byId("line").value));
  }

  /** @param {import("./hunt_line.js").HuntEntered} entered */
  #perform({ kind, value, hz, line }) {
    clearAnnouncements();
    if (kind === "nothing") return this.#view.phase === "ready" ? void this.#run() : undefined;
    if (kind === "unknown") {
      byId("line").select();
      return this.#tell(value);
    }
    byId("line").value = "";
    if (value === "where") return this.#tell(whereSentence(this.#view, this.#microphone.levelSentence));
    if (value === "stop") return this.#holdOrLeave();
    if (kind === "mend") return this.#act({ kind, text: value, line: line ?? null });
    if (kind === "mark" || kind === "note") return this.#act({ kind, text: value });
    if (kind === "tune") return this.#tuneTo(hz ?? this.#view.hz);
    if (this.#view.phase === "ready") {
      return value === "leave" ? this.end()
        : this.#tell("Press Enter on the empty line first.");
    }
    if (value === "microphone") return void this.#speak();
    if (value === "leave") return this.#giveUp();
    return this.#act({ kind: value });
  }

  /** @param {any} act */
  #act(act) {
    this.#sound.send({ type: "act", ...act });
    this.#show();
  }

  /** Break the over off, or give this station up. */
  #giveUp() {
    if (this.#view.sends) return this.#act({ kind: "break-off" });
    this.#act({ kind: "leave" });
    return this.#tell("Given up.");
  }

  async #run() {
    try {
      await this.start();
    } catch (error) {
      this.#setPhase("ready");
      announce(/** @type {Error} */ (error).message);
    }
  }

  /** Stop the clock; leave the hunt if the clock is stopped already. */
  #holdOrLeave() {
    if (this.#view.phase === "ready") {
      this.stop();
      return this.onLeave();
    }
    this.#sound.hold();
    return this.#setPhase("ready");
  }

  /** @param {number} byHz */
  #turn(byHz) {
    this.#endReading(); // so does typing
    if (this.#view.state) this.#tuneTo(turned(this.#view.state.bands, this.#view.hz, byHz));
  }

  /** Turn the dial; quick turns are sent together. @param {number} hz */
  #tuneTo(hz) {
    this.#view.hz = hz;
    this.#turnedAt ||= performance.now();
    showDial(this.#view);
    this.#show();
    if (this.#tuneTimer) return;
    this.#sentHz = hz;
    this.#sound.send({ type: "act", kind: "tune", hz });
    this.#tuneTimer = setTimeout(() => {
      this.#tuneTimer = 0;
      if (this.#view.hz !== hz) this.#tuneTo(this.#view.hz);
    }, TUNE_INTERVAL_MS);
  }

  /** Send an over by microphone; the clock stands until it has been spoken. */
  async #speak() {
    if (!this.hasMicrophone) {
      return this.#tell("An over by microphone needs the far end's recogniser, which does not work "
        + "here. Use the letters.");
    }
    this.#sound.hold();
    this.#setPhase("recording");
    try {
      await this.#microphone.send(this.#identity,
        () => announce("Speak.", { shownElsewhere: true }));
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
    return this.#run();
  }

  // --- announcing and showing

  /** Announce a sentence; a running clock is held while it is read. @param {string} sentence */
  #tell(sentence) {
    const wasRunning = this.#view.phase === "running";
    if (wasRunning) {
      this.#sound.hold();
      this.#setPhase("held");
    }
    announce(sentence);
    this.#show();
    if (!wasRunning) return;
    const release = () => {
      clearTimeout(timer);
      this.#endReading = () => {};
      if (this.#view.phase === "held") void this.#run();
    };
    const timer = setTimeout(release, Math.max(READING_MS, sentence.length * MS_PER_CHARACTER));
    this.#endReading = release;
  }

  /** Set the phase; a running clock is halted while it waits for speech. @param {HuntPhase} phase */
  #setPhase(phase) {
    this.#view.phase = phase === "running" && this.#isLate ? "halted" : phase;
    this.#watch.renew();
    this.#show();
  }

  #show() {
    if (this.#view.state && !byId("hunt").hidden) showHunt(this.#view);
  }
}
