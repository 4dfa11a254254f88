// @ts-check
// One sitting: hear, type, be told. One line keeps the focus; what Enter does stands beside it.
import { Lack, get, post } from "./api.js";
import { say } from "./say.js";
import { heard, keepHeard } from "./heard.js";
import { line, spoken, verdict } from "./verdict.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const SLOW_MS = 1500;
const ONCE = "Nothing is heard twice here. Type what you have, ? for a gap, or . alone.";
const WAIT = "One moment: the sound is being made.";

/**
 * What the line is for: ready (nothing heard yet), waiting (for the sound), copying, sending, told.
 * @typedef {"ready"|"waiting"|"copying"|"sending"|"told"} Phase
 */

export class Drill {
  #player;
  #end;
  /** @type {any} the state of the sitting as the program has it */
  #state = null;
  /** @type {Phase} */
  #phase = "ready";
  /** @type {Promise<{item: any, sound: any}>|null} the present item, prepared ahead */
  #ahead = null;
  /** @type {any} the sound of the item that is being copied or was answered last */
  #sound = null;
  /** @type {number} of that item */
  #number = 0;
  /** @type {any} its sound without noise, once it was asked for */
  #clean = null;
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
    say(state.sentence);
  }

  /** Take the state of the record and wait for Enter. @param {any} state */
  #enter(state) {
    this.#turn += 1;
    clearTimeout(this.#timer);
    this.#state = state;
    this.#owed = false;
    $("verdict").hidden = true;
    if (state.finished) return this.#end(state);
    this.#prepare();
    this.#to("ready");
  }

  /** Fetch and decode the present item, so that it starts at once. */
  #prepare() {
    const { id, number } = this.#state;
    this.#ahead = (async () => {
      const item = await get(`/api/sittings/${id}/items/${number}`);
      return { item, sound: await this.#player.load(item.sound) };
    })();
    // Who waits for it is told; where nobody does yet, it is no error of the page.
    this.#ahead.catch(() => {});
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
    if (this.#phase !== "told") return undefined;
    const known = /** @type {Record<string, string>} */ ({
      "": "next", n: "noise", c: "clean", s: "stop",
    });
    if (command in known) return this.#does(known[command], true);
    return this.#none(`${text} is none of them. ${this.#prompt()}`);
  }

  /** @param {string} sentence */
  #none(sentence) {
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
    else if (what === "stop") this.#leave();
    else if (this.#phase === "copying") {
      if (what === "again") this.#again();
      if (what === "give-up") this.#answer("", true);
    } else if (this.#phase === "told") {
      if (what === "next") this.#next();
      if (what === "noise") this.#play([() => this.#sound]);
      if (what === "clean") this.#play([() => this.#cleanly()]);
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
      const { item, sound } = await /** @type {Promise<any>} */ (this.#ahead);
      if (mine !== this.#turn) return;
      this.#sound = sound;
      this.#number = item.number;
      this.#clean = null;
      this.#to("copying");
      keepHeard(this.#state.id, item.number);
      clearTimeout(slow);
      say("");
      await this.#player.play(sound);
    } catch (error) {
      if (mine === this.#turn) await this.#stuck(error);
    } finally {
      clearTimeout(slow);
    }
  }

  /** Play the item again before it is answered. */
  #again() {
    if (!this.#state.replays) return say(ONCE);
    keepHeard(this.#state.id, this.#number);
    return this.#play([() => this.#sound]);
  }

  /** @param {(() => any)[]} sounds played one after the other, unless something else comes */
  async #play(sounds) {
    const mine = ++this.#turn;
    this.#player.stop();
    try {
      for (const sound of sounds) {
        const made = await sound();
        if (mine !== this.#turn || !(await this.#player.play(made))) return;
      }
    } catch (error) {
      if (mine === this.#turn) say(/** @type {Error} */ (error).message);
    }
  }

  async #cleanly() {
    const path = `/api/sittings/${this.#state.id}/items/${this.#number}/clean.wav`;
    this.#clean ??= await this.#player.load(path);
    return this.#clean;
  }

  /** @param {string} text @param {boolean} gaveUp */
  async #answer(text, gaveUp) {
    const mine = ++this.#turn;
    const { id } = this.#state;
    const number = this.#number;
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
    $("verdict").hidden = false;
    this.#owed = reply.hear_again;
    this.#to("told");
    say(spoken(reply, gaveUp));
    if (!this.#state.finished) this.#prepare();
    if (!reply.right) this.#cleanly().catch(() => {}); // likely to be asked for
    if (this.autoNextS) {
      this.#timer = setTimeout(() => this.#next(), 1000 * this.autoNextS);
    }
  }

  /** Go on: by the miss that is to be heard again, to the next item, or to the end. */
  #next() {
    if (this.#owed) {
      this.#owed = false;
      this.#play([() => this.#cleanly(), () => this.#sound]);
      this.#show();
    } else if (this.#state.finished) {
      this.#player.stop();
      this.#end(this.#state);
    } else {
      this.#hear();
    }
  }

  #leave() {
    this.#turn += 1;
    this.#player.stop();
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
    if (state && state.number !== this.#number_expected()) {
      $("copy").value = "";
      this.#enter(state);
      if (!state.finished) {
        say(`Item ${this.#number_before(state)} has its answer in the record already. `
          + `Item ${state.number + 1} of ${state.count} is next.`);
      }
      return;
    }
    if (phase === "ready") this.#prepare();
    this.#to(phase);
    say(/** @type {Error} */ (error).message);
  }

  #number_expected() {
    return this.#phase === "sending" ? this.#number : this.#state.number;
  }

  /** @param {any} state */
  #number_before(state) {
    return Math.min(this.#number_expected() + 1, state.number);
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

  /** Return what the keys do now, in a line. */
  #prompt() {
    const { replays, finished, number, count } = this.#state;
    if (this.#phase === "ready") return `Enter plays item ${number + 1} of ${count}.`;
    if (this.#phase === "told") {
      const what = this.#owed ? "hear it clean, then in the noise" : finished ? "finish" : "next";
      return `Enter: ${what}. n: again in the noise. c: clean. s: stop.`;
    }
    const again = replays ? "Empty: again. " : "";
    return `Type what you copy, then Enter. ${again}. gives up. ? where do I stand.`;
  }

  /** Return what Enter does now, in a word. */
  #deed() {
    if (this.#phase === "ready") return "Hear it";
    if (this.#phase === "told") {
      return this.#owed ? "Hear it again" : this.#state.finished ? "Finish" : "Next";
    }
    return $("copy").value.trim() || !this.#state.replays ? "Send" : "Hear it again";
  }

  /** Show what the phase needs; no control goes that may have the focus but for the line's taking it. */
  #show() {
    const { number, count } = this.#state;
    const told = this.#phase === "told";
    $("place").textContent = `Item ${(told ? this.#number : number) + 1} of ${count}`;
    $("conditions").textContent = this.#state.sentence;
    $("prompt").textContent = this.#prompt();
    $("does").textContent = this.#deed();
    $("while").hidden = told;
    $("after").hidden = !told;
    $("again").hidden = !this.#state.replays || this.#phase !== "copying";
    $("verdict").hidden &&= !told;
    if (!told) $("verdict").hidden = true;
  }
}
