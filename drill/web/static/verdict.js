// @ts-check
// What is told of an answer: a short sentence to be heard, and the whole to be read.
import { apart, el } from "./figures.js";

/**
 * @typedef {{sent: string, copied: string}} Pair
 * @typedef {{name: string, sent: string, copied: string, right: boolean, hint: string,
 *   pairs: Pair[]}} Score
 */

/** More differences than this in a field, and both are read whole. */
const MOST_PLACES = 2;

/** @param {string} name */
const capital = (name) => name.slice(0, 1).toUpperCase() + name.slice(1);

/**
 * Return what differs in a field, place by place; places count the characters sent.
 * @param {Score} score
 */
function differences(score) {
  const found = [];
  let place = 0;
  for (const { sent, copied } of score.pairs) {
    if (sent) place += 1;
    if (sent === copied) continue;
    if (!sent) found.push(`you typed ${copied} too much, after place ${place}`);
    else if (!copied) found.push(`sent ${sent}, left out, place ${place}`);
    else if (copied === "?") found.push(`sent ${sent}, left open, place ${place}`);
    else found.push(`sent ${sent}, you typed ${copied}, place ${place}`);
  }
  return found;
}

/**
 * Return what differs in a field that is wrong, in a sentence.
 * @param {Score} score
 */
export function difference(score) {
  const name = capital(score.name);
  if (!score.copied) return `${name}: ${apart(score.sent)}, nothing typed.`;
  const places = differences(score);
  const note = score.hint ? ` ${capital(score.hint)}.` : "";
  if (!places.length || places.length > MOST_PLACES) {
    return `${name}: sent ${apart(score.sent)}, you typed ${apart(score.copied)}.${note}`;
  }
  return `${name}: ${places.join("; ")}.${note}`;
}

/**
 * Return what is said of an answer.
 * @param {{right: boolean, fields: Score[]}} reply
 * @param {boolean} gaveUp
 */
export function spoken({ right, fields }, gaveUp) {
  if (right) return "Right.";
  if (gaveUp) {
    const sent = fields.map((field) => `${capital(field.name)}: ${apart(field.sent)}.`);
    return ["Given up.", ...sent].join(" ");
  }
  return fields.filter((field) => !field.right).map(difference).join(" ");
}

/**
 * Return the columns of a wrong field: sent above typed, the differences marked. Eyes only; the
 * sentences beside it say the same.
 * @param {Score} score
 */
function columns(score) {
  const row = el("div", { class: "columns", "aria-hidden": "true" },
    el("div", { class: "rows" }, el("span", {}, "sent"), el("span", {}, "typed")));
  const pairs = score.pairs.length ? score.pairs : [{ sent: score.sent, copied: "" }];
  for (const { sent, copied } of pairs) {
    const same = sent === copied;
    row.append(el("div", { class: same ? "pair" : "pair off" },
      el("span", {}, sent || "–"), el("span", {}, copied || "–")));
  }
  return row;
}

/**
 * Return a verdict to be read: a word, then field by field.
 * @param {{right: boolean, fields: Score[], standing: string}} reply
 * @param {{gaveUp: boolean, heard: number}} how
 */
export function verdict({ right, fields, standing }, { gaveUp, heard }) {
  const word = right ? "Right" : gaveUp ? "Given up" : "Not right";
  const times = heard > 1 ? el("span", { class: "hint" }, ` heard ${heard} times`) : "";
  const made = [el("p", { class: right ? "word right" : "word wrong" }, word, times)];
  for (const field of fields) {
    if (field.right) {
      const how = field.copied ? "right" : "right, left out";
      made.push(el("p", { class: "of-field" }, `${field.name} `,
        el("span", { class: "calls" }, apart(field.sent)), ` ${how}`));
    } else {
      made.push(el("div", { class: "of-field" }, columns(field),
        el("p", {}, difference(field))));
    }
  }
  made.push(el("p", { class: "hint" }, standing));
  return made;
}

/**
 * Return a line of the strip of what has been copied.
 * @param {number} number from 1
 * @param {{right?: boolean, fields?: Score[]}} reply without fields where nothing is told
 * @param {{gaveUp: boolean, text: string}} how
 */
export function line(number, { right, fields }, { gaveUp, text }) {
  const made = el("li", { value: String(number) });
  if (!fields) {
    made.append(gaveUp ? "given up" : el("span", { class: "calls" }, apart(text)));
    return made;
  }
  const sent = el("span", { class: "calls" }, fields.map(({ sent: one }) => apart(one)).join(", "));
  const told = right ? "right" : gaveUp ? "given up"
    : fields.filter((field) => !field.right).map(({ name, copied }) =>
      `${fields.length > 1 ? `${name}: ` : ""}you typed ${copied ? apart(copied) : "nothing"}`)
      .join(", ");
  made.append(sent, " ", el("span", { class: right ? "right" : "wrong" }, told));
  return made;
}
