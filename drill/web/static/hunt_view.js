// @ts-check
// What a running hunt shows: time, frequency, level, what Enter does, the keys and the pad.
import { SAYINGS } from "./contact_line.js";
import { byId, element } from "./elements.js";
import { dialPicture, khzText } from "./hunt_dial.js";
import { readHuntLine, sensibleKeys } from "./hunt_line.js";

/** Level words, each with the lowest level in dB over the noise. @type {[number, string][]} */
const LEVELS = [[35, "very strong"], [20, "strong"], [10, "clear"], [3, "faint"], [-99, "noise"]];
const HIGHEST_LEVEL_DB = 60;

/**
 * ready: the clock stands until Enter; running: time passes; held: it stands while something is
 * read aloud; halted: the computer is late; recording: the microphone is open.
 * @typedef {"ready"|"running"|"held"|"halted"|"recording"} HuntPhase
 * @typedef {{
 *   phase: HuntPhase, state: any, at: number, hz: number, levelDb: number, sends: boolean,
 * }} HuntView
 */

const STOPPED = "The clock is stopped. Enter starts it.";

/** Return what the trainee's ear and the clock do, in a sentence. @param {HuntView} view */
export function earSentence({ phase, sends }) {
  if (phase === "ready") return STOPPED;
  return sends ? "You are sending and hear nothing." : "Your ear is open.";
}

/** Return the time that is left. @param {HuntView} view */
export function timeLeft({ state, at }) {
  const seconds = Math.max(0, (state.ends_at - at) / state.rate_hz);
  const minutes = Math.ceil(seconds / 60);
  if (seconds <= 60) return `${Math.ceil(seconds)} seconds left`;
  return minutes === 1 ? "1 minute left" : `${minutes} minutes left`;
}

/** Return the level in a word and in dB. @param {number} levelDb */
export function levelText(levelDb) {
  const [, word] = LEVELS.find(([lowest]) => levelDb >= lowest) ?? LEVELS[LEVELS.length - 1];
  return word === "noise" ? "noise only" : `${word}, ${Math.round(levelDb)} dB over the noise`;
}

/** Return the line of the pad that a typed line names. @param {any} state @param {string} typed */
export function workedBefore(state, typed) {
  const call = typed.trim().split(/\s/)[0].toUpperCase();
  return call.length < 3 ? undefined : state.pad.find((/** @type {any} */ line) => line.call === call);
}

/** Show what changes many times a second. @param {HuntView} view */
export function showMeter(view) {
  const text = levelText(view.levelDb), [word, ...rest] = text.split(", ");
  const level = Math.min(HIGHEST_LEVEL_DB, Math.max(0, Math.round(view.levelDb)));
  const tube = byId("level");
  tube.setAttribute("aria-valuenow", String(level));
  tube.setAttribute("aria-valuetext", text);
  tube.style.setProperty("--level", `${(100 * level) / HIGHEST_LEVEL_DB}%`);
  byId("level-word").textContent = word;
  byId("level-db").textContent = rest.length ? `, ${rest.join(", ")}` : "";
  setText("title", timeLeft(view));
  if (view.sends !== document.body.classList.contains("sending")) showHunt(view);
}

/** Show the dial. @param {HuntView} view */
export function showDial({ state, hz }) {
  byId("frequency").textContent = khzText(hz);
  byId("dial").replaceChildren(dialPicture(state, hz));
}

/** @param {string} id @param {string} text */
function setText(id, text) {
  if (byId(id).textContent !== text) byId(id).textContent = text;
}

