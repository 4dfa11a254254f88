// @ts-check
// The form for a new session of contacts. The last choices are kept in this browser.
import { byId } from "./elements.js";
import { checkNumbers, fillSelect, numberValue } from "./forms.js";
import { keepChoices, lastChoices } from "./kept_choices.js";
import { VoicesField } from "./voices_field.js";

const STORED_FORM = "contact form";
const EMPTY = { name: "", says: "" };
/** Kept in this browser for the next session; the server keeps the call and the exchange. */
const KEPT = ["voice", "count", "watts", "conditions", "path_snr_db", "mix", "pace"];
/** Names of the selects of VoicesField. */
const VOICES = ["voices", "also_voices"];
/** @type {VoicesField|null} */
let voices = null;

/** @param {string|undefined} kept names with spaces between them */
function chosenVoices(kept) {
  return kept?.split(" ").filter(Boolean) ?? [];
}

/** A ladder sets the power, so its field has no use then. */
function showPower() {
  byId("watts").closest(".field").hidden = byId("ladder").checked;
}

/**
 * Fill the form.
 * @param {any} catalogue everything to choose from
 * @param {any} options the server's options for contacts
 */
export function fillContactForm(catalogue, options) {
  const last = lastChoices(STORED_FORM);
  const operators = catalogue.voices.operators;
  const single = operators.filter((/** @type {any} */ { name, group }) => name !== group);
  const chosen = (/** @type {string} */ name, /** @type {string} */ otherwise) =>
    last[name] ?? otherwise;
  byId("own-call").value = options.call ?? options.offered_call;
  byId("own-call-hint").textContent =
    `${options.offered_call} is offered; no administration can assign it.`;
  fillSelect(byId("exchange"), catalogue.exchanges, options.exchange);
  fillSelect(byId("voice"), single, chosen("voice", options.voice));
  fillSelect(byId("conditions"), catalogue.conditions, chosen("conditions", options.conditions));
  voices = new VoicesField(byId("voices"), operators, chosenVoices(last.voices));
  fillSelect(byId("mix"), catalogue.mixes, chosen("mix", catalogue.defaults.mix));
  fillSelect(byId("fading"), [EMPTY, ...catalogue.fading], "");
  fillSelect(byId("filter"), [EMPTY, ...catalogue.receivers], "");
  fillSelect(byId("processing"), [EMPTY, ...catalogue.processing], "");
  byId("ladder").addEventListener("change", showPower);
  showPower();
  for (const name of ["count", "watts", "path_snr_db", "pace"]) {
    if (last[name]) byId(name).value = last[name];
  }
}

/** Return true if all numbers are valid; otherwise show the error. @param {HTMLElement} problem */
export function contactFormIsValid(problem) {
  return checkNumbers(byId("options"), problem);
}

/** Return the options in the form that the server expects, and keep them for the next session. */
export function contactFormValues() {
  const ladder = byId("ladder").checked;
  const values = /** @type {Record<string, any>} */ ({ ladder, call: byId("own-call").value });
  for (const input of byId("options").querySelectorAll("select, input[type=number]")) {
    const value = input instanceof HTMLInputElement ? numberValue(input) : input.value || null;
    if (value !== null && !VOICES.includes(input.name)) values[input.name] = value;
  }
  const names = voices?.names ?? [];
  if (names.length) values.voices = names;
  if (ladder) delete values.watts; // a ladder sets the power
  const kept = KEPT.map((name) => [name, byId(name).value]).filter(([, value]) => value);
  kept.push(["voices", names.join(" ")]);
  keepChoices(STORED_FORM, kept);
  return values;
}
