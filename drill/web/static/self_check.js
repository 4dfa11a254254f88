// @ts-check
// The self-check: measures the channel, with progress, and can be cancelled and continued.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { byId, paragraphs, table } from "./elements.js";
import { showFailure } from "./forms.js";
import { followWork, showProgress } from "./long_work.js";

const problem = byId("self-check-problem");

/** @param {any} state */
function showState(state) {
  const { progress, table: data, says, complete, can_continue: canContinue } = state;
  showProgress(byId("self-check-progress"), progress, "Checks");
  byId("cancel-self-check").hidden = !progress.running;
  byId("start-self-check").hidden = progress.running;
  byId("start-self-check").textContent =
    canContinue ? "Continue" : complete ? "Measure again" : "Measure now";
  byId("self-check-result").replaceChildren(
    ...(says ? paragraphs([says]) : []), ...(data ? [table({ ...data, stacks: true })] : []));
}

/** @param {any} begun state */
async function follow(begun) {
  const state = await followWork(begun, () => get("/api/selfcheck"), showState);
  byId("start-self-check").focus();
  if (state.progress.problem) throw new Error(state.progress.problem);
  announce(state.complete ? state.says : `Cancelled. ${state.says}`, { shownElsewhere: true });
}

/** @param {() => Promise<void>} task */
function run(task) {
  task().catch((error) => showFailure(problem, error));
}

byId("start-self-check").addEventListener("click", () => run(async () => {
  announce("Measuring.");
  const begun = await post("/api/selfcheck", {});
  showState(begun);
  byId("cancel-self-check").focus();
  await follow(begun);
}));
byId("cancel-self-check").addEventListener("click", () => run(async () => {
  await post("/api/selfcheck/cancel", {});
}));

run(async () => {
  const state = await get("/api/selfcheck");
  if (state.progress.running) await follow(state);
  else showState(state);
});
