// @ts-check
// One sitting: hear, type, be told. One line keeps the focus; what Enter does stands beside it.
import { Lack, get, post } from "./api.js";
import { home, prompt, show } from "./face.js";
import { ItemSounds } from "./item.js";
import { say } from "./say.js";
import { heard, keepHeard } from "./heard.js";
import { line, spoken, verdict } from "./verdict.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const SLOW_MS = 1500;
const ONCE = "Nothing is heard twice here. Type what you have, ? for a gap, or . alone.";
const WAIT = "One moment: the sound is being made.";
const EARLY = `${WAIT} Your line stays; send it when you have heard the item.`;

/** @typedef {import("./face.js").Phase} Phase */

export class Drill {
  #player;
  #end;
  #sounds;
  /** @type {any} the state of the sitting as the program has it */
  #state = null;
  /** @type {Phase} */
  #phase = "ready";
  /** True where a miss is yet to be heard clean and in the noise. */
  #owed = false;
  #turn = 0;
  #timer = 0;
  /** Seconds after which the next item starts by itself; 0: never. */
  autoNextS = 0;

  /**
   * @param {import("./sound.js").Player} player
   * @param {(state: any) => void} end what to do when it ends or is left
   */
  constructor(player, end) {
    this.#player = player;
    this.#end = end;
    this.#sounds = new ItemSounds(player);
    $("line").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#entered($("copy").value.trim());
    });
    $("copy").addEventListener("input", () => {
      clearTimeout(this.#timer);
      this.#show();
    });
    for (const button of document.querySelectorAll("[data-does]")) {
      button.addEventListener("click", () => {
        this.#does(/** @type {HTMLElement} */ (button).dataset.does ?? "");
        $("copy").focus();
      });
    }
  }

  /** Begin, or go on: nothing sounds before Enter. @param {any} state */
  open(state) {
    this.#enter(state);
    $("strip").replaceChildren();
    $("copied").hidden = true;
    if (state.number && state.feedback) this.#recall(state.id);
    $("copy").value = "";
    $("copy").focus();
    say(state.sentence, { seen: true });
  }

  /** Take the state of the record and wait for Enter. @param {any} state */
  #enter(state) {
    this.#turn += 1;
    clearTimeout(this.#timer);
    this.#state = state;
    this.#owed = false;
    if (state.finished) return this.#end(state);
    this.#prepare();
    this.#to("ready");
  }

  /** @param {string} text */
  #entered(text) {
    clearTimeout(this.#timer);
    const command = text.toLowerCase();
    if (text === "?") return this.#does("stand", true);
    if (this.#phase === "ready") {
      if (!text) return void this.#hear();
      if (command === "s") return this.#does("stop");
      return this.#none("Nothing has been heard yet: Enter on the empty line plays it.");
    }
    if (this.#phase === "copying") {
      if (text === ".") return this.#does("give-up");
      return text ? void this.#answer(text, false) : this.#does("again");
    }
    if (this.#phase === "waiting") return say(text ? EARLY : WAIT);
    if (this.#phase !== "told") return undefined;
    const known = /** @type {Record<string, string>} */ ({
      "": "next", n: "noise", c: "clean", s: "stop",
    });
    if (command in known) return this.#does(known[command], true);
    return this.#none(`${text} is none of them. ${prompt(this.#moment())}`);
  }

  #prepare() {
    this.#sounds.prepare(this.#state, () => this.#show());
  }

  #none(/** @type {string} */ sentence) {
    say(sentence);
    $("copy").select();
  }

  /**
   * Do what a key or a button asks for; typed: take the key off the line.
   * @param {string} what
   */
  #does(what, typed = false) {
    clearTimeout(this.#timer);
    if (typed) $("copy").value = "";
    if (what === "stand") say(this.#state.standing);
    else if (what === "stop") return this.#leave();
    else if (this.#phase === "copying") {
      if (what === "again") this.#again();
      if (what === "give-up") this.#answer("", true);
    } else if (this.#phase === "told") {
      if (what === "next") this.#next();
      if (what === "noise") this.#play([() => this.#sounds.noise()]);
      if (what === "clean") this.#play([() => this.#sounds.clean()]);
    }
    this.#show();
  }

  /** Play the present item for the first time, as soon as it is there. */
  async #hear() {
    const mine = ++this.#turn;
    this.#player.unlock();
    this.#to("waiting");
    const slow = setTimeout(() => say(WAIT), SLOW_MS);
    try {
      const made = await this.#sounds.ahead();
      if (mine !== this.#turn) return;
      this.#sounds.take(made);
      clearTimeout(slow);
      say("");
      await this.#player.play(made.noise, () => {
        // Not before: an item that the machine could not play was not heard.
        keepHeard(this.#state.id, made.number);
        this.#to("copying");
      });
      home();
    } catch (error) {
      if (mine === this.#turn) await this.#stuck(error);
    } finally {
      clearTimeout(slow);
    }
  }

  /** Play the item again before it is answered. */
  #again() {
    if (!this.#state.replays) return say(ONCE);
    const begun = () => keepHeard(this.#state.id, this.#sounds.number);
    return this.#play([() => this.#sounds.noise()], begun);
  }

  /**
   * Play sounds one after the other, unless something else comes; return true where all were whole.
   * @param {(() => any)[]} sounds
   * @param {() => void} [begun]
   */
  async #play(sounds, begun) {
    const mine = ++this.#turn;
    this.#player.stop();
    try {
      for (const sound of sounds) {
        const made = await sound();
        if (mine !== this.#turn || !(await this.#player.play(made, begun))) return false;
      }
      home();
      return true;
    } catch (error) {
      if (mine === this.#turn) say(/** @type {Error} */ (error).message);
      return false;
    }
  }

  /** @param {string} text @param {boolean} gaveUp */
  async #answer(text, gaveUp) {
    const mine = ++this.#turn;
    const { id } = this.#state;
    const number = this.#sounds.number;
    const times = heard(id, number);
    const seconds = this.#player.sinceEnd();
    this.#player.stop();
    this.#to("sending");
    try {
      const reply = await post(`/api/sittings/${id}/answers`, {
        number, text, seconds, replays: Math.max(0, times - 1), gave_up: gaveUp,
      });
      if (mine !== this.#turn) return;
      $("copy").value = "";
      this.#state = reply.state;
      $("strip").prepend(line(number + 1, reply, { gaveUp, text }));
      $("copied").hidden = false;
      if (reply.feedback) this.#tell(reply, gaveUp, times);
      else if (reply.state.finished) this.#end(reply.state);
      else {
        this.#prepare();
        this.#hear();
      }
    } catch (error) {
      if (mine === this.#turn) await this.#stuck(error, "copying");
    }
  }

  /** @param {any} reply @param {boolean} gaveUp @param {number} times */
  #tell(reply, gaveUp, times) {
    $("verdict").replaceChildren(...verdict(reply, { gaveUp, heard: times }));
    this.#owed = reply.hear_again;
    this.#to("told");
    say(spoken(reply, gaveUp), { seen: true });
    if (!this.#state.finished) this.#prepare();
    if (!reply.right) this.#sounds.clean().catch(() => {}); // likely to be asked for
    this.#later();
  }

  /** Go on by itself after a while, where that is set. */
  #later() {
    clearTimeout(this.#timer);
    if (this.autoNextS) this.#timer = setTimeout(() => this.#next(), 1000 * this.autoNextS);
  }

  /** Go on: by the miss that is to be heard again, to the next item, or to the end. */
  #next() {
    if (this.#owed) {
      this.#owed = false;
      this.#play([() => this.#sounds.clean(), () => this.#sounds.noise()])
        .then((whole) => { if (whole) this.#later(); });
      this.#show();
    } else if (this.#state.finished) {
      this.#player.stop();
      this.#end(this.#state);
    } else {
      $("copy").value = "";
      this.#hear();
    }
  }

  #leave() {
    this.#turn += 1;
    this.#player.stop();
    say("");
    this.#end(this.#state);
  }

  /**
   * Where the record knows more than this window, go on with the record; else tell the lack.
   * @param {unknown} error
   * @param {Phase} phase to go back to
   */
  async #stuck(error, phase = "ready") {
    const lack = error instanceof Lack ? error : null;
    let state = lack?.state;
    try {
      if (!state && lack?.status === 404) state = await get(`/api/sittings/${this.#state.id}`);
    } catch {
      state = null; // the first lack is the one to tell
    }
    if (state && state.number !== this.#expected()) {
      $("copy").value = "";
      this.#enter(state);
      if (!state.finished) {
        say(`Item ${this.#before(state)} has its answer in the record already. `
          + `Item ${state.number + 1} of ${state.count} is next.`);
      }
      return;
    }
    if (phase === "ready") this.#prepare();
    this.#to(phase);
    say(/** @type {Error} */ (error).message);
  }

  #expected() {
    return this.#phase === "sending" ? this.#sounds.number : this.#state.number;
  }

  /** @param {any} state */
  #before(state) {
    return Math.min(this.#expected() + 1, state.number);
  }

  /** Fill the strip from the record, where a sitting is gone on with. @param {string} id */
  async #recall(id) {
    try {
      const { answers } = await get(`/api/history/${id}`);
      if (this.#state.id !== id) return;
      for (const one of answers.toReversed()) {
        $("strip").append(line(one.number, one, { gaveUp: one.given_up, text: one.typed }));
      }
      $("copied").hidden = !answers.length;
    } catch {
      // the strip is a convenience
    }
  }

  /** @param {Phase} phase */
  #to(phase) {
    this.#phase = phase;
    this.#show();
  }

  /** @returns {import("./face.js").Moment} */
  #moment() {
    const { number, asked } = this.#sounds;
    return { phase: this.#phase, state: this.#state, number, asked, owed: this.#owed };
  }

  #show() {
    show(this.#moment());
  }
}
