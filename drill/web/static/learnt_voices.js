// @ts-check
// The voices that the recogniser of the sending drill has learnt from recordings.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { askTwiceButton } from "./ask_twice.js";
import { byId, element, paragraphs } from "./elements.js";
import { followWork, showProgress } from "./long_work.js";

const NONE = "none";

/** Show a state. @param {any} state @param {{name: string}[]} banks */
function showState(state, banks) {
  const { names, used, progress, says } = state;
  showProgress(byId("learning"), progress, `Learning ${progress.label}`);
  const select = byId("used-voice");
  select.replaceChildren(...[NONE, ...names].map((name) =>
    new Option(name, name, name === used, name === used)));
  select.closest(".field").hidden = !names.length;
  byId("learn-buttons").replaceChildren(
    ...(progress.running ? [] : banks.map(({ name }) => learnButton(name, banks))),
    ...names.map((/** @type {string} */ name) => forgetButton(name, banks)));
  byId("learnt-says").replaceChildren(...paragraphs(progress.running ? [] : says));
}

/** @param {string} name @param {{name: string}[]} banks */
function learnButton(name, banks) {
  const label = `Let the recogniser learn ${name}`;
  const button = element("button", { type: "button" }, label);
  button.addEventListener("click", () => {
    learn(name, banks).catch((error) => announce(error.message));
  });
  return button;
}

/** @param {string} name @param {{name: string}[]} banks */
function forgetButton(name, banks) {
  return askTwiceButton(`Forget ${name}`, `Forget the learnt voice ${name}`, async () => {
    showState(await post("/api/learnt-voices/forget", { name }), banks);
    announce(`The recogniser has forgotten ${name}; its recordings stay.`);
  });
}

/** @param {string} name @param {{name: string}[]} banks */
async function learn(name, banks) {
  announce(`Learning ${name}. This can take a minute.`);
  await follow(await post("/api/learnt-voices", { name }), banks);
}

/** @param {any} begun state @param {{name: string}[]} banks */
async function follow(begun, banks) {
  const show = (/** @type {any} */ state) => showState(state, banks);
  const { progress, says } = await followWork(begun, () => get("/api/learnt-voices"), show);
  if (progress.problem) throw new Error(progress.problem);
  announce(says.join(" "), { shownElsewhere: true });
}

/**
 * Show what the recogniser has learnt, and offer to let it learn. Throws FaintcallError.
 * @param {{name: string}[]} banks the voices on this computer
 */
export async function showLearntVoices(banks) {
  const state = await get("/api/learnt-voices");
  byId("learnt").hidden = !banks.length && !state.names.length;
  if (state.progress.running) await follow(state, banks);
  else showState(state, banks);
}

byId("used-voice").addEventListener("change", () => {
  const name = byId("used-voice").value;
  post("/api/learnt-voices/use", { name }).then(
    () => announce(`Saved: the page Speak recognises with ${name}.`),
    (error) => announce(error.message));
});
