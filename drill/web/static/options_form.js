// @ts-check
// The form for a new session. The server's catalogue lists this page's kinds of session and the
// options that each kind takes; a field is shown if the chosen kind takes the option of that name.
import { element } from "./elements.js";
import { checkNumbers, fillSelect, numberValue } from "./forms.js";
import { VoicesField } from "./voices_field.js";

/** Catalogue entry that lists the choices of each select. */
const CHOICE_LISTS = /** @type {Record<string, string>} */ ({
  part: "parts", exchange: "exchanges", conditions: "conditions", mix: "mixes", fading: "fading",
  filter: "receivers", processing: "processing",
});
/** Options that replace a part of the conditions; empty keeps that of the conditions. */
const CONDITION_PARTS = ["fading", "filter", "processing"];
const EMPTY = { name: "", says: "" };
/** Fields of a comparison: the option that is compared, and its values. */
const COMPARED = "compared", VALUES = ["first", "second", "third"];
/** The strength of the station with which each of these options is used. */
const STRENGTHS = /** @type {Record<string, string[]>} */ ({
  snr_db: ["snr"], watts: ["watts"], path_snr_db: ["watts"], static_db: ["snr", "watts"],
});

/** Fields that are no options of their own. */
const NO_OPTIONS = [COMPARED, ...VALUES, "strength", "voices", "also_voices"];

/** @typedef {{name: string, title: string, says: string, options: string[]}} Kind */
/** @typedef {HTMLInputElement|HTMLSelectElement} Field */

export class OptionsForm {
  #form;
  /** @type {any} */ #catalogue = null;
  /** @type {VoicesField|null} */ #voices = null;

  /** @param {HTMLFormElement} form */
  constructor(form) {
    this.#form = form;
  }

