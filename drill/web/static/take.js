// @ts-check
// What a take shows: its words beside those wanted, what to do, its figures.
import { el, folded, table } from "./figures.js";

const $ = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));

/** Show a review. @param {any} found */
export function showReview(found) {
  $("verdict").textContent = found.verdict;
  $("change").textContent = found.change ?? "";
  $("change").hidden = !found.change;
  const rows = found.heard.map((/** @type {any} */ one) => [
    one.wanted || "(nothing)", one.said || "(nothing)",
    el("span", { class: one.sure ? one.kind : "unsure" }, one.tells),
  ]);
  $("words-heard").replaceChildren(...rows.length
    ? [table({ caption: "Word by word", head: ["wanted", "heard", "so"], rows })] : []);
  $("findings").replaceChildren(...found.findings.map((/** @type {any} */ one) =>
    el("li", {}, el("strong", { class: one.weight.replace(" ", "-") }, `${capital(one.weight)}: `),
      `${one.says} ${one.remedy}`)));
  $("fine").hidden = found.findings.length > 0;
  $("figures").replaceChildren(...found.tables.map((/** @type {any} */ one) => folded(one, 0)));
  $("review").hidden = false;
}

/** Return a review in a sentence or two. @param {any} found */
export function inShort(found) {
  const count = found.findings.length;
  const more = count === 0 ? "Nothing to find fault with."
    : count === 1 ? `${capital(found.findings[0].weight)}: ${found.findings[0].says}`
      : `${count} findings.`;
  return `${found.verdict} ${more}`;
}

/**
 * Show a take at the far end.
 * @param {any} far
 * @param {(url: string, what: string) => void} play
 */
export function showFar(far, play) {
  const button = (/** @type {string} */ url, /** @type {string} */ who, /** @type {number} */ watts) => {
    const made = el("button", { type: "button" }, `Hear ${who} at ${watts} W`);
    made.addEventListener("click", () => play(url, `${who} at ${watts} W`));
    return made;
  };
  $("far-told").replaceChildren(
    table({
      caption: "Index of intelligibility",
      head: ["power", "SNR in 3 kHz", "you", far.operator],
      rows: far.ends.map((/** @type {any} */ end) => [
        `${end.watts} W`, `${end.snr_db.toFixed(1)} dB`,
        end.index.toFixed(2), end.reference.toFixed(2),
      ]),
    }),
    el("p", { class: "hint" }, `The index is ESTOI, 0 to 1: ${far.label}.`),
    ...far.ends.map((/** @type {any} */ end) => el("p", { class: "buttons" },
      button(end.take, "yourself", end.watts), button(end.voice, far.operator, end.watts))),
    ...far.sentences.map((/** @type {string} */ one) => el("p", {}, one)));
}

/** @param {string} text */
function capital(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}
