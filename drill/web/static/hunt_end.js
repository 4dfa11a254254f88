// @ts-check
// The end of a hunt: outcome of the contacts, advice, time spent, and replay of sounds.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { dialPicture } from "./dial_picture.js";
import { listenForClub } from "./hunt_club.js";
import { asSpoken, byId, collapsibleTable, element, paragraphs } from "./elements.js";
import { lampString, withMinus } from "./pictures.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";

/** Smallest share of the time that is drawn; the table has all. */
const LEAST_SHARE = 0.02;
/** Largest number of lamps on the wire. */
const MOST_LAMPS = 60;

const player = new Player();
const identity = new URLSearchParams(location.search).get("hunt") ?? "";
const address = `/api/hunts/${encodeURIComponent(identity)}`;

/** @param {string} url */
async function play(url) {
  player.unlock();
  try {
    await player.play(await player.load(url));
  } catch (error) {
    announce(/** @type {Error} */ (error).message);
  }
}

/** @param {string} url @param {string} text @param {string} name */
function playButton(url, text, name) {
  const button = element("button", { type: "button", class: "play", "aria-label": name }, text);
  button.addEventListener("click", () => play(url));
  return button;
}

/** @param {any} over @param {number} number */
function overEntry({ at, who, text, heard, noise, clean }, number) {
  const name = `${number}, ${at}`;
  const result = element("li", {},
    element("span", { class: "soft" }, `${at} ${who}: `),
    element("b", { class: "quoted" }, text ? `“${asSpoken(text)}”` : "by microphone"));
  if (heard !== null) result.append(` They made out: ${heard || "nothing"}.`);
  if (noise) result.append(" ", playButton(noise, "as it was", `${name}, as it was`));
  if (clean) result.append(" ", playButton(clean, "clean", `${name}, clean`));
  return result;
}

/** Return a contact that was lost; its overs are fetched when it is opened. @param {any} lost */
function lostEntry({ contact, call, what }) {
  const list = element("ol", {});
  const result = element("details", {}, element("summary", {}, `${call}: ${what}`), list);
  result.addEventListener("toggle", async () => {
    if (list.children.length || !(/** @type {HTMLDetailsElement} */ (result).open)) return;
    list.append(element("li", { class: "soft" }, "The hunt is being replayed."));
    try {
      const { overs } = await get(`${address}/contacts/${contact}/overs`);
      list.replaceChildren(...overs.map((/** @type {any} */ over, /** @type {number} */ index) =>
        overEntry(over, index + 1)));
    } catch (error) {
      list.replaceChildren();
      announce(/** @type {Error} */ (error).message);
    }
  });
  return result;
}

/** @param {any} advice */
function adviceEntry({ sentence, figures }) {
  return element("li", {}, sentence, element("span", { class: "hint" }, figures));
}

/** @param {any} time @param {number} total seconds of all */
function timeEntry({ name, seconds, kind }, total) {
  const text = seconds < 90 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;
  const result = element("li", kind ? { class: kind } : {},
    element("b", {}, text), element("span", {}, name));
  result.style.setProperty("--w", String(seconds / total));
  return result;
}

/** Show what Enter does. @param {any} end */
function offer({ lost }) {
  byId("go-text").textContent = !lost.length ? "Another hunt"
    : lost.length === 1 ? "Hear the lost one" : `Hear the ${lost.length} lost`;
  byId("go").addEventListener("click", () => {
    if (!lost.length) {
      location.href = "/hunt";
      return;
    }
    const first = /** @type {HTMLDetailsElement} */ (byId("lost").querySelector("details"));
    first.open = true;
    first.querySelector("summary")?.focus();
    first.scrollIntoView({ block: "nearest" });
  });
  byId("go").hidden = false;
  byId("go").focus();
}

/** Return everything in words. @param {any} end */
function details({ lead, advice, times, dial, sentences }) {
  const spent = times.map((/** @type {any} */ { name, seconds }) => {
    const minutes = Math.round(seconds / 60);
    return `${name} ${minutes} ${minutes === 1 ? "minute" : "minutes"}`;
  }).join(", ");
  return [lead, ...advice.map((/** @type {any} */ { sentence, figures }) => `${sentence} ${figures}`),
    `${spent}.`, dial.says, ...sentences].join(" ");
}

/** @param {any} end */
function showEnd(end) {
  const title = byId("title");
  title.classList.add("fig");
  title.replaceChildren(end.figure,
    element("span", { class: "screen-reader-only" }, ` ${end.after}`));
  document.title = `${end.figure} ${end.after} - faintcall`;
  byId("lead").textContent = end.lead;
  if (end.lamps.length > 1 && end.lamps.length <= MOST_LAMPS) {
    byId("lamps").replaceChildren(lampString(end.lamps));
  }
  byId("advice").replaceChildren(...end.advice.map(adviceEntry));
  byId("no-advice").textContent = end.no_advice;
  byId("no-advice").hidden = end.advice.length > 0;
  byId("lost").replaceChildren(...end.lost.map(lostEntry));
  byId("lost-part").hidden = !end.lost.length;
  const total = end.times.reduce((/** @type {number} */ sum, /** @type {any} */ part) =>
    sum + part.seconds, 0);
  const times = end.times.filter((/** @type {any} */ part) =>
    part.seconds >= LEAST_SHARE * total);
  byId("times").replaceChildren(
    ...times.map((/** @type {any} */ part) => timeEntry(part, total)));
  byId("times-table").replaceChildren(collapsibleTable(end.tables.times, 0));
  byId("dial").replaceChildren(dialPicture(end.dial));
  byId("dial-tables").replaceChildren(collapsibleTable(end.tables.contacts, 0),
    collapsibleTable(end.tables.quarters, 0));
  byId("sentences").replaceChildren(...paragraphs(end.sentences.map(withMinus)));
  byId("choices").replaceChildren(collapsibleTable(end.tables.stops, 0));
  byId("content").hidden = false;
  listenForClub();
  byId("details").addEventListener("click", () => announce(details(end), { shownElsewhere: true }));
  byId("details").hidden = false;
  offer(end);
}

try {
  await loadPreferences(player);
  showEnd(await get(`${address}/end`));
} catch (error) {
  byId("title").textContent = "There is no finished hunt to show";
  byId("lead").textContent = /** @type {Error} */ (error).message;
}
