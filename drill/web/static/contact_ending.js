// @ts-check
// The end of a contact: both logs, what was said and heard, where the time went.
import { asSpoken, byId, element, spaced } from "./elements.js";

/** @typedef {(url: string) => void} PlaySound */

/** Return text in which errors are marked. @param {{text: string, wrong: boolean}[]} parts */
function marked(parts) {
  return parts.map(({ text, wrong }) => (wrong ? element("mark", {}, asSpoken(text)) : asSpoken(text)));
}

/** @param {{text: string, wrong: boolean}[]} parts */
function entry(parts) {
  if (!parts.length) return element("dd", { class: "nothing" }, "nothing");
  const wrong = parts.some((part) => part.wrong);
  return element("dd", {}, ...marked(parts),
    ...(wrong ? [element("span", { class: "screen-reader-only" }, " wrong")] : []));
}

/** @param {string} id @param {string} title @param {any[]} rows @param {"mine"|"theirs"} side */
function slip(id, title, rows, side) {
  return element("section", { "aria-labelledby": id }, element("h2", { id }, title),
    element("dl", {}, ...rows.map((row) =>
      element("div", {}, element("dt", {}, row.label), entry(row[side])))));
}

/** @param {string} url @param {string} label @param {string} name @param {PlaySound} play */
function playButton(url, label, name, play) {
  const button = element("button", { type: "button", class: "play", "aria-label": name }, label);
  button.addEventListener("click", () => play(url));
  return button;
}

/** @param {any} over @param {number} number @param {PlaySound} play */
function overEntry(over, number, play) {
  const mine = over.who === "you";
  const noisy = mine ? "as they heard it" : "as it was";
  const when = element("span", { class: "when" }, `${number}. ${over.at} ${over.who}`);
  const text = over.text ? ["“", ...marked(over.parts), "”"] : ["by microphone"];
  const words = element("span", { class: "words" }, when,
    element("b", { class: "quoted" }, ...text));
  if (mine) {
    words.append(element("span", { class: "made-out" },
      `They made out: ${over.heard || "nothing"}`));
  }
  if (!over.audible && !mine) {
    words.append(element("span", { class: "made-out" }, "You could not hear it."));
  }
  words.append(element("span", { class: "plays" },
    playButton(over.noise, noisy, `${number}, ${over.at}, ${noisy}`, play),
    playButton(over.clean, "clean", `${number}, ${over.at}, clean`, play)));
  const result = element("li", { class: mine ? "mine" : "heard" },
    element("i", { class: "bar" }), words);
  result.style.setProperty("--s", String(over.seconds));
  return result;
}

/** @param {any} part @param {number} total */
function spentPart({ name, seconds, dear }, total) {
  const kind = dear ? "dear" : name === "exchange" ? "earns" : "";
  const result = element("li", kind ? { class: kind } : {},
    element("b", {}, `${Math.round(seconds)} s`), element("span", {}, name));
  result.style.setProperty("--w", String(seconds / total));
  return result;
}

/** Show how a contact ended. @param {any} ending @param {PlaySound} play */
export function showEnding(ending, play) {
  byId("title").textContent = ending.heading;
  byId("told").textContent = ending.told;
  byId("told").hidden = !ending.told;
  byId("slips").replaceChildren(slip("mine", "In your log", ending.slips, "mine"),
    slip("theirs", "In their log", ending.slips, "theirs"));
  byId("overs").replaceChildren(
    ...ending.overs.map((/** @type {any} */ over, /** @type {number} */ index) =>
      overEntry(over, index + 1, play)));
  byId("time-title").textContent = ending.time;
  const spent = ending.spent.filter((/** @type {any} */ part) => part.seconds >= 0.5);
  const total = spent.reduce((/** @type {number} */ sum, /** @type {any} */ part) =>
    sum + part.seconds, 0);
  byId("spent").replaceChildren(...spent.map((/** @type {any} */ part) => spentPart(part, total)));
  byId("path").textContent = [ending.truth, ending.path].filter(Boolean).join(" ");
}

/** @param {any[]} rows @param {"mine"|"theirs"} side */
function spokenSlip(rows, side) {
  return rows.map((row) => {
    const text = row[side].map((/** @type {any} */ part) => part.text).join("");
    return `${row.label} ${text ? spaced(text) : "nothing"}`;
  }).join(", ");
}

/** Return the details of a finished contact, to be read aloud. @param {any} ending */
export function endingDetails({ slips, truth, time, path, overs }) {
  const said = overs.map((/** @type {any} */ over, /** @type {number} */ index) =>
    `${index + 1}, ${over.at} ${over.who}: ${asSpoken(over.text) || "by microphone"}.`
    + (over.who === "you" ? ` They made out: ${over.heard || "nothing"}.` : ""));
  return [`In your log: ${spokenSlip(slips, "mine")}.`,
    `In their log: ${spokenSlip(slips, "theirs")}.`, truth, `${time}.`, path, ...said]
    .filter(Boolean).join(" ");
}
