// @ts-check
// The studio voices: what they add, and a button that adds them, with progress.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { byId, paragraphs } from "./elements.js";
import { showError, showFailure } from "./forms.js";

const POLL_MS = 1000;
const ACTS = /** @type {Record<string, string>} */ ({
  add: "Add the studio voices", measure: "Measure this computer",
});

/** Show the state; return whether something is under way. @param {any} state */
function showState(state) {
  byId("studio-says").replaceChildren(...paragraphs(state.says));
  const button = byId("studio-add");
  button.textContent = ACTS[state.act] ?? "";
  button.hidden = !state.act;
  button.disabled = state.running;
  byId("studio-agree").hidden = !state.shared;
  byId("studio-progress").hidden = !state.running;
  byId("studio-progress-text").textContent = state.progress;
  const bar = byId("studio-bar");
  if (state.done === null) bar.removeAttribute("value");
  else bar.value = state.done;
  if (state.problem) showError(byId("studio-problem"), state.problem);
  return state.running;
}

/** Show the state until nothing is under way. @param {any} state */
async function follow(state) {
  while (showState(state)) {
    await new Promise((resolve) => setTimeout(resolve, POLL_MS));
    state = await get("/api/studio");
  }
  if (!state.problem) announce(state.says.at(-1));
}

byId("studio-add").addEventListener("click", async () => {
  byId("studio-problem").hidden = true;
  announce("Adding the studio voices.");
  try {
    await follow(await post("/api/studio", { allow_shared: byId("studio-allow").checked }));
  } catch (error) {
    showFailure(byId("studio-problem"), error);
  }
});

try {
  const state = await get("/api/studio");
  if (state.running) await follow(state);
  else showState(state);
} catch (error) {
  showFailure(byId("studio-problem"), error);
}
