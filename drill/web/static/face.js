// @ts-check
// What a sitting shows beside its line: the item's place, what the keys do now, the buttons.

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));

/**
 * What the line is for: ready (nothing heard yet), waiting (for the sound), copying, sending, told.
 * @typedef {"ready"|"waiting"|"copying"|"sending"|"told"} Phase
 */

/**
 * A moment of a sitting. number: of the item heard last, from 0; owed: a miss is yet to be heard
 * clean and in the noise; asked: what there is to copy, in words, where it is known yet.
 * @typedef {{phase: Phase, state: any, number: number, asked: string, owed: boolean}} Moment
 */

/** Return what the keys do now, in a line. @param {Moment} moment */
export function prompt({ phase, state, owed }) {
  const { replays, finished, number, count } = state;
  if (phase === "ready") return `Enter plays item ${number + 1} of ${count}.`;
  if (phase === "told") {
    const what = owed ? "hear it clean, then in the noise" : finished ? "finish" : "next";
    return `Enter: ${what}. n: again in the noise. c: clean. s: stop.`;
  }
  const again = replays ? "Enter alone plays it again. " : "";
  return `Type what you copy, then Enter. ${again}A full stop gives up, ? tells where you stand.`;
}

/** Return what Enter does now, in a word. @param {Moment} moment */
function deed({ phase, state, owed }) {
  if (phase === "ready") return "Hear it";
  if (phase === "told") return owed ? "Hear it again" : state.finished ? "Finish" : "Next";
  return $("copy").value.trim() || !state.replays ? "Send" : "Hear it again";
}

/**
 * Show what a moment needs. Where what goes has the focus, the line gets it.
 * @param {Moment} moment
 */
export function show(moment) {
  const { phase, state, number } = moment;
  const told = phase === "told";
  const at = document.activeElement;
  $("place").textContent = `Item ${(told ? number : state.number) + 1} of ${state.count}`;
  $("asked").textContent = moment.asked ? `Your copy: ${moment.asked}` : "Your copy";
  $("conditions").textContent = state.sentence;
  $("prompt").textContent = prompt(moment);
  $("does").textContent = deed(moment);
  $("while").hidden = told;
  $("after").hidden = !told;
  $("again").hidden = !state.replays || phase !== "copying";
  $("give-up").hidden = phase !== "copying";
  $("verdict").hidden = !told;
  if ($("line").contains(at) && at?.closest("[hidden]")) $("copy").focus();
}

/** Give the line the focus where nothing has it; a control that is in use keeps it. */
export function home() {
  const one = document.activeElement;
  if (!one || one === document.body) $("copy").focus();
}
