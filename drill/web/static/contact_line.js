// @ts-check
// The input line of a contact: a note, or a letter that speaks or acts. The letters match the
// terminal (drill/contact/acts.py).

/** What a letter says; the names are the server's. */
export const SAYINGS = /** @type {Record<string, [string, string]>} */ ({
  m: ["call", "my whole call"],
  p: ["part", "the part they asked for"],
  w: ["correction", "wrong, and my call"],
  x: ["exchange", "my exchange"],
  a: ["again", "again, all of it"],
  b: ["again-part", "again, the missing part"],
  t: ["thanks", "thanks"],
});
/** What else a letter does. */
export const OTHERS = /** @type {Record<string, [string, string]>} */ ({
  l: ["log", "log it"],
  v: ["microphone", "speak myself"],
  ".": ["leave", "leave"],
  i: ["where", "where am I"],
  s: ["stop", "stop for now"],
});
const TEXT_MARK = "=";

/**
 * nothing: an empty line; note: text to save; saying: an over by its name; other: log, microphone,
 * leave, where, stop; unknown: a letter without a function.
 * @typedef {{kind: "nothing"|"note"|"saying"|"other"|"unknown", value: string}} Entered
 */

/** Return what a line means. @param {string} line @returns {Entered} */
export function readLine(line) {
  const text = line.trim(), key = text.toLowerCase();
  if (!text) return { kind: "nothing", value: "" };
  if (key in SAYINGS) return { kind: "saying", value: SAYINGS[key][0] };
  if (key in OTHERS) return { kind: "other", value: OTHERS[key][0] };
  if (text.startsWith(TEXT_MARK)) {
    const note = text.slice(TEXT_MARK.length).trim();
    return note ? { kind: "note", value: note } : { kind: "unknown", value: text };
  }
  if (text.length === 1 && !/[0-9]/.test(text)) return { kind: "unknown", value: text };
  return { kind: "note", value: text };
}

/**
 * Return the speaking letters that make sense now, depending on what the trainee has said.
 * @param {{said: string[]}[]} score
 */
export function sensibleSayings(score) {
  const said = new Set(score.flatMap((entry) => entry.said));
  if (said.has("exchange")) return ["p", "w", "x", "t"];
  return said.size ? ["m", "p", "w", "x"] : ["m", "a"];
}

/** Return every key with what it does. @returns {[string, string][]} */
export function allKeys() {
  return Object.entries({ ...SAYINGS, ...OTHERS }).map(([key, [, label]]) => [key, label]);
}

/** Return the key of an act, or the text itself. @param {string} value */
export function keyOf(value) {
  const known = Object.entries({ ...SAYINGS, ...OTHERS }).find(([, [name]]) => name === value);
  return known ? known[0] : value;
}
