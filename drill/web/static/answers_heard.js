// @ts-check
// Every answer of a finished session as a button that plays its sound.
import { announce } from "./announce.js";
import { element, spaced } from "./elements.js";

/** Longest text, in characters, of an answer in a narrow column. */
const SHORT_TEXT = 9;
/** Greatest number of answers that are shown at first. */
const MOST_OPEN = 24;

/**
 * @typedef {{sent: string, typed: string}} Pair
 * @typedef {{name: string, sent: string, typed: string, right: boolean, pairs: Pair[]}} Field
 * @typedef {{
 *   number: number, right: boolean, given_up: boolean, heard: number, fields: Field[],
 * }} Heard
 */

/**
 * Return the section with the answers of a session, at least one.
 * @param {string} session its id
 * @param {Heard[]} answers
 * @param {import("./player.js").Player} player
 */
export function answersSection(session, answers, player) {
  const longest = Math.max(...answers.map(({ fields }) => textOf(fields).length));
  const list = element("ol", { class: longest > SHORT_TEXT ? "all long" : "all" },
    ...answers.map((answer) => element("li", {}, answerButton(session, answer, player))));
  const few = answers.length <= MOST_OPEN;
  const legend = answers.some(hasExtra) ? [element("p", { class: "hint" },
    "A dash (\u2013) stands where you typed a character that was not sent.")] : [];
  return element("section", { "aria-labelledby": "answers-title" },
    element("h3", { id: "answers-title", class: "section-title" }, "Every answer, with its sound"),
    ...legend,
    few ? list : element("details", {},
      element("summary", {}, `All ${answers.length} answers`), list));
}

/** @param {Field[]} fields */
function textOf(fields) {
  return fields.map(({ sent }) => sent).join(" ");
}

/**
 * @param {string} session
 * @param {Heard} answer
 * @param {import("./player.js").Player} player
 */
function answerButton(session, answer, player) {
  const verdict = verdictOf(answer);
  const button = element("button", {
    type: "button", "aria-label": `${spokenText(answer)}, ${verdict}: hear it`,
  }, sentText(answer), element("span", { class: "hint" }, verdict));
  button.addEventListener("click", async () => {
    player.unlock();
    try {
      const path = `/api/sessions/${session}/items/${answer.number - 1}/noise.wav`;
      await player.play(await player.load(path));
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
  });
  return button;
}

/** Return whether more was typed than sent. @param {Heard} answer */
function hasExtra({ fields, given_up: gaveUp }) {
  return !gaveUp && fields.some(({ right, pairs }) => !right && pairs.some(({ sent }) => !sent));
}

/** @param {Heard} answer */
function verdictOf({ right, given_up: gaveUp, heard }) {
  if (right) return heard > 1 ? "right, replayed" : "right";
  return gaveUp ? "given up" : "missed";
}

/**
 * Return what was sent, spelt, and what was typed for the characters missed.
 * @param {Heard} answer
 */
function spokenText({ fields, given_up: gaveUp }) {
  return fields.map((field) => {
    const wrong = gaveUp || field.right ? [] : field.pairs.filter((p) => p.sent !== p.typed);
    const missed = wrong.map(({ sent, typed }) =>
      `${sent || "nothing"} typed as ${typed || "nothing"}`);
    return [spaced(field.sent), ...missed].join(", ");
  }).join(", ");
}

/** Return what was sent, with the characters that were missed marked. @param {Heard} answer */
function sentText({ fields, given_up: gaveUp }) {
  const text = element("span", { class: "calls" });
  fields.forEach((field, index) => {
    if (index) text.append(" ");
    if (gaveUp || field.right || !field.pairs.length) {
      text.append(field.sent.toUpperCase());
      return;
    }
    for (const { sent, typed } of field.pairs) {
      if (sent === typed) text.append(sent);
      else text.append(element("span", { class: "marked" }, sent || "\u2013"));
    }
  });
  return text;
}
