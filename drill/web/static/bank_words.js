// @ts-check
// The words of a voice in the order of recording, and the word to record now.

/** @typedef {{word: string, recorded: boolean, group: any}} Word */

export class BankWords {
  /** @type {Word[]} */ #words;
  #index = 0;

  /** @param {{groups: any[]}} bank from the server */
  constructor({ groups }) {
    this.#words = groups.flatMap((group) =>
      group.words.map((/** @type {any} */ entry) => ({ ...entry, group })));
    this.#index = Math.max(0, this.#words.findIndex(({ recorded }) => !recorded));
  }

  /** All words in order. */
  get all() {
    return this.#words;
  }

  /** The word to record now. */
  get current() {
    return this.#words[this.#index];
  }

  /** True if every word of the voice is recorded. */
  get complete() {
    return this.#words.every(({ recorded }) => recorded);
  }

  /** Where the current word stands in its group, as a sentence. */
  get place() {
    const { group } = this.current;
    const words = this.#words.filter((word) => word.group === group);
    const recorded = words.filter((word) => word.recorded).length;
    const title = group.title.slice(0, 1).toUpperCase() + group.title.slice(1);
    const optional = group.optional ? ", optional" : "";
    return `${title}${optional}: word ${words.indexOf(this.current) + 1} of ${words.length}, `
      + `${recorded} recorded.`;
  }

  /** Note that the current word is saved, and go to the next one. Returns whether it was new. */
  saved() {
    const wasNew = !this.current.recorded;
    this.current.recorded = true;
    this.next();
    return wasNew;
  }

  /** Go to the next word that is not recorded, or to the next word if all are. */
  next() {
    const after = [...this.#words.slice(this.#index + 1), ...this.#words.slice(0, this.#index)];
    this.#goTo(after.find(({ recorded }) => !recorded) ?? after[0]);
  }

  /** Go to the word before this one. */
  back() {
    this.#index = Math.max(0, this.#index - 1);
  }

  /** Go to the first word of the next group with words that are not recorded. */
  skipGroup() {
    const { group } = this.current;
    const rest = this.#words.slice(this.#index).find((word) =>
      word.group !== group && !word.recorded);
    if (rest) this.#goTo(rest);
  }

  /** Go to a word by name. @param {string} word */
  goTo(word) {
    const found = this.#words.find((entry) => entry.word === word);
    if (found) this.#goTo(found);
  }

  /** @param {Word} word */
  #goTo(word) {
    this.#index = this.#words.indexOf(word);
  }
}
