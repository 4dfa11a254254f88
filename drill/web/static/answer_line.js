// @ts-check
// The line that a trainee types: an answer, or a command letter. The same rule as in the terminal
// (drill/session/answer_line.py): a command letter alone is never scored.

/** Letters that are commands after the answer: again in the noise, clean, stop. */
export const COMMAND_LETTERS = ["n", "c", "s"];

const ANSWER_MARK = "=";

/** Return whether a line is a command letter alone, in either case. @param {string} line */
export function isCommandLetter(line) {
  return COMMAND_LETTERS.includes(line.trim().toLowerCase());
}

/** Return the answer that a line contains, without the mark. @param {string} line */
export function answerText(line) {
  const text = line.trim();
  return (text.startsWith(ANSWER_MARK) ? text.slice(ANSWER_MARK.length) : text).trim();
}

/** Return why a line before the answer is no answer, "" if it is one or empty. @param {string} line */
export function whyNoAnswer(line) {
  const text = line.trim().toLowerCase();
  if (isCommandLetter(text)) {
    return `'${text}' works after the answer. To answer with the letter, type =${text}.`;
  }
  return text && !answerText(text) ? `Type the answer after '${text}', such as ${text}n.` : "";
}
