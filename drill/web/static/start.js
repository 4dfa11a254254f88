// @ts-check
// The first page: what to practise today, sessions to continue, voices that can be added.
import { announce } from "./announce.js";
import { get, post } from "./api.js";
import { byId, element } from "./elements.js";
import { listOpenSessions } from "./open_sessions.js";
import { pointsPicture, withMinus } from "./pictures.js";

/** What the button starts. @typedef {{page: string, session: any}} Offer */

/** @param {{title: string, why: string, begin: string}} text */
function show({ title, why, begin }) {
  byId("today-title").textContent = title;
  byId("today-why").textContent = why;
  byId("today-label").textContent = begin;
}

/** Start the offer on its page. @param {Offer} offer */
async function begin({ page, session }) {
  if (!session) {
    location.href = page;
    return;
  }
  const { id } = await post("/api/sessions", session);
  location.href = `${page}?session=${id}`;
}

/** Return the text for the newest session that was stopped. @param {any} open @param {string} when */
function continuing(open, when) {
  return {
    title: `${when}: continue where you stopped.`,
    why: `${open.title}, item ${open.number + 1} of ${open.count}.`,
    begin: "Continue",
  };
}

/** Show the offer; the button starts it, even if it was pressed before the offer is known. */
async function offerToday() {
  const known = Promise.all([get("/api/today"), get("/api/sessions")]);
  byId("today-begin").addEventListener("click", async () => {
    byId("today-begin").disabled = true; // Enter was pressed twice
    try {
      const [offer, { open: [newest] }] = await known;
      if (newest) location.href = `${newest.page}?session=${newest.id}`;
      else await begin(offer);
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
      byId("today-begin").disabled = false;
    }
  });
  const [offer, { open: [newest] }] = await known;
  byId("steps").hidden = offer.session?.kind !== "first-steps";
  show(newest ? continuing(newest, offer.when)
    : { ...offer, title: `${offer.when}: ${offer.title}.` });
}

/** Show when each drill was last done, and x50 block by block if it has been measured. */
async function showLately() {
  const { headline, picture, measured, spoken, contacts, hunted } = await get("/api/lately");
  byId("when-measured").textContent = measured;
  byId("when-spoken").textContent = spoken;
  byId("when-contacts").textContent = contacts;
  byId("when-hunted").textContent = hunted;
  if (!headline) return;
  const { before, figure, after, note } = headline;
  byId("lately-sentence").replaceChildren(before, element("b", {}, withMinus(figure)), after);
  byId("lately-note").textContent = withMinus(note);
  if (picture) byId("lately-picture").replaceChildren(pointsPicture(picture, "low"));
  byId("lately").hidden = false;
}

/** Show who practises, and offer to change that. */
async function offerPeople() {
  const { present, names } = await get("/api/people");
  byId("people-summary").textContent = present ? `${present}, or another person?` : "Another person?";
  byId("people-names").replaceChildren(
    ...names.map((/** @type {string} */ name) => element("option", { value: name })));
  byId("people-form").addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    try {
      await post("/api/people", { name: byId("person").value.trim() });
      location.reload();
    } catch (error) {
      announce(/** @type {Error} */ (error).message);
    }
  });
}

try {
  await Promise.all([offerToday(), offerPeople(), showLately()]);
  await listOpenSessions((_, index) => index > 0); // the newest one is offered above
  const studio = await get("/api/studio");
  byId("studio-note").hidden = studio.act !== "add";
  byId("studio-note-says").textContent = studio.act === "add" ? studio.says[0] : "";
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