  /**
   * Fill the form, with the options of the last session of the kind if there was one.
   * @param {any} catalogue everything to choose from
   * @param {any} settings the user's settings
   */
  fill(catalogue, settings) {
    this.#catalogue = catalogue;
    this.#addKinds();
    const { name } = this.#kind();
    const { defaults, counts, voices } = catalogue;
    const start = { ...defaults, count: counts[name], ...(settings[`last_${name}`] ?? {}) };
    for (const [option, list] of Object.entries(CHOICE_LISTS)) {
      const select = this.#field(option);
      const empty = CONDITION_PARTS.includes(option) ? [EMPTY] : [];
      if (select) fillSelect(select, [...empty, ...catalogue[list]], start[option] ?? "");
    }
    this.#voices = new VoicesField(this.#field("voices"), voices.operators, start.voices ?? []);
    if (this.#field("strength")) {
      this.#field("strength").value =
        start.watts != null ? "watts" : start.snr_db === null ? "no-noise" : "snr";
    }
    for (const option of ["count", "snr_db", "watts", "path_snr_db", "pace"]) {
      const field = this.#field(option);
      // An optional count stays empty: that means the kind's own number of items.
      if (field && (option !== "count" || field.required) && start[option] != null) {
        field.value = String(start[option]);
      }
    }
    if (this.#field(COMPARED)) {
      fillSelect(this.#field(COMPARED), catalogue.compare, "fading");
      this.#fillComparedValues();
      this.#field(COMPARED).addEventListener("change", () => this.#fillComparedValues());
    }
    this.#form.addEventListener("change", () => this.#showFields());
    this.#showFields();
  }

  /** Focus the first field. */
  focusFirst() {
    const fields = "input:checked, input[type=number], select";
    const visible = [...this.#form.querySelectorAll(fields)]
      .find((field) => !field.closest("[hidden]"));
    /** @type {HTMLElement|undefined} */ (visible)?.focus();
  }

  /**
   * Return true if all numbers are valid; otherwise show the error.
   * @param {HTMLElement} problem
   */
  check(problem) {
    return checkNumbers(this.#form, problem);
  }

  /** Return the options as the server takes them. */
  values() {
    const values = /** @type {Record<string, any>} */ ({ kind: this.#kind().name });
    for (const input of this.#form.querySelectorAll("select, input[type=number]")) {
      const field = /** @type {Field} */ (input);
      if (field.closest("[hidden]") || NO_OPTIONS.includes(field.name)) continue;
      const value = field instanceof HTMLInputElement ? numberValue(field) : field.value || null;
      if (value !== null) values[field.name] = value;
    }
    const voices = this.#isShown("voices") ? this.#voices?.names ?? [] : [];
    if (voices.length) values.voices = voices;
    if (this.#isShown("strength") && this.#field("strength").value === "no-noise") {
      values.snr_db = null;
    }
    if (this.#field(COMPARED)) {
      const chosen = VALUES.map((name) => this.#field(name).value).filter(Boolean);
      values.compare = { option: this.#field(COMPARED).value, values: chosen };
    }
    return values;
  }

  /** @param {string} name @returns {any} */
  #field(name) {
    return this.#form.elements.namedItem(name);
  }

  /** @returns {Kind[]} */
  #kinds() {
    return this.#catalogue.kinds.filter((/** @type {any} */ { activity }) =>
      `/${activity}` === location.pathname);
  }

  /** @returns {Kind} */
  #kind() {
    const chosen = new FormData(this.#form).get("kind");
    const kinds = this.#kinds();
    return kinds.find(({ name }) => name === chosen) ?? kinds[0];
  }

  /** Add a radio button for each kind that runs on this page, if there is more than one. */
  #addKinds() {
    const fieldset = /** @type {HTMLElement} */ (this.#form.querySelector("#kinds"));
    const kinds = this.#kinds();
    fieldset.hidden = kinds.length < 2;
    fieldset.append(...kinds.map(({ name, title, says }, index) => {
      const id = `kind-${name}`;
      const radio = element("input", {
        type: "radio", name: "kind", id, value: name, "aria-describedby": `${id}-hint`,
        ...(index ? {} : { checked: "" }),
      });
      return element("p", { class: "choice" }, radio, element("label", { for: id }, title),
        element("span", { class: "hint", id: `${id}-hint` }, says));
    }));
  }

  /** Show the fields of the options that the kind takes, except the one that is compared. */
  #showFields() {
    for (const field of this.#form.querySelectorAll(".field")) {
      const input = /** @type {Field|null} */ (field.querySelector("input, select"));
      if (input) /** @type {HTMLElement} */ (field).hidden = !this.#matters(input.name);
    }
    const sounds = this.#form.querySelector("#snr-sounds");
    if (sounds) /** @type {HTMLElement} */ (sounds).hidden = !this.#isShown("snr_db");
    for (const fieldset of this.#form.querySelectorAll("details fieldset")) {
      const empty = !fieldset.querySelector(".field:not([hidden])");
      /** @type {HTMLElement} */ (fieldset).hidden = empty;
    }
  }

  /** Return whether an option has a use with what is chosen. @param {string} name */
  #matters(name) {
    const { options } = this.#kind();
    const option = [COMPARED, ...VALUES].includes(name) ? "compare"
      : name === "strength" ? "snr_db" : name;
    if (!options.includes(option) || option === this.#field(COMPARED)?.value) return false;
    if (name === "exchange" && this.#field("part")) return this.#field("part").value !== "call";
    const strength = this.#field("strength")?.value;
    const takesStrength = strength && options.includes("snr_db");
    return !takesStrength || !STRENGTHS[name] || STRENGTHS[name].includes(strength);
  }

  /** @param {string} name */
  #isShown(name) {
    const field = this.#field(name);
    return Boolean(field) && !field.closest("[hidden]");
  }

  #fillComparedValues() {
    const compared = this.#field(COMPARED).value;
    const { values } = this.#catalogue.compare.find(
      (/** @type {any} */ { name }) => name === compared);
    fillSelect(this.#field("first"), values, values[0]?.name);
    fillSelect(this.#field("second"), values, values[1]?.name);
    fillSelect(this.#field("third"), [EMPTY, ...values], "", "none");
  }
}
