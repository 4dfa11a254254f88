// @ts-check
// The choice of who speaks: any operator, a group, or several of both. After each choice another
// select appears, so that a keyboard needs nothing but selects.
import { element } from "./elements.js";
import { fillSelect } from "./forms.js";

const MOST_VOICES = 8;
const EMPTY = { name: "", says: "" };

export class VoicesField {
  #first;
  #operators;
  /** @type {HTMLSelectElement[]} */ #others = [];

  /**
   * @param {HTMLSelectElement} first select of the form
   * @param {any[]} operators entries of the catalogue: groups, then operators
   * @param {string[]} chosen names
   */
  constructor(first, operators, chosen) {
    this.#first = first;
    this.#operators = operators;
    const listed = new Set(operators.map(({ name }) => name));
    const names = chosen.filter((name) => listed.has(name));
    const known = names.length <= MOST_VOICES ? names : [];
    const any = { name: "", says: "All operators that speak by default." };
    fillSelect(first, [any, ...operators], known[0] ?? "", "any");
    for (const name of known.slice(1)) this.#add(name);
    first.addEventListener("change", () => this.#adapt());
    this.#adapt();
  }

  /** The chosen names, each once; empty for any. */
  get names() {
    if (!this.#first.value) return [];
    const values = [this.#first, ...this.#others].map(({ value }) => value).filter(Boolean);
    return [...new Set(values)];
  }

  /** Show one empty select after the last choice, and no other empty one. */
  #adapt() {
    const unused = this.#first.value ? this.#others.filter(({ value }) => !value) : this.#others;
    for (const select of unused) select.remove();
    this.#others = this.#others.filter((select) => !unused.includes(select));
    if (this.#first.value && this.#others.length < MOST_VOICES - 1) this.#add("");
  }

  /** @param {string} name */
  #add(name) {
    const number = this.#others.length + 2;
    const select = /** @type {HTMLSelectElement} */ (element("select", {
      name: "also_voices", "aria-label": `Also speaks, voice ${number}`,
    }));
    fillSelect(select, [EMPTY, ...this.#operators], name, "and nobody else");
    select.addEventListener("change", () => {
      const last = this.#others.at(-1);
      this.#adapt();
      if (!select.isConnected) (last?.isConnected ? last : this.#first).focus();
    });
    (this.#others.at(-1) ?? this.#first).after(select);
    this.#others.push(select);
  }
}
