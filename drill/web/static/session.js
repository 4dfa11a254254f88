// @ts-check
// One session: play, answer, see the verdict. The answer line keeps the focus throughout.
import { announce, clearAnnouncements } from "./announce.js";
import { answerText, answerProblem } from "./answer_line.js";
import { addAnswer, clearAnswerList, listEarlierAnswers } from "./answer_list.js";
import { post } from "./api.js";
import { byId, element } from "./elements.js";
import { ItemDetails } from "./item_details.js";
import { ItemSounds } from "./item_sounds.js";
import { countPlay, playCount } from "./play_count.js";
import { stateAfterError } from "./session_state.js";
import { focusAnswerLine, showView } from "./session_view.js";
import { followSounds } from "./sound_line.js";
import { keepTyped, keptTyped } from "./typed_line.js";
import { announcementOf, verdictElements } from "./verdict.js";

/** @typedef {import("./session_view.js").Phase} Phase */

const SLOW_MS = 1500;
const PLAYED_ONCE =
  "Each item is played only once here. Type what you have, with ? for a gap, or . to give up.";
const PREPARING = "Preparing the sound.";
const NOT_SENT = `${PREPARING} Text typed before you hear the item is discarded.`;
const NOT_PLAYED = "This item has not been played yet. Press Enter on the empty line to play it.";
/** Keys before an answer, and the actions that they perform. @type {Record<string, string>} */
const KEYS_BEFORE_ANSWER = { n: "again", i: "where", s: "stop", ".": "give-up" };
/** Keys after an answer. @type {Record<string, string>} */
const KEYS = { "": "next", n: "noise", c: "clean", d: "details", i: "where", s: "stop" };

export class Session {
  #player;
  #onEnd;
  #sounds;
  /** @type {any} the session's state from the server */ #state = null;
  /** @type {Phase} */ #phase = "ready";
  /** whether a missed item still has to be played clean and noisy */ #replayDue = false;
  /** Number of the item whose answer in code words was questioned; its next answer is sent. */
  #questioned = -1;
  /** Number of the latest action; an older action stops when it sees a higher number. */
  #turn = 0;
  #timer = 0;
  #details = new ItemDetails(({ part, clean }) => {
    this.#playSounds(
      [() => (clean ? this.#sounds.clean() : this.#sounds.noisy())], undefined, part);
  });
  /** Seconds after which the next item starts automatically; 0 for never. */
  autoNextS = 0;

