// @ts-check
// What a session shows around its answer line: the item, the functions of the keys, the buttons.
import { byId } from "./elements.js";

/** What the line takes after an answer. */
const AFTER_ANSWER = "Enter, or a letter";

/**
 * ready: the item has not been played; loading: its sound is being prepared; answering: it has been
 * played; sending: the answer is being sent; answered: the verdict is shown; ended: the result is.
 * @typedef {"ready"|"loading"|"answering"|"sending"|"answered"|"ended"} Phase
 */

/**
 * What to show. number: of the item that was played last, from 0; fieldLabels: the fields to copy,
 * "" until known; replayDue: a missed item will be played clean and in the noise first.
 * @typedef {{
 *   phase: Phase, state: any, number: number, fieldLabels: string, replayDue: boolean,
 * }} View
 */

/**
 * Return a line about the functions of the keys at present, in two parts. The second part names the
 * keys for screen readers; on the screen their buttons do so.
 * @param {View} view
 */
export function keyHelp({ phase, state, replayDue }) {
  const { replays, finished, number, count } = state;
  if (phase === "ready") return [`Enter plays item ${number + 1} of ${count}.`, ""];
  if (phase === "answered") {
    const next = replayDue ? "play it clean, then in the noise"
      : finished ? "show the result" : "next item";
    return [`Enter: ${next}. Or a letter, then Enter:`,
      " n: play in the noise. c: play clean. d: details. s: stop."];
  }
  const again = replays ? " n: hear it again; then it is no longer a first hearing." : "";
  return ["Type what you copy, then Enter; ? for a character that you missed. Or a letter, then "
    + "Enter:", `${again} Full stop: give up. i: where you are. s: stop.`];
}

/** Return the label of the button that Enter presses. @param {View} view */
function submitLabel({ phase, state, replayDue }) {
  if (phase === "ready") return "Play";
  if (phase === "answered") return replayDue ? "Play again" : state.finished ? "Finish" : "Next";
  return "Send";
}

/**
 * Show a view. If the focused button disappears, the answer line gets the focus.
 * @param {View} view
 */
export function showView(view) {
  const { phase, state, number, fieldLabels } = view;
  const answered = phase === "answered";
  const focused = document.activeElement;
  const item = (answered ? number : state.number) + 1;
  byId("item-title").textContent = `Item ${item} of ${state.count}`;
  showLine(answered, fieldLabels);
  byId("session-description").textContent = state.sentence;
  const [shown, spoken] = keyHelp(view);
  byId("key-help-shown").textContent = shown;
  byId("key-help-spoken").textContent = spoken;
  byId("submit-text").textContent = submitLabel(view);
  byId("buttons-before-answer").hidden = answered;
  byId("buttons-after-answer").hidden = !answered;
  byId("again").hidden = !state.replays || phase !== "answering";
  byId("give-up").hidden = phase !== "answering";
  byId("verdict").hidden = !answered;
  showFirstVolume(state.kind === "first-steps" && item === 1 && !answered);
  byId("sound-line").hidden = answered; // the words take its place
  if (byId("answer-form").contains(focused) && focused?.closest("[hidden]")) {
    byId("answer-line").focus();
  }
}

/**
 * Show what the line takes: an answer, or after it only keys.
 * @param {boolean} answered
 * @param {string} fields the fields to copy
 */
function showLine(answered, fields) {
  byId("answer-label").textContent = answered ? AFTER_ANSWER
    : fields ? `Your answer: ${fields}` : "Your answer";
  if (answered) byId("answer-line").placeholder = AFTER_ANSWER;
  else byId("answer-line").removeAttribute("placeholder");
  byId("answer-form").classList.toggle("after-answer", answered);
}

/** Ask for the volume, with a large slider, while the first voice speaks. @param {boolean} on */
function showFirstVolume(on) {
  byId("first-volume").hidden = !on;
  byId("volume-controls").classList.toggle("first", on);
}

/** Focus the answer line if nothing else has the focus. */
export function focusAnswerLine() {
  const focused = document.activeElement;
  if (!focused || focused === document.body) byId("answer-line").focus();
}
