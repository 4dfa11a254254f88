// @ts-check
// The line that a trainee types: an answer or a command letter. The rule is the same in the terminal
// (drill/session/answer_line.py): a command letter alone is never scored.

/** Commands that can follow an answer: n plays the item again with noise, c without, s stops. */
export const COMMAND_LETTERS = ["n", "c", "s"];

const ANSWER_MARK = "=";

/** Return whether a line is a command letter alone, in either case. @param {string} line */
export function isCommandLetter(line) {
  return COMMAND_LETTERS.includes(line.trim().toLowerCase());
}

/** Return the answer in a line, without the mark. @param {string} line */
export function answerText(line) {
  const text = line.trim();
  return (text.startsWith(ANSWER_MARK) ? text.slice(ANSWER_MARK.length) : text).trim();
}

/** Return why a line cannot be an answer; "" if it can, or if it is empty. @param {string} line */
export function answerProblem(line) {
  const text = line.trim().toLowerCase();
  if (isCommandLetter(text)) {
    return `'${text}' works only after your answer. To answer with the letter, type =${text}.`;
  }
  return text && !answerText(text) ? `Type your answer after '${text}', for example ${text}n.` : "";
}
