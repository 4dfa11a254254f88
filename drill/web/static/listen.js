// @ts-check
// Listening to conditions: one over as chosen and without one stage, with pictures and figures.
// The sound comes first; the pictures are drawn while it plays.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { cautionConfirmed } from "./caution.js";
import { byId, chart, element, paragraphs, spaced, table } from "./elements.js";
import { checkNumbers, fillSelect, numberValue, showChosenFields, showFailure } from "./forms.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";

/** @typedef {"chosen"|"without"} Variant the over as chosen, or without the stage to leave out */

const form = /** @type {HTMLFormElement} */ (byId("options"));
const problem = byId("problem");
const player = new Player();
const NO_DIFFERENCE = "These conditions do not contain it, so it sounds the same.";

/**
 * An over: the request as JSON, its response, the names of both variants, the sounds, and whether
 * the pictures were asked for.
 * @typedef {{request: string, response: any, names: string[], sounds: Record<Variant, any>,
 *   drawn: boolean}} Over
 */
/** The over that was rendered last. @type {Over|null} */
let rendered = null;
/** Seed of that over; null for a new over. */
let seed = /** @type {number|null} */ (null);
/** Number of the latest request to play; an older request stops when it sees a higher number. */
let turn = 0;

const stageName = () => byId("without").selectedOptions[0].textContent;

/** Return the form's values in the form that the server expects. */
function requestBody() {
  const data = new FormData(form);
  const strength = data.get("strength");
  const body = /** @type {Record<string, any>} */ ({
    conditions: data.get("conditions"), mix: data.get("mix"), without: [data.get("without")],
  });
  for (const name of ["fading", "filter", "processing"]) {
    if (data.get(name)) body[name] = data.get(name);
  }
  if (data.get("voices")) body.voices = [data.get("voices")];
  if (strength === "snr") body.snr_db = numberValue(byId("snr_db"));
  if (strength === "no-noise") body.snr_db = null;
  if (strength === "watts") {
    body.watts = numberValue(byId("watts"));
    body.path_snr_db = numberValue(byId("path_snr_db"));
  }
  const chosenSeed = numberValue(byId("seed")) ?? seed;
  if (chosenSeed !== null) body.seed = chosenSeed;
  return body;
}

/**
 * Return the over that the form describes; the server renders it if necessary.
 * @returns {Promise<Over>}
 */
async function currentOver() {
  const body = requestBody();
  if (rendered && rendered.request === JSON.stringify({ ...body, seed: rendered.response.seed })) {
    return rendered;
  }
  const response = await post("/api/listen", body);
  seed = response.seed;
  const [chosen, without] = await Promise.all(
    response.sounds.map((/** @type {any} */ { url }) => player.load(url)));
  rendered = {
    request: JSON.stringify({ ...body, seed }),
    response,
    names: ["As chosen", `Without ${stageName()}`],
    sounds: { chosen, without },
    drawn: false,
  };
  showOver(rendered);
  return rendered;
}

/** Render the over if necessary and play one variant of it. @param {Variant} variant */
async function play(variant) {
  const ownTurn = ++turn;
  player.unlock();
  player.stop();
  if (!checkNumbers(form, problem)) return;
  form.setAttribute("aria-busy", "true");
  try {
    await cautionConfirmed();
    const over = await currentOver();
    if (ownTurn !== turn) return;
    let whole = false;
    try {
      whole = await player.play(over.sounds[variant], () => showPictures(over));
    } finally {
      showPictures(over); // also where no sound can be played
    }
    if (whole && ownTurn === turn) announce(playedSentence(variant, over.response));
  } catch (error) {
    if (ownTurn === turn) showFailure(problem, error, form);
  } finally {
    form.removeAttribute("aria-busy");
  }
}

