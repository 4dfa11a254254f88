// @ts-check
// The line that a trainee types: an answer or a key. The rule is the same in the terminal
// (drill/session/answer_line.py): a single letter is a key and is never scored.

/** Keys that work only after an answer: c plays the item clean, d shows the details. */
export const KEYS_AFTER_ANSWER = ["c", "d"];

const ANSWER_MARK = "=";
const NOT_MADE_OUT = "?";

/** Return whether a line is a single letter. @param {string} line */
export function isKey(line) {
  return /^[a-z]$/i.test(line.trim());
}

/** Return the answer in a line, without the mark. @param {string} line */
export function answerText(line) {
  const text = line.trim();
  return (text.startsWith(ANSWER_MARK) ? text.slice(ANSWER_MARK.length) : text).trim();
}

/** Return why a line cannot be an answer; "" if it can, or if it is empty. @param {string} line */
export function answerProblem(line) {
  const text = line.trim().toLowerCase();
  if (isKey(text)) {
    const reason = KEYS_AFTER_ANSWER.includes(text) ? `'${text}' works only after your answer`
      : `Unknown key '${text}'; i shows where you are`;
    return `${reason}. To answer with the letter, type =${text}.`;
  }
  if (text === NOT_MADE_OUT) {
    return `Use '${text}' for a missed character inside your answer. '.' gives up; i shows where `
      + "you are.";
  }
  return text && !answerText(text) ? `Type your answer after '${text}', for example ${text}n.` : "";
}
