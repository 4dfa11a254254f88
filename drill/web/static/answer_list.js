// @ts-check
// The list of the answers of a session, newest first.
import { get } from "./api.js";
import { byId, element, spaced } from "./elements.js";

/** @typedef {import("./verdict.js").FieldScore} FieldScore */

/** Empty the list and hide it. */
export function clearAnswerList() {
  byId("answer-list").replaceChildren();
  byId("answered").hidden = true;
}

/**
 * Add an answer at the top.
 * @param {number} number from 1
 * @param {{right?: boolean, fields?: FieldScore[]}} reply without fields if nothing is revealed
 * @param {{gaveUp: boolean, text: string}} answer
 */
export function addAnswer(number, reply, answer) {
  byId("answer-list").prepend(answerEntry(number, reply, answer));
  byId("answered").hidden = false;
}

/**
 * Add the answers given before a session was continued.
 * @param {string} session id of the session
 * @param {() => boolean} isCurrent whether the page still shows that session when they arrive
 */
export async function listEarlierAnswers(session, isCurrent) {
  try {
    const { answers } = await get(`/api/history/${session}`);
    if (!isCurrent()) return;
    for (const answer of answers.toReversed()) {
      const { number, given_up: gaveUp, typed: text } = answer;
      byId("answer-list").append(answerEntry(number, answer, { gaveUp, text }));
    }
    byId("answered").hidden = !answers.length;
  } catch {
    // The list is a convenience; the session works without it.
  }
}

/**
 * @param {number} number
 * @param {{right?: boolean, fields?: FieldScore[]}} reply
 * @param {{gaveUp: boolean, text: string}} answer
 */
function answerEntry(number, { right, fields }, { gaveUp, text }) {
  const entry = element("li", { value: String(number) });
  if (!fields) {
    entry.append(gaveUp ? "given up" : element("span", { class: "calls" }, spaced(text)));
    return entry;
  }
  const sent = fields.map((field) => spaced(field.sent)).join(", ");
  const result = right ? "right" : gaveUp ? "given up" : wrongFields(fields);
  entry.append(element("span", { class: "calls" }, sent), " ",
    element("span", { class: right ? "right" : "wrong" }, result));
  return entry;
}

/** @param {FieldScore[]} fields */
function wrongFields(fields) {
  return fields.filter((field) => !field.right).map(({ name, typed }) => {
    const label = fields.length > 1 ? `${name}: ` : "";
    return `${label}you typed ${typed ? spaced(typed) : "nothing"}`;
  }).join(", ");
}
