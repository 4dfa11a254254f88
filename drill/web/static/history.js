// @ts-check
// Past sessions, newest first; with ?session=ID in the address, the answers of one session.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { deleteSessionButton } from "./delete_session.js";
import { byId, dateTime, element, nextSteps, spaced, table } from "./elements.js";
import { Player } from "./player.js";
import { loadPreferences } from "./preferences.js";

const SHORT_LIST = 50;
const LONG_LIST = 1000;
const content = byId("sessions");
const query = new URLSearchParams(location.search);
const player = new Player();

/** Return kind and date of a session. @param {any} session */
function nameOf({ title, kind, started }) {
  return `${title ?? kind} of ${dateTime(started).textContent}`;
}

/** @param {any} session @param {string} label */
function continueLink({ page, id }, label) {
  return element("a", { href: `${page}?session=${id}`, "aria-label": label }, "Continue");
}

/** Return the link that continues a session, if it can. @param {any} session */
function furtherLink(session) {
  return session.open ? continueLink(session, `Continue, ${nameOf(session)}`) : "";
}

/** @param {any} session */
function sessionRow(session) {
  const { started, title, kind, part, conditions, snr, right, answered } = session;
  const withheld = right === null; // this kind of session gives its result at the end
  const href = `/history?session=${session.id}`;
  return [
    dateTime(started), title ?? kind, String(answered), withheld ? "" : String(right),
    withheld ? "" : String(session.right_at_first_hearing),
    element("a", { href, "aria-label": `Answers, ${nameOf(session)}` }, "Answers"),
    furtherLink(session), part ?? "", conditions ?? "", snr,
  ];
}

async function showSessions() {
  const limit = query.has("all") ? LONG_LIST : SHORT_LIST;
  const { sessions } = await get(`/api/history?limit=${limit}`);
  if (!sessions.length) {
    announce("Nothing is recorded yet.");
    content.append(nextSteps());
    return;
  }
  const open = sessions.filter((/** @type {any} */ session) => session.open).length;
  const count = sessions.length === 1 ? "1 session" : `${sessions.length} sessions`;
  announce(`${count}, newest first.${open ? ` ${open} can continue.` : ""}`);
  content.append(table({
    caption: "Sessions, newest first",
    head: ["started", "kind", "answered", "right", "on first hearing", "answers", "open", "part",
      "conditions", "SNR in 3 kHz"],
    rows: sessions.map(sessionRow),
    stacks: true,
  }));
  if (sessions.length === limit && !query.has("all")) {
    content.append(element("p", {}, element("a", { href: "/history?all" }, "Show older sessions")));
  }
}

/**
 * Return a field's characters; those that differ are underlined and bold, not only coloured.
 * @param {any} field
 * @param {"sent"|"typed"} side
 */
function characters(field, side) {
  const result = element("span", { class: "characters" });
  if (field.right || !field.pairs.length) {
    result.append(spaced(field[side]) || "nothing");
    return result;
  }
  for (const pair of field.pairs) {
    const character = (pair[side] || "–").toUpperCase();
    result.append(pair.sent === pair.typed ? character : element("mark", {}, character), " ");
  }
  return result;
}

/** @param {any} answer @param {"sent"|"typed"} side */
function fieldsCell(answer, side) {
  return element("ul", { class: "fields" }, ...answer.fields.map((/** @type {any} */ field) => {
    const hint = side === "typed" && field.hint ? ` (${field.hint})` : "";
    return element("li", {}, `${field.name} `, characters(field, side), hint);
  }));
}

/** Mark the button whose sound plays. @param {HTMLElement} button */
function showPlaying(button) {
  document.querySelector(".play.sounding")?.classList.remove("sounding");
  button.classList.add("sounding");
}

/** Return a line that says whether a sound plays; it stays in view. */
function soundingLine() {
  const ear = element("span", { class: "ear" }, "Silent");
  document.addEventListener("sound", (event) => {
    const seconds = Number((/** @type {CustomEvent} */ (event)).detail);
    ear.textContent = seconds ? "Sounding" : "Silent";
    ear.classList.toggle("sounding", seconds > 0);
  });
  return element("p", { class: "sounding-line", "aria-hidden": "true" }, ear);
}

/** Return buttons that play an answered item. @param {string} session @param {number} number */
function soundButtons(session, number) {
  const buttons = ["noise", "clean"].map((which) => {
    const button = element("button", {
      type: "button", class: "play", "aria-label": `Item ${number}: ${which}`,
    }, which);
    button.addEventListener("click", async () => {
      player.unlock();
      try {
        const path = `/api/sessions/${session}/items/${number - 1}/${which}.wav`;
        await player.play(await player.load(path), () => showPlaying(button));
      } catch (error) {
        announce(/** @type {Error} */ (error).message);
      } finally {
        button.classList.remove("sounding");
      }
    });
    return button;
  });
  return element("div", { class: "row" }, ...buttons);
}

/** @param {string} session */
function deleteButton(session) {
  const button = deleteSessionButton(session, "Delete this session", () => {
    location.href = "/history";
  });
  return element("p", { class: "buttons" }, button);
}

/** @param {any} answer @param {string} session */
function answerRow(answer, session) {
  const { number, right, given_up: gaveUp, snr, operator, seconds, heard: plays } = answer;
  return [
    String(number), right ? "right" : "wrong", fieldsCell(answer, "sent"),
    gaveUp ? "given up" : fieldsCell(answer, "typed"), snr, operator,
    `${seconds.toFixed(1)} s`, plays === 1 ? "once" : `${plays} times`,
    soundButtons(session, number),
  ];
}

/** @param {string} id */
async function showSession(id) {
  byId("record-files").hidden = byId("elsewhere").hidden = true; // about all sessions
  const { session, answers, withheld } = await get(`/api/history/${encodeURIComponent(id)}`);
  const name = nameOf(session);
  const heading = /** @type {HTMLElement} */ (document.querySelector("h1"));
  heading.textContent = `Answers: ${name}`;
  document.title = document.title.replace("History", `Answers, ${name}`);
  const { answered, right, snr, right_at_first_hearing: first } = session;
  const summary = withheld ? `${answered} answered; the result is shown at the end.`
    : `${right} of ${answered} right, ${first} on first hearing, SNR ${snr}.`;
  // The status line is empty while a sound plays; the summary stays.
  content.append(element("p", { class: "lead" }, summary));
  announce(summary, { shownElsewhere: true });
  content.append(element("p", {}, element("a", { href: "/history" }, "All sessions")));
  if (session.open) {
    content.append(element("p", {}, continueLink(session, "Continue this session")));
  }
  if (withheld) {
    content.append(element("p", {}, "The answers are shown when the session is finished, because "
      + "knowing them would change the measurement."), deleteButton(id));
    return;
  }
  loadPreferences(player).catch(() => {}); // the sounds then have the default volume
  content.append(soundingLine(), table({
    caption: "Answers in order",
    head: ["item", "verdict", "sent", "typed", "SNR in 3 kHz", "operator", "time", "played",
      "sound"],
    rows: answers.map((/** @type {any} */ answer) => answerRow(answer, id)),
    stacks: true,
  }), deleteButton(id));
}

try {
  const id = query.get("session");
  await (id ? showSession(id) : showSessions());
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
