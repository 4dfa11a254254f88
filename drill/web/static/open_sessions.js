// @ts-check
// The list of sessions that were stopped and can continue (_open_sessions.html).
import { get } from "./api.js";
import { byId, element } from "./elements.js";

/**
 * Fetch the open sessions and list those that match. Throws FaintcallError.
 * @param {(state: any, index: number) => boolean} matches index: 0 for the newest
 */
export async function listOpenSessions(matches = () => true) {
  const { open } = await get("/api/sessions");
  const listed = open.filter(matches);
  byId("open-session-list").replaceChildren(
    ...listed.map((/** @type {any} */ state) => element("li", {}, continueLink(state))));
  byId("open-sessions").hidden = !listed.length;
}

/** @param {any} state */
function continueLink({ page, id, title, number, count, sentence }) {
  return element("a", { href: `${page}?session=${id}` },
    `${title}, item ${number + 1} of ${count}: ${sentence}`);
}