/** @param {HuntView} view */
function willNodes({ phase, state, at, hz, sends }) {
  const soft = (/** @type {string} */ text) => element("span", { class: "soft" }, text);
  const entered = readHuntLine(byId("line").value, state.bands, hz);
  if (phase === "recording") return [soft("You send. Speak now; Enter ends it.")];
  if (sends && state.sending) {
    const left = Math.max(1, Math.ceil((state.sending.until - at) / state.rate_hz));
    return [soft(`You hear nothing for ${left} ${left === 1 ? "second" : "seconds"}. `),
      element("span", { class: "soft tall" }, "What you type is saved.")];
  }
  if (entered.kind === "saying") {
    const [, label] = SAYINGS[byId("line").value.trim().toLowerCase()];
    const hides = ["part", "again-part"].includes(entered.value); // depends on what they asked for
    return [soft("You will say "),
      hides ? label : element("span", { class: "quoted" }, `“${state.sayings[entered.value]}”`)];
  }
  if (entered.kind === "tune") return [soft(`To ${khzText(entered.hz ?? hz)} kHz`)];
  if (phase === "ready" && entered.value === "leave") {
    return [soft("The hunt ends, and both logs are compared.")];
  }
  if (phase === "ready") return [soft(STOPPED)];
  if (phase === "halted") return [soft("The clock is stopped while speech is synthesised.")];
  const { call, exchange } = state.entry;
  if (!call && !exchange) return [soft("Nothing noted yet.")];
  return [soft("Your log line "),
    element("span", { class: "calls" }, `${call || "no call"} ${exchange || "no exchange"}`)];
}

/** @param {HuntView} view */
function goText({ phase, state, hz, sends }) {
  const { kind, value } = readHuntLine(byId("line").value, state.bands, hz);
  if (phase === "recording") return "End";
  if (phase === "ready" && kind === "nothing") return "Start";
  if (kind === "saying") return "Say it";
  if (kind === "tune") return "Tune";
  if (kind === "mark") return "Mark it";
  if (kind === "mend") return "Correct";
  if (kind !== "other") return "Note";
  const stop = phase === "ready" ? "Leave" : "Stop";
  const labels = { where: "Show", stop, log: "Log it", microphone: "Speak" };
  if (value === "leave" && phase === "ready") return "End the hunt";
  if (value === "leave") return sends ? "Break off" : "Give up";
  return labels[/** @type {keyof typeof labels} */ (value)];
}

/** @param {string} id @param {[string, string][]|string[][]} keys */
function showHuntKeys(id, keys) {
  const text = JSON.stringify(keys);
  if (byId(id).dataset.keys === text) return; // a new button would lose a click
  byId(id).dataset.keys = text;
  byId(id).replaceChildren(...keys.map(([key, label]) => element("li", {},
    element("button", { type: "button", class: "act", "data-key": key },
      element("kbd", {}, key), element("span", {}, label)))));
}

/** @param {any} line @param {HuntView} view @param {any} known */
function padLine({ number, at: logged, hz, call, given, got }, { state, at }, known) {
  const minutes = Math.floor((at - logged) / state.rate_hz / 60);
  const isKnown = known?.number === number;
  return element("li", isKnown ? { class: "known" } : {},
    element("span", { class: "soft num" }, String(number)),
    element("span", { class: "calls" }, call || "no call"),
    element("span", { class: "soft small num" }, isKnown ? "you have it" : `${minutes} min`),
    element("span", { class: "hint num" },
      `${khzText(hz)}, given ${given || "nothing"}, got ${got || "nothing"}`));
}

/** Show the pad, newest first. @param {HuntView} view */
export function showPad(view) {
  const { pad } = view.state, known = workedBefore(view.state, byId("line").value);
  byId("pad").replaceChildren(
    ...pad.map((/** @type {any} */ line) => padLine(line, view, known)).reverse());
  byId("pad").setAttribute("start", String(pad.length));
  byId("pad-empty").hidden = pad.length > 0;
  byId("mend").hidden = pad.length === 0;
}

/** Show everything but the dial and the pad. @param {HuntView} view */
export function showHunt(view) {
  const { phase, state, sends } = view;
  const isSending = sends || phase === "recording";
  document.body.classList.toggle("sending", isSending);
  setText("title", timeLeft(view));
  byId("go-text").textContent = goText(view);
  byId("will").replaceChildren(...willNodes(view));
  const ear = byId("ear");
  ear.className = isSending ? "ear shut" : "ear";
  ear.textContent = isSending ? "You send" : phase === "running" ? "Your ear is open" : "The clock is stopped";
  showHuntKeys("acts", sensibleKeys(state, { isStopped: phase === "ready", sends }));
  byId("pages-link").hidden = phase !== "ready";
}
