// @ts-check
// The words of an answered item as received: a strip of words with their levels, and a list.
import { element } from "./elements.js";

/**
 * @typedef {{
 *   say: string, means: string, start_s: number, end_s: number, missed: boolean,
 *   typed: string|null, line: string,
 * }} Word
 * @typedef {{words: Word[], step_s: number, voice_db: number[], rest_db: number[]}} Heard
 */

const SVG = "http://www.w3.org/2000/svg";
/** Levels that are drawn with no height and with full height, in dB. */
const LOWEST_DB = -30;
const HIGHEST_DB = 12;

/** Return the drawn height of a level, 0 to 1. @param {number} db */
function height(db) {
  return Math.min(1, Math.max(0, (db - LOWEST_DB) / (HIGHEST_DB - LOWEST_DB)));
}

/**
 * Return a drawing of the levels during a word: the voice over the noise.
 * @param {Heard} heard
 * @param {Word} word
 */
function levels(heard, word) {
  const first = Math.round(word.start_s / heard.step_s);
  const last = Math.max(first + 1, Math.round(word.end_s / heard.step_s));
  const drawing = document.createElementNS(SVG, "svg");
  drawing.setAttribute("viewBox", `0 0 ${last - first} 1`);
  drawing.setAttribute("preserveAspectRatio", "none");
  drawing.setAttribute("aria-hidden", "true");
  const bar = (/** @type {string} */ kind, /** @type {number} */ place, /** @type {number} */ db) => {
    const rect = document.createElementNS(SVG, "rect");
    const part = height(db);
    const values = { x: place, y: (1 - part) / 2, width: kind === "rest" ? 1.02 : 0.6, height: part };
    for (const [name, value] of Object.entries(values)) rect.setAttribute(name, String(value));
    rect.setAttribute("class", kind);
    drawing.append(rect);
  };
  for (let step = first; step < last; step += 1) bar("rest", step - first, heard.rest_db[step] ?? -60);
  for (let step = first; step < last; step += 1) {
    const voice = heard.voice_db[step] ?? -60;
    bar(voice > (heard.rest_db[step] ?? -60) ? "above" : "below", step - first + 0.2, voice);
  }
  return drawing;
}

/** Return what was typed for a missed word, for its name. @param {Word} word */
function typedText({ typed }) {
  if (typed === null) return "";
  return typed ? `, you typed ${typed}` : ", you typed nothing";
}

/** Return what was typed for a word, below it. @param {Word} word */
function typedSign({ typed, missed }) {
  if (typed === null) return "\u00a0";
  return typed || (missed ? "\u2013" : "\u00a0");
}

/**
 * Return the strip of words, and a list with the same content.
 * @param {Heard} heard
 * @param {(number: number) => void} play plays one word; number from 1
 */
export function heardWords(heard, play) {
  const wrong = heard.words.some(({ missed, typed }) => missed && typed !== null);
  const blank = wrong && heard.words.some(({ missed, typed }) => missed && typed === "");
  const columns = heard.words.map((word, index) => {
    const missed = word.missed ? `, missed${typedText(word)}` : "";
    const means = word.means ? `${word.means}, ` : "";
    const button = element("button", {
      type: "button", class: "heard-word",
      "aria-label": `${index + 1}. ${means}${word.say}${missed}: play it alone`,
    }, element("span", { class: "calls" }, word.means || "\u00a0"),
    element("span", { class: "say-it" }, word.say), levels(heard, word),
    ...(wrong ? [element("span", { class: "typed calls" }, typedSign(word))] : []));
    button.addEventListener("click", () => play(index + 1));
    const column = element("li", { class: word.missed ? "missed" : "" }, button);
    column.style.setProperty("--seconds", String(word.end_s - word.start_s));
    return column;
  });
  const lines = heard.words.map((word) => element("li", {}, word.line.replace(/^\d+\. /, "")));
  return element("div", {},
    element("ol", { class: "strip", "aria-label": "The words as they were said" }, ...columns),
    element("p", { class: "hint strip-key" },
      element("span", { class: "key-above" }, "voice above the noise"),
      element("span", { class: "key-below" }, "voice below the noise"),
      element("span", { class: "key-rest" }, "noise"),
      ...(blank ? ["\u2013 nothing typed"] : [])),
    element("details", {}, element("summary", {}, "The same as a list"),
      element("ol", {}, ...lines)));
}
