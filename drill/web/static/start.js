// @ts-check
// The first page: sessions that can continue.
import { announce } from "./announce.js";
import { byId } from "./elements.js";
import { listOpenSessions } from "./open_sessions.js";

try {
  await listOpenSessions();
  // Enter continues the newest session; the user may have moved on while the page loaded.
  if (document.activeElement === byId("first-link")) {
    byId("open-session-list").querySelector("a")?.focus();
  }
} catch (error) {
  announce(/** @type {Error} */ (error).message);
}
