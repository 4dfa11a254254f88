// @ts-check
// The verdict on an answer: a short sentence to hear, a full comparison to read.
import { capitalized, element, spaced } from "./elements.js";

/**
 * @typedef {{sent: string, typed: string}} Pair one character sent and the one typed for it
 * @typedef {{name: string, sent: string, typed: string, right: boolean, hint: string,
 *   pairs: Pair[]}} FieldScore
 */

/** If a field has more differences than this, the announcement repeats the whole field. */
const MAX_DIFFERENCES = 2;

/**
 * Return the differences of a field; places count the characters sent.
 * @param {FieldScore} score
 */
function differences(score) {
  const result = [];
  let place = 0;
  for (const { sent, typed } of score.pairs) {
    if (sent) place += 1;
    if (sent === typed) continue;
    if (!sent) result.push(`you typed an extra ${typed} after place ${place}`);
    else if (!typed) result.push(`${sent} at place ${place} is missing`);
    else if (typed === "?") result.push(`${sent} at place ${place} not made out`);
    else result.push(`${sent} at place ${place}, you typed ${typed}`);
  }
  return result;
}

/** Return a sentence on the differences of a wrong field. @param {FieldScore} score */
export function describeDifference(score) {
  const name = capitalized(score.name);
  if (!score.typed) return `${name}: ${spaced(score.sent)}, nothing typed.`;
  const places = differences(score);
  const note = score.hint ? ` ${capitalized(score.hint)}.` : "";
  if (!places.length || places.length > MAX_DIFFERENCES) {
    return `${name}: sent ${spaced(score.sent)}, you typed ${spaced(score.typed)}.${note}`;
  }
  return `${name}: ${places.join("; ")}.${note}`;
}

/**
 * Return the announcement of a verdict.
 * @param {{right: boolean, fields: FieldScore[]}} reply
 * @param {boolean} gaveUp
 */
export function announcementOf({ right, fields }, gaveUp) {
  if (right) return "Right.";
  if (gaveUp) {
    const sent = fields.map((field) => `${capitalized(field.name)}: ${spaced(field.sent)}.`);
    return ["Given up.", ...sent].join(" ");
  }
  return fields.filter((field) => !field.right).map(describeDifference).join(" ");
}

/**
 * Return the characters sent above those typed, with the differences marked. Hidden from screen
 * readers, since the sentence beside it says the same.
 * @param {FieldScore} score
 */
function comparison(score) {
  const labels = element("div", { class: "comparison-labels" },
    element("span", {}, "sent"), element("span", {}, "typed"));
  const pairs = score.pairs.length ? score.pairs : [{ sent: score.sent, typed: "" }];
  const columns = pairs.map(({ sent, typed }) =>
    element("div", { class: sent === typed ? "pair" : "pair different" },
      element("span", {}, sent || "–"), element("span", {}, typed || "–")));
  const dashes = [
    ...(pairs.some(({ sent }) => !sent) ? ["sent \u2013: nothing was sent"] : []),
    ...(pairs.some(({ typed }) => !typed) ? ["typed \u2013: nothing was typed"] : []),
  ];
  const legend = dashes.length ? [element("p", { class: "hint dashes" }, dashes.join("; "))] : [];
  return element("div", { class: "comparison", "aria-hidden": "true" },
    labels, ...columns, ...legend);
}

/** @param {FieldScore} field */
function fieldVerdict(field) {
  if (!field.right) {
    return element("div", { class: "field-verdict" }, comparison(field),
      element("p", {}, describeDifference(field)));
  }
  return element("p", { class: "field-verdict" }, `${field.name} `,
    element("span", { class: "calls" }, spaced(field.sent)),
    field.typed ? " right" : " right, left out");
}

/**
 * Return the full verdict: a word, each field, and the progress.
 * @param {{right: boolean, fields: FieldScore[], standing: string}} reply
 * @param {{gaveUp: boolean, plays: number}} answer plays: how often the item was played
 */
export function verdictElements({ right, fields, standing }, { gaveUp, plays }) {
  const word = right ? "Right" : gaveUp ? "Given up" : "Not right";
  const repeated = ` played ${plays} times, so it is not right on first hearing`;
  const note = plays > 1 ? element("span", { class: "hint" }, repeated) : "";
  return [
    element("p", { class: right ? "word right" : "word wrong" }, word, note),
    ...fields.map(fieldVerdict),
    element("p", { class: "hint" }, standing),
  ];
}
