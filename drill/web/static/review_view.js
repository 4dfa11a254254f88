// @ts-check
// The review of a take, and the take at the far end.
import { byId, capitalized, collapsibleTable, element, table } from "./elements.js";

/** Show a review. @param {any} review */
export function showReview({ verdict, doubt, change, words, findings, tables }) {
  byId("verdict").textContent = verdict;
  byId("voice-doubt").textContent = doubt;
  byId("voice-doubt").hidden = !doubt;
  byId("change").textContent = change ?? "";
  byId("change").hidden = !change;
  const rows = words.map((/** @type {any} */ word) => [
    word.expected || "(nothing)", word.recognised || "(nothing)",
    element("span", { class: word.sure ? word.kind : "unsure" }, word.result),
  ]);
  const caption = "Word by word";
  byId("recognised-words").replaceChildren(
    ...(rows.length ? [table({ caption, head: ["expected", "recognised", "result"], rows })] : []));
  byId("findings").replaceChildren(...findings.map(findingEntry));
  byId("no-findings").hidden = findings.length > 0;
  byId("figures").replaceChildren(
    ...tables.map((/** @type {any} */ data) => collapsibleTable(data, 0)));
  byId("review").hidden = false;
}

/** @param {any} finding */
function findingEntry({ weight, says, remedy }) {
  const label = element("strong", { class: weight.replace(" ", "-") }, `${capitalized(weight)}: `);
  return element("li", {}, label, `${says} ${remedy}`);
}

/** Return a review in a sentence or two. @param {any} review */
export function reviewSummary({ verdict, findings }) {
  if (findings.length === 0) return `${verdict} No faults found.`;
  if (findings.length > 1) return `${verdict} ${findings.length} findings.`;
  const [{ weight, says }] = findings;
  return `${verdict} ${capitalized(weight)}: ${says}`;
}

/**
 * Show a take at the far end.
 * @param {any} far
 * @param {(url: string, description: string) => void} play
 */
export function showFarEnd({ operator, label, ends, sentences, copies }, play) {
  /** @param {string} url @param {string} voice @param {number} watts */
  const button = (url, voice, watts) => {
    const result = element("button", { type: "button" }, `Play ${voice} at ${watts} W`);
    result.addEventListener("click", () => play(url, `${voice} at ${watts} W`));
    return result;
  };
  byId("far-result").replaceChildren(
    ...(copies ? copiesView(copies) : []),
    element("h3", {}, "Intelligibility"),
    table({
      caption: "Intelligibility index",
      head: ["power", "SNR in 3 kHz", "you", operator],
      rows: ends.map((/** @type {any} */ end) => [
        `${end.watts} W`, `${end.snr_db.toFixed(1)} dB`,
        end.index.toFixed(2), end.reference.toFixed(2),
      ]),
    }),
    element("p", { class: "hint" }, `The index is ESTOI, 0 to 1: ${label}.`),
    ...ends.map((/** @type {any} */ end) => element("p", { class: "buttons" },
      button(end.take, "your voice", end.watts), button(end.voice, operator, end.watts))),
    ...sentences.map((/** @type {string} */ sentence) => element("p", {}, sentence)));
}

/** Return what the recogniser copies at the far end. @param {any} copies */
function copiesView({ title, figures, table: words, sentences }) {
  return [
    element("h3", {}, title),
    ...figures.map((/** @type {string} */ figure) => element("p", {}, figure)),
    ...(words ? [table(words)] : []),
    ...sentences.map((/** @type {string} */ sentence) => element("p", { class: "hint" }, sentence)),
  ];
}
