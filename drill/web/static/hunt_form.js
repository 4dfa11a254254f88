// @ts-check
// The form for a new hunt. The last choices are kept in this browser.
import { byId, dateTime, element } from "./elements.js";
import { checkNumbers, fillSelect, numberValue } from "./forms.js";
import { keepChoices, lastChoices } from "./kept_choices.js";

const STORED_HUNT_FORM = "hunt form";
const NO_CHOICE = { name: "", says: "" };
/** Choices stored in this browser for the next hunt; the server stores call and exchange. */
const KEPT = ["band", "second-band", "third-band", "minutes", "watts", "voice", "conditions", "mix"];

/**
 * Fill the form.
 * @param {any} catalogue everything to choose from
 * @param {any} options the server's options for hunts
 */
export function fillHuntForm(catalogue, options) {
  const last = lastChoices(STORED_HUNT_FORM);
  const operators = catalogue.voices.operators;
  const single = operators.filter((/** @type {any} */ { name, group }) => name !== group);
  const chosen = (/** @type {string} */ name, /** @type {string} */ otherwise) =>
    last[name] ?? otherwise;
  byId("own-call").value = options.call ?? options.offered_call;
  byId("own-call-hint").textContent =
    `${options.offered_call} is offered; no administration can assign it.`;
  fillSelect(byId("band"), options.bands, chosen("band", options.band));
  for (const id of ["second-band", "third-band"]) {
    fillSelect(byId(id), [NO_CHOICE, ...options.bands], chosen(id, ""), "none");
  }
  fillSelect(byId("exchange"), catalogue.exchanges, options.exchange);
  fillSelect(byId("voice"), single, chosen("voice", options.voice));
  fillSelect(byId("conditions"), catalogue.conditions, chosen("conditions", options.conditions));
  fillSelect(byId("voices"), [NO_CHOICE, ...operators], "", "any");
  fillSelect(byId("mix"), catalogue.mixes, chosen("mix", catalogue.defaults.mix));
  fillSelect(byId("filter"), [NO_CHOICE, ...catalogue.receivers], "");
  for (const name of ["minutes", "watts"]) if (last[name]) byId(name).value = last[name];
}

/** Return true if all numbers are valid; otherwise show the error. @param {HTMLElement} problem */
export function huntFormIsValid(problem) {
  return checkNumbers(byId("options"), problem);
}

/** Return the options in the form that the server expects, and store them for the next hunt. */
export function huntFormValues() {
  const bands = ["band", "second-band", "third-band"].map((id) => byId(id).value).filter(Boolean);
  const values = /** @type {Record<string, any>} */ ({ call: byId("own-call").value, bands });
  for (const input of byId("options").querySelectorAll("select[name], input[type=number]")) {
    const value = input instanceof HTMLInputElement ? numberValue(input) : input.value || null;
    if (value !== null) values[input.name] = input.name === "voices" ? [value] : value;
  }
  const kept = KEPT.map((name) => [name, byId(name).value]).filter(([, value]) => value);
  keepChoices(STORED_HUNT_FORM, kept);
  return values;
}

/** List the newest hunts. @param {any[]} hunts */
export function showHunts(hunts) {
  byId("earlier").hidden = !hunts.length;
  byId("earlier-list").replaceChildren(...hunts.map(({ id, started, finished, minutes, watts }) => {
    const address = finished ? `/hunt-end?hunt=${id}` : `/hunt?session=${id}`;
    const what = `, ${minutes} minutes with ${watts} W${finished ? "" : ", not finished: continue or end it"}`;
    return element("li", {}, element("a", { href: address }, dateTime(started), what));
  }));
}
