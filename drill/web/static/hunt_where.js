// @ts-check
// The answer to i in a hunt: time, frequency, level, ear, log line and keys in words.
import { spaced } from "./elements.js";
import { khzText } from "./hunt_dial.js";
import { allHuntKeys, sensibleKeys } from "./hunt_line.js";
import { earSentence, levelText, timeLeft } from "./hunt_view.js";

/**
 * Return where the trainee is.
 * @param {import("./hunt_view.js").HuntView} view
 * @param {string} spoken about the last over by microphone, "" before the first
 */
export function whereSentence(view, spoken) {
  const { state, sends } = view, { call, exchange } = state.entry;
  const isStopped = view.phase === "ready";
  const keys = (isStopped ? sensibleKeys(state, { isStopped, sends }) : allHuntKeys())
    .map(([key, label]) => `${key === "." ? "full stop" : key}: ${label}`);
  return `${timeLeft(view)}. You are at ${khzText(view.hz)} kHz. Level: ${levelText(view.levelDb)}. `
    + `${earSentence(view)} Your log line: ${call ? spaced(call) : "no call"}, `
    + `${exchange ? spaced(exchange) : "no exchange"}. ${state.pad.length} on the pad. `
    + `${spoken ? `Your last over by microphone: ${spoken} ` : ""}${keys.join(", ")}. `
    + "Arrows up and down tune by 100 hertz, with Shift by 10."
    + `${isStopped ? "" : " The clock is stopped while this is read, until you type or tune."}`;
}
