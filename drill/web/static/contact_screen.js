// @ts-check
// The screen for contacts in turn: the line, when something is announced, the end of each contact.
import { announce, clearAnnouncements } from "./announce.js";
import { endingDetails, showEnding } from "./contact_ending.js";
import { allKeys, keyOf, readLine } from "./contact_line.js";
import { clockText, showContact, showKeys, showLamps, showScore } from "./contact_view.js";
import { byId, spaced } from "./elements.js";
import { LiveContact } from "./live_contact.js";

/** Nothing is announced for this long before a sound. */
const QUIET_MS = 2500;
/** The first over of a contact begins no earlier than this many milliseconds after its start. */
const FIRST_OVER_MS = 1000;
/** Time that a screen reader needs per character. */
const MS_PER_CHARACTER = 70;
/** A sound may follow another immediately; an announcement waits this long to find out. */
const SOUND_GAP_MS = 100;
const OTHER_WINDOW = "This session is open in another window. Enter continues it here.";
const ONE_OVER = /^([1-9][0-9]?)(c?)$/;
const MICROPHONE_MISSING = "An over by microphone needs the far end's recogniser, which does "
  + "not work here. Use the letters.";

/** @param {number} ms @returns {Promise<void>} */
const pause = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

export class ContactScreen {
  #player;
  #contact;
  /** @type {import("./contact_view.js").Phase} */ #phase = "ready";
  /** @type {any} the session as in the last reply */ session = null;
  /** @type {any} the reply at which the clock starts */ #reply = null;
  /** @type {any} the end of the contact that is shown */ #ending = null;
  /** Number of the station that is shown. */ #station = 0;
  /** True while a finished contact of the list is shown. */ #reviewing = false;
  /** @type {(() => void)|null} announces a sentence after the sound */ #afterSound = null;
  /** Ends the wait for an announcement. */ #endTelling = () => {};
  #busy = false;
  /** Whether overs by microphone work. */
  hasMicrophone = false;
  /** Called when the trainee stops, and after the last station. */
  onLeave = () => {};