  /**
   * @param {import("./player.js").Player} player
   * @param {(state: any) => void} onEnd called when the session is finished or left
   */
  constructor(player, onEnd) {
    this.#player = player;
    this.#onEnd = onEnd;
    this.#sounds = new ItemSounds(player);
    followSounds();
    byId("answer-form").addEventListener("submit", (/** @type {Event} */ event) => {
      event.preventDefault();
      this.#handleLine(byId("answer-line").value.trim());
    });
    byId("answer-line").addEventListener("input", () => {
      clearTimeout(this.#timer);
      if (this.#phase === "answering") {
        keepTyped(this.#state.id, this.#sounds.number, byId("answer-line").value);
      }
      this.#show();
    });
    for (const button of document.querySelectorAll("[data-action]")) {
      button.addEventListener("click", () => {
        this.#perform(/** @type {HTMLElement} */ (button).dataset.action ?? "");
        byId("answer-line").focus();
      });
    }
  }

  /**
   * Start or continue a session. Nothing plays before Enter, unless playNow.
   * @param {any} state
   * @param {{playNow?: boolean}} options
   */
  open(state, { playNow = false } = {}) {
    this.#enter(state);
    clearAnswerList();
    if (state.number && state.feedback) {
      listEarlierAnswers(state.id, () => this.#state.id === state.id);
    }
    byId("answer-line").value = "";
    byId("answer-line").focus();
    if (playNow && !state.finished) {
      this.#playItem();
      return;
    }
    announce(state.sentence, { shownElsewhere: true });
    this.#restoreTyped();
  }

  /** After a reload, continue with the item that was heard and the text typed for it. */
  async #restoreTyped() {
    const turn = this.#turn;
    const { id, number, finished } = this.#state;
    const typed = keptTyped(id, number);
    if (finished || !typed || !playCount(id, number)) return;
    const item = await this.#sounds.prepared();
    if (turn !== this.#turn || this.#phase !== "ready") return;
    this.#sounds.take(item);
    byId("answer-line").value = typed;
    this.#setPhase("answering");
  }

  /** Show a state from the server and wait for Enter. @param {any} state */
  #enter(state) {
    this.#turn += 1;
    clearTimeout(this.#timer);
    this.#state = state;
    this.#questioned = -1;
    this.#replayDue = false;
    if (state.finished) return this.#end(state);
    this.#prepare();
    this.#setPhase("ready");
  }

  #prepare() {
    this.#sounds.prepare(this.#state, () => this.#show());
  }

  /** Act on a line that was entered: an answer, or a key. @param {string} text */
  #handleLine(text) {
    clearTimeout(this.#timer);
    const key = text.toLowerCase();
    if (this.#phase === "ready") {
      if (!text) return void this.#playItem();
      if (key === "i" || key === "s") return this.#perform(KEYS[key], true);
      return this.#reject(NOT_PLAYED);
    }
    if (this.#phase === "loading") {
      if (this.#player.waiting) return this.#player.startNow(); // Enter was pressed twice
      return announce(text ? NOT_SENT : PREPARING);
    }
    if (this.#phase === "answering") {
      if (key in KEYS_BEFORE_ANSWER) return this.#perform(KEYS_BEFORE_ANSWER[key], true);
      const reason = answerProblem(text);
      if (reason) return this.#reject(reason);
      if (text) return void this.#answer(answerText(text), false);
      if (this.#player.playing) return undefined;
      const again = this.#state.replays ? " n plays it again." : "";
      return announce(`Type what you copied.${again}`);
    }
    if (this.#phase !== "answered") return undefined; // the answer is on its way
    if (key in KEYS) return this.#perform(KEYS[key], true);
    if (this.#details.isWordKey(key)) {
      byId("answer-line").value = "";
      return void this.#details.playWord(key);
    }
    return this.#reject(`Unknown key '${text}'; i shows where you are.`);
  }

  /** @param {string} message */
  #reject(message) {
    announce(message);
    byId("answer-line").select();
  }

  /**
   * Perform the action of a key or a button.
   * @param {string} action
   * @param {boolean} typed whether its key is on the line and must be removed
   */
  #perform(action, typed = false) {
    clearTimeout(this.#timer);
    if (typed) byId("answer-line").value = "";
    if (action === "where") announce(this.#where());
    else if (action === "stop") return this.#leave();
    else if (this.#phase === "answering") {
      if (action === "again") this.#playAgain();
      if (action === "give-up") this.#answer("", true);
    } else if (this.#phase === "answered") {
      if (action === "next") this.#goOn();
      if (action === "noise") this.#playSounds([() => this.#sounds.noisy()]);
      if (action === "clean") this.#playSounds([() => this.#sounds.clean()]);
      if (action === "details") this.#details.tell();
    }
    this.#show();
  }

  /** Return where the trainee is: item, result so far, and whether sound plays. */
  #where() {
    const { count, standing, feedback } = this.#state;
    const item = (this.#phase === "answered" ? this.#sounds.number : this.#state.number) + 1;
    if (!feedback) return `${item} of ${count}.`; // more would be spoken near the next call
    const sounding = this.#player.playing ? " The sound is playing." : "";
    return `Item ${item} of ${count}. ${standing}${sounding}`;
  }

  /** Play the current item for the first time, as soon as its sound is ready. */
  async #playItem() {
    const turn = ++this.#turn;
    this.#player.unlock();
    this.#setPhase("loading");
    const slow = setTimeout(() => announce(PREPARING), SLOW_MS);
    try {
      const item = await this.#sounds.prepared();
      if (turn !== this.#turn) return;
      this.#sounds.take(item);
      clearTimeout(slow);
      clearAnnouncements();
      await this.#player.play(item.noisy, () => {
        // Counted only now: a sound that the computer could not play was not heard.
        countPlay(this.#state.id, item.number);
        byId("answer-line").value = ""; // typed before the item was heard
        this.#setPhase("answering");
      });
      focusAnswerLine();
    } catch (error) {
      if (turn === this.#turn) await this.#recover(error);
    } finally {
      clearTimeout(slow);
    }
  }

  /** Play the item again before it is answered. */
  #playAgain() {
    if (!this.#state.replays) return announce(PLAYED_ONCE);
    const onStart = () => countPlay(this.#state.id, this.#sounds.number);
    this.#playSounds([() => this.#sounds.noisy()], onStart);
  }

  /**
   * Play sounds one after the other; return true if all were played to the end.
   * @param {(() => any)[]} sounds functions that return a sound or a promise of one
   * @param {() => void} [onStart]
   * @param {import("./player.js").Part} [part] of each sound
   */
  async #playSounds(sounds, onStart, part) {
    const turn = ++this.#turn;
    this.#player.stop();
    try {
      for (const sound of sounds) {
        const loaded = await sound();
        if (turn !== this.#turn || !(await this.#player.play(loaded, onStart, part))) return false;
      }
      focusAnswerLine();
      return true;
    } catch (error) {
      if (turn === this.#turn) announce(/** @type {Error} */ (error).message);
      return false;
    }
  }

  /** Send an answer and show the verdict. @param {string} text @param {boolean} gaveUp */
  async #answer(text, gaveUp) {
    const turn = ++this.#turn;
    const { id } = this.#state;
    const number = this.#sounds.number;
    const plays = playCount(id, number);
    const seconds = this.#player.secondsSinceEnd();
    this.#player.stop();
    clearAnnouncements(); // the verdict comes first
    this.#setPhase("sending");
    try {
      const reply = await post(`/api/sessions/${id}/answers`, {
        number, text, seconds, replays: Math.max(0, plays - 1), gave_up: gaveUp,
        as_typed: this.#questioned === number,
      });
      if (turn !== this.#turn) return;
      if (reply.question) {
        this.#questioned = number;
        this.#setPhase("answering");
        return void this.#reject(reply.question);
      }
      byId("answer-line").value = "";
      this.#state = reply.state;
      addAnswer(number + 1, reply, { gaveUp, text });
      if (reply.feedback) this.#showVerdict(reply, gaveUp, plays);
      else if (reply.state.finished) this.#end(reply.state);
      else {
        this.#prepare();
        this.#playItem();
      }
    } catch (error) {
      if (turn === this.#turn) await this.#recover(error, "answering");
    }
  }

  /** @param {any} reply @param {boolean} gaveUp @param {number} plays */
  #showVerdict(reply, gaveUp, plays) {
    byId("verdict").replaceChildren(
      ...verdictElements(reply, { gaveUp, plays }), element("div", { id: "heard" }));
    this.#details.load(this.#state.id, this.#sounds.number);
    this.#replayDue = reply.hear_again;
    this.#setPhase("answered");
    announce(announcementOf(reply, gaveUp), { shownElsewhere: true });
    if (!this.#state.finished) this.#prepare();
    if (!reply.right) this.#sounds.clean().catch(() => {}); // fetched early: probably needed soon
    this.#startAutoNext();
  }

  /** Start the timer of the next item if the user has set one. */
  #startAutoNext() {
    clearTimeout(this.#timer);
    if (this.autoNextS) this.#timer = setTimeout(() => this.#goOn(), 1000 * this.autoNextS);
  }

  /** Play the missed item again if it is due, else the next item; at the end show the result. */
  #goOn() {
    if (this.#replayDue) {
      this.#replayDue = false;
      this.#playSounds([() => this.#sounds.clean(), () => this.#sounds.noisy()])
        .then((whole) => { if (whole) this.#startAutoNext(); });
      this.#show();
    } else if (this.#state.finished) {
      this.#player.stop();
      this.#end(this.#state);
    } else {
      byId("answer-line").value = "";
      this.#playItem();
    }
  }

  /** End the session's part of the page; the result follows. @param {any} state */
  #end(state) {
    this.#phase = "ended";
    this.#onEnd(state);
  }

  #leave() {
    this.#turn += 1;
    this.#player.stop();
    clearAnnouncements();
    this.#end(this.#state);
  }

  /**
   * After a failed request: if the record has moved on (another window, a repeated request),
   * continue from there; otherwise show the error and return to a phase.
   * @param {unknown} error
   * @param {Phase} phase
   */
  async #recover(error, phase = "ready") {
    const expected = this.#phase === "sending" ? this.#sounds.number : this.#state.number;
    const state = await stateAfterError(error, this.#state.id);
    if (state && state.number !== expected) {
      byId("answer-line").value = "";
      this.#enter(state);
      if (!state.finished) {
        const answered = Math.min(expected + 1, state.number);
        const next = `Item ${state.number + 1} of ${state.count} is next.`;
        announce(`Item ${answered} is already answered. ${next}`);
      }
      return;
    }
    if (phase === "ready") this.#prepare();
    this.#setPhase(phase);
    announce(/** @type {Error} */ (error).message);
  }

  /** @param {Phase} phase */
  #setPhase(phase) {
    this.#phase = phase;
    this.#show();
  }

  /** @returns {import("./session_view.js").View} */
  #view() {
    const { number, fieldLabels } = this.#sounds;
    return {
      phase: this.#phase, state: this.#state, number, fieldLabels, replayDue: this.#replayDue,
    };
  }

  #show() {
    if (this.#phase !== "ended") showView(this.#view());
  }
}
