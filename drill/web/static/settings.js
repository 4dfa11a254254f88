// @ts-check
// Settings: each is kept at once, and said.
import { get, post } from "./api.js";
import { cautioned } from "./caution.js";
import { check, filled, wrong } from "./forms.js";
import { obey } from "./prefs.js";
import { say } from "./say.js";
import { Player } from "./sound.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const form = /** @type {HTMLFormElement} */ ($("settings"));
const defaults = /** @type {HTMLFormElement} */ ($("defaults"));
const LISTS = /** @type {Record<string, string>} */ ({
  part: "parts", exchange: "exchanges", mix: "mixes", conditions: "conditions",
});
const player = new Player();

const percent = () => `${Math.round(Number($("volume").value) * 100)} per cent`;

function showVolume() {
  $("volume").setAttribute("aria-valuetext", percent());
  $("volume-now").textContent = percent();
}

/** The form of the last practice, which the next one begins with. */
let last = /** @type {Record<string, any>} */ ({});

/**
 * Keep settings and say so.
 * @param {Record<string, any>} values
 * @param {string} sentence
 * @param {HTMLElement} problem
 * @param {HTMLElement|null} field
 */
async function keep(values, sentence, problem, field) {
  try {
    const answer = await post("/api/settings", { values });
    obey(answer.values, player);
    say(sentence);
  } catch (error) {
    wrong(problem, /** @type {Error} */ (error).message, field);
  }
}

/** @param {HTMLInputElement|HTMLSelectElement} field */
function words(field) {
  if (field.name === "volume") return `volume ${percent()}`;
  if (field.name === "auto_next_s") {
    return `the next item comes ${/** @type {HTMLSelectElement} */ (field).selectedOptions[0].text}`;
  }
  return (field.labels?.[0].textContent ?? field.value).toLowerCase();
}

form.addEventListener("input", () => {
  showVolume();
  player.volume = Number($("volume").value);
});
form.addEventListener("change", (event) => {
  const field = /** @type {HTMLInputElement} */ (event.target);
  const number = field.name === "volume" || field.name === "auto_next_s";
  keep({ [field.name]: number ? Number(field.value) : field.value }, `Kept: ${words(field)}.`,
    $("problem"), field);
});
form.addEventListener("submit", (event) => event.preventDefault());
defaults.addEventListener("submit", (event) => event.preventDefault());
defaults.addEventListener("change", (event) => {
  if (!check(defaults, $("new-problem"))) return;
  const field = /** @type {HTMLInputElement} */ (event.target);
  last = { ...last, [field.name]: field.type === "number" ? Number(field.value) : field.value };
  const name = field.labels?.[0].textContent ?? field.name;
  keep({ last_practice: last }, `Kept: ${name} ${field.value}.`, $("new-problem"), field);
});

$("try").addEventListener("click", async () => {
  player.unlock();
  player.stop();
  try {
    await cautioned();
    const made = await post("/api/listen", { conditions: "plain", snr_db: 20, seed: 7, without: [] });
    await player.play(await player.load(made.sounds[0].url));
  } catch (error) {
    wrong($("problem"), /** @type {Error} */ (error).message, null);
  }
});
$("stop").addEventListener("click", () => player.stop());

/** Put the settings as they are into the forms. @param {any} values @param {any} choices */
function show(values, choices) {
  $("volume").value = String(values.volume);
  showVolume();
  for (const name of ["scheme", "speech_side"]) {
    const chosen = form.querySelector(`[name=${name}][value=${values[name]}]`);
    if (chosen) /** @type {HTMLInputElement} */ (chosen).checked = true;
  }
  const pause = String(values.auto_next_s);
  if (![...$("auto_next_s").options].some((one) => one.value === pause)) {
    $("auto_next_s").append(new Option(`by itself after ${pause} seconds`, pause));
  }
  $("auto_next_s").value = pause;
  last = values.last_practice ?? {};
  const form_ = { ...choices.defaults, ...last };
  for (const [name, list] of Object.entries(LISTS)) filled($(name), choices[list], form_[name]);
  $("count").value = String(form_.count);
}

try {
  const [{ values }, choices] = await Promise.all([get("/api/settings"), get("/api/choices")]);
  obey(values, player);
  show(values, choices);
} catch (error) {
  wrong($("problem"), /** @type {Error} */ (error).message, null);
}