  /**
   * @param {import("./player.js").Player} player
   * @param {import("./live_contact.js").LiveContact} contact
   */
  constructor(player, contact) {
    this.#player = player;
    this.#contact = contact;
    contact.onReply = (reply) => this.#show(reply);
    contact.onError = (error) => this.#recover(error);
    byId("line-form").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#enterLine();
    });
    byId("line").addEventListener("input", () => {
      this.#endTelling(); // typing interrupts a screen reader
      this.#refresh();
    });
    byId("contact").addEventListener("click", (/** @type {any} */ { target }) => {
      const key = target.closest("[data-key]")?.dataset.key;
      if (!key) return;
      byId("line").focus();
      this.#perform(readLine(key));
    });
    document.addEventListener("sound", () => {
      this.#refresh();
      setTimeout(() => this.#tellWaiting(), SOUND_GAP_MS);
    });
  }

  /** Show a session with the clock stopped until Enter. @param {any} reply */
  open(reply) {
    this.session = reply.session;
    this.#reply = reply;
    this.#contact.open(reply);
    this.#phase = "ready";
    this.#reviewing = false;
    this.#show(reply);
    byId("line").focus();
  }

  /** Let time pass, after a pause for what a screen reader says about the new page. */
  async start() {
    this.#player.unlock();
    if (!this.#reply) { // an error, or another window that went on
      this.open(await LiveContact.fetch(this.session.id, this.#contact.window));
    }
    const reply = this.#reply;
    if (reply.live.ended) return;
    this.#phase = "running";
    this.#refresh();
    // Not awaited: the trainee may act or leave meanwhile.
    pause(reply.sound ? QUIET_MS : QUIET_MS - FIRST_OVER_MS).then(() => {
      if (this.#phase === "running" && reply === this.#reply) this.#contact.start(reply);
    });
  }

  /** Show a finished contact. @param {number} station @param {any} ending */
  review(station, ending) {
    this.#reviewing = true;
    this.#station = station;
    this.#end(ending);
    byId("line").focus();
  }

  /** Stop the clock and the sound. */
  stop() {
    this.#contact.stop();
    clearAnnouncements();
  }

  // --- a contact

  /** Act on the content of the line. */
  #enterLine() {
    const text = byId("line").value, entered = readLine(text);
    if (this.#phase === "comparing") return undefined;
    if (this.#phase === "recording") return this.#contact.endOver();
    if (this.#phase === "ended") return this.#enterAtEnd(text.trim().toLowerCase());
    if (this.#phase === "ready" && entered.kind === "nothing") {
      return void this.#task(() => this.start());
    }
    return this.#perform(entered);
  }

  /** @param {import("./contact_line.js").Entered} entered */
  #perform({ kind, value }) {
    if (this.#phase === "comparing") return undefined;
    clearAnnouncements();
    if (this.#phase === "ended") return this.#enterAtEnd(keyOf(value));
    if (kind === "nothing") return undefined; // Enter alone never advances a contact
    if (kind === "unknown") {
      byId("line").select();
      return this.#tell(`Unknown key ${value}. i shows where you are.`);
    }
    byId("line").value = "";
    this.#refresh();
    if (value === "where") return this.#tell(this.#whereSentence());
    if (value === "stop") return this.#leave();
    if (this.#phase !== "running") return this.#tell("Press Enter on the empty line to start the clock.");
    if (value === "microphone") return void this.#speak();
    if (value === "leave" && this.#contact.isSending) return void this.#contact.act("break-off");
    if (value === "leave" || value === "log") return void this.#finish(value);
    this.#contact.act(kind === "note" ? "note" : value, kind === "note" ? value : "");
    return this.#refresh();
  }

  /** Log or leave; what is typed until the logs are shown is dropped. @param {string} act */
  async #finish(act) {
    this.#phase = "comparing";
    this.#refresh();
    announce("The logs are being compared.", { shownElsewhere: true });
    await this.#contact.act(act);
    if (this.#phase !== "comparing") return;
    this.#phase = "running";
    this.#refresh();
  }

  async #speak() {
    if (!this.hasMicrophone) return this.#tell(MICROPHONE_MISSING);
    this.#phase = "recording";
    this.#refresh();
    try {
      await this.#contact.speak(() => announce("Speak.", { shownElsewhere: true }));
      if (this.#phase === "recording") this.#phase = "running";
    } catch (error) {
      this.#phase = "running";
      this.#contact.goOn();
      this.#tell(/** @type {Error} */ (error).message);
    }
    return this.#refresh();
  }

  /**
   * Announce a sentence when nothing sounds; the clock is held while it is read.
   * @param {string} sentence
   */
  #tell(sentence) {
    this.#afterSound = () => {
      announce(sentence);
      const told = new Promise((resolve) => {
        this.#endTelling = () => resolve(null);
        setTimeout(resolve, Math.max(QUIET_MS, sentence.length * MS_PER_CHARACTER));
      });
      if (this.#phase === "running") this.#contact.standStill(told);
    };
    this.#tellWaiting();
  }

  #tellWaiting() {
    if (this.#player.playing || !this.#afterSound) return;
    const tell = this.#afterSound;
    this.#afterSound = null;
    tell();
  }

  #whereSentence() {
    const { live } = this.#contact;
    const { call, exchange } = live.entry;
    const ear = this.#contact.isSending ? "You are sending and hear nothing." : "Your ear is open.";
    const { microphoneLevel: level } = this.#contact;
    const microphone = level ? `Your last over by microphone: ${level} ` : "";
    const keys = allKeys().map(([key, label]) => `${key === "." ? "full stop" : key}: ${label}`);
    return `Station ${live.contact + 1} of ${this.session.count}, ${live.watts} W, `
      + `${clockText(this.#contact.seconds)} since you tuned in. ${ear} Your log line: `
      + `${call ? spaced(call) : "no call"}, ${exchange ? spaced(exchange) : "no exchange"}. `
      + `${microphone}${keys.join(", ")}. The clock is held while this is read, until you type.`;
  }

  // --- the end of a contact

  /** @param {string} key */
  #enterAtEnd(key) {
    const one = ONE_OVER.exec(key), overs = this.#ending.overs;
    byId("line").value = "";
    this.#refresh();
    if (key === "") return void this.#task(() => this.#goOn());
    if (key === "s") return this.#leave();
    if (key === "n") return void this.#play(this.#ending.again);
    if (key === "d") return announce(endingDetails(this.#ending));
    if (key === "i") return announce(`${this.#ending.heading} ${this.#ending.told}`);
    if (one && Number(one[1]) <= overs.length) {
      const over = overs[Number(one[1]) - 1];
      return void this.#play(one[2] ? over.clean : over.noise);
    }
    return announce(`Unknown key ${key}. Press Enter, n, d, s, or a number and c.`);
  }

  /** @param {string} url */
  async #play(url) {
    this.#player.unlock();
    clearAnnouncements();
    try {
      await this.#player.play(await this.#player.load(url));
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
  }

  /** Continue with the next station, or show the session's figures. */
  async #goOn() {
    this.#player.stop();
    clearAnnouncements();
    if (this.#reviewing || this.session.finished) return this.#leave();
    this.open(await this.#contact.next());
    return this.start();
  }

  #leave() {
    this.stop();
    this.onLeave();
  }

  /** Run a task unless another one runs; show its error. @param {() => Promise<void>} task */
  async #task(task) {
    if (this.#busy) return;
    this.#busy = true;
    try {
      await task();
    } catch (error) {
      this.#recover(error);
    } finally {
      this.#busy = false;
    }
  }

  // --- showing

  /** Show a reply of the server. @param {any} reply */
  #show(reply) {
    if (reply.session) this.session = reply.session;
    this.#station = reply.live.contact;
    if (reply.ending) return this.#end(reply.ending);
    showScore(reply.live);
    return this.#refresh();
  }

  /** Show the end of a contact. @param {any} ending */
  #end(ending) {
    if (this.#phase === "comparing") byId("line").value = "";
    this.#phase = "ended";
    this.#ending = ending;
    this.#afterSound = null;
    showEnding(ending, (url) => this.#play(url));
    this.#refresh();
    scrollTo(0, 0);
    announce(`${ending.heading} ${ending.told}`, { shownElsewhere: true });
  }

  #refresh() {
    if (!this.session || byId("contact").hidden) return;
    const ended = this.#phase === "ended";
    showContact({
      phase: this.#phase, live: this.#contact.live, session: this.session,
      sounding: this.#player.playing, seconds: this.#contact.seconds,
      finished: this.session.finished || this.#reviewing, starts: this.#contact.startsOver,
    });
    showLamps(this.session, this.#station);
    showKeys("all-keys", allKeys());
    byId("standing").classList.toggle("small", !ended);
    byId("score").hidden = ended;
    byId("told-part").hidden = byId("review").hidden = !ended;
    byId("line").placeholder = ended ? "Enter, or a letter" : "";
    document.body.classList.toggle("in-drill", !ended);
  }

  /** Stop the clock after an error. @param {any} error */
  #recover(error) {
    this.#contact.stop();
    const state = error.state ?? {};
    if (state.live) { // the record has moved on: a repeated request
      this.open(state);
      this.start();
      return;
    }
    this.#phase = "ready";
    this.#reply = null;
    this.#refresh();
    announce(state.other_window ? OTHER_WINDOW : `${error.message} Press Enter to continue.`);
  }
}
