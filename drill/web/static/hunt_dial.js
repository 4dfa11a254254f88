// @ts-check
// The dial of a hunt: its words, its limits, and its picture. The words are the same in the
// terminal (drill/hunt/dial_words.py).
import { Picture, scale, ticks } from "./pictures.js";

/** @typedef {{low_hz: number, high_hz: number}} BandRange */

/** Step of the dial. */
const STEP_HZ = 10;
/** The dial can be turned this far beyond a band. */
const MARGIN_HZ = 5000;
const ARROW_HZ = 100, FINE_HZ = 10;
const WORDS = /^(up|down|to)(?:\s+(.*))?$/i;
const NUMBER = /^\d{1,6}(?:[.,]\d{1,3})?$/;
/** A number after "to" below this is in MHz. */
const LOWEST_KHZ = 100;
const CLOSE_PERCENT = 3;
const EXAMPLES = "Examples: up 2, down 0.5, to 14208.";

/** Return a frequency in kHz, such as 14 212.4. @param {number} hz */
export function khzText(hz) {
  const tens = Math.round(hz / STEP_HZ), khz = Math.floor(tens / 100), rest = tens % 100;
  const digits = rest % 10 ? String(rest).padStart(2, "0") : String(rest / 10);
  return `${Math.floor(khz / 1000)}\u00a0${String(khz % 1000).padStart(3, "0")}.${digits}`;
}

/** Return the band that a frequency is on, undefined for none. @param {BandRange[]} bands @param {number} hz */
function bandOf(bands, hz) {
  return bands.find(({ low_hz: low, high_hz: high }) =>
    low - MARGIN_HZ <= hz && hz <= high + MARGIN_HZ);
}

/** Return the turn that a key asks for, 0 for none. @param {KeyboardEvent} event */
export function turnBy({ key, shiftKey, ctrlKey, altKey, metaKey }) {
  const way = { ArrowUp: 1, ArrowDown: -1 }[key];
  if (!way || ctrlKey || altKey || metaKey) return 0;
  return way * (shiftKey ? FINE_HZ : ARROW_HZ);
}

/**
 * Return the frequency after a turn by some steps; it stays within reach of its band.
 * @param {BandRange[]} bands @param {number} hz @param {number} byHz
 */
export function turned(bands, hz, byHz) {
  const band = bandOf(bands, hz) ?? bands[0];
  const wanted = STEP_HZ * Math.round((hz + byHz) / STEP_HZ);
  return Math.min(band.high_hz + MARGIN_HZ, Math.max(band.low_hz - MARGIN_HZ, wanted));
}

/**
 * Return where a line turns the dial: a frequency or a problem; null if the line is not about the dial.
 * @param {string} line @param {BandRange[]} bands @param {number} hz the present frequency
 * @returns {{hz: number, problem: string}|null}
 */
export function readDial(line, bands, hz) {
  const match = WORDS.exec(line.trim());
  if (!match) return null;
  const word = match[1].toLowerCase(), text = (match[2] ?? "").trim();
  if (!NUMBER.test(text)) {
    const problem = text ? `${text} is not a number of kHz.` : `Type kilohertz after ${word}.`;
    return { hz, problem: `${problem} ${EXAMPLES}` };
  }
  const number = Number(text.replace(",", "."));
  const khz = word === "to" && number < LOWEST_KHZ ? 1000 * number : number;
  const wanted = { up: hz + 1000 * khz, down: hz - 1000 * khz, to: 1000 * khz }[word] ?? hz;
  const rounded = STEP_HZ * Math.round(wanted / STEP_HZ);
  if (bandOf(bands, rounded)) return { hz: rounded, problem: "" };
  const ranges = bands.map((band) => `${khzText(band.low_hz)} to ${khzText(band.high_hz)}`);
  return { hz, problem: `${khzText(rounded)} kHz is not on a band: ${ranges.join(", ")} kHz.` };
}

/**
 * Return the picture of the present band: the trainee's own marks, contacts and place.
 * @param {{bands: BandRange[], marks: {hz: number, text: string}[], pad: any[]}} state
 * @param {number} hz
 */
export function dialPicture({ bands, marks, pad }, hz) {
  const band = bandOf(bands, hz) ?? bands[0];
  const isHere = (/** @type {{hz: number}} */ entry) => bandOf([band], entry.hz);
  const here = pad.filter(isHere), marked = marks.filter(isHere);
  const low = band.low_hz - MARGIN_HZ, high = band.high_hz + MARGIN_HZ;
  const picture = new Picture("dial", dialSentence(band, hz, here, marked));
  const x = scale([low, high], [0, 100]);
  picture.path("k-axis", "M0 62H100");
  for (const khz of ticks(low / 1000, high / 1000, 8)) {
    picture.path("k-axis thin", `M${x(1000 * khz)} 62V70`);
  }
  for (const khz of ticks(low / 1000, high / 1000, 4)) {
    picture.path("k-axis", `M${x(1000 * khz)} 62V78`);
    const text = khzText(1000 * khz).replace(/\.0$/, "");
    const at = x(1000 * khz), side = at > 95 ? " end" : at < 5 ? " begin" : "";
    picture.text(text, at, 92, `soft${side}`);
  }
  for (const group of neighbours(here.map((line) => ({ x: x(line.hz), text: `${line.number}` })))) {
    picture.path("k-sea", group.map((entry) => `M${entry.x} 62V42`).join(""));
    picture.text(group.map(({ text }) => text).join(" "), group[0].x, 33, "calls");
  }
  marked.forEach(({ hz: mark, text }, index) => {
    picture.path("k-dash", `M${x(mark)} 62V${index % 2 ? 12 : 26}`);
    const side = x(mark) > 70 ? "end" : x(mark) < 30 ? "begin" : "";
    picture.text(text || "marked", x(mark), index % 2 ? 5 : 19, `mark ${side}`);
  });
  picture.dot(x(hz), 62, "you");
  return picture.frame;
}

/**
 * Return labels in groups that stand so close that they would overlap, from left to right.
 * @param {{x: number, text: string}[]} labels
 */
function neighbours(labels) {
  /** @type {{x: number, text: string}[][]} */ const groups = [];
  for (const label of labels.sort((left, right) => left.x - right.x)) {
    const last = groups.at(-1);
    if (last && label.x - last[0].x < CLOSE_PERCENT) last.push(label);
    else groups.push([label]);
  }
  return groups;
}

/** @param {BandRange} band @param {number} hz @param {any[]} contacts @param {any[]} marks */
function dialSentence(band, hz, contacts, marks) {
  const places = (/** @type {any[]} */ list) => list.map((entry) => khzText(entry.hz)).join(", ");
  return `The dial from ${khzText(band.low_hz)} to ${khzText(band.high_hz)} kHz. You are at `
    + `${khzText(hz)}. Your contacts: ${contacts.length ? places(contacts) : "none"}. Your marks: `
    + `${marks.length ? marks.map(({ hz: at, text }) => `${khzText(at)} ${text}`).join(", ") : "none"}.`;
}
