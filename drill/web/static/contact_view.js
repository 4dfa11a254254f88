// @ts-check
// What a contact in progress shows: the status line, the score, what Enter does, the keys.
import { OTHERS, SAYINGS, readLine, sensibleSayings } from "./contact_line.js";
import { asSpoken, byId, element } from "./elements.js";

/**
 * ready: the clock has not started; running: time passes; recording: the microphone is open;
 * comparing: the contact is over, the server compares the logs; ended: both are shown. starts: an over of the trainee begins that the server has yet to
 * speak.
 * @typedef {"ready"|"running"|"recording"|"comparing"|"ended"} Phase
 * @typedef {{
 *   phase: Phase, live: any, session: any, sounding: boolean, seconds: number, finished: boolean,
 *   starts: boolean,
 * }} View
 */

/** Return minutes and seconds, such as 0:08. @param {number} seconds */
export function clockText(seconds) {
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

/** Show the progress: one dot per station. @param {any} session @param {number} present */
export function showLamps({ contacts, count }, present) {
  byId("lamps").replaceChildren(...Array.from({ length: count }, (_, index) => {
    const done = contacts[index];
    const state = index === present ? "now" : done ? (done.right ? "lit" : "off") : "";
    return element("li", state ? { class: state } : {}, element("i"));
  }));
}

/** Return an entry of the score. @param {any} entry */
function scoreEntry({ at_s: at, seconds, said, text, notes }) {
  const mine = said.length > 0;
  const when = element("span", { class: "when" }, `${clockText(at)} ${mine ? "you" : "heard"}`);
  const words = element("span", { class: "words" }, when);
  if (mine) words.append(element("b", { class: "quoted" }, text ? `“${asSpoken(text)}”` : "by microphone"));
  if (notes.length) {
    words.append(mine ? element("br") : "", "you noted ",
      element("b", { class: "calls" }, notes.join(" / ").toUpperCase()));
  }
  const result = element("li", { class: mine ? "mine" : "heard" },
    element("i", { class: "bar" }), words);
  result.style.setProperty("--s", String(Math.max(0.4, seconds)));
  return result;
}

/** Scroll a row to its end so that its first visible entry is whole. @param {any} list */
function showLatest(list) {
  list.style.paddingInlineEnd = "";
  const hidden = list.scrollWidth - list.clientWidth;
  const left = list.getBoundingClientRect().left - list.scrollLeft;
  const starts = [...list.children].map((entry) => entry.getBoundingClientRect().left - left);
  const start = starts.find((place) => place >= hidden) ?? hidden;
  if (hidden > 0) list.style.paddingInlineEnd = `${Math.ceil(start - hidden)}px`;
  list.scrollLeft = start;
}

/** @param {any} live */
export function showScore({ score }) {
  const now = element("li", { class: "now", "aria-hidden": "true" }, element("i"));
  const list = byId("score");
  list.replaceChildren(...score.map(scoreEntry), ...(score.length ? [now] : []));
  showLatest(list);
}

/** Return the sentence above the line. @param {View} view */
function willNodes({ phase, live, sounding, session, seconds, starts }) {
  const quote = (/** @type {string} */ text) => element("span", { class: "quoted" }, `“${asSpoken(text)}”`);
  const soft = (/** @type {string} */ text) => element("span", { class: "soft" }, text);
  const entered = readLine(byId("line").value);
  if (phase === "ended") return [];
  if (phase === "comparing") return [soft("The logs are being compared.")];
  if (phase === "recording") return [soft("You send. Speak now; Enter ends it.")];
  if (starts) return [soft("You send.")];
  if (live.sending_until !== null) {
    const left = Math.max(1, Math.ceil(live.sending_until / session.rate_hz - seconds));
    const unit = left === 1 ? "second" : "seconds";
    return [soft(`You hear nothing for ${left} ${unit}. What you type is saved.`)];
  }
  if (entered.kind === "saying") {
    // What they asked for is not shown while they are still saying it.
    const depends = sounding && ["part", "again-part"].includes(entered.value);
    const [, label] = SAYINGS[byId("line").value.trim().toLowerCase()];
    return [soft("You will say "), depends ? label : quote(live.sayings[entered.value])];
  }
  const { call, exchange } = live.entry;
  if (!call && !exchange) return [soft("Nothing noted yet.")];
  return [soft("Your log line "),
    element("span", { class: "calls" }, `${call || "no call"} ${exchange || "no exchange"}`)];
}

/** Return the label of the button that Enter presses. @param {View} view */
function goText({ phase, live, finished, starts }) {
  const { kind, value } = readLine(byId("line").value);
  if (kind === "other" && value === "where") return "Show";
  if (kind === "other" && value === "stop") return "Stop";
  if (phase === "ended") return kind !== "nothing" ? "Do it" : finished ? "The session" : "Next station";
  if (phase === "comparing") return "Wait";
  if (phase === "ready") return "Listen";
  if (phase === "recording") return "End";
  if (kind === "saying") return "Say it";
  if (kind === "other") {
    const sends = starts || live.sending_until !== null;
    if (value === "leave") return sends ? "Break off" : "Leave";
    return value === "log" ? "Log it" : "Speak";
  }
  return "Note";
}

/** Explain keys in a list. @param {string} id @param {[string, string][]} keys */
export function explainKeys(id, keys) {
  byId(id).replaceChildren(...keys.map(([key, label]) =>
    element("li", {}, element("kbd", {}, key), ` ${label}`)));
}

/** Return a key as a button. @param {string} key @param {string} label */
function actButton(key, label) {
  const words = element("span", {}, label);
  return element("li", {}, element("button", { type: "button", class: "act", "data-key": key },
    element("kbd", {}, key), words));
}

/**
 * Show keys as buttons; unchanged ones stay in place, so that they keep the focus.
 * @param {string} id of the list
 * @param {[string, string][]} keys
 */
export function showKeys(id, keys) {
  const list = byId(id), wanted = keys.map(([key, label]) => `${key} ${label}`).join();
  if (list.dataset.keys === wanted) return;
  list.dataset.keys = wanted;
  list.hidden = !keys.length;
  list.replaceChildren(...keys.map(([key, label]) => actButton(key, label)));
}

/** @param {View} view @returns {[string, string][][]} keys that speak, and the others */
function keys({ phase, live, starts }) {
  if (phase === "ended") {
    return [[["n", "the whole contact again"], ["d", "details"], ["s", "stop for now"]], []];
  }
  if (phase === "comparing") return [[], []];
  if (phase === "ready") return [[], [["i", OTHERS.i[1]], ["s", OTHERS.s[1]]]];
  if (starts || live.sending_until !== null) {
    return [[], [[".", "break off"], ["i", OTHERS.i[1]]]];
  }
  const sayings = sensibleSayings(live.score).map(
    (key) => /** @type {[string, string]} */ ([key, SAYINGS[key][1]]));
  const others = ["l", ".", "i"].map(
    (key) => /** @type {[string, string]} */ ([key, OTHERS[key][1]]));
  return [sayings, others];
}

/** Show a view of a contact in progress. @param {View} view */
export function showContact(view) {
  const { phase, live, session, sounding, starts } = view;
  const sends = starts || live.sending_until !== null;
  const sending = phase === "recording" || (phase === "running" && sends);
  document.body.classList.toggle("sending", sending);
  byId("go-text").textContent = goText(view);
  byId("will").replaceChildren(...willNodes(view));
  byId("will").hidden = phase === "ended";
  const ear = byId("ear");
  ear.className = sending ? "ear shut" : sounding ? "ear sounding" : "ear";
  const rest = sending ? [element("span", { class: "long" }, ". You hear nothing.")] : [];
  ear.replaceChildren(element("span", {},
    sending ? "You send" : sounding ? "Sounding" : "Your ear is open", ...rest));
  const [sayings, others] = keys(view);
  showKeys("sayings", sayings);
  showKeys("others", others);
  byId("all-acts").hidden = phase !== "running";
  if (phase !== "ended") byId("title").textContent = `Station ${live.contact + 1} of ${session.count}`;
}
