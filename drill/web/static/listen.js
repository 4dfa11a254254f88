// @ts-check
// Listening to conditions: one over as asked and without one stage, its pictures and figures.
import { get, post } from "./api.js";
import { cautioned } from "./caution.js";
import { apart, chart, el, paragraphs, table } from "./figures.js";
import { check, filled, numberIn, wrong } from "./forms.js";
import { prepared } from "./prefs.js";
import { say } from "./say.js";
import { Player } from "./sound.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const form = /** @type {HTMLFormElement} */ ($("choices"));
const problem = $("problem");
const player = new Player();

/** The answer of the server to what was last asked, and what that was. */
let held = /** @type {{asked: string, answer: any, sounds: Map<string, any>}|null} */ (null);
/** The seed of the over at hand; null: the next is a new one. */
let seed = /** @type {number|null} */ (null);

const words = () => $("without").selectedOptions[0].textContent;

/** Return the choices as the server takes them. */
function asked() {
  const data = new FormData(form);
  const strength = data.get("strength");
  const body = /** @type {Record<string, any>} */ ({
    conditions: data.get("conditions"), mix: data.get("mix"), without: [data.get("without")],
  });
  for (const name of ["fading", "filter", "processing"]) {
    if (data.get(name)) body[name] = data.get(name);
  }
  if (data.get("voice")) body.voices = [data.get("voice")];
  if (strength === "snr") body.snr_db = numberIn($("snr_db"));
  if (strength === "none") body.snr_db = null;
  if (strength === "watts") {
    body.watts = numberIn($("watts"));
    body.path_snr_db = numberIn($("path_snr_db"));
  }
  const fixed = numberIn($("seed"));
  if (fixed !== null) body.seed = fixed;
  else if (seed !== null) body.seed = seed;
  return body;
}

/** Return the over that the form asks for, made by the server where it is not at hand. */
async function over() {
  const body = asked();
  if (held && held.asked === JSON.stringify({ ...body, seed: held.answer.seed })) return held;
  const answer = await post("/api/listen", body);
  seed = answer.seed;
  const loaded = await Promise.all(answer.sounds.map((/** @type {any} */ one) =>
    player.load(one.url)));
  held = {
    asked: JSON.stringify({ ...body, seed }), answer,
    sounds: new Map(answer.sounds.map((/** @type {any} */ one, /** @type {number} */ n) =>
      [n ? "without" : "asked", loaded[n]])),
  };
  show(answer);
  return held;
}

let turn = 0;

/**
 * Make the over where need be and play one of its sounds.
 * @param {"asked"|"without"} which
 */
async function hear(which) {
  const mine = ++turn;
  player.unlock();
  player.stop();
  if (!check(form, problem)) return;
  form.setAttribute("aria-busy", "true");
  try {
    await cautioned();
    const found = await over();
    if (mine !== turn) return;
    const whole = await player.play(found.sounds.get(which));
    if (whole && mine === turn) say(after(which, found.answer));
  } catch (error) {
    if (mine === turn) wrong(problem, /** @type {Error} */ (error).message, null);
  } finally {
    form.removeAttribute("aria-busy");
  }
}

/** @param {"asked"|"without"} which @param {any} answer */
function after(which, answer) {
  if (which === "asked") return `That was it as asked. ${answer.sounds[0].says.split(";")[0]}.`;
  if (answer.sounds[1].same) {
    return `That was it without ${words()}: the same, since these conditions have none.`;
  }
  return `That was it without ${words()}.`;
}

/** @param {any} answer */
function show(answer) {
  const names = [ "As asked", `Without ${words()}` ];
  $("heard").hidden = false;
  $("sentence").textContent = answer.sentence;
  $("delivered").replaceChildren(...answer.sounds.map((/** @type {any} */ one, /** @type {number} */ n) =>
    el("li", {}, `${names[n]}: ${one.says}`
      + (one.same ? " These conditions have none: it sounds the same." : ""))));
  $("said").replaceChildren(
    el("p", {}, `${answer.said.operator} says: ${answer.said.words.join(" ")}`),
    el("ul", {}, ...answer.said.fields.map((/** @type {any} */ field) =>
      el("li", {}, `${field.name}: ${apart(field.text)}`))),
    el("p", { class: "hint" }, `The calls are ${answer.fiction}.`));
  $("pictures").replaceChildren(...answer.pictures.flatMap(
    (/** @type {any} */ picture, /** @type {number} */ n) => [
      el("h3", {}, names[n]),
      chart(picture, `Picture: ${names[n]}`),
      ...paragraphs([picture.says]),
    ]));
  $("figures").replaceChildren(...answer.tables.map(table));
}

function strengthChosen() {
  const chosen = new FormData(form).get("strength");
  for (const field of form.querySelectorAll("[data-for]")) {
    /** @type {HTMLElement} */ (field).hidden = field.getAttribute("data-for") !== chosen;
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  hear("asked");
});
$("without-it").addEventListener("click", () => hear("without"));
$("another").addEventListener("click", () => {
  seed = null;
  held = null;
  $("seed").value = "";
  hear("asked");
});
$("stop").addEventListener("click", () => {
  turn += 1;
  player.stop();
});
$("without").addEventListener("change", () => {
  $("without-it").textContent = `Hear it without ${words()}`;
});
form.addEventListener("change", strengthChosen);
strengthChosen();
$("without-it").textContent = `Hear it without ${words()}`;

/** Fill the lists. @param {any} choices */
function offer(choices) {
  const asTheSet = { name: "", says: "" };
  filled($("conditions"), choices.conditions, "plain");
  filled($("fading"), [asTheSet, ...choices.fading], "");
  filled($("filter"), [asTheSet, ...choices.receivers], "");
  filled($("processing"), [asTheSet, ...choices.processing], "");
  filled($("mix"), choices.mixes, choices.defaults.mix);
  const ready = choices.voices.groups.filter((/** @type {any} */ one) => one.ready);
  filled($("voice"), [{ name: "", says: "Any of the operators." },
    ...choices.voices.operators.filter((/** @type {any} */ one) =>
      ready.some((/** @type {any} */ group) => group.name === one.group))], "", "anyone");
}

try {
  const [choices] = await Promise.all([get("/api/choices"), prepared(player)]);
  offer(choices);
} catch (error) {
  wrong(problem, /** @type {Error} */ (error).message, null);
}
