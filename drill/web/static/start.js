// @ts-check
// The first page: sessions that can continue, and voices that can be added.
import { announce } from "./announce.js";
import { get } from "./api.js";
import { byId } from "./elements.js";
import { listOpenSessions } from "./open_sessions.js";

try {
  await listOpenSessions();
  // Enter continues the newest session; the user may have moved on while the page loaded.
  if (document.activeElement === byId("first-link")) {
    byId("open-session-list").querySelector("a")?.focus();
  }
  const studio = await get("/api/studio");
  byId("studio-note").hidden = studio.act !== "add";
  byId("studio-note-says").textContent = studio.act === "add" ? studio.says[0] : "";
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
