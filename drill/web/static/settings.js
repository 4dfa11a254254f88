// @ts-check
// The settings: each is saved and announced as soon as it changes.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { byId } from "./elements.js";
import { checkNumbers, fillSelect, showError, showFailure } from "./forms.js";
import { Player } from "./player.js";
import { applyPreferences } from "./preferences.js";

const form = /** @type {HTMLFormElement} */ (byId("settings"));
const defaultsForm = /** @type {HTMLFormElement} */ (byId("defaults"));
const NUMBERS = ["volume", "auto_next_s", "speech_gap_s"];
/** Catalogue entry that lists the choices of each select. */
const CHOICE_LISTS = /** @type {Record<string, string>} */ ({
  part: "parts", exchange: "exchanges", mix: "mixes", conditions: "conditions",
});
/** An over that is easy to hear, for setting the volume. */
const TEST_OVER = { conditions: "plain", snr_db: 20, seed: 7, without: [] };
const player = new Player();
/** The options that a new practice session starts with. */
let practiceOptions = /** @type {Record<string, any>} */ ({});

const volumeText = () => `${Math.round(Number(byId("volume").value) * 100)} per cent`;

function showVolume() {
  byId("volume").setAttribute("aria-valuetext", volumeText());
  byId("volume-text").textContent = volumeText();
}

/**
 * Save settings and confirm it.
 * @param {Record<string, any>} values
 * @param {string} sentence
 * @param {HTMLElement} problem
 * @param {HTMLElement} field
 */
async function save(values, sentence, problem, field) {
  try {
    const response = await post("/api/settings", { values });
    applyPreferences(response.values, player);
    announce(sentence);
  } catch (error) {
    showError(problem, /** @type {Error} */ (error).message, field);
  }
}

/** Return the value of a field in words. @param {HTMLInputElement|HTMLSelectElement} field */
function settingText(field) {
  if (field.name === "volume") return `volume ${volumeText()}`;
  if (field instanceof HTMLSelectElement) {
    return `${field.labels[0].textContent}: ${field.selectedOptions[0].text}`;
  }
  return (field.labels?.[0].textContent ?? field.value).toLowerCase();
}

form.addEventListener("input", () => {
  showVolume();
  player.volume = Number(byId("volume").value);
});
form.addEventListener("change", (event) => {
  const field = /** @type {HTMLInputElement} */ (event.target);
  const value = NUMBERS.includes(field.name) ? Number(field.value) : field.value;
  save({ [field.name]: value }, `Saved: ${settingText(field)}.`, byId("problem"), field);
});
form.addEventListener("submit", (event) => event.preventDefault());

defaultsForm.addEventListener("submit", (event) => event.preventDefault());
defaultsForm.addEventListener("change", (event) => {
  const problem = byId("defaults-problem");
  if (!checkNumbers(defaultsForm, problem)) return;
  const field = /** @type {HTMLInputElement} */ (event.target);
  const value = field.type === "number" ? Number(field.value) : field.value;
  practiceOptions = { ...practiceOptions, [field.name]: value };
  const label = field.labels?.[0].textContent ?? field.name;
  save({ last_practice: practiceOptions }, `Saved: ${label} ${field.value}.`, problem, field);
});

byId("try").addEventListener("click", async () => {
  player.unlock();
  player.stop();
  try {
    await cautionConfirmed();
    const { sounds } = await post("/api/listen", TEST_OVER);
    await player.play(await player.load(sounds[0].url));
  } catch (error) {
    showFailure(byId("problem"), error);
  }
});
byId("stop-sound").addEventListener("click", () => player.stop());

/**
 * Choose a number of seconds in a select; add it if it is not listed.
 * @param {string} name
 * @param {number} seconds
 * @param {string} before words before the number of an added entry
 */
function choose(name, seconds, before) {
  const select = byId(name), value = String(seconds);
  const isListed = [...select.options].some((option) => option.value === value);
  if (!isListed) select.append(new Option(`${before}${value} seconds`, value));
  select.value = value;
}

/** Show the current settings. @param {any} values @param {any} catalogue */
function showSettings(values, catalogue) {
  byId("volume").value = String(values.volume);
  showVolume();
  for (const name of ["scheme", "speech_side"]) {
    const radio = form.querySelector(`[name=${name}][value=${values[name]}]`);
    if (radio) /** @type {HTMLInputElement} */ (radio).checked = true;
  }
  choose("auto_next_s", values.auto_next_s, "automatically after ");
  choose("speech_gap_s", values.speech_gap_s, "");
  practiceOptions = values.last_practice ?? {};
  const start = { ...catalogue.defaults, ...practiceOptions };
  for (const [option, list] of Object.entries(CHOICE_LISTS)) {
    fillSelect(byId(option), catalogue[list], start[option]);
  }
  byId("count").value = String(start.count);
}

try {
  const [{ values }, catalogue] = await Promise.all([get("/api/settings"), get("/api/choices")]);
  applyPreferences(values, player);
  showSettings(values, catalogue);
} catch (error) {
  showFailure(byId("problem"), error);
}
