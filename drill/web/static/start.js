// @ts-check
// The first page: what can be gone on with.
import { get } from "./api.js";
import { el } from "./figures.js";
import { say } from "./say.js";
import { PLACES, described } from "./begin.js";

const first = document.getElementById("first");

try {
  const { open } = await get("/api/sittings");
  document.getElementById("open-list")?.append(...open.map((/** @type {any} */ one) =>
    el("li", {}, el("a", { href: `${PLACES[one.kind]}?go=${one.id}` }, described(one)))));
  const part = /** @type {HTMLElement} */ (document.getElementById("open"));
  part.hidden = !open.length;
  // One key goes on, or into practice where nothing is open; the user may be elsewhere already.
  if (document.activeElement === first) part.querySelector("a")?.focus();
} catch (error) {
  say(/** @type {Error} */ (error).message);
}
