// @ts-check
// The input line of a hunt: a note, a letter that speaks or acts, or words for the dial. The
// letters are those of the contact and of the terminal (drill/hunt/acts.py).
import { SAYINGS, sensibleSayings } from "./contact_line.js";
import { readDial } from "./hunt_dial.js";

/** What the letters do that send no over. */
export const HUNT_ACTS = /** @type {Record<string, [string, string]>} */ ({
  l: ["log", "log it"],
  k: ["mark", "mark this frequency"],
  r: ["mend", "correct the last line"],
  v: ["microphone", "speak myself"],
  ".": ["leave", "give up this station"],
  i: ["where", "where am I"],
  s: ["stop", "stop the clock"],
});
const TEXT_MARK = "=";
const MARK_WITH_LABEL = /^k\s+(\S.*)$/i;
const MEND_WITH_TEXT = /^r(\d{1,4})?\s+(\S.*)$/i;

/**
 * nothing: an empty line; note: text to save; saying: an over by its name; tune: a frequency; mark:
 * a label; mend: the text of a line; other: log, microphone, leave, where, stop; unknown: value
 * says why.
 * @typedef {{
 *   kind: "nothing"|"note"|"saying"|"tune"|"mark"|"mend"|"other"|"unknown", value: string,
 *   hz?: number, line?: number|null,
 * }} HuntEntered
 */

/**
 * Return what a line means.
 * @param {string} typed
 * @param {import("./hunt_dial.js").BandRange[]} bands
 * @param {number} hz the present frequency
 * @returns {HuntEntered}
 */
export function readHuntLine(typed, bands, hz) {
  const text = typed.trim(), key = text.toLowerCase();
  if (!text) return { kind: "nothing", value: "" };
  if (key in SAYINGS) return { kind: "saying", value: SAYINGS[key][0] };
  if (key === "k") return { kind: "mark", value: "" };
  if (key === "r" || /^r\d{1,4}$/.test(key)) {
    const example = `${key} OH2QRK 081`;
    return { kind: "unknown", value: `Type the correct call or exchange after ${key}, such as ${example}.` };
  }
  if (key in HUNT_ACTS) return { kind: "other", value: HUNT_ACTS[key][0] };
  const mark = MARK_WITH_LABEL.exec(text), mend = MEND_WITH_TEXT.exec(text);
  if (mark) return { kind: "mark", value: mark[1] };
  if (mend) return { kind: "mend", value: mend[2], line: mend[1] ? Number(mend[1]) : null };
  const dial = readDial(text, bands, hz);
  if (dial) {
    if (dial.problem) return { kind: "unknown", value: dial.problem };
    return { kind: "tune", value: text, hz: dial.hz };
  }
  return note(text);
}

/** @param {string} text @returns {HuntEntered} */
function note(text) {
  const value = text.startsWith(TEXT_MARK) ? text.slice(TEXT_MARK.length).trim() : text;
  if (!value || (text.length === 1 && !/[0-9]/.test(text))) {
    return { kind: "unknown", value: `Unknown key ${text}. i shows where you are.` };
  }
  return { kind: "note", value };
}

/** What the keys do while the clock is stopped. @type {[string, string][]} */
const STOPPED_KEYS = [
  [".", "end the hunt and compare the logs"],
  ["i", "where am I"],
  ["s", "leave; all is saved, continue later"],
];

/**
 * Return the keys that make sense now, with what they do.
 * @param {{said: string[], notes: string[]}} state what was said here and noted so far
 * @param {{isStopped: boolean, sends: boolean}} now whether the trainee has stopped the clock, and
 *   whether the trainee sends
 * @returns {[string, string][]}
 */
export function sensibleKeys({ said, notes }, { isStopped, sends }) {
  if (isStopped) return STOPPED_KEYS;
  const labels = Object.fromEntries(allHuntKeys());
  if (sends) labels["."] = "break off";
  const sayings = said.length ? sensibleSayings([{ said }]) : ["m"];
  const leaves = sends || said.length || notes.length ? ["."] : [];
  return [...sayings, "l", ...leaves, "v", "i", "s"].map((key) => [key, labels[key]]);
}

/** Return every key with what it does. @returns {[string, string][]} */
export function allHuntKeys() {
  return Object.entries({ ...SAYINGS, ...HUNT_ACTS }).map(([key, [, label]]) => [key, label]);
}
