// @ts-check
// Sessions of contacts: the list of them, and the figures of one.
import { deleteSessionButton } from "./delete_session.js";
import { byId, dateTime, element, paragraphs, table } from "./elements.js";

/**
 * Return a sentence about what Enter starts.
 * @param {any} options the server's options for contacts
 * @param {any} open the session that can be continued, undefined without one
 */
export function contactSentence({ call, offered_call: offered, microphone }, open) {
  const ears = microphone ? "" : " The recogniser is missing, so a model decides what they copy.";
  if (open) return `The session of ${dateTime(open.started).textContent} continues where it stopped.`;
  if (call) {
    return `You are ${call}. Your call, power and conditions are under “Choose myself”.${ears}`;
  }
  return `You are ${offered}, a call that no administration can assign. Enter your own under `
    + `“Choose myself”.${ears}`;
}

/** List the newest sessions. @param {any[]} sessions */
export function showSessions(sessions) {
  byId("earlier").hidden = !sessions.length;
  byId("earlier-list").replaceChildren(...sessions.map(({ id, started, done, count }) =>
    element("li", {}, element("a", { href: `/contact?session=${id}` },
      `${dateTime(started).textContent}: ${done} of ${count} stations`))));
}

/**
 * Show a session's figures and its finished stations.
 * @param {any} session
 * @param {(number: number) => void} review called with the number of a station to show
 */
export function showSession(session, review) {
  const { id, contacts, count, finished, result, sentence } = session;
  const right = contacts.filter((/** @type {any} */ contact) => contact.right).length;
  byId("title").textContent = finished
    ? `${right} of ${count} right in both logs.` : "Stopped. Everything is saved.";
  byId("more-text").textContent = finished
    ? "Another session" : `Continue with station ${contacts.length + 1} of ${count}`;
  byId("session-sentence").textContent = sentence;
  byId("result-content").replaceChildren(
    ...(result ? [...paragraphs(result.sentences), table(result.table)] : []));
  byId("delete-session").replaceChildren(deleteSessionButton(
    id, "Delete this session", () => { location.href = "/contact"; }));
  byId("stations").replaceChildren(
    ...contacts.map((/** @type {any} */ { heading, watts }, /** @type {number} */ number) => {
      const label = `${number + 1}, ${watts} W: ${heading}`;
      const button = element("button", { type: "button" }, label);
      button.addEventListener("click", () => review(number));
      return element("li", {}, button);
    }));
}
