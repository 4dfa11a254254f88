// @ts-check
// The caution before the first sound ever (_caution.html): it stands until it was confirmed once.
import { get, post } from "./api.js";

/**
 * Resolve when the caution has been confirmed, now or long ago. Throws Lack.
 * @returns {Promise<void>}
 */
export async function cautioned() {
  if ((await get("/api/cautions")).hearing) return;
  const part = /** @type {HTMLElement} */ (document.getElementById("caution"));
  const button = /** @type {HTMLElement} */ (document.getElementById("careful"));
  const from = /** @type {HTMLElement|null} */ (document.activeElement);
  part.hidden = false;
  document.getElementById("caution-title")?.focus();
  await new Promise((done) => button.addEventListener("click", done, { once: true }));
  await post("/api/cautions", { hearing: true });
  from?.focus();
  part.hidden = true;
}