/** @param {Variant} variant @param {any} response */
function playedSentence(variant, { sounds: [chosen, without] }) {
  if (variant === "chosen") {
    const snr = chosen.snr_db === null ? "without noise"
      : `SNR ${chosen.snr_db.toFixed(1)} dB in 3 kHz`;
    return `That was the over as chosen, ${snr}.`;
  }
  const sentence = `That was the over without ${stageName()}.`;
  return without.same ? `${sentence} ${NO_DIFFERENCE}` : sentence;
}

/** Fetch the pictures of an over, once. @param {Over} over */
async function showPictures(over) {
  if (over.drawn) return;
  over.drawn = true;
  try {
    const { pictures } = await post("/api/listen/pictures", JSON.parse(over.request));
    if (rendered === over) drawPictures(pictures, over.names);
  } catch (error) {
    if (rendered !== over) return;
    const { message } = /** @type {Error} */ (error);
    byId("pictures").replaceChildren(element("p", { class: "hint" }, `No pictures: ${message}`));
  }
}

/** @param {any[]} pictures @param {string[]} names */
function drawPictures(pictures, names) {
  byId("pictures").replaceChildren(
    ...pictures.map((picture, index) => element("div", { class: "two wide-right" },
      element("div", {}, element("h3", {}, names[index]), ...paragraphs([picture.says])),
      chart(picture, `Picture: ${names[index]}`))));
}

/** @param {Over} over */
function showOver({ names, response: { sentence, sounds, said, fiction, tables } }) {
  byId("over").hidden = false;
  byId("description").textContent = sentence;
  byId("delivered").replaceChildren(
    ...sounds.map((/** @type {any} */ { says, same }, /** @type {number} */ index) =>
      element("li", {}, `${names[index]}: ${says}${same ? ` ${NO_DIFFERENCE}` : ""}`)));
  byId("said").replaceChildren(
    element("p", {}, `${said.operator} says: ${said.words.join(" ")}`),
    element("ul", {}, ...said.fields.map((/** @type {any} */ { name, text }) =>
      element("li", {}, `${name}: ${spaced(text)}`))),
    element("p", { class: "hint" }, `The calls are ${fiction}.`));
  byId("pictures").replaceChildren(element("p", { class: "hint" }, "The pictures are being drawn."));
  byId("figures").replaceChildren(...tables.map(table));
}

function labelWithoutButton() {
  byId("play-without").textContent = `Play without ${stageName()}`;
}

/** Fill the selects. @param {any} catalogue */
function fillForm({ conditions, fading, receivers, processing, mixes, defaults, voices }) {
  const empty = { name: "", says: "" };
  fillSelect(byId("conditions"), conditions, "plain");
  fillSelect(byId("fading"), [empty, ...fading], "");
  fillSelect(byId("filter"), [empty, ...receivers], "");
  fillSelect(byId("processing"), [empty, ...processing], "");
  fillSelect(byId("mix"), mixes, defaults.mix);
  const readyGroups = voices.groups.filter((/** @type {any} */ group) => group.ready);
  const operators = voices.operators.filter((/** @type {any} */ operator) =>
    readyGroups.some((/** @type {any} */ { name }) => name === operator.group));
  const any = { name: "", says: "Any of the operators." };
  fillSelect(byId("voices"), [any, ...operators], "", "any");
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  play("chosen");
});
byId("play-without").addEventListener("click", () => play("without"));
byId("new-over").addEventListener("click", () => {
  seed = null;
  rendered = null;
  byId("seed").value = "";
  play("chosen");
});
byId("stop-sound").addEventListener("click", () => {
  turn += 1;
  player.stop();
});
document.addEventListener("sound-waits", () => { byId("soon").hidden = false; });
document.addEventListener("sound", () => { byId("soon").hidden = true; });
byId("without").addEventListener("change", labelWithoutButton);
form.addEventListener("change", () => showChosenFields(form));
showChosenFields(form);
labelWithoutButton();

try {
  const [catalogue] = await Promise.all([get("/api/choices"), loadPreferences(player)]);
  fillForm(catalogue);
} catch (error) {
  showFailure(problem, error);
}
